"""Conditions: multipliers of hours, chosen or following a measure."""

import django_filters

from api.rest.edition_kinds import EditionFilters, named, of_core


class ConditionFilters(EditionFilters):
    name = named()
    follows = django_filters.CharFilter(field_name="contents__follows", max_length=60, label="The measure that it follows.")


CONDITIONS = of_core("conditions", "condition", ConditionFilters)
