"""What may a request for the settlement of a stopped job say?"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal
from typing import Any

from rest_framework.exceptions import ErrorDetail, ValidationError

from api.rest.change_order_requests import (
    MOST_WORKS,
    AssemblyWorkInput,
    GoodsWorkInput,
    HoursWorkInput,
    SubcontractWorkInput,
    below,
    work_pointer,
    works_of,
)
from api.rest.consent_inputs import HASH_DIGITS, LONGEST_WORDS, ConsentInput, GivenInput
from api.rest.errors import pointer, problem_of
from api.rest.estimate_requests import QuantityField
from api.rest.fields import (
    LONGEST_NOTE,
    AmountField,
    DayField,
    OneOfField,
    ShareField,
    SlugField,
    StrictSerializer,
    TextField,
    WholeField,
)
from costbase.calc.errors import CalculationError
from quotes.actions.settlements import SettlementDetails
from quotes.calc.change_order import Storage
from quotes.calc.tax import TAX_CLASSES

Row = dict[str, Any]

MOST_LINES = 200
MOST_ORDERS = 1000


class DoneInput(StrictSerializer):
    assembly = SlugField(help_text="Of an agreed line; those that are left out were not begun.")
    extent = QuantityField(help_text="How much of its driver is done, in the driver's unit; all of it where it is finished.")


class DoneOrderInput(StrictSerializer):
    number = WholeField(min_value=1, max_value=MOST_ORDERS, help_text="Of an accepted or carried change order.")
    share = ShareField(help_text="How much of its work is done, 0 to 1.")


class KeptInput(StrictSerializer):
    material = SlugField()
    quantity = QuantityField(help_text="What cannot go back, in what the material is billed in.")


class CloseUpInput(StrictSerializer):
    assemblies = AssemblyWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    materials = GoodsWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    hours = HoursWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    subcontracts = SubcontractWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)

    def validate(self, attrs: Row) -> Row:
        return {**attrs, "repairs": []}


class StorageInput(StrictSerializer):
    days = WholeField(max_value=3650, help_text="Days on which the coach stood here after the work had stopped.")
    rate = AmountField(help_text="For one day, before tax.")
    tax_class = OneOfField(TAX_CLASSES)

    def validate_rate(self, rate: Decimal) -> Decimal:
        return below(rate)


class SettlementInput(StrictSerializer):
    stopped_on = DayField()
    reason = TextField(max_length=LONGEST_NOTE, help_text="Why the work stops.")
    payer = SlugField(required=False, default="owner", help_text="Label of the payer whose consent is asked for.")
    done = DoneInput(many=True, max_length=MOST_LINES, required=False, default=list)
    orders = DoneOrderInput(many=True, max_length=MOST_LINES, required=False, default=list)
    kept = KeptInput(many=True, max_length=MOST_LINES, required=False, default=list)
    close_up = CloseUpInput(required=False, allow_null=True, default=None, help_text="What closing the roof up takes.")
    storage = StorageInput(required=False, allow_null=True, default=None)

    def validate(self, attrs: Row) -> Row:
        faults: dict[str, Any] = {}
        for name, key in (("done", "assembly"), ("orders", "number"), ("kept", "material")):
            said = [row[key] for row in attrs[name]]
            if len(set(said)) < len(said):
                faults[name] = [ErrorDetail(f"Expected each {key} once.", "bad_settlement")]
        if faults:
            raise ValidationError(faults)
        return attrs


class SigningInput(ConsentInput):
    payer = SlugField(required=False, default="owner")
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the document as it was shown.")
    amount_with_tax = AmountField(help_text="What the settlement comes to, with tax.")


class SettlementRefusalInput(GivenInput):
    payer = SlugField(required=False, default="owner")
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as it was told. Stays in the record for good.")


def details_of(values: Mapping[str, Any], body: Row) -> SettlementDetails:
    """What a body says, once it has its shape."""
    storage = values["storage"]
    return SettlementDetails(
        stopped_on=values["stopped_on"],
        reason=values["reason"],
        payer=values["payer"],
        done={row["assembly"]: row["extent"] for row in values["done"]},
        orders={row["number"]: row["share"] for row in values["orders"]},
        kept={row["material"]: row["quantity"] for row in values["kept"]},
        close_up=() if values["close_up"] is None else works_of(values["close_up"]),
        storage=None if storage is None else Storage(Decimal(storage["days"]), storage["rate"], storage["tax_class"]),
        body=body,
    )


_KEYS = {"done": ("assembly", "extent"), "orders": ("number", "share"), "kept": ("material", "quantity")}


@contextmanager
def pointing_into_the_settlement(values: Mapping[str, Any]) -> Iterator[None]:
    """Refusals of the core name a slug or number; these point to its place in the request."""
    try:
        yield
    except CalculationError as error:
        problem = problem_of(error)
        if problem is None:
            raise
        problem.faults = tuple(replace(fault, pointer=_member(fault.pointer, values)) for fault in problem.faults)
        raise problem from error


def _member(pointed: str, values: Mapping[str, Any]) -> str:
    head, *rest = pointed.removeprefix("#").strip("/").split("/")
    if head in _KEYS and rest:
        key, member = _KEYS[head]
        places = [at for at, row in enumerate(values[head]) if str(row[key]) == rest[0]]
        return pointer(head, places[0], member) if places else pointer(head)
    if head == "close_up" and rest[:1] == ["works"] and rest[1:] and values["close_up"] is not None:
        return pointer(head, *work_pointer(values["close_up"], int(rest[1]), rest[2:]))
    return pointer(head) if head in values else pointer()
