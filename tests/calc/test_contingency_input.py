"""What is refused, with which words, and a manager's low, likely and high."""

from dataclasses import replace
from decimal import Decimal
from math import inf, nan

import pytest

from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.calc.contingency import (
    NO_HISTORY,
    chance_within,
    hidden_work,
    pert,
    pert_share,
    quantiles,
)
from tests.calc.contingency_cases import GOLDEN, part, points, quoted


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("column", 0),
        ("column", 7),
        ("column", 16),
        ("column", -1),
        ("exposure", -0.1),
        ("exposure", nan),
        ("exposure", inf),
        ("unit_price", Decimal(-1)),
        ("unit_price", Decimal("NaN")),
        ("set_up", Decimal(-1)),
        ("set_up", Decimal("Infinity")),
        ("chance", 1.0),
        ("chance", -0.01),
        ("chance", nan),
        ("share", 1.0),
        ("share", nan),
        ("phi", 0.0),
        ("phi", -4.0),
        ("phi", inf),
        ("load", 1.01),
        ("load", nan),
        ("patch", 0.0),
    ],
)
def test_a_number_of_a_component_that_cannot_be_is_refused_by_name(name: str, value: float | Decimal) -> None:
    with pytest.raises(CalculationError) as refusal:
        quoted([part("core", 3), replace(part(), **{name: value})])  # type: ignore[arg-type]
    assert refusal.value.code == "bad_exposure"
    assert refusal.value.field == f"exposures/1/{name}"
    assert "deck: expected" in refusal.value.message


def test_more_than_four_are_not_found_whole() -> None:
    with pytest.raises(CalculationError, match="at most 4") as refusal:
        quoted([part(exposure=5.0, each=True)])
    assert refusal.value.field == "exposures/0/each"


def test_two_components_cannot_share_a_column() -> None:
    with pytest.raises(CalculationError, match="already belongs to deck"):
        quoted([part("deck", 1), part("core", 1)])


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("theta", nan),
        ("theta", 2.5),
        ("sd_theta", -0.1),
        ("sigma", inf),
        ("find_factor", 0.0),
        ("find_factor", nan),
        ("find_factor", 11.0),
        ("sd_find", -0.1),
    ],
)
def test_a_record_that_cannot_be_is_refused_by_name(name: str, value: float) -> None:
    with pytest.raises(CalculationError) as refusal:
        quoted(GOLDEN, factors=replace(NO_HISTORY, **{name: value}))
    assert (refusal.value.code, refusal.value.field) == ("bad_cost_factors", f"factors/{name}")


@pytest.mark.parametrize("level", [0.49, 0.995, 0.0, 1.0, nan])
def test_a_confidence_level_outside_half_to_ninety_nine_percent_is_refused(level: float) -> None:
    with pytest.raises(CalculationError, match=r"0\.50 to 0\.99") as refusal:
        quoted(GOLDEN, level=level)
    assert refusal.value.code == "bad_confidence_level"


@pytest.mark.parametrize("level", [0.0, 1.0, nan])
def test_a_corrected_level_is_a_chance(level: float) -> None:
    with pytest.raises(CalculationError) as refusal:
        quoted(GOLDEN, corrected_level=level)
    assert refusal.value.field == "corrected_level"


@pytest.mark.parametrize("base", ["0", "-1", "NaN", "Infinity"])
def test_visible_work_must_be_an_amount_above_zero(base: str) -> None:
    with pytest.raises(CalculationError, match="more than zero") as refusal:
        quoted(GOLDEN, base=base)
    assert (refusal.value.code, refusal.value.field) == ("bad_forecast_amount", "base")


def test_an_unknown_basis_and_survey_spread_are_refused() -> None:
    with pytest.raises(CalculationError, match="firm or open") as refusal:
        quoted(GOLDEN, basis="fixed")
    assert refusal.value.code == "bad_price_basis"
    with pytest.raises(CalculationError) as refusal:
        quoted(GOLDEN, sd_survey=nan)
    assert refusal.value.field == "sd_survey"


def test_all_faults_are_told_at_once() -> None:
    with pytest.raises(CalculationFaults) as refusal:
        quoted([part(chance=1.5), part("core", 3, share=-1.0)], level=0.2, base="-4", basis="fixed")
    assert [fault.field for fault in refusal.value.faults] == [
        "exposures/0/chance",
        "exposures/1/share",
        "level",
        "base",
        "basis",
    ]


def test_hidden_work_checks_its_components_itself() -> None:
    with pytest.raises(CalculationError):
        hidden_work(points(), [part(chance=2.0)], NO_HISTORY)


@pytest.mark.parametrize("atoms", [(), (-1.0,), (nan,), (inf,)])
def test_atoms_must_be_amounts(atoms: tuple[float, ...]) -> None:
    with pytest.raises(CalculationError) as refusal:
        quantiles(atoms, Decimal(100), NO_HISTORY, 0.0, (0.5,))
    assert refusal.value.field == "atoms"


@pytest.mark.parametrize("level", [0.0, 1.0, -0.2, nan])
def test_a_quantile_is_asked_for_a_chance_between_none_and_certain(level: float) -> None:
    with pytest.raises(CalculationError) as refusal:
        quantiles((0.0,), Decimal(100), NO_HISTORY, 0.0, (0.5, level))
    assert refusal.value.code == "bad_confidence_level"


def test_the_chance_of_no_amount_is_refused() -> None:
    with pytest.raises(CalculationError) as refusal:
        chance_within((0.0,), Decimal(100), NO_HISTORY, 0.0, Decimal("NaN"))
    assert refusal.value.field == "amount"


def test_three_points_give_the_published_mean_and_deviation() -> None:
    # (5 + 4 x 8 + 14) / 6 = 51 / 6 = 8.5; (14 - 5) / 6 = 1.5. Source: the textbook example of three-point
    # estimates.
    assert pert(5, 8, 14) == (8.5, 1.5)


def test_a_managers_shares_give_mean_and_concentration() -> None:
    # Mean (.1 + 4 x .25 + .7) / 6 = .3, deviation .6 / 6 = .1, phi = .3 x .7 / .01 - 1 = 20, held at 8.
    entry = pert_share(0.1, 0.25, 0.7)
    assert entry.mean == pytest.approx(0.3)
    assert entry.phi == 8.0
    # Mean (0 + 4 x .2 + 1) / 6 = .3, deviation 1/6, phi = .21 x 36 - 1 = 6.56.
    wide = pert_share(0.0, 0.2, 1.0)
    assert wide.mean == pytest.approx(0.3)
    assert wide.phi == pytest.approx(6.56)
    # Mean (0 + 0 + .06) / 6 = .01, deviation .01: .01 x .99 / .0001 - 1 = 98 -> 8.
    assert pert_share(0.0, 0.0, 0.06).phi == 8.0
    # Mean (0 + 0 + 1) / 6 = 1/6, deviation 1/6: (1/6)(5/6)(36) - 1 = 4.
    assert pert_share(0.0, 0.0, 1.0).phi == pytest.approx(4.0)


def test_three_equal_shares_mean_the_surest() -> None:
    entry = pert_share(0.25, 0.25, 0.25)
    assert (entry.mean, entry.phi) == (0.25, 8.0)


@pytest.mark.parametrize(
    "shares",
    [(0.5, 0.2, 0.7), (0.1, 0.8, 0.7), (-0.1, 0.2, 0.5), (0.1, 0.2, 1.1), (1.0, 1.0, 1.0), (nan, 0.2, 0.3)],
)
def test_shares_out_of_order_or_beyond_all_of_it_are_refused(shares: tuple[float, float, float]) -> None:
    with pytest.raises(CalculationError) as refusal:
        pert_share(*shares)
    assert refusal.value.code == "bad_share_entry"
