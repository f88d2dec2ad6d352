"""Every answer to "why?" lands on what the quote stores, and a person can follow it step by step."""

import re
from collections.abc import Iterator
from decimal import Decimal

import pytest

from costbase.calc.measures import MEASURES
from quotes.calc.why import (
    AMOUNTS,
    Context,
    NothingToExplainError,
    Why,
    why_allowance,
    why_amount,
    why_freight,
    why_labour,
    why_material,
    why_shop,
    why_tier,
    why_unit_price,
)
from tests.calc.roofs import framed_28_ft
from tests.calc.shipped_base import entry, explained, inputs
from tests.calc.surveys import cell, survey
from tests.calc.why_cases import QUOTES, context, line, shown


def every_why(name: str) -> Iterator[tuple[Why, Decimal | str]]:
    """Every answer that a quote has, with what the quote stores."""
    here = context(name)
    quote = here.quote
    for work in quote.visible.labour:
        yield why_labour(here, work.assembly, work.trade), work.amount
    for goods in quote.visible.materials:
        yield why_material(here, goods.packed.material.slug), goods.amount
    for brought in quote.visible.freight:
        yield why_freight(here, brought.slug), brought.amount
    for shop in quote.visible.shop:
        yield why_shop(here, shop.slug), shop.amount
    for part in quote.hidden:
        yield why_unit_price(here, part.component.slug, part.construction), part.cost.price
    for amount in AMOUNTS:
        yield why_amount(here, amount), stored(here, amount)
    yield why_tier(here), quote.severity.tier
    yield why_allowance(here), quote.totals.allowance


def stored(here: Context, amount: str) -> Decimal:
    visible = here.quote.visible
    found = {"labour": visible.labour_total, "materials": visible.material_total}
    return found[amount] if amount in found else getattr(here.quote.totals, amount)


# All of them ------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", QUOTES)
def test_every_answer_lands_on_what_the_quote_stores(name: str) -> None:
    for why, value in every_why(name):
        assert why.value == value, why.of


@pytest.mark.parametrize("name", QUOTES)
def test_the_last_step_of_every_answer_is_the_number_itself(name: str) -> None:
    # The allowance goes on to the contingency and the reserve, so that one answer tells what is set aside.
    for why, value in every_why(name):
        values = [step.value for step in why.steps]
        if why.of == "allowance":
            assert context(name).money(Decimal(value)) in values
        else:
            last = values[-1] if isinstance(value, str) else Decimal(values[-1])
            assert last == value, why.of


@pytest.mark.parametrize("name", QUOTES)
def test_every_step_has_words_and_a_value_and_no_step_stands_twice(name: str) -> None:
    for why, _ in every_why(name):
        assert why.steps, why.of
        for step in why.steps:
            assert step.text, why.of
            assert step.value, (why.of, step)
        told = [(step.text, step.value, step.unit, step.source) for step in why.steps]
        assert len(set(told)) == len(told), (why.of, [one for one in told if told.count(one) > 1])


SOURCE = re.compile(
    r"coach: section .+"
    r"|survey of \d{4}-\d{2}-\d{2}, (told|photographs|walked|metered|opened).*"
    r"|estimator: .+"
    r"|(plan|assembly|material|price|rate|rule|condition|component|tiers|severity) "
    r"\S+, (shop|network)'s edition of \d{4}-\d{2}-\d{2}(; .+)?"
    r"|rule: .+"
    r"|record: .+"
    r"|why: .+"
)


@pytest.mark.parametrize("name", QUOTES)
def test_every_source_names_coach_survey_estimator_rule_or_an_edition_with_its_day(name: str) -> None:
    for why, _ in every_why(name):
        for step in why.steps:
            assert not step.source or SOURCE.fullmatch(step.source), (why.of, step)


@pytest.mark.parametrize("name", QUOTES)
def test_every_measure_in_an_answer_has_a_source(name: str) -> None:
    # A step about a measure begins with its slug; what several sections come to together is plain arithmetic.
    for why, _ in every_why(name):
        for step in why.steps:
            slug = re.split(r"[ ,]", step.text, maxsplit=1)[0]
            if slug in MEASURES and "together" not in step.text and "any section" not in step.text:
                assert step.source, (why.of, step)


@pytest.mark.parametrize("name", QUOTES)
def test_a_measure_is_told_before_the_first_step_that_reads_it(name: str) -> None:
    for why, _ in every_why(name):
        told: set[str] = set()
        for step in why.steps:
            own = re.split(r"[ ,]", step.text, maxsplit=1)[0]
            formula = step.text.partition(": " if own not in MEASURES else " = ")[2]
            read = {word for word in re.findall(r"[a-z_]+", formula) if word in MEASURES and "_" in word}
            told.add(own)
            assert read <= told, (why.of, step, read - told)


@pytest.mark.parametrize("name", QUOTES)
def test_purchase_prices_and_markups_are_marked_as_the_shop_s_own(name: str) -> None:
    for why, _ in every_why(name):
        for step in why.steps:
            assert step.purchase == ("purchase price" in step.text or "markup of class" in step.text), (why.of, step)


# Lines that a person follows --------------------------------------------------------------------------------


def test_nine_sheets_can_be_followed_from_the_tape_measure_to_the_price() -> None:
    why = why_material(context("laminated"), "lauan-sheet-5-2-mm")

    assert line(why) == [
        "roof_length = 408 in - 0 in (from station to station on main) = 408 in",
        "deck_replaced_share = 1 share",
        "deck_courses = courses that are replaced, ceil(roof_length * deck_replaced_share / 4 ft) = 9 each",
        "chord = 96 in - 2 x 4 in (body width less both edge radii) = 88 in",
        "crown_radius = (88 in)^2 / (8 x 1.5 in) + 1.5 in / 2 (radius of the circle through both ends and the top)"
        " = 646.0833 in",
        "crown_arc = 2 x 646.0833 in x asin(88 in / (2 x 646.0833 in)) (along the crown) = 88.0682 in",
        "sheets_across = sheets of 8 ft side by side, ceil(crown_arc / 8 ft) = 1 each",
        "deck_sheets = deck_courses * sheets_across, an offcut starts no course = 9 each",
        "needed for Deck bond to foam core: deck_sheets = 9 each",
        "net need over the whole quote: 9 = 9 each",
        "with waste of 0 %, once = 9 each",
        "9 / 1 each, rounded up once to whole packs = 9 sheet",
        "purchase price of one sheet = 24 USD/sheet",
        "markup of class materials = 35 %",
        "price of one sheet with markup = 32.4 USD/sheet",
        "9 x 32.4, rounded = 291.60 USD",
    ]


def test_every_step_of_the_nine_sheets_says_where_it_comes_from() -> None:
    sources = [step.source for step in why_material(context("laminated"), "lauan-sheet-5-2-mm").steps]

    assert sources[0] == "coach: section main"
    assert sources[1] == "plan full-rebuild, network's edition of 2026-01-01"
    assert sources[2] == "rule: layout of the deck"
    assert sources[8] == "assembly deck-bond, network's edition of 2026-01-01"
    assert sources[12] == "price lauan-sheet-5-2-mm, network's edition of 2026-01-01"
    assert sources[13] == "rule standard, network's edition of 2026-01-01"


def test_five_rolls_of_butyl_show_the_part_of_each_assembly() -> None:
    told = line(why_material(context("laminated"), "butyl-tape-1-in"))

    assert "needed for Edge roll, tuck and gutter rail fit: side_edge_length = 68 ft" in told
    assert "net need over the whole quote: 68 + 16.7724 + 34.4749 + 4.6667 = 123.914 ft" in told
    assert "with waste of 8 %, once = 133.8271 ft" in told
    assert "133.8271 / 30 ft, rounded up once to whole packs = 5 roll" in told


def test_hours_of_a_trade_show_quantity_hours_a_unit_set_up_and_rate() -> None:
    told = line(why_labour(context("laminated"), "wall-top-repair", "lead-technician"))

    assert told == [
        "wall_top_rot_length = 6 ft",
        "quantity of Sidewall-top and edge framing repair: wall_top_rot_length = 6 ft",
        "hours of lead-technician for one ft: 0.4 * hour / foot = 0.4 h/ft",
        "set-up, once a quote = 1.5 h",
        "1.5 h + 6 ft x 0.4 h/ft = 3.9 h",
        "billed rate of lead-technician = 150 USD/h",
        "3.9 h x 150, rounded = 585.00 USD",
    ]


def test_conditions_show_their_factor_their_reason_and_the_hours_before() -> None:
    steps = why_labour(context("two sections"), "scrape-sealant", "helper").steps
    told = [shown(step) for step in steps]

    assert "condition: Outdoors instead of bay (no bay is free) = 1.1 times" in told
    assert "condition: Silicone on the seams that are scraped (follows from over silicone) = 1.5 times" in told
    assert "1.1 x 1.5, at most 2 = 1.65 times" in told
    assert any(text.startswith("hours before conditions x 1.65, rounded to 4 decimals") for text in told)


def test_a_share_that_a_plan_takes_is_a_step_with_the_plan_as_its_source() -> None:
    steps = why_labour(context("reseal"), "intake-survey", "estimator").steps

    (share,) = [step for step in steps if step.text == "the plan takes 0.33 of it"]
    assert (share.value, share.unit) == ("0.33", "each")
    assert share.source == "plan reseal, network's edition of 2026-01-01"
    assert "0.33 each x 3 h/each = 0.99 h" in [shown(step) for step in steps]


def test_sections_are_told_apart_and_put_together() -> None:
    told = line(why_labour(context("two sections"), "skin-off", "helper"))

    assert any(text.startswith("skin_area of section front = roof_length * developed_width") for text in told)
    assert any(text.startswith("quantity of Skin or membrane off of section rear: skin_area") for text in told)
    assert any(text.startswith("quantity, all sections together") for text in told)


def test_what_a_survey_found_is_the_source_of_what_it_put_in_the_price() -> None:
    steps = why_labour(context("two sections"), "deck-off-sheets", "helper").steps

    (share,) = [step for step in steps if step.text == "deck_replaced_share of section front"]
    assert share.source == "survey of 2026-03-02, metered: deck replaced from 0 ft to 4 ft (front, cell 2A rotten (opened))"


def test_what_an_estimator_says_against_the_survey_shows_both() -> None:
    said = entry("deck_replaced_share", "0.5 share", reason="the owner wants half of it new")
    marked = inputs(
        framed_28_ft(), plan="skin-over-kept-deck", skin="membrane", survey=survey(cell("1A", "rotten")), entered=(said,)
    )
    steps = why_labour(explained(marked), "deck-on-rafters", "helper").steps

    # One course of 4 ft of 28 ft was found: a seventh.
    (share,) = [step for step in steps if step.text == "deck_replaced_share"]
    assert share.source == (
        "estimator: 0.5 share (the owner wants half of it new); in place of 0.1429 share, "
        "survey of 2026-03-02, walked: deck replaced from 0 ft to 4 ft (main, cell 1A rotten (walked))"
    )


def test_what_nobody_said_is_said_to_be_none() -> None:
    steps = why_material(context("laminated"), "roof-vent-14-in").steps

    (reuse,) = [step for step in steps if step.text == "reuse_fittings"]
    assert (reuse.value, reuse.source) == ("no", "rule: nobody said anything, so there is none")


def test_stock_by_use_shows_the_price_of_a_unit_of_use() -> None:
    told = line(why_material(context("loaded"), "butyl-tape-1-in"))

    assert "stock is billed by use = 133.8271 ft" in told
    assert "price of one ft, of 30 in a roll = 0.495 USD/ft" in told
    # 133.8271 x 0.495 = 66.2444.
    assert told[-1] == "133.8271 x 0.495, rounded = 66.24 USD"


def test_the_shop_s_lines_show_what_they_are_worked_on() -> None:
    here = context("loaded")

    assert line(why_shop(here, "shop-supplies"))[-1] == "3 % of 21929.33, at most 400 = 400.00 USD"
    assert [step.text for step in why_shop(here, "minimum-charge").steps] == [
        "labour lines together",
        "material lines together",
        "Shop supplies",
        "Overhead",
        "minimum charge",
        "minimum charge less the lines above",
    ]


def test_the_owner_s_rounding_shows_the_step_and_what_it_adds_or_takes() -> None:
    # 40,000.00 (the minimum charge) and 657.16 of tax are 40,657.16: 2.16 over 40,655 and 2.84 under 40,660.
    assert line(why_amount(context("loaded"), "base_rounding")) == [
        "visible work = 40000.00 USD",
        "tax on it = 657.16 USD",
        "their sum to steps of 5, half up = 40655.00 USD",
        "that less the sum = -2.16 USD",
    ]
    # 50,487.46 and 930.26 are 51,417.72: 2.72 over 51,415 and 2.28 under 51,420.
    assert line(why_amount(context("loaded"), "limit_rounding"))[-2:] == [
        "their sum to steps of 5, half up = 51420.00 USD",
        "that less the sum = 2.28 USD",
    ]


def test_a_total_that_is_not_rounded_says_so() -> None:
    assert line(why_amount(context("laminated"), "limit_rounding")) == [
        "limit = 33556.98 USD",
        "the most tax that can fall on it = 0.00 USD",
        "the pricing rule rounds the total to no step = 0.00 USD",
    ]


# Nothing to explain -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("ask", "words"),
    [
        (lambda here: why_labour(here, "skin-off", "estimator"), "no labour line of estimator for skin-off"),
        (lambda here: why_material(here, "marble"), "no material line for marble"),
        (lambda here: why_shop(here, "overhead"), "no line overhead"),
        (lambda here: why_unit_price(here, "keel"), "no hidden component 'keel'; it has: deck, deck_splinters"),
        (lambda here: why_amount(here, "bribe"), "expected one of labour, materials, base"),
    ],
)
def test_what_a_quote_does_not_have_cannot_be_explained(ask: object, words: str) -> None:
    assert callable(ask)
    with pytest.raises(NothingToExplainError, match=re.escape(words)) as refused:
        ask(context("laminated"))

    assert refused.value.code == "nothing_to_explain"
