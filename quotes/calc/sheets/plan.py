"""What does a planned layout say? Plain values, from which a list, an explanation or a drawing is made."""

from dataclasses import dataclass
from decimal import Decimal


@dataclass(frozen=True, slots=True)
class Course:
    """Sheets side by side that run in one direction.

    `start` and `depth` are measured across the run: stations for a course across the coach, offsets for one along it.
    """

    deck: str
    number: int
    direction: str
    start: float
    depth: float


@dataclass(frozen=True, slots=True)
class PlacedPiece:
    """A piece of board in its place.

    Attributes:
        deck: label of the deck that it lies on.
        course: number of its course on that deck, from 1.
        station: of its front edge, from the front of the deck; `length` is its size along the coach.
        offset: of its driver edge, from the driver edge of the deck; `width` is its size across the coach.
        sheet: number of the sheet that it is cut from, from 1.
        sheet_x: its corner on that sheet along the sheet's length; `sheet_length` is its size that way.
        sheet_y: its corner along the sheet's width; `sheet_width` is its size that way.
        from_offcut: whether it is cut from what another piece left over.
    """

    deck: str
    course: int
    station: float
    offset: float
    length: float
    width: float
    sheet: int
    sheet_x: float
    sheet_y: float
    sheet_length: float
    sheet_width: float
    from_offcut: bool


@dataclass(frozen=True, slots=True)
class Cut:
    """A cut from edge to edge of what is left of a sheet, in the order in which it is made.

    Where it `crosses` the sheet's length it stands at `at` along the length and runs over the width from `start` to `end`;
    otherwise it stands at `at` along the width and runs over the length.
    """

    sheet: int
    crosses: bool
    at: float
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class JointLine:
    """A joint between two pieces of new board, as a line on its deck.

    It runs across the coach at one station (`across`), or along it at one offset, from `start` to `end`. `ends` says whether
    ends of one course meet there; otherwise it is the seam between two courses.
    """

    deck: str
    across: bool
    at: float
    start: float
    end: float
    ends: bool


@dataclass(frozen=True, slots=True)
class Offcut:
    """What is left of a sheet: its corner, its size along the sheet's length and its size along the width."""

    sheet: int
    x: float
    y: float
    length: float
    width: float


@dataclass(frozen=True, slots=True)
class AreaBound:
    """What the area alone would take: the cheapest sheets that have it, and their price. No layout costs less."""

    sheets: int
    cost: Decimal


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """The cheapest layout that was found.

    Attributes:
        sheets: slug of the size of every sheet, in the order of their numbers.
        counts: sheets of each size that is bought, in the order in which the sizes were given.
        cost: their price together, freight left aside.
        courses: deck by deck, front or driver edge first.
        pieces: course by course.
        cuts: sheet by sheet, each in its order.
        joints: every line where two pieces meet.
        joint_length: of all of them.
        offcuts: what is left of the sheets.
        waste_share: share of the bought board that does not become deck, 0 to 1; 0 where nothing is bought.
        bound: what the area alone would take.
        least_possible: whether the cost is that of the bound, so that no other layout can be cheaper. False says only that the
            bound was not met, not that anything cheaper exists.
    """

    sheets: tuple[str, ...]
    counts: tuple[tuple[str, int], ...]
    cost: Decimal
    courses: tuple[Course, ...]
    pieces: tuple[PlacedPiece, ...]
    cuts: tuple[Cut, ...]
    joints: tuple[JointLine, ...]
    joint_length: float
    offcuts: tuple[Offcut, ...]
    waste_share: float
    bound: AreaBound
    least_possible: bool

    def direction(self, deck: str) -> str:
        """How the courses of a deck run; "" where it takes no board."""
        return next((course.direction for course in self.courses if course.deck == deck), "")

    def course_count(self, deck: str) -> int:
        """How many courses a deck has."""
        return sum(1 for course in self.courses if course.deck == deck)
