"""Cells, strips and courses of a section, and what words of place mean."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.geometry import crown_arc
from quotes.calc.survey import courses, grid, place_of
from quotes.calc.survey.grid import pieces
from tests.calc.roofs import INCH, section, span

ARC = crown_arc(88 * INCH, 1.5 * INCH)


def test_a_34_ft_roof_has_seventeen_rows_of_four() -> None:
    # 408 / 24 = 17.
    cells = grid(section(), span())
    assert len(cells) == 68
    assert [(cell.row, cell.lane) for cell in cells[:5]] == [(1, "A"), (1, "B"), (1, "C"), (1, "D"), (2, "A")]
    assert cells[0].area == pytest.approx(24 * INCH * ARC / 4)


def test_the_last_row_is_the_rest() -> None:
    # 420 = 17 x 24 + 12.
    cells = grid(section(length_in=420.0), span(end_in=420.0))
    assert cells[-1].row == 18
    assert (cells[-1].end - cells[-1].start) / INCH == pytest.approx(12.0)


def test_a_row_keeps_its_number_in_a_part_of_the_roof() -> None:
    # From 60 in: the rest of row 3 (60 to 72), row 4, and 4 in of row 5.
    cells = grid(section(), span(start_in=60.0, end_in=100.0))
    rows = {cell.row: (cell.end - cell.start) / INCH for cell in cells}
    assert rows == pytest.approx({3: 12.0, 4: 24.0, 5: 4.0})


@given(st.floats(96.0, 720.0), st.floats(0.0, 1.0), st.floats(0.0, 1.0))
@settings(max_examples=120)
def test_areas_of_cells_sum_to_the_deck_area_of_the_span(length_in: float, one: float, other: float) -> None:
    start, end = sorted((one * length_in, other * length_in))
    part = span(start_in=start, end_in=end)
    cells = grid(section(length_in=length_in), part)
    assert sum(cell.area for cell in cells) == pytest.approx(part.length * ARC, rel=1e-9, abs=1.0)


@given(st.floats(1.0, 1e6), st.floats(0.5, 1e5))
@settings(max_examples=120)
def test_pieces_cover_a_length_without_gaps(length: float, size: float) -> None:
    size = max(size, length / 500)
    cut = pieces(length, size)
    assert cut[0][0] == 0.0
    assert cut[-1][1] == length
    assert all(before[1] == after[0] for before, after in pairwise(cut))
    assert all(end - start <= size * (1 + 1e-5) for start, end in cut)


def test_a_length_that_floats_a_hair_over_whole_rows_gets_no_row_more() -> None:
    assert len(pieces(24.0 * 17 * (1 + 1e-12), 24.0)) == 17
    assert pieces(0.0, 24.0) == ()


def test_courses_are_counted_from_the_front_and_cut_off_at_the_span() -> None:
    # From 60 to 200 in: 36 in of course 2, courses 3 and 4, 8 in of course 5.
    found = courses(section(), span(start_in=60.0, end_in=200.0))
    assert [number for number, _, _ in found] == [2, 3, 4, 5]
    assert [(end - start) / INCH for _, start, end in found] == pytest.approx([36.0, 48.0, 48.0, 8.0])


@pytest.mark.parametrize(
    ("words", "cells"),
    [
        ("cell 3D", ((3, "D"),)),
        ("cells 3D, 12A", ((3, "D"), (12, "A"))),
        ("cells 3D,4D", ((3, "D"), (4, "D"))),
    ],
)
def test_a_place_can_name_cells(words: str, cells: tuple[tuple[int, str], ...]) -> None:
    assert place_of(words).cells == cells


def test_a_place_can_name_a_strip_or_a_ring() -> None:
    assert place_of("strip driver 4").strip == ("driver", 4)
    assert place_of("ring vent 2").ring == "vent 2"


@pytest.mark.parametrize("words", ["cell 3E", "cell 0A", "cells", "cell", "by the hatch", "stripped corner", "ringing"])
def test_other_words_are_free_unless_they_pretend_to_name_the_grid(words: str) -> None:
    place = place_of(words)
    pretends = words in ("cell 3E", "cell 0A")
    assert place.valid is not pretends
    assert place.free is not pretends


@pytest.mark.parametrize("words", ["strip roof 4", "strip driver", "strip driver x", "cells 3D; 4D"])
def test_a_place_of_the_grid_in_the_wrong_form_is_not_valid(words: str) -> None:
    assert not place_of(words).valid
