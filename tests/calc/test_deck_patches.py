"""Covers of damaged cells by whole patches, worked by hand, as properties, and beside an integer programme."""

from decimal import Decimal
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.sheets import Damage, Deck, LayingRules, LayoutError, PatchPlan, SheetSize, cover_damage
from quotes.calc.sheets.cutting import sheets_for
from tests.calc.roofs import FOOT, INCH
from tests.oracles.least_patches import least_cover

SHEET = SheetSize("four-by-eight", 8 * FOOT, 4 * FOOT, Decimal(24))
FREE = LayingRules(least_piece=1 * FOOT)
JOINTED = LayingRules(least_piece=1 * FOOT, joint_price_per_foot=Decimal("3.40"))


def deck(length_ft: float = 16.0, arc_ft: float = 8.0, supports_in: float = 0.0) -> Deck:
    count = int(length_ft * 12 / supports_in) if supports_in else -1
    return Deck("main", length_ft * FOOT, arc_ft * FOOT, tuple(supports_in * INCH * at for at in range(count + 1)))


def cell(station_ft: float, offset_ft: float, length_ft: float = 1.0, width_ft: float = 1.0) -> Damage:
    return Damage(station_ft * FOOT, (station_ft + length_ft) * FOOT, offset_ft * FOOT, (offset_ft + width_ft) * FOOT)


def in_feet(plan: PatchPlan) -> list[tuple[float, float, float, float]]:
    return [tuple(round(size / FOOT, 4) for size in (p.station, p.offset, p.length, p.width)) for p in plan.patches]  # type: ignore[misc]


def test_four_damaged_cells_round_a_corner_of_sheets_take_one_patch_of_two_bays() -> None:
    # Rafters at 16 in: the cells from 3 to 5 ft lie between those at 2.6667 and 5.3333 ft; 2.6667 x 2 = 5.3333 ft2, where the
    # four sheets round the corner would be 128 ft2. Joint all round: 2 x (2.6667 + 2) = 9.3333 ft.
    damage = (cell(3, 3), cell(3, 4), cell(4, 3), cell(4, 4))
    for rules in (FREE, JOINTED):
        plan = cover_damage(damage, deck(supports_in=16.0), (SHEET,), rules)
        assert in_feet(plan) == [(2.6667, 3.0, 2.6667, 2.0)]
        assert plan.area / FOOT**2 == pytest.approx(5.3333, abs=1e-4)
        assert plan.joint_length / FOOT == pytest.approx(9.3333, abs=1e-4)


def test_patches_are_cut_from_whole_sheets() -> None:
    # Three patches of 2.6667 x 5.5 ft are 44 ft2, and by area two sheets. One of 4 x 8 ft gives one of them: three sheets.
    damage = tuple(cell(2.6667 * at + 0.1, 1.0, 2.5, 5.5) for at in (0, 2, 4))
    plan = cover_damage(damage, deck(supports_in=16.0), (SHEET,), FREE)
    assert (len(plan.patches), plan.sheets) == (3, 3)
    assert sheets_for([(2, 4)] * 4, (8, 4)) == 1
    assert sheets_for([(2, 4), (6, 4), (8, 2), (4, 4)], (8, 4)) == 3  # beside 8 x 2 lies another 8 x 2, no 4 x 4
    assert sheets_for([], (8, 4)) == 0


def test_on_foam_a_patch_is_as_large_as_the_damage() -> None:
    plan = cover_damage((cell(3, 3), cell(4, 3)), deck(), (SHEET,), FREE)
    assert in_feet(plan) == [(3.0, 3.0, 2.0, 1.0)]
    assert plan.joint_length / FOOT == pytest.approx(6.0)


def test_no_patch_is_narrower_than_the_least_piece() -> None:
    plan = cover_damage((cell(3, 7.5, 0.25, 0.25),), deck(), (SHEET,), FREE)
    assert [(length, width) for _, _, length, width in in_feet(plan)] == [(1.0, 1.0)]
    assert plan.joint_length / FOOT == pytest.approx(3.0)  # the fourth edge is the deck's


def test_a_patch_at_a_corner_of_the_deck_has_two_edges_to_tape() -> None:
    plan = cover_damage((cell(0, 0, 2, 2),), deck(), (SHEET,), FREE)
    assert plan.joint_length / FOOT == pytest.approx(4.0)
    assert [(line.across, line.at / FOOT) for line in plan.joints] == [(False, 2.0), (True, 2.0)]


def test_a_little_sound_board_is_taken_where_two_joints_cost_more() -> None:
    # Two cells of 2 x 2 ft, half a foot apart: 1 ft2 of board at 0.75, against 2 x 2 ft of joint less 2 x 0.5 ft at 3.40.
    damage = (cell(4, 1, 2, 2), cell(4, 3.5, 2, 2))
    assert len(cover_damage(damage, deck(), (SHEET,), FREE).patches) == 2
    assert in_feet(cover_damage(damage, deck(), (SHEET,), JOINTED)) == [(4.0, 1.0, 2.0, 4.5)]


def test_patches_larger_than_a_sheet_are_parted() -> None:
    # 8 x 8 ft of damage: four bays of 2 ft, each 8 ft wide; two of them make a sheet.
    plan = cover_damage((cell(4, 0, 8, 8),), deck(supports_in=24.0), (SHEET,), JOINTED)
    assert in_feet(plan) == [(4.0, 0.0, 4.0, 8.0), (8.0, 0.0, 4.0, 8.0)]
    assert plan.joint_length / FOOT == pytest.approx(3 * 8.0)


def test_damage_on_foam_longer_than_a_sheet_is_covered_by_several() -> None:
    # 20 x 3 ft: courses of 4 ft are seams at the least; two of them make a sheet of 8 ft, 3 ft wide.
    plan = cover_damage((cell(1, 2, 20, 3),), deck(30.0), (SHEET,), JOINTED)
    assert sorted(length for _, _, length, _ in in_feet(plan)) == [4.0, 8.0, 8.0]
    assert plan.area / FOOT**2 == pytest.approx(60.0)


def test_damage_near_the_end_of_the_deck_is_patched_to_its_edge() -> None:
    # From 15.5 ft of 16: the patch begins a foot before the end.
    plan = cover_damage((cell(15.5, 0, 0.5, 2),), deck(), (SHEET,), FREE)
    assert in_feet(plan) == [(15.0, 0.0, 1.0, 2.0)]


def test_no_damage_takes_nothing() -> None:
    assert cover_damage((), deck(), (SHEET,), FREE) == PatchPlan((), (), 0.0, 0.0, 0)
    assert cover_damage((cell(20, 1),), deck(), (SHEET,), FREE).patches == ()


def test_a_strip_is_let_in_between_supports_that_no_sheet_reaches_across() -> None:
    # Supports every 15 ft: strips at 7.5 and 22.5 ft.
    far = Deck("main", 30 * FOOT, 8 * FOOT, (0.0, 15 * FOOT, 30 * FOOT))
    assert in_feet(cover_damage((cell(3, 3),), far, (SHEET,), FREE)) == [(0.0, 3.0, 7.5, 1.0)]


def test_a_place_that_is_none_is_refused() -> None:
    with pytest.raises(LayoutError) as caught:
        cover_damage((Damage(0.0, -1.0, 0.0, 1.0),), deck(), (SHEET,), FREE)
    assert caught.value.field == "damage/0/end"


_CELLS = st.lists(st.tuples(st.integers(0, 7), st.integers(0, 3)), min_size=1, max_size=14, unique=True)


@given(_CELLS, st.sampled_from([0.0, 16.0, 24.0]), st.sampled_from([FREE, JOINTED]))
@settings(max_examples=60, deadline=None)
def test_patches_cover_the_damage_fit_sheets_and_never_overlap(
    cells: list[tuple[int, int]], supports_in: float, rules: LayingRules
) -> None:
    damage = tuple(cell(2.0 * row, 2.0 * lane, 2.0, 2.0) for row, lane in cells)
    under = deck(supports_in=supports_in)
    plan = cover_damage(damage, under, (SHEET,), rules)
    boxes = [(p.station, p.offset, p.station + p.length, p.offset + p.width) for p in plan.patches]
    for one, other in combinations(boxes, 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]
    for place in damage:
        # A grid of points in the damage: each in exactly one patch.
        for step in range(8):
            x, y = place.start + (step + 0.5) / 8 * 2 * FOOT, place.near + (step + 0.5) / 8 * 2 * FOOT
            assert sum(b[0] < x < b[2] and b[1] < y < b[3] for b in boxes) == 1
    for x0, y0, x1, y1 in boxes:
        assert max(x1 - x0, y1 - y0) <= 8 * FOOT
        assert min(x1 - x0, y1 - y0) <= 4 * FOOT
        assert min(x1 - x0, y1 - y0) >= 1 * FOOT
        if supports_in:
            assert {x0, x1} <= {*under.supports, 16 * FOOT}
    around = sum(2 * (p.length + p.width) for p in plan.patches)
    assert plan.joint_length <= around + 1e-6
    assert plan.area == pytest.approx(sum((b[2] - b[0]) * (b[3] - b[1]) for b in boxes))


@given(_CELLS, st.sampled_from([16.0, 24.0]))
@settings(max_examples=40, deadline=None)
def test_patches_take_the_area_that_an_integer_programme_takes(cells: list[tuple[int, int]], supports_in: float) -> None:
    damage = tuple(cell(2.0 * row, 2.0 * lane, 2.0, 2.0) for row, lane in cells)
    plan = cover_damage(damage, deck(supports_in=supports_in), (SHEET,), FREE)
    seams = [supports_in / 12 * at for at in range(int(192 / supports_in) + 1)]
    boxes = [(2.0 * row, 2.0 * lane, 2.0 * row + 2, 2.0 * lane + 2) for row, lane in cells]
    area, count = least_cover(boxes, seams, (8.0, 4.0))
    assert plan.area / FOOT**2 == pytest.approx(area)
    assert count <= len(plan.patches) <= 2 * count


@given(_CELLS, st.tuples(st.integers(0, 7), st.integers(0, 3)))
@settings(max_examples=40, deadline=None)
def test_more_damage_never_takes_less_board(cells: list[tuple[int, int]], more: tuple[int, int]) -> None:
    damage = tuple(cell(2.0 * row, 2.0 * lane, 2.0, 2.0) for row, lane in cells)
    worse = (*damage, cell(2.0 * more[0], 2.0 * more[1], 2.0, 2.0))
    under = deck(supports_in=16.0)
    assert cover_damage(damage, under, (SHEET,), FREE).area <= cover_damage(worse, under, (SHEET,), FREE).area + 1e-3
