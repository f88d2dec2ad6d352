"""The limit after change orders: the page's example by hand, and what must hold of any."""

from dataclasses import replace
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from costbase.calc.cost_base import TaxRate
from costbase.calc.money import currency
from quotes.actions.quote_rows import line_rows
from quotes.calc.change_order import AgreedLimit, NoTaxClassError, authorised_after, lines_by_class
from quotes.calc.quote import Quote
from quotes.calc.tax import Tax, rule_taxes, taxable
from quotes.calc.totals import amounts_by_class
from tests.scenarios.small_roof import MATERIALS, quoted, rule

USD = currency("USD")
MODES = ("none", "parts_only", "separated", "all_with_parts", "parts_and_labour", "lump_sum")
# Two hours of a technician with their overhead, and one pack of adhesive.
PATCH = {"labour": Decimal("221.83"), "parts": Decimal("72.90")}
amounts = st.decimals("0", "90000", places=2)


def agreed(quote: Quote) -> AgreedLimit:
    totals = quote.totals
    return AgreedLimit(amounts_by_class(quote.visible), totals.record, totals.contingency, totals.limit_taxes)


def test_the_page_s_change_order_makes_a_limit_of_4248() -> None:
    # 3,629.50 + 294.73 = 3,924.23; x 8.25 % = 323.748975; together 4,247.98, to whole units 4,248.
    after = authorised_after(agreed(quoted()), [PATCH], rule(), USD)

    assert after.authorised == Decimal("3924.23")
    assert after.tax == Decimal("323.75")
    assert after.rounding == Decimal("0.02")
    assert after.authorised_with_tax == Decimal("4248.00")


def test_tax_is_worked_once_on_all_orders_together() -> None:
    # Ten orders of 0.06 each: 0.60 x 8.25 % on top of 3,629.50 is 299.48; ten taxes of 0.00 would leave it at 299.43.
    after = authorised_after(agreed(quoted()), [{"labour": Decimal("0.06")}] * 10, rule(), USD)

    assert after.tax == Decimal("299.48")


def test_parts_alone_are_taxed_where_the_mode_says_so() -> None:
    quote = quoted(tax_mode="parts_only")
    before = quote.totals.limit_taxes[0].base

    after = authorised_after(agreed(quote), [PATCH], replace(rule(), tax_mode="parts_only"), USD)

    assert after.taxes[0].base == before + Decimal("72.90")


def test_the_first_part_makes_the_whole_charge_taxable() -> None:
    # 1,000.00 of labour untaxed; one part of 50.00 makes 1,050.00 taxable: 86.625 is 86.63.
    labour_only = AgreedLimit({"labour": Decimal(1000)}, Decimal(0), Decimal(0), ())
    by_parts = replace(rule(), tax_mode="all_with_parts", total_step=Decimal(0))

    assert authorised_after(labour_only, [{"labour": Decimal(10)}], by_parts, USD).tax == 0
    assert authorised_after(labour_only, [{"parts": Decimal(50)}], by_parts, USD).tax == Decimal("86.63")


def test_a_coach_of_a_fleet_keeps_its_share_of_the_lot_s_tax() -> None:
    # Its share was 81.00 where 8.25 % of 1,000.00 are 82.50: an order of 100.00 adds 8.25.
    shared = AgreedLimit(
        {"labour": Decimal(1000)}, Decimal(0), Decimal(0), (Tax("Sales tax", Decimal("0.0825"), Decimal(1000), Decimal("81")),)
    )
    exact = replace(rule(), total_step=Decimal(0))

    assert authorised_after(shared, [], exact, USD).tax == Decimal("81")
    assert authorised_after(shared, [{"labour": Decimal(100)}], exact, USD).tax == Decimal("89.25")


@pytest.mark.parametrize("mode", MODES)
def test_without_orders_the_limit_is_the_signed_one(mode: str) -> None:
    quote = quoted(tax_mode=mode)

    after = authorised_after(agreed(quote), [], replace(rule(), tax_mode=mode), USD)

    assert after.authorised == quote.totals.limit
    assert after.taxes == quote.totals.limit_taxes
    assert after.authorised_with_tax == quote.totals.limit_with_tax


@given(
    labour=amounts,
    parts=amounts,
    more=st.lists(st.tuples(amounts, amounts), max_size=4),
    mode=st.sampled_from(MODES),
    step=st.sampled_from(["0", "0.05", "1", "5"]),
)
def test_another_order_never_lowers_the_limit(
    labour: Decimal, parts: Decimal, more: list[tuple[Decimal, Decimal]], mode: str, step: str
) -> None:
    prices = replace(rule(), tax_mode=mode, total_step=Decimal(step), tax_rates=(TaxRate("a", Decimal("0.05")),))
    classes = {"labour": labour, "parts": parts}
    signed = AgreedLimit(classes, Decimal(0), Decimal(0), rule_taxes(taxable(classes, mode), prices, USD))
    orders = [{"labour": one, "parts": other} for one, other in more]
    limits = [authorised_after(signed, orders[:count], prices, USD) for count in range(len(orders) + 1)]

    assert [each.authorised for each in limits] == sorted(each.authorised for each in limits)
    assert [each.authorised_with_tax for each in limits] == sorted(each.authorised_with_tax for each in limits)


def test_stored_lines_say_their_tax_class_themselves_or_by_their_material() -> None:
    quote = quoted()
    materials = {goods.slug: goods for goods in MATERIALS}

    assert lines_by_class(line_rows(quote), materials) == amounts_by_class(quote.visible)


def test_a_material_that_the_cost_base_does_not_hold_is_no_guess() -> None:
    line = {"kind": "material", "slug": "gone", "amount": "1.00", "details": {}}

    with pytest.raises(NoTaxClassError, match="holds no material 'gone'"):
        lines_by_class([line], {})
