"""What holds for every quote: amounts add up, and worse damage costs more."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.cost_base import TaxRate
from costbase.calc.money import currency
from quotes.calc.contingency import CostFactors
from quotes.calc.inputs import QuoteInputs, TierOverride
from quotes.calc.labour import hours_by_phase, hours_by_trade
from quotes.calc.pricing import amounts_by_phase
from quotes.calc.quote import Quote, compute_quote
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import CONDITIONS, TIERS, CellMark, RingMark, StripMark, Survey
from tests.calc.contingency_cases import points
from tests.calc.roofs import framed_28_ft, laminated_34_ft, roof, section, span
from tests.calc.shipped_base import base_with, entry, framed, inputs, laminated, quoted, shipped
from tests.calc.surveys import all_cells, cell, survey

# Strategies -------------------------------------------------------------------------------------------------

ROOFS = {"laminated": laminated_34_ft(), "framed": framed_28_ft()}
DAMAGE = CONDITIONS[1:]
OPENED_PLANS = ("full-rebuild", "skin-over-kept-deck")


@st.composite
def marked(draw: st.DrawFn) -> tuple[QuoteInputs, tuple[CellMark, ...]]:
    """A sample roof with some of its cells marked, and the cells that are not."""
    name = draw(st.sampled_from(sorted(ROOFS)))
    cells = draw(st.permutations(all_cells(ROOFS[name].sections[0])))
    count = draw(st.integers(0, len(cells) - 1))
    method = st.sampled_from(("walked", "metered", "opened"))
    marks = tuple(
        replace(mark, condition=draw(st.sampled_from(CONDITIONS)), method=draw(method)) for mark in cells[: min(count, 12)]
    )
    # The rest of those that were looked at is sound, as most of a roof is.
    marks += tuple(cells[len(marks) : count])
    wanted = inputs(
        ROOFS[name],
        plan=draw(st.sampled_from(OPENED_PLANS)),
        skin="membrane",
        survey=Survey("walked", "2026-05-30", cells=marks),
    )
    return wanted, tuple(cells[count:])


@st.composite
def pricing(draw: st.DrawFn) -> dict[str, object]:
    """A pricing rule with every share, cap and mode that a shop may have."""
    share = st.decimals("0", "0.4", places=4)
    return {
        "markups": {"materials": draw(share)},
        "stock_billing": draw(st.sampled_from(("packs", "use"))),
        "supplies_share": draw(share),
        "supplies_cap": draw(st.none() | st.decimals("0", "900", places=2)),
        "overhead_share": draw(share),
        "minimum_charge": draw(st.decimals("0", "40000", places=2)),
        "tax_mode": draw(
            st.sampled_from(("none", "parts_only", "separated", "all_with_parts", "parts_and_labour", "lump_sum"))
        ),
        "tax_rates": tuple(
            TaxRate(f"rate {at}", rate)
            for at, rate in enumerate(draw(st.lists(st.decimals("0", "0.12", places=5), max_size=3)))
        ),
        "price_basis": draw(st.sampled_from(("firm", "open"))),
        "confidence_level": draw(st.sampled_from((0.5, 0.8, 0.9, 0.99))),
        "total_step": draw(st.sampled_from((Decimal(0), Decimal(1), Decimal(5)))),
        "deposit_share": draw(share),
    }


RECORDS = st.builds(
    CostFactors,
    theta=st.floats(-0.2, 0.2),
    sd_theta=st.floats(0.0, 0.1),
    sigma=st.floats(0.03, 0.25),
    find_factor=st.floats(0.5, 2.0),
    sd_find=st.floats(0.0, 0.3),
)


# Sums -------------------------------------------------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(pricing(), RECORDS, st.sampled_from(("USD", "JPY", "KWD")), st.booleans())
def test_lines_allowances_reserve_tax_and_limit_add_up_to_the_last_digit(
    rule: dict[str, object], record: CostFactors, code: str, is_framed: bool
) -> None:
    wanted = framed() if is_framed else laminated()
    money = currency(code)
    # A step, cap and minimum that the currency can hold.
    whole = {
        name: value.quantize(Decimal(1)) for name, value in rule.items() if name in _AMOUNTS and isinstance(value, Decimal)
    }
    base = replace(base_with(wanted.plan, rule=rule | whole), currency=money)
    quote = compute_quote(wanted, base, SeverityRules.from_contents(base.severity.contents), record, points())
    totals, visible = quote.totals, quote.visible

    lines = [line.amount for line in visible.labour]
    lines += [line.amount for line in visible.materials]
    lines += [line.amount for line in visible.shop]
    assert totals.base == visible.base == sum(lines)
    assert sum(part.allowance for part in quote.set_aside.components) == totals.allowance
    assert totals.allowance + totals.reserve == totals.contingency
    assert totals.reserve >= 0
    assert totals.limit == totals.base + totals.record + totals.contingency == quote.set_aside.limit
    assert totals.base_with_tax == totals.base + totals.base_tax + totals.base_rounding
    assert totals.limit_with_tax == totals.limit + totals.limit_tax + totals.limit_rounding
    assert sum(tax.amount for tax in totals.base_taxes) == totals.base_tax
    assert sum(tax.amount for tax in totals.limit_taxes) == totals.limit_tax
    assert totals.base - totals.cost == totals.margin
    assert all(-int(amount.as_tuple().exponent) == money.digits for amount in (*lines, totals.limit, totals.limit_with_tax))


_AMOUNTS = frozenset({"supplies_cap", "minimum_charge", "total_step"})


@pytest.mark.parametrize("wanted", [laminated(), framed()], ids=["laminated", "framed"])
def test_hours_and_amounts_by_phase_and_trade_are_those_of_the_lines(wanted: QuoteInputs) -> None:
    visible = quoted(wanted).visible
    hours = sum(line.hours for line in visible.labour)

    assert sum(hours_by_phase(visible.labour).values()) == sum(hours_by_trade(visible.labour).values()) == hours
    assert sum(amounts_by_phase(visible).values()) == visible.labour_total + visible.material_total


@settings(max_examples=40, deadline=None)
@given(st.permutations(sorted(shipped().assemblies)), st.permutations(sorted(shipped().components)))
def test_the_order_of_the_cost_base_moves_nothing(assemblies: list[str], components: list[str]) -> None:
    base = shipped()
    shuffled = base_with(
        assemblies={slug: base.assemblies[slug] for slug in assemblies},
        components={slug: base.components[slug] for slug in components},
        conditions=dict(reversed(base.conditions.items())),
    )

    # Not even a cent of an allowance that is shared out, and not the last bit of an atom.
    assert quoted(laminated(), shuffled) == quoted(laminated())


# Damage -----------------------------------------------------------------------------------------------------


def severity(quote: Quote) -> int:
    return TIERS.index(quote.severity.tier)


def expected(quote: Quote) -> Decimal:
    return quote.totals.base + quote.totals.allowance


@settings(max_examples=60, deadline=None)
@given(marked(), st.data())
def test_a_further_damage_mark_never_lowers_tier_price_or_limit(
    roof_and_rest: tuple[QuoteInputs, tuple[CellMark, ...]], data: st.DataObject
) -> None:
    wanted, rest = roof_and_rest
    further = replace(data.draw(st.sampled_from(rest)), condition=data.draw(st.sampled_from(DAMAGE)))
    known = wanted.survey
    worse = replace(wanted, survey=replace(known, cells=(*known.cells, further)))

    before, after = quoted(wanted), quoted(worse)
    assert severity(after) >= severity(before)
    assert after.totals.base >= before.totals.base
    assert expected(after) >= expected(before)
    assert after.totals.limit >= before.totals.limit


STRIPS = tuple(StripMark("main", side, index, "sound", "walked") for side in ("driver", "passenger") for index in range(1, 15))
RINGS = tuple(
    RingMark("main", label, "sound", "walked", "unknown") for label in ("vent 1", "vent 2", "vent 3", "skylight", "fridge vent")
)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(sorted(ROOFS)),
    st.lists(st.sampled_from((*STRIPS, *RINGS)), max_size=8, unique=True),
    st.sampled_from((*STRIPS, *RINGS)),
    st.sampled_from(DAMAGE),
    st.data(),
)
def test_a_further_rotten_strip_or_ring_never_lowers_tier_price_or_limit(
    name: str, known: list[StripMark | RingMark], further: StripMark | RingMark, damage: str, data: st.DataObject
) -> None:
    conditions = st.sampled_from(CONDITIONS)
    kept = [replace(mark, condition=data.draw(conditions)) for mark in known if mark != further]
    wanted = [
        inputs(ROOFS[name], plan="skin-over-kept-deck", skin="membrane", survey=survey(*marks))
        for marks in (kept, [*kept, replace(further, condition=damage)])
    ]

    before, after = quoted(wanted[0]), quoted(wanted[1])
    assert severity(after) >= severity(before)
    assert after.totals.base >= before.totals.base
    assert expected(after) >= expected(before)
    assert after.totals.limit >= before.totals.limit


@settings(max_examples=60, deadline=None)
@given(marked(), st.data())
def test_a_mark_corrected_to_worse_never_costs_less_where_drying_is_the_same(
    roof_and_rest: tuple[QuoteInputs, tuple[CellMark, ...]], data: st.DataObject
) -> None:
    # Drying apart: see the next test.
    wanted, _ = roof_and_rest
    dried = replace(wanted, entered=(entry("dry_days", "3 day"),))
    cells = list(wanted.survey.cells)
    at = data.draw(st.integers(0, len(cells) - 1)) if cells else None
    if at is None or cells[at].condition == "rotten":
        return
    cells[at] = replace(cells[at], condition=CONDITIONS[CONDITIONS.index(cells[at].condition) + 1])
    worse = replace(dried, survey=replace(wanted.survey, cells=tuple(cells)))

    before, after = quoted(dried), quoted(worse)
    assert after.totals.base >= before.totals.base
    assert expected(after) >= expected(before)
    assert after.totals.limit >= before.totals.limit


def test_the_only_damp_cell_turned_soft_in_a_course_that_is_replaced_saves_the_drying() -> None:
    # What worse damage may cost less: 3 days x (0.4 h x 95 + 58.00 x 1.35) = 114.00 + 234.90. A soft cell asks for no drying,
    # and its course comes off anyhow, for the rotten cell beside it.
    damp, soft = (
        quoted(
            inputs(
                laminated_34_ft(),
                plan="skin-over-kept-deck",
                survey=survey(cell("3A", "rotten"), cell("3B", condition)),
            )
        )
        for condition in ("damp", "soft")
    )

    assert damp.totals.base - soft.totals.base == Decimal("348.90")


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(ROOFS)), st.integers(0, 3), st.integers(0, 3))
def test_a_worse_tier_is_never_cheaper(name: str, one: int, other: int) -> None:
    by_tier = [
        quoted(
            inputs(
                ROOFS[name],
                plan="skin-over-kept-deck",
                skin="membrane",
                override=TierOverride(TIERS[tier], "for the sake of comparing"),
            )
        ).totals
        for tier in sorted((one, other))
    ]

    assert by_tier[0].base == by_tier[1].base
    assert by_tier[0].allowance <= by_tier[1].allowance
    assert by_tier[0].limit <= by_tier[1].limit


MORE = {
    "wall_top_rot_length": "ft",
    "spun_nut_count": "each",
    "backing_count": "each",
    "cap_crack_length": "ft",
    "mold_area": "ft2",
    "vermin_zone_count": "each",
    "added_trim_length": "ft",
    "dry_days": "day",
}


@settings(max_examples=60, deadline=None)
@given(st.sampled_from(sorted(MORE)), st.integers(0, 5), st.integers(0, 5))
def test_more_of_what_was_found_never_makes_the_visible_work_cheaper(slug: str, one: int, other: int) -> None:
    less, more = sorted((one, other))
    bases = [
        quoted(inputs(laminated_34_ft(), entered=(entry(slug, f"{amount} {MORE[slug]}"),))).totals.base
        for amount in (less, more)
    ]

    assert bases[0] <= bases[1]


@settings(max_examples=60, deadline=None)
@given(st.integers(300, 540), st.integers(0, 60), st.integers(84, 102), st.integers(0, 12))
def test_a_longer_and_a_wider_roof_costs_more(length: int, longer: int, width: int, wider: int) -> None:
    small = roof(section(length_in=length, width_in=min(width, 102), construction="framed", core_in=0))
    large = roof(section(length_in=length + longer, width_in=min(width + wider, 114), construction="framed", core_in=0))

    less, more = (quoted(inputs(one, skin="membrane")).totals for one in (small, large))
    assert less.base <= more.base
    assert less.allowance <= more.allowance


@settings(max_examples=40, deadline=None)
@given(st.sampled_from(sorted(shipped().trades)), st.decimals("1", "2", places=3))
def test_a_dearer_trade_never_makes_a_quote_cheaper(slug: str, factor: Decimal) -> None:
    trades = dict(shipped().trades)
    trades[slug] = replace(trades[slug], billed_per_hour=trades[slug].billed_per_hour * factor)
    dearer, plain = quoted(laminated(), base_with(trades=trades)).totals, quoted(laminated()).totals

    assert dearer.base >= plain.base
    assert dearer.allowance >= plain.allowance
    assert dearer.limit >= plain.limit


@settings(max_examples=40, deadline=None)
@given(st.integers(48, 360))
def test_a_roof_in_two_parts_is_measured_as_the_whole_is(cut: int) -> None:
    parts = [
        quoted(inputs(laminated_34_ft(), plan="partial-roof", scope=(span("main", start, end),)))
        for start, end in ((0, cut), (cut, 408))
    ]
    whole = quoted(inputs(laminated_34_ft(), plan="partial-roof"))

    for slug in ("skin_area", "deck_area", "side_edge_length", "cap_joint_length", "vent_flange_length"):
        together = sum(float(part.measured.whole[slug]) for part in parts)
        assert together == pytest.approx(float(whole.measured.whole[slug]), rel=1e-9), slug
