"""How numbers become amounts: rounding once, half up, at the listed moments and nowhere else."""

import decimal
import math
import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from babel.core import get_global
from babel.numbers import format_currency, get_currency_precision, get_territory_currencies
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc import money
from costbase.calc.errors import CalculationError
from costbase.calc.money import (
    ROUNDED_WHERE,
    Currency,
    MoneyError,
    NotDecimalError,
    UnknownCurrencyError,
    amount,
    currency,
    decimal_quantity,
    extend,
    largest_remainder,
    marked_up,
    per_unit,
    share_down,
    share_of,
    to_step,
    unit_price,
)
from costbase.calc.units import UnitError

quick = settings(max_examples=150, deadline=None)
USD, JPY, KWD = currency("USD"), currency("JPY"), currency("KWD")
currencies = st.sampled_from([USD, JPY, KWD])


def d(text: str) -> Decimal:
    return Decimal(text)


def half_up(exact: Fraction, digits: int) -> Fraction:
    """Half up the slow way, on exact fractions and away from zero."""
    size = math.floor(abs(exact) * 10**digits + Fraction(1, 2))
    return Fraction(size if exact >= 0 else -size, 10**digits)


def decimals(places: int, most: int = 10**9) -> st.SearchStrategy[Decimal]:
    """Decimals with exactly so many places, of either sign."""
    return st.integers(-most, most).map(lambda count: Decimal(f"{count}E-{places}"))


def is_an_amount(x: Decimal, of: Currency) -> bool:
    return x.as_tuple().exponent == -of.digits


# The day of the release of Babel that the table was copied from; the library is asked what was tender then.
TABLE_DAY = date(2026, 2, 1)


def test_every_current_currency_and_its_decimals_are_those_of_cldr() -> None:
    current = {
        code
        for territory in get_global("territory_currencies")
        for code in get_territory_currencies(territory, TABLE_DAY, TABLE_DAY, tender=True, non_tender=False)
    }
    assert {code: currency(code).digits for code in current} == {code: get_currency_precision(code) for code in current}
    written = {code for codes in money._CODES_BY_DIGITS.values() for code in codes.split()}
    assert written == current
    assert len(written) == sum(len(codes.split()) for codes in money._CODES_BY_DIGITS.values()) == 154


def test_common_currencies_have_the_decimals_that_everyone_knows() -> None:
    # Source: ISO 4217 and CLDR agree on these.
    digits = {"USD": 2, "CAD": 2, "EUR": 2, "GBP": 2, "MXN": 2, "AUD": 2, "JPY": 0, "KRW": 0, "KWD": 3, "BHD": 3}
    assert {code: currency(code) for code in digits} == {code: Currency(code, n) for code, n in digits.items()}


@pytest.mark.parametrize("code", ["", "usd", "US", "DEM", "XXX", "XAU", "USD ", "dollar", "$"])
def test_what_is_no_currency_in_use_is_refused(code: str) -> None:
    with pytest.raises(UnknownCurrencyError, match="expected the ISO 4217 code") as refusal:
        currency(code)
    assert (refusal.value.code, refusal.value.value) == ("unknown_currency", code)


@pytest.mark.parametrize(
    ("quantity", "price", "of", "line"),
    [
        ("7.5000", "48.25", USD, "361.88"),  # 361.875, a tie
        ("14.0000", "19.95", USD, "279.30"),
        ("0.5000", "0.01", USD, "0.01"),  # half a cent
        ("0.5000", "0.03", USD, "0.02"),  # 1.5 cents
        ("0.5000", "0.05", USD, "0.03"),  # 2.5 cents: half to even would say 2
        ("-0.5000", "0.05", USD, "-0.03"),  # a credit mirrors its charge
        ("0.4999", "0.01", USD, "0.00"),
        ("-0.4999", "0.01", USD, "0.00"),  # and is never minus nothing
        ("2.5000", "1", JPY, "3"),
        ("1.4999", "1", JPY, "1"),
        ("14.0000", "1995.5", JPY, "27937"),
        ("0.5000", "0.001", KWD, "0.001"),
        ("2.5000", "0.001", KWD, "0.003"),
        ("7.5000", "4.8253", KWD, "36.190"),  # 36.18975
        ("0.0000", "48.25", USD, "0.00"),
    ],
)
def test_a_line_is_rounded_half_up_to_its_currency(quantity: str, price: str, of: Currency, line: str) -> None:
    extended = extend(d(quantity), d(price), of)
    assert str(extended) == line


def test_a_long_product_is_rounded_once() -> None:
    # 0.00499999999999999999999999999999999999 is under half a cent. At Python's usual 28 digits the product
    # is first rounded to 0.005 and then to a cent.
    just_under = d("0.00499999999999999999999999999999999999")
    assert round(just_under * 1, 2) == d("0.00")
    assert (just_under * 1).quantize(d("0.01"), rounding=decimal.ROUND_HALF_UP) == d("0.01")
    assert extend(d("1.0000"), just_under, USD) == d("0.00")


@quick
@given(decimals(4, 10**12), decimals(6, 10**9), currencies)
def test_a_line_is_its_exact_product_rounded_once(quantity: Decimal, price: Decimal, of: Currency) -> None:
    line = extend(quantity, price, of)
    assert Fraction(line) == half_up(Fraction(quantity) * Fraction(price), of.digits)
    assert is_an_amount(line, of)
    assert extend(-quantity, price, of) == -line


@quick
@given(decimals(4, 10**9), decimals(6, 10**9), currencies)
def test_no_setting_of_the_caller_changes_an_amount(quantity: Decimal, price: Decimal, of: Currency) -> None:
    before = extend(quantity, price, of), to_step(amount(price, of), Decimal(5), of)
    odd = decimal.Context(prec=3, rounding=decimal.ROUND_DOWN, traps=[decimal.Inexact])
    with decimal.localcontext(odd):
        during = extend(quantity, price, of), to_step(amount(price, of), Decimal(5), of)
    assert during == before


@pytest.mark.parametrize(
    ("x", "places", "quantity"),
    [
        (3.0, 4, "3.0000"),
        (0.1 + 0.2, 4, "0.3000"),
        (1 / 3, 4, "0.3333"),
        (0.000_05, 4, "0.0001"),
        (9.087_25, 4, "9.0873"),  # 9.08724999999999916 in binary, a tie as it was meant
        (9.087_249, 4, "9.0872"),
        (293.631_2, 2, "293.63"),
        (1.005, 2, "1.01"),
        (-9.087_25, 4, "-9.0873"),
        (-0.000_01, 4, "0.0000"),
        (2.5, 0, "3"),
    ],
)
def test_a_quantity_enters_a_line_half_up_to_four_decimals(x: float, places: int, quantity: str) -> None:
    assert str(decimal_quantity(x, places)) == quantity


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_quantity_that_is_not_finite_enters_no_line(bad: float) -> None:
    with pytest.raises(UnitError, match="expected a finite number"):
        decimal_quantity(bad)


def test_a_markup_is_exact_and_on_cost() -> None:
    assert marked_up(d("19.95"), d("0.35")) == d("26.9325")  # 19.95 + 6.9825
    assert marked_up(d("100"), d("0")) == d("100")
    assert marked_up(d("0.333333"), d("0.333333")) == d("0.444443888889")  # 0.333333 + 0.111110888889


def test_a_share_is_rounded_half_up_and_an_overrun_down() -> None:
    assert share_of(d("1234.56"), d("0.0825"), USD) == d("101.85")  # 101.8512
    assert share_of(d("100.00"), d("0.00125"), USD) == d("0.13")  # 0.125, a tie
    assert share_of(d("-100.00"), d("0.00125"), USD) == d("-0.13")
    assert share_of(d("12345"), d("0.10"), JPY) == d("1235")  # 1234.5
    assert share_of(d("1.234"), d("0.125"), KWD) == d("0.154")  # 0.15425
    assert share_down(d("1234.56"), d("0.10"), USD) == d("123.45")  # 123.456
    assert share_down(d("9000.00"), d("0.10"), USD) == d("900.00")
    assert share_down(d("12349"), d("0.10"), JPY) == d("1234")  # 1234.9


def test_a_unit_price_has_six_decimals() -> None:
    assert str(unit_price(d("4.25"))) == "4.250000"
    assert unit_price(d("0.0000005")) == d("0.000001")
    assert unit_price(d("0.00000049")) == d("0.000000")
    assert per_unit(d("100.00"), d("3.0000")) == d("33.333333")
    assert per_unit(d("200.00"), d("3.0000")) == d("66.666667")
    assert per_unit(d("1.00"), d("2000000")) == d("0.000001")  # 0.0000005, a tie
    assert per_unit(d("0.00"), d("3.0000")) == d("0.000000")


def test_an_amount_is_made_of_a_decimal_or_of_the_exact_value_of_a_float() -> None:
    assert amount(d("2.675"), USD) == d("2.68")
    assert amount(2.675, USD) == d("2.67")  # 2.67499999999999982236431605997495353221893310546875
    assert amount(0.125, USD) == d("0.13")  # 1/8 is exact in binary, a tie
    assert amount(-0.125, USD) == d("-0.13")
    assert amount(2.5, JPY) == d("3")
    assert amount(0.0625, KWD) == d("0.063")  # 62.5 thousandths
    assert str(amount(d("7"), USD)) == "7.00"
    assert str(amount(-0.0, USD)) == "0.00"


@quick
@given(st.floats(-1e12, 1e12), currencies)
def test_an_amount_of_a_float_is_its_exact_value_half_up(x: float, of: Currency) -> None:
    assert Fraction(amount(x, of)) == half_up(Fraction(x), of.digits)


@pytest.mark.parametrize(
    ("total", "step", "of", "stepped"),
    [
        ("9087.25", "5", USD, "9085.00"),
        ("9087.49", "5", USD, "9085.00"),
        ("9087.50", "5", USD, "9090.00"),  # half up
        ("9092.50", "5", USD, "9095.00"),  # half to even would say 9090
        ("-9087.50", "5", USD, "-9090.00"),
        ("9087.25", "0", USD, "9087.25"),
        ("9087.22", "0.05", USD, "9087.20"),
        ("9087.23", "0.05", USD, "9087.25"),
        ("10.00", "0.15", USD, "10.05"),  # 66.67 steps: 67 x 0.15
        ("2.49", "5", USD, "0.00"),
        ("-2.49", "5", USD, "0.00"),
        ("1234550", "100", JPY, "1234600"),
        ("1234549", "100", JPY, "1234500"),
        ("12.345", "0.250", KWD, "12.250"),  # 49.38 steps
        ("12.375", "0.250", KWD, "12.500"),  # 49.5 steps
    ],
)
def test_the_owners_total_goes_to_the_nearest_step(total: str, step: str, of: Currency, stepped: str) -> None:
    assert str(to_step(d(total), d(step), of)) == stepped


@quick
@given(st.integers(-(10**9), 10**9), st.integers(1, 10**4), currencies)
def test_a_stepped_total_is_a_multiple_within_half_a_step(units: int, step_units: int, of: Currency) -> None:
    total, step = Decimal(f"{units}E-{of.digits}"), Decimal(f"{step_units}E-{of.digits}")
    stepped = to_step(total, step, of)
    assert Fraction(stepped) % Fraction(step) == 0
    assert abs(stepped - total) * 2 <= step
    assert to_step(stepped, step, of) == stepped
    assert to_step(-total, step, of) == -stepped


def test_a_step_must_be_an_amount_of_the_currency() -> None:
    with pytest.raises(MoneyError, match="expected a step of 0 or more, not -5"):
        to_step(d("10.00"), d("-5"), USD)
    with pytest.raises(MoneyError, match="an amount of USD with 2 decimals at most"):
        to_step(d("10.00"), d("0.005"), USD)
    with pytest.raises(MoneyError, match="an amount of JPY with 0 decimals at most"):
        to_step(d("10"), d("0.5"), JPY)
    # A total with a fraction of a cent was never rounded, and rounding it here would hide that.
    with pytest.raises(MoneyError, match="an amount of USD with 2 decimals at most"):
        to_step(d("10.005"), d("5"), USD)


takes_decimals: list[Callable[[Decimal], object]] = [
    lambda x: extend(x, d("1"), USD),
    lambda x: extend(d("1"), x, USD),
    lambda x: marked_up(x, d("0.1")),
    lambda x: marked_up(d("1"), x),
    lambda x: share_of(x, d("0.1"), USD),
    lambda x: share_of(d("1"), x, USD),
    lambda x: share_down(x, d("0.1"), USD),
    lambda x: share_down(d("1"), x, USD),
    unit_price,
    lambda x: per_unit(x, d("1")),
    lambda x: per_unit(d("1"), x),
    lambda x: to_step(x, d("5"), USD),
    lambda x: to_step(d("5.00"), x, USD),
    lambda x: largest_remainder(x, [d("1")], USD),
    lambda x: largest_remainder(d("1.00"), [d("1"), x], USD),
]


@pytest.mark.parametrize("take", takes_decimals)
@pytest.mark.parametrize("bad", [1.0, 1, True, "1", None, Fraction(1), math.nan])
def test_what_is_no_decimal_is_refused_as_a_fault_of_the_caller(take: Callable[[object], object], bad: object) -> None:
    with pytest.raises(NotDecimalError, match="as a Decimal, not") as refusal:
        take(bad)
    assert isinstance(refusal.value, TypeError)
    assert isinstance(refusal.value, CalculationError)
    assert refusal.value.code == "not_decimal"


@pytest.mark.parametrize("take", [*takes_decimals, lambda x: amount(x, USD)])
@pytest.mark.parametrize("bad", ["NaN", "sNaN", "Infinity", "-Infinity"])
def test_what_is_not_finite_is_refused(take: Callable[[Decimal], object], bad: str) -> None:
    with pytest.raises(MoneyError, match="that is finite, not") as refusal:
        take(d(bad))
    assert refusal.value.code == "bad_amount"


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf])
def test_a_float_that_is_not_finite_makes_no_amount(bad: float) -> None:
    with pytest.raises(MoneyError, match="an amount that is finite"):
        amount(bad, USD)


@pytest.mark.parametrize("bad", [1, True, "1", None, Fraction(1)])
def test_an_amount_is_made_of_nothing_else(bad: object) -> None:
    with pytest.raises(NotDecimalError):
        amount(bad, USD)  # type: ignore[arg-type]


@pytest.mark.parametrize("huge", ["1E+13", "-1E+13", "9999999999999.995", "1E+1000", "1E+999999"])
def test_an_amount_that_no_quote_can_hold_is_refused(huge: str) -> None:
    with pytest.raises(MoneyError, match="expected"):
        amount(d(huge), USD)
    with pytest.raises(MoneyError, match="expected"):
        extend(d("1"), d(huge), USD)
    assert amount(d("9999999999999.994"), USD) == d("9999999999999.99")


def test_numbers_of_absurd_size_are_refused_and_not_worked_out() -> None:
    attempts: list[Callable[[], object]] = [
        lambda: extend(d("1E-999999"), d("1E-999999"), USD),
        lambda: marked_up(d("1E+999999"), d("1E+999999")),
        lambda: marked_up(d("1"), d("1E+999999")),
        lambda: per_unit(d("1"), d("1E-999999")),
        lambda: unit_price(d("1E+10")),
        lambda: largest_remainder(d("1E+999999"), [d("1")], USD),
        lambda: to_step(d("1E+999999"), d("1"), USD),
    ]
    for attempt in attempts:
        with pytest.raises(MoneyError, match="expected"):
            attempt()


def test_no_unit_price_comes_of_no_quantity() -> None:
    with pytest.raises(MoneyError, match="expected a quantity other than 0"):
        per_unit(d("100.00"), d("0.0000"))


def test_an_amount_is_quantised_before_it_is_formatted() -> None:
    # Formatting for a locale rounds half to even: 2.125 would be shown as $2.12.
    assert format_currency(d("2.125"), "USD", locale="en_US") == "$2.12"
    assert format_currency(amount(d("2.125"), USD), "USD", locale="en_US") == "$2.13"


def test_every_rounding_function_is_listed_with_its_moments() -> None:
    named = {name for moment in ROUNDED_WHERE for name in re.findall(r"[a-z_]+", moment.rsplit("(", 1)[-1])}
    listed = {name for name in named if hasattr(money, name)}
    assert listed == {
        "amount",
        "extend",
        "largest_remainder",
        "per_unit",
        "share_down",
        "share_of",
        "to_step",
        "unit_price",
    }
    assert all("(" in moment for moment in ROUNDED_WHERE)
    assert len(set(ROUNDED_WHERE)) == len(ROUNDED_WHERE)
