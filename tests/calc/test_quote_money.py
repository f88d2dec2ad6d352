"""The shop's own lines, conditions, tax, currencies and the two price bases, on whole quotes."""

from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

import pytest

from costbase.calc.cost_base import CostBase, TaxRate
from costbase.calc.money import currency
from quotes.calc.hidden import HiddenComponent
from quotes.calc.labour import ChosenCondition
from quotes.calc.quote import Quote
from quotes.calc.tax import TAX_MODES, TaxModeError, sum_by_class, taxable, taxable_limit
from tests.calc.roofs import laminated_34_ft
from tests.calc.shipped_base import base_with, inputs, laminated, quoted, shipped
from tests.calc.why_cases import SLOW

USD = currency("USD")


def priced(**rule: Any) -> Quote:
    """The laminated coach under a changed pricing rule."""
    return quoted(laminated(), base_with(rule=rule))


def shop_lines(quote: Quote) -> list[tuple[str, str]]:
    return [(line.slug, str(line.amount)) for line in quote.visible.shop]


# The shop's lines, worked on 21,929.33 labour and 7,982.94 material -----------------------------------------


def test_supplies_are_a_share_of_labour() -> None:
    # 3 % of 21,929.33 = 657.8799.
    quote = priced(supplies_share=Decimal("0.03"))

    assert shop_lines(quote) == [("shop-supplies", "657.88")]
    assert str(quote.totals.base) == "30570.15"


def test_supplies_stop_at_their_cap() -> None:
    quote = priced(supplies_share=Decimal("0.03"), supplies_cap=Decimal("400.00"))

    assert shop_lines(quote) == [("shop-supplies", "400.00")]


def test_overhead_is_a_share_of_labour_material_and_supplies() -> None:
    # 8 % of (21,929.33 + 7,982.94 + 400.00 = 30,312.27) = 2,424.9816.
    quote = priced(supplies_share=Decimal("0.03"), supplies_cap=Decimal("400.00"), overhead_share=Decimal("0.08"))

    assert shop_lines(quote) == [("shop-supplies", "400.00"), ("overhead", "2424.98")]
    assert str(quote.totals.base) == "32737.25"


def test_a_small_job_is_raised_to_the_minimum_charge() -> None:
    # 29,912.27 and 8 % of it, 2,392.98, leave 2,694.75 to 35,000.
    quote = priced(overhead_share=Decimal("0.08"), minimum_charge=Decimal("35000.00"))

    assert shop_lines(quote) == [("overhead", "2392.98"), ("minimum-charge", "2694.75")]
    assert quote.totals.base == Decimal("35000.00")


def test_a_minimum_that_is_reached_adds_no_line() -> None:
    assert shop_lines(priced(minimum_charge=Decimal("29912.27"))) == []


def test_unit_prices_of_hidden_work_carry_none_of_the_shop_s_lines() -> None:
    plain = priced()
    loaded = priced(supplies_share=Decimal("0.03"), overhead_share=Decimal("0.20"), minimum_charge=Decimal(90000))

    assert [work.cost for work in plain.hidden] == [work.cost for work in loaded.hidden]
    assert plain.totals.contingency == loaded.totals.contingency


# Conditions -------------------------------------------------------------------------------------------------


def conditioned(*slugs: str) -> Quote:
    picks = tuple(ChosenCondition(slug, f"because of {slug}") for slug in slugs)
    return quoted(replace(laminated(), conditions=picks))


def test_factors_of_one_line_multiply_and_each_keeps_its_reason() -> None:
    quote = conditioned("no-bay", "hot-roof")
    (line,) = [line for line in quote.visible.labour if (line.assembly, line.trade) == ("skin-off", "helper")]

    # 293.6312 sq ft x 0.012 = 3.523574 h x 1.1 x 1.2 = 4.651118.
    assert (line.factor, str(line.template_hours), str(line.hours)) == (Decimal("1.32"), "3.5236", "4.6511")
    assert [(m.slug, str(m.factor), m.reason) for m in line.multipliers] == [
        ("no-bay", "1.1", "because of no-bay"),
        ("hot-roof", "1.2", "because of hot-roof"),
    ]


def test_factors_stop_at_two() -> None:
    # 1.1 x 1.2 x 1.25 x 1.25 = 2.0625.
    quote = conditioned("no-bay", "hot-roof", "first-of-kind", "one-person-crew")
    (line,) = [line for line in quote.visible.labour if (line.assembly, line.trade) == ("skin-off", "helper")]

    assert (line.factor, str(line.hours), len(line.multipliers)) == (Decimal("2"), "7.0471", 4)


def test_a_condition_without_phases_and_assemblies_is_on_every_line() -> None:
    assert {line.factor for line in conditioned("first-of-kind").visible.labour} == {Decimal("1.25")}


def test_conditions_move_hours_and_no_unit_price_of_hidden_work() -> None:
    plain, hot = quoted(laminated()), conditioned("hot-roof")

    assert [work.cost.price for work in plain.hidden] == [work.cost.price for work in hot.hidden]
    assert plain.visible.materials == hot.visible.materials


# Tax --------------------------------------------------------------------------------------------------------

LABOUR, PARTS = Decimal("21929.33"), Decimal("7982.94")
CONTINGENCY = Decimal("3644.71")


@cache
def taxed(mode: str) -> Quote:
    return priced(tax_mode=mode, tax_rates=(TaxRate("Sales tax", Decimal("0.0825")),))


@pytest.mark.parametrize(
    ("mode", "base", "tax"),
    [
        ("none", None, "0.00"),
        ("lump_sum", None, "0.00"),
        # 8.25 % of 7,982.94 = 658.59255.
        ("parts_only", PARTS, "658.59"),
        ("separated", PARTS, "658.59"),
        # 8.25 % of 29,912.27 = 2,467.762275.
        ("all_with_parts", LABOUR + PARTS, "2467.76"),
        ("parts_and_labour", LABOUR + PARTS, "2467.76"),
    ],
)
def test_each_mode_taxes_its_part_of_the_visible_work(mode: str, base: Decimal | None, tax: str) -> None:
    totals = taxed(mode).totals

    assert str(totals.base_tax if base else totals.base_tax.quantize(Decimal("0.01"))) == tax
    assert [worked.base for worked in totals.base_taxes] == ([base] if base else [])
    assert totals.base_with_tax == totals.base + totals.base_tax


@pytest.mark.parametrize("mode", ["all_with_parts", "parts_and_labour"])
def test_a_mode_that_taxes_labour_takes_the_whole_contingency_into_the_limit(mode: str) -> None:
    # 8.25 % of 33,556.98 = 2,768.45085.
    totals = taxed(mode).totals

    assert [worked.base for worked in totals.limit_taxes] == [LABOUR + PARTS + CONTINGENCY]
    assert str(totals.limit_tax) == "2768.45"
    assert str(totals.limit_with_tax) == "36325.43"


@pytest.mark.parametrize("mode", ["parts_only", "separated"])
def test_a_parts_mode_takes_the_contingency_at_the_largest_share_of_material(mode: str) -> None:
    # Of all exposed components the frame of an opening holds most material: 49.81095 of 157.81095. 31.5637 % of 3,644.71 is
    # 1,150.40; a frame at an A/C opening holds more, but none is exposed. 8.25 % of (7,982.94 + 1,150.40) = 753.5006.
    totals = taxed(mode).totals

    assert [str(worked.base) for worked in totals.limit_taxes] == ["9133.34"]
    assert str(totals.limit_tax) == "753.50"


@pytest.mark.parametrize("mode", ["none", "lump_sum"])
def test_a_mode_without_tax_puts_none_on_the_limit(mode: str) -> None:
    totals = taxed(mode).totals

    assert totals.limit_tax == 0
    assert totals.limit_with_tax == totals.limit


def test_every_rate_is_worked_once_on_the_summed_base() -> None:
    # 6.25 % of 29,912.27 = 1,869.516875 and 2 % = 598.2454: each rounded once, never line by line.
    rates = (TaxRate("State", Decimal("0.0625")), TaxRate("City", Decimal("0.02")))
    totals = priced(tax_mode="parts_and_labour", tax_rates=rates).totals

    assert [(tax.name, str(tax.amount)) for tax in totals.base_taxes] == [("State", "1869.52"), ("City", "598.25")]
    assert str(totals.base_tax) == "2467.77"


def test_lines_of_the_shop_are_taxed_as_their_class_says() -> None:
    # Supplies as parts: 7,982.94 + 657.88 = 8,640.82; overhead as labour is not taxed here.
    rates = (TaxRate("Sales tax", Decimal("0.0825")),)
    shares = {"supplies_share": Decimal("0.03"), "overhead_share": Decimal("0.08")}
    totals = quoted(laminated(), base_with(rule={"tax_mode": "parts_only", "tax_rates": rates, **shares})).totals

    assert [str(tax.base) for tax in totals.base_taxes] == ["8640.82"]


def test_an_untaxed_material_is_outside_of_every_tax() -> None:
    materials = dict(shipped().materials)
    materials["disposal-fee"] = replace(materials["disposal-fee"], tax_class="untaxed")
    rule = {"tax_mode": "parts_and_labour", "tax_rates": (TaxRate("Sales tax", Decimal("0.0825")),)}
    totals = quoted(laminated(), base_with(materials=materials, rule=rule)).totals

    # 0.24 ton x 92.00 x 1.35 = 29.808.
    assert [tax.base for tax in totals.base_taxes] == [LABOUR + PARTS - Decimal("29.81")]


def limit_base(mode: str, labour: str, parts: str, contingency: str, *, record: str = "0", share: str = "0.25") -> str:
    by_class = {"labour": Decimal(labour), "parts": Decimal(parts)}
    return str(
        taxable_limit(
            by_class,
            mode,
            contingency=Decimal(contingency),
            record=Decimal(record),
            material_share=Decimal(share),
            currency=USD,
        )
    )


def test_hidden_work_that_brings_the_first_part_in_makes_the_whole_charge_taxable() -> None:
    # Labour alone is not taxed where one part makes all of it taxable; a find may need that part.
    assert str(taxable({"labour": Decimal("500.00")}, "all_with_parts")) == "0"
    assert limit_base("all_with_parts", "500.00", "0", "80.00") == "580.00"
    # Hidden work of labour alone, or none at all, brings none.
    assert limit_base("all_with_parts", "500.00", "0", "80.00", share="0") == "0"
    assert limit_base("all_with_parts", "500.00", "0", "0.00") == "0"


def test_a_record_that_lowers_the_price_lowers_no_tax_on_parts() -> None:
    # 200 of parts + a quarter of 100; the 40 saved may all be labour.
    assert limit_base("parts_only", "500.00", "200.00", "100.00", record="-40.00") == "225.00"
    # What the record adds may be material as well: a quarter of 140.
    assert limit_base("parts_only", "500.00", "200.00", "100.00", record="40.00") == "235.00"
    assert limit_base("parts_and_labour", "500.00", "200.00", "100.00", record="-40.00") == "760.00"


def test_an_unknown_mode_or_class_of_tax_is_refused() -> None:
    with pytest.raises(TaxModeError, match="tax mode must be one of none"):
        taxable({}, "whatever")
    with pytest.raises(TaxModeError, match="tax class must be one of labour"):
        sum_by_class([("air", Decimal(1))])
    assert set(TAX_MODES) == {"none", "parts_only", "separated", "all_with_parts", "parts_and_labour", "lump_sum"}


def test_the_owner_s_rounding_comes_after_tax_and_outside_of_it() -> None:
    # 29,912.27 + 2,467.76 = 32,380.03, to steps of 5: 32,380. 33,556.98 + 2,768.45 = 36,325.43: 36,325.
    rates = (TaxRate("Sales tax", Decimal("0.0825")),)
    totals = priced(total_step=Decimal(5), tax_mode="parts_and_labour", tax_rates=rates).totals

    assert (str(totals.base_rounding), str(totals.base_with_tax)) == ("-0.03", "32380.00")
    assert (str(totals.limit_rounding), str(totals.limit_with_tax)) == ("-0.43", "36325.00")
    assert (totals.base_tax, totals.limit_tax) == (taxed("parts_and_labour").totals.base_tax, Decimal("2768.45"))


# Currencies -------------------------------------------------------------------------------------------------


def decimals(quote: Quote) -> set[int]:
    """Decimals of every amount of a quote."""
    totals = quote.totals
    visible = quote.visible
    amounts = [line.amount for line in visible.labour]
    amounts += [line.amount for line in visible.materials] + [line.amount for line in visible.shop]
    amounts += [totals.base, totals.allowance, totals.reserve, totals.contingency, totals.limit, totals.limit_with_tax]
    amounts += [totals.base_tax, totals.limit_tax, totals.deposit, totals.cost]
    amounts += [part.allowance for part in quote.set_aside.components] + [work.cost.set_up for work in quote.hidden]
    return {-int(amount.as_tuple().exponent) for amount in amounts}


def in_currency(code: str) -> Quote:
    rule = {
        "tax_mode": "parts_and_labour",
        "tax_rates": (TaxRate("Tax", Decimal("0.10")),),
        "supplies_share": Decimal("0.03"),
        "overhead_share": Decimal("0.08"),
    }
    return quoted(laminated(), replace(base_with(rule=rule), currency=currency(code)))


@pytest.mark.parametrize(("code", "places"), [("JPY", 0), ("USD", 2), ("KWD", 3)])
def test_every_amount_has_the_decimals_of_the_currency(code: str, places: int) -> None:
    assert decimals(in_currency(code)) == {places}


def test_a_line_in_a_currency_without_decimals_is_rounded_to_the_whole() -> None:
    # 4.2386 h x 135 = 572.211 and 2.5432 x 95 = 241.604.
    lines = {(line.assembly, line.trade): str(line.amount) for line in in_currency("JPY").visible.labour}

    assert lines["rails-trims-off", "technician"] == "572"
    assert lines["rails-trims-off", "helper"] == "242"


def test_a_line_in_a_currency_with_three_decimals_keeps_them() -> None:
    lines = {(line.assembly, line.trade): str(line.amount) for line in in_currency("KWD").visible.labour}

    assert lines["rails-trims-off", "technician"] == "572.211"


# Stock ------------------------------------------------------------------------------------------------------


def test_a_price_by_use_loses_no_tie() -> None:
    # 62.5 ft of deck tape with waste x 14.00 x 1.35 / 150 ft = 62.5 x 0.126 = 7.875: half up 7.88. 14 / 150 has no end, and cut
    # short before the markup it would give 7.87.
    materials = dict(shipped().materials)
    materials["deck-tape-2-in"] = replace(materials["deck-tape-2-in"], waste_share=Decimal(0))
    base = base_with(materials=materials, assemblies=_taped("62.5 * foot"), rule={"stock_billing": "use"})
    (line,) = [line for line in quoted(laminated(), base).visible.materials if line.packed.material.slug == "deck-tape-2-in"]

    assert (line.packed.billed, line.price, line.amount) == (Decimal("62.5"), Decimal("0.126"), Decimal("7.88"))


def _taped(quantity: str) -> dict[str, Any]:
    joints = shipped().assemblies["deck-joints"]
    tape, *others = joints.materials
    return {**shipped().assemblies, "deck-joints": replace(joints, materials=(replace(tape, quantity=quantity), *others))}


# Firm and open ----------------------------------------------------------------------------------------------

QUICK = replace(SLOW, theta=-0.06)


def open_base() -> CostBase:
    return base_with(rule={"price_basis": "open"})


def test_in_an_open_quote_the_shop_s_record_is_a_line_of_its_own() -> None:
    totals = quoted(laminated(), open_base(), SLOW).totals

    # exp(0.06 + (0.10^2 + 0.03^2) / 2) = exp(0.06545) = 1.06763935 x 29,912.27 = 31,935.5166; less 29,912.27.
    assert str(totals.record) == "2023.25"
    assert totals.limit == totals.base + totals.record + totals.contingency
    assert totals.reserve == totals.contingency - totals.allowance


def test_a_quick_shop_s_record_lowers_the_limit_of_an_open_quote() -> None:
    # exp(-0.06 + 0.00545) = exp(-0.05455) x 29,912.27 = 28,324.2623; less 29,912.27.
    assert str(quoted(laminated(), open_base(), QUICK).totals.record) == "-1588.01"


def test_in_a_firm_quote_the_record_moves_neither_price_nor_limit() -> None:
    steady = replace(SLOW, theta=0.0)
    firm_slow, firm_steady = quoted(laminated(), None, SLOW), quoted(laminated(), None, steady)

    assert firm_slow.totals == firm_steady.totals
    assert firm_slow.totals.record == 0
    # It is a warning to the manager: what the record expects the visible work to cost.
    assert str(firm_slow.set_aside.base_expected) == "31935.52"


def test_a_shop_that_finds_more_sets_more_aside() -> None:
    assert quoted(laminated(), None, SLOW).totals.allowance > quoted(laminated()).totals.allowance


@pytest.mark.parametrize("level", [0.5, 0.8, 0.9, 0.95])
def test_the_limit_rises_with_the_level_and_holds_as_often_as_it_says(level: float) -> None:
    here, above = priced(confidence_level=level), priced(confidence_level=level + 0.04)

    assert here.totals.limit <= above.totals.limit
    assert here.set_aside.coverage_share >= level


def _material_part(work: HiddenComponent) -> Decimal:
    return work.cost.material / (work.cost.labour + work.cost.material)


def test_a_unit_price_is_its_labour_and_its_material() -> None:
    works = {work.component.slug: work for work in quoted(laminated()).hidden}

    for work in works.values():
        assert abs(work.cost.labour + work.cost.material - work.cost.price) <= Decimal("0.0000005")
    # 4.1097375 of 16.4097375.
    assert abs(_material_part(works["core"]) - Decimal("0.2504450")) < Decimal("0.0000001")


def test_a_quote_without_conditions_has_no_multiplier() -> None:
    assert quoted(inputs(laminated_34_ft())).multipliers == ()
