"""What does a part of the work cost that is sold on its own, before the whole is agreed?

A look first, or the teardown. A teardown is the quote's own lines up to the inspection of the open roof, as they are. What the
owner consents to holds the work and, for the case that it ends there, closing the coach up and the days it may stand; both are
billed only then. Supplies (to their cap over both) and overhead are the rule's; no minimum charge, which is the whole job's.

Tax is worked once per rate on everything together, so that the limit with tax is the most that can be billed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import cast

from costbase.calc.cost_base import Material, PricingRule
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, amount, extend, share_of, to_step, unit_price
from quotes.calc.change_order.limits import Row, line_tax_class
from quotes.calc.change_order.lines import OrderLine
from quotes.calc.tax import LABOUR, Tax, rule_taxes, sum_by_class, taxable

PHASES = ("survey", "protect", "strip", "teardown", "inspect")
"""Of the quote's lines, those that a teardown takes: up to the inspection of the open roof."""
STORAGE = "storage"


class EmptyStepError(CalculationError):
    """A step that comes to no work, or a teardown of a quote that opens nothing."""

    code = "empty_step"


@dataclass(frozen=True, slots=True)
class Alone:
    """A step, priced; all amounts rounded to the currency.

    `work` are its lines with the shop's lines, `closing` those of closing up, `storage` one line or none. `limit` is everything
    together, the most that is billed of it before tax; `rounding` is signed.
    """

    work: tuple[OrderLine, ...]
    closing: tuple[OrderLine, ...]
    storage: tuple[OrderLine, ...]
    taxes: tuple[Tax, ...]
    tax: Decimal
    rounding: Decimal
    limit_with_tax: Decimal

    @property
    def lines(self) -> tuple[OrderLine, ...]:
        """Every line."""
        return (*self.work, *self.closing, *self.storage)

    @property
    def limit(self) -> Decimal:
        """Before tax."""
        return added(self.lines)

    @property
    def cost(self) -> Decimal:
        """What all of it costs the shop."""
        return sum((line.cost for line in self.lines), Decimal(0))


def price_alone(
    work: Sequence[OrderLine],
    closing: Sequence[OrderLine],
    storage: Sequence[OrderLine],
    rule: PricingRule,
    currency: Currency,
) -> Alone:
    """Adds everything up and works the tax once.

    Args:
        work: lines of the step, the shop's lines included.
        closing: of closing up, the shop's lines included; none where there is nothing to close.
        storage: at most one line, of the most days that are charged for.
        rule: tax mode, rates and step.
        currency: of all amounts.

    Raises:
        EmptyStepError: the work comes to nothing.
        TaxModeError: an unknown mode or class.
    """
    if added(work) <= 0:
        raise EmptyStepError("the step comes to no work; expected some to be sold")
    every = (*work, *closing, *storage)
    base = taxable(sum_by_class((line.tax_class, line.amount) for line in every), rule.tax_mode)
    taxes = rule_taxes(base, rule, currency)
    tax = sum((each.amount for each in taxes), Decimal(0))
    limit = added(every)
    with_tax = to_step(limit + tax, rule.total_step, currency)
    return Alone(tuple(work), tuple(closing), tuple(storage), taxes, tax, with_tax - limit - tax, with_tax)


def added(lines: Iterable[OrderLine]) -> Decimal:
    """The sum of rounded lines."""
    return sum((line.amount for line in lines), Decimal(0))


def teardown_lines(lines: Iterable[Row], materials: Mapping[str, Material], *, opens: bool) -> tuple[OrderLine, ...]:
    """The quote's own lines up to the inspection, as they are stored.

    Args:
        lines: rows of the quote's lines in their order.
        materials: of its frozen cost base.
        opens: whether its plan opens the roof.

    Raises:
        EmptyStepError: nothing is opened.
        NoTaxClassError: a material that the cost base does not hold.
    """
    taken = [row for row in lines if row["kind"] != "shop" and row["phase"] in PHASES]
    if not opens or not taken:
        raise EmptyStepError("this quote opens nothing, so there is no teardown to sell on its own", field="kind")
    return tuple(_as_stored(row, line_tax_class(row, materials)) for row in taken)


def _as_stored(row: Row, tax_class: str) -> OrderLine:
    details = cast(Row, row["details"])
    kind, slug, trade, name, phase, unit = (str(row[word]) for word in ("kind", "slug", "trade", "name", "phase", "unit"))
    quantity, price, amount, cost = (Decimal(str(row[number])) for number in ("quantity", "price", "amount", "cost"))
    kept = {"position": row["position"], **({"net": details["net"]} if "net" in details else {})}
    return OrderLine(kind, slug, trade, name, phase, quantity, unit, price, amount, cost, tax_class, kept)


def with_shop_lines(work: Sequence[OrderLine], rule: PricingRule, currency: Currency) -> tuple[OrderLine, ...]:
    """The work with its share of supplies and its overhead; what comes to 0 is left out."""
    labour = sum((line.amount for line in work if line.kind == "labour"), Decimal(0))
    goods = sum((line.amount for line in work if line.kind != "labour"), Decimal(0))
    supplies = share_of(labour, rule.supplies_share, currency)
    if rule.supplies_cap is not None:
        supplies = min(supplies, amount(rule.supplies_cap, currency))
    overhead = share_of(labour + goods + supplies, rule.overhead_share, currency)
    lines = (
        _shop_line("shop-supplies", "Shop supplies", supplies, rule.supplies_tax_class),
        _shop_line("overhead", "Overhead", overhead, rule.overhead_tax_class),
    )
    return (*work, *(line for line in lines if line.amount))


def storage_line(price: Decimal, days: int, currency: Currency) -> OrderLine:
    """Days that the coach stands in the shop's care, at a price a day; taxed as labour is, where that is taxed.

    Args:
        price: of one day, in the currency.
        days: how many are charged.
        currency: of the price.
    """
    return OrderLine(
        kind="shop",
        slug=STORAGE,
        trade="",
        name="Storage",
        phase="close",
        quantity=Decimal(days),
        unit="day",
        price=unit_price(price),
        amount=extend(Decimal(days), price, currency),
        cost=Decimal(0),
        tax_class=LABOUR,
        details={},
    )


def taken_back(lines: Iterable[OrderLine]) -> tuple[OrderLine, ...]:
    """The same lines with the other sign: what was sold on its own is in the price of the whole from then on."""
    return tuple(
        replace(
            line, quantity=-line.quantity, amount=-line.amount, cost=-line.cost, details={**line.details, "taken_back": True}
        )
        for line in lines
    )


def _shop_line(slug: str, name: str, value: Decimal, tax_class: str) -> OrderLine:
    return OrderLine(
        kind="shop",
        slug=slug,
        trade="",
        name=name,
        phase="",
        quantity=Decimal(1),
        unit="job",
        price=unit_price(value),
        amount=value,
        cost=Decimal(0),
        tax_class=tax_class,
        details={},
    )
