"""What was a job billed, before tax, in tax and in all?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costbase.calc.cost_base import CostBase
from costbase.calc.money import to_step
from quotes.calc.change_order import lines_by_class
from quotes.calc.tax import LABOUR, PARTS, rule_taxes, sum_by_class, taxable
from quotes.calc.variance import added

Row = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Billed:
    """The bill of a job in all: before tax, tax, the owner's rounding (signed) and their sum."""

    net: Decimal
    tax: Decimal
    rounding: Decimal
    total: Decimal


def by_what_was_done(lines: Iterable[Row], draws: Row, credits: Iterable[Row], orders: Iterable[Row], base: CostBase) -> Billed:
    """The bill of a firm price: agreed lines, draws and accepted orders less counted credits, with tax worked once.

    Args:
        lines: agreed lines, with kind, slug, amount and details.
        draws: `amount` and `material` of all found notes together.
        credits: lines of counted settlements, with tax class and amount.
        orders: lines of accepted orders, with tax class and amount.
        base: whose rule says which taxes there are.
    """
    rule = base.rule
    sums = sum_by_class(
        [
            *lines_by_class(lines, base.materials).items(),
            (PARTS, draws["material"]),
            (LABOUR, draws["amount"] - draws["material"]),
            *((row["tax_class"], -Decimal(row["amount"])) for row in credits),
            *((row["tax_class"], row["amount"]) for row in orders),
        ]
    )
    net = added(sums.values())
    tax = added(each.amount for each in rule_taxes(taxable(sums, rule.tax_mode), rule, base.currency))
    total = to_step(net + tax, rule.total_step, base.currency)
    return Billed(net, tax, total - net - tax, total)
