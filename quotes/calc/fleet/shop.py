"""What does the shop add to the lot, and how much of it is each coach's?

Supplies with their cap, overhead and minimum are worked once, on the lines of the lot. A coach pays for the share of each that
its direct amounts, labour and materials, are of all.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.money import Currency, largest_remainder, per_unit
from quotes.calc.fleet.goods import LotFreight, LotGoods
from quotes.calc.fleet.labour import LotLabour
from quotes.calc.fleet.weights import weights
from quotes.calc.pricing import ShopLine, Visible


@dataclass(frozen=True, slots=True)
class ShopShare:
    """One coach's share of a line of the shop.

    `place` is the coach's, from 0; `direct` are its labour and materials. `line` is what it pays; it is worked on the lot's
    line, with the coach's share of the direct amounts (6 decimals).
    """

    place: int
    direct: Decimal
    line: ShopLine


@dataclass(frozen=True, slots=True)
class LotShop:
    """A line of the shop on the lot, with the share of each coach, in their order."""

    line: ShopLine
    shares: tuple[ShopShare, ...]


def lot_shop(visible: Visible, direct: Sequence[Decimal], currency: Currency) -> tuple[LotShop, ...]:
    """The shop's lines of the lot with their shares.

    Args:
        visible: visible work of the lot.
        direct: labour and material amounts of each coach, in their order.
        currency: of the amounts.

    Returns:
        Shares by largest remainder, so that they add up to each line.
    """
    return tuple(_shared(line, direct, currency) for line in visible.shop)


def _shared(line: ShopLine, direct: Sequence[Decimal], currency: Currency) -> LotShop:
    own = weights(direct)
    amounts = largest_remainder(line.amount, own, currency)
    whole = sum(own, Decimal(0))
    return LotShop(
        line,
        tuple(
            ShopShare(place, direct[place], _share(line, per_unit(own[place], whole), amount))
            for place, amount in enumerate(amounts)
        ),
    )


def _share(line: ShopLine, share: Decimal, amount: Decimal) -> ShopLine:
    return ShopLine(line.slug, line.name, line.amount, share, amount, line.tax_class)


def coach_visible(
    place: int, alone: Visible, labour: Sequence[LotLabour], goods: Sequence[LotGoods], freight: Sequence[LotFreight]
) -> Visible:
    """One coach's visible work without the shop's lines: its share of every line of the lot that it has, in its own order.

    Args:
        place: of the coach, from 0.
        alone: its visible work by itself.
        labour: labour lines of the lot.
        goods: material lines of the lot.
        freight: lines of freight of the lot.
    """
    hours = {(s.line.assembly, s.line.trade): s.line for lot in labour for s in lot.shares if s.place == place}
    needs = {s.line.packed.material.slug: s.line for lot in goods for s in lot.shares if s.place == place}
    lines = tuple(hours[line.assembly, line.trade] for line in alone.labour)
    materials = tuple(needs[line.packed.material.slug] for line in alone.materials)
    brought = {s.line.material.slug: s.line for lot in freight for s in lot.shares if s.place == place}
    freights = tuple(brought[slug] for slug in (line.packed.material.slug for line in materials) if slug in brought)
    material_total = sum([*(line.amount for line in materials), *(line.amount for line in freights)], Decimal(0))
    labour_total = sum((line.amount for line in lines), Decimal(0))
    costs = [*(line.cost for line in lines), *(line.cost for line in materials), *(line.cost for line in freights)]
    return Visible(
        labour=lines,
        materials=materials,
        freight=freights,
        shop=(),
        labour_total=labour_total,
        material_total=material_total,
        base=labour_total + material_total,
        cost=sum(costs, Decimal(0)),
    )


def with_shop(visible: Visible, place: int, shop: Sequence[LotShop]) -> Visible:
    """The same with the coach's shares of the shop's lines; one that comes to 0 is left out, as in a single quote.

    Args:
        visible: of the coach, from `coach_visible`.
        place: of the coach, from 0.
        shop: the shop's lines of the lot.
    """
    lines = tuple(lot.shares[place].line for lot in shop if lot.shares[place].line.amount > 0)
    return replace(visible, shop=lines, base=visible.base + sum((line.amount for line in lines), Decimal(0)))
