"""What may a request for a change order say?"""

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from decimal import Decimal
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ErrorDetail, ValidationError

from api.rest.consent_inputs import HASH_DIGITS, LONGEST_WORDS, ConsentInput, GivenInput
from api.rest.errors import pointer, problem_of
from api.rest.estimate_requests import QuantityField
from api.rest.fields import (
    LONGEST_NOTE,
    AmountField,
    DayField,
    FlagField,
    OneOfField,
    SlugField,
    StrictSerializer,
    TextField,
    UuidField,
    refuse,
)
from api.rest.quote_requests import EntryInput
from costbase.calc.errors import CalculationError
from quotes.actions.change_order_prices import WayDetails
from quotes.actions.change_orders import OrderDetails
from quotes.calc.change_order import KINDS, AssemblyWork, GoodsWork, HoursWork, RepairWork, SubcontractWork, Work
from quotes.calc.tax import TAX_CLASSES
from quotes.models.change_order import CAUSES

Row = dict[str, Any]

MOST_WORKS = 50
MOST_COVERED = 100
_AMOUNT_BELOW = Decimal(10_000_000_000)
_DAYS_BELOW = Decimal(1000)
_LISTS = ("assemblies", "repairs", "materials", "hours", "subcontracts")


class MeasuredInput(EntryInput):
    """A measure for this order, in place of what the quote has."""

    section = None  # type: ignore[assignment]
    reason = None  # type: ignore[assignment]


class AssemblyWorkInput(StrictSerializer):
    assembly = SlugField(help_text="Of the job's own frozen cost base, or in force today.")
    section = TextField(required=False, allow_blank=True, default="", help_text="Roof section; left out for work on the whole.")
    measures = MeasuredInput(many=True, max_length=MOST_WORKS, required=False, default=list, help_text="How much of it.")
    reason = TextField(max_length=400, required=False, allow_blank=True, default="")


class RepairWorkInput(StrictSerializer):
    component = TextField(max_length=63, help_text="Hidden component with an agreed unit price.")
    construction = TextField(max_length=12, required=False, allow_blank=True, default="", help_text="Where there are several.")
    extent = QuantityField(help_text="Beyond what the pot pays for, in the component's unit.")
    reason = TextField(max_length=400, required=False, allow_blank=True, default="")


class GoodsWorkInput(StrictSerializer):
    material = SlugField()
    net = QuantityField(help_text="What the work takes, in the unit of use; waste and packs are counted by the service.")
    reason = TextField(max_length=400)


class HoursWorkInput(StrictSerializer):
    trade = SlugField()
    hours = QuantityField()
    phase = TextField(max_length=20, required=False, allow_blank=True, default="")
    reason = TextField(max_length=400)


class SubcontractWorkInput(StrictSerializer):
    name = TextField()
    price = AmountField(help_text="What the owner pays, before tax.")
    cost = AmountField(help_text="What is charged for it.")
    tax_class = OneOfField(TAX_CLASSES)
    reason = TextField(max_length=400)

    def validate_price(self, price: Decimal) -> Decimal:
        return below(price)

    def validate_cost(self, cost: Decimal) -> Decimal:
        return below(cost)


class WayDaysInput(StrictSerializer):
    days = QuantityField(help_text="Two decimals at most, in place of the worked figure.")
    reason = TextField(max_length=400)

    def validate_days(self, days: Decimal) -> Decimal:
        if days >= _DAYS_BELOW or int(days.normalize().as_tuple().exponent) < -2:
            raise refuse("bad_days", f"Expected fewer than {_DAYS_BELOW} days with two decimals at most, not {days}.")
        return days


class WayInput(StrictSerializer):
    way = OneOfField(KINDS)
    words = TextField(max_length=LONGEST_NOTE, help_text="What is done, for the owner.")
    assemblies = AssemblyWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    repairs = RepairWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    materials = GoodsWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    hours = HoursWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    subcontracts = SubcontractWorkInput(many=True, max_length=MOST_WORKS, required=False, default=list)
    days = WayDaysInput(required=False, allow_null=True, default=None)
    promised_on = DayField(
        required=False, allow_null=True, default=None, help_text="Left out: the promised day moves by the days of this way."
    )
    warranty = TextField(
        max_length=LONGEST_NOTE, required=False, allow_blank=True, default="", help_text="Left out: the words of its kind."
    )

    def validate_assemblies(self, works: list[Row]) -> list[Row]:
        faults: list[Any] = [{} for _ in works]
        for at, work in enumerate(works):
            named = [entry["measure"] for entry in work["measures"]]
            if len(set(named)) < len(named):
                faults[at] = {"measures": [ErrorDetail("Expected each measure once.", "bad_entry")]}
        if any(faults):
            raise ValidationError(faults)
        return works


class ChangeOrderInput(StrictSerializer):
    cause = OneOfField(CAUSES)
    component = TextField(
        max_length=63, required=False, allow_blank=True, default="", help_text="Hidden component that it is about."
    )
    title = TextField()
    reason = TextField(
        max_length=LONGEST_NOTE, required=False, allow_blank=True, default="", help_text="What was found, or wished."
    )
    payer = SlugField(required=False, default="owner", help_text="Label of the payer whose consent is asked for.")
    covers = serializers.ListField(
        child=TextField(max_length=63),
        max_length=MOST_COVERED,
        required=False,
        default=list,
        help_text="Further assemblies and components whose work is not billable while it waits.",
    )
    photographs = serializers.ListField(
        child=TextField(max_length=400), max_length=MOST_COVERED, required=False, default=list, help_text="References."
    )
    stops_work = FlagField(
        required=False, allow_null=True, default=None, help_text="Left out: for what was found yes, for anything else no."
    )
    ways = WayInput(many=True, max_length=len(KINDS))


class NewChangeOrderInput(ChangeOrderInput):
    client_id = UuidField(required=False, allow_null=True, default=None, help_text="Sent again, it is the same order.")


class WayChosenInput(StrictSerializer):
    way = OneOfField(KINDS, help_text="The way that is taken.")


class OrderAcceptanceInput(ConsentInput):
    payer = SlugField(required=False, default="owner")
    way = OneOfField(KINDS, help_text="The way that is accepted.")
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the document as it was shown.")
    limit_with_tax = AmountField(help_text="What is authorised in all: the limit with tax of this way.")


class OrderRefusalInput(GivenInput):
    payer = SlugField(required=False, default="owner")
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as it was told. Stays in the record for good.")


class OrderWithdrawalInput(StrictSerializer):
    reason = TextField(max_length=400, help_text="Why the shop takes it back.")


def details_of(values: Mapping[str, Any], body: Row) -> OrderDetails:
    """What a body says, once it has its shape."""
    return OrderDetails(
        **{name: values[name] for name in ("cause", "component", "title", "reason", "payer", "stops_work")},
        covers=tuple(values["covers"]),
        photographs=tuple(values["photographs"]),
        ways=tuple(_way(way) for way in values["ways"]),
        body=body,
    )


def _way(way: Row) -> WayDetails:
    days = way["days"]
    return WayDetails(
        kind=way["way"],
        words=way["words"],
        works=works_of(way),
        days=None if days is None else days["days"],
        days_reason="" if days is None else days["reason"],
        promised_on=way["promised_on"],
        warranty=way["warranty"],
    )


def works_of(way: Row) -> tuple[Work, ...]:
    """The work of a way, list by list."""
    return (
        *(
            AssemblyWork(
                work["assembly"],
                work["section"],
                {entry["measure"]: entry["canonical"] for entry in work["measures"]},
                work["reason"],
            )
            for work in way["assemblies"]
        ),
        *(RepairWork(**work) for work in way["repairs"]),
        *(GoodsWork(**work) for work in way["materials"]),
        *(HoursWork(**work) for work in way["hours"]),
        *(SubcontractWork(**work) for work in way["subcontracts"]),
    )


@contextmanager
def pointing_into_the_order(values: Mapping[str, Any]) -> Iterator[None]:
    """Refusals of the core point into what it was given; these point into the request, whose work stands in five lists."""
    try:
        yield
    except CalculationError as error:
        problem = problem_of(error)
        if problem is None:
            raise
        problem.faults = tuple(replace(fault, pointer=_member(fault.pointer, values)) for fault in problem.faults)
        raise problem from error


def _member(pointed: str, values: Mapping[str, Any]) -> str:
    parts = pointed.removeprefix("#").strip("/").split("/")
    if parts[0] == "ways" and len(parts) > 1:
        way, (head, *rest) = values["ways"][int(parts[1])], parts[2:] or [""]
        if head == "works" and rest:
            return pointer("ways", parts[1], *work_pointer(way, int(rest[0]), rest[1:]))
        known = {"kind": ["way"]}.get(head, [])
        return pointer("ways", parts[1], *known)
    return pointer(*parts) if parts[0] in values else pointer()


def work_pointer(way: Row, at: int, rest: list[str]) -> list[str | int]:
    """Where in the five lists of a way its work with this number is."""
    for name in _LISTS:
        works = way[name]
        if at < len(works):
            return [name, at, *_within(works[at], rest)]
        at -= len(works)
    return []


def _within(work: Row, rest: list[str]) -> list[str | int]:
    if rest[:1] == ["measures"] and len(rest) > 1:
        named = [entry["measure"] for entry in work["measures"]]
        return ["measures", named.index(rest[1])] if rest[1] in named else ["measures"]
    return [rest[0]] if rest and rest[0] in work else []


def below(value: Decimal) -> Decimal:
    """An amount that a quote can hold."""
    if value >= _AMOUNT_BELOW:
        raise refuse("bad_amount", f"Expected less than {_AMOUNT_BELOW}, not {value}.")
    return value
