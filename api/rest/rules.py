"""The pricing rule: how cost becomes a price."""

from api.rest.edition_kinds import EditionFilters, of_core
from costbase.snapshot import RULE


class RuleFilters(EditionFilters):
    """There is one rule at a time."""


RULES = of_core("rules", "rule", RuleFilters, hidden=frozenset({"markups"}), only_slug=RULE)
