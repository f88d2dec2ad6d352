"""Rates: what an hour of a trade costs the shop, and what is billed for it."""

from api.rest.edition_kinds import EditionFilters, named, of_core


class RateFilters(EditionFilters):
    name = named()


RATES = of_core("rates", "rate", RateFilters, hidden=frozenset({"cost_per_hour"}))
