"""How many hours and how much material should one unit of a hidden repair take?

The quote's own repairing assemblies say so, worked out again at the mean find, as when the unit price was made. Where another
engine priced the quote, the first trade and the first material of the repair stand for all of them, at the prices agreed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from costbase.calc.cost_base import CostBase
from costbase.calc.money import decimal_quantity, extend, marked_up
from quotes.calc.hidden import SectionCost, section_costs
from quotes.calc.options import with_options
from quotes.calc.quote import Quote as Worked
from quotes.models import Job, Quote
from quotes.reports.quotes import worked_again

Row = dict[str, Any]
Key = tuple[str, str]  # slug and construction of a component


@dataclass(frozen=True, slots=True)
class UnitStandard:
    """Hours by trade and material in units of use, waste included, for one unit; and hours by trade of the set-up."""

    hours: Mapping[str, Decimal] = field(default_factory=dict)
    goods: Mapping[str, Decimal] = field(default_factory=dict)
    set_up_hours: Mapping[str, Decimal] = field(default_factory=dict)

    def hours_for(self, extent: Decimal, set_ups: int) -> dict[str, Decimal]:
        """Hours by trade for an extent and so many set-ups, 4 decimals."""
        trades = dict.fromkeys([*self.hours, *self.set_up_hours])
        zero = Decimal(0)
        exact = {trade: extent * self.hours.get(trade, zero) + set_ups * self.set_up_hours.get(trade, zero) for trade in trades}
        return {trade: decimal_quantity(float(hours)) for trade, hours in exact.items()}

    def goods_for(self, extent: Decimal) -> dict[str, Decimal]:
        """Units of use by material for an extent, 4 decimals."""
        return {slug: decimal_quantity(float(extent * each)) for slug, each in self.goods.items()}

    def cost_share(self, unit_price: Decimal, base: CostBase) -> Decimal:
        """What one unit should cost the shop, as a share of its price; 0 where it has none."""
        if not unit_price:
            return Decimal(0)
        fine = Decimal(1000)  # so that cents of one unit are not rounded away
        labour = sum(
            (extend(fine * each, base.trades[trade].cost_per_hour, base.currency) for trade, each in self.hours.items()),
            Decimal(0),
        )
        goods = sum(
            (extend(fine * each, use_price(slug, base), base.currency) for slug, each in self.goods.items()), Decimal(0)
        )
        return (labour + goods) / fine / unit_price


def use_price(slug: str, base: CostBase) -> Decimal:
    """The purchase price of one unit of use, not rounded."""
    return base.prices[slug].pack_price / base.materials[slug].pack_size


def unit_standards(job: Job, quote: Quote, components: Iterable[Row], base: CostBase, engine: int) -> dict[Key, UnitStandard]:
    """The standard of every hidden component of a job.

    Args:
        job: whose options were ticked.
        quote: that it was booked from, with all its columns.
        components: of the job.
        base: that the quote was priced on.
        engine: the arithmetic of today; another one's quotes are not worked out again.
    """
    rows = list(components)
    known: dict[Key, UnitStandard] = {}
    if quote.engine == engine:
        context = worked_again(quote)
        worked = context.quote
        if job.options:
            parts = (context.cost_base, context.rules, context.factors, context.points)
            worked = with_options(context.inputs, tuple(job.options), *parts)
        known = dict(_worked(worked, base))
    return {key: known.get(key) or _roughly(row, base) for row in rows if (key := (row["slug"], row["construction"]))}


def _worked(worked: Worked, base: CostBase) -> Iterable[tuple[Key, UnitStandard]]:
    for work in worked.hidden:
        of_kind = {k: v for k, v in worked.measured.sections.items() if v["roof_kind"] == work.construction}
        costs = section_costs(work.component, work.sections, work.share, of_kind, base)
        yield (work.component.slug, work.construction), _mean(costs)


def _mean(costs: tuple[SectionCost, ...]) -> UnitStandard:
    """Over the sections that expose it, weighted by exposure, as its unit price is; the set-up of the dearest."""
    hours: dict[str, Decimal] = {}
    goods: dict[str, Decimal] = {}
    whole = sum((cost.weight for cost in costs), Decimal(0))
    for cost in costs:
        for repair in cost.repairs:
            weight = repair.sign * cost.weight / whole
            for part in repair.labour:
                hours[part.trade.slug] = hours.get(part.trade.slug, Decimal(0)) + weight * part.hours
            for need in repair.materials:
                slug = need.material.slug
                goods[slug] = goods.get(slug, Decimal(0)) + weight * need.net * (1 + need.material.waste_share)
    set_up: dict[str, Decimal] = {}
    for repair in max(costs, key=lambda cost: cost.set_up).repairs:
        if repair.sign > 0 and repair.assembly.set_up_hours > 0:
            trade = repair.assembly.set_up_trade
            set_up[trade] = set_up.get(trade, Decimal(0)) + decimal_quantity(repair.assembly.set_up_hours)
    return UnitStandard(hours, goods, set_up)


def _roughly(row: Row, base: CostBase) -> UnitStandard:
    """From the agreed prices: all of the labour by the first trade, all of the material by the first material."""
    assemblies = [base.assemblies[slug] for slug in row["details"].get("assemblies", []) if slug in base.assemblies]
    trades = [rate.trade for work in assemblies for rate in work.labour]
    materials = [need.material for work in assemblies for need in work.materials]
    hours, goods, set_up = {}, {}, {}
    if trades:
        billed = base.trades[trades[0]].billed_per_hour
        hours[trades[0]], set_up[trades[0]] = row["labour_part"] / billed, row["set_up"] / billed
    if materials:
        sale = marked_up(use_price(materials[0], base), base.rule.markups[base.materials[materials[0]].markup_class])
        goods[materials[0]] = row["material_part"] / sale
    return UnitStandard(hours, goods, set_up)
