"""Which surveys are refused, with every fault at once."""

import math

import pytest

from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.calc.geometry import Joint, Roof
from quotes.calc.survey import CellMark, Finding, Reading, Repair, RingMark, StripMark, Survey, check_survey
from tests.calc.roofs import FOOT, INCH, laminated_34_ft, roof, section, slide_room
from tests.calc.surveys import cell, finding, inches_found, meter, repair, ring, rules, strip, survey

COACH = laminated_34_ft()


def faults_of(made: Survey, coach: Roof = COACH) -> tuple[CalculationError, ...]:
    with pytest.raises(CalculationError) as caught:
        check_survey(made, coach, rules())
    return caught.value.faults if isinstance(caught.value, CalculationFaults) else (caught.value,)


def refused(made: Survey, coach: Roof = COACH) -> list[tuple[str, str]]:
    return [(fault.field, fault.code) for fault in faults_of(made, coach)]


def test_a_survey_that_fits_is_let_through() -> None:
    check_survey(
        survey(
            cell("1A", "sound"),
            cell("17D", "rotten", "opened"),
            strip("front", 5, "soft"),
            strip("passenger", 17, "damp"),
            ring("skylight", "sound", "opened", backing="missing"),
            inches_found("cap_corner_crack", 14.0, "strip front 1"),
            finding("spinning_captive_nut", "ring front unit", extent=2.0),
            finding("delaminated_deck", "cells 3A, 3B"),
            finding("ceiling_stain", "over the dinette"),
            repair("coating", chemistry="silicone", share=0.5),
            repair("added_trim", length=40 * FOOT),
            repair("screws"),
            meter(18.0),
        ),
        COACH,
        rules(),
    )


@pytest.mark.parametrize(
    ("mark", "field", "code"),
    [
        (CellMark("nose", 1, "A", "sound", "walked"), "cells/0/section", "unknown_section"),
        (CellMark("main", 0, "A", "sound", "walked"), "cells/0/row", "mark_off_roof"),
        (CellMark("main", 18, "A", "sound", "walked"), "cells/0/row", "mark_off_roof"),
        (CellMark("main", 1, "E", "sound", "walked"), "cells/0/lane", "unknown_kind"),
        (CellMark("main", 1, "A", "mushy", "walked"), "cells/0/condition", "unknown_kind"),
        (CellMark("main", 1, "A", "sound", "told"), "cells/0/method", "unknown_kind"),
        (StripMark("nose", "driver", 1, "sound", "walked"), "strips/0/section", "unknown_section"),
        (StripMark("main", "left", 1, "sound", "walked"), "strips/0/side", "unknown_kind"),
        (StripMark("main", "driver", 18, "sound", "walked"), "strips/0/index", "mark_off_roof"),
        (StripMark("main", "front", 6, "sound", "walked"), "strips/0/index", "mark_off_roof"),
        (RingMark("nose", "vent 1", "sound", "walked", "unknown"), "rings/0/section", "unknown_section"),
        (RingMark("main", "vent 9", "sound", "walked", "unknown"), "rings/0/opening", "mark_off_roof"),
        (RingMark("main", "vent 1", "sound", "walked", "gone"), "rings/0/backing", "unknown_kind"),
    ],
)
def test_a_mark_off_the_roof_or_in_unknown_words_is_refused(mark: object, field: str, code: str) -> None:
    assert refused(survey(mark)) == [(field, code)]


def test_a_refusal_names_the_nearest_opening() -> None:
    (fault,) = faults_of(survey(ring("vent2", "sound")))
    assert fault.message == "unknown opening 'vent2' on 'main'; did you mean 'vent 2'?"


def test_an_end_that_is_no_cap_has_no_cap_strips() -> None:
    coach = roof(section("main"), section("raised", kind="raised"), joints=(Joint("step", "main", "raised"),))
    (fault,) = faults_of(survey(strip("rear", 1, "soft")), coach)
    assert (fault.field, fault.code) == ("strips/0/side", "mark_off_roof")
    assert "step between main and raised" in fault.message


def test_a_shared_cap_is_marked_at_the_section_in_front_only() -> None:
    coach = roof(section("main"), section("rear"), joints=(Joint("cap", "main", "rear"),))
    check_survey(survey(strip("rear", 1, "soft")), coach, rules())
    (fault,) = faults_of(survey(strip("front", 1, "soft", section="rear")), coach)
    assert "counted at the rear end of main" in fault.message


def test_a_slide_room_has_no_strips() -> None:
    assert refused(survey(strip("driver", 1, "soft", section="slide")), roof(slide_room())) == [
        ("strips/0/side", "mark_off_roof")
    ]


def test_two_conditions_of_one_place_are_refused() -> None:
    made = survey(
        cell("1A", "sound"), cell("1A", "damp", "metered"),
        strip("driver", 1, "sound"), strip("driver", 1, "rotten"),
        ring("vent 1", "sound", backing="present"), ring("vent 1", "sound", backing="missing"),
    )  # fmt: skip
    assert refused(made) == [
        ("cells/1/condition", "conflicting_marks"),
        ("strips/1/condition", "conflicting_marks"),
        ("rings/1/condition", "conflicting_marks"),
    ]


def test_the_same_condition_twice_is_no_contradiction() -> None:
    check_survey(survey(cell("1A", "sound"), cell("1A", "sound", "metered")), COACH, rules())


@pytest.mark.parametrize("method", ["told", "photographs"])
def test_nobody_marks_a_roof_that_was_not_stood_on(method: str) -> None:
    made = survey(cell("1A", "sound"), meter(10.0), method=method)
    assert refused(made) == [("cells", "bad_survey"), ("readings", "bad_survey")]
    check_survey(survey(finding("ceiling_stain"), method=method), COACH, rules())


def test_a_method_or_day_that_is_none_is_refused() -> None:
    assert refused(Survey("looked", "last week")) == [("method", "unknown_kind"), ("on", "bad_survey")]


# Findings ---------------------------------------------------------------------------------------------


def test_an_unknown_finding_is_refused_with_the_nearest_known_one() -> None:
    (fault,) = faults_of(survey(finding("cap_corner_cracks", extent=1.0)))
    assert fault.code == "unknown_finding"
    assert "did you mean 'cap_corner_crack'?" in fault.message


@pytest.mark.parametrize(
    "kind",
    ["sag_at_ac", "sag_elsewhere", "cabinet_or_wall_gap", "sidewall_bulge_at_top", "cap_corner_crack", "spinning_captive_nut"],
)
def test_a_finding_whose_kind_needs_its_extent_is_refused_without(kind: str) -> None:
    assert refused(survey(finding(kind))) == [("findings/0/extent", "bad_extent")]


@pytest.mark.parametrize(
    ("kind", "extent"),
    [
        ("cap_corner_crack", 0.0),
        ("cap_corner_crack", -5.0),
        ("cap_corner_crack", math.nan),
        ("cap_corner_crack", math.inf),
        ("cap_corner_crack", 1001 * 12 * INCH),
        ("spinning_captive_nut", 1.5),
        ("opening_edge_view", 3.0),
    ],
)
def test_an_extent_that_is_no_size_of_its_kind_is_refused(kind: str, extent: float) -> None:
    assert refused(survey(finding(kind, extent=extent))) == [("findings/0/extent", "bad_extent")]


@pytest.mark.parametrize(
    ("place", "code"),
    [
        (" ", "bad_place"),
        ("x" * 121, "bad_place"),
        ("cell 3E", "bad_place"),
        ("strip driver", "bad_place"),
        ("cells 3A, 18A", "mark_off_roof"),
        ("strip front 6", "mark_off_roof"),
        ("ring vent 9", "mark_off_roof"),
    ],
)
def test_a_place_is_told_and_on_the_roof(place: str, code: str) -> None:
    assert refused(survey(finding("ceiling_stain", place))) == [("findings/0/place", code)]


def test_a_delaminated_deck_says_which_cells() -> None:
    assert refused(survey(finding("delaminated_deck", "near the rear"))) == [("findings/0/place", "bad_place")]


def test_no_more_is_found_than_the_coach_has() -> None:
    # 24 captive nuts and 6 wiring runs on record.
    many = [finding("spinning_captive_nut", extent=13.0)] * 2
    drips = finding("drip_from_light_or_wire", extent=7.0)
    faults = faults_of(survey(*many, drips))
    assert [fault.code for fault in faults] == ["more_than_there_is"] * 2
    assert faults[0].message == (
        "findings on 'main' add to a spun nut count of 26 each, but there can be 24 each: correct the findings or the "
        "coach's record"
    )


# Repairs and readings ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("made", "fields"),
    [
        (repair("paint"), ["kind"]),
        (repair("coating", chemistry="latex", share=0.5), ["chemistry"]),
        (repair("coating", chemistry="acrylic"), ["share"]),
        (repair("coating", share=0.5), ["chemistry"]),
        (repair("coating", chemistry="acrylic", share=1.2), ["share"]),
        (repair("coating", chemistry="acrylic", share=math.nan), ["share"]),
        (repair("tape", chemistry="unknown", share=0.1, length=5.0), ["length"]),
        (repair("added_trim"), ["length"]),
        (repair("added_trim", length=-1.0), ["length"]),
        (repair("added_trim", length=9.0, chemistry="silicone"), ["chemistry"]),
        (repair("screws", share=0.2), ["share"]),
        (repair("screws", section="nose"), ["section"]),
    ],
)
def test_a_repair_has_what_its_kind_needs_and_no_more(made: Repair, fields: list[str]) -> None:
    assert [field for field, _ in refused(survey(made))] == [f"repairs/0/{field}" for field in fields]


@pytest.mark.parametrize(
    ("made", "field", "code"),
    [
        (meter(18.0, "probe-metre"), "instrument", "bad_reading"),
        (meter(-1.0), "percent", "bad_reading"),
        (meter(math.nan), "percent", "bad_reading"),
        (meter(101.0), "percent", "bad_reading"),
        (meter(10.0, section="nose"), "section", "unknown_section"),
    ],
)
def test_a_reading_is_a_percentage_of_a_known_instrument(made: Reading, field: str, code: str) -> None:
    assert refused(survey(made)) == [(f"readings/0/{field}", code)]


def test_every_fault_is_told_at_once() -> None:
    made = survey(
        cell("40A", "sound"), strip("front", 9, "soft"), ring("hatch", "soft"), finding("sag"), repair("screws", share=1.0),
        meter(300.0), method="walked",
    )  # fmt: skip
    assert refused(made) == [
        ("cells/0/row", "mark_off_roof"),
        ("strips/0/index", "mark_off_roof"),
        ("rings/0/opening", "mark_off_roof"),
        ("findings/0/kind", "unknown_finding"),
        ("repairs/0/share", "bad_repair"),
        ("readings/0/percent", "bad_reading"),
    ]


def test_a_finding_on_an_unknown_section_is_refused() -> None:
    made = survey(Finding("ceiling_stain", "by the hatch", "mian", None, ""))
    (fault,) = faults_of(made)
    assert (fault.field, fault.code) == ("findings/0/section", "unknown_section")
    assert "did you mean 'main'?" in fault.message
