"""Facts of the trade act on a whole quote. Common practice, none published, unless a test says otherwise."""

from decimal import Decimal

import pytest

from costbase.calc.units import in_unit
from quotes.calc.geometry import Roof
from quotes.calc.inputs import TierOverride
from quotes.calc.labour import ChosenCondition, LabourLine
from quotes.calc.quote import PlanError, Quote
from tests.calc.roofs import FOOT, common_openings, laminated_34_ft, roof, section
from tests.calc.shipped_base import entry, hours_of, inputs, laminated, quoted
from tests.calc.surveys import all_cells, cell, finding, repair, ring, survey


def line_of(quote: Quote, assembly: str, trade: str) -> LabourLine:
    return next(line for line in quote.visible.labour if (line.assembly, line.trade) == (assembly, trade))


def materials_of(quote: Quote) -> dict[str, str]:
    return {line.packed.material.slug: str(line.packed.net) for line in quote.visible.materials}


def exposure_of(quote: Quote, component: str) -> float:
    return next(work.exposure for work in quote.hidden if work.component.slug == component)


# Silicone, added trim, screws -------------------------------------------------------------------------------


def test_silicone_on_a_seam_makes_scraping_half_as_long_again() -> None:
    found = survey(finding("silicone_on_seam", extent=10 * FOOT))
    quote = quoted(inputs(laminated_34_ft(), survey=found))

    # The perimeter of 84.7724 ft x 0.06 h x 1.5 = 7.6295 h.
    line = line_of(quote, "scrape-sealant", "helper")
    assert (str(line.template_hours), str(line.factor), str(line.hours)) == ("5.0863", "1.5", "7.6295")
    assert [(m.slug, m.reason) for m in line.multipliers] == [("silicone-seams", "follows from over silicone")]
    assert {m.slug for other in quote.visible.labour if other is not line for m in other.multipliers} == set()


def test_over_silicone_the_coating_is_silicone_since_no_other_bonds_to_it() -> None:
    # Source: a published coating specification bars acrylic over silicone. 200 sq ft x 2 coats / 75 sq ft a gallon.
    entered = (entry("coat_area", "200 ft2"),)
    silicone = survey(repair("coating", chemistry="silicone", share=0.1))
    over_silicone = materials_of(quoted(inputs(laminated_34_ft(), plan="coat", survey=silicone, entered=entered)))
    over_laminate = materials_of(quoted(inputs(laminated_34_ft(), plan="coat", entered=entered)))

    assert (over_silicone["silicone-coating"], over_laminate["acrylic-coating"]) == ("5.3333", "5.0000")
    assert "acrylic-coating" not in over_silicone
    assert "silicone-coating" not in over_laminate


def test_an_acrylic_that_goes_over_silicone_after_all_is_warned_of() -> None:
    # Source: as above. The estimator says that there is none, and the survey found it.
    entered = (entry("coat_area", "200 ft2"), entry("over_silicone", False))
    silicone = survey(repair("coating", chemistry="silicone", share=0.1))
    told = quoted(inputs(laminated_34_ft(), plan="coat", survey=silicone, entered=entered)).warnings
    assert [w for w in told if "does not bond to silicone" in w] == [
        "Acrylic roof coating does not bond to silicone, which the survey found on section main; "
        "choose another material or take it off"
    ]
    acrylic = survey(repair("coating", chemistry="acrylic", share=0.1))
    told = quoted(inputs(laminated_34_ft(), plan="coat", survey=acrylic, entered=entered)).warnings
    assert not [w for w in told if "does not bond" in w]


def test_added_trim_makes_teardown_longer() -> None:
    trimmed = quoted(inputs(laminated_34_ft(), survey=survey(repair("added_trim", length=12 * FOOT))))
    plain = hours_of(quoted(inputs(laminated_34_ft())))

    # 6.7818 = 4.2386 + 2.5432 h of rails, each x 1.3: 5.5102 + 3.3061; the skin 3.5236 x 1.3 = 4.5806 of each trade.
    longer = {slug: (plain[slug], hours) for slug, hours in hours_of(trimmed).items() if hours != plain[slug]}
    assert {slug: tuple(map(str, pair)) for slug, pair in longer.items()} == {
        "rails-trims-off": ("6.7818", "8.8163"),
        "scrape-sealant": ("5.0863", "6.6122"),
        "skin-off": ("7.0472", "9.1612"),
    }


def test_added_trim_on_a_skin_that_stays_is_a_strip_two_feet_wide_to_clean() -> None:
    found = survey(repair("added_trim", length=12 * FOOT))
    quote = quoted(inputs(laminated_34_ft(), plan="reseal", survey=found))

    # 12 ft x 2 ft x 0.08 h = 1.92 h, not multiplied: what a formula counts is no condition as well.
    assert str(line_of(quote, "coating-off", "helper").hours) == "1.9200"


def test_screws_that_somebody_added_are_a_condition_with_its_finding_as_the_reason() -> None:
    found = survey(finding("added_screws", "along the rear cap", extent=8 * FOOT), repair("screws"))
    quote = quoted(inputs(laminated_34_ft(), survey=found))

    (multiplier,) = quote.multipliers
    assert multiplier.slug == "added-trim"
    assert multiplier.reason == "found by the survey: added screws, along the rear cap (main); earlier repair: screws (main)"


def test_a_condition_that_a_person_chose_keeps_the_person_s_reason() -> None:
    chosen = ChosenCondition("silicone-seams", "the owner showed the tube")
    found = survey(finding("silicone_on_seam", extent=10 * FOOT))
    quote = quoted(inputs(laminated_34_ft(), survey=found, conditions=(chosen,)))

    assert [(m.slug, m.reason) for m in quote.multipliers] == [("silicone-seams", "the owner showed the tube")]


# Frames, deck, ceiling --------------------------------------------------------------------------------------


def test_a_missing_backing_is_framed_and_no_longer_exposed() -> None:
    found = survey(ring("vent 1", "sound", "opened", backing="missing"))
    quote = quoted(inputs(laminated_34_ft(), survey=found))

    # 0.5 h set-up + 0.8 h; 6 ft of strip, 5 ft of bar, half a cartridge.
    assert str(line_of(quote, "opening-backing", "technician").hours) == "1.3000"
    assert materials_of(quote)["framing-strip-2-by-2-in"] == "6.0000"
    # Three vents, a skylight and a refrigerator vent, less the one that is framed.
    assert exposure_of(quote, "opening_frame") == 4.0


def test_an_air_conditioner_without_its_frame_is_braced() -> None:
    found = survey(ring("front unit", "soft", "opened"))
    quote = quoted(inputs(laminated_34_ft(), survey=found))

    # 1 h set-up + 1.5 h of a fabricator, 1 h of a technician.
    assert str(line_of(quote, "bracing-add", "fabricator").hours) == "2.5000"
    assert str(line_of(quote, "bracing-add", "technician").hours) == "1.0000"
    assert exposure_of(quote, "ac_frame") == 1.0


def test_deck_whose_plies_part_is_replaced_by_the_course_and_never_glued() -> None:
    found = survey(finding("delaminated_deck", "cell 3D"))
    quote = quoted(inputs(laminated_34_ft(), plan="skin-over-kept-deck", survey=found))

    # Row 3 lies from 4 to 6 ft, so in the course from 4 to 8 ft: 4 ft x 7.3390 ft = 29.3561 sq ft, one sheet.
    whole = quote.measured.whole
    assert in_unit(float(whole["deck_replaced_area"]), "ft2") == pytest.approx(29.356055, abs=1e-5)
    assert materials_of(quote)["lauan-sheet-5-2-mm"] == "1.0000"
    (action,) = quote.reading.actions
    assert (action.text, action.source) == ("deck replaced from 4 ft to 8 ft", "main, cell 3D: delaminated deck")
    # What stays is exposed: 249.5265 - 29.3561.
    assert exposure_of(quote, "deck") == 220.1704


def test_a_deck_that_is_replaced_whole_hides_no_deck_but_may_come_off_in_splinters() -> None:
    quote = quoted(inputs(laminated_34_ft()))

    assert exposure_of(quote, "deck") == 0.0
    assert exposure_of(quote, "deck_splinters") == 249.5265


def test_a_skin_straight_on_its_frame_has_no_deck_to_replace() -> None:
    bare = section(construction="metal", old_skin="aluminium", deck="none", length_in=240, core_in=0)
    quote = quoted(inputs(Roof((bare,), ())))

    assert quote.measured.whole["deck_replaced_area"] == 0.0
    assert {"deck-off-sheets", "deck-on-rafters", "deck-joints"} & set(hours_of(quote)) == set()
    assert exposure_of(quote, "deck_splinters") == 0.0


def test_the_ceiling_is_reported_and_not_in_the_price() -> None:
    quote = quoted(inputs(laminated_34_ft()))

    assert quote.exclusions == ("Ceiling panel: looked at and reported, not in this price",)
    assert exposure_of(quote, "ceiling") == 0.0


def test_a_ceiling_that_is_sold_as_an_option_is_in_the_price() -> None:
    quote = quoted(inputs(laminated_34_ft(), options=("ceiling-panel",), entered=(entry("ceiling_area", "40 ft2"),)))

    # 1 h set-up + 40 sq ft x 0.08 h; 40 / 32 = 1.25 panels, + 15 % = 1.4375: 2.
    line = line_of(quote, "ceiling-panel", "technician")
    assert (str(line.hours), line.kind) == ("4.2000", "option")
    (panels,) = [line for line in quote.visible.materials if line.packed.material.slug == "ceiling-panel"]
    assert str(panels.packed.packs) == "2"
    assert quote.exclusions == ()


def test_a_stained_ceiling_is_named_where_it_is() -> None:
    quote = quoted(inputs(laminated_34_ft(), survey=survey(finding("ceiling_stain", "by the rear vent"))))

    assert quote.exclusions[0] == (
        "Ceiling, by the rear vent (main): stained. Photographed and reported; the ceiling itself is not in this price."
    )


# What a plan does not open ----------------------------------------------------------------------------------


@pytest.mark.parametrize("plan", ["reseal", "coat"])
def test_where_nothing_is_opened_nothing_is_set_aside_and_the_paper_says_so(plan: str) -> None:
    entered = (entry("coat_area", "200 ft2"),) if plan == "coat" else ()
    quote = quoted(inputs(laminated_34_ft(), plan=plan, entered=entered))

    assert {work.exposure for work in quote.hidden} == {0.0}
    assert quote.totals.contingency == quote.totals.allowance == quote.totals.reserve == Decimal("0.00")
    assert quote.totals.limit == quote.totals.base
    assert quote.set_aside.chance_nothing_found == 1.0
    assert quote.exclusions[-1].startswith("Not looked under")


def test_where_nothing_is_exposed_a_unit_price_is_that_of_one_unit_without_set_up() -> None:
    quote = quoted(inputs(laminated_34_ft(), plan="reseal"))
    costs = {work.component.slug: work.cost for work in quote.hidden}

    # Foam: 0.07 x 135 + 0.03 x 95 = 12.30; 1/32 x 1.1 x 38 x 1.35 + 0.01 x 1.1 x 118 x 1.35 + 1/40 x 1.1 x 16 x 1.35 =
    # 1.7634375 + 1.7523 + 0.594 = 4.1097375.
    assert (str(costs["core"].price), str(costs["core"].set_up), costs["core"].priced_at) == ("16.409738", "0.00", 1.0)


def test_a_coating_is_refused_on_a_roof_of_which_more_than_a_fifth_is_wet() -> None:
    # Source: a published coating specification. 4 of 16 cells of four rows are damp: 25 %.
    entered = (entry("coat_area", "200 ft2"),)
    rows = [cell(f"{row}{lane}", "damp" if row == 1 else "sound") for row in (1, 2, 3, 4) for lane in "ABCD"]
    with pytest.raises(PlanError) as refused:
        quoted(inputs(laminated_34_ft(), plan="coat", survey=survey(*rows), entered=entered))

    assert refused.value.field == "plan"
    assert "25% of the roof is wet and the plan allows 20%" in refused.value.message


def test_a_coating_is_laid_on_a_roof_of_which_just_a_fifth_is_wet() -> None:
    entered = (entry("coat_area", "200 ft2"),)
    rows = [cell(f"{row}{lane}", "damp" if row == 1 else "sound") for row in (1, 2, 3, 4, 5) for lane in "ABCD"]
    quote = quoted(inputs(laminated_34_ft(), plan="coat", survey=survey(*rows), entered=entered))

    assert quote.reading.wet_share == pytest.approx(0.2)
    assert quote.totals.base > 0


def test_a_reseal_takes_a_third_of_an_intake_and_half_a_leak_test() -> None:
    quote = quoted(inputs(laminated_34_ft(), plan="reseal"))

    # 0.33 x 3 h; 0.33 x 2 h and 0.33 x 1 h; 0.5 x 1.5 h; 0.33 x 1.5 h. The protective set is a whole one all the same.
    hours = {(line.assembly, line.trade): str(line.hours) for line in quote.visible.labour}
    assert hours["intake-survey", "estimator"] == "0.9900"
    assert (hours["roof-access", "helper"], hours["roof-access", "technician"]) == ("0.6600", "0.3300")
    assert (hours["leak-test", "technician"], hours["hand-over", "helper"]) == ("0.7500", "0.4950")
    assert materials_of(quote)["protective-set"] == "1.0000"


# How the roof was looked at ---------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("method", "provisional"),
    [("told", True), ("photographs", True), ("walked", False), ("metered", False), ("opened", False)],
)
def test_a_quote_from_telling_or_photographs_is_provisional(method: str, provisional: bool) -> None:
    quote = quoted(inputs(laminated_34_ft(), survey=survey(method=method)))

    assert quote.provisional is provisional


def test_an_estimator_s_tier_moves_every_component_and_both_are_kept() -> None:
    tier = TierOverride("widespread", "the owner reports leaks for years")
    worse = quoted(inputs(laminated_34_ft(), override=tier))

    assert (worse.severity.worked_tier, worse.severity.tier) == ("local", "widespread")
    assert {work.tier for work in worse.hidden} == {"widespread"}
    assert worse.totals.allowance > quoted(inputs(laminated_34_ft())).totals.allowance


def test_a_sign_of_a_damaged_frame_raises_only_what_it_speaks_about() -> None:
    sag = survey(*all_cells(laminated_34_ft().sections[0]), finding("sag_at_ac", extent=0.5 * FOOT / 12))
    quote = quoted(inputs(laminated_34_ft(), survey=sag))

    tiers = {work.component.slug: work.tier for work in quote.hidden}
    assert {slug for slug, tier in tiers.items() if tier == "frame"} == {"ac_frame", "core"}
    assert quote.severity.tier == "local"


# Days and cautions ------------------------------------------------------------------------------------------


def test_crews_make_the_days_shorter_and_never_the_hours() -> None:
    # Skin off: 7.0472 h by a crew of two in a day of 8 h = 0.4405 days of the working days.
    quote = quoted(laminated())
    crews = {take.assembly.slug: take.assembly.crew for take in quote.takes}
    by_hand = sum(float(hours) / (crews[slug] * 8.0) for slug, hours in hours_of(quote).items())

    assert crews["skin-off"] == 2
    assert quote.days.working == pytest.approx(by_hand)
    # A bigger crew for one thing shortens nothing else: the rest of the network is worked by hand in test_days.py.
    assert quote.days.low >= quote.days.working


def test_least_temperatures_are_told_with_the_work_that_they_are_for() -> None:
    (cold,) = [text for text in quoted(inputs(laminated_34_ft(), plan="reseal")).cautions if text.startswith("Cold:")]

    assert cold == (
        "Cold: not below 40 F for Perimeter bead, 3/8 in fillet, Self-levelling pour round fittings, 2 in band, 3/16 in thick, "
        "Seal feet, antenna base and cable entry after they are back, from the start until it has cured. "
        "The data sheet of the goods holds."
    )


def test_cautions_come_from_the_job_and_from_its_assemblies_and_each_once() -> None:
    quote = quoted(laminated())

    assert quote.cautions[0].startswith("Falls:")
    assert "Panels are live in daylight: cover and disconnect them first." in quote.cautions
    for word in ("Falls", "Awning", "air conditioner", "engineered design"):
        assert len([text for text in quote.cautions if word in text]) == 1
    assert len(set(quote.cautions)) == len(quote.cautions)


@pytest.mark.parametrize(
    ("area", "words"),
    # Source: EPA 402-K-01-001, size classes of mold growth under 10, 10 to 100, over 100 sq ft.
    [("8 ft2", "Mold growth: wear"), ("40 ft2", "over 10 sq ft"), ("140 ft2", "over 100 sq ft")],
)
def test_mold_growth_is_warned_of_by_its_size(area: str, words: str) -> None:
    quote = quoted(inputs(laminated_34_ft(), entered=(entry("mold_area", area),)))

    assert len([text for text in quote.cautions if text.startswith("Mold growth") and words in text]) == 1


def test_a_roof_wider_than_102_in_is_warned_of_and_not_refused() -> None:
    # Source: 23 CFR 658.15 sets 102 in on the National Network for commercial vehicles; a coach is warned about only.
    wide = section(width_in=103.0, openings=common_openings())
    quote = quoted(inputs(roof(wide)))

    assert any("102" in text for text in quote.warnings)
