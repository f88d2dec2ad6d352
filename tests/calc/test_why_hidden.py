"""Why this unit price, this allowance, this tier and this tax: a person can follow them step by step."""

from quotes.calc.inputs import TierOverride
from quotes.calc.why import why_allowance, why_amount, why_tier, why_unit_price
from tests.calc.roofs import framed_28_ft, laminated_34_ft
from tests.calc.shipped_base import explained, inputs
from tests.calc.surveys import all_cells, finding, survey
from tests.calc.why_cases import context, line, shown

# Hidden work ------------------------------------------------------------------------------------------------


def test_a_unit_price_shows_the_find_each_repair_and_their_sum() -> None:
    told = line(why_unit_price(context("laminated"), "edge"))

    assert told[0] == "priced at the mean find on section main, 23.5302 % of 62 ft = 14.5887 ft"
    assert "Sidewall-top and edge framing repair, lead-technician: 0.4 h at the billed rate of 150 = 60 USD/ft" in told
    assert "Sidewall-top and edge framing repair, Kiln-dried 2x2 framing strip, 8 ft: 2 with waste of 12 % = 2.24 ft" in told
    assert "Kiln-dried 2x2 framing strip, 8 ft: what the owner pays for it = 2.5704 USD/ft" in told
    assert "labour of one ft = 107.25 USD/ft" in told
    assert "material of one ft = 5.076338 USD/ft" in told
    assert "set-up, charged once when anything is found = 225.00 USD" in told
    assert told[-1] == "unit price: labour + material, rounded to 6 decimals = 112.326338 USD/ft"


def test_the_price_of_a_hidden_board_shows_its_layout() -> None:
    told = line(why_unit_price(context("laminated"), "deck"))

    assert told[0] == "priced at a find of 25 % of 249.5265 ft2 of deck on section main = 62.3816 ft2"
    assert "courses of that find, each 4 ft by 7.339 ft = 2.125 each" in told
    assert "deck_sheets of that find = 2.125 each" in told
    assert "no set-up is agreed, since nothing is exposed = 0.00 USD" in told


def test_work_that_a_find_saves_is_told_as_saved() -> None:
    told = line(why_unit_price(context("laminated"), "deck_splinters"))

    # Splinters 0.04 x 135 + 0.05 x 95 = 10.15, less sheets 0.012 x 135 + 0.018 x 95 = 3.33.
    assert "saved: Deck off, sheet mode, technician: 0.012 h at the billed rate of 135 = 1.62 USD/ft2" in told
    assert "labour of one ft2 = 6.82 USD/ft2" in told


def test_a_component_of_two_constructions_is_asked_for_by_construction() -> None:
    here = context("two sections")
    front, rear = (why_unit_price(here, "deck", kind) for kind in ("laminated", "framed"))

    assert front.value != rear.value
    assert why_unit_price(here, "deck") == front


def test_the_allowance_can_be_followed_from_exposure_to_reserve() -> None:
    told = line(why_allowance(context("laminated")))

    exposed = "max(0, captive_nut_count - spun_nut_count) if skin_off else 0 (skin_off is yes)"
    assert f"Captive nuts: what the work exposes: {exposed} = 18 each" in told
    moved = "40 % in the middle of the tiers moved by -0.18 (logit) to tier local"
    assert f"Captive nuts: chance that any of it is rotten, {moved} = 35.7676 %" in told
    assert "Captive nuts: 35.7676 % x 28.3473 % x 18 x 48.5568 + 35.7676 % x set-up = 112.76 USD" in told
    assert "Captive nuts: its part of the allowance, so that all parts add up = 112.75 USD" in told
    assert "value number 3277 of 4096 in rising order, for 80 % = 3644.71 USD" in told
    assert "contingency: the larger of the two, the value at the level = 3644.71 USD" in told
    assert "reserve: contingency less allowance = 1606.61 USD" in told


def test_marks_that_shrink_an_exposure_are_a_step_with_the_survey_as_its_source() -> None:
    sound = survey(*all_cells(framed_28_ft().sections[0], "sound", "metered"), method="metered")
    here = explained(inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane", survey=sound))
    steps = why_allowance(here).steps

    (left,) = [step for step in steps if step.text == "Deck: share of it that sound cells of section main leave"]
    assert (left.value, left.unit) == ("0.4", "share")
    assert left.source.startswith("survey of 2026-03-02, metered; severity ")
    # 219.4822 x 0.4.
    assert "Deck: exposure, 219.4822 x 0.4 = 87.7929 ft2" in [shown(step) for step in steps]


def test_a_scope_that_opens_nothing_says_so() -> None:
    told = line(why_allowance(context("reseal")))

    assert told[0] == "this scope exposes nothing that could be rotten unseen = 0.00 USD"


def test_an_open_quote_shows_the_shop_s_record() -> None:
    here = context("loaded")

    assert "this shop's record on such work = 1.0676 times" in line(why_allowance(here))
    assert line(why_amount(here, "record"))[-1].startswith("this shop's record on such work = ")
    assert line(why_amount(context("laminated"), "record")) == ["a firm price: the shop's record moves nothing = 0.00 USD"]


# Tier and amounts -------------------------------------------------------------------------------------------


def test_the_tier_shows_every_rule_that_fired_and_what_an_estimator_set_against_them() -> None:
    sag = survey(*all_cells(laminated_34_ft().sections[0]), finding("sag_at_ac", "front unit", extent=0.5 * 254))
    override = TierOverride("widespread", "the owner reports leaks for years")
    steps = why_tier(explained(inputs(laminated_34_ft(), survey=sag, override=override))).steps
    told = [shown(step) for step in steps]

    assert "sign of a damaged frame: sag at ac at front unit (main) (only for core, ac frame) = frame" in told
    assert "tier of core alone = frame" in told
    assert told[-2] == "tier of the roof: the highest of the rules for all of it = local"
    assert told[-1] == "tier of the roof: set by the estimator = widespread"
    assert steps[-1].source == "estimator: the owner reports leaks for years"


def test_tax_shows_its_classes_its_mode_and_every_rate() -> None:
    told = line(why_amount(context("loaded"), "limit_tax"))

    assert any(text.startswith("visible work of tax class labour = ") for text in told)
    assert any(
        text.startswith("largest share of material in the unit price of a component that is exposed = ") for text in told
    )
    assert any(text.startswith("taxed under mode parts only = ") for text in told)
    assert any(text.startswith("City: 2 % of it, rounded once = ") for text in told)


def test_the_owner_s_rounding_is_a_step() -> None:
    told = line(why_amount(context("loaded"), "limit_with_tax"))

    assert any(text.startswith("to steps of 5, half up = ") for text in told)
