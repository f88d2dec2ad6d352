"""What does one unit of a hidden repair take of the shop: cost, and hours of its crew?

From the same counts that its unit price was worked from (`quotes/calc/hidden/prices.py`), at the rates and prices that the shop
pays.
"""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal

from costbase.calc.cost_base import Trade
from costbase.calc.money import Currency, amount, decimal_quantity, per_unit
from quotes.calc.hidden.prices import RepairPart, SectionCost
from quotes.calc.labour import trade_of

Trades = Mapping[str, Trade]


def repair_cost(costs: Sequence[SectionCost]) -> Decimal:
    """What one unit costs the shop, mean over the sections by exposure, half up to six decimals; 0 where it saves more."""
    extent = _sum(cost.weight for cost in costs)
    whole = _sum(cost.weight * part.sign * _cost(part) for cost in costs for part in cost.repairs)
    return max(Decimal(0), per_unit(whole, extent))


def _cost(part: RepairPart) -> Decimal:
    labour = _sum(each.hours * each.trade.cost_per_hour for each in part.labour)
    goods = _sum(
        each.net * (1 + each.material.waste_share) * each.pack_price / each.material.pack_size for each in part.materials
    )
    return labour + goods


def set_up_cost(costs: Sequence[SectionCost], trades: Trades, currency: Currency) -> Decimal:
    """What the set-up costs the shop, of the section where that is most, in the currency."""
    return amount(max(_set_up(cost, trades) for cost in costs), currency)


def _set_up(cost: SectionCost, trades: Trades) -> Decimal:
    total = Decimal(0)
    for part in cost.repairs:
        assembly = part.assembly
        if part.sign > 0 and assembly.set_up_hours > 0:
            trade = trade_of(trades, assembly.set_up_trade)
            total += decimal_quantity(assembly.set_up_hours) * trade.cost_per_hour
    return total


def crew_hours(costs: Sequence[SectionCost]) -> float:
    """Hours of one unit over the crews of its assemblies, mean over the sections by exposure, 0 or more."""
    extent = float(_sum(cost.weight for cost in costs))
    hours = sum(
        float(cost.weight) * part.sign * float(_sum(each.hours for each in part.labour)) / part.assembly.crew
        for cost in costs
        for part in cost.repairs
    )
    return max(0.0, hours / extent)


def _sum(values: Iterable[Decimal]) -> Decimal:
    return sum(values, Decimal(0))
