"""What may a request say of another party's estimate?"""

import re
from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from api.rest.fields import (
    LONGEST_NOTE,
    AmountField,
    DayField,
    OneOfField,
    StrictSerializer,
    TextField,
    WholeField,
    refuse,
    shown,
)
from api.rest.payers import LARGEST_ID
from quotes.actions.second_estimates import EstimateDetails, LineDetails
from quotes.calc.second_estimate import STATES, Decision
from quotes.models.second_estimate import PARTIES

MOST_LINES = 200
MOST_DECISIONS = 500
_REF = re.compile(r"(labour/[a-z0-9-]{1,63}/[a-z0-9-]{1,63}|(material|shop|component)/(freight:)?[a-z0-9-]{1,63})")
_QUANTITY = re.compile(r"[0-9]{1,7}(\.[0-9]{1,4})?")
# A quantity below ten million at a price below a million is an amount that a quote can hold.
_PRICE_BELOW = Decimal(1_000_000)
_AMOUNT_BELOW = Decimal(10_000_000_000)
_HEAD = ("party", "reference", "dated_on", "stated_total", "note")


@extend_schema_field({"type": "string", "examples": ["12.5"]})
class QuantityField(serializers.Field[Decimal, object, str, object]):
    """A quantity as text: a plain decimal number of 0 or more, with at most four decimals."""

    def to_internal_value(self, data: object) -> Decimal:
        if not isinstance(data, str) or not _QUANTITY.fullmatch(data):
            raise refuse("not_a_quantity", f"Expected a plain decimal number as text, such as 12.5, not {shown(data)}.")
        return Decimal(data)

    def to_representation(self, value: Decimal) -> str:
        return str(value)


class EstimateLineInput(StrictSerializer):
    number = TextField(
        max_length=20, required=False, allow_blank=True, default="", help_text="Theirs; the position where it is left out."
    )
    description = TextField(max_length=400)
    phase = TextField(max_length=63, required=False, allow_blank=True, default="", help_text="A hint.")
    assembly = TextField(max_length=63, required=False, allow_blank=True, default="", help_text="A hint: slug of an assembly.")
    quantity = QuantityField(required=False, allow_null=True, default=None)
    unit = TextField(max_length=40, required=False, allow_blank=True, default="")
    price = AmountField(places=6, required=False, allow_null=True, default=None, help_text="For one of the unit.")
    amount = AmountField(negative=True, help_text="Before tax; below 0 for what they take off.")
    tax = AmountField(negative=True, required=False, allow_null=True, default=None)
    ours = serializers.ListField(
        child=TextField(max_length=150),
        max_length=50,
        required=False,
        default=list,
        help_text="Lines of ours that it is about: labour/{assembly}/{trade}, material/{slug}, shop/{slug}, component/{slug}.",
    )
    note = TextField(max_length=400, required=False, allow_blank=True, default="")

    def validate_ours(self, refs: Sequence[str]) -> list[str]:
        for ref in refs:
            if not _REF.fullmatch(ref):
                raise refuse("bad_reference", f"Expected a line such as labour/skin-off/technician, not {shown(ref)}.")
        return list(dict.fromkeys(refs))

    def validate_price(self, price: Decimal | None) -> Decimal | None:
        return _below(_PRICE_BELOW, price)

    def validate_amount(self, amount: Decimal) -> Decimal | None:
        return _below(_AMOUNT_BELOW, amount)

    def validate_tax(self, tax: Decimal | None) -> Decimal | None:
        return _below(_AMOUNT_BELOW, tax)


class DecisionInput(StrictSerializer):
    difference = TextField(help_text="As the differences call it.")
    state = OneOfField(STATES)
    reason = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    kept = AmountField(
        negative=True,
        required=False,
        allow_null=True,
        default=None,
        help_text="Of a split difference: how much of it stays as ours.",
    )


class EstimateInput(StrictSerializer):
    party = OneOfField(PARTIES, help_text="Who reckons so.")
    customer = WholeField(min_value=1, max_value=LARGEST_ID, required=False, allow_null=True, default=None)
    reference = TextField(max_length=100, required=False, allow_blank=True, default="")
    dated_on = DayField()
    stated_total = AmountField(
        required=False, allow_null=True, default=None, help_text="What their paper states, with the tax that its lines state."
    )
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")
    lines = EstimateLineInput(many=True, max_length=MOST_LINES)
    decisions = DecisionInput(many=True, max_length=MOST_DECISIONS, required=False, default=list)

    def validate_stated_total(self, total: Decimal | None) -> Decimal | None:
        return _below(_AMOUNT_BELOW, total)


def details_of(values: Mapping[str, Any]) -> EstimateDetails:
    """What a body says, once it has its shape."""
    return EstimateDetails(
        **{name: values[name] for name in _HEAD},
        customer_id=values["customer"],
        lines=[LineDetails(**line) for line in values["lines"]],
        decisions=[Decision(**decision) for decision in values["decisions"]],
    )


def _below(bound: Decimal, value: Decimal | None) -> Decimal | None:
    if value is not None and abs(value) >= bound:
        raise refuse("bad_amount", f"Expected less than {bound}, not {value}.")
    return value
