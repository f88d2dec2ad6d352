"""The steps to a primitive say how it was worked out and end at the value that the take-off uses."""

import pytest

from costbase.calc.units import in_unit
from quotes.calc.geometry import GeometryError, Joint, Roof, explain_geometry, measure_section, whole
from tests.calc.roofs import framed_28_ft, laminated_34_ft, roof, section, slide_room, span


def texts(coach: Roof, slug: str) -> list[tuple[str, object, str]]:
    steps = explain_geometry(coach, whole(coach)[0], slug)
    return [(step.text, round(step.value, 4) if isinstance(step.value, float) else step.value, step.unit) for step in steps]


def two_sections() -> Roof:
    raised = section("raised", kind="raised", length_in=100.0)
    return roof(section(), raised, slide_room(), joints=(Joint("step", "main", "raised"),))


@pytest.mark.parametrize("coach", [laminated_34_ft(), framed_28_ft(), roof(section(crown_in=0.0)), two_sections()])
def test_the_last_step_holds_the_value_of_the_take_off(coach: Roof) -> None:
    scope = whole(coach)
    for part in scope:
        for slug, value in measure_section(coach, part, scope).values.items():
            last = explain_geometry(coach, part, slug, scope)[-1]
            expected = value if isinstance(value, str) else in_unit(float(value), last.unit)
            assert last.value == expected, (part.section, slug)


def test_the_last_step_holds_the_value_of_a_part_too() -> None:
    coach = laminated_34_ft()
    part = span(start_in=100.0, end_in=300.0)
    for slug, value in measure_section(coach, part).values.items():
        last = explain_geometry(coach, part, slug)[-1]
        assert last.value == (value if isinstance(value, str) else in_unit(float(value), last.unit)), slug


def test_the_visible_width_is_explained_from_the_tape_measure_up() -> None:
    # 96 - 2 x 4 = 88; 88^2 / 12 + 0.75 = 646.0833; arc 88.0682; edge 4 x pi/2 = 6.2832; sum 100.6345.
    assert texts(laminated_34_ft(), "visible_width") == [
        ("96 in - 2 x 4 in", 88.0, "in"),
        ("(88 in)^2 / (8 x 1.5 in) + 1.5 in / 2", 646.0833, "in"),
        ("2 x 646.0833 in x asin(88 in / (2 x 646.0833 in))", 88.0682, "in"),
        ("4 in x 90 deg in radians", 6.2832, "in"),
        ("88.0682 in + 2 x 6.2832 in", 100.6345, "in"),
    ]


def test_a_flat_crown_is_explained_without_a_radius() -> None:
    assert texts(roof(section(crown_in=0.0)), "crown_arc") == [
        ("96 in - 2 x 4 in", 88.0, "in"),
        ("a flat crown", 88.0, "in"),
    ]


def test_flanges_are_listed_one_by_one() -> None:
    # 68, 68, 68, 104, 68 in; sum 376 in = 31.3333 ft.
    steps = texts(laminated_34_ft(), "vent_flange_length")
    assert steps[0] == ("vent 1: 2 x (17 in + 17 in)", 5.6667, "ft")
    assert steps[-1] == ("sum of those in the scope", 31.3333, "ft")
    assert len(steps) == 6
    assert texts(laminated_34_ft(), "stack_flange_length")[0] == ("stack 1: pi x 6 in", 1.5708, "ft")


def test_joints_say_why_they_are_counted() -> None:
    coach = laminated_34_ft()
    steps = explain_geometry(coach, span(end_in=200.0), "cross_seam_count")
    assert [(step.text, step.value, step.note) for step in steps] == [
        ("front end", 0.0, "outer cap at the front end"),
        ("rear end", 1.0, "the scope ends inside the section at the rear: a cross seam"),
        ("sum of both ends", 1.0, ""),
    ]


def test_what_has_no_station_is_said_to_count_in_full() -> None:
    steps = explain_geometry(laminated_34_ft(), span(end_in=200.0), "slide_topper_count")
    assert [(step.text, step.value, step.note) for step in steps] == [
        ("slide topper", 2.0, "no station noted: counted in full"),
        ("sum of those in the scope", 2.0, ""),
    ]


def test_an_unknown_measure_is_refused_with_the_nearest() -> None:
    with pytest.raises(GeometryError, match="did you mean 'crown_arc'"):
        explain_geometry(laminated_34_ft(), span(), "crown_arch")
