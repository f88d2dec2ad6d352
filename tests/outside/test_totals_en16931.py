"""The totals of a whole quote obey the arithmetic of the European standard for invoices.

The rules are those of EN 16931-1:2017 in the words of its validation artefacts; each stands beside its check with the numbers
of the terms (BT) that it speaks about. Lines of trades and materials are invoice lines. Supplies, overhead, minimum and what is
set aside are charges on the level of the document, and the owner's rounding is the rounding amount. The standard knows amounts
of two decimals; for other currencies the decimals of CLDR are put in their place.
"""

import re
from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from babel.numbers import format_currency, get_currency_precision

from costbase.calc.cost_base import TaxRate
from costbase.calc.money import currency
from quotes.calc.contingency import NO_HISTORY, SamplePoints, shipped_points
from quotes.calc.inputs import QuoteInputs
from quotes.calc.quote import Quote, compute_quote
from quotes.calc.tax import TAX_MODES, Tax
from tests.calc import surveys
from tests.calc.roofs import laminated_34_ft
from tests.default_base import cost_base

POINTS_FILE = Path(__file__).parents[2] / "quotes" / "points.npy"
# Two decimals, none and three. Source: ISO 4217 and CLDR agree on these.
DIGITS = {"USD": 2, "JPY": 0, "KWD": 3}
# Rates that leave remainders; invented.
RATES = (TaxRate("First tax (invented)", Decimal("0.0825")), TaxRate("Second tax (invented)", Decimal("0.01375")))
# Which classes a mode taxes when there are parts. Supplies count as parts, overhead and the minimum as labour here.
TAXED = {
    "none": (),
    "parts_only": ("parts",),
    "separated": ("parts",),
    "all_with_parts": ("labour", "parts"),
    "parts_and_labour": ("labour", "parts"),
    "lump_sum": (),
}
STEPS = {"USD": Decimal(5), "JPY": Decimal(10), "KWD": Decimal("0.25")}


@cache
def points() -> SamplePoints:
    return shipped_points(np.load(POINTS_FILE))


@cache
def quoted(mode: str, code: str, stepped: bool = True) -> Quote:
    """The laminated sample coach, rebuilt in glass laminate, with every line that a shop can add."""
    base = cost_base("full-rebuild")
    rule = replace(
        base.rule,
        tax_mode=mode,
        tax_rates=RATES,
        supplies_share=Decimal("0.037"),
        supplies_cap=None,
        overhead_share=Decimal("0.0666"),
        minimum_charge=Decimal(60000),
        deposit_share=Decimal("0.3333"),
        total_step=STEPS[code] if stepped else Decimal(0),
    )
    inputs = QuoteInputs(
        roof=laminated_34_ft(),
        survey=surveys.survey(surveys.cell("3B", "rotten"), surveys.cell("4B", "damp")),
        scope=(),
        plan="full-rebuild",
        skin="frp",
        options=(),
        conditions=(),
        entered=(),
        override=None,
        days=None,
    )
    return compute_quote(inputs, replace(base, rule=rule, currency=currency(code)), surveys.rules(), NO_HISTORY, points())


@dataclass(frozen=True)
class Invoice:
    """A quote, or its limit, under the numbers of the standard's terms."""

    bt_131: tuple[Decimal, ...]  # net amount of each line
    bt_99: tuple[Decimal, ...]  # amount of each charge on the document
    bt_106: Decimal  # sum of the lines' net amounts
    bt_109: Decimal  # total without tax
    taxes: tuple[Tax, ...]  # base is BT-116, rate BT-119 (here as a share), amount BT-117
    bt_110: Decimal  # total tax
    bt_114: Decimal  # rounding amount
    bt_115: Decimal  # amount due for payment

    @property
    def bt_112(self) -> Decimal:
        """Total with tax, which the quote shows as its two parts: due, less rounding (nothing is paid yet)."""
        return self.bt_115 - self.bt_114


def invoices(quote: Quote) -> tuple[Invoice, Invoice]:
    """What is owed if nothing is found, and the most that can be owed."""
    visible, totals = quote.visible, quote.totals
    lines = (
        *(line.amount for line in visible.labour),
        *(line.amount for line in visible.materials),
        *(line.amount for line in visible.freight),
    )
    charges = tuple(line.amount for line in visible.shop)
    summed = visible.labour_total + visible.material_total
    base = Invoice(
        lines,
        charges,
        summed,
        totals.base,
        totals.base_taxes,
        totals.base_tax,
        totals.base_rounding,
        totals.base_with_tax,
    )
    limit = Invoice(
        lines,
        (*charges, totals.record, totals.contingency),
        summed,
        totals.limit,
        totals.limit_taxes,
        totals.limit_tax,
        totals.limit_rounding,
        totals.limit_with_tax,
    )
    return base, limit


def half_up(exact: Fraction, digits: int) -> Fraction:
    """An amount of zero or more rounded once, ties up, with nothing of the service's own."""
    unit = Fraction(1, 10**digits)
    return (exact / unit + Fraction(1, 2)).__floor__() * unit


every_quote = pytest.mark.parametrize(("mode", "code"), [(mode, code) for mode in TAX_MODES for code in DIGITS])


def test_the_modes_of_this_file_are_all_there_are() -> None:
    assert set(TAXED) == set(TAX_MODES)


def test_the_quote_has_every_kind_of_line() -> None:
    visible = quoted("parts_and_labour", "USD").visible
    assert len(visible.labour) > 20
    assert len(visible.materials) > 20
    assert [line.slug for line in visible.shop] == ["shop-supplies", "overhead", "minimum-charge"]


@every_quote
def test_br_co_10_the_sum_of_lines_is_the_sum_of_their_net_amounts(mode: str, code: str) -> None:
    # BR-CO-10: Sum of Invoice line net amount (BT-106) = Σ Invoice line net amount (BT-131).
    for invoice in invoices(quoted(mode, code)):
        assert invoice.bt_106 == sum(invoice.bt_131, Decimal(0))


@every_quote
def test_br_co_13_the_total_without_tax_is_lines_and_charges(mode: str, code: str) -> None:
    # BR-CO-13: Invoice total amount without VAT (BT-109) = Σ Invoice line net amount (BT-131)
    # - Sum of allowances on document level (BT-107) + Sum of charges on document level (BT-108).
    for invoice in invoices(quoted(mode, code)):
        assert invoice.bt_109 == sum(invoice.bt_131, Decimal(0)) - 0 + sum(invoice.bt_99, Decimal(0))


@every_quote
def test_br_co_15_the_total_with_tax_adds_the_tax(mode: str, code: str) -> None:
    # BR-CO-14: Invoice total VAT amount (BT-110) = Σ VAT category tax amount (BT-117).
    # BR-CO-15: Invoice total amount with VAT (BT-112) = BT-109 + BT-110.
    for invoice in invoices(quoted(mode, code)):
        assert invoice.bt_110 == sum((tax.amount for tax in invoice.taxes), Decimal(0))
        assert invoice.bt_112 == invoice.bt_109 + invoice.bt_110


@every_quote
def test_br_co_16_the_amount_due_is_the_total_with_tax_and_its_rounding(mode: str, code: str) -> None:
    # BR-CO-16: Amount due for payment (BT-115) = BT-112 - Paid amount (BT-113) + Rounding amount (BT-114).
    # With no step the rounding amount is nothing; with one, the amount due is a whole number of steps, no more than half of one
    # away.
    for invoice in invoices(quoted(mode, code, stepped=False)):
        assert invoice.bt_114 == 0
        assert invoice.bt_115 == invoice.bt_109 + invoice.bt_110
    for invoice in invoices(quoted(mode, code)):
        assert invoice.bt_115 == invoice.bt_109 + invoice.bt_110 - 0 + invoice.bt_114
        assert invoice.bt_115 % STEPS[code] == 0
        assert -STEPS[code] / 2 < invoice.bt_114 <= STEPS[code] / 2


@every_quote
def test_br_co_17_tax_is_worked_once_on_its_base_and_rounded_once(mode: str, code: str) -> None:
    # BR-CO-17: VAT category tax amount (BT-117) = VAT category taxable amount (BT-116) x (VAT category rate (BT-119) / 100),
    # rounded to two decimals (half up, as the older artefacts add).
    for invoice in invoices(quoted(mode, code)):
        assert [tax.rate for tax in invoice.taxes] == ([rate.rate for rate in RATES] if TAXED[mode] else [])
        for tax in invoice.taxes:
            assert tax.amount == half_up(Fraction(tax.base) * Fraction(tax.rate), DIGITS[code])


@every_quote
def test_the_taxable_amount_is_the_sum_of_what_the_mode_taxes(mode: str, code: str) -> None:
    # As BR-S-08: the taxable amount (BT-116) is the sum of lines and charges of the category.
    quote = quoted(mode, code)
    visible = quote.visible
    classes = [("labour", line.amount) for line in visible.labour] + [("parts", line.amount) for line in visible.materials]
    classes += [("parts" if line.slug == "shop-supplies" else "labour", line.amount) for line in visible.shop]
    taxed = sum((amount for tax_class, amount in classes if tax_class in TAXED[mode]), Decimal(0))
    assert {tax.base for tax in quote.totals.base_taxes} == ({taxed} if TAXED[mode] else set())
    # Of hidden work nobody knows yet how much will be parts: whole, nothing, or the dearest component's part of material.
    aside = Fraction(quote.totals.contingency)
    if TAXED[mode] == ("parts",):
        exposed = [work.cost for work in quote.hidden if work.exposure > 0]
        share = max(Fraction(cost.material) / (Fraction(cost.labour) + Fraction(cost.material)) for cost in exposed)
        aside = half_up(aside * share, DIGITS[code])
    assert {tax.base for tax in quote.totals.limit_taxes} == ({Fraction(taxed) + aside} if TAXED[mode] else set())


@pytest.mark.parametrize("code", DIGITS)
def test_amounts_have_the_decimals_that_cldr_shows(code: str) -> None:
    # Babel formats with CLDR's digits and rounds half to even: where an amount had more decimals, digits would be lost.
    quote = quoted("parts_and_labour", code)
    totals = quote.totals
    amounts = [amount for invoice in invoices(quote) for amount in (*invoice.bt_131, *invoice.bt_99, invoice.bt_115)]
    amounts += [tax.amount for tax in (*totals.base_taxes, *totals.limit_taxes)]
    amounts += [totals.allowance, totals.reserve, totals.base_rounding, totals.limit_rounding, totals.deposit, totals.cost]
    amounts += [share.allowance for share in quote.set_aside.components] + [work.cost.set_up for work in quote.hidden]
    assert get_currency_precision(code) == DIGITS[code]
    assert len(amounts) > 120
    for amount in amounts:
        shown = re.sub(r"[^0-9.]", "", format_currency(abs(amount), code, locale="en_US"))
        assert Decimal(shown) == abs(amount)
        assert len(shown.partition(".")[2]) == DIGITS[code]
