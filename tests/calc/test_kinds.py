"""Firm, counted and option lines are told apart, and what is counted has a price at which it is settled."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest

from costbase.calc.money import currency, extend
from quotes.calc.inputs import QuoteInputs
from quotes.calc.kinds import (
    KINDS,
    CountedPrice,
    CountedWork,
    amounts_by_kind,
    by_assembly,
    counted_labour,
    counted_work,
    material_kind,
    material_shares,
)
from quotes.calc.labour import ChosenCondition
from quotes.calc.quote import Quote
from quotes.calc.takeoff import Take
from quotes.calc.why import NothingToExplainError, why_counted
from tests.calc.roofs import laminated_34_ft
from tests.calc.shipped_base import base_with, entry, explained, framed, inputs, laminated, quoted, shipped, two_sections
from tests.calc.why_cases import line as told

USD = currency("USD")


def works(quote: Quote) -> dict[str, CountedWork]:
    return {work.assembly: work for work in counted_work(quote.visible, by_assembly(quote.takes), quote.currency)}


def prices(quote: Quote, assembly: str) -> dict[str, CountedPrice]:
    """The price of every line of a counted assembly, by trade or material."""
    takes = by_assembly(quote.takes)
    found = {
        line.trade: counted_labour(line, takes[assembly], quote.currency)
        for line in quote.visible.labour
        if line.assembly == assembly
    }
    for line in quote.visible.materials:
        for share in material_shares(line, takes, quote.currency):
            if share.part.assembly == assembly:
                found[line.packed.material.slug] = share.counted
    return {name: price for name, price in found.items() if price is not None}


def shown(price: CountedPrice) -> tuple[str, str, str]:
    return str(price.quantity), str(price.unit_price), str(price.set_up)


# Prices of counted work -------------------------------------------------------------------------------------


def test_set_up_stays_and_the_rest_of_the_line_is_for_what_is_found() -> None:
    # Two braces: fabricator 1 h set-up and 2 x 1.5 h at 150 = 600.00, less 150.00, for two; technician 2 x 1 h at 135.
    lines = prices(quoted(laminated()), "bracing-add")

    assert shown(lines["fabricator"]) == ("2.0000", "225.000000", "150.00")
    assert shown(lines["technician"]) == ("2.0000", "135.000000", "0.00")


def test_goods_that_several_need_are_shared_as_their_needs_are() -> None:
    # Flat bar: 3 lengths are 213.84, for 10 ft of braces and 20 ft of backing frames; 71.28 for two braces. Tube is for braces
    # alone: 2 lengths at 78 x 1.35.
    lines = prices(quoted(laminated()), "bracing-add")

    assert shown(lines["flat-bar-3-in"]) == ("2.0000", "35.640000", "0.00")
    assert shown(lines["aluminium-tube-2-by-1-in"]) == ("2.0000", "105.300000", "0.00")


def test_shares_that_do_not_divide_add_up_to_their_line() -> None:
    # Adhesive: cartridges for 109.35 and needs of 0.75, 2 and 2 of 4.75: 17.2658, 46.0421 and 46.0421. Cut down they are 17.26,
    # 46.04 and 46.04; the cent that is left goes to 17.2658.
    quote = quoted(laminated())
    (line,) = [x for x in quote.visible.materials if x.packed.material.slug == "structural-adhesive-10-1-oz"]
    shares = material_shares(line, by_assembly(quote.takes), USD)

    assert [(share.part.assembly, str(share.amount)) for share in shares] == [
        ("wall-top-repair", "17.27"),
        ("bracing-add", "46.04"),
        ("opening-backing", "46.04"),
    ]


def test_an_assembly_is_the_sum_of_its_lines() -> None:
    # 225 + 135 + 35.64 + 105.30, adhesive 46.04 / 2 and screws 10.54 / 2.
    work = works(quoted(laminated()))["bracing-add"]

    assert (str(work.unit_price), str(work.set_up), str(work.amount)) == ("529.230000", "150.00", "1208.46")


def test_conditions_of_the_day_are_in_both() -> None:
    # Hours x 1.1 without a bay: 4.4 h at 150 = 660.00, of which set-up 1.1 h = 165.00; 495.00 for two. What stays was quoted.
    bases = shipped().conditions
    anywhere = {**bases, "no-bay": replace(bases["no-bay"], phases=frozenset(), assemblies=frozenset())}
    picked = replace(laminated(), conditions=(ChosenCondition("no-bay", "no bay is free"),))
    lines = prices(quoted(picked, base_with(conditions=anywhere)), "bracing-add")

    assert shown(lines["fabricator"]) == ("2.0000", "247.500000", "165.00")


def with_minimum(hours: float) -> Quote:
    assemblies = dict(shipped().assemblies)
    assemblies["bracing-add"] = replace(assemblies["bracing-add"], minimum_hours=hours)
    return quoted(laminated(), base_with(assemblies=assemblies))


def test_where_the_least_hours_are_billed_fewer_units_take_no_fewer() -> None:
    # 6 h at 150 for the fabricator, of whom 4 h are worked out: 900.00 stay; 6 h at 135 for the technician.
    lines = prices(with_minimum(6.0), "bracing-add")

    assert shown(lines["fabricator"]) == ("2.0000", "0.000000", "900.00")
    assert shown(lines["technician"]) == ("2.0000", "0.000000", "810.00")


def test_a_minimum_that_is_passed_moves_nothing() -> None:
    assert prices(with_minimum(1.5), "bracing-add") == prices(quoted(laminated()), "bracing-add")


def test_an_area_is_counted_in_the_unit_of_its_driver() -> None:
    # 149.7159 sq ft of deck: technician 1.7966 h at 135 = 242.54, helper 2.6949 h at 95 = 256.02; 498.56 / 149.7159 = 3.330.
    work = works(quoted(laminated()))["deck-off-sheets"]

    assert (str(work.quantity), work.unit, str(work.amount)) == ("149.7159", "ft2", "498.56")
    assert str(work.unit_price) == "3.330041"


def test_firm_work_and_options_have_none() -> None:
    quote = quoted(laminated())
    takes = by_assembly(quote.takes)
    (line,) = [x for x in quote.visible.labour if (x.assembly, x.trade) == ("skin-off", "helper")]

    assert counted_labour(line, takes["skin-off"], USD) is None
    assert set(works(quote)) == {slug for slug, take in takes.items() if take.assembly.kind == "counted"}


def test_less_than_anybody_can_count_cannot_be_missing() -> None:
    # A millionth of a brace is none to four decimals: what its line comes to stays.
    quote = quoted(laminated())
    take: Take = by_assembly(quote.takes)["bracing-add"]._replace(driver=1e-6)
    (line,) = [x for x in quote.visible.labour if (x.assembly, x.trade) == ("bracing-add", "technician")]
    price = counted_labour(line, take, USD)

    assert price is not None
    assert shown(price) == ("0.0000", "0.000000", "270.00")


# Settled ----------------------------------------------------------------------------------------------------

EXAMPLES: dict[str, QuoteInputs] = {
    "laminated": laminated(),
    "framed": framed(),
    "two sections": two_sections(),
    "reseal": inputs(laminated_34_ft(), plan="reseal"),
    "with an option": replace(
        laminated(),
        entered=(*laminated().entered, entry("solar_prep_count", "2 each"), entry("paint_job_count", "1 each")),
        options=("solar-prep", "paint-match"),
    ),
}


@pytest.mark.parametrize("code", ["USD", "JPY", "KWD"])
@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_when_nothing_is_found_all_is_credited_but_what_stays(name: str, code: str) -> None:
    money = currency(code)
    quote = quoted(EXAMPLES[name], replace(shipped(EXAMPLES[name].plan), currency=money))
    takes = by_assembly(quote.takes)
    for line in quote.visible.labour:
        price = counted_labour(line, takes[line.assembly], money)
        if price is not None:
            assert extend(-price.quantity, price.unit_price, money) + line.amount == price.set_up
    for goods in quote.visible.materials:
        for share in material_shares(goods, takes, money):
            if share.counted is not None:
                assert extend(-share.counted.quantity, share.counted.unit_price, money) + share.amount == 0


def test_one_of_two_that_is_not_found_is_billed_less_line_by_line() -> None:
    # 225.00 + 135.00 + 23.02 + 105.30 + 35.64 + 5.27 = 529.23; one brace stands at 679.23 with its set-up of 150.00.
    quote = quoted(laminated())
    credit = [extend(Decimal(-1), price.unit_price, USD) for price in prices(quote, "bracing-add").values()]

    assert sorted(map(str, credit)) == ["-105.30", "-135.00", "-225.00", "-23.02", "-35.64", "-5.27"]
    assert works(quote)["bracing-add"].amount + sum(credit) == Decimal("679.23")


# Sums by kind -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("code", ["USD", "JPY", "KWD"])
@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_the_kinds_add_up_to_the_visible_work(name: str, code: str) -> None:
    rule: dict[str, Any] = {"supplies_share": Decimal("0.03"), "overhead_share": Decimal("0.08")}
    base = replace(base_with(EXAMPLES[name].plan, rule=rule), currency=currency(code))
    quote = quoted(EXAMPLES[name], base)
    kinds = amounts_by_kind(quote.visible, by_assembly(quote.takes), quote.currency)

    assert tuple(kinds) == KINDS
    assert sum(kinds.values()) == quote.totals.base
    assert kinds["counted"] == sum(work.amount for work in works(quote).values())


def test_an_option_has_its_labour_and_its_part_of_what_it_shares() -> None:
    # 705.00 and 125.00 of labour; boxes 83.70, cables 199.80, the match 877.50, and 16 of 46 ft of flat bar, 356.40: 123.9652,
    # where 10 and 20 ft have 77.4783 and 154.9565. Cut down these leave a cent for 77.4783 and one for 154.9565.
    quote = quoted(EXAMPLES["with an option"])
    kinds = amounts_by_kind(quote.visible, by_assembly(quote.takes), USD)

    assert str(kinds["option"]) == "2114.96"


def test_a_material_is_of_the_kind_of_the_work_that_needs_it() -> None:
    quote = quoted(EXAMPLES["with an option"])
    takes = by_assembly(quote.takes)
    kinds = {line.packed.material.slug: material_kind(line, takes) for line in quote.visible.materials}

    assert (kinds["paint-match-sublet"], kinds["drying-set-day"]) == ("option", "counted")
    assert (kinds["lauan-sheet-5-2-mm"], kinds["flat-bar-3-in"]) == ("firm", "mixed")


# Why --------------------------------------------------------------------------------------------------------


def test_why_shows_what_stays_and_what_is_divided() -> None:
    why = why_counted(explained(laminated()), "bracing-add")
    steps = told(why)

    assert why.value == Decimal("529.230000")
    assert steps[:5] == [
        "brace_count = 2 each",
        "quantity of Brace and frame a roof A/C opening: brace_count = 2 each",
        "fabricator: the line = 600.00 USD",
        "fabricator: what stays whatever is found, set-up of 1 h x 150 = 150.00 USD",
        "fabricator: (600.00 - 150.00) / 2 each, rounded to 6 decimals = 225.000000 USD/each",
    ]
    share = "Aluminium flat bar 1/8 x 3 in, 12 ft: the share of this work, 10 of 30 ft, so that all shares add up = 71.28 USD"
    assert share in steps
    assert steps[-2:] == [
        "set-up, which stays whatever is found = 150.00 USD",
        "unit price: billed less for each that is not found = 529.230000 USD/each",
    ]


@pytest.mark.parametrize("name", sorted(EXAMPLES))
def test_every_answer_lands_on_the_unit_price(name: str) -> None:
    here = explained(EXAMPLES[name])
    for slug, work in works(here.quote).items():
        assert why_counted(here, slug).value == work.unit_price


def test_work_that_is_not_counted_has_no_such_answer() -> None:
    with pytest.raises(NothingToExplainError, match="no counted work 'skin-off'; it has: deck-off-sheets"):
        why_counted(explained(laminated()), "skin-off")
