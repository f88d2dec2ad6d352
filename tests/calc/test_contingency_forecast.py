"""The forecast of the final cost: a law whose quantiles and chances are each other's inverse, and what it scores."""

from collections.abc import Sequence
from decimal import Decimal

import numpy as np
import pytest
import scoringrules
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from quotes.calc.contingency import (
    NO_HISTORY,
    CostFactors,
    chance_over,
    chance_within,
    forecast,
    hidden_work,
    quantile,
    quantiles,
)
from tests.calc.contingency_cases import GOLDEN, points
from tests.oracles import contingency as oracle

NOTHING_HIDDEN = (0.0,) * 128
SOME = settings(max_examples=60, deadline=None)
ATOMS = st.lists(st.floats(0, 50000), min_size=1, max_size=128)
FACTORS = st.builds(
    CostFactors,
    theta=st.floats(-0.5, 0.5),
    sd_theta=st.floats(0, 0.4),
    sigma=st.floats(0, 0.4),
    find_factor=st.just(1.0),
    sd_find=st.just(0.0),
)
LEVELS = st.floats(0.001, 0.999)


def spread_of(sigma: float) -> CostFactors:
    return CostFactors(theta=0.0, sd_theta=0.0, sigma=sigma, find_factor=1.0, sd_find=0.0)


@SOME
@given(atoms=ATOMS, factors=FACTORS, level=LEVELS, sd_survey=st.floats(0, 0.3))
def test_the_chance_of_a_quantile_is_its_level(
    atoms: list[float], factors: CostFactors, level: float, sd_survey: float
) -> None:
    base = Decimal(9000)
    amount = Decimal(quantile(atoms, base, factors, sd_survey, level))
    assert chance_within(atoms, base, factors, sd_survey, amount) == pytest.approx(level, abs=1e-9)
    assert chance_over(atoms, base, factors, sd_survey, amount) == pytest.approx(1 - level, abs=1e-9)


@SOME
@given(atoms=ATOMS, factors=FACTORS, amount=st.floats(4000, 80000))
def test_the_quantile_of_a_chance_is_the_amount(atoms: list[float], factors: CostFactors, amount: float) -> None:
    base = Decimal(9000)
    level = chance_within(atoms, base, factors, 0.05, Decimal(amount))
    # Where the law is nearly flat many amounts have one chance to the last digit: judge by chance again.
    if 0.001 < level < 0.999:
        found = quantile(atoms, base, factors, 0.05, level)
        again = chance_within(atoms, base, factors, 0.05, Decimal(found))
        assert again == pytest.approx(level, abs=1e-9)


@SOME
@given(atoms=ATOMS, factors=FACTORS, level=LEVELS)
def test_quantiles_equal_those_found_by_halving(atoms: list[float], factors: CostFactors, level: float) -> None:
    amount = quantile(atoms, Decimal(9000), factors, 0.1, level)
    within = oracle.chance_within(atoms, factors, base=9000.0, amount=amount, sd_survey=0.1)
    assert within == pytest.approx(level, abs=1e-9)


def test_golden_quantiles_equal_those_found_by_halving() -> None:
    atoms = hidden_work(points(), GOLDEN, NO_HISTORY).atoms()
    for level in (0.05, 0.5, 0.8, 0.99):
        slow = oracle.final_cost_quantile(atoms, NO_HISTORY, base=12500.0, level=level, sd_survey=0.0)
        assert quantile(atoms, Decimal(12500), NO_HISTORY, 0.0, level) == pytest.approx(slow, rel=1e-9)


def test_far_tails_keep_their_digits() -> None:
    # One log-normal: ln of the quantile is ln 9000 + 0.12 z.
    for level in (1e-12, 1e-6, 1 - 1e-9):
        exact = 9000 * float(np.exp(0.12 * stats.norm.ppf(level)))
        assert quantile(NOTHING_HIDDEN, Decimal(9000), NO_HISTORY, 0.0, level) == pytest.approx(exact, rel=1e-9)


def test_two_clusters_far_apart_still_have_quantiles() -> None:
    # Half of the atoms at 0, half at 1,000,000: between them the law is flat, and Newton alone would be lost.
    atoms = (0.0,) * 64 + (1_000_000.0,) * 64
    found = quantiles(atoms, Decimal(1000), spread_of(0.03), 0.0, (0.25, 0.499, 0.501, 0.75))
    # The quarter points are the middles of the two parts, whose own median is the atom plus base.
    assert found[0] == pytest.approx(1000.0, rel=1e-9)
    assert found[3] == pytest.approx(1_001_000.0, rel=1e-9)
    assert found[1] < 1200
    assert found[2] > 880_000


def test_a_quote_without_hidden_work_is_log_normal() -> None:
    levels = (0.1, 0.5, 0.8, 0.95)
    exact = stats.lognorm(s=0.12, scale=12500).ppf(levels)
    found = quantiles(NOTHING_HIDDEN, Decimal(12500), NO_HISTORY, 0.0, levels)
    assert found == pytest.approx(exact.tolist(), rel=1e-9)


def test_spread_never_falls_below_three_percent() -> None:
    exact = stats.lognorm(s=0.03, scale=12500).ppf(0.8)
    assert quantile(NOTHING_HIDDEN, Decimal(12500), spread_of(0.0), 0.0, 0.8) == pytest.approx(exact, rel=1e-9)


def test_a_forecast_is_the_three_quantiles() -> None:
    atoms = hidden_work(points(), GOLDEN, NO_HISTORY).atoms()
    told = forecast(atoms, Decimal(12500), NO_HISTORY, 0.0)
    # Published with the model.
    assert [round(x, 2) for x in (told.p50, told.p80, told.p90)] == [13970.55, 16314.43, 17880.72]


def test_nothing_costs_zero_or_less() -> None:
    for amount in (Decimal(0), Decimal(-5)):
        assert chance_within(NOTHING_HIDDEN, Decimal(100), NO_HISTORY, 0.0, amount) == 0.0
        assert chance_over(NOTHING_HIDDEN, Decimal(100), NO_HISTORY, 0.0, amount) == 1.0


def crps_by_quantiles(atoms: Sequence[float], base: Decimal, factors: CostFactors, outcome: float, parts: int) -> float:
    levels = [(place + 0.5) / parts for place in range(parts)]
    amounts = quantiles(atoms, base, factors, 0.0, levels)
    losses = [oracle.pinball(level, amount, outcome) for level, amount in zip(levels, amounts, strict=True)]
    return 2 * sum(losses) / parts


def test_pinball_loss_has_its_published_values() -> None:
    # Level .8, forecast 100: an outcome of 120 costs .8 x 20 = 16, one of 80 costs .2 x 20 = 4.
    assert oracle.pinball(0.8, 100, 120) == pytest.approx(16)
    assert oracle.pinball(0.8, 100, 80) == pytest.approx(4)
    assert float(scoringrules.quantile_score(120.0, 100.0, 0.8)) == pytest.approx(16)
    assert float(scoringrules.quantile_score(80.0, 100.0, 0.8)) == pytest.approx(4)


def test_twice_the_mean_pinball_loss_of_the_quantiles_is_the_crps() -> None:
    # Log-normal (0, .5) at 1.2: .1504342079, by its closed form and by scoringrules.
    published = 0.1504342079
    assert float(scoringrules.crps_lognormal(1.2, 0.0, 0.5)) == pytest.approx(published, abs=1e-9)
    ours = crps_by_quantiles(NOTHING_HIDDEN, Decimal(1), spread_of(0.5), 1.2, 4000)
    assert ours == pytest.approx(published, abs=2e-5)


def test_the_crps_of_a_mixture_is_that_of_its_distribution_function() -> None:
    # CRPS = integral of (F(x) - [x >= outcome])^2 over x, here in steps of 5.
    atoms = hidden_work(points(), GOLDEN, NO_HISTORY).atoms()
    base, outcome = Decimal(12500), 15000.0
    cells = [7000.0 + 5 * place + 2.5 for place in range(6000)]
    within = [chance_within(atoms, base, NO_HISTORY, 0.0, Decimal(x)) for x in cells]
    integral = sum(5 * (f - (x >= outcome)) ** 2 for f, x in zip(within, cells, strict=True))
    assert crps_by_quantiles(atoms, base, NO_HISTORY, outcome, 4000) == pytest.approx(integral, rel=1e-3)
