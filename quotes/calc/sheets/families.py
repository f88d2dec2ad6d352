"""How deep can the courses of a deck be?

A deck of some depth is divided into courses in a few ways that a person would think of: as deep as a sheet goes from the front
with the rest last, the rest first, the rest shared with the course before it, all alike, or courses of two depths where two fit
together. Nothing else is tried.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from quotes.calc.sheets.decks import Deck, LayingRules, SheetSize, ticks

# Pairs of depths that are tried where sheets of several depths can lie beside each other.
_PAIRS = 3


@dataclass(frozen=True, slots=True)
class Division:
    """A deck divided into courses, in micrometres.

    Attributes:
        deck: which deck, by its place in the request.
        direction: "across" or "along".
        run: length of every course.
        depths: of the courses, in order; they sum to the deck's other side.
        stops: places along the run where ends may meet; None for anywhere.
        least: least length and depth of a piece.
    """

    deck: int
    direction: str
    run: int
    depths: tuple[int, ...]
    stops: tuple[int, ...] | None
    least: tuple[int, int]

    @property
    def seams(self) -> int:
        """Length of the seams between its courses."""
        return self.run * (len(self.depths) - 1)


def divisions(at: int, deck: Deck, sizes: Sequence[SheetSize], rules: LayingRules) -> tuple[Division, ...]:
    """Every way in which a deck is divided, those with the fewest courses first and across before along.

    Args:
        at: place of the deck in the request.
        deck: with two sides above 0.
        sizes: that can be bought.
        rules: the least piece.
    """
    length, arc = ticks(deck.length), ticks(deck.arc)
    supports = tuple(sorted({ticks(station) for station in deck.supports if 0 < ticks(station) < length})) or None
    if not deck.supports:
        supports = None
    elif supports is None:
        supports = ()
    deepest = _deepest(sizes)
    found = []
    for direction in ("across", "along"):
        if direction in deck.directions:
            run, side = (arc, length) if direction == "across" else (length, arc)
            least = (min(ticks(rules.least_piece), run), min(ticks(rules.least_piece), side))
            places, stops = (supports, None) if direction == "across" else (None, supports)
            ways = dict.fromkeys(_ways(side, deepest, places, least[1]))
            found += [Division(at, direction, run, depths, stops, least) for depths in sorted(ways, key=len)]
    return tuple(found)


def _deepest(sizes: Sequence[SheetSize]) -> tuple[int, ...]:
    """How deep a course of whole sheets can be, the deepest first."""
    return tuple(sorted({ticks(size.width) for size in sizes}, reverse=True))


def _ways(side: int, deepest: Sequence[int], places: tuple[int, ...] | None, least: int) -> Iterator[tuple[int, ...]]:
    for depth in deepest:
        yield from filter(None, [_from_front(side, [depth], places, least), _from_rear(side, depth, places, least)])
        if places is None:
            yield from _shared(side, depth, least)
    for one, other in _pairs(side, deepest):
        yield from filter(None, [_from_front(side, [*one, *other], places, least)])


def _from_front(side: int, depths: Sequence[int], places: tuple[int, ...] | None, least: int) -> tuple[int, ...] | None:
    """Courses of the given depths one after the other, the last depth again and again, each cut back to what carries it."""
    at, laid = 0, list[int]()
    while side - at > 0:
        depth = depths[min(len(laid), len(depths) - 1)]
        if side - at <= depth:
            laid.append(side - at)
            break
        behind = _place_before(min(at + depth, side - least), places)
        if behind is None or behind - at < max(least, 1):
            return None
        laid.append(behind - at)
        at = behind
    return tuple(laid)


def _from_rear(side: int, depth: int, places: tuple[int, ...] | None, least: int) -> tuple[int, ...] | None:
    mirrored = None if places is None else tuple(sorted(side - place for place in places))
    laid = _from_front(side, [depth], mirrored, least)
    return None if laid is None else laid[::-1]


def _place_before(at: int, places: tuple[int, ...] | None) -> int | None:
    """The last place at or before `at` where a seam may run."""
    if places is None:
        return at
    index = bisect_right(places, at)
    return places[index - 1] if index else None


def _shared(side: int, depth: int, least: int) -> Iterator[tuple[int, ...]]:
    """All courses alike; and full courses with the last two alike. Micrometres that do not divide go to the first courses."""
    count = -(-side // depth)
    yield from filter(None, [_alike(side, count, least)])
    if count > 2:
        last = _alike(side - depth * (count - 2), 2, least)
        if last is not None:
            yield (*[depth] * (count - 2), *last)


def _alike(side: int, count: int, least: int) -> tuple[int, ...] | None:
    each, more = divmod(side, count)
    return None if each < least else tuple(each + (1 if at < more else 0) for at in range(count))


def _pairs(side: int, deepest: Sequence[int]) -> list[tuple[list[int], list[int]]]:
    """Courses of two depths that come nearest to the whole side, the smallest overhang first."""
    found = []
    for place, deep in enumerate(deepest):
        for other in deepest[place + 1 :]:
            for count in range(1, side // deep + 1):
                rest = side - deep * count
                if rest > 0:
                    more = -(-rest // other)
                    found.append((more * other - rest, count + more, [deep] * count, [other] * more))
    found.sort(key=lambda way: (way[0], way[1]))
    return [(one, other) for _, _, one, other in found[:_PAIRS]]
