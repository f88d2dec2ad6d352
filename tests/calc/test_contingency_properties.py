"""What holds for every quote: what more, worse or surer means, and what must not matter."""

from dataclasses import replace
from decimal import Decimal
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from costbase.calc.money import Currency
from quotes.calc.contingency import (
    NO_HISTORY,
    CostFactors,
    Exposure,
    chance_within,
    found_column,
    hidden_work,
    quantile,
    quantiles,
)
from tests.calc.contingency_cases import FRAMED, GOLDEN, LAMINATED, part, points, quoted

COLUMNS = (1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13)
SOME = settings(max_examples=40, deadline=None)


@st.composite
def hidden_parts(draw: st.DrawFn) -> list[Exposure]:
    """One to five hidden components; tables and exposures are drawn from few values so that columns are met again."""
    columns = draw(st.lists(st.sampled_from(COLUMNS), min_size=1, max_size=5, unique=True))
    return [
        part(
            f"component-{column}",
            column,
            exposure=draw(st.sampled_from((0.0, 1.0, 3.0, 12.5, 60.0, 240.0))),
            unit_price=draw(st.sampled_from(("0", "0.8", "18", "112.326337", "900"))),
            set_up=draw(st.sampled_from(("0", "47.5", "225"))),
            chance=draw(st.sampled_from((0.0, 0.05, 0.3, 0.5, 0.9))),
            share=draw(st.sampled_from((0.0, 0.1, 0.25, 0.6))),
            load=draw(st.sampled_from((0.0, 0.6))),
        )
        for column in columns
    ]


def with_factors(**changes: float) -> CostFactors:
    return replace(NO_HISTORY, **changes)


BASES = pytest.mark.parametrize("basis", ["firm", "open"])


@BASES
def test_no_hidden_component_sets_nothing_aside_in_a_firm_quote(basis: str) -> None:
    quote = quoted([], basis=basis)
    assert quote.allowance == 0
    assert quote.components == ()
    assert quote.chance_nothing_found == 1.0
    if basis == "firm":
        assert quote.contingency == 0
        assert quote.limit == Decimal("12500")


@pytest.mark.parametrize(
    "idle", [part(set_up="225", exposure=0.0), part(set_up="225", chance=0.0), part(set_up="225", share=0.0)]
)
def test_what_cannot_be_found_costs_nothing(idle: Exposure) -> None:
    quote = quoted([idle])
    assert quote.allowance == 0
    assert quote.contingency == 0
    assert quote.chance_nothing_found == 1.0


@SOME
@given(parts=hidden_parts(), basis=st.sampled_from(("firm", "open")))
def test_components_add_to_the_allowance_and_the_split_adds(parts: list[Exposure], basis: str) -> None:
    quote = quoted(parts, basis=basis)
    assert sum((row.allowance for row in quote.components), Decimal(0)) == quote.allowance
    assert quote.reserve >= 0
    assert quote.allowance + quote.reserve == quote.contingency
    start = Decimal("12500") if basis == "firm" else quote.base_expected
    assert quote.limit == start + quote.contingency


@SOME
@given(parts=hidden_parts(), level=st.sampled_from((0.5, 0.75, 0.8, 0.9, 0.99)))
def test_a_firm_contingency_covers_at_least_its_level_of_the_points(parts: list[Exposure], level: float) -> None:
    assert quoted(parts, level=level).coverage_share >= level


@SOME
@given(parts=hidden_parts(), level=st.sampled_from((0.5, 0.75, 0.8, 0.9, 0.99)))
def test_an_open_limit_holds_with_the_chance_of_its_level_when_there_is_a_reserve(parts: list[Exposure], level: float) -> None:
    quote = quoted(parts, basis="open", level=level)
    within = chance_within(quote.atoms, Decimal("12500"), NO_HISTORY, 0.0, quote.limit)
    assert within >= level - 1e-5  # the limit is rounded to the cent
    if quote.reserve > Decimal("0.01"):
        assert within == pytest.approx(level, abs=1e-5)
        assert quote.coverage_share == pytest.approx(level, abs=1e-9)


@SOME
@given(parts=hidden_parts(), basis=st.sampled_from(("firm", "open")))
def test_more_confidence_never_costs_less(parts: list[Exposure], basis: str) -> None:
    amounts = [quoted(parts, basis=basis, level=level).contingency for level in (0.5, 0.6, 0.8, 0.9, 0.99)]
    assert amounts == sorted(amounts)


@SOME
@given(parts=hidden_parts(), index=st.integers(0, 4), dearer=st.sampled_from(("exposure", "unit_price", "set_up")))
def test_a_dearer_or_larger_component_never_costs_less(parts: list[Exposure], index: int, dearer: str) -> None:
    chosen = parts[index % len(parts)]
    changed = replace(chosen, **{dearer: getattr(chosen, dearer) * 2 + 1})
    more = [changed if row is chosen else row for row in parts]
    for basis in ("firm", "open"):
        before, after = quoted(parts, basis=basis), quoted(more, basis=basis)
        assert after.allowance >= before.allowance
        assert after.contingency >= before.contingency


@SOME
@given(parts=hidden_parts())
def test_hidden_work_never_exceeds_all_exposures_and_set_ups(parts: list[Exposure]) -> None:
    wide = with_factors(find_factor=2.5, sd_find=0.5)
    everything = sum(row.exposure * float(row.unit_price) + float(row.set_up) for row in parts)
    assert hidden_work(points(), parts, wide).ordered[-1] <= everything * (1 + 1e-12)


@SOME
@given(parts=hidden_parts())
def test_a_component_that_is_not_exposed_changes_nothing(parts: list[Exposure]) -> None:
    free = next(column for column in COLUMNS if column not in {row.column for row in parts})
    idle = part("idle", free, exposure=0.0, unit_price="900", set_up="500", chance=0.9, share=0.9)
    before, after = quoted(parts), quoted([*parts, idle])
    assert after.components[:-1] == before.components
    assert after.components[-1].allowance == 0
    assert replace(after, components=before.components) == before


@SOME
@given(parts=hidden_parts())
def test_the_mean_is_the_sum_of_chance_share_exposure_and_price(parts: list[Exposure]) -> None:
    exact = sum(
        row.chance * row.share * row.exposure * float(row.unit_price)
        + (row.chance * float(row.set_up) if row.share and row.exposure else 0.0)
        for row in parts
    )
    # Rare and wide components are the hardest for 4096 points: 3.33 % at a chance of .05 in the worst column.
    assert hidden_work(points(), parts, NO_HISTORY).mean == pytest.approx(exact, rel=0.034)


@SOME
@given(parts=hidden_parts(), scale=st.sampled_from((Decimal("0.01"), Decimal(7), Decimal(1000))))
def test_another_currency_scales_every_figure(parts: list[Exposure], scale: Decimal) -> None:
    scaled = [replace(row, unit_price=row.unit_price * scale, set_up=row.set_up * scale) for row in parts]
    here, there = hidden_work(points(), parts, NO_HISTORY), hidden_work(points(), scaled, NO_HISTORY)
    assert np.allclose(there.ordered, here.ordered * float(scale), rtol=1e-9, atol=0)
    assert there.mean == pytest.approx(here.mean * float(scale), rel=1e-9)
    base = Decimal(12500)
    cost = quantile(here.atoms(), base, NO_HISTORY, 0.0, 0.8)
    assert quantile(there.atoms(), base * scale, NO_HISTORY, 0.0, 0.8) == pytest.approx(cost * float(scale), rel=1e-9)


def test_a_currency_without_decimals_gets_whole_amounts_that_add() -> None:
    quote = quoted(FRAMED, base="14153", currency=Currency("JPY", 0))
    assert (quote.allowance, quote.contingency) == (Decimal(2259), Decimal(3858))
    assert sum(row.allowance for row in quote.components) == Decimal(2259)


def test_a_worse_tier_finds_more_at_every_point() -> None:
    tiers = [(0.2, 0.1), (0.45, 0.2), (0.62, 0.3), (0.8, 0.45)]
    for whole in (False, True):
        rising = [hidden_by_point([part(exposure=4.0, set_up="150", chance=p, share=m, each=whole)]) for p, m in tiers]
        for milder, worse in pairwise(rising):
            assert (worse >= milder - 1e-9).all()


def hidden_by_point(parts: list[Exposure]) -> NDArray[np.float64]:
    # One component: its amounts by point, before the sort, from its column.
    only = parts[0]
    column = found_column(points(), only, None)
    return column.share * only.exposure * float(only.unit_price) + column.found * float(only.set_up)


@SOME
@given(
    parts=hidden_parts(),
    sd_survey=st.sampled_from((0.02, 0.05, 0.08, 0.15, 0.2)),
    basis=st.sampled_from(("firm", "open")),
    sigma=st.sampled_from((0.01, 0.12, 0.3)),
)
def test_the_way_of_surveying_never_moves_an_expected_amount(
    parts: list[Exposure], sd_survey: float, basis: str, sigma: float
) -> None:
    factors = with_factors(sigma=sigma, theta=0.03, sd_theta=0.02)
    plain = quoted(parts, basis=basis, factors=factors)
    surveyed = quoted(parts, basis=basis, factors=factors, sd_survey=sd_survey)
    assert surveyed.allowance == plain.allowance
    assert surveyed.base_expected == plain.base_expected
    assert surveyed.components == plain.components
    if basis == "firm":
        assert surveyed.limit == plain.limit


def test_a_survey_from_telling_widens_the_forecast_and_keeps_its_mean() -> None:
    # Mean of the final cost = integral of its quantiles: 0.0005, 0.0015, ... stand for 1000 equal parts.
    atoms = hidden_work(points(), GOLDEN, NO_HISTORY).atoms()
    told, opened = quoted(GOLDEN, sd_survey=0.2), quoted(GOLDEN, sd_survey=0.02)
    assert told.p90 - told.p50 > opened.p90 - opened.p50
    levels = [(place + 0.5) / 1000 for place in range(1000)]
    means = [sum(quantiles(atoms, Decimal(12500), NO_HISTORY, sd, levels)) / 1000 for sd in (0.0, 0.02, 0.2)]
    assert means == pytest.approx([means[0]] * 3, rel=1e-3)


def test_wetness_widens_hidden_work_and_keeps_its_mean() -> None:
    works = [hidden_work(points(), [replace(row, load=load) for row in GOLDEN], NO_HISTORY) for load in (0.0, 0.3, 0.6, 0.9)]
    spreads = [float(work.ordered.std()) for work in works]
    assert spreads == sorted(spreads)
    assert spreads[-1] > 1.5 * spreads[0]
    for work in works:
        assert work.mean == pytest.approx(1791.95, rel=0.005)


@pytest.mark.parametrize("parts", [GOLDEN, LAMINATED, FRAMED])
def test_the_cost_factor_scales_base_allowance_and_contingency_alike(parts: list[Exposure]) -> None:
    # ln 1.25 = 0.22314355131420976
    plain = quoted(parts, basis="open")
    dearer = quoted(parts, basis="open", factors=with_factors(theta=0.22314355131420976))
    for name in ("base_expected", "allowance", "contingency", "p50", "p80", "p90"):
        assert float(getattr(dearer, name)) == pytest.approx(1.25 * float(getattr(plain, name)), abs=0.02)


def test_the_cost_factor_leaves_the_limit_of_a_firm_quote_alone() -> None:
    plain, slow_shop = quoted(GOLDEN), quoted(GOLDEN, factors=with_factors(theta=0.2))
    assert slow_shop.limit == plain.limit
    assert slow_shop.allowance == plain.allowance
    assert slow_shop.record_difference > plain.record_difference
    assert slow_shop.p80 > plain.p80


@BASES
@pytest.mark.parametrize("parts", [GOLDEN, LAMINATED, FRAMED])
def test_a_higher_find_factor_never_costs_less(parts: list[Exposure], basis: str) -> None:
    quotes = [quoted(parts, basis=basis, factors=with_factors(find_factor=g)) for g in (0.4, 0.8, 1.0, 1.3, 2.5)]
    for less, more in pairwise(quotes):
        assert more.allowance > less.allowance
        assert more.contingency >= less.contingency


@pytest.mark.parametrize("parts", [GOLDEN, LAMINATED, FRAMED])
def test_more_doubt_is_not_cheaper_at_high_confidence(parts: list[Exposure]) -> None:
    plain = quoted(parts, basis="open", level=0.95).contingency
    for doubt in ({"sd_theta": 0.1}, {"sd_theta": 0.3}, {"sd_find": 0.3}, {"sigma": 0.2}):
        assert quoted(parts, basis="open", level=0.95, factors=with_factors(**doubt)).contingency >= plain
    firm = quoted(parts, level=0.95).contingency
    assert quoted(parts, level=0.95, factors=with_factors(sd_find=0.3)).contingency >= firm


def test_without_history_nothing_is_corrected_and_single_jobs_spread_by_twelve_percent() -> None:
    assert CostFactors(theta=0.0, sd_theta=0.0, sigma=0.12, find_factor=1.0, sd_find=0.0) == NO_HISTORY


@BASES
def test_a_level_correction_works_with_its_own_level_and_keeps_the_promised_one(basis: str) -> None:
    corrected = quoted(FRAMED, basis=basis, level=0.8, corrected_level=0.9)
    assert corrected.level == 0.8
    assert replace(corrected, level=0.9) == quoted(FRAMED, basis=basis, level=0.9)


def test_the_order_of_the_components_does_not_matter() -> None:
    there, back = quoted(FRAMED), quoted(FRAMED[::-1])
    assert (there.allowance, there.contingency, there.p80) == (back.allowance, back.contingency, back.p80)
    assert there.components == back.components[::-1]
