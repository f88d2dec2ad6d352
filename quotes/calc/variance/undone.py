"""Which lines of a stopped job were not done, and what would they have cost?

Of every agreed line and every line of an order the signed settlement says what is paid. What is missing to its amount was not
done, at quote prices to the coin; what it should have cost is the same share of the line's cost. Counted work that was settled
before counts there as far as the settlement bears it out, and the rest of the line here, so that no coin counts twice.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency, share_of
from quotes.calc.variance.steps import BridgeError

Place = tuple[int, int]
"""Number of the change order, 0 for an agreed line, and position of the line in it."""

_NONE = Decimal(0)


@dataclass(frozen=True, slots=True)
class SoldLine:
    """A line as it was sold: `amount` at quote prices, its planned `cost`, `counted` what counted work came to less of it."""

    place: Place
    name: str
    amount: Decimal
    cost: Decimal
    counted: Decimal = _NONE


@dataclass(frozen=True, slots=True)
class Undone:
    """What became of a line: `amount` = `counted` + `gone` + `settled`, exactly; `cost` is that of `gone`, rounded."""

    place: Place
    name: str
    amount: Decimal
    counted: Decimal
    settled: Decimal
    gone: Decimal
    cost: Decimal

    @property
    def part(self) -> Decimal:
        """The share of the line that was not done, 0 to 1, not rounded."""
        return self.gone / self.amount if self.amount else _NONE


def undone(lines: Iterable[SoldLine], settled: Mapping[Place, Decimal], currency: Currency) -> tuple[Undone, ...]:
    """What of each line was not done, in the order of the lines.

    Args:
        lines: agreed lines and lines of orders.
        settled: amounts of the signed settlement; a line that is missing was settled at nothing.
        currency: of all amounts.

    Raises:
        BridgeError: a line that was settled at more than it was sold for.

    Source: common practice, none published.
    """
    return tuple(_one(line, settled.get(line.place, _NONE), currency) for line in lines)


def _one(line: SoldLine, settled: Decimal, currency: Currency) -> Undone:
    if abs(settled) > abs(line.amount) or settled * line.amount < 0:
        raise BridgeError(f"expected {line.name} to be settled at most at {line.amount}, not {settled}", value=settled)
    left = line.amount - settled
    counted = max(_NONE, min(line.counted, left))
    gone = left - counted
    cost = share_of(line.cost, gone / line.amount, currency) if gone else _NONE
    return Undone(line.place, line.name, line.amount, counted, settled, gone, cost)
