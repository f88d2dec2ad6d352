"""Quantities on their way out: how they are shown, rounded and named."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.units import (
    ANGLE,
    AREA,
    AREAL_MASS,
    BY_SYMBOL,
    LENGTH,
    MASS,
    NONE,
    TIME,
    VOLUME,
    Dimension,
    UnitError,
    UnknownUnitError,
    ceil_tolerant,
    floor_tolerant,
    from_value,
    half_up_scaled,
    parse,
    round_half_up,
    show,
)

quick = settings(max_examples=150, deadline=None)


@pytest.mark.parametrize(
    ("canonical", "symbol", "places", "shown"),
    [
        (103_632.0, "ft", 4, "34 ft"),  # 34 x 3048
        (102_108.0, "ft", 4, "33.5 ft"),
        (102_000.0, "m", 4, "10.2 m"),
        (1_016.0, "ft", 4, "0.3333 ft"),  # a third
        (1_016.0, "ft", 0, "0 ft"),
        (1_524.0, "ft", 0, "1 ft"),  # half up
        (11.43, "thou", 1, "45 thou"),
        (0.0, "in", 4, "0 in"),
        (-0.001, "in", 4, "0 in"),  # no minus before nothing
        (-127.0, "in", 4, "-0.5 in"),
        (25_400.0, "in", 2, "100 in"),  # zeros before the point stay
        (891_869_184.0, "ft2", 2, "96 ft2"),
        (3.0, "each", 4, "3 each"),
    ],
)
def test_quantities_are_shown_half_up_without_trailing_zeros(canonical: float, symbol: str, places: int, shown: str) -> None:
    assert show(canonical, symbol, places) == shown


@quick
@given(st.integers(0, 10**8), st.integers(0, 4), st.sampled_from(sorted(BY_SYMBOL)))
def test_up_to_four_decimals_are_shown_as_they_came_in(digits: int, places: int, symbol: str) -> None:
    value = f"{digits // 10**places}.{digits % 10**places:0{places}d}" if places else str(digits)
    dimension = BY_SYMBOL[symbol].dimension
    read = from_value(value, symbol, dimension)
    shown = show(read.canonical, symbol)
    assert Fraction(shown.split()[0]) == Fraction(value)
    assert parse(shown, dimension).canonical == read.canonical


@quick
@given(st.floats(0, 1e12), st.sampled_from(sorted(BY_SYMBOL)), st.integers(0, 6))
def test_what_is_shown_is_within_half_of_its_last_decimal(canonical: float, symbol: str, places: int) -> None:
    shown = Fraction(show(canonical, symbol, places).split()[0])
    exact = Fraction(canonical) / BY_SYMBOL[symbol].factor
    assert abs(shown - exact) <= Fraction(1, 10**places) * Fraction("0.500002") + exact / 10**15


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_what_is_not_finite_is_neither_shown_nor_rounded(bad: float) -> None:
    for attempt in (
        lambda: show(bad, "ft"),
        lambda: ceil_tolerant(bad),
        lambda: floor_tolerant(bad),
        lambda: half_up_scaled(bad, 2),
        lambda: round_half_up(bad, 2),
    ):
        with pytest.raises(UnitError, match="expected a finite number"):
            attempt()


def test_an_unknown_symbol_is_not_shown() -> None:
    with pytest.raises(UnknownUnitError, match="unknown unit 'mil': expected one of in, ft, yd"):
        show(254.0, "mil")


def test_three_tenths_over_a_tenth_takes_three() -> None:
    assert 0.1 * 3 / 0.1 > 3  # in plain floats, and so math.ceil says 4
    assert ceil_tolerant(0.1 * 3 / 0.1) == 3
    assert floor_tolerant(0.3 / 0.1) == 3  # 2.9999999999999996 in plain floats


@pytest.mark.parametrize(
    ("x", "up", "down"),
    [
        (3.0, 3, 3),
        (3.000_000_9, 3, 3),  # less than a millionth above counts as three
        (3.000_002, 4, 3),
        (2.999_999_1, 3, 3),
        (2.999_998, 3, 2),
        (0.0, 0, 0),
        (-2.5, -2, -3),
        (-3.000_000_9, -3, -3),
    ],
)
def test_a_millionth_beside_a_whole_number_is_that_number(x: float, up: int, down: int) -> None:
    assert (ceil_tolerant(x), floor_tolerant(x)) == (up, down)


@pytest.mark.parametrize(
    ("x", "places", "rounded"),
    [
        (2.675, 2, 2.68),  # 2.67499999999999982 in binary: within the tolerance of a tie
        (1.005, 2, 1.01),
        (2.344_99, 2, 2.34),
        (0.5, 0, 1.0),
        (1.5, 0, 2.0),
        (2.5, 0, 3.0),  # half to even would say 2
        (-2.5, 0, -3.0),  # away from zero
        (-2.675, 2, -2.68),
        (9.087_25, 4, 9.0873),
        (-0.000_01, 4, 0.0),
    ],
)
def test_half_is_rounded_up_and_away_from_zero(x: float, places: int, rounded: float) -> None:
    assert round_half_up(x, places) == rounded


# Fractions of this size lie on a whole number or a tie, or more than a millionth beside it: 1 / (2 x 3000 x
# 10) > 1e-5.
lengths = st.integers(1, 100_000)
parts = st.integers(1, 3_000)


@quick
@given(lengths, parts, st.sampled_from([0.1, 0.3, 0.7, 1 / 3, 25.4, 0.0254]))
def test_rounding_agrees_with_exact_fractions_whatever_the_floats_lose(a: int, b: int, step: float) -> None:
    noisy = (a * step) / (b * step)
    exact = Fraction(a, b)
    assert ceil_tolerant(noisy) == math.ceil(exact)
    assert floor_tolerant(noisy) == math.floor(exact)
    assert half_up_scaled(noisy, 1) == math.floor(exact * 10 + Fraction(1, 2))
    assert half_up_scaled(-noisy, 1) == -half_up_scaled(noisy, 1)


def test_dimensions_multiply_and_divide() -> None:
    assert LENGTH * LENGTH == AREA
    assert LENGTH**3 == AREA * LENGTH == VOLUME
    assert VOLUME / AREA == LENGTH
    assert MASS / AREA == AREAL_MASS
    assert LENGTH / LENGTH == LENGTH**0 == NONE
    assert AREA**-1 * AREA == NONE


@pytest.mark.parametrize(
    ("dimension", "name"),
    [
        (NONE, "plain number"),
        (LENGTH, "length"),
        (AREA, "area"),
        (VOLUME, "volume"),
        (MASS, "mass"),
        (TIME, "time"),
        (ANGLE, "angle"),
        (AREAL_MASS, "mass per area"),
        (TIME / LENGTH, "time per length"),
        (TIME / AREA, "time per area"),
        (MASS / VOLUME, "mass per volume"),
        (NONE / LENGTH, "number per length"),
        (LENGTH**4, "length^4"),
        (MASS * LENGTH, "mass x length"),
        (TIME**2, "time^2"),
        (MASS / LENGTH / TIME**2, "mass per length and time^2"),
    ],
)
def test_a_dimension_is_named_as_a_person_says_it(dimension: Dimension, name: str) -> None:
    assert dimension.name() == name
