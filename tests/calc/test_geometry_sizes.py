"""Widths, lengths, flanges and counts of a section against values worked by hand and against drawn shapes."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, Point, box

from quotes.calc.geometry import (
    FLAT_RADIUS,
    check_roof,
    check_scope,
    crown_arc,
    crown_radius,
    flange_perimeter,
    measure_section,
    openings_in,
    profile,
    whole,
)
from tests.calc.roofs import (
    FOOT,
    INCH,
    POUND,
    attachment,
    framed_28_ft,
    laminated_34_ft,
    opening,
    roof,
    section,
    span,
)
from tests.oracles.arcs import crown_points, tangent_visible_width, textbook_arc

FT2 = FOOT * FOOT


def inches(canonical: object) -> float:
    assert isinstance(canonical, float)
    return canonical / INCH


# Chord 88, 96 and 100 in with a rise of 1.5, 2 and 3 in: R = c^2/8h + h/2, s = 2 R asin(c/2R).
@pytest.mark.parametrize(
    ("chord_in", "rise_in", "radius_in", "arc_in"),
    [(88.0, 1.5, 646.0833, 88.06817), (96.0, 2.0, 577.0, 96.11107), (100.0, 3.0, 418.1667, 100.23983)],
)
def test_a_crown_has_the_arc_of_its_circle(chord_in: float, rise_in: float, radius_in: float, arc_in: float) -> None:
    assert crown_radius(chord_in * INCH, rise_in * INCH) / INCH == pytest.approx(radius_in, abs=5e-5)
    assert crown_arc(chord_in * INCH, rise_in * INCH) / INCH == pytest.approx(arc_in, abs=5e-6)


def test_a_flat_crown_is_as_long_as_its_chord() -> None:
    assert crown_arc(88 * INCH, 0.0) == 88 * INCH
    assert crown_radius(88 * INCH, 0.0) == FLAT_RADIUS
    # The finite radius that stands for a flat crown still gives back the chord.
    assert 2 * FLAT_RADIUS * math.asin(88 * INCH / (2 * FLAT_RADIUS)) == pytest.approx(88 * INCH, rel=1e-9)


def test_a_rise_of_half_the_chord_is_a_half_circle() -> None:
    assert crown_arc(200.0, 100.0) == pytest.approx(100.0 * math.pi, rel=1e-12)
    assert crown_radius(200.0, 100.0) == 100.0


def test_the_laminated_section_has_the_widths_worked_by_hand() -> None:
    across = profile(laminated_34_ft().sections[0])
    assert across.chord / INCH == 88.0
    assert across.crown_radius / INCH == pytest.approx(646.083333, abs=5e-7)
    assert across.crown_arc / INCH == pytest.approx(88.068166, abs=5e-7)
    # 4 in x pi/2
    assert across.edge_arc / INCH == pytest.approx(6.283185, abs=5e-7)
    assert across.visible_width / INCH == pytest.approx(100.634537, abs=5e-7)
    assert across.developed_width / INCH == pytest.approx(103.634537, abs=5e-7)


def test_the_framed_section_has_the_widths_worked_by_hand() -> None:
    across = profile(framed_28_ft().sections[0])
    assert across.chord / INCH == 94.0
    assert across.crown_radius / INCH == pytest.approx(737.083333, abs=5e-7)
    assert across.crown_arc / INCH == pytest.approx(94.063817, abs=5e-7)
    assert across.visible_width / INCH == pytest.approx(100.347002, abs=5e-7)
    assert across.developed_width / INCH == pytest.approx(103.347002, abs=5e-7)


def test_areas_of_the_laminated_roof_follow_from_its_primitives() -> None:
    values = measure_section(laminated_34_ft(), span()).values
    length, arc, developed, body = (
        float(values[slug]) for slug in ("roof_length", "crown_arc", "developed_width", "body_width")
    )
    assert length * body / FT2 == pytest.approx(272.0, abs=5e-5)
    assert length * arc / FT2 == pytest.approx(249.5265, abs=5e-5)
    assert length * developed / FT2 == pytest.approx(293.6312, abs=5e-5)
    # Two caps of 100.63454 in.
    assert float(values["cap_joint_length"]) / FOOT == pytest.approx(16.7724, abs=5e-5)
    assert values["cap_joint_count"] == 2.0
    assert values["cross_seam_count"] == 0.0


def test_flanges_of_the_laminated_roof_add_to_its_penetrations() -> None:
    values = measure_section(laminated_34_ft(), span()).values
    # 3 x 68 + 104 + 68 = 376 in; 2 x pi x 6 in; antenna 40 + cable entry 16 = 56 in.
    assert inches(values["vent_flange_length"]) == pytest.approx(376.0)
    assert inches(values["stack_flange_length"]) == pytest.approx(37.699112)
    assert inches(values["small_flange_length"]) == pytest.approx(56.0)
    pads_ft = float(values["ladder_foot_count"]) + float(values["solar_foot_count"])
    assert pads_ft == 12.0
    flanges = sum(float(values[f"{kind}_flange_length"]) for kind in ("vent", "stack", "small"))
    assert flanges / FOOT + pads_ft == pytest.approx(51.1416, abs=5e-5)


def test_everything_on_the_laminated_roof_is_counted() -> None:
    values = measure_section(laminated_34_ft(), span()).values
    expected = {
        "ac_count": 2,
        "vent_count": 3,
        "skylight_count": 1,
        "stack_count": 2,
        "fridge_vent_count": 1,
        "antenna_count": 1,
        "cable_entry_count": 1,
        "ladder_foot_count": 4,
        "solar_panel_count": 2,
        "solar_foot_count": 8,
        "awning_count": 1,
        "slide_topper_count": 2,
        "marker_light_count": 7,
        "captive_nut_count": 24,
        "wiring_run_total": 6,
    }
    assert {slug: values[slug] for slug in expected} == expected
    assert values["roof_kind"] == "laminated"
    # 0.61 and 0.549 lb/ft2.
    assert float(values["old_skin_areal_mass"]) * FT2 / POUND == pytest.approx(0.61)
    assert float(values["deck_areal_mass"]) * FT2 / POUND == pytest.approx(0.549)


def test_an_air_conditioner_takes_no_sealant() -> None:
    bare, with_unit = section(), section(openings=(opening("unit", "air_conditioner"),))
    for slug in ("vent_flange_length", "stack_flange_length"):
        assert measure_section(roof(bare), span()).values[slug] == 0.0
        assert measure_section(roof(with_unit), span()).values[slug] == 0.0


def test_both_usual_coaches_pass_without_a_warning() -> None:
    for coach in (laminated_34_ft(), framed_28_ft()):
        assert check_roof(coach) == ()
        assert check_scope(coach, whole(coach)) == ()


def test_the_simple_edge_is_short_of_the_tangent_form_by_a_thousandth_of_an_inch() -> None:
    # Exact tangent form 100.63539 in, simple form 100.63454 in.
    simple = profile(section()).visible_width / INCH
    exact = tangent_visible_width(96.0, 4.0, 1.5)
    assert exact == pytest.approx(100.63539, abs=5e-6)
    assert exact - simple == pytest.approx(0.0009, abs=5e-5)


# Outside checks ---------------------------------------------------------------------------------------


def test_the_crown_is_as_long_as_a_line_drawn_through_its_points() -> None:
    drawn = LineString(crown_points(88.0, 1.5, 20_000))
    assert drawn.length == pytest.approx(88.06817, abs=5e-6)
    assert crown_arc(88.0, 1.5) == pytest.approx(drawn.length, rel=1e-8)


def test_the_crown_is_as_long_as_the_top_of_a_drawn_disc() -> None:
    radius = crown_radius(88.0, 1.5)
    disc = Point(0.0, 1.5 - radius).buffer(radius, quad_segs=20_000)
    # What of the rim lies over the chord between the two edges.
    top = disc.boundary.intersection(box(-44.0, 0.0, 44.0, 10.0))
    assert crown_arc(88.0, 1.5) == pytest.approx(top.length, rel=1e-4)


def test_the_deck_area_is_that_of_a_strip_as_wide_as_the_unrolled_arc() -> None:
    unrolled = LineString(crown_points(88.0, 1.5, 20_000)).length
    strip = box(0.0, 0.0, 408.0, unrolled)
    values = measure_section(laminated_34_ft(), span()).values
    area_in2 = float(values["roof_length"]) * float(values["crown_arc"]) / INCH**2
    assert area_in2 == pytest.approx(strip.area, rel=1e-8)


@given(
    st.floats(20.0, 120.0),
    st.floats(0.0, 12.0),
)
@settings(max_examples=150)
def test_the_arc_is_that_of_the_textbook_and_never_below_its_chord(chord: float, rise: float) -> None:
    rise = min(rise, chord / 2)
    assert crown_arc(chord, rise) >= chord
    if rise > 1e-3:
        assert crown_arc(chord, rise) == pytest.approx(textbook_arc(chord, rise), rel=1e-7)


@given(st.floats(20.0, 120.0), st.floats(0.0, 9.0), st.floats(0.01, 1.0))
@settings(max_examples=150)
def test_more_crown_is_a_longer_arc(chord: float, rise: float, more: float) -> None:
    assert crown_arc(chord, rise + more) > crown_arc(chord, rise)


@given(st.floats(0.0, 1e-300))
@settings(max_examples=50)
def test_a_crown_too_small_to_measure_breaks_nothing(rise: float) -> None:
    assert crown_arc(22352.0, rise) == 22352.0
    assert crown_radius(22352.0, rise) == FLAT_RADIUS


# Spans ------------------------------------------------------------------------------------------------

ADDED_UP = (
    "roof_length", "cap_joint_count", "cap_joint_length", "ac_count", "vent_count", "skylight_count",
    "stack_count", "fridge_vent_count", "vent_flange_length", "stack_flange_length",
)  # fmt: skip


@given(st.floats(12.0, 396.0))
@settings(max_examples=100)
def test_two_spans_that_meet_hold_everything_once(cut_in: float) -> None:
    coach = laminated_34_ft()
    front, rear = span(end_in=cut_in), span(start_in=cut_in)
    one, other = (measure_section(coach, part).values for part in (front, rear))
    all_of_it = measure_section(coach, span()).values
    for slug in ADDED_UP:
        assert float(one[slug]) + float(other[slug]) == pytest.approx(float(all_of_it[slug])), slug
    assert one["cross_seam_count"] == other["cross_seam_count"] == 1.0
    section_ = coach.sections[0]
    assert {*openings_in(section_, front), *openings_in(section_, rear)} == set(section_.openings)


def test_an_opening_on_the_cut_belongs_to_the_rear_span() -> None:
    coach = roof(section(openings=(opening("vent", station_in=200.0),)))
    assert measure_section(coach, span(end_in=200.0)).values["vent_count"] == 0.0
    assert measure_section(coach, span(start_in=200.0)).values["vent_count"] == 1.0


def test_an_attachment_at_the_very_end_belongs_to_the_last_span() -> None:
    coach = roof(section(attachments=(attachment("ladder", feet=4, station_in=408.0),)))
    assert measure_section(coach, span(start_in=200.0)).values["ladder_foot_count"] == 4.0
    assert measure_section(coach, span(end_in=200.0)).values["ladder_foot_count"] == 0.0


def test_a_middle_span_has_two_cross_seams_and_no_cap() -> None:
    values = measure_section(laminated_34_ft(), span(start_in=96.0, end_in=240.0)).values
    assert values["roof_length"] == 144 * INCH
    assert values["cross_seam_count"] == 2.0
    assert values["cap_joint_count"] == 0.0
    assert values["cap_joint_length"] == 0.0
    # Front unit, vents 2 at 180, skylight at 215, fridge vent at 150 and stack 1 at 230 in lie inside.
    for kind in ("ac", "vent", "skylight", "fridge_vent", "stack"):
        assert values[f"{kind}_count"] == 1.0, kind


def test_what_has_no_station_counts_in_a_part_and_is_named() -> None:
    coach = laminated_34_ft()
    front = span(end_in=120.0)
    values = measure_section(coach, front).values
    assert values["awning_count"] == 1.0
    assert values["slide_topper_count"] == 2.0
    assert values["captive_nut_count"] == 24.0
    assert values["solar_panel_count"] == 0.0
    warnings = check_scope(coach, (front,))
    named = ("awning", "slide topper", "marker light", "captive nuts", "wiring runs")
    assert [any(f"main: {name} without a station" in warning for warning in warnings) for name in named] == [True] * 5
    assert not any("ladder" in warning or "antenna" in warning for warning in warnings)


def test_a_scope_that_ends_inside_a_flange_is_warned_about() -> None:
    # Vent 2 lies from 171.5 to 188.5 in.
    coach = laminated_34_ft()
    assert any("inside vent 2" in warning for warning in check_scope(coach, (span(end_in=175.0),)))
    assert not any("inside vent" in warning for warning in check_scope(coach, (span(end_in=190.0),)))


def test_a_flange_is_as_long_as_the_outline_of_its_drawn_shape() -> None:
    vent = opening("vent", length_in=24.0, width_in=10.0)
    assert flange_perimeter(vent) == pytest.approx(box(0.0, 0.0, 24 * INCH, 10 * INCH).length)
    stack = opening("stack", "stack", length_in=6.0, width_in=6.0)
    assert flange_perimeter(stack) == pytest.approx(Point(0, 0).buffer(3 * INCH, quad_segs=2_000).length, rel=1e-6)
