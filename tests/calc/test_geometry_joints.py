"""What lies at the ends of a span, and which section of two a joint between them is counted for."""

import pytest

from quotes.calc.geometry import Joint, Roof, check_roof, ends, measure_scope, measure_section, whole
from tests.calc.roofs import FOOT, INCH, opening, roof, section, slide_room, span


def raised_rear(kind: str = "step") -> Roof:
    """A main section 96 in wide and a raised one 98 in wide behind it: visible 100.6345 and 102.6338 in."""
    return roof(
        section("main", length_in=240.0),
        section("raised", kind="raised", length_in=144.0, width_in=98.0),
        joints=(Joint(kind, "main", "raised"),),
    )


def values_of(coach: Roof, scope: tuple[object, ...]) -> list[dict[str, object]]:
    return [dict(part.values) for part in measure_scope(coach, scope)]  # type: ignore[arg-type]


def test_a_step_between_two_sections_in_scope_is_counted_once_at_the_front_one() -> None:
    coach = raised_rear()
    assert check_roof(coach) == ()
    main, raised = values_of(coach, whole(coach))
    # Along the wider section: chord 90 in, R = 675.75 in, arc 90.0667 in, edges 2 x 6.2832 in.
    assert main["step_joint_length"] == pytest.approx(102.6330 * INCH, abs=0.02)
    assert raised["step_joint_length"] == 0.0
    assert (main["cap_joint_count"], raised["cap_joint_count"]) == (1.0, 1.0)
    assert (main["cross_seam_count"], raised["cross_seam_count"]) == (0.0, 0.0)


def test_a_step_at_the_end_of_the_scope_is_counted_for_the_section_that_is_in_it() -> None:
    coach = raised_rear()
    (raised,) = values_of(coach, (span("raised", 0.0, 144.0),))
    assert raised["step_joint_length"] == pytest.approx(102.6330 * INCH, abs=0.02)
    (main,) = values_of(coach, (span("main", 0.0, 240.0),))
    assert main["step_joint_length"] == raised["step_joint_length"]


def test_a_step_belongs_to_the_rear_section_when_the_scope_stops_short_of_it_in_front() -> None:
    coach = raised_rear()
    main, raised = values_of(coach, (span("main", 0.0, 120.0), span("raised", 0.0, 144.0)))
    assert main["step_joint_length"] == 0.0
    assert main["cross_seam_count"] == 1.0
    assert raised["step_joint_length"] == pytest.approx(102.6330 * INCH, abs=0.02)


def test_a_cap_between_two_sections_is_a_third_cap_joint() -> None:
    coach = raised_rear("cap")
    main, raised = values_of(coach, whole(coach))
    assert (main["cap_joint_count"], raised["cap_joint_count"]) == (2.0, 1.0)
    assert main["cap_joint_length"] == pytest.approx((100.6345 + 102.6330) * INCH, abs=0.05)


def test_a_cross_seam_between_two_sections_is_counted_once() -> None:
    coach = raised_rear("cross_seam")
    assert sum(float(str(part["cross_seam_count"])) for part in values_of(coach, whole(coach))) == 1.0


def test_a_section_alone_is_measured_as_if_it_were_the_whole_scope() -> None:
    coach = raised_rear()
    alone = measure_section(coach, span("raised", 0.0, 144.0))
    assert alone.values["step_joint_length"] != 0.0
    assert alone.label == "raised"


def test_an_end_says_which_strips_lie_along_it() -> None:
    coach = raised_rear("cap")
    front, rear = ends(coach, span("main", 0.0, 240.0), whole(coach))
    assert (front.kind, front.strips) == ("cap", ("main", "front"))
    assert (rear.kind, rear.strips) == ("cap", ("main", "rear"))
    inner, outer = ends(coach, span("raised", 0.0, 144.0), whole(coach))
    assert (inner.kind, inner.strips) == ("", None)
    assert (outer.kind, outer.strips) == ("cap", ("raised", "rear"))
    assert "counted at the rear end of main" in inner.why


def test_a_slide_room_brings_its_plan_and_its_rim_and_no_main_measure() -> None:
    # 12 ft by 3 ft: 36 ft2, rim 30 ft.
    coach = roof(section(), slide_room())
    _, slide = values_of(coach, whole(coach))
    assert slide["slide_roof_area"] == pytest.approx(36 * FOOT**2)
    assert slide["slide_seal_length"] == pytest.approx(30 * FOOT)
    for slug in (
        "roof_length",
        "body_width",
        "crown_arc",
        "visible_width",
        "cap_joint_count",
        "cap_joint_length",
    ):
        assert slide[slug] == 0.0, slug
    assert slide["cross_seam_count"] == 0.0


def test_a_part_of_a_slide_room_brings_its_part() -> None:
    coach = roof(slide_room())
    (slide,) = values_of(coach, (span("slide", 0.0, 72.0),))
    # 6 ft by 3 ft.
    assert slide["slide_roof_area"] == pytest.approx(18 * FOOT**2)
    assert slide["slide_seal_length"] == pytest.approx(18 * FOOT)
    assert slide["cross_seam_count"] == 0.0


def test_a_vent_on_a_slide_room_still_counts() -> None:
    slide = section(
        "slide", kind="slide_room", length_in=144.0, width_in=36.0, radius_in=0.0,
        openings=(opening("vent", station_in=70.0, offset_in=18.0),),
    )  # fmt: skip
    (values,) = values_of(roof(slide), whole(roof(slide)))
    assert values["vent_count"] == 1.0
    assert values["vent_flange_length"] == pytest.approx(68 * INCH)


def test_a_main_section_brings_no_slide_room() -> None:
    values = measure_section(roof(section()), span()).values
    assert values["slide_roof_area"] == 0.0
    assert values["slide_seal_length"] == 0.0


def test_every_section_brings_the_same_measures() -> None:
    coach = roof(section(), slide_room())
    main, slide = values_of(coach, whole(coach))
    assert main.keys() == slide.keys()
