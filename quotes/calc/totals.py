"""What does the owner see, sign, and at most pay?

Everything here adds amounts that are already rounded. The owner's rounding step is a signed line of its own, after tax and
outside every tax base, applied alike to the visible work with tax and to the limit with tax: the rounded limit with tax is what
consent authorises.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from costbase.calc.money import share_of, to_step
from quotes.calc.contingency import SetAside
from quotes.calc.hidden import HiddenComponent
from quotes.calc.pricing import Visible
from quotes.calc.tax import LABOUR, Tax, rule_taxes, sum_by_class, taxable, taxable_limit


@dataclass(frozen=True, slots=True)
class Totals:
    """The amounts of a quote, all rounded to the currency.

    `record` is `base_expected` - `base` in an open quote (this shop's record on such work) and 0 in a firm one. `limit` is base
    + record + contingency. `base_rounding` and `limit_rounding` are signed.
    """

    base: Decimal
    record: Decimal
    allowance: Decimal
    reserve: Decimal
    contingency: Decimal
    limit: Decimal
    base_taxes: tuple[Tax, ...]
    base_tax: Decimal
    base_rounding: Decimal
    base_with_tax: Decimal
    limit_taxes: tuple[Tax, ...]
    limit_tax: Decimal
    limit_rounding: Decimal
    limit_with_tax: Decimal
    deposit: Decimal
    cost: Decimal
    margin: Decimal


def total(visible: Visible, set_aside: SetAside, hidden: Iterable[HiddenComponent], cost_base: CostBase) -> Totals:
    """Adds everything up, in the order: visible work, hidden work, limit, tax, limit with tax, the owner's rounding."""
    rule, currency = cost_base.rule, cost_base.currency
    by_class = amounts_by_class(visible)
    firm = rule.price_basis == "firm"
    record = Decimal(0) if firm else set_aside.base_expected - visible.base
    limit = visible.base + record + set_aside.contingency
    base_taxable = taxable(by_class, rule.tax_mode)
    limit_taxable = taxable_limit(
        by_class,
        rule.tax_mode,
        contingency=set_aside.contingency,
        record=record,
        material_share=largest_material_share(hidden),
        currency=currency,
    )
    base_taxes = rule_taxes(base_taxable, rule, currency)
    limit_taxes = rule_taxes(limit_taxable, rule, currency)
    base_tax = sum((tax.amount for tax in base_taxes), Decimal(0))
    limit_tax = sum((tax.amount for tax in limit_taxes), Decimal(0))
    base_with_tax = to_step(visible.base + base_tax, rule.total_step, currency)
    limit_with_tax = to_step(limit + limit_tax, rule.total_step, currency)
    return Totals(
        base=visible.base,
        record=record,
        allowance=set_aside.allowance,
        reserve=set_aside.reserve,
        contingency=set_aside.contingency,
        limit=limit,
        base_taxes=base_taxes,
        base_tax=base_tax,
        base_rounding=base_with_tax - visible.base - base_tax,
        base_with_tax=base_with_tax,
        limit_taxes=limit_taxes,
        limit_tax=limit_tax,
        limit_rounding=limit_with_tax - limit - limit_tax,
        limit_with_tax=limit_with_tax,
        deposit=share_of(base_with_tax, rule.deposit_share, currency),
        cost=visible.cost,
        margin=visible.base - visible.cost,
    )


def amounts_by_class(visible: Visible) -> dict[str, Decimal]:
    """The rounded lines of the visible work, added by tax class.

    Raises:
        TaxModeError: a line of a class that does not exist.
    """
    return sum_by_class(
        [
            *((LABOUR, line.amount) for line in visible.labour),
            *((line.packed.material.tax_class, line.amount) for line in visible.materials),
            *((line.material.tax_class, line.amount) for line in visible.freight),
            *((line.tax_class, line.amount) for line in visible.shop),
        ]
    )


def largest_material_share(hidden: Iterable[HiddenComponent]) -> Decimal:
    """The largest share of material in the unit price of any exposed component; 0 when nothing is exposed."""
    shares = [
        work.cost.material / (work.cost.labour + work.cost.material)
        for work in hidden
        if work.exposure > 0 and work.cost.labour + work.cost.material > 0
    ]
    return min(Decimal(1), max(shares, default=Decimal(0)))
