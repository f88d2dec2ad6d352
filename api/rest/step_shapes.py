"""In which form are steps of a quote asked for and answered?"""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from rest_framework import serializers

from api.rest.change_order_requests import AssemblyWorkInput
from api.rest.consent_inputs import HASH_DIGITS, LONGEST_WORDS, ConsentInput, GivenInput
from api.rest.fields import AmountField, DayField, OneOfField, SlugField, StrictSerializer, TextField, WholeField
from api.rest.quote_answers import COST_READERS, fixed
from costbase.calc.money import currency
from quotes.actions.steps import StepDetails
from quotes.calc.change_order import AssemblyWork
from quotes.models import StepOffer
from quotes.models.step import KINDS, STATES

Row = dict[str, Any]

MOST_LOOKS = 20
MOST_WORKS = 20
MOST_DAYS = 365
MOST_DESTROYED = 50


class LookInput(StrictSerializer):
    component = TextField(max_length=63, help_text="Hidden component that is looked at.")
    assembly = SlugField(help_text="The work of looking, as `next-looks` names it.")


class StepStorageInput(StrictSerializer):
    price = AmountField(help_text="Of one day that the coach stands after the work ended, before tax.")
    most_days = WholeField(min_value=1, max_value=MOST_DAYS, help_text="More days than these need a consent of their own.")


class StepInput(StrictSerializer):
    kind = OneOfField(KINDS)
    looks = LookInput(
        many=True,
        max_length=MOST_LOOKS,
        required=False,
        default=list,
        help_text="Of a look first; none for the shipped assembly `look-first`.",
    )
    close_up = AssemblyWorkInput(
        many=True,
        max_length=MOST_WORKS,
        required=False,
        default=list,
        help_text="What puts the coach back to where it can travel, such as `close-up` with `close_up_length`.",
    )
    storage = StepStorageInput(required=False, allow_null=True, default=None)
    destroyed = serializers.ListField(
        child=TextField(max_length=200),
        max_length=MOST_DESTROYED,
        required=False,
        default=list,
        help_text="What does not survive the work; left out, whatever the quote tears off.",
    )
    notice = TextField(
        max_length=LONGEST_WORDS,
        required=False,
        allow_blank=True,
        default="",
        help_text="That the coach may not go back together as it was; left out, the words of the service.",
    )
    valid_until = DayField(required=False, allow_null=True, default=None, help_text="Left out: the quote's last day.")


class StepAcceptanceInput(ConsentInput):
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the document as it was shown.")
    limit_with_tax = AmountField(help_text="What is authorised for this step, with tax.")


class StepRefusalInput(GivenInput):
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as it was told. Stays in the record for good.")


class StepCloseUpInput(StrictSerializer):
    storage_days = WholeField(min_value=0, max_value=MOST_DAYS, required=False, default=0)
    reason = TextField(max_length=400, help_text="Why the work ends here.")


class WorkStepLineShape(serializers.Serializer[Any]):
    part = serializers.ChoiceField(choices=("work", "close_up", "storage"))
    kind = serializers.CharField()
    slug = serializers.CharField()
    trade = serializers.CharField()
    name = serializers.CharField()
    phase = serializers.CharField()
    quantity = serializers.CharField()
    unit = serializers.CharField()
    price = serializers.CharField()
    amount = serializers.CharField()
    tax_class = serializers.CharField()
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")


class StepStorageShape(serializers.Serializer[Any]):
    price = serializers.CharField(help_text="Of one day.")
    most_days = serializers.IntegerField()


class WorkStepShape(serializers.Serializer[Any]):
    """A step of the work that is sold on its own."""

    id = serializers.IntegerField()
    quote = serializers.IntegerField()
    number = serializers.IntegerField()
    version = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=KINDS)
    state = serializers.ChoiceField(choices=STATES)
    counts = serializers.BooleanField(help_text="Its work is in the price of the whole, and is taken off when that is agreed.")
    currency = serializers.CharField()
    amount = serializers.CharField(help_text="The work itself, before tax.")
    close_up = serializers.CharField(help_text="Billed only if the work ends there.")
    storage = serializers.CharField(help_text="The most for the days that the coach stands, billed as they come.")
    storage_terms = StepStorageShape()
    limit = serializers.CharField(help_text="All of it, before tax.")
    limit_with_tax = serializers.CharField(help_text="What the owner consents to.")
    cost = serializers.CharField(required=False, help_text="For managers and analysts.")
    lines = WorkStepLineShape(many=True)
    destroyed = serializers.ListField(child=serializers.CharField())
    notice = serializers.CharField()
    valid_until = serializers.DateField()
    document = serializers.DictField(allow_null=True, help_text="What the owner sees; null for a draft.")
    document_hash = serializers.CharField(allow_null=True)
    consent = serializers.IntegerField(allow_null=True, help_text="Id of the record that answered it.")
    job = serializers.IntegerField(allow_null=True, help_text="Id of the job that it began or went on with.")
    created = serializers.DateTimeField()
    created_by = serializers.IntegerField(allow_null=True)
    issued_at = serializers.DateTimeField(allow_null=True)
    decided_at = serializers.DateTimeField(allow_null=True)
    closed_up_at = serializers.DateTimeField(allow_null=True)


def details_of(values: Mapping[str, Any], body: Row) -> StepDetails:
    """What a body says, once it has its shape."""
    storage = values["storage"] or {"price": Decimal(0), "most_days": 0}
    return StepDetails(
        kind=values["kind"],
        looks=tuple((look["component"], look["assembly"]) for look in values["looks"]),
        close_up=tuple(
            AssemblyWork(
                work["assembly"],
                work["section"],
                {entry["measure"]: entry["canonical"] for entry in work["measures"]},
                work["reason"],
            )
            for work in values["close_up"]
        ),
        storage_price=storage["price"],
        storage_days=storage["most_days"],
        destroyed=tuple(values["destroyed"]),
        notice=values["notice"],
        valid_until=values["valid_until"],
        body=body,
    )


def step_answer(step: StepOffer, code: str, role: str) -> Row:
    """A step as it is answered; what it costs the shop only for who may see that."""
    digits = currency(code).digits
    plain = (
        "id",
        "number",
        "version",
        "kind",
        "state",
        "counts",
        "destroyed",
        "notice",
        "valid_until",
        "created",
        "created_by",
    )
    amounts = ("amount", "close_up", "storage", "limit", "limit_with_tax")
    sees_cost = role in COST_READERS
    return {
        **{name: getattr(step, name) for name in (*plain, "issued_at", "decided_at", "closed_up_at")},
        "quote": step.quote_id,
        "currency": code,
        **{name: fixed(getattr(step, name), digits) for name in amounts},
        **({"cost": fixed(step.cost, digits)} if sees_cost else {}),
        "storage_terms": {"price": fixed(step.storage_price, digits), "most_days": step.storage_days},
        "lines": [_line(row, digits, sees_cost=sees_cost) for row in step.lines],
        "document": step.document or None,
        "document_hash": step.document_hash or None,
        "consent": step.consent_id,
        "job": step.job_id,
    }


def _line(row: Mapping[str, Any], digits: int, *, sees_cost: bool) -> Row:
    plain = ("part", "kind", "slug", "trade", "name", "phase", "quantity", "unit", "price", "tax_class")
    return {
        **{name: row[name] for name in plain},
        "amount": fixed(Decimal(row["amount"]), digits),
        **({"cost": fixed(Decimal(row["cost"]), digits)} if sees_cost else {}),
    }
