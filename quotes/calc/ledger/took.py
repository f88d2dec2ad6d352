"""What did a return under warranty take: hours by trade, goods, and what others did?

Goods that the job bought for it cost with their purchase and nothing once more with their issue; a credit note lowers what
goods cost and brings none back.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from quotes.calc.ledger.said import CREDIT, ISSUED, PURCHASE, RETURNED, TIME

_NONE = Decimal(0)
_SIGNS = {ISSUED: 1, PURCHASE: 1, RETURNED: -1, CREDIT: 0}


class Taken(NamedTuple):
    """Entries with all but the figures the same, corrections among them; `goods` is a material or the words of a purchase."""

    kind: str
    trade: str
    goods: str
    unit: str
    quantity: Decimal
    cost: Decimal


class Part(NamedTuple):
    """Hours of a trade, or so much of some goods, and what they cost."""

    name: str
    unit: str
    quantity: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Took:
    """Hours by trade and goods by name and unit, each in that order; `others` is what subcontractors and the rest cost."""

    trades: tuple[Part, ...] = ()
    goods: tuple[Part, ...] = ()
    others: Decimal = _NONE

    @property
    def hours(self) -> Decimal:
        """Of all trades."""
        return sum((part.quantity for part in self.trades), _NONE)

    @property
    def cost(self) -> Decimal:
        """Of everything."""
        return sum((part.cost for part in (*self.trades, *self.goods)), self.others)


def took(entries: Iterable[Taken]) -> Took:
    """What entries of one return come to.

    Args:
        entries: of all kinds, without goods whose cost stands with their purchase.

    Source: common practice, none published.
    """
    trades: dict[tuple[str, str], Part] = {}
    goods: dict[tuple[str, str], Part] = {}
    others = _NONE
    for entry in entries:
        if entry.kind == TIME:
            _add(trades, entry.trade, entry.unit, entry.quantity, entry.cost)
        elif entry.kind in _SIGNS and entry.goods:
            _add(goods, entry.goods, entry.unit, _SIGNS[entry.kind] * entry.quantity, entry.cost)
        else:
            others += entry.cost
    return Took(_sorted(trades), _sorted(goods), others)


def _sorted(parts: dict[tuple[str, str], Part]) -> tuple[Part, ...]:
    """Without what was taken back whole."""
    return tuple(parts[key] for key in sorted(parts) if parts[key].quantity or parts[key].cost)


def _add(parts: dict[tuple[str, str], Part], name: str, unit: str, quantity: Decimal, cost: Decimal) -> None:
    before = parts.get((name, unit), Part(name, unit, _NONE, _NONE))
    parts[name, unit] = Part(name, unit, before.quantity + quantity, before.cost + cost)
