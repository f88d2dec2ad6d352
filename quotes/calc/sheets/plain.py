"""Where do the sheets of plain courses lie?"""

from dataclasses import dataclass

from quotes.calc.sheets.courses import Sheet, lay_deck
from quotes.calc.sheets.plan import Course, JointLine, PlacedPiece


@dataclass(frozen=True, slots=True)
class PlainLayout:
    """Plain courses as a drawing wants them: every piece from a sheet of its own, numbered from 1 in its section."""

    courses: tuple[Course, ...]
    pieces: tuple[PlacedPiece, ...]
    joints: tuple[JointLine, ...]


def plain_layout(label: str, length: float, arc: float, replaced_share: float, sheet: Sheet) -> PlainLayout:
    """The sheets that `lay_deck` counts, in their places; arguments and errors as there.

    Stations run from the front of what is replaced. Courses are whole but for the last of a deck that is replaced to its end.
    """
    layout = lay_deck(length, arc, replaced_share, sheet)
    end = length if layout.courses == layout.roof_courses else layout.courses * sheet.width
    courses, pieces, joints = list[Course](), list[PlacedPiece](), list[JointLine]()
    for number in range(1, layout.courses + 1):
        start = (number - 1) * sheet.width
        course = Course(label, number, "across", start, min(sheet.width, end - start))
        courses.append(course)
        if number > 1:
            joints.append(JointLine(label, True, start, 0.0, arc, ends=False))
        for at in range(layout.across):
            piece = _piece(course, at, arc, sheet, len(pieces) + 1)
            pieces.append(piece)
            if at:
                joints.append(JointLine(label, False, piece.offset, start, start + course.depth, ends=True))
    return PlainLayout(tuple(courses), tuple(pieces), tuple(joints))


def _piece(course: Course, at: int, arc: float, sheet: Sheet, number: int) -> PlacedPiece:
    offset = at * sheet.length
    width = min(sheet.length, arc - offset)
    return PlacedPiece(
        deck=course.deck,
        course=course.number,
        station=course.start,
        offset=offset,
        length=course.depth,
        width=width,
        sheet=number,
        sheet_x=0.0,
        sheet_y=0.0,
        sheet_length=width,
        sheet_width=course.depth,
        from_offcut=False,
    )
