"""The tier table: how chance and share shift with how bad a roof is."""

from api.rest.edition_kinds import EditionFilters, of_core
from costbase.snapshot import TIERS as TIERS_SLUG


class TierFilters(EditionFilters):
    """There is one table at a time."""


TIERS = of_core("tiers", "tiers", TierFilters, only_slug=TIERS_SLUG)
