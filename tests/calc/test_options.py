"""What ticking an offered option changes: differences of rounded totals, so that price and option add up."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings

from costbase.calc.assemblies import Assembly, MaterialNeed
from costbase.calc.cost_base import CostBase, TaxRate
from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.calc.inputs import QuoteInputs
from quotes.calc.options import AMOUNTS, Offered, Ticked, offered, ticked_amounts
from quotes.calc.why import NothingToExplainError, why_option, why_options
from tests.calc.shipped_base import base_with, entry, explained, laminated, quoted, shipped
from tests.calc.test_quote_properties import pricing
from tests.calc.why_cases import line

ASKED = (entry("paint_job_count", "1 each"), entry("solar_prep_count", "2 each"), entry("new_ac_count", "1 each"))


def wanted(*slugs: str, **changes: Any) -> QuoteInputs:
    """The laminated coach, 29,912.27 of visible work, with options that the owner may tick."""
    known = laminated()
    return replace(known, entered=(*known.entered, *ASKED), offered=slugs, **changes)


def told(inputs: QuoteInputs, base: CostBase | None = None) -> Offered:
    here = explained(inputs, base)
    return offered(inputs, here.cost_base, here.rules, here.factors, here.points, here.quote)


def amounts(ticked: Ticked) -> dict[str, str]:
    return {name: str(value) for name, value in ticked_amounts(ticked).items() if value}


def lines(ticked: Ticked) -> list[tuple[str, str, str, str]]:
    return [(line.slug, line.trade, str(line.quantity), str(line.amount)) for line in ticked.lines]


def alone(slug: str, **rule: Any) -> Ticked:
    (ticked,) = told(wanted(slug), base_with(rule=rule)).each
    return ticked


# One option -------------------------------------------------------------------------------------------------


def test_an_option_is_its_lines_and_what_they_add_to_every_total() -> None:
    # 1 h of an estimator at 125; a match by an outside shop at 650 x 1.35 = 877.50; together 1,002.50. The shipped rule has no
    # tax. Deposit: 30 % of 30,914.77 is 9,274.431, of 29,912.27 it is 8,973.681. Cost: 1 h at 60 and 650.
    ticked = alone("paint-match")

    assert lines(ticked) == [
        ("paint-match", "estimator", "1.0000", "125.00"),
        ("paint-match-sublet", "", "1", "877.50"),
    ]
    assert amounts(ticked) == {
        "base": "1002.50",
        "limit": "1002.50",
        "base_with_tax": "1002.50",
        "limit_with_tax": "1002.50",
        "deposit": "300.75",
        "cost": "710.00",
    }
    # One hour of one person in a day of eight.
    assert str(ticked.low) == "0.1250"


def test_tax_and_the_owner_s_rounding_are_differences_too() -> None:
    # Tax 8.25 % on 30,914.77 is 2,550.468525, on 29,912.27 it is 2,467.762275: 2,550.47 - 2,467.76 = 82.71. To steps of 5:
    # 33,465.24 is 33,465, 32,380.03 is 32,380. Limit: 34,559.48 with 2,851.16 is 37,410.64, 37,410; 36,325.43 is 36,325.
    rates = (TaxRate("Sales tax", Decimal("0.0825")),)
    ticked = alone("paint-match", tax_mode="parts_and_labour", tax_rates=rates, total_step=Decimal(5))

    assert amounts(ticked) == {
        "base": "1002.50",
        "limit": "1002.50",
        "base_tax": "82.71",
        "base_rounding": "-0.21",
        "base_with_tax": "1085.00",
        "limit_tax": "82.71",
        "limit_rounding": "-0.21",
        "limit_with_tax": "1085.00",
        "deposit": "325.50",
        "cost": "710.00",
    }


def test_the_minimum_charge_may_swallow_an_option() -> None:
    # 35,000 is charged either way: 5,087.73 are missing to it, and with the option 4,085.23.
    ticked = alone("paint-match", minimum_charge=Decimal("35000.00"))

    assert lines(ticked)[-1] == ("minimum-charge", "", "0", "-1002.50")
    assert amounts(ticked) == {"cost": "710.00"}


def test_a_started_pack_is_paid_by_the_option_that_starts_it() -> None:
    # 30 ft of flat bar with 8 % waste are 32.4 ft, 3 lengths of 12 ft; with two preparations of 8 ft 49.68 ft, 5 lengths.
    ticked = alone("solar-prep")

    assert ("flat-bar-3-in", "", "2", "142.56") in lines(ticked)


def test_freight_of_what_an_option_orders_is_the_option_s() -> None:
    # An order of flat bar at 61.50 x 1.35 = 83.025, half up 83.03, is there anyway; entry boxes come at 20.00 x 1.35 = 27.00.
    prices = dict(shipped().prices)
    for slug, freight in (("flat-bar-3-in", "61.50"), ("two-cable-entry-box", "20.00")):
        prices[slug] = replace(prices[slug], freight=Decimal(freight))
    (ticked,) = told(wanted("solar-prep"), base_with(prices=prices)).each
    steps = line(why_option(explained(wanted("solar-prep"), base_with(prices=prices)), "solar-prep"))

    assert [one for one in lines(ticked) if "freight" in one[0]] == [("freight:two-cable-entry-box", "", "1", "27.00")]
    assert str(ticked.base) == "1158.06"
    assert "freight of one order with markup = 27 USD/order" in steps


def test_an_option_brings_its_cautions() -> None:
    words = "Electrical work: local codes and licensed practice decide who may connect it."
    assert (alone("solar-prep").cautions, alone("paint-match").cautions) == ((words,), ())


def test_hidden_work_is_what_it_was_in_a_firm_price() -> None:
    assert alone("solar-prep").contingency == 0


def test_in_an_open_price_the_shop_s_record_is_of_the_option_too() -> None:
    ticked = alone("solar-prep", price_basis="open")
    assert ticked.limit == ticked.base + ticked.record + ticked.contingency
    assert ticked.record != 0


# All of them ------------------------------------------------------------------------------------------------


def shelf(slug: str) -> Assembly:
    """An invented option that takes 2 ft of flat bar."""
    sample = shipped().assemblies["solar-prep"]
    return replace(sample, slug=slug, name=slug, materials=(MaterialNeed("flat-bar-3-in", "2 * foot"),))


def test_what_they_come_to_together_is_not_the_sum_of_each_where_they_share_a_pack() -> None:
    # 30 + 2 ft with 8 % waste are 34.56 ft, still 3 lengths; 30 + 4 ft are 36.72 ft, 4 lengths: 71.28 more.
    base = base_with(assemblies={**shipped().assemblies, "shelf-a": shelf("shelf-a"), "shelf-b": shelf("shelf-b")})
    here = told(wanted("shelf-a", "shelf-b"), base)

    # Two of each: 2 x 1 h at 150 and 2 x 1.5 h at 135 are 705.00.
    assert [str(ticked.base) for ticked in here.each] == ["705.00", "705.00"]
    assert here.together is not None
    assert (here.together.options, str(here.together.base)) == (("shelf-a", "shelf-b"), "1481.28")


def test_they_stand_in_the_order_in_which_they_are_offered() -> None:
    here = told(wanted("solar-prep", "paint-match"))
    assert [ticked.options for ticked in here.each] == [("solar-prep",), ("paint-match",)]
    # 705 of labour and 142.56 + 83.70 + 199.80 of goods, and 1,002.50.
    assert here.together is not None
    assert str(here.together.base) == "2133.56"


def test_one_alone_is_all_of_them() -> None:
    here = told(wanted("paint-match"))
    assert here.each == (here.together,)


def test_without_any_there_is_nothing() -> None:
    assert told(wanted()) == Offered((), None)


@settings(max_examples=25, deadline=None)
@given(pricing())
def test_price_and_option_add_up_to_what_is_signed_when_it_is_ticked(rule: dict[str, Any]) -> None:
    whole = {name: rule[name].quantize(Decimal(1)) for name in ("minimum_charge", "total_step")}
    base, asked = base_with(rule=rule | whole), wanted("solar-prep", "paint-match")
    here, price = told(asked, base), quoted(asked, base)
    assert here.together is not None
    for ticked in (*here.each, here.together):
        sold = quoted(replace(asked, options=ticked.options, offered=()), base)
        for name in AMOUNTS:
            assert getattr(price.totals, name) + getattr(ticked, name) == getattr(sold.totals, name), name
        assert ticked.base == sum(line.amount for line in ticked.lines)
        assert ticked.cost == sum(line.cost for line in ticked.lines)


# What cannot be offered -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("slug", "sold", "words"),
    [
        ("no-such-work", (), "'no-such-work' is not in force on the day"),
        ("deck-bond", (), "'deck-bond' is part of plan 'full-rebuild'; expected an option beside it"),
        ("cap-reseal", (), "'cap-reseal' is no option"),
        ("coating", (), "option 'coating' comes to nothing; enter the measure that it is driven by: coat_area"),
        ("paint-match", ("paint-match",), "'paint-match' is sold with this price"),
    ],
)
def test_it_is_told_with_its_place(slug: str, sold: tuple[str, ...], words: str) -> None:
    with pytest.raises(CalculationError, match=words) as refused:
        told(wanted("solar-prep", slug, options=sold))
    assert (refused.value.code, refused.value.field) == ("plan_refused", "offered/1")


def test_every_one_is_told_at_once() -> None:
    with pytest.raises(CalculationFaults) as refused:
        told(wanted("no-such-work", "paint-match", "coating"))
    assert [fault.field for fault in refused.value.faults] == ["offered/0", "offered/2"]


def test_what_an_option_needs_and_has_no_price_is_a_fault_of_the_option() -> None:
    prices = {slug: price for slug, price in shipped().prices.items() if slug != "paint-match-sublet"}
    with pytest.raises(CalculationError, match="no price of 'paint-match-sublet'") as refused:
        told(wanted("paint-match"), base_with(prices=prices))
    assert (refused.value.code, refused.value.field) == ("no_price", "offered/0")


# Why --------------------------------------------------------------------------------------------------------


def test_why_tells_its_lines_what_shared_goods_were_before_and_every_total() -> None:
    why = why_option(explained(wanted("solar-prep")), "solar-prep")
    steps = line(why)

    assert str(why.value) == "1131.06"
    assert "needed for Solar preparation: entry box, cable pair, foot backing: solar_prep_count * 8 * foot = 16 ft" in steps
    assert "net need over the whole quote: 10 + 20 + 16 = 46 ft" in steps
    assert "Aluminium flat bar 1/8 x 3 in, 12 ft: without it = 213.84 USD" in steps
    assert "Aluminium flat bar 1/8 x 3 in, 12 ft: what it changes = 142.56 USD" in steps
    assert "visible work: 31043.33 with it less 29912.27 without = 1131.06 USD" in steps
    assert "set aside for hidden work: 3644.71 with it less 3644.71 without = 0.00 USD" in steps
    assert steps[-1] == "limit with tax: 34688.04 with it less 33556.98 without = 1131.06 USD"


def test_why_all_of_them_lands_on_what_they_come_to_together() -> None:
    asked = wanted("solar-prep", "paint-match")
    together = told(asked).together
    assert together is not None
    assert why_options(explained(asked)).value == together.limit_with_tax


def test_what_is_not_offered_cannot_be_explained() -> None:
    with pytest.raises(NothingToExplainError, match="offered are: paint-match"):
        why_option(explained(wanted("paint-match")), "coating")
    with pytest.raises(NothingToExplainError, match="no option is offered"):
        why_options(explained(wanted()))
