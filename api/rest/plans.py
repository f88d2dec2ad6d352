"""Scope plans: named lists of assemblies with the measures that they set."""

from typing import Any

import django_filters

from api.rest.edition_kinds import EditionFilters, named, of_core
from api.rest.queries import FlagFilter


class PlanFilters(EditionFilters):
    name = named()
    opens = FlagFilter(field_name="contents__opens", label="Only plans that open the roof, or only others.")
    assembly = django_filters.CharFilter(method="that_takes", max_length=60, label="Plans that take this assembly.")

    def that_takes(self, rows: Any, name: str, value: str) -> Any:
        """Plans with the assembly in their list."""
        return rows.filter(contents__assemblies__contains=[value])


PLANS = of_core("plans", "plan", PlanFilters)
