"""The arithmetic of a whole bill, held against the rules of the European standard for invoices.

Source: EN 16931-1, rules BR-CO-10, BR-CO-13, BR-CO-15, BR-CO-16 and BR-CO-17, as worded in its published
validation rules. They speak of two decimals; here each is held in currencies with none, two and three.
"""

import math
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.money import Currency, amount, currency, extend, share_of, to_step

quick = settings(max_examples=150, deadline=None)
USD, JPY, KWD = currency("USD"), currency("JPY"), currency("KWD")
currencies = st.sampled_from([USD, JPY, KWD])

Line = tuple[Decimal, Decimal, int]  # quantity, price, and which tax rate it bears
lines = st.lists(
    st.tuples(
        st.integers(-(10**6), 10**7).map(lambda count: Decimal(f"{count}E-4")),
        st.integers(0, 10**9).map(lambda count: Decimal(f"{count}E-6")),
        st.integers(0, 2),
    ),
    max_size=12,
)
rates = st.lists(st.integers(0, 300_000).map(lambda n: Decimal(f"{n}E-6")), min_size=3, max_size=3)


def units(exact: Fraction, of: Currency) -> int:
    """So many of the currency's last decimal, half up and away from zero, on whole numbers."""
    size: int = math.floor(abs(exact) * 10**of.digits + Fraction(1, 2))
    return size if exact >= 0 else -size


def bill(work: list[Line], by_rate: list[Decimal], step: Decimal, of: Currency) -> dict[str, Decimal]:
    """Lines, net, tax for each rate, gross and what is due, by the functions alone."""
    rounded = [(extend(quantity, price, of), rate) for quantity, price, rate in work]
    zero = amount(Decimal(0), of)
    bases = [sum((line for line, bears in rounded if bears == rate), zero) for rate in range(3)]
    taxes = [share_of(base, by_rate[rate], of) for rate, base in enumerate(bases)]
    net = sum((line for line, _ in rounded), zero)
    gross = net + sum(taxes, zero)
    due = to_step(gross, step, of)
    return {
        "net": net,
        "gross": gross,
        "due": due,
        "rounding": due - gross,
        **{f"base {n}": b for n, b in enumerate(bases)},
        **{f"tax {n}": t for n, t in enumerate(taxes)},
    }


@quick
@given(lines, rates, currencies)
def test_br_co_10_the_net_is_the_sum_of_lines_that_are_already_rounded(
    work: list[Line], by_rate: list[Decimal], of: Currency
) -> None:
    net = bill(work, by_rate, Decimal(0), of)["net"]
    in_units = sum(units(Fraction(quantity) * Fraction(price), of) for quantity, price, _ in work)
    assert Fraction(net) == Fraction(in_units, 10**of.digits)


@quick
@given(lines, rates, currencies)
def test_br_co_13_net_of_charges_and_allowances_needs_no_rounding(
    work: list[Line], by_rate: list[Decimal], of: Currency
) -> None:
    result = bill(work, by_rate, Decimal(0), of)
    charge, allowance = share_of(result["net"], Decimal("0.10"), of), share_of(result["net"], Decimal("0.03"), of)
    total = result["net"] - allowance + charge
    assert amount(total, of) == total
    assert total.as_tuple().exponent == -of.digits
    assert total - charge + allowance == result["net"]


@quick
@given(lines, rates, currencies)
def test_br_co_17_tax_is_the_summed_base_times_the_rate_rounded_once(
    work: list[Line], by_rate: list[Decimal], of: Currency
) -> None:
    result = bill(work, by_rate, Decimal(0), of)
    for rate in range(3):
        base, tax = Fraction(result[f"base {rate}"]), Fraction(result[f"tax {rate}"])
        assert tax == Fraction(units(base * Fraction(by_rate[rate]), of), 10**of.digits)
    assert sum(Fraction(result[f"base {rate}"]) for rate in range(3)) == Fraction(result["net"])


@quick
@given(lines, rates, currencies)
def test_br_co_15_the_gross_is_net_and_taxes_to_the_last_decimal(
    work: list[Line], by_rate: list[Decimal], of: Currency
) -> None:
    result = bill(work, by_rate, Decimal(0), of)
    taxes = sum(Fraction(result[f"tax {rate}"]) for rate in range(3))
    assert Fraction(result["gross"]) == Fraction(result["net"]) + taxes
    assert amount(result["gross"], of) == result["gross"]


@quick
@given(lines, rates, st.sampled_from([0, 1, 5, 100]), currencies)
def test_br_co_16_due_is_gross_and_the_rounding_line(work: list[Line], by_rate: list[Decimal], step: int, of: Currency) -> None:
    result = bill(work, by_rate, Decimal(step), of)
    assert result["gross"] + result["rounding"] == result["due"]
    assert abs(result["rounding"]) * 2 <= step
    assert step == 0 or Fraction(result["due"]) % step == 0


@quick
@given(lines, rates, currencies)
def test_the_order_of_lines_moves_no_total(work: list[Line], by_rate: list[Decimal], of: Currency) -> None:
    assert bill(work, by_rate, Decimal(0), of) == bill(work[::-1], by_rate, Decimal(0), of)


@quick
@given(lines, rates, currencies)
def test_a_credit_of_every_line_takes_the_whole_bill_back(work: list[Line], by_rate: list[Decimal], of: Currency) -> None:
    charged = bill(work, by_rate, Decimal(5), of)
    credited = bill([(-quantity, price, rate) for quantity, price, rate in work], by_rate, Decimal(5), of)
    assert credited == {name: -part for name, part in charged.items()}


THREE_TIES: list[Line] = [(Decimal("0.5000"), Decimal("0.01"), 0)] * 3


def test_rounded_lines_add_up_and_unrounded_ones_would_not() -> None:
    # Three lines of half a cent: a cent each, and three in all. Their unrounded sum, 1.5 cents, would be
    # billed as 2.
    result = bill(THREE_TIES, [Decimal(0)] * 3, Decimal(0), USD)
    assert result["net"] == Decimal("0.03")
    assert amount(sum((q * p for q, p, _ in THREE_TIES), Decimal(0)), USD) == Decimal("0.02")


def test_tax_on_the_sum_is_not_the_sum_of_taxes() -> None:
    # 8.25 % of 0.20 is 1.65 cents, so 2 cents a line and 6 in all; 8.25 % of the sum, 0.60, is 4.95 cents: 5.
    work: list[Line] = [(Decimal("1.0000"), Decimal("0.20"), 0)] * 3
    rate = Decimal("0.0825")
    assert bill(work, [rate] * 3, Decimal(0), USD)["tax 0"] == Decimal("0.05")
    assert sum(share_of(Decimal("0.20"), rate, USD) for _ in work) == Decimal("0.06")


@pytest.mark.parametrize(
    ("of", "net", "tax", "gross", "due"),
    [
        # Lines 7.5 x 48.25 = 361.875, 14 x 19.95 = 279.3 and 2.5 x 0.777 = 1.9425, all at 8.25 %, step 5.
        # 361.88 + 279.30 + 1.94 = 643.12; 8.25 % is 53.0574.
        (USD, "643.12", "53.06", "696.18", "695.00"),
        # 362 + 279 + 2 = 643; 8.25 % is 53.0475.
        (JPY, "643", "53", "696", "695"),
        # 361.875 + 279.300 + 1.943 = 643.118; 8.25 % is 53.057235.
        (KWD, "643.118", "53.057", "696.175", "695.000"),
    ],
)
def test_the_same_work_is_billed_in_three_currencies(of: Currency, net: str, tax: str, gross: str, due: str) -> None:
    work = [
        (Decimal("7.5000"), Decimal("48.25"), 0),
        (Decimal("14.0000"), Decimal("19.95"), 0),
        (Decimal("2.5000"), Decimal("0.777"), 0),
    ]
    result = bill(work, [Decimal("0.0825")] * 3, Decimal(5), of)
    assert [str(result[name]) for name in ("net", "tax 0", "gross", "due")] == [net, tax, gross, due]
