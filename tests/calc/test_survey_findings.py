"""What findings, earlier repairs and meter readings put in the base, exclude, suggest and warn about."""

import pytest

from quotes.calc.survey import SurveyReading
from tests.calc.roofs import FOOT, INCH, laminated_34_ft, roof, section, span
from tests.calc.surveys import all_cells, cell, finding, inches_found, meter, read, repair, survey

COACH = laminated_34_ft()


def value(reading: SurveyReading, slug: str) -> float | bool:
    return reading.sections["main"].values[slug]


def test_findings_with_an_extent_feed_their_measures() -> None:
    reading = read(
        survey(
            finding("spinning_captive_nut", "ring front unit", extent=4.0),
            finding("spinning_captive_nut", "ring rear unit", extent=2.0),
            inches_found("cap_corner_crack", 14.0, "strip front 1"),
            inches_found("cap_corner_crack", 10.0, "strip front 5"),
            finding("musty_smell_or_mold", extent=6 * FOOT**2),
            finding("insects_or_droppings", extent=2.0),
            finding("drip_from_light_or_wire", extent=1.0),
        ),
        COACH,
    )
    assert value(reading, "spun_nut_count") == 6.0
    assert value(reading, "cap_crack_length") == pytest.approx(24 * INCH)
    assert value(reading, "mold_area") == pytest.approx(6 * FOOT**2)
    assert value(reading, "vermin_zone_count") == 2.0
    assert value(reading, "wiring_repair_count") == 1.0


def test_without_an_extent_a_drip_is_one_run_vermin_one_zone_and_a_smell_nothing_to_clean() -> None:
    reading = read(
        survey(finding("drip_from_light_or_wire"), finding("insects_or_droppings"), finding("musty_smell_or_mold")),
        COACH,
    )
    assert value(reading, "wiring_repair_count") == 1.0
    assert value(reading, "vermin_zone_count") == 1.0
    assert value(reading, "mold_area") == 0.0


def test_every_amount_says_where_it_was_found() -> None:
    reading = read(survey(finding("spinning_captive_nut", "ring front unit", extent=4.0)), COACH)
    (action,) = reading.actions
    assert (action.text, action.source) == (
        "spun nut count 4",
        "main, ring front unit: spinning captive nut",
    )
    assert (action.section, action.measure) == ("main", "spun_nut_count")


def test_a_delaminated_deck_is_replaced_and_its_cells_count_as_rotten() -> None:
    # Course 2 (48 of 408 in); two cells of 68 are checked, both rotten.
    reading = read(survey(finding("delaminated_deck", "cells 3A, 4B")), COACH)
    assert value(reading, "deck_replaced_share") == pytest.approx(48 / 408)
    assert reading.checked_share == pytest.approx(2 / 68)
    assert reading.weighted_share == 1.0
    assert reading.actions[0].source == "main, cells 3A, 4B: delaminated deck"


def test_a_cell_that_looked_sound_on_top_is_rotten_where_its_plies_have_parted() -> None:
    reading = read(survey(*all_cells(COACH.sections[0]), finding("delaminated_deck", "cell 1A")), COACH)
    assert reading.sound_share == pytest.approx(67 / 68)
    assert value(reading, "deck_replaced_share") == pytest.approx(48 / 408)


def test_ceiling_findings_are_documented_and_excluded() -> None:
    reading = read(survey(finding("ceiling_stain", "over the dinette"), finding("ceiling_propped", "aft bunk")), COACH)
    assert reading.exclusions == (
        "Ceiling, over the dinette (main): stained. Photographed and reported; the ceiling itself is not in this price.",
        "Ceiling, aft bunk (main): propped or screwed up by somebody. Photographed and reported; the ceiling itself is "
        "not in this price.",
    )
    assert reading.actions == ()


def test_screws_through_a_vent_cover_suggest_the_condition_that_slows_taking_off() -> None:
    made = survey(finding("screws_through_vent_cover", "ring vent 1", extent=9.0), repair("screws"))
    reading = read(made, COACH)
    assert reading.conditions == ("added-trim",)
    assert "main, ring vent 1: screws through vent cover: taking off takes longer, consider the condition added-trim" in (
        reading.warnings
    )
    assert not any(reading.sections["main"].values.values())


def test_coating_and_tape_cover_the_skin_and_silicone_is_told_by_its_chemistry() -> None:
    reading = read(
        survey(repair("coating", chemistry="acrylic", share=0.4), repair("tape", chemistry="unknown", share=0.1)), COACH
    )
    assert value(reading, "old_coating_share") == pytest.approx(0.5)
    assert value(reading, "over_silicone") is False
    over = read(survey(repair("tape", chemistry="silicone", share=0.1)), COACH)
    assert value(over, "over_silicone") is True


def test_layers_never_cover_more_than_the_whole_skin() -> None:
    coats = [repair("coating", chemistry="acrylic", share=0.8)] * 2
    assert value(read(survey(*coats), COACH), "old_coating_share") == 1.0


def test_silicone_on_a_seam_is_silicone() -> None:
    reading = read(survey(finding("silicone_on_seam", "strip rear 2")), COACH)
    assert value(reading, "over_silicone") is True
    assert reading.actions[0].measure == "over_silicone"


def test_added_trim_comes_off_by_its_length() -> None:
    reading = read(survey(repair("added_trim", length=30 * FOOT), repair("added_trim", length=12 * FOOT)), COACH)
    assert value(reading, "added_trim_length") == pytest.approx(42 * FOOT)


# In a part of the roof --------------------------------------------------------------------------------


def test_a_finding_on_the_grid_counts_where_it_lies() -> None:
    crack = inches_found("cap_corner_crack", 14.0, "strip front 1")
    assert value(read(survey(crack), COACH, span(end_in=96.0)), "cap_crack_length") == pytest.approx(14 * INCH)
    rear = read(survey(crack), COACH, span(start_in=96.0))
    assert value(rear, "cap_crack_length") == 0.0
    assert rear.findings == ()
    assert "main, strip front 1: cap corner crack lies outside of this scope" in rear.warnings


@pytest.mark.parametrize(
    ("place", "inside"),
    [("cell 4A", True), ("cells 1A, 4A", True), ("cell 1A", False), ("strip driver 4", True), ("strip driver 1", False),
     ("ring front unit", True), ("ring rear unit", False), ("strip rear 1", False)],
)  # fmt: skip
def test_a_place_lies_in_the_span_or_not(place: str, inside: bool) -> None:
    reading = read(survey(finding("insects_or_droppings", place)), COACH, span(start_in=72.0, end_in=200.0))
    assert (value(reading, "vermin_zone_count") == 1.0) is inside


def test_a_finding_in_words_of_ones_own_counts_in_a_part_and_is_named() -> None:
    reading = read(survey(finding("insects_or_droppings", "somewhere aft")), COACH, span(end_in=96.0))
    assert value(reading, "vermin_zone_count") == 1.0
    assert any("'somewhere aft' has no place on the grid" in warning for warning in reading.warnings)


def test_added_trim_counts_in_full_in_a_part_and_is_named() -> None:
    reading = read(survey(repair("added_trim", length=30 * FOOT)), COACH, span(end_in=96.0))
    assert value(reading, "added_trim_length") == pytest.approx(30 * FOOT)
    assert any("added trim has no station" in warning for warning in reading.warnings)


# Meter readings ---------------------------------------------------------------------------------------


# Bands of the first publisher: 0-15 / 15-20 note / 20-24 early / 25-30 repair / from 31 structural.
@pytest.mark.parametrize(
    ("percent", "band"),
    [(0.0, "dry"), (14.9, "dry"), (15.0, "note"), (20.0, "early"), (24.5, "early"), (25.0, "repair"), (30.5, "repair"),
     (31.0, "structural"), (100.0, "structural")],
)  # fmt: skip
def test_a_pin_reading_is_in_its_instruments_own_band(percent: float, band: str) -> None:
    (banded,) = read(survey(meter(percent)), COACH).bands
    assert (banded.band, banded.void) == (band, False)


# Bands of the second: 0-15 / 15-20 recheck / 20-30 repair / above 30 structural.
@pytest.mark.parametrize(
    ("percent", "band"), [(15.0, "recheck"), (20.0, "repair"), (24.5, "repair"), (30.0, "repair"), (30.1, "structural")]
)
def test_the_same_figure_means_something_else_on_another_instrument(percent: float, band: str) -> None:
    (banded,) = read(survey(meter(percent, "pad-meter")), COACH).bands
    assert banded.band == band


@pytest.mark.parametrize("skin", ["epdm", "aluminium"])
def test_a_capacitance_reading_over_metal_or_black_rubber_is_void(skin: str) -> None:
    coach = roof(section(old_skin=skin))
    reading = read(survey(meter(28.0, "pad-meter")), coach)
    assert reading.bands[0].void
    assert reading.bands[0].band == ""
    assert any(f"void: taken over a skin of {skin}" in warning for warning in reading.warnings)
    assert not read(survey(meter(28.0, "probe-meter")), coach).bands[0].void


def test_a_capacitance_reading_over_foil_is_void() -> None:
    reading = read(survey(meter(28.0, "pad-meter", over_foil=True)), COACH)
    assert reading.bands[0].words == "void: taken over foil, which the meter reads instead"


def test_a_wet_reading_without_a_damp_mark_is_asked_about() -> None:
    reading = read(survey(meter(27.0)), COACH)
    assert any("27 % by probe-meter: repair needed; yet nothing here is marked damp" in text for text in reading.warnings)
    marked = read(survey(meter(27.0), cell("1A", "damp", "metered")), COACH)
    assert not any("27 %" in text for text in marked.warnings)
    assert not any("by probe-meter" in text for text in read(survey(meter(16.0)), COACH).warnings)
