"""Sheets, courses and joints of a deck against values worked by hand and sheets put down one by one."""

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.geometry import crown_arc, profile
from quotes.calc.sheets import Layout, LayoutError, Sheet, explain_layout, lay_deck, lay_piece, waste_share
from tests.calc.roofs import FOOT, INCH, framed_28_ft, section
from tests.oracles import courses as one_by_one

ACROSS = Sheet(96 * INCH, 48 * INCH)
ALONG = Sheet(48 * INCH, 96 * INCH)
ARC = crown_arc(88 * INCH, 1.5 * INCH)
LENGTH = 408 * INCH


def test_a_34_ft_deck_laid_across_takes_nine_sheets() -> None:
    # ceil(88.068 / 96) x ceil(408 / 48) = 1 x 9; 9 x 32 = 288 ft2 for 249.5265 ft2: 13.36 % waste.
    layout = lay_deck(LENGTH, ARC, 1.0, ACROSS)
    assert (layout.sheets, layout.across, layout.courses, layout.roof_courses) == (9, 1, 9, 9)
    assert waste_share(layout, ACROSS, LENGTH * ARC) == pytest.approx(0.1336, abs=5e-5)
    # min(9 + 1, 9 - 1) = 8 joints of 88.0682 in.
    assert layout.joint_length / FOOT == pytest.approx(58.7121, abs=5e-5)
    # 249.5265 / 32 = 7.8 sheets by area alone.
    assert layout.area_bound == 8


def test_the_same_deck_laid_along_takes_ten() -> None:
    # ceil(88.068 / 48) x ceil(408 / 96) = 2 x 5; 320 ft2: 22.02 % waste.
    layout = lay_deck(LENGTH, ARC, 1.0, ALONG)
    assert (layout.sheets, layout.across, layout.courses) == (10, 2, 5)
    assert waste_share(layout, ALONG, LENGTH * ARC) == pytest.approx(0.2202, abs=5e-5)


def test_a_deck_that_wraps_the_edge_takes_twice_as_many() -> None:
    # Visible width 100.63 in is more than a sheet is long: 2 x 9.
    wrapped = profile(section()).visible_width
    assert lay_deck(LENGTH, wrapped, 1.0, ACROSS).sheets == 18


def test_a_part_of_a_deck_takes_its_courses_and_a_joint_at_each_side() -> None:
    # 336 x 0.15 = 50.4 in: 2 of 7 courses; min(3, 6) = 3 joints of 94.0638 in = 23.5160 ft.
    arc = profile(framed_28_ft().sections[0]).crown_arc
    layout = lay_deck(336 * INCH, arc, 0.15, ACROSS)
    assert (layout.sheets, layout.courses, layout.roof_courses) == (2, 2, 7)
    assert layout.joint_length / FOOT == pytest.approx(23.5160, abs=5e-5)


def test_a_deck_that_stays_takes_nothing() -> None:
    assert lay_deck(LENGTH, ARC, 0.0, ACROSS) == Layout(0, 1, 0, 9, 0.0, 0)
    assert waste_share(lay_deck(LENGTH, ARC, 0.0, ACROSS), ACROSS, 0.0) == 0.0


def test_a_slide_room_without_a_length_takes_nothing() -> None:
    assert lay_deck(0.0, 0.0, 1.0, ACROSS) == Layout(0, 0, 0, 0, 0.0, 0)


def test_a_share_that_floats_a_hair_over_a_whole_course_takes_no_sheet_more() -> None:
    # Three courses of 48 in of 408 in as a share: 144/408 x 408 = 144.00000000000003 in floats.
    assert lay_deck(LENGTH, ARC, 144 / 408, ACROSS).courses == 3
    assert lay_deck(0.1 * 3 * INCH, ARC, 1.0, Sheet(96 * INCH, 0.1 * INCH)).courses == 3


def test_a_deck_of_one_course_has_no_joint() -> None:
    assert lay_deck(40 * INCH, ARC, 1.0, ACROSS).joint_length == 0.0


def test_a_square_foot_of_a_find_takes_its_part_of_a_course() -> None:
    # 144 / (48 x 88.0682) = .0340645 courses of one sheet; (.0340645 + 1) x .0340645 x 88.0682 / 12 = .258516 ft.
    piece = lay_piece(LENGTH, ARC, FOOT * FOOT, ACROSS)
    assert piece.sheets == pytest.approx(0.0340645, abs=5e-8)
    assert piece.joint_length / FOOT == pytest.approx(0.258516, abs=1e-6)


_QUARTERS = st.integers(1, 480 * 4).map(lambda quarter: Fraction(quarter, 4))


@given(_QUARTERS, st.integers(60 * 4, 120 * 4).map(lambda q: Fraction(q, 4)), st.integers(0, 16))
@settings(max_examples=150)
def test_a_layout_equals_sheets_put_down_one_by_one(length: Fraction, arc: Fraction, sixteenths: int) -> None:
    share = Fraction(sixteenths, 16)
    layout = lay_deck(float(length), float(arc), float(share), Sheet(96.0, 48.0))
    sheet = (Fraction(96), Fraction(48))
    expected = one_by_one.lay(length, arc, length * share, sheet)
    assert (layout.sheets, layout.across, layout.courses, layout.roof_courses) == expected
    count = one_by_one.joints(layout.courses, layout.roof_courses)
    assert layout.joint_length == pytest.approx(count * float(arc))


# From an inch up: below a millionth of a sheet the tolerant rule sees nothing to cover.
@given(st.floats(254.0, 1e6), st.floats(254.0, 1e5), st.floats(0.01, 1.0), st.floats(0.01, 1.0))
@settings(max_examples=150)
def test_no_layout_takes_fewer_sheets_than_its_area_and_more_deck_never_fewer(
    length: float, arc: float, share: float, other: float
) -> None:
    less, more = (lay_deck(length, arc, part, ACROSS) for part in sorted((share, other)))
    assert less.area_bound <= less.sheets
    assert less.sheets <= more.sheets
    assert 0.0 <= waste_share(more, ACROSS, length * max(share, other) * arc) <= 1.0


@pytest.mark.parametrize(
    ("length", "arc", "share", "sheet", "field"),
    [
        (-1.0, ARC, 1.0, ACROSS, "length"),
        (math.inf, ARC, 1.0, ACROSS, "length"),
        (LENGTH, math.nan, 1.0, ACROSS, "arc"),
        (LENGTH, ARC, 1.5, ACROSS, "replaced_share"),
        (LENGTH, ARC, -0.1, ACROSS, "replaced_share"),
        (LENGTH, ARC, 1.0, Sheet(0.0, 48.0), "sheet/length"),
        (LENGTH, ARC, 1.0, Sheet(96.0, -1.0), "sheet/width"),
    ],
)
def test_a_deck_that_cannot_be_laid_is_refused(length: float, arc: float, share: float, sheet: Sheet, field: str) -> None:
    with pytest.raises(LayoutError) as caught:
        lay_deck(length, arc, share, sheet)
    assert (caught.value.field, caught.value.code) == (field, "bad_layout")


def test_the_steps_of_a_layout_say_why_there_are_nine_sheets() -> None:
    steps = explain_layout(LENGTH, ARC, 1.0, ACROSS)
    assert [(step.text, step.value, step.unit) for step in steps[:-1]] == [
        ("ceil(88.0682 in / 96 in)", 1.0, "each"),
        ("ceil(408 in / 48 in)", 9.0, "each"),
        ("ceil(408 in / 48 in)", 9.0, "each"),
        ("1 x 9", 9.0, "each"),
        ("min(9 + 1, 9 - 1)", 8.0, "each"),
    ]
    assert steps[-1].text == "8 x 88.0682 in"
    assert steps[-1].value == pytest.approx(58.7121, abs=5e-5)
    assert explain_layout(LENGTH, ARC, 0.0, ACROSS)[-2].text == "no course, no joint"
