"""The sample points, and the law of what is found of one component at them."""

import hashlib
from decimal import Decimal
from itertools import pairwise
from statistics import NormalDist

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import stats
from scipy.special import ndtri
from scipy.stats import qmc

from costbase.calc.errors import CalculationError
from quotes.calc.contingency import (
    NO_HISTORY,
    POINTS_SHA256,
    CostFactors,
    FoundColumn,
    PointsError,
    component_column,
    counted_whole,
    find_scale,
    forecast,
    hidden_work,
    sample_points,
    shipped_points,
)
from tests.calc.contingency_cases import GOLDEN, POINTS_FILE, points
from tests.oracles.make_points import make_points

COLUMNS = (1, 2, 3, 4, 5, 6, 8, 9, 10, 11, 12, 13)


def column_of(column: int, chance: float, share: float, *, load: float = 0.6, each: bool = False) -> FoundColumn:
    return component_column(points(), column, chance=chance, share=share, phi=4.0, load=load, each=each)


def test_the_shipped_points_are_the_sobol_points_made_again() -> None:
    shipped = np.load(POINTS_FILE)
    assert shipped.shape == (4096, 16)
    # The last digits of the inverse normal may differ between versions of the library.
    assert np.allclose(shipped, make_points(), rtol=1e-12, atol=1e-14)


def test_the_checksum_is_that_of_the_shipped_values() -> None:
    values = np.load(POINTS_FILE).astype("<f8").tobytes(order="C")
    assert hashlib.sha256(values).hexdigest() == POINTS_SHA256


def test_the_first_point_is_half_a_step_from_zero_in_every_column() -> None:
    # Sobol's first point is 0 in every column, so each score is that of 0.5 / 4096 = 0.0001220703125.
    below = [NormalDist().cdf(score) for score in points().scores[0].tolist()]
    assert below == pytest.approx([0.0001220703125] * 16, rel=1e-9)


def test_the_first_eight_columns_are_those_of_an_eight_dimensional_set() -> None:
    eight = stats.norm.ppf(qmc.Sobol(8, scramble=False).random(4096) + 0.5 / 4096)
    assert np.allclose(points().scores[:, :8], eight, atol=1e-9)


def test_one_changed_digit_of_the_points_is_refused() -> None:
    other = make_points()
    other[17, 3] += 1e-9
    with pytest.raises(PointsError, match=POINTS_SHA256):
        shipped_points(other)


@pytest.mark.parametrize(
    "scores",
    [np.zeros(16), np.zeros((100, 16)), np.zeros((0, 16)), np.zeros((64, 7)), np.full((32, 16), np.nan)],
    ids=["flat", "no runs of 32", "empty", "too few columns", "not finite"],
)
def test_points_of_another_shape_are_refused(scores: NDArray[np.float64]) -> None:
    with pytest.raises(CalculationError) as refusal:
        sample_points(scores)
    assert refusal.value.code == "bad_sample_points"


def test_points_and_columns_cannot_be_written_to() -> None:
    with pytest.raises(ValueError, match="read-only"):
        points().scores[0, 0] = 1.0
    with pytest.raises(ValueError, match="read-only"):
        column_of(1, 0.5, 0.22).share[0] = 1.0


def test_another_set_of_points_gives_the_golden_quote_to_a_tenth_of_a_percent() -> None:
    # 16384 points in place of 4096, against what is published for these: mean 1792.21, P50, P80 and P90 of
    # the cost.
    finer = sample_points(ndtri(qmc.Sobol(16, scramble=False).random(16384) + 0.5 / 16384))
    work = hidden_work(finer, GOLDEN, NO_HISTORY)
    told = forecast(work.atoms(), Decimal(12500), NO_HISTORY, 0.0)
    assert work.mean == pytest.approx(1792.21, rel=1e-3)
    assert (told.p50, told.p80, told.p90) == pytest.approx((13970.55, 16314.43, 17880.72), rel=1e-3)
    # A single order statistic is coarser than what productivity smooths: it moves by a percent of itself.
    assert work.at_level(0.8) == pytest.approx(3164.19, rel=0.015)


@pytest.mark.parametrize("column", COLUMNS)
@pytest.mark.parametrize(("chance", "share"), [(0.5, 0.22), (0.2, 0.1), (0.9, 0.6)])
def test_a_column_has_the_moments_of_the_zero_inflated_beta(column: int, chance: float, share: float) -> None:
    found = column_of(column, chance, share)
    law = stats.beta(share * 4, (1 - share) * 4)
    mean = chance * law.mean()
    variance = chance * (law.var() + law.mean() ** 2) - mean**2
    assert found.chance_found == pytest.approx(chance, abs=0.0025)
    assert found.mean_share == pytest.approx(mean, rel=0.01)
    assert float(found.share.var()) == pytest.approx(variance, rel=0.05)


@pytest.mark.parametrize("column", COLUMNS)
def test_what_is_found_follows_the_beta_law(column: int) -> None:
    found = column_of(column, 0.5, 0.22)
    distance = stats.kstest(found.share[found.found], stats.beta(0.88, 3.12).cdf).statistic
    # 2048 points of a regular net, far below what chance would give (0.03 at 5 %).
    assert distance < 0.01


def test_a_part_found_whole_has_the_chance_times_the_share() -> None:
    found = column_of(9, 0.26360831, 0.7347022, each=True)
    assert set(found.share.tolist()) == {0.0, 1.0}
    # .26360831 x .7347022 = .193674
    assert found.chance_found == pytest.approx(0.193674, abs=0.002)


def test_chance_and_share_raise_a_column_at_every_point() -> None:
    by_chance = [column_of(3, chance, 0.25).share for chance in (0.1, 0.3, 0.55, 0.9)]
    by_share = [column_of(3, 0.5, share).share for share in (0.05, 0.2, 0.5, 0.9)]
    for rising in (by_chance, by_share):
        for less, more in pairwise(rising):
            assert (more >= less - 1e-12).all()


def test_full_loading_finds_all_components_at_the_same_points() -> None:
    assert (column_of(1, 0.4, 0.25, load=1.0).found == column_of(12, 0.4, 0.25, load=1.0).found).all()


def test_extreme_laws_stay_between_nothing_and_everything() -> None:
    for phi in (0.01, 1.0, 30.0, 1000.0):
        for share in (1e-6, 0.01, 0.5, 0.99, 1 - 1e-9):
            found = component_column(points(), 2, chance=0.999, share=share, phi=phi, load=0.6, each=False)
            assert np.isfinite(found.share).all()
            assert found.share.min() >= 0
            assert found.share.max() <= 1


def test_the_doubt_about_the_find_factor_keeps_its_mean() -> None:
    factors = CostFactors(theta=0.0, sd_theta=0.0, sigma=0.12, find_factor=1.3, sd_find=0.4)
    scale = find_scale(points(), factors)
    assert scale is not None
    assert float(scale.mean()) == pytest.approx(1.3, rel=2e-3)
    assert find_scale(points(), NO_HISTORY) is None


def test_only_small_counts_are_found_whole() -> None:
    assert counted_whole("each", 4.0)
    assert not counted_whole("each", 5.0)
    assert not counted_whole("ft", 3.0)
