"""What did the hours and goods of a job come to, and what should they have been for the work that was required?

Standard and actual are laid beside each other by trade and by material: agreed lines less counted work that was not needed,
lines of accepted orders, and the standard of what found notes drew. Goods count in packs where all of a material does, else in
units of use. What lines lose or win by their rounding is no cause of its own: the standard is worked on whole hours and goods.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from costbase.calc.cost_base import CostBase, Material
from costbase.calc.money import extend, per_unit, share_of, split_quantity
from quotes.calc.variance import Goods, Grade, added
from quotes.reports.review.standards import Key, UnitStandard, use_price

Row = dict[str, Any]
ZERO = Decimal(0)
# Goods that are no material of the cost base, and freight: they have no standard price.
BESIDE = "goods that are no material of the cost base, and freight"
FREIGHT = "freight:"


@dataclass(slots=True)
class _Two:
    quantity: Decimal = ZERO
    cost: Decimal = ZERO

    def add(self, quantity: Decimal, cost: Decimal) -> None:
        self.quantity += quantity
        self.cost += cost


@dataclass(slots=True)
class Work:
    """Hours by trade and goods by material and unit, with what they cost; added up bit by bit."""

    hours: dict[str, _Two] = field(default_factory=dict)
    goods: dict[tuple[str, str], _Two] = field(default_factory=dict)

    def add_hours(self, trade: str, hours: Decimal, cost: Decimal) -> None:
        """More hours of a trade."""
        self.hours.setdefault(trade, _Two()).add(hours, cost)

    def add_goods(self, material: str, unit: str, quantity: Decimal, cost: Decimal) -> None:
        """More of a material, in packs or units of use."""
        self.goods.setdefault((material, unit), _Two()).add(quantity, cost)

    def add_line(self, line: Row, part: Decimal = Decimal(1)) -> None:
        """A line of a quote or an order, or a part of it; lines of the shop cost nothing."""
        quantity, cost = line["quantity"], line["cost"]
        if part != 1:
            quantity, cost = split_quantity(quantity, [part, 1 - part])[0], line["cost_part"]
        if line["kind"] == "labour":
            self.add_hours(line["trade"], quantity, cost)
        elif line["slug"].startswith(FREIGHT):
            self.add_goods(BESIDE, "", quantity, cost)
        elif line["kind"] == "material":
            self.add_goods(line["slug"], line["unit"], quantity, cost)

    def add_repair(self, standard: UnitStandard, extent: Decimal, base: CostBase, set_ups: int) -> None:
        """The standard of putting so much of a hidden component right."""
        for trade, hours in standard.hours_for(extent, set_ups).items():
            self.add_hours(trade, hours, extend(hours, base.trades[trade].cost_per_hour, base.currency))
        for slug, used in standard.goods_for(extent).items():
            self.add_goods(slug, base.materials[slug].unit, used, extend(used, use_price(slug, base), base.currency))


def drawn_work(drawn: Mapping[Key, Row], standards: Mapping[Key, UnitStandard], base: CostBase) -> tuple[Work, Decimal]:
    """The standard of what found notes drew, and what that should cost.

    Args:
        drawn: by component, with `extent` and `set_ups`.
        standards: of every component of the job.
        base: cost rates and purchase prices of the quote.
    """
    work = Work()
    for key, row in drawn.items():
        work.add_repair(standards[key], row["extent"], base, row["set_ups"])
    parts = [*work.hours.values(), *work.goods.values()]
    return work, added(part.cost for part in parts)


def counted_off(settled: Iterable[Row], lines: Mapping[int, Row], base: CostBase) -> list[tuple[Row, Decimal]]:
    """Of each line that counted work came to less of: the line with the cost of that part, and the part."""
    found = []
    for row in settled:
        for credit in row["lines"]:
            line, amount = lines[credit["position"]], Decimal(credit["amount"])
            if not line["amount"] or not amount:
                continue
            part = amount / line["amount"]
            found.append(({**line, "cost_part": share_of(line["cost"], part, base.currency)}, part))
    return found


def grades(standard: Work, less: Work, actual: Work, base: CostBase) -> tuple[Grade, ...]:
    """Every trade that worked or should have; the standard is what is left of it."""
    found = []
    for trade in sorted({*standard.hours, *actual.hours}):
        should, off, was = (work.hours.get(trade, _Two()) for work in (standard, less, actual))
        known = base.trades.get(trade)
        # A trade that the quote did not know has no standard rate: what it cost counts as more hours.
        rate = known.cost_per_hour if known else per_unit(was.cost, was.quantity) if was.quantity else ZERO
        hours = should.quantity - off.quantity
        found.append(Grade(trade, rate, hours, extend(hours, rate, base.currency), was.quantity, was.cost))
    return tuple(found)


def goods(standard: Work, less: Work, actual: Work, base: CostBase) -> tuple[Goods, ...]:
    """Every material that was used or should have been, in one unit each."""
    slugs = sorted({slug for work in (standard, actual) for slug, _ in work.goods})
    return tuple(_one(slug, standard, less, actual, base) for slug in slugs)


def _one(slug: str, standard: Work, less: Work, actual: Work, base: CostBase) -> Goods:
    material, price = base.materials.get(slug), base.prices.get(slug)
    sides = [[(unit, two) for (of, unit), two in work.goods.items() if of == slug] for work in (standard, less, actual)]
    if material is None or price is None:
        should, off, was = (_sum(parts, lambda unit, quantity: quantity) for parts in sides)
        return Goods(slug, "", None, should.quantity - off.quantity, should.cost - off.cost, was.quantity, was.cost)
    packs = all(_in_packs(unit, material) for parts in sides for unit, _ in parts)

    def counted(unit: str, quantity: Decimal) -> Decimal:
        return quantity if packs or not _in_packs(unit, material) else quantity * material.pack_size

    should, off, was = (_sum(parts, counted) for parts in sides)
    each = price.pack_price if packs else per_unit(price.pack_price, material.pack_size)
    unit = material.pack_name if packs else material.unit
    needed = should.quantity - off.quantity
    return Goods(slug, unit, each, needed, extend(needed, each, base.currency), was.quantity, was.cost)


def _in_packs(unit: str, material: Material) -> bool:
    return unit == "pack" or (unit == material.pack_name and unit != material.unit)


def _sum(parts: Iterable[tuple[str, _Two]], counted: Any) -> _Two:
    found = _Two()
    for unit, two in parts:
        found.add(counted(unit, two.quantity), two.cost)
    return found
