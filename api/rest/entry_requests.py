"""What may a request say of an entry of the ledger?"""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail

from api.rest.estimate_requests import QuantityField
from api.rest.fields import (
    LONGEST_NOTE,
    AmountField,
    DayField,
    FlagField,
    OneOfField,
    StrictSerializer,
    TextField,
    UuidField,
    WholeField,
)
from api.rest.payers import LARGEST_ID
from costbase.calc.contents_table import PHASES
from quotes.calc.ledger import HOURS, JOB, KINDS, MOST_HOURS_A_DAY, MOST_QUANTITY, OTHER_HOURS, PACKS, REASONS, STOCK, USE, Said

MOST_ENTRIES = 500
_MOST_NUMBER = 1_000_000
# A quantity up to a million at such a price is an amount that a ledger can hold.
_PRICE_BELOW = Decimal(1_000_000)
_AMOUNT_BELOW = Decimal(1_000_000_000)
_HOURS_WORDS = "Of hours: above 0 and 24 at most."


def _text(most: int, words: str = "") -> TextField:
    return TextField(max_length=most, required=False, allow_blank=True, default="", help_text=words)


def _id(words: str = "", most: int = LARGEST_ID) -> WholeField:
    return WholeField(min_value=1, max_value=most, required=False, allow_null=True, default=None, help_text=words)


class JobLedgerEntryInput(StrictSerializer):
    client_id = UuidField(help_text="Made by the client, so that an entry that is sent twice is logged once.")
    kind = OneOfField(KINDS)
    day = DayField(help_text="A day of the shop's calendar, up to today.")
    worker = _id("Of time and other hours.")
    hours = QuantityField(required=False, allow_null=True, default=None, help_text=_HOURS_WORDS)
    overtime = FlagField(required=False, default=False)
    trade = _text(63, "Of time; the worker's where it is left out.")
    phase = OneOfField(PHASES, required=False, help_text="That of the line it belongs to where it is left out.")
    line = _id("Position of a line of the job.", _MOST_NUMBER)
    assembly = _text(63, "Of a labour line of the job.")
    component = _text(63, "A hidden component of the job.")
    change_order = _id("Number of a change order of the job that was accepted.", _MOST_NUMBER)
    warranty_return = _id("Id of a return of the job under warranty, from the day on which it came.")
    reason = OneOfField(REASONS, required=False, help_text="Of other hours: what they were.")
    material = _text(63)
    words = _text(200, "What was bought, where it is no material of the cost base; or what a subcontractor did.")
    quantity = QuantityField(required=False, allow_null=True, default=None, help_text="Of goods.")
    counted_in = OneOfField((PACKS, USE), required=False, help_text="Packs, which is so unless told, or units of use.")
    source = OneOfField(  # type: ignore[assignment]
        (STOCK, JOB), required=False, help_text="Goods of the shelf, or bought for the job; as the material's supply says."
    )
    supplier = _text(100)
    invoice = _text(63, "The supplier's number of the invoice or credit note.")
    invoice_line = _id("Line of the invoice.", _MOST_NUMBER)
    price = AmountField(places=6, required=False, allow_null=True, default=None, help_text="Of one, as invoiced, before tax.")
    amount = AmountField(required=False, allow_null=True, default=None, help_text="Of the invoice's line, before tax.")
    markup_class = _text(63, "Of what is no material; left out, it is passed on at cost.")
    returnable = FlagField(
        required=False, allow_null=True, default=None, help_text="Of a purchase: false where the supplier takes nothing back."
    )
    note = _text(LONGEST_NOTE)

    def validate(self, values: dict[str, Any]) -> dict[str, Any]:
        faults = {name: [ErrorDetail(words, code)] for name, code, words in _faults(values)}
        if faults:
            raise serializers.ValidationError(faults)
        return values


def _faults(values: Mapping[str, Any]) -> Iterator[tuple[str, str, str]]:
    """What is wrong with the numbers of an entry: member, code, words."""
    hours, quantity, amount, price = (values[name] for name in ("hours", "quantity", "amount", "price"))
    unit, other = ("hours", "quantity") if values["kind"] in HOURS else ("quantity", "hours")
    if values[other] is not None:
        yield other, "entry_member", f"Expected {unit}, not {other}, of an entry of kind {values['kind']}."
    if hours is not None and not 0 < hours <= MOST_HOURS_A_DAY:
        yield "hours", "not_a_quantity", f"Expected hours above 0 and {MOST_HOURS_A_DAY} at most, not {hours}."
    if quantity is not None and not 0 < quantity <= MOST_QUANTITY:
        yield "quantity", "not_a_quantity", f"Expected a quantity above 0 and {MOST_QUANTITY} at most, not {quantity}."
    if price is not None and price >= _PRICE_BELOW:
        yield "price", "bad_amount", f"Expected less than {_PRICE_BELOW}, not {price}."
    if amount is not None and not 0 < amount < _AMOUNT_BELOW:
        yield "amount", "bad_amount", f"Expected above 0 and less than {_AMOUNT_BELOW}, not {amount}."


class LedgerEntryInput(JobLedgerEntryInput):
    job = _id("Of all but other hours, and goods for stock.")


class JobEntriesInput(StrictSerializer):
    entries = JobLedgerEntryInput(many=True, min_length=1, max_length=MOST_ENTRIES)


class EntriesInput(StrictSerializer):
    entries = LedgerEntryInput(many=True, min_length=1, max_length=MOST_ENTRIES)


class EntryCorrectionInput(StrictSerializer):
    client_id = UuidField(help_text="Made by the client, for the entry that takes the wrong one back.")
    note = TextField(max_length=LONGEST_NOTE, help_text="Why.")
    entry = LedgerEntryInput(
        required=False,
        allow_null=True,
        default=None,
        help_text="What is right, with a client_id of its own, if anything is.",
    )


def said_of(values: Mapping[str, Any], job_id: int | None) -> Said:
    """What an entry says, once it has its shape.

    Args:
        values: of the entry.
        job_id: of the job in the address; None for a batch in which each entry names its own.
    """
    told = {name: value for name, value in values.items() if name not in ("hours", "client_id", "day", "job", "quantity")}
    hours, quantity = values["hours"], values["quantity"]
    job = values.get("job")
    if job_id is not None and values["kind"] != OTHER_HOURS:
        job = job_id
    return Said(
        **told,
        client_id=str(values["client_id"]),
        day=values["day"].isoformat(),
        job=job,
        quantity=hours if hours is not None else quantity,
    )
