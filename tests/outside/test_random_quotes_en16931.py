"""The rules of `test_totals_en16931.py` on random quotes: any roof with marks, any pricing rule, any mode, three currencies."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.money import currency
from quotes.calc.contingency import CostFactors
from quotes.calc.inputs import QuoteInputs
from quotes.calc.survey import CellMark
from tests.calc.shipped_base import base_with, quoted
from tests.calc.test_quote_properties import RECORDS, marked, pricing
from tests.outside.test_totals_en16931 import DIGITS, Invoice, half_up, invoices

# Amounts of a rule, which have to be amounts of the currency.
_AMOUNTS = ("supplies_cap", "minimum_charge", "total_step")


def hold(invoice: Invoice, digits: int, rates: list[Decimal], step: Decimal) -> None:
    """Every rule on one invoice; BT-113, what is paid, is nothing yet."""
    # BR-CO-10, BR-CO-13: lines, then charges; nothing is taken off on the level of the document.
    assert invoice.bt_106 == sum(invoice.bt_131, Decimal(0))
    assert invoice.bt_109 == invoice.bt_106 + sum(invoice.bt_99, Decimal(0))
    # BR-CO-14, BR-CO-15.
    assert invoice.bt_110 == sum((tax.amount for tax in invoice.taxes), Decimal(0))
    assert invoice.bt_112 == invoice.bt_109 + invoice.bt_110
    # BR-CO-16, with the rounding amount no more than half a step.
    assert invoice.bt_115 == invoice.bt_112 + invoice.bt_114
    assert abs(invoice.bt_114) * 2 <= step
    assert step == 0 or invoice.bt_115 % step == 0
    # BR-CO-17: one base for all rates, each worked once and rounded once.
    assert len({tax.base for tax in invoice.taxes}) <= 1
    assert [tax.rate for tax in invoice.taxes] in (rates, [])
    for tax in invoice.taxes:
        assert tax.amount == half_up(Fraction(tax.base) * Fraction(tax.rate), digits)
    for amount in (*invoice.bt_131, *invoice.bt_99, invoice.bt_109, invoice.bt_110, invoice.bt_114, invoice.bt_115):
        assert Fraction(amount) * 10**digits % 1 == 0


@settings(max_examples=60, deadline=None)
@given(marked(), pricing(), RECORDS, st.sampled_from(sorted(DIGITS)), st.decimals("0", "400", places=2))
def test_the_rules_hold_whatever_is_quoted(
    roof_and_rest: tuple[QuoteInputs, tuple[CellMark, ...]],
    rule: dict[str, Any],
    record: CostFactors,
    code: str,
    freight: Decimal,
) -> None:
    wanted, _ = roof_and_rest
    whole = {name: rule[name].quantize(Decimal(1)) for name in _AMOUNTS if rule[name] is not None}
    base = base_with(wanted.plan, rule=rule | whole)
    # Something of everything that is ordered comes at a freight.
    prices = {slug: replace(price, freight=freight) for slug, price in base.prices.items()}
    quote = quoted(wanted, replace(base, prices=prices, currency=currency(code)), record)

    rates = [rate.rate for rate in rule["tax_rates"]]
    for invoice in invoices(quote):
        hold(invoice, DIGITS[code], rates, whole["total_step"])
    owed, most = invoices(quote)
    assert owed.bt_131 == most.bt_131
    assert quote.totals.limit_tax >= 0
    if quote.totals.record >= 0:
        # Whatever is found inside of what is set aside, no more is owed than was signed.
        assert most.bt_115 >= owed.bt_115
