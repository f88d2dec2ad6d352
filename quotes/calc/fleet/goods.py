"""How much of a material is bought for the lot, what does it cost to have it brought, and how much of both is each coach's?

Net needs are summed over all coaches, waste is added once and packs are counted once, so that a started pack is sold once. A
coach pays for the share of the line that its net need is of all, and the same share of the freight, which comes once with the
lot.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, largest_remainder, split_quantity
from costbase.calc.units import BY_SYMBOL
from quotes.calc.fleet.weights import weights
from quotes.calc.packing import QUANTITY_PLACES, PackedNeed, Part, pack
from quotes.calc.pricing import FreightLine, MaterialLine, material_lines
from quotes.calc.quote import Quote


@dataclass(frozen=True, slots=True)
class GoodsShare:
    """One coach's share of a material line.

    `place` is the coach's, from 0; `alone` is the line that it would have by itself, `line` what it pays: `alone` with its
    shares (4 decimals) of what the lot buys and bills, and of amount and cost.
    """

    place: int
    alone: MaterialLine
    line: MaterialLine


@dataclass(frozen=True, slots=True)
class LotGoods:
    """A material line of the lot, with the share of each coach that needs the material, in their order."""

    line: MaterialLine
    shares: tuple[GoodsShare, ...]


def lot_goods(quotes: Sequence[Quote], order: Sequence[str], cost_base: CostBase) -> tuple[LotGoods, ...]:
    """The material lines of the lot, in the order in which they are first needed.

    Args:
        quotes: each coach as it would be alone, in their order.
        order: slugs of the assemblies, in the order of the plan and its options.
        cost_base: prices and markups in force.

    Returns:
        Lines as a single quote's are; shares by largest remainder, so that the coaches' add up to the line's.

    Raises:
        NoPriceError, NoMarkupError: the cost base lacks what a line needs.
    """
    needed: dict[str, list[tuple[int, MaterialLine]]] = {}
    for place, quote in enumerate(quotes):
        for line in quote.visible.materials:
            needed.setdefault(line.packed.material.slug, []).append((place, line))
    rank = {slug: at for at, slug in enumerate(order)}
    needs = [_need([line for _, line in alone], rank, cost_base) for alone in needed.values()]
    lines = material_lines(needs, cost_base)
    lot = [_shared(line, alone, cost_base.currency) for line, alone in zip(lines, needed.values(), strict=True)]
    # Of two that the same assembly needs first, the one that comes first in its template: as the coaches had them.
    return tuple(sorted(lot, key=lambda goods: rank[goods.line.parts[0].assembly]))


def _need(alone: Sequence[MaterialLine], rank: dict[str, int], cost_base: CostBase) -> PackedNeed:
    if len(alone) == 1:
        return PackedNeed(alone[0].packed, alone[0].phase, alone[0].parts)
    material = alone[0].packed.material
    by_assembly: dict[str, float] = {}
    for line in alone:
        for part in line.parts:
            by_assembly[part.assembly] = by_assembly.get(part.assembly, 0.0) + part.need
    parts = tuple(Part(slug, need) for slug, need in sorted(by_assembly.items(), key=lambda entry: rank[entry[0]]))
    need = sum(part.need for part in parts) * float(BY_SYMBOL[material.unit].factor)
    return PackedNeed(
        packed=pack(material, need, stock_by_use=cost_base.rule.stock_billing == "use"),
        phase=cost_base.assemblies[parts[0].assembly].phase,
        parts=parts,
    )


def _shared(line: MaterialLine, alone: Sequence[tuple[int, MaterialLine]], currency: Currency) -> LotGoods:
    own = weights([each.packed.net for _, each in alone])
    packs = split_quantity(line.packed.packs, own, QUANTITY_PLACES)
    billed = split_quantity(line.packed.billed, own, QUANTITY_PLACES)
    amounts = largest_remainder(line.amount, own, currency)
    costs = largest_remainder(line.cost, own, currency)
    return LotGoods(
        line,
        tuple(
            GoodsShare(place, each, _share(each, packs[at], billed[at], amounts[at], costs[at]))
            for at, (place, each) in enumerate(alone)
        ),
    )


def _share(alone: MaterialLine, packs: Decimal, billed: Decimal, amount: Decimal, cost: Decimal) -> MaterialLine:
    return alone._replace(packed=alone.packed._replace(packs=packs, billed=billed), amount=amount, cost=cost)


@dataclass(frozen=True, slots=True)
class FreightShare:
    """One coach's share of what it costs to have a material brought; `place` is the coach's, from 0."""

    place: int
    line: FreightLine


@dataclass(frozen=True, slots=True)
class LotFreight:
    """A line of freight of the lot: one order for all coaches, with the share of each that needs the material."""

    line: FreightLine
    shares: tuple[FreightShare, ...]


def lot_freight(freight: Sequence[FreightLine], goods: Sequence[LotGoods], currency: Currency) -> tuple[LotFreight, ...]:
    """The freight of what the lot orders, shared out by net need as the material is.

    Args:
        freight: lines of freight of the lot.
        goods: its material lines, with their shares.
        currency: of the amounts.
    """
    shares = {lot.line.packed.material.slug: lot.shares for lot in goods}
    return tuple(_shared_freight(line, shares[line.material.slug], currency) for line in freight)


def _shared_freight(line: FreightLine, shares: Sequence[GoodsShare], currency: Currency) -> LotFreight:
    own = weights([share.alone.packed.net for share in shares])
    amounts = largest_remainder(line.amount, own, currency)
    costs = largest_remainder(line.cost, own, currency)
    return LotFreight(
        line,
        tuple(
            FreightShare(share.place, replace(line, phase=share.alone.phase, amount=amounts[at], cost=costs[at]))
            for at, share in enumerate(shares)
        ),
    )
