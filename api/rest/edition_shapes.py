"""How does an edition look at the edge, coming in and going out?

The shapes of contents are made from the kinds' lists of fields (`api/rest/edition_kinds.py`), one component of the description
for each kind.
"""

from collections.abc import Iterable, Mapping
from typing import Any

from drf_spectacular.extensions import OpenApiSerializerExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema_field
from rest_framework import serializers

from api.rest.cost_base import EDITION_KINDS
from api.rest.edition_kinds import EditionKind, Row
from api.rest.fields import LONGEST_NOTE, DayField, StrictSerializer, TextField, refuse, shown


class ContentsShape(serializers.Serializer[Any]):
    """Contents of one kind; each kind has a subclass."""

    of_kind: EditionKind


class ContentsScheme(OpenApiSerializerExtension):  # type: ignore[no-untyped-call]
    """Takes the schema of contents from the fields of the kind."""

    target_class = "api.rest.edition_shapes.ContentsShape"
    match_subclasses = True

    def map_serializer(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        kind: EditionKind = self.target.of_kind
        return kind.schema(direction)


def _shape(kind: EditionKind) -> type[ContentsShape]:
    name = "".join(word.capitalize() for word in kind.kind.split("_"))
    return type(f"{name}Contents", (ContentsShape,), {"of_kind": kind, "__doc__": f"Contents of a {kind.kind}."})


_CONTENTS = PolymorphicProxySerializer(
    component_name="EditionContents",
    serializers=[_shape(kind) for kind in EDITION_KINDS.values()],
    resource_type_field_name=None,
)


@extend_schema_field(_CONTENTS)
class ContentsField(serializers.Field[Any, object, Any, Any]):
    """The contents of an edition; the kind in the address says which fields they have."""

    def to_internal_value(self, data: object) -> Mapping[str, object]:
        if not isinstance(data, Mapping):
            raise refuse("not_object", f"Expected a JSON object of fields, not {shown(data)}.")
        return data

    def to_representation(self, value: object) -> object:
        return value


class NoteField(TextField):
    """Why, in a sentence."""

    def __init__(self) -> None:
        words = "Why. Needed where the first day is over."
        super().__init__(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="", help_text=words)


class ReplacementInput(StrictSerializer):
    """Other contents for an edition, in the fields of its kind."""

    note = NoteField()
    contents = ContentsField()


class EditionInput(ReplacementInput):
    """An edition from a day on."""

    valid_from = DayField(help_text="First day on which it is in force, in the shop's calendar.")


class NewEditionInput(EditionInput):
    """An edition under a slug, from a day on."""

    slug = TextField(max_length=60, help_text="What the rest of the cost base calls it.")


# `from` is a word of the language, so the class cannot be written out.
FollowInput: type[StrictSerializer] = type(
    "FollowInput",
    (StrictSerializer,),
    {
        "from": DayField(help_text="First day on which the network's edition is in force again."),
        "note": NoteField(),
        "__module__": __name__,
    },
)


class OtherEditionShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    valid_from = serializers.DateField()


class BilledShape(serializers.Serializer[Any]):
    per_pack = serializers.CharField(help_text="What the owner pays for a pack.")
    per_unit = serializers.CharField(help_text="What the owner pays for a unit of use.")
    unit = serializers.CharField()
    pack_name = serializers.CharField()


class EditionWarningShape(serializers.Serializer[Any]):
    pointer = serializers.CharField(help_text="JSON pointer to the formula.")
    message = serializers.CharField(help_text="Begins with its span in the formula.")


class EditionShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    kind = serializers.CharField()
    slug = serializers.CharField()
    owner = serializers.ChoiceField(choices=["shop", "network"])
    valid_from = serializers.DateField()
    in_force = serializers.BooleanField(help_text="On the day that was asked for; today where none was.")
    contents = ContentsField(help_text="Without what the reader may not see; empty where the shop follows its network.")
    follows_network = serializers.BooleanField(help_text="From its first day on the network's edition is in force.")
    override = serializers.BooleanField(help_text="It stands over an edition of the network.")
    came_from = OtherEditionShape(allow_null=True, help_text="The network's edition that it overrode when it was entered.")
    newer_in_network = OtherEditionShape(
        allow_null=True, help_text="An edition of the network in force on the day that is newer than the one it came from."
    )
    used = serializers.BooleanField(help_text="An issued quote has read it, so it can only be followed.")
    withdrawn_on = serializers.DateField(allow_null=True)
    version = serializers.IntegerField()
    created = serializers.DateTimeField()
    currency = serializers.CharField(allow_null=True, help_text="Of its amounts; a network's are in its shops' currency.")
    note = serializers.CharField(required=False, help_text="For managers and analysts.")
    warnings = EditionWarningShape(
        many=True, required=False, help_text="Of what was just entered: what may be right and deserves a look."
    )
    billed = BilledShape(
        allow_null=True, required=False, help_text="Of a price in force: after markup. Null without its material or markup."
    )


def edition_answer(kind: EditionKind, row: Row, *, currency: str | None, sees_cost: bool, further: Row) -> Row:
    """An edition as it is answered.

    Args:
        kind: of the edition.
        row: as `costbase.reports.editions` reads it.
        currency: of the shop, None in a network.
        sees_cost: whether the reader may see what things cost the shop.
        further: members that only this kind has.
    """
    answer = {name: row[name] for name in ("id", "kind", "slug", "owner", "valid_from", "used", "withdrawn_on", "version")}
    source, newest = (row["overrides"], row["source_day"]), (row["network_id_now"], row["network_day_now"])
    is_newer = newest[1] is not None and (source[1] is None or newest[1] > source[1])
    return {
        **answer,
        "in_force": row["standing"],
        "contents": kind.shown(row["contents"], sees_cost),
        "follows_network": row["follows"],
        "override": source[0] is not None,
        "came_from": _other(*source),
        "newer_in_network": _other(*newest) if is_newer else None,
        "created": row["created"],
        "currency": currency,
        **({"note": row["note"]} if sees_cost else {}),
        **further,
    }


def _other(edition_id: int | None, day: object) -> Row | None:
    return None if edition_id is None else {"id": edition_id, "valid_from": day}


class ChangeShape(serializers.Serializer[Any]):
    """An edition before or after a change."""

    valid_from = serializers.DateField()
    contents = ContentsField()
    note = serializers.CharField()
    follows_network = serializers.BooleanField()
    used = serializers.BooleanField()
    withdrawn_on = serializers.DateField(allow_null=True)


class EventShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    edition = serializers.IntegerField(help_text="Id of the edition that was changed.")
    at = serializers.DateTimeField()
    change = serializers.ChoiceField(choices=["insert", "update", "delete"])
    person = serializers.IntegerField(allow_null=True, help_text="Id of who did it; null for the console and nightly work.")
    role = serializers.CharField()
    before = ChangeShape(allow_null=True)
    after = ChangeShape(allow_null=True)


_CHANGED = ("valid_from", "contents", "note", "used", "withdrawn_on")


def event_answers(rows: Iterable[Row]) -> list[Row]:
    """The history of editions as it is answered."""
    return [_event(row) for row in rows]


def _event(row: Row) -> Row:
    label, context = row["pgh_label"], row["pgh_context"]
    return {
        "id": row["pgh_id"],
        "edition": row["id"],
        "at": row["pgh_created_at"],
        "change": label,
        "person": context["person"],
        "role": context["role"],
        "before": None if label == "insert" else _state(row, "was_"),
        "after": None if label == "delete" else _state(row, ""),
    }


def _state(row: Row, prefix: str) -> Row:
    state = {name: row[f"{prefix}{name}"] for name in _CHANGED}
    return {**state, "follows_network": row.get(f"{prefix}follows_network", False)}
