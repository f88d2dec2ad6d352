"""Splitting an amount over parts so that the shares are amounts and add up to it."""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.money import Currency, MoneyError, currency, largest_remainder

quick = settings(max_examples=100, deadline=None)
USD, JPY, KWD = currency("USD"), currency("JPY"), currency("KWD")
currencies = st.sampled_from([USD, JPY, KWD])


def d(text: str) -> Decimal:
    return Decimal(text)


@pytest.mark.parametrize(
    ("total", "parts", "of", "shares"),
    [
        ("10.00", ["1", "1", "1"], USD, ["3.34", "3.33", "3.33"]),  # the first of equals
        ("20.00", ["1", "1", "1"], USD, ["6.67", "6.67", "6.66"]),  # the first two
        # 1 : 2 : 3 of 0.10 is 1.67, 3.33 and 5 cents; the cent left goes to the largest remainder.
        ("0.10", ["1", "2", "3"], USD, ["0.02", "0.03", "0.05"]),
        ("-10.00", ["1", "1", "1"], USD, ["-3.34", "-3.33", "-3.33"]),
        ("100", ["1", "1", "1"], JPY, ["34", "33", "33"]),
        ("1.000", ["1", "1", "1"], KWD, ["0.334", "0.333", "0.333"]),
        # Means of components as they come out: 12.345 + 0.004 + 87.651 = 100.000; cents cut 12.34, 0.00,
        # 87.65; the cent left goes to the half.
        ("100.00", ["12.345", "0.004", "87.651"], USD, ["12.35", "0.00", "87.65"]),
        ("0.01", ["0", "5", "0"], USD, ["0.00", "0.01", "0.00"]),
        ("0.00", ["1", "2"], USD, ["0.00", "0.00"]),
        ("0.00", ["0", "0"], USD, ["0.00", "0.00"]),
        ("0.00", [], USD, []),
        ("7.00", ["0.000001"], USD, ["7.00"]),
    ],
)
def test_a_split_goes_by_largest_remainder(total: str, parts: list[str], of: Currency, shares: list[str]) -> None:
    assert [str(share) for share in largest_remainder(d(total), [d(part) for part in parts], of)] == shares


weights = st.lists(st.integers(0, 10**8).map(lambda count: Decimal(f"{count}E-4")), min_size=1, max_size=14).filter(any)
cents = st.integers(-(10**9), 10**9)


@quick
@given(cents, weights, currencies)
def test_a_split_adds_up_and_no_share_is_a_whole_last_decimal_off(units: int, parts: list[Decimal], of: Currency) -> None:
    total = Decimal(f"{units}E-{of.digits}")
    shares = largest_remainder(total, parts, of)
    assert sum(shares) == total
    assert all(share.as_tuple().exponent == -of.digits for share in shares)
    whole = sum(map(Fraction, parts))
    for share, part in zip(shares, parts, strict=True):
        exact = Fraction(total) * Fraction(part) / whole
        assert abs(Fraction(share) - exact) < Fraction(1, 10**of.digits)
        assert part != 0 or share == 0


def handed_out(units: int, parts: list[Decimal]) -> list[int]:
    """The same split, one last decimal after the other to whoever is furthest below the exact share, the
    first of equals.
    """
    whole = sum(map(Fraction, parts))
    exact = [units * Fraction(part) / whole for part in parts]
    counts = [math.floor(share) for share in exact]
    while sum(counts) < units:
        owed = [share - count for share, count in zip(exact, counts, strict=True)]
        counts[owed.index(max(owed))] += 1
    return counts


@quick
@given(cents.map(abs), weights)
def test_a_split_equals_handing_out_one_cent_after_the_other(units: int, parts: list[Decimal]) -> None:
    shares = largest_remainder(Decimal(f"{units}E-2"), parts, USD)
    assert [int(share * 100) for share in shares] == handed_out(units, parts)


@quick
@given(cents.map(abs), weights, st.integers(0, 13), st.integers(1, 1000))
def test_a_split_is_stable(units: int, parts: list[Decimal], place: int, scale: int) -> None:
    total = Decimal(f"{units}E-2")
    shares = largest_remainder(total, parts, USD)
    # Equal parts: the earlier one never gets less.
    for first in range(len(parts)):
        for second in range(first + 1, len(parts)):
            assert parts[first] != parts[second] or shares[first] >= shares[second]
    # A part of nothing, wherever it stands, moves no other share; nor does another unit of the parts.
    place = min(place, len(parts))
    with_nothing = largest_remainder(total, [*parts[:place], d("0"), *parts[place:]], USD)
    assert (*with_nothing[:place], *with_nothing[place + 1 :]) == shares
    assert with_nothing[place] == 0
    assert largest_remainder(total, [part * scale for part in parts], USD) == shares


@pytest.mark.parametrize(
    ("total", "parts"),
    [("1.00", []), ("1.00", ["0", "0"]), ("1.00", ["2", "-1"]), ("0.00", ["-1", "1"]), ("1.005", ["1"])],
)
def test_a_split_that_cannot_add_up_is_refused(total: str, parts: list[str]) -> None:
    with pytest.raises(MoneyError, match="expected"):
        largest_remainder(d(total), [d(part) for part in parts], USD)
