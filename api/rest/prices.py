"""Prices: what a pack of a material costs the shop, and what the owner pays for one."""

from collections.abc import Mapping, Sequence
from datetime import date
from decimal import Decimal
from typing import cast

from api.rest.edition_kinds import EditionFilters, Row, of_core
from costbase.calc.cost_base import Material, PricingRule
from costbase.calc.money import marked_up, per_unit, unit_price
from costbase.models import Shop
from costbase.snapshot import RULE, in_force


class PriceFilters(EditionFilters):
    """The slug of a price is its material's."""


def _billed(shop: Shop, day: date, rows: Sequence[Row]) -> Mapping[str, Row]:
    """What a pack and a unit of use are billed at after markup; null without a material or markup in force."""
    kinds = in_force(shop, day)
    materials = cast(Mapping[str, Material], kinds.get("material", {}))
    rule = cast(PricingRule | None, kinds.get("rule", {}).get(RULE))
    return {row["slug"]: {"billed": _after_markup(row, materials.get(row["slug"]), rule)} for row in rows}


def _after_markup(row: Row, material: Material | None, rule: PricingRule | None) -> Row | None:
    markup = rule.markups.get(material.markup_class) if rule and material else None
    if material is None or markup is None:
        return None
    sale = marked_up(Decimal(row["contents"]["pack_price"]), markup)
    return {
        "per_pack": f"{unit_price(sale):f}",
        "per_unit": f"{per_unit(sale, material.pack_size):f}",
        "unit": material.unit,
        "pack_name": material.pack_name,
    }


PRICES = of_core("prices", "price", PriceFilters, hidden=frozenset({"pack_price", "freight"}), further=_billed)
