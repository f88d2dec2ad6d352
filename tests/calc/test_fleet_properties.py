"""What holds for every fleet: shares add up, one coach is a quote, and nobody pays more for coming with others."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.cost_base import CostBase, TaxRate
from costbase.calc.money import currency
from quotes.calc.contingency import NO_HISTORY, CostFactors
from quotes.calc.fleet import Fleet, compute_fleet
from quotes.calc.inputs import QuoteInputs
from quotes.calc.labour import ChosenCondition
from tests.calc.contingency_cases import points
from tests.calc.roofs import framed_28_ft, laminated_34_ft
from tests.calc.shipped_base import LAMINATED_SAYS, base_with, entries, inputs, laminated, shipped_rules
from tests.calc.surveys import cell, survey

ROOFS = (laminated_34_ft(), framed_28_ft())
TAXED = (TaxRate("state", Decimal("0.0825")), TaxRate("city", Decimal("0.0175")))
RECORD = CostFactors(theta=0.05, sd_theta=0.04, sigma=0.12, find_factor=1.1, sd_find=0.1)


@st.composite
def coaches(draw: st.DrawFn, *, most: int = 4) -> list[QuoteInputs]:
    """Some coaches of either construction on one plan, some surveyed, some worked on outdoors."""
    wanted = []
    for _ in range(draw(st.integers(1, most))):
        marks = [cell("2B", draw(st.sampled_from(("sound", "damp", "soft", "rotten"))), "opened")]
        conditions = (ChosenCondition("no-bay", "no bay is free"),) if draw(st.booleans()) else ()
        roof = draw(st.sampled_from(ROOFS))
        wanted.append(inputs(roof, plan="skin-over-kept-deck", skin="membrane", survey=survey(*marks), conditions=conditions))
    return wanted


@st.composite
def rules(draw: st.DrawFn) -> dict[str, object]:
    mode = draw(st.sampled_from(("none", "parts_only", "all_with_parts", "parts_and_labour", "lump_sum")))
    return {
        "price_basis": draw(st.sampled_from(("firm", "open"))),
        "stock_billing": draw(st.sampled_from(("packs", "use"))),
        "overhead_share": draw(st.sampled_from((Decimal(0), Decimal("0.0875")))),
        "supplies_share": Decimal("0.03"),
        "supplies_cap": draw(st.sampled_from((None, Decimal("120.00")))),
        "minimum_charge": draw(st.sampled_from((Decimal(0), Decimal("40000.00")))),
        "tax_mode": mode,
        "tax_rates": () if mode in ("none", "lump_sum") else TAXED,
        "total_step": draw(st.sampled_from((Decimal(0), Decimal("5")))),
        "unit_learning": draw(st.sampled_from((0.8, 0.95, 1.0))),
    }


def base(**rule: object) -> CostBase:
    return base_with("skin-over-kept-deck", rule={"unit_learning": 0.95, **rule})


def fleet(wanted: list[QuoteInputs], cost: CostBase | None = None, factors: CostFactors = NO_HISTORY) -> Fleet:
    return compute_fleet(wanted, cost or base(), shipped_rules(), factors, points())


@settings(max_examples=40, deadline=None)
@given(wanted=coaches(), rule=rules(), factors=st.sampled_from((NO_HISTORY, RECORD)))
def test_the_shares_of_the_coaches_add_up_to_the_lot(
    wanted: list[QuoteInputs], rule: dict[str, object], factors: CostFactors
) -> None:
    lot = fleet(wanted, base(**rule), factors)

    for line in lot.labour:
        assert sum(share.line.amount for share in line.shares) == line.line.amount
        assert sum(share.line.cost for share in line.shares) == line.line.cost
        assert sum(share.line.hours for share in line.shares) == line.line.hours
    for goods in lot.goods:
        assert sum(share.line.amount for share in goods.shares) == goods.line.amount
        assert sum(share.line.packed.packs for share in goods.shares) == goods.line.packed.packs
        assert sum(share.line.packed.billed for share in goods.shares) == goods.line.packed.billed
    for shop in lot.shop:
        assert sum(share.line.amount for share in shop.shares) == shop.line.amount
    totals = [quote.totals for quote in lot.quotes]
    for name in ("base", "record", "allowance", "base_tax", "cost", "margin"):
        assert sum(getattr(each, name) for each in totals) == getattr(lot.totals, name), name


@settings(max_examples=40, deadline=None)
@given(wanted=coaches(), rule=rules())
def test_of_each_coach_and_of_the_lot_the_amounts_add_up(wanted: list[QuoteInputs], rule: dict[str, object]) -> None:
    lot = fleet(wanted, base(**rule))

    for visible, totals in [(lot.visible, lot.totals), *((quote.visible, quote.totals) for quote in lot.quotes)]:
        amounts = [line.amount for line in visible.labour] + [line.amount for line in visible.materials]
        assert totals.base == visible.base == sum(amounts + [line.amount for line in visible.shop])
        assert totals.contingency == totals.allowance + totals.reserve
        assert totals.limit == totals.base + totals.record + totals.contingency
        assert totals.base_with_tax == totals.base + totals.base_tax + totals.base_rounding
        assert totals.limit_with_tax == totals.limit + totals.limit_tax + totals.limit_rounding
        # An open lot may expect less than its visible work.
        assert totals.limit_with_tax >= totals.base_with_tax or totals.record < 0
        assert totals.reserve >= 0


@settings(max_examples=25, deadline=None)
@given(wanted=coaches(most=1), rule=rules(), factors=st.sampled_from((NO_HISTORY, RECORD)))
def test_a_lot_of_one_is_the_quote_of_that_coach_to_the_cent(
    wanted: list[QuoteInputs], rule: dict[str, object], factors: CostFactors
) -> None:
    lot = fleet(wanted, base(**rule), factors)

    (alone,), (quote,) = lot.alone, lot.quotes
    assert (quote.visible.labour, quote.visible.materials) == (alone.visible.labour, alone.visible.materials)
    assert [line.amount for line in quote.visible.shop] == [line.amount for line in alone.visible.shop]
    assert quote.totals == alone.totals == lot.totals
    assert (quote.set_aside, quote.days, quote.hidden) == (alone.set_aside, alone.days, alone.hidden)


@settings(max_examples=25, deadline=None)
@given(wanted=coaches(), rule=rules())
def test_nobody_pays_more_for_a_line_than_alone(wanted: list[QuoteInputs], rule: dict[str, object]) -> None:
    lot = fleet(wanted, base(**rule))

    cent = Decimal("0.01")
    for share in (share for line in lot.labour for share in line.shares):
        assert share.line.amount <= share.alone.amount + cent
    for goods in (share for line in lot.goods for share in line.shares):
        # Packs that are counted once may split into shares dearer than a pack that fits one coach exactly.
        assert goods.line.packed.billed_in == "pack" or goods.line.amount <= goods.alone.amount + cent
    # Packs over the lot are never more than packs over the coaches.
    assert lot.totals.base <= sum(quote.totals.base for quote in lot.alone) + cent * (len(lot.labour) + len(lot.goods))


def test_the_order_of_the_coaches_moves_no_lot_amount_but_what_is_learned() -> None:
    first = inputs(laminated_34_ft(), plan="skin-over-kept-deck", skin="membrane")
    second = inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane")
    flat = base(unit_learning=1.0)

    one, other = fleet([first, second], flat), fleet([second, first], flat)

    assert one.totals == other.totals
    # A last cent of a line goes to the first of equals.
    for quote, turned in zip(one.quotes, reversed(other.quotes), strict=True):
        assert abs(quote.totals.base - turned.totals.base) <= Decimal("0.01") * (len(one.labour) + len(one.goods))
    assert one.totals.contingency == other.totals.contingency < sum(quote.totals.contingency for quote in one.quotes)


def test_like_coaches_pay_the_same_whichever_comes_first_but_for_a_cent_a_line() -> None:
    lot = fleet([inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane")] * 5)

    bases = [quote.totals.base for quote in lot.quotes]
    assert max(bases) - min(bases) <= Decimal("0.01") * (len(lot.labour) + len(lot.goods) + len(lot.shop))
    assert len({quote.totals.contingency for quote in lot.quotes}) == 1


def test_every_further_like_coach_costs_less_to_work_on() -> None:
    wanted = inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane")

    labour = [fleet([wanted] * count).visible.labour_total for count in (1, 2, 3, 4)]

    added = [after - before for before, after in pairwise(labour)]
    assert labour[0] > added[0] > added[1] > added[2] > 0


def test_each_coach_keeps_its_hidden_components_and_their_unit_prices() -> None:
    lot = fleet([inputs(roof, plan="skin-over-kept-deck", skin="membrane") for roof in ROOFS])

    assert [quote.hidden for quote in lot.quotes] == [quote.hidden for quote in lot.alone]
    assert [quote.set_aside.components for quote in lot.quotes] == [quote.set_aside.components for quote in lot.alone]


def test_a_currency_without_decimals_is_shared_in_whole_units() -> None:
    lot = fleet(
        [inputs(roof, plan="skin-over-kept-deck", skin="membrane") for roof in ROOFS], replace(base(), currency=currency("JPY"))
    )

    assert sum(quote.totals.base for quote in lot.quotes) == lot.totals.base == lot.totals.base.to_integral_value()


@pytest.mark.parametrize("rate", [0.8, 0.95])
def test_two_of_the_published_example_share_its_lines_in_halves(rate: float) -> None:
    # Alone its visible work is 29,912.27 (published). Two together, each line halved, cost less by learning and set-up alone.
    wanted = inputs(laminated_34_ft(), skin="frp", entered=entries(LAMINATED_SAYS))
    assert wanted == laminated()

    lot = compute_fleet([wanted] * 2, base_with(rule={"unit_learning": rate}), shipped_rules(), NO_HISTORY, points())

    assert lot.alone[0].totals.base == Decimal("29912.27")
    assert abs(lot.quotes[0].totals.base - lot.quotes[1].totals.base) < Decimal("0.60")
    labour = lot.alone[0].visible.labour_total
    # Every hour of the second coach counts the rate, and its set-up is gone.
    assert (
        labour * Decimal(str(1 + rate)) - labour * Decimal("0.15") < lot.visible.labour_total < labour * Decimal(str(1 + rate))
    )
