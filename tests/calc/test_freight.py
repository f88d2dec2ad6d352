"""What is brought to the shop costs its freight once, whatever is ordered of it."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from costbase.calc.cost_base import CostBase, TaxRate
from quotes.calc.pricing import amounts_by_phase
from quotes.calc.quote import Quote
from quotes.calc.why import why_freight
from tests.calc.shipped_base import base_with, explained, framed, laminated, quoted, shipped
from tests.calc.why_cases import line

SKIN = "frp-skin-108-in"


def with_freight(slug: str = SKIN, freight: str = "187.50", plan: str = "full-rebuild", **changes: Any) -> CostBase:
    """The shipped base, in which an order of one material is brought at a freight."""
    prices = {**shipped().prices, slug: replace(shipped().prices[slug], freight=Decimal(freight))}
    return base_with(plan, prices=prices, **changes)


def brought(quote: Quote) -> list[tuple[str, str, str, str]]:
    return [(line.name, line.phase, str(line.amount), str(line.cost)) for line in quote.visible.freight]


def test_a_material_that_is_brought_at_a_freight_has_a_line_for_it() -> None:
    # 187.50 x 1.35 = 253.125, half up 253.13.
    quote = quoted(laminated(), with_freight())

    assert brought(quote) == [("Freight: Gel-coated FRP roof sheet from coil, 108 in wide", "skin", "253.13", "187.50")]


def test_freight_is_part_of_the_materials_of_the_visible_work_and_of_what_it_costs() -> None:
    # Materials 7,982.94 + 253.13; visible work 29,912.27 + 253.13; cost as before and 187.50.
    plain, quote = quoted(laminated()), quoted(laminated(), with_freight())

    assert (str(quote.visible.material_total), str(quote.totals.base)) == ("8236.07", "30165.40")
    assert quote.visible.cost - plain.visible.cost == Decimal("187.50")
    assert amounts_by_phase(quote.visible)["skin"] - amounts_by_phase(plain.visible)["skin"] == Decimal("253.13")


def test_freight_is_taxed_as_its_material_is() -> None:
    # Parts alone are taxed: 7,982.94 with 253.13 of freight. Of an untaxed skin of 36 ft neither skin nor freight is.
    rule = {"tax_mode": "parts_only", "tax_rates": (TaxRate("Sales tax", Decimal("0.0825")),)}
    skin = replace(shipped().materials[SKIN], tax_class="untaxed")
    taxed = quoted(laminated(), with_freight(rule=rule))
    untaxed = quoted(laminated(), with_freight(rule=rule, materials={**shipped().materials, SKIN: skin}))
    (goods,) = [line for line in taxed.visible.materials if line.packed.material.slug == SKIN]

    assert [str(tax.base) for tax in taxed.totals.base_taxes] == ["8236.07"]
    assert [tax.base for tax in untaxed.totals.base_taxes] == [Decimal("7982.94") - goods.amount]


def test_nothing_is_brought_of_a_material_that_this_quote_does_not_need() -> None:
    assert brought(quoted(framed(), with_freight(plan="skin-over-kept-deck"))) == []


def test_stock_that_is_billed_by_use_brings_no_freight_and_by_the_pack_it_does() -> None:
    # Butyl tape is stock: 61.50 x 1.35 = 83.025, half up 83.03.
    by_pack = with_freight("butyl-tape-1-in", "61.50")
    by_use = with_freight("butyl-tape-1-in", "61.50", rule={"stock_billing": "use"})

    assert brought(quoted(laminated(), by_use)) == []
    assert [amount for _, _, amount, _ in brought(quoted(laminated(), by_pack))] == ["83.03"]


def test_freight_can_be_followed_from_what_the_shop_pays() -> None:
    why = why_freight(explained(laminated(), with_freight()), f"freight:{SKIN}")

    assert line(why) == [
        "purchase price of the freight of one order = 187.5 USD/order",
        "markup of class materials = 35 %",
        "freight of one order with markup = 253.125 USD/order",
        "1 x 253.125, rounded = 253.13 USD",
    ]
    assert [step.purchase for step in why.steps] == [True, True, False, False]
