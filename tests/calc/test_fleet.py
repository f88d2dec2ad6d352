"""Three small roofs quoted together, every amount worked by hand.

Each is the roof of DEVELOPERS.md section 1 (invented), which alone comes to 3,491.79 and a limit of 3,629.50. Learning 95 %:
the hours beyond set-up of the second coach count 0.95, those of the third 0.95 ** log2(3) = 0.921919 of the first's; together
1 + 0.95 + 0.921919 = 2.871919.
"""

import tomllib
from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest

from costbase.calc.cost_base import CostBase
from quotes.calc.contingency import NO_HISTORY
from quotes.calc.fleet import Fleet, FleetError, LearningError, compute_fleet, learned
from quotes.calc.geometry import Roof
from quotes.calc.inputs import Entered, QuoteInputs
from quotes.calc.kinds import by_assembly, counted_labour
from quotes.calc.labour import ChosenCondition
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import Survey
from tests.calc.contingency_cases import points
from tests.calc.roofs import opening, section
from tests.scenarios.small_roof import cost_base

_SHIPPED = (Path(__file__).parents[2] / "fixtures/network/severity.toml").read_text(encoding="utf-8")
SEVERITY = tomllib.loads(_SHIPPED)["severity"]["severity"]
RULES = SeverityRules.from_contents(SEVERITY)
NO_BAY = ChosenCondition("no-bay", "no bay is free in June")


def d(*texts: str) -> list[Decimal]:
    return [Decimal(text) for text in texts]


def base(**rule: Any) -> CostBase:
    plain = cost_base(SEVERITY)
    return replace(plain, rule=replace(plain.rule, **{"unit_learning": 0.95, **rule}))


def small_roof(length_in: float = 240, *, conditions: Sequence[ChosenCondition] = (NO_BAY,), frames: int = 1) -> QuoteInputs:
    flat = section(
        construction="framed",
        old_skin="tpo",
        deck="plywood_3_8in",
        length_in=length_in,
        width_in=96,
        crown_in=0,
        radius_in=0,
        tuck_in=0,
        core_in=0,
        openings=(opening("front vent", station_in=60), opening("rear vent", station_in=150)),
    )
    return QuoteInputs(
        roof=Roof((flat,), ()),
        survey=Survey("walked", "2026-05-30"),
        scope=(),
        plan="small",
        skin="membrane",
        options=(),
        conditions=tuple(conditions),
        entered=(Entered("backing_count", "", float(frames), str(frames), "the vent moves under the hand"),),
        override=None,
        days=None,
    )


def fleet(*coaches: QuoteInputs, cost: CostBase | None = None) -> Fleet:
    return compute_fleet(coaches, cost or base(), RULES, NO_HISTORY, points())


@pytest.fixture(scope="module")
def three() -> Fleet:
    return fleet(small_roof(), small_roof(), small_roof())


class TestLearning:
    def test_units_come_down_as_published(self) -> None:
        # Check values of Wright's law as told of construction: 95 % unit 10 0.8433, 90 % unit 10 0.7047, 80 % unit 4 0.6400.
        assert learned(10, 0.95) == pytest.approx(0.8433, abs=5e-5)
        assert learned(10, 0.90) == pytest.approx(0.7047, abs=5e-5)
        assert learned(4, 0.80) == pytest.approx(0.6400, abs=5e-5)
        assert learned(10, 0.80) == pytest.approx(0.4765, abs=5e-5)

    def test_the_second_and_third_coach(self) -> None:
        assert learned(1, 0.95) == 1
        assert learned(2, 0.95) == pytest.approx(0.9500, abs=5e-5)
        assert learned(3, 0.95) == pytest.approx(0.9219, abs=5e-5)

    def test_without_learning_every_unit_is_the_first(self) -> None:
        assert [learned(unit, 1.0) for unit in (1, 2, 50)] == [1, 1, 1]

    @pytest.mark.parametrize(("unit", "rate"), [(0, 0.95), (2, 0.59), (2, 1.01), (2, float("nan"))])
    def test_what_cannot_be_is_refused(self, unit: int, rate: float) -> None:
        with pytest.raises(LearningError, match="expected"):
            learned(unit, rate)


class TestLinesOfTheLot:
    def test_set_up_is_done_once_and_the_rest_is_learned(self, three: Fleet) -> None:
        # skin-off: 0.5 + 8 x 2.871919 = 23.475351 h, x 1.10 = 25.822886. Membrane: 10 x 2.871919 and, helper, 4.8 x 2.871919
        # = 13.785211. Bead: 1.68 x 2.871919 = 4.824824. Frame: 0.5 + 0.8 x 2.871919 = 2.797535.
        lines = {(lot.line.assembly, lot.line.trade): (lot.line.hours, lot.line.amount) for lot in three.labour}

        assert lines == {
            ("skin-off", "technician"): (Decimal("25.8229"), Decimal("2582.29")),
            ("membrane-on", "technician"): (Decimal("28.7192"), Decimal("2871.92")),
            ("membrane-on", "helper"): (Decimal("13.7852"), Decimal("827.11")),
            ("bead", "technician"): (Decimal("4.8248"), Decimal("482.48")),
            ("backing-frame", "technician"): (Decimal("2.7975"), Decimal("279.75")),
        }
        assert three.labour[0].line.template_hours == Decimal("23.4754")
        assert three.visible.labour_total == Decimal("7043.55")

    def test_packs_are_counted_once_over_the_lot(self, three: Fleet) -> None:
        # Adhesive: 3 x 2 gal + 10 % = 6.6, 7 packs at 72.90 where each alone takes 3. Membrane: 63 ft + 5 % = 66.15 ft at
        # 17.2125. Sealant: 3 x 2.592259 + 10 % = 8.554455 at 16.20. Strip: 18 ft + 12 % = 20.16 at 1.1475.
        lines = {lot.line.packed.material.slug: (lot.line.packed.billed, lot.line.amount) for lot in three.goods}

        assert lines == {
            "membrane": (Decimal("66.15"), Decimal("1138.61")),
            "adhesive": (Decimal("7"), Decimal("510.30")),
            "sealant": (Decimal("8.5545"), Decimal("138.58")),
            "strip": (Decimal("20.1600"), Decimal("23.13")),
        }
        assert three.visible.material_total == Decimal("1810.62")

    def test_cap_overhead_and_minimum_count_once(self, three: Fleet) -> None:
        # 3 % of 7,043.55 = 211.31, at most 60.00; 8 % of (7,043.55 + 1,810.62 + 60.00 = 8,914.17) = 713.1336; the minimum of
        # 3,000.00 is passed.
        assert [(lot.line.slug, lot.line.amount) for lot in three.shop] == [
            ("shop-supplies", Decimal("60.00")),
            ("overhead", Decimal("713.13")),
        ]
        assert three.totals.base == Decimal("9627.30")

    def test_a_minimum_that_is_not_reached_is_charged_once(self) -> None:
        # 9,627.30 is short of 12,000.00 by 2,372.70. By direct amounts, as below: 790.9080, 790.9000 and 790.8920.
        short = fleet(*[small_roof()] * 3, cost=base(minimum_charge=Decimal("12000.00")))

        assert short.totals.base == Decimal("12000.00")
        assert [share.line.amount for share in short.shop[-1].shares] == d("790.91", "790.90", "790.89")


class TestSharesOfTheCoaches:
    def test_a_labour_line_is_shared_by_own_hours_to_the_cent_and_the_ten_thousandth(self, three: Fleet) -> None:
        # Alone each takes 9.35 h. 25.8229 / 3 = 8.60763, 2,582.29 / 3 = 860.7633: one last place is left, for the first.
        shares = three.labour[0].shares

        assert [share.line.hours for share in shares] == d("8.6077", "8.6076", "8.6076")
        assert [share.line.amount for share in shares] == d("860.77", "860.76", "860.76")
        # As they are worked: 9.35, then 8 x 0.95 x 1.1, then 8 x 0.921919 x 1.1 hours.
        assert [share.worked for share in shares] == d("9.3500", "8.3600", "8.1129")

    def test_a_material_line_is_shared_by_net_need(self, three: Fleet) -> None:
        adhesive = next(lot for lot in three.goods if lot.line.packed.material.slug == "adhesive")

        assert [share.line.packed.billed for share in adhesive.shares] == d("2.3334", "2.3333", "2.3333")
        assert [share.line.amount for share in adhesive.shares] == d("170.10", "170.10", "170.10")

    def test_the_shop_s_lines_are_shared_by_direct_amounts(self, three: Fleet) -> None:
        # Direct 2,951.42, 2,951.39, 2,951.36 of 8,854.17; 713.13 x these = 237.712.., 237.710.., 237.708: two cents at most
        # apart.
        assert [[share.line.amount for share in lot.shares] for lot in three.shop] == [
            d("20.00", "20.00", "20.00"),
            d("237.71", "237.71", "237.71"),
        ]
        assert [share.direct for share in three.shop[0].shares] == d("2951.42", "2951.39", "2951.36")

    def test_visible_work_of_each_adds_up_to_the_lot_s(self, three: Fleet) -> None:
        assert [quote.totals.base for quote in three.quotes] == d("3209.13", "3209.10", "3209.07")
        assert [quote.totals.base for quote in three.alone] == d("3491.79", "3491.79", "3491.79")

    def test_a_longer_coach_pays_more_of_what_both_need(self) -> None:
        # Membrane 21 ft and 41 ft: 62 x 1.05 = 65.10 ft x 17.2125 = 1,120.53375, of it 21/62 and 41/62: 379.535.. and 740.998..
        short, long = fleet(small_roof(240), small_roof(480)).goods[0].shares

        assert (short.line.amount, long.line.amount) == (Decimal("379.53"), Decimal("741.00"))

    def test_freight_of_an_order_comes_once_with_the_lot(self) -> None:
        # 40.00 for an order of adhesive, with markup 54.00: alone each pays it, two together pay half of it each.
        plain = base()
        dear = replace(plain, prices={**plain.prices, "adhesive": replace(plain.prices["adhesive"], freight=Decimal("40.00"))})

        lot = fleet(small_roof(), small_roof(), cost=dear)

        assert [line.amount for line in lot.alone[0].visible.freight] == d("54.00")
        assert [share.line.amount for share in lot.freight[0].shares] == d("27.00", "27.00")
        assert sum(quote.totals.base for quote in lot.quotes) == lot.totals.base

    def test_what_only_one_coach_has_is_its_alone_and_nobody_has_learned_it(self) -> None:
        # The first coach gets no frame, so the second one's is unit 1: 0.5 + 0.8 h at 100.00.
        lot = next(x for x in fleet(small_roof(frames=0), small_roof()).labour if x.line.assembly == "backing-frame")

        (share,) = lot.shares
        assert (share.place, share.unit, share.line.amount, lot.line.amount) == (1, 1, Decimal("130.00"), Decimal("130.00"))

    def test_each_coach_keeps_its_own_conditions(self) -> None:
        # Only the second stands outdoors: 8.5 + 8 x 0.95 x 1.1 = 16.86 h. Alone 8.5 h and 9.35 h, so 16.86 x 8.5 / 17.85.
        lot = fleet(small_roof(conditions=()), small_roof()).labour[0]

        assert (lot.line.template_hours, lot.line.hours) == (Decimal("16.1000"), Decimal("16.8600"))
        assert [share.line.hours for share in lot.shares] == d("8.0286", "8.8314")
        assert lot.line.factor == Decimal("1.0472")  # 16.86 / 16.10: the mean, since they differ


class TestCounted:
    def test_what_stays_of_a_counted_line_is_the_coach_s_share_of_the_one_set_up(self, three: Fleet) -> None:
        # The frame's line is 93.25 for each, its set-up 0.5 h once: 0.1667, 0.1667, 0.1666 h at 100.00. Where none is found
        # each is credited 93.25 - 16.67 = 76.58 (the last 76.59), so that 50.00 of the set-up stays over all of them, not
        # 150.00.
        prices = []
        for quote in three.quotes:
            line = next(line for line in quote.visible.labour if line.assembly == "backing-frame")
            prices.append(counted_labour(line, by_assembly(quote.takes)["backing-frame"], quote.currency))

        assert [price.set_up for price in prices if price] == d("16.67", "16.67", "16.66")
        assert [price.unit_price for price in prices if price] == d("76.580000", "76.580000", "76.590000")


class TestSetAside:
    def test_each_coach_has_its_own_limit(self, three: Fleet) -> None:
        # Of the one frame that may be rotten, as alone: allowance 41.32, contingency 137.71.
        for quote, visible in zip(three.quotes, d("3209.13", "3209.10", "3209.07"), strict=True):
            assert (quote.totals.allowance, quote.totals.contingency) == (Decimal("41.32"), Decimal("137.71"))
            assert quote.totals.limit == visible + Decimal("137.71")

    def test_the_lot_has_one_limit_for_all(self, three: Fleet) -> None:
        # Three frames, each rotten with chance 0.30 whatever the others are (no load on the wetness): none or one in
        # 0.343 + 0.441 = 0.784 of all lots, two or fewer in 0.973. At 80 % that is two, 2 x 137.7112 = 275.4224, where the
        # three coaches by themselves set 413.13 aside. Allowance 3 x 41.32.
        totals = three.totals

        assert (totals.allowance, totals.contingency, totals.reserve) == tuple(d("123.96", "275.42", "151.46"))
        assert totals.limit == Decimal("9902.72")
        assert sum(quote.totals.contingency for quote in three.quotes) == Decimal("413.13")


class TestTax:
    def test_it_is_worked_once_on_the_lot(self, three: Fleet) -> None:
        # 8.25 % of 9,627.30 = 794.25225; of 9,902.72 = 816.9744. To whole units: 10,421.55 and 10,719.69.
        totals = three.totals

        assert (totals.base_tax, totals.limit_tax) == (Decimal("794.25"), Decimal("816.97"))
        assert (totals.base_with_tax, totals.limit_with_tax) == (Decimal("10422.00"), Decimal("10720.00"))

    def test_each_coach_has_its_share_and_what_its_own_limit_adds(self, three: Fleet) -> None:
        # 794.25 by taxable base: 264.7525, 264.7500, 264.7475. On the first one's limit 8.25 % of 3,346.84 = 276.1143 -> 276.11
        # less 8.25 % of 3,209.13 = 264.7532 -> 264.75, added to its share: 276.11.
        assert [quote.totals.base_tax for quote in three.quotes] == d("264.75", "264.75", "264.75")
        assert [quote.totals.limit_tax for quote in three.quotes] == d("276.11", "276.11", "276.11")

    def test_each_coach_s_total_is_rounded_by_itself(self, three: Fleet) -> None:
        # 3,209.13 + 264.75 = 3,473.88; 3,346.84 + 276.11 = 3,622.95.
        first = three.quotes[0].totals

        assert (first.base_rounding, first.base_with_tax) == (Decimal("0.12"), Decimal("3474.00"))
        assert (first.limit_rounding, first.limit_with_tax) == (Decimal("0.05"), Decimal("3623.00"))

    def test_parts_on_one_coach_make_labour_on_all_of_them_taxable(self) -> None:
        # One part makes the whole charge taxable, and the lot is one charge.
        lot = fleet(small_roof(), small_roof(), cost=base(tax_mode="all_with_parts"))

        assert [quote.totals.base_taxes[0].base for quote in lot.quotes] == [quote.totals.base for quote in lot.quotes]
        assert sum(quote.totals.base_tax for quote in lot.quotes) == lot.totals.base_tax


class TestDays:
    def test_each_coach_s_days_are_of_the_hours_in_its_turn(self, three: Fleet) -> None:
        # First: 9.35 + 10 + 4.8 + 1.68 + 1.3 = 27.13 h over 8 h = 3.39125 days; second: 8.36 + 9.5 + 4.56 + 1.596 + 0.76 =
        # 24.776.
        assert three.quotes[0].days.working == pytest.approx(3.39125)
        assert three.quotes[1].days.working == pytest.approx(24.776 / 8)


class TestRefused:
    def test_no_coach_and_too_many(self) -> None:
        for coaches in ([], [small_roof()] * 51):
            with pytest.raises(FleetError, match="expected 1 to 50 coaches"):
                fleet(*coaches)

    def test_coaches_on_different_work(self) -> None:
        with pytest.raises(FleetError) as refused:
            fleet(small_roof(), replace(small_roof(), skin="frp"))

        assert refused.value.field == "coaches/1"

    def test_a_fault_of_one_coach_says_which(self) -> None:
        wrong = replace(small_roof(), conditions=(ChosenCondition("hail", "invented"),))
        with pytest.raises(Exception, match="no condition 'hail'") as refused:
            fleet(small_roof(), wrong)

        assert getattr(refused.value, "field", "") == "coaches/1/conditions/0/slug"
