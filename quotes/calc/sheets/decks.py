"""What is to be laid, from which sheets, and by which rules?

Inside the planner every length is a whole number of micrometres, so that two joints either stand at one place or do not, and
what floats lose on the way to an arc makes no sliver. Saw cuts take no width: decks and sheets are counted by the sizes that
people name. Source: common practice, none published.
"""

from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError
from costbase.calc.units import half_up_scaled

LONGEST = 1e9  # A hundred kilometres: anything above is no measurement.
DIRECTIONS = ("across", "along")
_TICKS = 100  # micrometres in a canonical unit of length


class LayoutError(CalculationError):
    """A deck or a sheet that cannot be laid out."""

    code = "bad_layout"


@dataclass(frozen=True, slots=True)
class Deck:
    """A rectangle that gets new board: `length` of station and `arc` across the deck, canonical lengths.

    `supports` are the stations, from the front of the rectangle, of what carries a seam that runs across the coach; empty where
    board lies on foam and a seam may run anywhere. `directions` says which way its courses may run: "across" the coach, "along"
    it, or both.
    """

    label: str
    length: float
    arc: float
    supports: tuple[float, ...] = ()
    directions: tuple[str, ...] = DIRECTIONS


@dataclass(frozen=True, slots=True)
class SheetSize:
    """A sheet that can be bought: canonical sides, the longer one first, the price of one, and the freight of any number."""

    slug: str
    length: float
    width: float
    price: Decimal
    freight: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class LayingRules:
    """How board is laid; canonical lengths.

    Attributes:
        stagger: end joints of neighbouring courses stand at least so far apart; 0 for any distance.
        least_piece: no piece is narrower or shorter; of a deck that is smaller itself, the deck counts.
        turned: whether a piece may lie with the sheet's length across its course. Thin plywood and lauan may: their plies carry
            in both directions. Source: common practice, none published.
        joint_price_per_foot: what a foot of joint costs to tape, fill and sand; 0 counts the sheets alone, and then the last of
            them is saved by any number of joints.
    """

    stagger: float = 0.0
    least_piece: float = 0.0
    turned: bool = True
    joint_price_per_foot: Decimal = Decimal(0)


def ticks(length: float) -> int:
    """A canonical length in micrometres, half up."""
    return half_up_scaled(length, 2)


def canonical(micrometres: int) -> float:
    """Micrometres as a canonical length."""
    return micrometres / _TICKS


def check_request(decks: tuple[Deck, ...], sizes: tuple[SheetSize, ...], rules: LayingRules) -> None:
    """Refuses what is no deck, no sheet or no rule.

    Raises:
        LayoutError: the first fault, with its place.
    """
    for at, deck in enumerate(decks):
        check_length(deck.length, "deck length", f"decks/{at}/length")
        check_length(deck.arc, "deck arc", f"decks/{at}/arc")
        for station in deck.supports:
            check_length(station, "support", f"decks/{at}/supports")
        if not deck.directions or not set(deck.directions) <= set(DIRECTIONS):
            where = f"decks/{at}/directions"
            raise LayoutError("expected courses across, along, or both", field=where, value=deck.directions)
    if not sizes:
        raise LayoutError("expected at least one size of sheet", field="sizes")
    for at, size in enumerate(sizes):
        check_length(size.width, "sheet width", f"sizes/{at}/width", above=True)
        check_length(size.length, "sheet length", f"sizes/{at}/length", above=True)
        if size.length < size.width:
            raise LayoutError("the length of a sheet is its longer side", field=f"sizes/{at}/length", value=size.length)
        if not (size.price.is_finite() and size.price > 0):
            raise LayoutError(f"expected a price above 0, not {size.price}", field=f"sizes/{at}/price", value=str(size.price))
        if not (size.freight.is_finite() and size.freight >= 0):
            raise LayoutError("expected a freight of 0 or more", field=f"sizes/{at}/freight", value=str(size.freight))
    check_length(rules.stagger, "stagger", "stagger")
    check_length(rules.least_piece, "least piece", "least_piece")
    if not (rules.joint_price_per_foot.is_finite() and rules.joint_price_per_foot >= 0):
        raise LayoutError(
            "expected a price of joint of 0 or more", field="joint_price_per_foot", value=str(rules.joint_price_per_foot)
        )


def check_length(length: float, name: str, field: str, *, above: bool = False) -> None:
    """Refuses a length that is negative, endless or, where it has to be above nothing, nothing.

    Raises:
        LayoutError: with the place and the length.
    """
    if not 0.0 <= length <= LONGEST or (above and ticks(length) <= 0):
        least = "above 0" if above else "of 0 or more"
        raise LayoutError(f"expected a {name} {least}, not {length!r}", field=field, value=length)
