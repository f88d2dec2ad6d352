"""Why does this deck take so many sheets, and how long are the joints between them?

The deck is laid in courses across the coach: each course is one sheet width of station, and as many sheets
lie side by side in it as the deck arc is sheet lengths wide. Courses start at the front of what is replaced
and run without stagger.
"""

from dataclasses import dataclass

from costbase.calc.formula import Step
from costbase.calc.units import UNITS, ceil_tolerant, in_unit, show
from quotes.calc.sheets.decks import LayoutError, check_length

FOOT = float(UNITS["foot"].factor)


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of board as it lies: `length` across the coach, `width` along it; canonical lengths."""

    length: float
    width: float


# Deck boards are sold 4 x 8 ft; they lie with their length across the coach.
# Source: common practice, none published.
DECK_SHEET = Sheet(length=8.0 * FOOT, width=4.0 * FOOT)


@dataclass(frozen=True, slots=True)
class Layout:
    """The deck of one section, laid.

    Attributes:
        sheets: how many are cut into, `across` x `courses`.
        across: sheets side by side in a course.
        courses: courses that are replaced.
        roof_courses: courses that the whole deck has.
        joint_length: joints to tape between courses and to what stays, canonical length.
        area_bound: sheets that the replaced area alone would fill; no layout takes fewer.
    """

    sheets: int
    across: int
    courses: int
    roof_courses: int
    joint_length: float
    area_bound: int


def lay_deck(length: float, arc: float, replaced_share: float, sheet: Sheet) -> Layout:
    """The deck of one section laid in courses across the coach.

    across = ceil(arc / sheet length), courses = ceil(length x share / sheet width), both by the tolerant
    rule. Joints: each course replaced has one to the next, and one more to what stays, but never more than
    the roof has in all.

    Args:
        length: station covered by the span, canonical, 0 or more (a slide room has none).
        arc: across the deck, canonical, 0 or more.
        replaced_share: share of the length that gets new board, 0 to 1.
        sheet: as it lies; turn the sheet by swapping its sides.

    Returns:
        Whole sheets; an offcut is not counted on for another course, since joints must fall on the grid of
        the roof.

    Raises:
        LayoutError: a sheet without size, a share outside 0 to 1, or a negative or endless deck.

    Source: common practice, none published.
    """
    _check(length, arc, replaced_share, sheet)
    replaced = length * replaced_share
    across = ceil_tolerant(arc / sheet.length)
    courses = ceil_tolerant(replaced / sheet.width)
    roof_courses = ceil_tolerant(length / sheet.width)
    return Layout(
        sheets=across * courses,
        across=across,
        courses=courses,
        roof_courses=roof_courses,
        joint_length=_joints(courses, roof_courses) * arc,
        area_bound=ceil_tolerant(replaced * arc / (sheet.length * sheet.width)),
    )


@dataclass(frozen=True, slots=True)
class Piece:
    """A hidden piece of deck, laid as part of its courses: neither sheets nor joints are whole."""

    sheets: float
    joint_length: float


def lay_piece(length: float, arc: float, area: float, sheet: Sheet) -> Piece:
    """What a piece of deck takes in sheets and joints, by the same layout, without rounding courses up.

    It prices one square foot of a find: nobody knows yet which courses it will touch, and a later draw is
    extent x unit price.

    Args:
        length: station of the section in scope, above 0.
        arc: across its deck, above 0.
        area: of the piece, canonical, above 0 and at most the deck.
        sheet: as it lies.
    """
    _check(length, arc, min(1.0, area / (length * arc)), sheet)
    courses = area / (sheet.width * arc)
    joints = min(courses + 1.0, ceil_tolerant(length / sheet.width) - 1.0) * min(1.0, courses)
    return Piece(sheets=ceil_tolerant(arc / sheet.length) * courses, joint_length=max(0.0, joints) * arc)


def waste_share(layout: Layout, sheet: Sheet, replaced_area: float) -> float:
    """Share of the bought board that does not become deck, 0 to 1; 0 where nothing is bought.

    Args:
        layout: of the same deck.
        sheet: of the same layout.
        replaced_area: deck that gets new board, canonical area.
    """
    bought = layout.sheets * sheet.length * sheet.width
    return 1.0 - replaced_area / bought if bought else 0.0


def explain_layout(length: float, arc: float, replaced_share: float, sheet: Sheet) -> tuple[Step, ...]:
    """The steps to a layout: sheets across, courses, sheets, joints; arguments and errors as of `lay_deck`."""
    layout = lay_deck(length, arc, replaced_share, sheet)
    long, wide, replaced = (_inches(size) for size in (sheet.length, sheet.width, length * replaced_share))
    steps = [
        (f"ceil({_inches(arc)} / {long})", layout.across, "sheets side by side"),
        (f"ceil({replaced} / {wide})", layout.courses, "courses that are replaced"),
        (f"ceil({_inches(length)} / {wide})", layout.roof_courses, "courses of the whole deck"),
        (f"{layout.across} x {layout.courses}", layout.sheets, "an offcut starts no course"),
    ]
    joints = _joints(layout.courses, layout.roof_courses)
    text = f"min({layout.courses} + 1, {layout.roof_courses} - 1)" if layout.courses else "no course, no joint"
    steps.append((text, joints, "between courses, and one to what stays"))
    length_text = f"{joints} x {_inches(arc)}"
    return (
        *(Step(text, float(count), "each", note) for text, count, note in steps),
        Step(length_text, in_unit(layout.joint_length, "ft"), "ft", "joints to tape"),
    )


def _inches(canonical: float) -> str:
    return show(canonical, "in")


def _joints(courses: int, roof_courses: int) -> int:
    if courses == 0:
        return 0
    return min(courses + 1, roof_courses - 1)


def _check(length: float, arc: float, replaced_share: float, sheet: Sheet) -> None:
    for name, size in (("length", length), ("arc", arc)):
        check_length(size, f"deck {name}", name)
    if not 0.0 <= replaced_share <= 1.0:
        raise LayoutError(
            f"expected a share from 0 to 1, not {replaced_share!r}",
            field="replaced_share",
            value=replaced_share,
        )
    for name, size in (("length", sheet.length), ("width", sheet.width)):
        check_length(size, f"sheet {name}", f"sheet/{name}", above=True)
