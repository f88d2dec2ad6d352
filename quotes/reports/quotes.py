"""What does the shop have in quotes, and what stands in one of them?"""

from collections.abc import Mapping, Sequence
from typing import Any

from django.db.models import F, QuerySet

from costbase.calc.cost_base import CostBase
from costbase.models import Shop
from quotes.calc.fleet import LotContext
from quotes.calc.quote import compute_quote
from quotes.calc.tax import LABOUR
from quotes.calc.why import Context
from quotes.exchange.frozen import factors_from_json, inputs_from_json
from quotes.models import Quote, QuoteComponent, QuoteLine
from quotes.reports.fleets import lot_worked_again
from quotes.snapshot import frozen_cost_base, points, severity_rules

Row = dict[str, Any]

LINE = (
    "position", "kind", "slug", "trade", "name", "phase", "price_kind", "quantity", "unit", "price", "amount", "cost",
    "details",
)  # fmt: skip
COMPONENT = (
    "position", "slug", "construction", "name", "owner_words", "unit", "tier", "exposure", "chance", "share", "unit_price",
    "set_up", "labour_part", "material_part", "allowance", "details",
)  # fmt: skip
_ALTERNATIVE = ("id", "alternative", "label", "state", "base_with_tax", "limit_with_tax")
NOT_SHOWN = ("inputs", "atoms", "totals", "told", "request", "factors")


def brief_quotes(shop: Shop) -> QuerySet[Quote]:
    """Quotes without the columns that a list does not show."""
    return Quote.objects.for_shop(shop).defer(*NOT_SHOWN)


def offer_rows(shop: Shop, quote_id: int) -> QuerySet[Quote]:
    """Every revision and alternative of the number that a quote has, the oldest first, without their heavy columns."""
    number = Quote.objects.for_shop(shop).filter(pk=quote_id).values("number")
    return brief_quotes(shop).filter(number__in=number).order_by("pk")


def held_offer(shop: Shop, quote_id: int) -> Quote | None:
    """The quote with all its columns, held with every revision and alternative of its number; None where there is none.

    Always all of the number and in one order: two requests that answer two alternatives wait for each other and lock up never.
    """
    held = [row.pk for row in offer_rows(shop, quote_id).select_for_update(of=("self",))]
    return Quote.objects.for_shop(shop).get(pk=quote_id) if quote_id in held else None


def stored_lines(shop: Shop, quote_id: int) -> list[Row]:
    """The lines of a quote in their order."""
    return list(QuoteLine.objects.for_shop(shop).filter(quote_id=quote_id).order_by("position").values(*LINE))


def stored_components(shop: Shop, quote_id: int) -> list[Row]:
    """The hidden components of a quote in their order."""
    rows = QuoteComponent.objects.for_shop(shop).filter(quote_id=quote_id).order_by("position")
    return list(rows.values(*COMPONENT))


def parts_of_quotes(shop: Shop, quote_ids: Sequence[int]) -> dict[int, tuple[list[Row], list[Row]]]:
    """Lines and hidden components of several quotes by the id of the quote, each in their order: two queries."""
    found: dict[int, tuple[list[Row], list[Row]]] = {quote_id: ([], []) for quote_id in quote_ids}
    lines = QuoteLine.objects.for_shop(shop).filter(quote_id__in=quote_ids).order_by("quote_id", "position")
    components = QuoteComponent.objects.for_shop(shop).filter(quote_id__in=quote_ids).order_by("quote_id", "position")
    for at, rows in enumerate((lines.values("quote_id", *LINE), components.values("quote_id", *COMPONENT))):
        for row in rows:
            found[row["quote_id"]][at].append({name: value for name, value in row.items() if name != "quote_id"})
    return found


def other_alternatives(shop: Shop, *, number: str, revision: int, than: int) -> list[Row]:
    """What is offered beside a quote, in the order of the offer."""
    rows = Quote.objects.for_shop(shop).filter(number=number, revision=revision).exclude(pk=than).order_by("alternative")
    return list(rows.values(*_ALTERNATIVE, days=F("told__days")))


def offered_of(totals: Mapping[str, Any]) -> Row:
    """What ticking each offered option changes, and all of them; a quote from before options were offered has none."""
    found: Row = totals.get("offered", {"options": [], "together": None})
    return found


def worked_again(quote: Quote, known: dict[int, LotContext] | None = None) -> Context:
    """The quote worked out again from what was kept with it; exact on the engine that priced it.

    The quote of a coach in a fleet is worked out with the whole fleet, of which its lines are shares.

    Args:
        quote: with all its columns.
        known: fleets that were worked out before, for whoever asks for many quotes.
    """
    if quote.fleet_id is not None:
        return lot_worked_again(quote, fleet_id=quote.fleet_id, known=known).mine
    base = frozen_cost_base(quote)
    rules = severity_rules(base.severity)
    inputs, factors = inputs_from_json(quote.inputs), factors_from_json(quote.factors)
    return Context(inputs, base, rules, factors, points(), compute_quote(inputs, base, rules, factors, points()))


def tax_class_of(kind: str, slug: str, said: str | None, base: CostBase) -> str:
    """The tax class of a stored line: as the line says, or labour, or that of the material in the kept cost base."""
    if said is not None:
        return said
    return LABOUR if kind == "labour" else base.materials[slug].tax_class
