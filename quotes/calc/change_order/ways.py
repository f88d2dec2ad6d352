"""Which ways may a change order offer, and what does each do to the warranty?

Two to four ways to go on, each of another kind, so that nobody is shown one price and no choice. What the owner wishes is
offered once, or as a whole and in part: leaving the roof as it is, is to decline.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType

from costbase.calc.errors import CalculationError
from quotes.calc.change_order.terms import RepairWork, Work

REPAIR, PART, CLOSE_UP, STOP = "repair", "repair_part", "close_up", "stop"
KINDS = (REPAIR, PART, CLOSE_UP, STOP)
WISH = "owner_wish"
# Work stops for what was found; a wish waits beside the work.
STOPS_WORK = frozenset({"beyond_pot", "no_agreed_price"})

WARRANTY: Mapping[str, str] = MappingProxyType(
    {
        REPAIR: "The repaired place is under the same warranty as the rest of this job.",
        PART: "What is repaired is under the same warranty as the rest of this job. What is left as it was found is not, "
        "nor is damage that comes from it.",
        CLOSE_UP: "What is closed up as it was found is under no warranty, nor is damage that comes from it. The rest of this "
        "job keeps its warranty.",
        STOP: "Work ends here and is settled. What is not finished is under no warranty; the roof is handed over as it is.",
    }
)
"""What each kind of way does to the warranty, where an estimator says nothing else."""


class WaysError(CalculationError):
    """Ways that cannot be offered so: too few or too many, one kind twice, or a part that is no part."""

    code = "bad_ways"


class CannotCloseUpError(CalculationError):
    """Closing up over a component that must not be left as it was found."""

    code = "cannot_close_up"


def check_ways(cause: str, ways: Sequence[tuple[str, Sequence[Work]]], never_closed: Mapping[str, str]) -> None:
    """Refuses ways that cannot be offered together.

    Args:
        cause: of the change order.
        ways: kind and work of each, in the order in which they are shown.
        never_closed: of the components that the order is about, those that must not be closed up: slug -> name.

    Raises:
        WaysError: their number, a kind twice, a wish with another way than doing it, work where none is done, or a part that is
            not less than the whole.
        CannotCloseUpError: closing up, where a component forbids it.
    """
    kinds = [kind for kind, _ in ways]
    least, most = (1, 2) if cause == WISH else (2, 4)
    if not least <= len(kinds) <= most:
        raise WaysError(f"expected {least} to {most} ways, not {len(kinds)}", field="ways", value=len(kinds))
    for at, kind in enumerate(kinds):
        if kind in kinds[:at]:
            raise WaysError(f"expected each kind of way once, and '{kind}' is there twice", field=f"ways/{at}/kind", value=kind)
        if cause == WISH and kind not in (REPAIR, PART):
            words = "a wish is done whole or in part; leaving the roof as it is, is to decline it"
            raise WaysError(words, field=f"ways/{at}/kind", value=kind)
        if kind == CLOSE_UP and never_closed:
            names = ", ".join(f"{name} ({slug})" for slug, name in never_closed.items())
            raise CannotCloseUpError(f"not to be closed up as it was found: {names}", field=f"ways/{at}/kind", value=kind)
    for at, (kind, works) in enumerate(ways):
        if kind == STOP and works:
            raise WaysError("nothing more is done where work stops; the settlement has what it comes to", field=f"ways/{at}")
        if kind in (REPAIR, PART) and not works:
            raise WaysError("expected work to be done this way", field=f"ways/{at}")
    _check_part(dict(ways), kinds)


def _check_part(ways: Mapping[str, Sequence[Work]], kinds: Sequence[str]) -> None:
    if not {REPAIR, PART} <= set(kinds):
        return
    whole, part = _extents(ways[REPAIR]), _extents(ways[PART])
    field = f"ways/{kinds.index(PART)}"
    for component, extent in part.items():
        if extent > whole.get(component, Decimal(0)):
            words = f"a part of the repair has no more of '{component}' than the whole, which has {whole.get(component, 0)}"
            raise WaysError(words, field=field, value=extent)
    if whole and part == whole:
        raise WaysError("expected less hidden work in a part of the repair than in the whole", field=field)


def _extents(works: Sequence[Work]) -> dict[str, Decimal]:
    extents: dict[str, Decimal] = {}
    for work in works:
        if isinstance(work, RepairWork):
            extents[work.component] = extents.get(work.component, Decimal(0)) + work.extent
    return extents


def whole_days(days: Decimal) -> int:
    """The days by which a promised day moves: a started day is a day. The days are exact, with two decimals."""
    whole, rest = divmod(days, 1)
    return int(whole) + (1 if rest > 0 else 0)
