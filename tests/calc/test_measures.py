"""Every measure is defined once, and the derived ones follow from the dimensions."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.errors import CalculationFaults
from costbase.calc.formula import RESERVED, Choice, Flag, Number
from costbase.calc.measures import (
    MEASURES,
    MeasureError,
    MissingMeasureError,
    UnknownMeasureError,
    Value,
    check_values,
    derive,
    derived_order,
    formula_of,
    names,
    over_sections,
)
from costbase.calc.units import BY_SYMBOL, in_unit
from tests.sample_coaches import FRAMED, LAMINATED, measures

SQUARE_FOOT = 9_290_304.0
FOOT = 3048.0
INCH = 254.0

# Worked by hand from the dimensions, six decimals: plan 34 x 8; skin 408 x 103.634537 / 144; deck 408 x 88.068166 / 144;
# side 2 x 34; perimeter 68 + 16.772423; pads 4 + 8; penetrations 31.333333 + 3.141593 + 4.666667 + 12; openings 2 + 3 + 1 + 1;
# rafters (floor(408/16) + 1) x 8. Waste, dry: 293.631 x 0.61 + 249.526 x 0.549 + 37.429 x 2.5/12 x 1 + 272 x 0.25; wet: deck
# x 1.60/1.12 and foam at 1 + 0.04 x 62.4 = 3.496 lb/ft3; volume: (391.903 - 7.798)/300 + 7.798 x 1.5/27.
LAMINATED_DERIVED = {
    "plan_area": 272.0,
    "skin_area": 293.631187,
    "deck_area": 249.526470,
    "side_edge_length": 68.0,
    "perimeter": 84.772423,
    "pad_length": 12.0,
    "penetration_length": 51.141593,
    "opening_count": 7.0,
    "deck_replaced_area": 249.526470,
    "foam_replaced_area": 37.428971,
    "old_coated_area": 146.815594,
    "rafter_length": 208.0,
    "waste_mass_dry": 391.902758,
    "waste_mass_wet": 470.075837,
    "waste_mass": 0.235038,
    "waste_volume": 1.713556,
}
# The same way: skin 336 x 103.347002 / 144, rafters (floor(336/16) + 1) x 98/12, deck replaced 0.15 x 219.482239; no foam.
FRAMED_DERIVED = {
    "plan_area": 228.666667,
    "skin_area": 241.143005,
    "deck_area": 219.482239,
    "perimeter": 72.7245,
    "penetration_length": 41.808259,
    "opening_count": 6.0,
    "deck_replaced_area": 32.922336,
    "foam_replaced_area": 0.0,
    "old_coated_area": 72.342901,
    "rafter_length": 179.666667,
    "waste_mass_dry": 161.724336,
    "waste_mass_wet": 177.597605,
    "waste_mass": 0.088799,
    "waste_volume": 0.539081,
}


def whole_coach(coach: dict[str, str | bool], **changes: Value) -> dict[str, Value]:
    given_values = {**measures(coach), **changes}
    of_quote = {slug: value for slug, value in given_values.items() if MEASURES[slug].level == "quote"}
    return derive("section", {**derive("quote", of_quote), **given_values})


@pytest.mark.parametrize(("coach", "expected"), [(LAMINATED, LAMINATED_DERIVED), (FRAMED, FRAMED_DERIVED)])
def test_the_derived_measures_of_the_sample_coaches_are_as_worked_by_hand(
    coach: dict[str, str | bool], expected: dict[str, float]
) -> None:
    found = whole_coach(coach)
    for slug, value in expected.items():
        number = found[slug]
        assert isinstance(number, float)
        assert in_unit(number, MEASURES[slug].unit) == pytest.approx(value, abs=2e-6), slug


def test_there_are_115_measures_and_none_is_called_like_a_word_of_the_language() -> None:
    assert len(MEASURES) == 115
    assert RESERVED.isdisjoint(MEASURES)


@pytest.mark.parametrize("slug", sorted(MEASURES))
def test_each_measure_is_defined_in_one_plain_sentence_with_a_unit_of_its_dimension(slug: str) -> None:
    measure = MEASURES[slug]
    assert measure.definition.endswith(".")
    assert measure.definition[0].isupper()
    assert measure.definition.count(".") == measure.definition.rstrip(".").count(".") + 1
    if isinstance(measure.kind, Number):
        assert BY_SYMBOL[measure.unit].dimension == measure.kind.dimension
        assert measure.kind.whole == (measure.unit == "each")
    else:
        assert isinstance(measure.kind, Flag | Choice)
        assert measure.unit == ""
    assert (measure.combine == "same") == (measure.level == "quote")


def test_a_derived_measure_comes_after_those_it_reads() -> None:
    order = derived_order()
    for index, slug in enumerate(order):
        assert all(name in order[:index] for name in formula_of(slug).inputs if name in order)
    assert len(order) == 18


def test_no_formula_of_a_measure_leaves_a_doubt() -> None:
    assert [slug for slug in derived_order() if formula_of(slug).warnings] == []


def test_sealant_to_scrape_is_the_perimeter_and_the_penetrations_too_where_the_skin_stays() -> None:
    coach = {slug: said for slug, said in LAMINATED.items() if slug != "old_bead_length"}
    # 84.772423 ft of perimeter; 51.141593 ft of penetrations.
    assert in_unit(float(whole_coach(coach)["old_bead_length"]), "ft") == pytest.approx(84.772423, abs=1e-6)
    stays = whole_coach(coach, skin_off=False)
    assert in_unit(float(stays["old_bead_length"]), "ft") == pytest.approx(135.914016, abs=2e-6)


def test_a_measured_figure_replaces_a_default() -> None:
    assert whole_coach(LAMINATED)["old_bead_length"] == 150 * FOOT


def test_a_derived_figure_is_worked_out_whatever_somebody_gives() -> None:
    assert whole_coach(LAMINATED, plan_area=1.0)["plan_area"] == pytest.approx(272 * SQUARE_FOOT, rel=1e-12)


def test_where_the_skin_stays_twelve_pounds_of_scrapings_are_left() -> None:
    kept = whole_coach(LAMINATED, skin_off=False, deck_replaced_share=0.0, foam_replaced_share=0.0)
    assert in_unit(float(kept["waste_mass_dry"]), "lb") == pytest.approx(12.0, abs=1e-9)
    assert in_unit(float(kept["waste_mass"]), "ton") == pytest.approx(0.006, abs=1e-9)
    # 12 lb at 300 lb to the cubic yard.
    assert in_unit(float(kept["waste_volume"]), "yd3") == pytest.approx(0.04, abs=1e-9)


def test_a_roof_without_rafters_has_no_length_of_them() -> None:
    assert whole_coach(FRAMED, rafter_spacing=0.0)["rafter_length"] == 0.0


def test_what_nobody_said_is_nothing_and_what_must_be_said_is_asked_for() -> None:
    found = derive("quote", {"skin_off": True})
    assert found["reuse_fittings"] is False
    assert found["open_days"] == 0.0
    assert "dust_work" not in found
    short = {slug: value for slug, value in measures(LAMINATED).items() if slug not in ("crown_arc", "skin_off")}
    with pytest.raises(CalculationFaults) as refused:
        derive("section", short)
    assert [fault.field for fault in refused.value.faults] == ["crown_arc", "skin_off"]
    assert all(isinstance(fault, MissingMeasureError) for fault in refused.value.faults)


def test_a_name_that_is_no_measure_is_refused() -> None:
    with pytest.raises(UnknownMeasureError) as refused:
        derive("section", {**measures(LAMINATED), "roof_lenght": 1.0})
    assert refused.value.field == "roof_lenght"
    with pytest.raises(UnknownMeasureError):
        derive("quote", {"body_width": 1.0})


def test_a_width_has_no_total_and_stays_out_of_sight_of_the_quote() -> None:
    assert "body_width" in names("section")
    assert "body_width" not in names("quote")
    assert "deck_replaced_share" not in names("quote")
    assert {"skin_off", "perimeter", "waste_volume", "over_silicone", "dry_days"} <= set(names("quote"))
    assert names("quote") is names("quote")
    with pytest.raises(MeasureError):
        names("roof")


def test_sections_add_up_dry_side_by_side_and_any_silicone_counts() -> None:
    main = whole_coach(LAMINATED)
    rear = whole_coach(FRAMED, over_silicone=True)
    both = over_sections([main, rear])
    # 272 + 228.666667 ft2; the longer of 3 and 1 days; 3 + 3 vents.
    assert in_unit(float(both["plan_area"]), "ft2") == pytest.approx(500.666667, abs=1e-6)
    assert in_unit(float(both["dry_days"]), "day") == 3.0
    assert both["vent_count"] == 6.0
    assert both["over_silicone"] is True
    assert "body_width" not in both
    assert "skin_off" not in both
    with pytest.raises(MeasureError):
        over_sections([])


def test_the_sum_over_one_section_is_that_section() -> None:
    main = whole_coach(LAMINATED)
    assert all(value == main[slug] for slug, value in over_sections([main]).items())


@pytest.mark.parametrize(
    ("slug", "value", "expected"),
    [
        ("vent_count", 2.5, "a whole number"),
        ("vent_count", -1.0, "from 0 each"),
        ("vent_count", True, "a plain number"),
        ("deck_replaced_share", 1.2, "from 0 share to 1 share"),
        ("body_width", 121 * INCH, "to 120 in"),
        ("body_width", math.nan, "from 0 in"),
        ("body_width", "96 in", "a length"),
        ("skin_off", 1.0, "yes or no"),
        ("skin", "paper", "aluminium, frp, membrane"),
    ],
)
def test_a_value_that_cannot_be_is_refused_with_what_was_expected(slug: str, value: Value, expected: str) -> None:
    with pytest.raises(MeasureError) as refused:
        check_values({slug: value})
    assert refused.value.field == slug
    assert expected in refused.value.message


def test_all_values_that_cannot_be_are_told_at_once() -> None:
    with pytest.raises(CalculationFaults) as refused:
        check_values({"vent_count": 0.5, "roof_kind": "paper", "cloud_count": 1.0})
    assert [fault.field for fault in refused.value.faults] == ["vent_count", "roof_kind", "cloud_count"]
    with pytest.raises(UnknownMeasureError):
        check_values({"vent_count": 1.0}, allowed=["dry_days"])


@settings(max_examples=60, deadline=None)
@given(
    length=st.floats(36 * INCH, 720 * INCH),
    width=st.floats(48 * INCH, 110 * INCH),
    share=st.floats(0, 1),
    more=st.floats(0, 1),
)
def test_more_roof_or_more_deck_replaced_is_never_less_of_anything(
    length: float, width: float, share: float, more: float
) -> None:
    small = whole_coach(LAMINATED, roof_length=length, body_width=width, deck_replaced_share=share * more)
    large = whole_coach(LAMINATED, roof_length=length * (1 + more), body_width=width, deck_replaced_share=share)
    growing = (
        "plan_area",
        "skin_area",
        "deck_area",
        "perimeter",
        "deck_replaced_area",
        "waste_mass",
        "waste_volume",
        "rafter_length",
    )
    assert all(float(small[slug]) <= float(large[slug]) * (1 + 1e-9) for slug in growing)
    assert float(large["deck_replaced_area"]) <= float(large["deck_area"]) * (1 + 1e-9)
