"""Part of a roof, several sections and slide rooms: what is measured, what is counted once, and what is summed."""

from dataclasses import replace
from decimal import Decimal

import pytest

from costbase.calc.units import in_unit
from quotes.calc.geometry import Joint, Roof
from quotes.calc.quote import Quote
from tests.calc.roofs import air_conditioner, laminated_34_ft, opening, roof, section, slide_room, span
from tests.calc.shipped_base import entry, hours_of, inputs, quoted, shipped
from tests.calc.surveys import cell, survey


def measured(quote: Quote, slug: str, unit: str) -> float:
    return in_unit(float(quote.measured.whole[slug]), unit)


def needs_of(quote: Quote, assembly: str) -> dict[str, float]:
    (take,) = [take for take in quote.takes if take.assembly.slug == assembly]
    return {slug: in_unit(need, shipped().materials[slug].unit) for slug, need in take.needs.items()}


# Part of a roof ---------------------------------------------------------------------------------------------


@pytest.fixture(scope="module")
def rear_10_ft() -> Quote:
    """The last 120 in of the laminated coach, from 288 in to the rear cap."""
    return quoted(inputs(laminated_34_ft(), plan="partial-roof", scope=(span("main", 288, 408),)))


def test_lengths_and_areas_of_a_part_come_from_its_stations(rear_10_ft: Quote) -> None:
    # 10 ft x 103.6345 in, 10 ft x 88.0682 in; two edges of 10 ft and one cap of 8.3862 ft.
    assert measured(rear_10_ft, "skin_area", "ft2") == pytest.approx(86.362114, abs=1e-5)
    assert measured(rear_10_ft, "deck_area", "ft2") == pytest.approx(73.390138, abs=1e-5)
    assert measured(rear_10_ft, "perimeter", "ft") == pytest.approx(28.386211, abs=1e-5)


def test_an_end_part_has_one_cap_and_one_cross_seam(rear_10_ft: Quote) -> None:
    assert rear_10_ft.measured.whole["cap_joint_count"] == 1
    assert rear_10_ft.measured.whole["cross_seam_count"] == 1
    # One row of cap screws of 34 + 1.
    assert needs_of(rear_10_ft, "cap-joint-rebuild")["rail-screw-1-1-2-in"] == 35


def test_the_cross_seam_is_work_of_its_own_with_tape_bar_and_adhesive(rear_10_ft: Quote) -> None:
    # 100.6345 in = 8.3862 ft; 2 h set-up + 8.3862 x 0.25 = 4.0966 h of the lead technician, 2.0966 h beside.
    hours = {(line.assembly, line.trade): str(line.hours) for line in rear_10_ft.visible.labour}
    assert hours["cross-seam", "lead-technician"] == "4.0966"
    assert hours["cross-seam", "technician"] == "2.0966"
    assert needs_of(rear_10_ft, "cross-seam") == pytest.approx(
        {"seam-tape-4-in": 8.386211, "flat-bar-3-in": 8.386211, "structural-adhesive-10-1-oz": 2.0}, abs=1e-5
    )


def test_only_what_stands_in_the_part_is_counted(rear_10_ft: Quote) -> None:
    # The rear unit at 330 in, the stack at 300 in, the ladder's four feet at 400 in; the first unit and all vents lie before.
    counts = {slug: rear_10_ft.measured.whole[slug] for slug in ("ac_count", "stack_count", "vent_count", "ladder_foot_count")}
    assert counts == {"ac_count": 1, "stack_count": 1, "vent_count": 0, "ladder_foot_count": 4}
    assert "solar-refit" not in hours_of(rear_10_ft)


def test_a_part_in_the_middle_has_two_cross_seams_and_no_cap() -> None:
    quote = quoted(inputs(laminated_34_ft(), plan="partial-roof", scope=(span("main", 120, 240),)))

    assert quote.measured.whole["cross_seam_count"] == 2
    assert "cap-joint-rebuild" not in hours_of(quote)
    assert [work.exposure for work in quote.hidden if work.component.slug == "cap_backing"] == [0.0]


def test_the_parts_of_a_roof_measure_together_what_the_whole_does() -> None:
    front, rear, whole = (
        quoted(inputs(laminated_34_ft(), plan="partial-roof", scope=(span("main", start, end),)))
        for start, end in ((0, 192), (192, 408), (0, 408))
    )

    for slug in ("skin_area", "deck_area", "side_edge_length", "cap_joint_length", "vent_flange_length", "ac_count"):
        parts = float(front.measured.whole[slug]) + float(rear.measured.whole[slug])
        assert parts == pytest.approx(float(whole.measured.whole[slug]), rel=1e-12), slug


def test_marks_outside_of_the_part_say_nothing_about_it() -> None:
    # Row 2 lies from 2 to 4 ft, the part from 24 ft on.
    found = survey(cell("2A", "rotten", "opened"))
    part = inputs(laminated_34_ft(), plan="partial-roof", scope=(span("main", 288, 408),), survey=found)

    assert measured(quoted(part), "deck_replaced_area", "ft2") == 0.0
    assert measured(quoted(replace(part, scope=(span("main", 0, 120),))), "deck_replaced_area", "ft2") > 0.0


# Several sections -------------------------------------------------------------------------------------------


def stepped() -> Roof:
    """A front section of 12 ft and, a step lower, a rear one of 20 ft; both laminated, 96 in wide."""
    sections = (section("front", length_in=144), section("rear", length_in=240))
    return roof(*sections, joints=(Joint("step", "front", "rear"),))


@pytest.fixture(scope="module")
def two_sections() -> Quote:
    entered = (
        entry("wall_top_rot_length", "6 ft", section="front"),
        entry("wall_top_rot_length", "4 ft", section="rear"),
    )
    return quoted(inputs(stepped(), entered=entered))


def test_sections_add_up_in_a_quote(two_sections: Quote) -> None:
    # (12 + 20) ft x 103.6345 in; an outer cap at each end and a step between.
    assert measured(two_sections, "skin_area", "ft2") == pytest.approx(276.358765, abs=1e-5)
    assert two_sections.measured.whole["cap_joint_count"] == 2
    assert measured(two_sections, "step_joint_length", "ft") == pytest.approx(8.386211, abs=1e-5)


def test_sheets_are_laid_on_each_section_by_itself(two_sections: Quote) -> None:
    # 12 ft are 3 courses, 20 ft are 5; joints 2 x 7.3390 and 4 x 7.3390 ft.
    assert [values["deck_sheets"] for values in two_sections.measured.sections.values()] == [3.0, 5.0]
    assert measured(two_sections, "deck_joint_length", "ft") == pytest.approx(44.034083, abs=1e-5)


def test_set_up_is_charged_once_for_all_sections(two_sections: Quote) -> None:
    # 1.5 h + (6 + 4) ft x 0.4 = 5.5 h of the lead technician; 10 x 0.35 = 3.5 h of a technician.
    hours = {(line.assembly, line.trade): str(line.hours) for line in two_sections.visible.labour}
    assert hours["wall-top-repair", "lead-technician"] == "5.5000"
    assert hours["wall-top-repair", "technician"] == "3.5000"


def test_packs_are_counted_once_for_all_sections(two_sections: Quote) -> None:
    # Laminating adhesive: (234.8485 sq ft of deck + 276.3588 of skin) / 100 = 5.1121, + 10 % = 5.6233: 6.
    lines = {line.packed.material.slug: line.packed for line in two_sections.visible.materials}
    glue = lines["laminating-adhesive-polyurethane"]

    assert (str(glue.net), str(glue.gross), str(glue.packs)) == ("5.1121", "5.6233", "6")


def test_a_quote_with_a_section_less_costs_less(two_sections: Quote) -> None:
    rear = inputs(stepped(), scope=(span("rear", 0, 240),), entered=(entry("wall_top_rot_length", "4 ft", section="rear"),))

    assert quoted(rear).totals.base < two_sections.totals.base


@pytest.mark.parametrize("plan", ["full-rebuild", "skin-over-kept-deck", "partial-roof"])
def test_a_plan_that_lays_a_new_skin_prices_the_steps_between_sections(plan: str) -> None:
    quote = quoted(inputs(stepped(), plan=plan))

    # 0.5 h set-up + 8.3862 ft x 0.2 = 2.1772 h; a technician 1.6772 h; flashing once, butyl and bead on both sides. A fillet of
    # 3/8 in takes 0.5 x 0.375 x 0.375 = 0.0703125 sq in: 16.7724 ft x 12 x 0.0703125 / 18.22734 = 0.7764 cartridges.
    hours = {(line.assembly, line.trade): str(line.hours) for line in quote.visible.labour}
    assert (hours["section-step", "lead-technician"], hours["section-step", "technician"]) == ("2.1772", "1.6772")
    assert needs_of(quote, "section-step") == pytest.approx(
        {"step-flashing-8-ft": 8.386211, "butyl-tape-1-in": 16.772423, "perimeter-sealant-10-1-oz": 0.776394}, abs=1e-5
    )


@pytest.mark.parametrize("plan", ["full-rebuild", "skin-over-kept-deck"])
def test_a_rebuild_that_ends_inside_a_section_prices_the_seam_there(plan: str) -> None:
    # The first 20 of 34 ft: one cap, one seam of 8.3862 ft. 2 h set-up + 8.3862 x 0.25 = 4.0966 h; a technician 2.0966 h.
    quote = quoted(inputs(roof(section()), plan=plan, scope=(span("main", 0, 240),)))
    hours = {(line.assembly, line.trade): str(line.hours) for line in quote.visible.labour}

    assert (hours["cross-seam", "lead-technician"], hours["cross-seam", "technician"]) == ("4.0966", "2.0966")


def test_a_plain_roof_has_neither_step_nor_seam() -> None:
    assert not {"cross-seam", "section-step"} & set(hours_of(quoted(inputs(roof(section())))))


def mixed() -> Roof:
    """A laminated section of 12 ft before a framed one of 20 ft."""
    rear = section("rear", construction="framed", old_skin="epdm", deck="plywood_3_8in", core_in=0, length_in=240)
    return roof(section("front", length_in=144), rear)


def test_each_construction_takes_its_own_deck_and_hides_its_own_parts() -> None:
    quote = quoted(inputs(mixed(), skin="membrane"))
    sections = {take.assembly.slug: [label for label, _ in take.by_section] for take in quote.takes}

    assert (sections["deck-bond"], sections["deck-on-rafters"]) == (["front"], ["rear"])
    assert sections["membrane-adhere"] == ["front", "rear"]
    parts = {(work.component.slug, work.construction): work.exposure for work in quote.hidden if work.exposure > 0}
    # Edges 2 x 12 and 2 x 20 ft; rafters (20 ft / 16 in + 1) x 8 ft.
    assert (parts["edge", "laminated"], parts["edge", "framed"]) == (24.0, 40.0)
    assert ("core", "framed") not in parts
    assert parts["rafters", "framed"] == 128.0


def test_the_set_up_of_one_repair_in_two_constructions_is_set_aside_for_once() -> None:
    quote = quoted(inputs(mixed(), skin="membrane"))
    edges = [part for part in quote.set_aside.components if part.component == "edge"]
    agreed = [work.cost.set_up for work in quote.hidden if work.component.slug == "edge"]

    # Both parts agree on 1.5 h x 150 = 225.00, and one of them carries it.
    assert agreed == [Decimal("225.00"), Decimal("225.00")]
    assert [part.set_up for part in edges] == [Decimal("225.00"), Decimal(0)]


def test_a_component_in_two_sections_is_priced_by_the_exposure_of_each() -> None:
    # The brace's tubes are as long as the body is wide: 96 and 80 in. One unit in front, two in the rear: a unit price of
    # (1 x front + 2 x rear) / 3 and no set-up twice.
    front = section("front", length_in=144, openings=(air_conditioner("unit 1", 70.0),))
    rear_units = (air_conditioner("unit 2", 60.0, 40.0), air_conditioner("unit 3", 160.0, 40.0))
    rear = section("rear", length_in=240, width_in=80.0, openings=rear_units)
    both, of_front, of_rear = (
        next(work.cost for work in quoted(inputs(roof(*sections))).hidden if work.component.slug == "ac_frame")
        for sections in ((front, rear), (front,), (rear,))
    )

    mean = (of_front.price + 2 * of_rear.price) / 3
    assert abs(both.price - mean) < Decimal("0.000002")
    assert both.set_up == of_front.set_up == Decimal("150.00")


def test_a_stock_warning_names_each_section_that_is_too_wide() -> None:
    narrow = section("narrow", length_in=144, width_in=90.0)
    quote = quoted(inputs(roof(narrow, section("wide", length_in=240)), skin="aluminium"))

    (warning,) = [text for text in quote.warnings if "stock" in text]
    assert "section wide needs 103.63 in" in warning


# Slide rooms ------------------------------------------------------------------------------------------------


def with_slide() -> Roof:
    return roof(section("main", openings=(opening("vent 1"),)), slide_room("slide", length_in=144, depth_in=36))


def test_a_rebuild_leaves_the_slide_room_alone() -> None:
    quote = quoted(inputs(with_slide()))

    assert [part.section for part in quote.scope] == ["main"]
    assert "slide-roof" not in hours_of(quote)


def test_a_slide_room_plan_is_about_the_slide_room_alone() -> None:
    quote = quoted(inputs(with_slide(), plan="slide-roof", skin="membrane"))

    # 144 x 36 in = 36 sq ft: 36 x 0.04 = 1.44 h; 2 h set-up + 36 x 0.06 = 4.16 h; seals 2 x (12 + 3) = 30 ft.
    hours = {(line.assembly, line.trade): str(line.hours) for line in quote.visible.labour}
    assert [part.section for part in quote.scope] == ["slide"]
    assert (hours["slide-roof", "lead-technician"], hours["slide-roof", "technician"]) == ("1.4400", "4.1600")
    assert needs_of(quote, "slide-roof")["slide-room-seal"] == pytest.approx(30.0)
    # A third of the intake and half of the access: 0.33 x 3 h, 0.5 x 2 h.
    assert (hours["intake-survey", "estimator"], hours["roof-access", "helper"]) == ("0.9900", "1.0000")


def test_a_slide_room_without_courses_still_has_a_price_for_a_board() -> None:
    # No course fits a slide room, so that a board is taken by its area: 1/32 sheet of 34.00 x 1.35 = 1.434375, no joint;
    # sheets off 3.33, on rafters 6.27, adhesive 1/60 x 1.1 x 9.50 x 1.35 = 0.235125, screws 0.184564.
    quote = quoted(inputs(with_slide(), plan="slide-roof", skin="membrane"))
    (deck,) = [work for work in quote.hidden if work.component.slug == "deck"]

    assert (deck.exposure, str(deck.cost.price)) == (0.0, "11.454064")
