"""How much of the roof was taken off, by the places that were recorded as opened?

Cells go by their area, strips by their length, rings by their number, each against all of its kind in the agreed scope. A place
counts once, for however many components it was looked at. Of each kind there is a share only where any of it was recorded: a
crew that records cells and no strips says nothing of lengths.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from costbase.calc.money import decimal_quantity
from costbase.calc.units import BY_SYMBOL, in_unit
from quotes.calc.survey import PlaceName

SHARE_PLACES = 6
TAKES_OFF = ("strip", "teardown")
"""The phases whose work is to take the roof off."""

# Kind of place: how it is called, and the unit that it is told in.
_KINDS: Mapping[str, tuple[str, str]] = MappingProxyType(
    {"cell": ("cells", "ft2"), "strip": ("strips", "ft"), "ring": ("rings", "each")}
)


@dataclass(frozen=True, slots=True)
class OpenedShare:
    """Of one kind of places ("cells", "strips", "rings"): how much of all in scope was opened, in `unit`, four decimals.

    `exact` is the share that is worked with, 0 to 1; `share` tells it with six decimals.
    """

    places: str
    unit: str
    opened: Decimal
    of: Decimal
    exact: float

    @property
    def share(self) -> Decimal:
        """The share, half up to six decimals."""
        return decimal_quantity(self.exact, SHARE_PLACES)


def opened_shares(opened: Iterable[PlaceName], sizes: Mapping[PlaceName, float]) -> tuple[OpenedShare, ...]:
    """The share of each kind of places that was opened: cells, strips, rings, those of which any was.

    Args:
        opened: places of entries that hold, in any order, repeated or not.
        sizes: every place of the agreed scope with its canonical area, canonical length, or 1 (`place_sizes`).

    Raises:
        KeyError: a place outside of the scope, which no entry can name.

    Source: common practice, none published.
    """
    once = sorted(set(opened))
    found = []
    for kind, (places, unit) in _KINDS.items():
        whole = sum(size for place, size in sorted(sizes.items()) if place.kind == kind)
        part = sum(sizes[place] for place in once if place.kind == kind)
        if part > 0:
            told, of = (decimal_quantity(in_unit(size, unit)) for size in (part, whole))
            found.append(OpenedShare(places, unit, told, of, min(1.0, part / whole)))
    return tuple(found)


def taken_off(
    quoted: Decimal, unit: str, phase: str, off_share: float | None, shares: Iterable[OpenedShare]
) -> tuple[Decimal, OpenedShare] | None:
    """How much of an assembly was done by what was opened, and by which share; None where that says nothing of it.

    Args:
        quoted: its driver, in `unit`.
        unit: of its driver; an area goes by cells, a length by strips, a number by rings.
        phase: of its line.
        off_share: of what comes off and goes back, the share of its hours for taking off; None for work that only takes off.
        shares: of `opened_shares`.

    Returns:
        Quoted quantity times share, and times `off_share` where there is one, half up to four decimals.
    """
    if phase not in TAKES_OFF or unit not in BY_SYMBOL:
        return None
    for share in shares:
        if BY_SYMBOL[unit].dimension == BY_SYMBOL[share.unit].dimension:
            done = decimal_quantity(float(quoted) * share.exact * (1.0 if off_share is None else off_share))
            return min(quoted, done), share
    return None
