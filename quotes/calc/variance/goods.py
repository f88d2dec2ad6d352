"""Were the goods dearer than they should be, or was more of them used?

Price is (actual price - standard price) x actual quantity, usage (actual quantity - standard quantity) x standard price, in one
unit for each material. Adverse is positive. Both are differences of rounded amounts, so that they add exactly.

Source: the usual variances of standard costing, as in OpenStax, Principles of Managerial Accounting, chapter 8.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency, extend
from quotes.calc.variance.steps import Cause, Step

MATERIAL_PRICE, MATERIAL_USAGE = "material_price", "material_usage"


@dataclass(frozen=True, slots=True)
class Goods:
    """What there is of one material, in packs or units of use as `unit` says.

    `price` is the standard purchase price of one; None where nobody priced it before, as with goods that no quote held: there
    is no standard to compare with, and all that they cost is usage. `standard_quantity` and `standard_cost` are for the work
    that was actually required.
    """

    material: str
    unit: str
    price: Decimal | None
    standard_quantity: Decimal
    standard_cost: Decimal
    actual_quantity: Decimal
    actual_cost: Decimal


@dataclass(frozen=True, slots=True)
class GoodsVariances:
    """Price + usage = actual cost - standard cost of all goods, exactly."""

    price: Cause
    usage: Cause


def goods_variances(goods: Sequence[Goods], currency: Currency) -> GoodsVariances:
    """Takes the goods of a job apart, a step for each material.

    Args:
        goods: one a material and unit.
        currency: of all amounts.

    Raises:
        MoneyError: a number is no finite Decimal.
    """
    price, usage = [], []
    for one in goods:
        worth = one.actual_cost if one.price is None else extend(one.actual_quantity, one.price, currency)
        had = f"{one.actual_quantity} {one.unit} of {one.material}"
        if one.price is not None:
            price.append(Step(f"{had} at {one.price} and at what they cost", worth, one.actual_cost))
        usage.append(Step(f"{had} in place of {one.standard_quantity}", one.standard_cost, worth))
    return GoodsVariances(
        Cause(MATERIAL_PRICE, "Prices of goods", tuple(price)), Cause(MATERIAL_USAGE, "Goods used", tuple(usage))
    )
