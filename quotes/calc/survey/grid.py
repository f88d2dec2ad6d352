"""Which cells and strips does a section have, how large are they, and which of them does a place name?"""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from quotes.calc.geometry import Section, Span, holds, profile
from quotes.calc.survey.marks import COURSE, LANES, ROW

_CELLS = re.compile(r"cells? ([1-9][0-9]{0,3}[A-D](?:, ?[1-9][0-9]{0,3}[A-D]){0,99})")
_STRIP = re.compile(r"strip (driver|passenger|front|rear) ([1-9][0-9]{0,3})")
_RING = re.compile(r"ring (.{1,60})")
_FIXED_PLACE = re.compile(r"(cells?|strip|ring) ")


class Cell(NamedTuple):
    """A cell as far as it lies in a span: stations from `start` to `end`, canonical area along the deck arc."""

    row: int
    lane: str
    start: float
    end: float
    area: float


@dataclass(frozen=True, slots=True)
class Place:
    """What a place names: cells, one strip, one ring, or nothing that the grid knows (words of one's own).

    `valid` is False for words that begin like a place of the grid but do not follow its form.
    """

    cells: tuple[tuple[int, str], ...] = ()
    strip: tuple[str, int] | None = None
    ring: str = ""
    valid: bool = True

    @property
    def free(self) -> bool:
        """Whether the place is told in words of one's own."""
        return self.valid and not (self.cells or self.strip or self.ring)


@lru_cache(maxsize=1024)
def pieces(length: float, size: float) -> tuple[tuple[float, float], ...]:
    """A length cut into pieces of one size from its start; the last piece is the rest.

    A rest below a millionth of a piece belongs to the piece before it.

    Returns:
        Start and end of each piece, in order; one piece at least for a positive length.
    """
    cut: list[tuple[float, float]] = []
    while length - size * len(cut) > size * (1.0 + 1e-6):
        cut.append((size * len(cut), size * (len(cut) + 1)))
    if length > 0.0:
        cut.append((size * len(cut), length))
    return tuple(cut)


def row_count(section: Section) -> int:
    """How many rows of cells, and of strips along each edge, a section has."""
    return len(pieces(section.length, ROW))


def cap_strip_count(length: float) -> int:
    """How many strips lie along a cap joint of that length."""
    return len(pieces(length, ROW))


def clipped(section: Section, span: Span, size: float) -> tuple[tuple[int, float, float], ...]:
    """Number, start and end of every piece of a section that lies in a span, cut off at the span's ends."""
    return _clipped(section.length, size, span.start, span.end)


@lru_cache(maxsize=1024)
def _clipped(length: float, size: float, span_start: float, span_end: float) -> tuple[tuple[int, float, float], ...]:
    cut = []
    for index, (start, end) in enumerate(pieces(length, size), 1):
        low, high = max(start, span_start), min(end, span_end)
        if high > low:
            cut.append((index, low, high))
    return tuple(cut)


def grid(section: Section, span: Span) -> tuple[Cell, ...]:
    """The cells of a span, row by row from the front and in each row from the driver edge.

    Rows of 24 in are counted from the section's front end, so that a cell keeps its name in every scope;
    lanes are quarters of the deck arc.

    Args:
        section: of a checked roof, of any kind.
        span: of a checked scope.

    Returns:
        Cells cut off at the span's ends; their areas sum to the deck area of the span. The very same tuple for the same sizes.

    Source: common practice, none published.
    """
    return _cells(section.length, profile(section).crown_arc / len(LANES), span.start, span.end)


@lru_cache(maxsize=1024)
def _cells(length: float, lane_width: float, span_start: float, span_end: float) -> tuple[Cell, ...]:
    return tuple(
        Cell(row, lane, start, end, (end - start) * lane_width)
        for row, start, end in _clipped(length, ROW, span_start, span_end)
        for lane in LANES
    )


def courses(section: Section, span: Span) -> tuple[tuple[int, float, float], ...]:
    """Number, start and end of each 4 ft course of deck in a span, counted from the section's front end."""
    return clipped(section, span, COURSE)


def course_of(row: int) -> int:
    """The course in which a row of cells lies; two rows make a course."""
    return (row - 1) // 2 + 1


def place_of(words: str) -> Place:
    """What the words of a place name."""
    if found := _CELLS.fullmatch(words):
        names = re.split(r", ?", found[1])
        return Place(cells=tuple((int(name[:-1]), name[-1]) for name in names))
    if found := _STRIP.fullmatch(words):
        return Place(strip=(found[1], int(found[2])))
    if found := _RING.fullmatch(words):
        return Place(ring=found[1])
    return Place(valid=not _FIXED_PLACE.match(words))


def place_in(section: Section, span: Span, place: Place) -> bool:
    """Whether any of a checked place lies in a span of its section; words of one's own lie anywhere."""
    if place.free:
        return True
    if place.ring:
        opening = next(opening for opening in section.openings if opening.label == place.ring)
        return holds(section, span, opening.station)
    rows = {row for row, _, _ in clipped(section, span, ROW)}
    if place.strip is None:
        return any(row in rows for row, _ in place.cells)
    side, index = place.strip
    if side in ("driver", "passenger"):
        return index in rows
    # A cap's strips lie in the span that reaches the cap.
    return 1 in rows if side == "front" else row_count(section) in rows
