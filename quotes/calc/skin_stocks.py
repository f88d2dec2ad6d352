"""From which stock is the new skin of each section, and how is it laid?

The skin of a section is the material that an assembly of this plan needs by the length of its stock. Its other sizes are those
materials that stand in its place. `quotes/calc/skins.py` lays them; here are the prices that they are compared at.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import CostBase, Material
from costbase.calc.measures import derive
from costbase.calc.money import marked_up
from costbase.calc.units import UNITS
from quotes.calc.boards import price_of_use, worth
from quotes.calc.inputs import QuoteInputs
from quotes.calc.skins import BareSection, LaidSkin, SkinPlan, SkinStock, plan_skins
from quotes.calc.takeoff import Value, Values, belongs, compile_assembly, needs_by_skin

FOOT = float(UNITS["foot"].factor)


@dataclass(frozen=True, slots=True)
class Skins:
    """What new skin comes to: a plan for each material that is needed, and the measures of every section by label."""

    plans: tuple[SkinPlan, ...]
    measures: dict[str, dict[str, Value]]

    def laid(self, label: str) -> tuple[SkinPlan, LaidSkin] | None:
        """The skin of a section with the plan that it belongs to; None where it gets none that is planned."""
        return next(((plan, skin) for plan in self.plans for skin in plan.laid if skin.section == label), None)


def lay_skins(sections: Mapping[str, Values], inputs: QuoteInputs, cost_base: CostBase) -> Skins:
    """The new skin of every section.

    Args:
        sections: what is known of each section and of the quote, canonical, by label; derived measures left aside.
        inputs: its options may lay a skin too.
        cost_base: assemblies, materials, prices.
    """
    works = [
        cost_base.assemblies[slug] for slug in (*cost_base.plan.assemblies, *inputs.options) if slug in cost_base.assemblies
    ]
    layers = [(work, slug) for work in works for slug in needs_by_skin(work)]
    alike: dict[str, list[str]] = {}
    for label, values in sections.items():
        slug = next((slug for work, slug in layers if belongs(work, values)), "")
        if slug and cast(float, values["roof_length"]) > 0:
            alike.setdefault(slug, []).append(label)
    plans = tuple(_plans(alike, sections, works, cost_base))
    return Skins(plans, {skin.section: _measures(skin) for plan in plans for skin in plan.laid})


def _measures(skin: LaidSkin) -> dict[str, Value]:
    return {"skin_stock_length": skin.stock_length, "skin_lap_length": skin.lap_length}


def _plans(
    alike: Mapping[str, Sequence[str]], sections: Mapping[str, Values], works: Sequence[Assembly], cost_base: CostBase
) -> Iterator[SkinPlan]:
    for slug, labels in alike.items():
        stocks = _stocks(slug, cost_base)
        if stocks:
            seam = 0.0
            if any(stock.lap is not None for stock in stocks):
                seam = max(_seam_price(works, sections[label], cost_base) for label in labels)
            yield plan_skins([_bare(label, sections[label]) for label in labels], stocks, seam)


def _bare(label: str, values: Values) -> BareSection:
    length, developed, visible = (cast(float, values[name]) for name in ("roof_length", "developed_width", "visible_width"))
    return BareSection(label, length, developed, visible)


def _stocks(slug: str, cost_base: CostBase) -> tuple[SkinStock, ...]:
    """The material and its other sizes that have a price; none where it has no price or width itself."""
    others = [other for _, other in sorted(cost_base.materials.items()) if other.in_place_of == slug]
    own = [cost_base.materials[slug]] if slug in cost_base.materials else []
    stocks = tuple(stock for material in (*own, *others) if (stock := _stock(material, cost_base)) is not None)
    return stocks if stocks and stocks[0].slug == slug else ()


def _stock(material: Material, cost_base: CostBase) -> SkinStock | None:
    each = price_of_use(material.slug, cost_base)
    if each is None or material.stock_width is None or material.unit != "ft":
        return None
    freight = marked_up(cost_base.prices[material.slug].freight, cost_base.rule.markups[material.markup_class])
    return SkinStock(
        slug=material.slug,
        name=material.name,
        width=material.stock_width,
        covers=material.stock_width_covers,
        longest=material.stock_length,
        lap=material.lap,
        price_per_foot=float(each) * (1.0 + float(material.waste_share)),
        freight=float(freight),
    )


def _seam_price(works: Sequence[Assembly], known: Values, cost_base: CostBase) -> float:
    """What a foot more of lap seam costs the owner in the work of this plan, set-up apart; a weight, and no amount."""
    values = {**known, **derive("section", dict(known))}
    longer = {**values, "skin_lap_length": cast(float, values["skin_lap_length"]) + FOOT}
    price = 0.0
    for work in works:
        reads = any("skin_lap_length" in formula.inputs for formula in compile_assembly(work).all())
        if reads and work.level == "section" and belongs(work, values):
            price += worth(work, longer, cost_base) - worth(work, values, cost_base)
    return max(price, 0.0)
