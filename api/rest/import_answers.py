"""How is a staged file shown: what it would change, field by field, and everything that is wrong with it?"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from rest_framework import serializers

from costbase.actions.imports import Import, Owner, rows_of_imports
from costbase.models.imports import ADDED, APPLIED, CHANGED, CHANGES, FAULTY, STAGED, STAGING, UNCHANGED

# Of each list an answer holds the first ones; the address of the rows has all of them.
MOST_SHOWN: Final = 100
_STATES = (STAGING, STAGED, APPLIED)

Row = dict[str, Any]


class ImportBrief(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    file = serializers.CharField()
    kind = serializers.CharField(help_text="Of a table with commas; empty for TOML.")
    valid_from = serializers.DateField(help_text="First day of what the file says.")
    note = serializers.CharField()
    state = serializers.ChoiceField(_STATES)
    added = serializers.IntegerField(help_text="Editions under a slug that has nothing in force.")
    changed = serializers.IntegerField(help_text="Editions with other contents than are in force.")
    unchanged = serializers.IntegerField(help_text="Editions that are in force already; nothing is made of them.")
    faulty = serializers.IntegerField(help_text="Rows or tables with a fault.")
    run = serializers.IntegerField(source="run_id", allow_null=True, help_text="The run that stages a long file.")
    created = serializers.DateTimeField()
    created_by = serializers.IntegerField(allow_null=True)
    applied_at = serializers.DateTimeField(allow_null=True)
    applied_by = serializers.IntegerField(allow_null=True)


class ImportFaultShape(serializers.Serializer[Any]):
    file = serializers.CharField()
    place = serializers.CharField(help_text="Row or table; empty for the whole file.")
    column = serializers.CharField(help_text="Column, or path of a field; empty for the whole row.")
    reason = serializers.CharField(help_text="What was expected.")


class ImportFieldShape(serializers.Serializer[Any]):
    field = serializers.CharField(help_text="Path of a field of the contents.")
    before = serializers.JSONField(help_text="What is in force; null where the field says nothing there.")
    after = serializers.JSONField(help_text="What the file says; null where it says nothing.")


class ImportRowShape(serializers.Serializer[Any]):
    position = serializers.IntegerField()
    place = serializers.CharField(help_text="Row or table of the file.")
    kind = serializers.CharField()
    slug = serializers.CharField()
    change = serializers.ChoiceField(CHANGES, allow_blank=True, help_text="Empty until the whole file is staged.")
    fields = ImportFieldShape(many=True, help_text="What is different, field by field.")  # type: ignore[assignment]
    faults = ImportFaultShape(many=True)


class ImportKeyShape(serializers.Serializer[Any]):
    kind = serializers.CharField()
    slug = serializers.CharField()


class ImportChangedShape(ImportKeyShape):
    fields = ImportFieldShape(many=True)  # type: ignore[assignment]


class ImportDifferenceShape(serializers.Serializer[Any]):
    added = ImportKeyShape(many=True)
    changed = ImportChangedShape(many=True)
    unchanged = ImportKeyShape(many=True)


class ImportShape(ImportBrief):
    difference = ImportDifferenceShape(help_text=f"The first {MOST_SHOWN} of each; all are among the import's rows.")
    faults = ImportFaultShape(many=True, help_text=f"Those of the file, and those of the first {MOST_SHOWN} faulty rows.")


def import_answer(owner: Owner, staged: Import) -> Row:
    """An import with its difference and faults; four queries, however long it is."""
    first = {change: list(_rows(owner, staged, change)) for change in CHANGES}
    of_rows = [fault for row in first[FAULTY] for fault in _faults(staged.file, row.faults)]
    return {
        **ImportBrief(staged).data,
        "difference": {
            ADDED: [_key(row) for row in first[ADDED]],
            CHANGED: [{**_key(row), "fields": fields_of(row)} for row in first[CHANGED]],
            UNCHANGED: [_key(row) for row in first[UNCHANGED]],
        },
        "faults": [*_faults(staged.file, staged.faults), *of_rows],
    }


def row_answers(staged: Import, rows: Sequence[Any]) -> list[Row]:
    """Rows as a list shows them."""
    return [
        {
            "position": row.position,
            "place": row.place,
            **_key(row),
            "change": row.change,
            "fields": fields_of(row) if row.change in (ADDED, CHANGED) else [],
            "faults": _faults(staged.file, row.faults),
        }
        for row in rows
    ]


def fields_of(row: Any) -> list[Row]:
    """What a row would change, field by field; tables are gone into, lists are shown whole."""
    return list(_different(row.before or {}, row.contents or {}, ""))


def _different(before: Mapping[str, Any], after: Mapping[str, Any], path: str) -> Iterator[Row]:
    for name in dict.fromkeys((*before, *after)):
        was, is_now = before.get(name), after.get(name)
        if isinstance(was, dict) and isinstance(is_now, dict):
            yield from _different(was, is_now, f"{path}{name}/")
        elif was != is_now:
            yield {"field": f"{path}{name}", "before": was, "after": is_now}


def _rows(owner: Owner, staged: Import, change: str) -> Any:
    return rows_of_imports(owner).filter(of_id=staged.pk, change=change).order_by("position")[:MOST_SHOWN]


def _key(row: Any) -> Row:
    return {"kind": row.kind, "slug": row.slug}


def _faults(file: str, faults: Sequence[Mapping[str, str]]) -> list[Row]:
    return [{"file": file, **fault} for fault in faults]
