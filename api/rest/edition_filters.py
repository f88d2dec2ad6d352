"""Which query parameters do lists of editions take, of all kinds together, for the description?"""

from collections.abc import Iterator
from copy import copy

import django_filters

from api.rest.cost_base import EDITION_KINDS
from api.rest.edition_kinds import EditionFilters


class NoFilters(django_filters.FilterSet):  # type: ignore[misc]
    """A list in pages that nothing narrows."""


def _every_filter() -> Iterator[tuple[str, django_filters.Filter]]:
    """The filters of all kinds by name, each saying in its label which kinds have it."""
    yield from EditionFilters.base_filters.items()
    names = sorted({name for kind in EDITION_KINDS.values() for name in kind.filters.base_filters})
    for name in names:
        if name not in EditionFilters.base_filters:
            having = [kind for kind in EDITION_KINDS.values() if name in kind.filters.base_filters]
            each = copy(having[0].filters.base_filters[name])
            each.label = f"{each.label} Of {', '.join(kind.path for kind in having)}."
            yield name, each


AnyEditionFilters: type[django_filters.FilterSet] = type(
    "AnyEditionFilters", (django_filters.FilterSet,), dict(_every_filter())
)
