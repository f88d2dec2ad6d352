"""What differs between two workings of one quote? Worked by hand on the small roof of DEVELOPERS.md section 1."""

from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.cost_base import CostBase
from quotes.calc.compared import (
    NOTHING,
    Change,
    Compared,
    Figures,
    HiddenFigures,
    HiddenKey,
    LineFigures,
    LineKey,
    WordsChange,
    compare,
    figures_of,
    numbered,
)
from quotes.calc.contingency import NO_HISTORY
from quotes.calc.geometry import Roof
from quotes.calc.inputs import DaysOverride, Entered, QuoteInputs
from quotes.calc.labour import ChosenCondition
from quotes.calc.quote import compute_quote
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import Survey
from tests.calc.contingency_cases import points
from tests.calc.roofs import opening, section
from tests.default_base import cost_base as shipped_base
from tests.scenarios.small_roof import ASSEMBLIES, cost_base, trade


@cache
def base() -> CostBase:
    return cost_base(dict(shipped_base("full-rebuild").severity.contents))


def small(base: CostBase, promised: DaysOverride | None = None) -> Figures:
    """The figures of the page's quote on a cost base."""
    flat = section(
        construction="framed",
        old_skin="tpo",
        deck="plywood_3_8in",
        length_in=240,
        width_in=96,
        crown_in=0,
        radius_in=0,
        tuck_in=0,
        core_in=0,
        openings=(opening("front vent", station_in=60), opening("rear vent", station_in=150)),
    )
    inputs = QuoteInputs(
        roof=Roof((flat,), ()),
        survey=Survey("walked", "2026-05-30"),
        scope=(),
        plan="small",
        skin="membrane",
        options=(),
        conditions=(ChosenCondition("no-bay", "no bay is free in June"),),
        entered=(Entered("backing_count", "", 1.0, "1", "the front vent moves under the hand"),),
        override=None,
        days=promised,
    )
    rules = SeverityRules.from_contents(base.severity.contents)
    return figures_of(compute_quote(inputs, base, rules, NO_HISTORY, points()), promised)


def amounts(difference: Compared) -> dict[str, tuple[str, str]]:
    return {name: (str(change.before), str(change.after)) for name, change in difference.amounts.items()}


class TestATechnicianAtTenMoreAnHour:
    @pytest.fixture(scope="class")
    def difference(self) -> Compared:
        dearer = {**base().trades, "technician": trade("technician", "40", "110.00")}
        return compare(small(base()), small(replace(base(), trades=dearer)))

    def test_every_line_of_hers_is_dearer_and_overhead_follows(self, difference: Compared) -> None:
        told = {
            key[1:3]: (str(c.before.amount), str(c.after.amount)) for key, c in difference.lines.items() if c.before and c.after
        }

        # 9.35, 10, 1.68 and 1.3 hours at 110 instead of 100; overhead is 8 % of 3,233.14 + 223.30 = 3,456.44, or 276.5152.
        # Supplies stand at their cap before and after, and the helper's line is as it was.
        assert told == {
            ("skin-off", "technician"): ("935.00", "1028.50"),
            ("membrane-on", "technician"): ("1000.00", "1100.00"),
            ("bead", "technician"): ("168.00", "184.80"),
            ("backing-frame", "technician"): ("130.00", "143.00"),
            ("overhead", ""): ("258.65", "276.52"),
        }
        assert {change.kind for change in difference.lines.values()} == {"changed"}

    def test_so_is_the_frame_that_may_be_found(self, difference: Compared) -> None:
        ((key, change),) = difference.hidden.items()

        # One frame: 0.8 h x 110 + 7.7112 = 95.7112, set-up 0.5 h x 110; found at 1229 of 4096 points, 150.7112 x 1229 / 4096
        # = 45.2207.
        assert key == HiddenKey("opening_frame", "framed")
        assert change.before is not None
        assert change.after is not None
        assert (str(change.before.unit_price), str(change.after.unit_price)) == ("87.711200", "95.711200")
        assert (str(change.before.set_up), str(change.after.set_up)) == ("50.00", "55.00")
        assert (str(change.before.allowance), str(change.after.allowance)) == ("41.32", "45.22")
        assert (change.after.chance, change.after.share) == (change.before.chance, change.before.share)

    def test_the_amounts_are_those_of_both_workings(self, difference: Compared) -> None:
        # Labour 2,521.00 + 223.30. Visible work 2,744.30 + 652.14 + 60.00 + 276.52. Contingency 150.71, reserve 150.71 - 45.22.
        # Limit 3,732.96 + 150.71. Tax 8.25 %: 307.9692 and 3,883.67 x 0.0825 = 320.4028; to whole dollars 4,041 and 4,204.
        # Cost: 22.33 h x 40 + 4.8 h x 25 = 1,013.20 and purchases, unchanged, so that the margin grows with the base.
        assert amounts(difference) == {
            "labour": ("2521.00", "2744.30"),
            "base": ("3491.79", "3732.96"),
            "allowance": ("41.32", "45.22"),
            "reserve": ("96.39", "105.49"),
            "contingency": ("137.71", "150.71"),
            "limit": ("3629.50", "3883.67"),
            "base_tax": ("288.07", "307.97"),
            "base_with_tax": ("3780.00", "4041.00"),
            "limit_tax": ("299.43", "320.40"),
            "limit_with_tax": ("3929.00", "4204.00"),
            "margin": ("1995.52", "2236.69"),
        }

    def test_hours_tier_and_words_are_as_they_were(self, difference: Compared) -> None:
        assert (difference.hours, difference.tier, difference.words) == (None, None, {})
        assert not difference.nothing


class TestWorkThatComesAndGoes:
    def test_freight_that_is_charged_from_now_on_is_a_line_of_its_own(self) -> None:
        prices = {**base().prices, "membrane": replace(base().prices["membrane"], freight=Decimal("40.00"))}
        difference = compare(small(base()), small(replace(base(), prices=prices)))

        # 40.00 x 1.35 = 54.00; overhead 8 % of 3,233.14 + 54.00 = 3,287.14, or 262.9712, in place of 258.65.
        added = {key.slug: change.after.amount for key, change in difference.lines.items() if change.after}
        assert added == {"freight:membrane": Decimal("54.00"), "overhead": Decimal("262.97")}
        assert difference.amounts["base"] == Change(Decimal("3491.79"), Decimal("3550.11"))

    def test_an_assembly_that_leaves_the_plan_takes_its_lines_and_goods_with_it(self) -> None:
        without_bead = replace(base().plan, assemblies=tuple(a.slug for a in ASSEMBLIES if a.slug != "bead"))
        difference = compare(small(base()), small(replace(base(), plan=without_bead)))

        gone = [key for key, change in difference.lines.items() if change.kind == "removed"]
        assert gone == [LineKey("labour", "bead", "technician", 1), LineKey("material", "sealant", "", 1)]
        assert difference.hours == Change(Decimal("27.1300"), Decimal("25.4500"))
        back = compare(small(replace(base(), plan=without_bead)), small(base()))
        assert [key for key, change in back.lines.items() if change.kind == "added"] == gone

    def test_a_promise_of_days_hides_that_the_worked_range_moves(self) -> None:
        promised = DaysOverride(5.0, 7.0, "the bay is free until Friday")
        longer = replace(base(), rule=replace(base().rule, hours_a_day=4.0))

        # 22.33 + 4.8 hours for crews of one: 3.391 days of eight hours, twice as many of four.
        low = compare(small(base()), small(longer)).days["low"]
        assert low.before == pytest.approx(3.39125)
        assert low.after == pytest.approx(6.7825)
        assert compare(small(base(), promised), small(longer, promised)).days == {}


def figures(**changes: Any) -> Figures:
    """Figures that say next to nothing."""
    empty: dict[str, Any] = {
        "amounts": {},
        "hours": Decimal(0),
        "days": {},
        "tier": "local",
        "lines": {},
        "hidden": {},
        "words": {},
    }
    return Figures(**{**empty, **changes})


def line(amount: str) -> LineFigures:
    return LineFigures("Skin off", "strip", "h", Decimal(1), Decimal(amount), Decimal(amount), Decimal(0))


def test_the_same_figures_differ_in_nothing_however_they_are_written() -> None:
    one = figures(
        amounts={"base": Decimal("10.00")}, days={"low": 0.1 + 0.2}, lines=numbered([(("labour", "a", "b"), line("1.00"))])
    )
    two = figures(
        amounts={"base": Decimal("10.000")}, days={"low": 0.3}, lines=numbered([(("labour", "a", "b"), line("1.000000"))])
    )

    assert compare(one, two) == NOTHING
    assert compare(one, one) is NOTHING
    assert NOTHING.nothing


def test_words_that_went_and_came_are_told_and_their_order_does_not_count() -> None:
    before = figures(words={"warnings": ("wide", "wet"), "cautions": ("dust",)})
    after = figures(words={"warnings": ("old", "wet"), "cautions": ("dust",)})

    assert compare(before, after).words == {"warnings": WordsChange(("wide",), ("old",))}


def test_lines_about_the_same_thing_are_told_apart_by_number() -> None:
    twice = numbered([(("shop", "freight", ""), line("1.00")), (("shop", "freight", ""), line("2.00"))])
    once = numbered([(("shop", "freight", ""), line("1.00"))])

    assert compare(figures(lines=once), figures(lines=twice)).lines == {
        LineKey("shop", "freight", "", 2): Change(None, line("2.00"))
    }


def test_a_component_of_another_tier_differs_although_its_chance_does_not() -> None:
    one = HiddenFigures("Deck", "ft2", "local", Decimal(1), 0.5, 0.25, Decimal(1), Decimal(0), Decimal(1))
    key = HiddenKey("deck", "framed")

    assert list(compare(figures(hidden={key: one}), figures(hidden={key: one._replace(tier="frame")})).hidden) == [key]


AMOUNTS = st.dictionaries(st.sampled_from("abcd"), st.decimals(-9, 9, places=2), max_size=4)


@settings(max_examples=100)
@given(AMOUNTS, AMOUNTS)
def test_turned_round_every_change_is_turned_round(before: dict[str, Decimal], after: dict[str, Decimal]) -> None:
    there = compare(figures(amounts=before), figures(amounts=after)).amounts
    back = compare(figures(amounts=after), figures(amounts=before)).amounts

    assert {name: Change(change.after, change.before) for name, change in there.items()} == back
    assert set(there) == {name for name in {*before, *after} if before.get(name) != after.get(name)}


def test_the_lines_of_a_worked_quote_add_up_to_its_visible_work() -> None:
    worked = small(base())

    assert sum((line.amount for line in worked.lines.values()), Decimal(0)) == worked.amounts["base"] == Decimal("3491.79")
    assert sum((part.allowance for part in worked.hidden.values()), Decimal(0)) == worked.amounts["allowance"]
