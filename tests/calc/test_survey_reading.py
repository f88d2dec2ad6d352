"""What marks put in the base and leave exposed, against values worked by hand and a walk inch by inch."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from quotes.calc.geometry import Joint, whole
from quotes.calc.survey import CellMark, SurveyReading
from tests.calc.roofs import (
    FOOT,
    INCH,
    air_conditioner,
    laminated_34_ft,
    opening,
    roof,
    section,
    sized,
    slide_room,
    span,
)
from tests.calc.surveys import all_cells, cell, read, ring, strip, survey
from tests.oracles.inch_by_inch import walk

COACH = laminated_34_ft()
MAIN = COACH.sections[0]


def value(reading: SurveyReading, slug: str, section_: str = "main") -> float:
    return float(reading.sections[section_].values[slug])


def scale(reading: SurveyReading, key: str, section_: str = "main") -> float:
    return reading.sections[section_].exposure_scale[key]


def reasons(reading: SurveyReading, measure: str) -> list[tuple[str, str]]:
    return [(action.text, action.source) for action in reading.actions if action.measure == measure]


def test_a_roof_without_a_mark_is_exposed_in_full_and_asks_for_nothing() -> None:
    reading = read(survey(), COACH)
    assert (reading.checked_share, reading.weighted_share, reading.wet_share) == (0.0, 0.0, 0.0)
    assert set(reading.sections["main"].exposure_scale.values()) == {1.0}
    assert not any(reading.sections["main"].values.values())
    assert reading.actions == ()
    assert reading.warnings == ("no cell of this part of the roof was checked: how wet it is, is not known",)


def test_shares_are_of_checked_area() -> None:
    # Four cells of 68: weights 0 + .25 + .6 + 1 = 1.85 of 4; three of four are wet.
    reading = read(survey(cell("1A", "sound"), cell("1B", "damp"), cell("2A", "soft"), cell("2B", "rotten")), COACH)
    assert reading.checked_share == pytest.approx(4 / 68)
    assert reading.sound_share == pytest.approx(1 / 68)
    assert reading.weighted_share == pytest.approx(1.85 / 4)
    assert reading.wet_share == pytest.approx(0.75)


def test_a_short_last_row_counts_by_its_area() -> None:
    # 420 in: row 18 is 12 in. One full sound cell and one half-size rotten one: 12 / 36.
    coach = roof(section(length_in=420.0))
    reading = read(survey(cell("1A", "sound"), cell("18A", "rotten")), coach)
    assert reading.weighted_share == pytest.approx(1 / 3)


def test_a_rotten_cell_takes_its_whole_course_of_four_feet() -> None:
    # Row 4 is 72 to 96 in: course 2, 48 of 408 in.
    reading = read(survey(cell("4C", "rotten", "opened")), COACH)
    assert value(reading, "deck_replaced_share") == pytest.approx(48 / 408)
    assert reasons(reading, "deck_replaced_share") == [("deck replaced from 4 ft to 8 ft", "main, cell 4C rotten (opened)")]


def test_soft_is_treated_as_rotten_and_one_course_is_taken_once() -> None:
    # Rows 3 and 4 are course 2; row 17 (384 to 408) is the half course 9 of 24 in: 72 of 408 in.
    reading = read(survey(cell("3A", "soft"), cell("4D", "rotten"), cell("17B", "soft")), COACH)
    assert value(reading, "deck_replaced_share") == pytest.approx(72 / 408)
    assert len(reasons(reading, "deck_replaced_share")) == 2


def test_a_course_is_clipped_to_the_span() -> None:
    # Span 60 to 204 in; row 3 ends at 72: course 2 from 60 to 96 is 36 of 144 in.
    reading = read(survey(cell("3A", "rotten")), COACH, span(start_in=60.0, end_in=204.0))
    assert value(reading, "deck_replaced_share") == pytest.approx(36 / 144)


def test_a_rotten_cell_outside_of_the_span_takes_nothing() -> None:
    reading = read(survey(cell("1A", "rotten")), COACH, span(start_in=60.0))
    assert value(reading, "deck_replaced_share") == 0.0
    assert reading.checked_share == 0.0
    assert reading.roof_checked_share == pytest.approx(1 / 68)
    assert reading.roof_wet_share == 1.0


def test_the_whole_deck_is_exactly_all_of_it() -> None:
    coach = roof(section(length_in=401.3))
    reading = read(survey(*all_cells(coach.sections[0], "rotten")), coach)
    assert value(reading, "deck_replaced_share") == 1.0
    assert scale(reading, "kept_cells") == 1.0
    assert scale(reading, "cells") == 1.0


@pytest.mark.parametrize(("method", "left"), [("walked", 0.7), ("metered", 0.4), ("opened", 0.0)])
def test_sound_cells_leave_part_of_the_exposure(method: str, left: float) -> None:
    # Half of the 68 cells: (34 x left + 34) / 68.
    half = all_cells(MAIN, "sound", method)[:34]
    reading = read(survey(*half), COACH)
    assert scale(reading, "cells") == pytest.approx((left + 1) / 2)
    assert scale(reading, "kept_cells") == pytest.approx((left + 1) / 2)


def test_damp_and_unchecked_cells_leave_all_of_it() -> None:
    reading = read(survey(cell("1A", "damp", "opened")), COACH)
    assert scale(reading, "cells") == 1.0


def test_sound_cells_of_a_replaced_course_are_no_longer_kept() -> None:
    # Course 1 goes: cells 1B..2D are sound (7 of 68), outside of it cell 3A is sound (1 of 60 kept).
    sound = [cell(name, "sound", "opened") for name in ("1B", "1C", "1D", "2A", "2B", "2C", "2D", "3A")]
    reading = read(survey(cell("1A", "rotten"), *sound), COACH)
    assert scale(reading, "cells") == pytest.approx(60 / 68)
    assert scale(reading, "kept_cells") == pytest.approx(59 / 60)


def test_a_cell_found_sound_in_two_ways_leaves_what_the_more_thorough_way_says() -> None:
    reading = read(survey(cell("1A", "sound", "walked"), cell("1A", "sound", "metered")), COACH)
    assert scale(reading, "cells") == pytest.approx((67 + 0.4) / 68)


def test_damp_puts_drying_in_the_base_and_leaves_the_deck_in_the_exposure() -> None:
    reading = read(survey(cell("5B", "damp", "metered")), COACH)
    assert value(reading, "dry_days") == 3 * 86_400
    assert value(reading, "deck_replaced_share") == 0.0
    assert reasons(reading, "dry_days") == [("3 days of drying", "main, cell 5B damp (metered)")]


def test_a_damp_strip_or_ring_is_dried_too() -> None:
    assert value(read(survey(strip("driver", 2, "damp")), COACH), "dry_days") > 0
    assert value(read(survey(strip("front", 1, "damp")), COACH), "dry_days") > 0
    assert value(read(survey(ring("vent 1", "damp")), COACH), "dry_days") > 0
    assert value(read(survey(strip("driver", 2, "damp")), COACH, span(start_in=96.0)), "dry_days") == 0


_MARKS = st.dictionaries(
    st.tuples(st.integers(1, 9), st.sampled_from("ABCD")),
    st.tuples(st.sampled_from(["sound", "damp", "soft", "rotten"]), st.sampled_from(["walked", "metered", "opened"])),
    max_size=36,
)


@given(_MARKS, st.integers(0, 150), st.integers(20, 205))
@settings(max_examples=100, deadline=None)
def test_a_reading_equals_a_walk_inch_by_inch(marks: dict[tuple[int, str], tuple[str, str]], start: int, length: int) -> None:
    coach = roof(section(length_in=205.0))
    end = min(start + length, 205)
    made = survey(*(CellMark("main", row, lane, condition, method) for (row, lane), (condition, method) in marks.items()))
    reading = read(made, coach, span(start_in=start, end_in=end))
    walked = walk(marks, start, end)
    assert reading.checked_share == pytest.approx(walked.checked)
    assert reading.sound_share == pytest.approx(walked.sound)
    assert reading.weighted_share == pytest.approx(walked.weighted)
    assert reading.wet_share == pytest.approx(walked.wet)
    assert value(reading, "deck_replaced_share") == pytest.approx(walked.replaced)
    assert scale(reading, "cells") == pytest.approx(walked.cells)
    assert scale(reading, "kept_cells") == pytest.approx(walked.kept_cells)


@given(_MARKS, st.tuples(st.integers(1, 9), st.sampled_from("ABCD")), st.sampled_from(["soft", "rotten"]))
@settings(max_examples=80, deadline=None)
def test_a_further_rotten_cell_never_takes_deck_out_of_the_base(
    marks: dict[tuple[int, str], tuple[str, str]], place: tuple[int, str], condition: str
) -> None:
    coach = roof(section(length_in=205.0))
    before = survey(*(CellMark("main", *where, *how) for where, how in marks.items()))
    after = survey(*(CellMark("main", *where, *how) for where, how in {**marks, place: (condition, "walked")}.items()))
    was_bad = marks.get(place, ("sound", ""))[0] in ("soft", "rotten")
    less, more = read(before, coach), read(after, coach)
    assert value(more, "deck_replaced_share") >= value(less, "deck_replaced_share") or was_bad


# Edges and caps ---------------------------------------------------------------------------------------


def test_a_rotten_strip_goes_to_the_base_and_the_others_stay_exposed() -> None:
    # 24 in of 816; of the 33 strips left one sound metered: (32 + .4) / 33.
    reading = read(survey(strip("driver", 4, "soft"), strip("passenger", 1, "sound", "metered")), COACH)
    assert value(reading, "wall_top_rot_length") == pytest.approx(24 * INCH)
    assert scale(reading, "edge_strips") == pytest.approx(32.4 / 33)
    assert scale(reading, "cap_strips") == 1.0
    assert reasons(reading, "wall_top_rot_length") == [("wall top repaired over 24 in", "main, strip driver 4 soft (walked)")]
    assert reading.damage_marks == (("main, strip driver 4 soft (walked)", "soft"),)


def test_a_cap_strip_goes_to_the_cap_backing() -> None:
    # Visible 100.6345 in: four strips of 24 and one of 4.6345 at each cap; the fifth at the front is rotten.
    reading = read(survey(strip("front", 5, "rotten", "opened"), strip("rear", 1, "sound", "opened")), COACH)
    assert value(reading, "cap_backing_rot_length") == pytest.approx(4.6345 * INCH, abs=0.02)
    left = 2 * 100.6345 - 4.6345
    assert scale(reading, "cap_strips") == pytest.approx((left - 24) / left, rel=1e-5)
    assert value(reading, "wall_top_rot_length") == 0.0


def test_strips_outside_of_the_span_say_nothing() -> None:
    marks = survey(strip("front", 1, "rotten"), strip("driver", 1, "rotten"))
    reading = read(marks, COACH, span(start_in=96.0))
    assert value(reading, "cap_backing_rot_length") == 0.0
    assert value(reading, "wall_top_rot_length") == 0.0
    assert reading.damage_marks == ()


def test_all_edges_rotten_is_exactly_all_of_them() -> None:
    coach = roof(section(length_in=401.3))
    rows = range(1, 18)
    marks = [strip(side, row, "rotten") for side in ("driver", "passenger") for row in rows]
    reading = read(survey(*marks), coach)
    assert value(reading, "wall_top_rot_length") == 2 * coach.sections[0].length
    assert scale(reading, "edge_strips") == 1.0


def test_a_cap_between_two_sections_is_marked_at_the_one_in_front() -> None:
    coach = roof(section("main", length_in=240.0), section("rear", length_in=144.0), joints=(Joint("cap", "main", "rear"),))
    marks = survey(strip("rear", 1, "rotten"))
    both = read(marks, coach)
    assert value(both, "cap_backing_rot_length", "main") == pytest.approx(24 * INCH)
    assert value(both, "cap_backing_rot_length", "rear") == 0.0
    # Worked on without the section in front, the cap is the rear section's.
    alone = read(marks, coach, span("rear", 0.0, 144.0))
    assert value(alone, "cap_backing_rot_length", "rear") == pytest.approx(24 * INCH)


# Rings ------------------------------------------------------------------------------------------------


def test_a_rotten_ring_braces_an_air_conditioner_and_backs_anything_else() -> None:
    reading = read(survey(ring("front unit", "rotten", "opened"), ring("vent 2", "soft")), COACH)
    assert value(reading, "brace_count") == 1.0
    assert value(reading, "backing_count") == 1.0
    assert reasons(reading, "brace_count") == [("frame at front unit", "main, ring front unit rotten (opened)")]
    assert [condition for _, condition in reading.damage_marks] == ["rotten", "soft"]


def test_a_missing_backing_is_added_even_where_the_rim_is_sound() -> None:
    reading = read(
        survey(ring("skylight", "sound", "opened", backing="missing"), ring("rear unit", "sound", backing="missing")), COACH
    )
    assert value(reading, "backing_count") == 1.0
    assert value(reading, "brace_count") == 1.0
    assert reasons(reading, "backing_count") == [("backing at skylight", "main, ring skylight sound (opened), backing missing")]
    assert reading.damage_marks == ()


def test_an_opening_that_is_rotten_and_lacks_its_backing_gets_one() -> None:
    reading = read(survey(ring("vent 1", "rotten", backing="missing")), COACH)
    assert value(reading, "backing_count") == 1.0


def test_a_stack_has_no_backing_to_miss() -> None:
    assert value(read(survey(ring("stack 1", "sound", backing="missing")), COACH), "backing_count") == 0.0


def test_sound_rings_leave_part_of_the_frames() -> None:
    # Two air conditioners, one sound opened: (0 + 1) / 2. Five framed openings, one metered: (4 + .4) / 5.
    reading = read(survey(ring("front unit", "sound", "opened"), ring("vent 1", "sound", "metered")), COACH)
    assert scale(reading, "ac_rings") == pytest.approx(0.5)
    assert scale(reading, "rings") == pytest.approx(4.4 / 5)


def test_a_braced_opening_is_no_longer_exposed() -> None:
    # Of the two units one is braced, the other sound walked: .7 of the one left.
    reading = read(survey(ring("front unit", "rotten"), ring("rear unit", "sound")), COACH)
    assert scale(reading, "ac_rings") == pytest.approx(0.7)


def test_backing_at_a_stack_takes_nothing_off_the_framed_openings() -> None:
    # Exposure counts 5 framed openings less 1 backing = 4; five with three sound opened leave 2: 2 of 4.
    marks = [ring(label, "sound", "opened") for label in ("vent 1", "vent 2", "vent 3")]
    reading = read(survey(ring("stack 1", "rotten"), *marks), COACH)
    assert value(reading, "backing_count") == 1.0
    assert scale(reading, "rings") == pytest.approx(0.5)


def test_an_opening_outside_of_the_span_is_not_read() -> None:
    reading = read(survey(ring("front unit", "rotten")), COACH, span(start_in=200.0))
    assert value(reading, "brace_count") == 0.0


# Sections ---------------------------------------------------------------------------------------------


def test_each_section_is_read_by_itself_and_shares_are_of_all_in_scope() -> None:
    coach = roof(section("main", length_in=240.0), section("raised", kind="raised", length_in=240.0))
    reading = read(survey(cell("1A", "rotten"), cell("1A", "sound", section="raised")), coach)
    assert value(reading, "deck_replaced_share", "main") == pytest.approx(0.2)
    assert value(reading, "deck_replaced_share", "raised") == 0.0
    # 2 of 80 cells.
    assert reading.checked_share == pytest.approx(2 / 80)
    assert reading.weighted_share == pytest.approx(0.5)


def test_metal_on_its_frame_has_no_deck_to_replace_or_to_be_rotten_unseen() -> None:
    bare = section(construction="metal", old_skin="aluminium", deck="none", core_in=0.0)
    reading = read(survey(cell("1A", "rotten"), cell("2A", "sound", "opened")), roof(bare))
    assert value(reading, "deck_replaced_share") == 0.0
    assert scale(reading, "kept_cells") == 0.0
    assert scale(reading, "cells") == pytest.approx(67 / 68)
    assert any("there is no deck to replace" in warning for warning in reading.warnings)


def test_a_rotten_slide_room_asks_for_sheets() -> None:
    coach = roof(slide_room())
    reading = read(survey(cell("1A", "rotten", section="slide")), coach)
    assert any("add swapped sheets" in warning for warning in reading.warnings)


def test_every_section_has_every_value_and_scale() -> None:
    coach = roof(section(), slide_room())
    reading = read(survey(), coach)
    main, slide = reading.sections["main"], reading.sections["slide"]
    assert main.values.keys() == slide.values.keys() == {
        "deck_replaced_share", "wall_top_rot_length", "cap_backing_rot_length", "brace_count", "backing_count",
        "spun_nut_count", "cap_crack_length", "vermin_zone_count", "mold_area", "wiring_repair_count", "dry_days",
        "added_trim_length", "old_coating_share", "over_silicone",
    }  # fmt: skip
    assert main.exposure_scale.keys() == slide.exposure_scale.keys() == {
        "cells", "kept_cells", "edge_strips", "cap_strips", "ac_rings", "rings",
    }  # fmt: skip


@given(_MARKS)
@settings(max_examples=60, deadline=None)
def test_every_scale_is_a_share(marks: dict[tuple[int, str], tuple[str, str]]) -> None:
    stack = sized("stack", "stack", 150.0, 24.0, (6.0, 6.0))
    coach = roof(section(length_in=205.0, openings=(air_conditioner("unit", 100.0), opening("vent", station_in=30.0), stack)))
    made = [CellMark("main", *where, *how) for where, how in marks.items()]
    edges = [strip("driver", row, condition, method) for (row, lane), (condition, method) in marks.items() if lane == "A"]
    rings = [ring(label, how[0], how[1]) for label, how in zip(("unit", "vent", "stack"), marks.values(), strict=False)]
    reading = read(survey(*made, *edges, *rings), coach)
    for part in reading.sections.values():
        assert all(0.0 <= share <= 1.0 for share in part.exposure_scale.values())
        assert 0.0 <= float(part.values["deck_replaced_share"]) <= 1.0
        assert float(part.values["wall_top_rot_length"]) <= 2 * 205 * INCH
    assert whole(coach)[0].length == 205 * INCH


def test_the_longest_roof_still_reads() -> None:
    coach = roof(section(length_in=720.0))
    reading = read(survey(*all_cells(coach.sections[0])), coach)
    assert reading.checked_share == pytest.approx(1.0)
    assert coach.sections[0].length == 60 * FOOT
