"""Why so much stock and so much lap? The steps of the layout of a section's new skin."""

from collections.abc import Iterator
from typing import cast

from costbase.calc.units import show
from quotes.calc.skins import ALONG, LaidSkin, SkinPlan
from quotes.calc.why.steps import Context, WhyStep, measure_value

RULE = "rule: layout of the skin"
STOCK, LAP = "skin_stock_length", "skin_lap_length"
SLUGS = frozenset({STOCK, LAP})


def planned_skin(context: Context, slug: str, label: str) -> tuple[SkinPlan, LaidSkin] | None:
    """The plan that a measure of a section comes from; None where it is another measure, or nobody planned it."""
    return context.quote.measured.skins.laid(label) if slug in SLUGS else None


def starts_from(context: Context, plan: SkinPlan) -> tuple[str, ...]:
    """The measures to tell before one of the skin's."""
    return ("roof_length", f"{context.cost_base.materials[plan.stock].stock_width_covers}_width")


def skin_steps(context: Context, slug: str, label: str, named: str) -> Iterator[WhyStep]:
    """The steps to the stock length or the lap length of one section.

    Args:
        context: the quote, worked out again.
        slug: one of `SLUGS`.
        label: of the section.
        named: the measure with its section, as the answer names it.
    """
    found = planned_skin(context, slug, label)
    if found is None:
        return
    plan, skin = found
    stock = context.cost_base.materials[plan.stock]
    if slug == STOCK and (plan.stock != plan.needed or len(plan.costs) != 1):
        yield WhyStep(f"stock in the place of {plan.needed}: {plan.reason}", plan.stock, "", RULE)
    shown = measure_value(slug, cast(float, context.quote.measured.sections[label][slug]))
    if slug == STOCK:
        strips = len({strip.offset if skin.direction == ALONG else strip.station for strip in skin.strips})
        width = show(stock.stock_width or 0.0, "in", 2)
        words = f"{strips} strip{'s' if strips > 1 else ''} {skin.direction} from stock {width} wide"
        pieces = len(skin.strips)
        yield WhyStep(f"{named} = {words}" + (f", in {pieces} pieces" if pieces > strips else ""), *shown, RULE)
    else:
        yield WhyStep(f"{named} = {len(skin.seams)} seams where strips overlap", *shown, RULE)
