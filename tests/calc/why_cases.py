"""Quotes whose answers to "why?" are tested, and an answer as a person reads it."""

from dataclasses import replace
from decimal import Decimal
from functools import cache

from costbase.calc.cost_base import TaxRate
from quotes.calc.contingency import CostFactors
from quotes.calc.why import Context, Why, WhyStep
from tests.calc.roofs import laminated_34_ft
from tests.calc.shipped_base import base_with, explained, framed, inputs, laminated, shipped, two_sections

# A shop that takes 6 % longer than its templates, with the doubt of some twenty jobs; invented.
SLOW = CostFactors(theta=0.06, sd_theta=0.03, sigma=0.10, find_factor=1.2, sd_find=0.1)

QUOTES = ("laminated", "framed", "two sections", "loaded", "brought", "reseal")


@cache
def context(name: str) -> Context:
    """The two example quotes, a surveyed roof of two sections, one with every line of a shop, one whose goods are all
    brought at a freight, and one that opens nothing."""
    if name == "laminated":
        return explained(laminated())
    if name == "framed":
        return explained(framed())
    if name == "two sections":
        return explained(two_sections())
    if name == "reseal":
        return explained(inputs(laminated_34_ft(), plan="reseal"))
    if name == "brought":
        prices = {slug: replace(price, freight=Decimal("61.50")) for slug, price in shipped().prices.items()}
        return explained(laminated(), base_with(prices=prices))
    rule = {
        "price_basis": "open",
        "stock_billing": "use",
        "supplies_share": Decimal("0.03"),
        "supplies_cap": Decimal("400.00"),
        "overhead_share": Decimal("0.08"),
        "minimum_charge": Decimal("40000.00"),
        "tax_mode": "parts_only",
        "tax_rates": (TaxRate("State", Decimal("0.0625")), TaxRate("City", Decimal("0.02"))),
        "total_step": Decimal(5),
    }
    return explained(laminated(), base_with(rule=rule), SLOW)


def shown(step: WhyStep) -> str:
    return f"{step.text} = {step.value} {step.unit}".strip()


def line(why: Why) -> list[str]:
    return [shown(step) for step in why.steps]
