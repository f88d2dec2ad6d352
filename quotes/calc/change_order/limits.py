"""What is authorised once these change orders are accepted, before tax and with tax?

The agreed limit and every accepted order are added by tax class, and the tax is worked once per rate on the sum, never order by
order: taxes of orders that are rounded one by one would drift from the tax of the bill. What was agreed keeps the very tax that
was signed (a coach of a fleet carries its share of the tax of the lot), so that without any order the limit with tax is the
signed one to the cent.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import cast

from costbase.calc.cost_base import Material, PricingRule
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, share_of, to_step
from quotes.calc.tax import LABOUR, PARTS, Tax, sum_by_class, taxable

Row = Mapping[str, object]


class NoTaxClassError(CalculationError):
    """A line whose tax class nobody can tell: a material that the frozen cost base does not hold."""

    code = "no_tax_class"


@dataclass(frozen=True, slots=True)
class AgreedLimit:
    """The limit as it was signed, in rounded amounts.

    `by_class` are the agreed lines by tax class, `record` what the shop's record adds in an open quote, `contingency` what is
    set aside for hidden work, and `taxes` the taxes of the limit with their bases; empty where nothing was taxed.
    """

    by_class: Mapping[str, Decimal]
    record: Decimal
    contingency: Decimal
    taxes: tuple[Tax, ...]

    @property
    def limit(self) -> Decimal:
        """Before tax."""
        return sum(self.by_class.values(), Decimal(0)) + self.record + self.contingency


@dataclass(frozen=True, slots=True)
class Authorised:
    """What is authorised: before tax, each tax, their sum, the owner's rounding (signed), and with tax."""

    authorised: Decimal
    taxes: tuple[Tax, ...]
    tax: Decimal
    rounding: Decimal
    authorised_with_tax: Decimal


def authorised_after(
    agreed: AgreedLimit, orders: Iterable[Mapping[str, Decimal]], rule: PricingRule, currency: Currency
) -> Authorised:
    """The limit after these orders, all rounded to the currency; the total with tax to the rule's step, half up.

    Args:
        agreed: what was signed with the quote.
        orders: of every accepted order its lines by tax class, the one that is asked about included.
        rule: of the frozen cost base: its tax mode, rates and step.
        currency: of all amounts.

    Returns:
        Without orders the agreed limit, with the agreed tax.

    Raises:
        TaxModeError: an unknown tax mode or class.
    """
    added = sum_by_class((name, amount) for order in orders for name, amount in order.items())
    authorised = agreed.limit + sum(added.values(), Decimal(0))
    before = agreed.taxes[0].base if agreed.taxes else Decimal(0)
    after = _taxable_after(agreed, added, before, rule.tax_mode)
    taxes = _taxes_after(agreed.taxes, before, after, rule, currency)
    tax = sum((each.amount for each in taxes), Decimal(0))
    with_tax = to_step(authorised + tax, rule.total_step, currency)
    return Authorised(authorised, taxes, tax, with_tax - authorised - tax, with_tax)


def _taxable_after(agreed: AgreedLimit, added: Mapping[str, Decimal], before: Decimal, mode: str) -> Decimal:
    """The taxed part of the limit and the orders together; what of the contingency was taxed stays so."""
    if mode != "all_with_parts":
        return before + taxable(added, mode)
    parts = agreed.by_class.get(PARTS, Decimal(0)) + added.get(PARTS, Decimal(0))
    if before == 0 and parts == 0:
        return Decimal(0)
    # The first part makes the whole charge taxable, what was agreed without any included.
    labour = agreed.by_class.get(LABOUR, Decimal(0)) + added.get(LABOUR, Decimal(0))
    return labour + parts + agreed.record + agreed.contingency


def _taxes_after(
    agreed: Sequence[Tax], before: Decimal, after: Decimal, rule: PricingRule, currency: Currency
) -> tuple[Tax, ...]:
    if after == 0:
        return ()
    signed = {tax.name: tax.amount for tax in agreed}
    return tuple(
        Tax(
            rate.name,
            rate.rate,
            after,
            # Together the tax of the whole sum, unless a fleet shared the agreed one out.
            signed.get(rate.name, Decimal(0))
            + share_of(after, rate.rate, currency)
            - (share_of(before, rate.rate, currency) if rate.name in signed else Decimal(0)),
        )
        for rate in rule.tax_rates
    )


def lines_by_class(lines: Iterable[Row], materials: Mapping[str, Material]) -> dict[str, Decimal]:
    """Stored lines of a quote or job, added by tax class.

    Args:
        lines: rows with `kind`, `slug`, `amount` and `details`; amounts are rounded.
        materials: of the frozen cost base that the lines were priced on.

    Raises:
        NoTaxClassError: a material that the cost base does not hold.
        TaxModeError: a class that does not exist.
    """
    return sum_by_class((line_tax_class(line, materials), Decimal(str(line["amount"]))) for line in lines)


def line_tax_class(line: Row, materials: Mapping[str, Material]) -> str:
    """The tax class of one stored line; arguments and errors as in `lines_by_class`."""
    if line["kind"] == "labour":
        return LABOUR
    stated = cast(Row, line["details"]).get("tax_class")
    if stated:
        return str(stated)
    material = materials.get(str(line["slug"]))
    if material is None:
        raise NoTaxClassError(f"the cost base of this job holds no material '{line['slug']}'", field="slug", value=line["slug"])
    return material.tax_class
