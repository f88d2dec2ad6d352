"""What is a bill made of?

Items: every agreed line, what counted work is settled down by, every draw, every line of a change order, every credit. An item
is an amount that is rounded already, with the payers' parts of it, which add up to it; a bill adds items and prices nothing.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, largest_remainder
from quotes.calc.payers import OWNER

AGREED, LOGGED, COUNTED, DRAW, ORDER = "agreed", "logged", "counted", "draw", "change_order"
SETTLEMENT, CUT, CREDIT, GOODWILL = "settlement", "cut", "credit", "goodwill"
SOURCES = (AGREED, LOGGED, COUNTED, DRAW, ORDER, SETTLEMENT, CUT, CREDIT, GOODWILL)

# Of work by the hour: what is missing to the minimum charge once all of it is done.
MINIMUM = "shop:minimum-charge"

Parts = tuple[tuple[str, Decimal], ...]


class BillItemError(CalculationError):
    """An item that cannot stand on a bill: a key that stands twice, or parts that do not add up to the amount."""

    code = "bad_bill_item"


@dataclass(frozen=True, slots=True)
class Item:
    """One row of a bill, before tax.

    `key` names it for good: the same thing has the same key on every bill of the job. `of` is the key of the item that it
    takes something back of, "" where it stands for itself. `amount` is rounded to the currency, negative where it takes back.
    `quantity` and `unit_price`, of the whole of it, are shown only; a sum has the unit "job" and no unit price. `parts` are the
    payers' parts of the amount.
    """

    key: str
    source: str
    name: str
    tax_class: str
    amount: Decimal
    parts: Parts
    phase: str = ""
    quantity: Decimal = Decimal(1)
    unit: str = "job"
    price: Decimal = Decimal(0)
    of: str = ""
    kind: str = ""  # "labour", "material" or "shop" of a line, "" of the rest
    words: str = ""
    unit_price: Decimal | None = None

    def part(self, payer: str) -> Decimal:
        """What falls on a payer; 0 where nothing does."""
        return sum((amount for label, amount in self.parts if label == payer), Decimal(0))


def whole(amount: Decimal, payer: str = OWNER) -> Parts:
    """All of an amount as one payer's part."""
    return ((payer, amount),)


def shared(amount: Decimal, weights: Mapping[str, Decimal], currency: Currency) -> Parts:
    """An amount shared out by weights, by largest remainder; the owner's where nothing weighs.

    Args:
        amount: rounded to the currency, of either sign.
        weights: by payer, none negative.
        currency: of the amount.
    """
    given = {label: weight for label, weight in weights.items() if weight > 0}
    if not given:
        return whole(amount)
    return tuple(zip(given, largest_remainder(amount, list(given.values()), currency), strict=True))


def taken_back(amount: Decimal, weights: Mapping[str, Decimal], most: Mapping[str, Decimal], currency: Currency) -> Parts:
    """What is taken back of an item, as negative parts: by weights, but of nobody more than the part that he has.

    Args:
        amount: 0 or more, and no more than `most` together.
        weights: by payer, none negative.
        most: each payer's part of what it is taken back of.
        currency: of all amounts.

    Raises:
        BillItemError: more than there is.
    """
    if amount > sum(most.values(), Decimal(0)):
        raise BillItemError(
            f"expected no more than {sum(most.values(), Decimal(0))} to be taken back, not {amount}", value=amount
        )
    taken = {label: min(part, most.get(label, Decimal(0))) for label, part in shared(amount, weights, currency)}
    left = amount - sum(taken.values(), Decimal(0))
    for label, part in most.items():
        # A coin of rounding, or work whose rule gives it to somebody who has no part of the line.
        more = min(left, part - taken.get(label, Decimal(0)))
        taken[label] = taken.get(label, Decimal(0)) + more
        left -= more
    return tuple((label, -part) for label, part in taken.items() if part)


def scaled(item: Item, amount: Decimal, currency: Currency) -> Item:
    """The same item at another amount of the same sign, its parts in the same proportion."""
    weights = {label: abs(part) for label, part in item.parts}
    return replace(item, amount=amount, parts=shared(amount, weights, currency))


def check_items(items: Sequence[Item], payers: Sequence[str]) -> None:
    """Refuses items that are no bill.

    Args:
        items: of the bill.
        payers: labels of all who pay.

    Raises:
        BillItemError: a key twice, an unknown source, parts that do not add up, or one that is nobody's who pays.
    """
    seen: set[str] = set()
    for item in items:
        if item.key in seen or item.source not in SOURCES:
            raise BillItemError(f"expected a key that stands once, of a known source, not {item.key} ({item.source})")
        seen.add(item.key)
        if sum((part for _, part in item.parts), Decimal(0)) != item.amount:
            raise BillItemError(f"expected parts of {item.key} that add up to {item.amount}", value=item.amount)
        for label, _ in item.parts:
            if label not in payers:
                raise BillItemError(f"nobody pays {item.key}: expected one of {', '.join(payers)}, not {label!r}", value=label)


def net(items: Iterable[Item]) -> Decimal:
    """All amounts together, before tax."""
    return sum((item.amount for item in items), Decimal(0))
