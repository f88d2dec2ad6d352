"""What does a kind of edition have that the others do not? One `EditionKind` for each, in a file of its own.

The fields, how they are read and the schema of their contents all come from the kind's list of fields in the core.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

import django_filters

from api.rest.contents_words import WORDS
from api.rest.queries import DayFilter
from costbase.calc.contents import read_kind, write
from costbase.calc.contents_table import KINDS
from costbase.calc.cost_base import EditionRef
from costbase.calc.fields import Field, schema_of
from costbase.models import Shop

Row = dict[str, Any]
Schema = dict[str, Any]
# Further members of an answer by slug, for a shop's rows that are in force on a day.
Further = Callable[[Shop, date, Sequence[Row]], Mapping[str, Row]]


class OnFilter(django_filters.FilterSet):  # type: ignore[misc]
    """The day on which something is in force."""

    on = DayFilter(method="kept_as_is", label="Day on which they are in force; today unless told.")

    def kept_as_is(self, rows: Any, name: str, value: date) -> Any:
        """The day chooses what is in force before anything is filtered."""
        return rows


class EditionFilters(OnFilter):
    """What every list of editions in force can be asked for."""

    owner = django_filters.ChoiceFilter(choices=[("shop", "shop"), ("network", "network")], label="Whose they are.")
    slug = django_filters.CharFilter(lookup_expr="icontains", max_length=60, label="Part of the slug.")


def named(label: str = "Part of the name, in any case.") -> django_filters.CharFilter:
    """The filter of kinds that have a name."""
    return django_filters.CharFilter(field_name="contents__name", lookup_expr="icontains", max_length=120, label=label)


def one_of(field: str, options: Sequence[str], label: str) -> django_filters.ChoiceFilter:
    """The filter of a field that is one of a few words."""
    return django_filters.ChoiceFilter(field_name=f"contents__{field}", choices=[(word, word) for word in options], label=label)


def _nothing_further(shop: Shop, day: date, rows: Sequence[Row]) -> Mapping[str, Row]:
    return {}


@dataclass(frozen=True)
class EditionKind:
    """One kind of edition at the edge.

    Attributes:
        path: its part of an address, in the plural ("rates").
        kind: as the cost base names it ("rate").
        fields: of its contents.
        read: the normal form of contents; raises CalculationError with fields below the contents.
        filters: of its list.
        hidden: fields that only those who may see cost see.
        only_slug: the one slug that quotes read; "" where there are many.
        further: members of its answers beside the common ones.
    """

    path: str
    kind: str
    fields: tuple[Field, ...]
    read: Callable[[str, object], dict[str, object]]
    filters: type[EditionFilters]
    hidden: frozenset[str] = frozenset()
    only_slug: str = ""
    further: Further = _nothing_further

    def schema(self, direction: str) -> Schema:
        """The JSON Schema of the contents; an answer may lack what is hidden."""
        schema: Schema = schema_of(self.fields)
        words = WORDS[self.kind]
        properties = {
            name: {**shape, "description": _said(words.get(name, ""), shape)} for name, shape in schema["properties"].items()
        }
        required = [name for name in schema["required"] if direction == "request" or name not in self.hidden]
        return {**schema, "properties": properties, "required": required} if required else _without_required(schema, properties)

    def shown(self, contents: Mapping[str, object], sees_cost: bool) -> dict[str, object]:
        """The contents as a reader may see them."""
        return {name: value for name, value in contents.items() if sees_cost or name not in self.hidden}


def _said(words: str, shape: Mapping[str, Any]) -> str:
    own = shape.get("description", "")
    return f"{words} {own}".strip()


def _without_required(schema: Schema, properties: Schema) -> Schema:
    # An empty list of required members is no valid schema everywhere.
    return {name: value for name, value in {**schema, "properties": properties}.items() if name != "required"}


def of_core(path: str, kind: str, filters: type[EditionFilters], **further: Any) -> EditionKind:
    """A kind whose fields the cost base knows."""

    def read(slug: str, contents: object) -> dict[str, object]:
        return write(read_kind(kind, contents, EditionRef(kind, slug, "", "")))

    return EditionKind(path, kind, KINDS[kind].fields, read, filters, **further)
