"""How are entries of the ledger shown, and to whom?

Everybody in the shop sees what was done and what it is worth at the quote's prices; what it cost, and the rate, are for
managers and analysts.
"""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.db.models import QuerySet
from rest_framework import serializers

from api.rest.quote_answers import COST_READERS, fixed
from costbase.calc.money import currency
from costbase.models import Shop
from quotes.actions.ledger import ADDED, THERE, Logged
from quotes.calc.ledger import KINDS
from quotes.models import LedgerEntry

Row = dict[str, Any]

_PLAIN = (
    "id", "kind", "trade", "phase", "line", "assembly", "component", "material", "unit", "overtime", "supplier", "invoice",
    "invoice_line", "reason", "words", "source", "returnable", "valued_by", "note", "late",
)  # fmt: skip


class LoggedEntryShape(serializers.Serializer[Any]):
    client_id = serializers.UUIDField()
    id = serializers.IntegerField()
    status = serializers.ChoiceField(choices=[ADDED, THERE], help_text="there: it was logged before, and says the same.")
    line = serializers.IntegerField(allow_null=True, help_text="Line of the job that it stands on.")
    quoted = serializers.BooleanField(help_text="false: it belongs to nothing that was quoted, and to no return.")
    late = serializers.BooleanField(help_text="Logged after the job was closed.")


class LoggedShape(serializers.Serializer[Any]):
    entries = LoggedEntryShape(many=True)


class EntryShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    client_id = serializers.UUIDField(allow_null=True)
    job = serializers.IntegerField(allow_null=True)
    kind = serializers.ChoiceField(choices=KINDS)
    day = serializers.DateField()
    worker = serializers.IntegerField(allow_null=True)
    trade = serializers.CharField()
    phase = serializers.CharField()
    line = serializers.IntegerField(allow_null=True)
    assembly = serializers.CharField()
    component = serializers.CharField()
    change_order = serializers.IntegerField(allow_null=True, help_text="Its number in the job.")
    warranty_return = serializers.IntegerField(allow_null=True, help_text="Id of the return of its job that it was for.")
    quoted = serializers.BooleanField()
    material = serializers.CharField()
    quantity = serializers.CharField(help_text="Hours, packs or units of use; below 0 in what takes an entry back.")
    unit = serializers.CharField(help_text="h, pack, or the unit of use; empty where a thing is counted.")
    overtime = serializers.BooleanField()
    supplier = serializers.CharField()
    invoice = serializers.CharField()
    invoice_line = serializers.IntegerField(allow_null=True)
    reason = serializers.CharField()
    words = serializers.CharField()
    source = serializers.CharField(help_text="Of goods: stock or job.")  # type: ignore[assignment]
    returnable = serializers.BooleanField(allow_null=True)
    value = serializers.CharField(help_text="At the billed rates and markups that the job was sold on.")
    valued_by = serializers.CharField(help_text="frozen: as the job was sold; edition: by today's, where that knows none.")
    note = serializers.CharField()
    corrects = serializers.IntegerField(allow_null=True, help_text="The entry that this one takes back.")
    late = serializers.BooleanField()
    created = serializers.DateTimeField()
    rate = serializers.CharField(required=False, help_text="Cost of one; for managers and analysts.")
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")


def entry_rows(rows: QuerySet[LedgerEntry]) -> QuerySet[LedgerEntry]:
    """Entries with the number of their change order, in the one query that reads them."""
    return rows.select_related("change_order").only(
        *(field.attname for field in LedgerEntry._meta.concrete_fields), "change_order__number"
    )


def entry_shown(entry: LedgerEntry, shop: Shop, role: str) -> Row:
    """An entry as it is answered to a role."""
    digits = currency(shop.currency).digits
    shown: Row = {
        **{name: getattr(entry, name) for name in _PLAIN},
        "client_id": str(entry.client_id) if entry.client_id else None,
        "job": entry.job_id,
        "day": entry.day.isoformat(),
        "worker": entry.worker_id,
        "change_order": entry.change_order.number if entry.change_order else None,
        "warranty_return": entry.warranty_return_id,
        "quoted": entry.quoted,
        "quantity": str(entry.quantity),
        "value": fixed(entry.value, digits),
        "corrects": entry.corrects_id,
        "created": entry.created.isoformat(),
    }
    if role in COST_READERS:
        shown |= {"rate": str(entry.rate), "cost": fixed(entry.cost, digits)}
    return shown


def logged_answer(logged: Sequence[Logged]) -> Row:
    """A batch as it is answered."""
    return {"entries": [asdict(entry) for entry in logged]}
