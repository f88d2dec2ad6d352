"""A deck laid sheet by sheet from the front: the slow, obvious way to count sheets, courses and joints."""

from fractions import Fraction


def lay(length: Fraction, arc: Fraction, replaced: Fraction, sheet: tuple[Fraction, Fraction]) -> tuple[int, int, int, int]:
    """Sheets, sheets across, courses replaced and courses of the roof, by putting down one after the other.

    All sizes in one unit, exact; `sheet` is its length across and its width along the coach.
    """
    across_size, along_size = sheet
    sheets = courses = 0
    covered = Fraction(0)
    while covered < replaced:
        covered += along_size
        courses += 1
        sheets += _in_a_row(arc, across_size)
    return sheets, _in_a_row(arc, across_size), courses, _in_a_row(length, along_size)


def joints(courses: int, roof_courses: int) -> int:
    """Joints with new board on one side or both, the new courses standing clear of both ends if they can."""
    if courses == 0:
        return 0
    first = 1 if courses < roof_courses - 1 else 0
    new = set(range(first, first + courses))
    return sum(1 for behind in range(1, roof_courses) if behind in new or behind - 1 in new)


def _in_a_row(room: Fraction, size: Fraction) -> int:
    count, covered = 0, Fraction(0)
    while covered < room:
        covered += size
        count += 1
    return count
