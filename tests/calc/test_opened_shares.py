"""How much of a roof its opened places say is off, worked by hand on a flat section of 20 ft by 8 ft: 40 cells of 4 sq ft."""

from collections.abc import Sequence
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from quotes.calc.found import OpenedShare, opened_shares, taken_off
from quotes.calc.geometry import Roof, Span, whole
from quotes.calc.survey import LANES, PlaceName, place_sizes
from tests.calc.roofs import FOOT, air_conditioner, opening, section

FLAT = section(
    construction="framed", old_skin="tpo", deck="plywood_3_8in", length_in=240, width_in=96, crown_in=0, radius_in=0, tuck_in=0,
    core_in=0,
    openings=(opening("front vent", station_in=60), opening("rear vent", station_in=150), air_conditioner("unit", 200)),
)  # fmt: skip
ROOF = Roof((FLAT,), ())
SIZES = place_sizes(ROOF, whole(ROOF))
CELLS = [PlaceName("main", "cell", f"{row}{lane}") for row in range(1, 11) for lane in LANES]


def strip(at: str) -> PlaceName:
    return PlaceName("main", "strip", at)


def told(shares: Sequence[OpenedShare]) -> list[tuple[str, str, str, str, str]]:
    return [(one.places, str(one.opened), str(one.of), one.unit, str(one.share)) for one in shares]


def test_cells_go_by_area_strips_by_length_and_rings_by_number() -> None:
    # 12 cells of 4 sq ft of 40: 48 / 160. Edges 2 x 20 ft, caps 2 x 8 ft: 56 ft, of which 3 strips of 2 ft. One ring of three.
    opened = [*CELLS[:12], strip("driver 1"), strip("driver 2"), strip("front 4"), PlaceName("main", "ring", "unit")]

    assert told(opened_shares(opened, SIZES)) == [
        ("cells", "48.0000", "160.0000", "ft2", "0.300000"),
        ("strips", "6.0000", "56.0000", "ft", "0.107143"),
        ("rings", "1.0000", "3.0000", "each", "0.333333"),
    ]


def test_a_place_that_was_opened_twice_counts_once_and_a_kind_without_any_says_nothing() -> None:
    assert told(opened_shares([CELLS[0], CELLS[1], CELLS[0]], SIZES)) == [("cells", "8.0000", "160.0000", "ft2", "0.050000")]
    assert opened_shares([], SIZES) == ()


def test_a_scope_that_ends_within_a_row_has_part_of_its_cells() -> None:
    # Front 3 ft: rows of 2 ft and of 1 ft, four lanes of 2 ft: 16 + 8 sq ft. One cell of the second row is 2 of 24.
    sizes = place_sizes(ROOF, (Span("main", 0.0, 3 * FOOT),))

    assert told(opened_shares([PlaceName("main", "cell", "2A")], sizes)) == [("cells", "2.0000", "24.0000", "ft2", "0.083333")]


@pytest.mark.parametrize(
    ("quoted", "unit", "phase", "off_share", "expected"),
    [
        # 0.3 of 160 sq ft, of 40 m2; 6 / 56 of 56 ft; a third of 3 vents, and 0.45 of that where they go back as well.
        ("160", "ft2", "teardown", None, ("48.0000", "cells")),
        ("40", "m2", "strip", None, ("12.0000", "cells")),
        ("56", "ft", "strip", None, ("6.0000", "strips")),
        ("3", "each", "strip", None, ("1.0000", "rings")),
        ("3", "each", "strip", 0.45, ("0.4500", "rings")),
        # What does not take the roof off, or is measured in nothing that places have.
        ("160", "ft2", "skin", None, None),
        ("2", "day", "strip", None, None),
        ("0", "ft2", "strip", None, ("0", "cells")),
    ],
)
def test_work_that_takes_the_roof_off_is_done_by_the_share_of_its_places(
    quoted: str, unit: str, phase: str, off_share: float | None, expected: tuple[str, str] | None
) -> None:
    opened = [*CELLS[:12], strip("driver 1"), strip("rear 2"), strip("front 4"), PlaceName("main", "ring", "unit")]

    done = taken_off(Decimal(quoted), unit, phase, off_share, opened_shares(opened, SIZES))

    assert (done and (str(done[0]), done[1].places)) == expected


def test_work_has_no_share_where_no_such_place_was_recorded() -> None:
    assert taken_off(Decimal(56), "ft", "strip", None, opened_shares(CELLS, SIZES)) is None


@given(st.sets(st.integers(0, 39), max_size=12), st.integers(0, 39))
def test_more_opened_is_never_a_smaller_share_and_all_of_it_is_one(opened: set[int], further: int) -> None:
    before = {one.places: one.exact for one in opened_shares([CELLS[at] for at in opened], SIZES)}
    after = {one.places: one.exact for one in opened_shares([CELLS[at] for at in (*opened, further)], SIZES)}

    assert before.get("cells", 0.0) <= after["cells"] <= 1.0
    # The plain way: every cell is a fortieth.
    assert after["cells"] == pytest.approx(len({*opened, further}) / 40, rel=1e-12)
    assert opened_shares([*CELLS, CELLS[further]], SIZES)[0].exact == 1.0
