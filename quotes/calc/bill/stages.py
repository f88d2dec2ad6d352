"""What is billed at a stage?

A stage bill says what the job comes to so far, and less what was billed before that is due: so tax and rounding of all stages
add up to the final bill, to the last coin. So far means the lines of phases that are done, a share of those that are entered
with one, and every draw and change order; the shop's own lines go with the others. Work that is billed as it was logged is so
far whatever its phase: such a stage names none.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, largest_remainder, share_of
from quotes.calc.bill.items import AGREED, COUNTED, MINIMUM, Item, scaled

ALL = Decimal(1)
_BY_PHASE = frozenset({AGREED, COUNTED})


class StageError(CalculationError):
    """A stage that this job has not, or that asks for what no stage can be."""

    code = "bad_stage"


def phases_of(items: Sequence[Item]) -> tuple[str, ...]:
    """The phases of the agreed lines, in their order."""
    return tuple(dict.fromkeys(item.phase for item in items if item.source == AGREED and item.phase))


def at_stage(items: Sequence[Item], done: Mapping[str, Decimal], currency: Currency) -> tuple[Item, ...]:
    """The items as far as they are billed at a stage; those that come to nothing are left out.

    Args:
        items: of the whole job. Logged work, draws, change orders and what was credited stand whole: they are so far already.
        done: the share of each phase that is done, 0 to 1; a phase that is not named is not begun.
        currency: of all amounts; a line's share is rounded half up, once.

    Raises:
        StageError: a phase that no agreed line stands in, or a share outside of 0 to 1.
    """
    phases = phases_of(items)
    for phase, share in done.items():
        if phase not in phases:
            expected = (
                f"one of the phases {', '.join(phases)}" if phases else "no phase of work that is billed as it was logged"
            )
            raise StageError(f"expected {expected}, not {phase!r}", field=f"done/{phase}", value=phase)
        if not Decimal(0) <= share <= ALL:
            raise StageError(f"expected a share from 0 to 1 of {phase}, not {share}", field=f"done/{phase}", value=share)
    # Who has worked an hour is not billed the minimum: that is of the whole job.
    staged = [_of_phase(item, done, currency) for item in items if item.key != MINIMUM]
    reached, whole = _sum(staged), _sum(items)
    return tuple(item for item in (_of_shop(item, reached, whole, currency) for item in staged) if item.amount)


def _of_phase(item: Item, done: Mapping[str, Decimal], currency: Currency) -> Item:
    if item.source not in _BY_PHASE or not item.phase:
        return item
    share = done.get(item.phase, Decimal(0))
    return item if share == ALL else scaled(item, share_of(item.amount, share, currency), currency)


def _of_shop(item: Item, reached: Decimal, whole: Decimal, currency: Currency) -> Item:
    """Supplies, overhead and the minimum, as far as the lines with a phase have come."""
    if item.source != AGREED or item.phase or reached == whole:
        return item
    part, _ = largest_remainder(item.amount, [reached, whole - reached], currency)
    return scaled(item, part, currency)


def _sum(items: Sequence[Item]) -> Decimal:
    return sum((item.amount for item in items if item.source == AGREED and item.phase), Decimal(0))
