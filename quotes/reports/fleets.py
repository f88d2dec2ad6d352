"""Which fleets has the shop, which quotes are in one, and what does it come to when it is worked out again?"""

from dataclasses import replace

from django.db.models import QuerySet

from costbase.models import Shop
from quotes.calc.fleet import LotContext, compute_fleet
from quotes.exchange.frozen import factors_from_json, inputs_from_json
from quotes.models import Fleet, Quote
from quotes.snapshot import frozen_cost_base, points, severity_rules

_HEAVY = ("atoms", "totals", "told", "request", "factors")
_OF_COACH = (
    "number", "revision", "state", "place", "fleet_id", "coach_id", "survey_id", "tier", "provisional", "version", "currency",
    "base", "allowance", "contingency", "limit", "base_with_tax", "limit_with_tax", "told",
)  # fmt: skip


def brief_fleets(shop: Shop) -> QuerySet[Fleet]:
    """Fleets without the columns that a list does not show."""
    return Fleet.objects.for_shop(shop).defer(*_HEAVY)


def held_fleet(shop: Shop, fleet_id: int) -> tuple[Fleet, list[Quote]] | None:
    """The fleet, then its quotes in the order of ids, held with all their columns; the quotes come in the order of the coaches.

    None where there is none.
    """
    fleet = Fleet.objects.for_shop(shop).select_for_update(of=("self",)).filter(pk=fleet_id).first()
    if fleet is None:
        return None
    rows = Quote.objects.for_shop(shop).filter(fleet_id=fleet_id).order_by("pk")
    quotes = list(rows.select_for_update(of=("self",)))
    return fleet, sorted(quotes, key=lambda quote: quote.place or 0)


def quotes_of(shop: Shop, fleet_id: int) -> QuerySet[Quote]:
    """The quotes of a fleet in the order of the coaches, with what the fleet shows of them."""
    return Quote.objects.for_shop(shop).filter(fleet_id=fleet_id).order_by("place").only(*_OF_COACH)


def lot_worked_again(quote: Quote, *, fleet_id: int, known: dict[int, LotContext] | None = None) -> LotContext:
    """The whole fleet of a quote, worked out again from what was kept with its quotes; exact on the engine that priced it.

    Args:
        quote: of one of its coaches.
        fleet_id: the fleet that it names.
        known: fleets that were worked out before, by id, to which this one is added: of many quotes of one fleet each would
            otherwise work all of it out.
    """
    place = (quote.place or 1) - 1
    if known is not None and fleet_id in known:
        return replace(known[fleet_id], place=place)
    base = frozen_cost_base(quote)
    rules, factors = severity_rules(base.severity), factors_from_json(quote.factors)
    every = Quote.objects.for_shop(quote.shop_id).filter(fleet_id=fleet_id).order_by("place")
    coaches = tuple(inputs_from_json(inputs) for inputs in every.values_list("inputs", flat=True))
    lot = LotContext(coaches, base, rules, factors, points(), compute_fleet(coaches, base, rules, factors, points()), place)
    if known is not None:
        known[fleet_id] = lot
    return lot
