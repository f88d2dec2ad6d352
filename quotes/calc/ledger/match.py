"""Does what was planned of a material agree with what was bought, and with what was used?

Planned, bought, used: all three in the material's unit of use, so that packs, feet and gallons of one material can be compared.
A difference is told, never put right: who knows why it is there stands beside the coach.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from quotes.calc.ledger.said import ISSUED, JOB, PACKS, PURCHASE, RETURNED, STOCK, USED

ZERO = Decimal(0)
NOT_PLANNED, MORE_THAN_PLANNED, PRICE_ABOVE = "not_planned", "more_than_planned", "price_above"
INVOICED_TWICE = "invoiced_twice"
ISSUED_NOT_USED, USED_WITHOUT_ISSUE = "issued_not_used", "used_without_issue"
FLAGS = (NOT_PLANNED, MORE_THAN_PLANNED, PRICE_ABOVE, INVOICED_TWICE, ISSUED_NOT_USED, USED_WITHOUT_ISSUE)


class Planned(NamedTuple):
    """What agreed lines and accepted change orders take of a material: whole packs, and net need in the unit of use."""

    packs: Decimal
    net: Decimal


class Moved(NamedTuple):
    """Goods of one kind of entry, in packs or units of use, of the shelf or of the job; corrections are taken off."""

    kind: str
    counted_in: str  # "pack" or "use"
    source: str
    quantity: Decimal


class InvoiceLine(NamedTuple):
    """A purchase that stands: the price of a pack or of a unit of use (`counted_in`), and the invoice's line, if it is said."""

    entry: int
    counted_in: str
    price: Decimal
    invoice: tuple[str, str, int | None]  # supplier, number, line


@dataclass(frozen=True, slots=True)
class Goods:
    """How a material is counted, bought and billed, and what was frozen as its price; `by_use`: of the shelf, billed by use."""

    pack_size: Decimal
    waste_share: Decimal
    by_use: bool
    pack_price: Decimal | None  # None: no price was ever in force


@dataclass(frozen=True, slots=True)
class Match:
    """One material: everything in units of use, and what differs.

    `supplied` is what was bought for the job, and what came off the shelf less what went back; `left` is what was issued and
    neither used nor returned. `dearer` names the purchases whose price passes the frozen one.
    """

    planned_packs: Decimal
    planned_net: Decimal
    planned: Decimal
    bought: Decimal
    issued: Decimal
    returned: Decimal
    used: Decimal
    supplied: Decimal
    left: Decimal
    dearer: tuple[int, ...]
    flags: tuple[str, ...]


def match_material(goods: Goods, planned: Sequence[Planned], moved: Iterable[Moved], invoices: Sequence[InvoiceLine]) -> Match:
    """What was planned, bought and used of a material, and where they differ.

    Args:
        goods: the material.
        planned: its agreed line and what change orders added, none of it rounded again here.
        moved: sums of its entries.
        invoices: its purchases for the job that stand.

    Source: common practice, none published.
    """
    packs = sum((part.packs for part in planned), ZERO)
    net = sum((part.net for part in planned), ZERO)
    plan = net + net * goods.waste_share if goods.by_use else packs * goods.pack_size
    sums = _sums(moved, goods.pack_size)
    bought = _of(sums, PURCHASE)
    issued, returned, used = _of(sums, ISSUED), _of(sums, RETURNED), _of(sums, USED)
    supplied = bought + sums.get((ISSUED, STOCK), ZERO) - sums.get((RETURNED, STOCK), ZERO) - sums.get((RETURNED, JOB), ZERO)
    left = issued - returned - used
    dearer = tuple(line.entry for line in invoices if _is_dearer(line, goods))
    said = [line.invoice for line in invoices if line.invoice[2] is not None]
    # Net need and waste are kept with four decimals, so a difference below that is none.
    told = (
        (NOT_PLANNED, not planned),
        (MORE_THAN_PLANNED, bool(planned) and supplied > plan),
        (PRICE_ABOVE, bool(dearer)),
        (INVOICED_TWICE, len(said) > len(set(said))),
        (ISSUED_NOT_USED, issued > 0 and left > 0),
        (USED_WITHOUT_ISSUE, left < 0),
    )
    flags = tuple(flag for flag, holds in told if holds)
    return Match(packs, net, plan, bought, issued, returned, used, supplied, left, dearer, flags)


def _sums(moved: Iterable[Moved], pack_size: Decimal) -> Mapping[tuple[str, str], Decimal]:
    """Units of use by kind and source."""
    sums: dict[tuple[str, str], Decimal] = {}
    for goods in moved:
        quantity = goods.quantity * pack_size if goods.counted_in == PACKS else goods.quantity
        key = goods.kind, goods.source
        sums[key] = sums.get(key, ZERO) + quantity
    return sums


def _of(sums: Mapping[tuple[str, str], Decimal], kind: str) -> Decimal:
    return sum((quantity for (of, _), quantity in sums.items() if of == kind), ZERO)


def _is_dearer(line: InvoiceLine, goods: Goods) -> bool:
    if goods.pack_price is None:
        return False
    frozen = goods.pack_price if line.counted_in == PACKS else goods.pack_price / goods.pack_size
    return line.price > frozen


class HoursLine(NamedTuple):
    """Hours of a line, trade or phase: planned, worked, and what is left of the plan, below 0 where it was passed."""

    key: object
    planned: Decimal
    worked: Decimal
    left: Decimal


def compared_hours(planned: Iterable[tuple[object, Decimal]], worked: Iterable[tuple[object, Decimal]]) -> Iterator[HoursLine]:
    """Planned and worked hours beside each other by whatever they are told apart by, planned ones first and in their order.

    Source: common practice, none published.
    """
    plans: dict[object, Decimal] = {}
    works: dict[object, Decimal] = {}
    for sums, parts in ((plans, planned), (works, worked)):
        for key, hours in parts:
            sums[key] = sums.get(key, ZERO) + hours
    for key in dict.fromkeys((*plans, *works)):
        plan, work = plans.get(key, ZERO), works.get(key, ZERO)
        yield HoursLine(key, plan, work, plan - work)
