"""Counted work of a job: how much of it was done, and what is billed less for the rest."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers, status
from rest_framework.exceptions import ErrorDetail, ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.errors import Problem, problem_of
from api.rest.fields import (
    LONGEST_NOTE,
    MEASURE_SCHEMA,
    FlagField,
    MeasureField,
    SlugField,
    StrictSerializer,
    TextField,
    UuidField,
)
from api.rest.found_notes import job_of
from api.rest.found_shapes import CountedSettlementShape
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.marks import ExtentField
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import filtered
from api.rest.quote_answers import fixed
from api.rest.quote_requests import said_twice
from costbase.calc.money import currency as currency_of
from costbase.calc.units import TIME, Quantity
from quotes.actions.counted import Counting, settle_counted, settle_several
from quotes.actions.sent_twice import sent
from quotes.calc.found import CountedBeyondError
from quotes.models import CountedSettlement, Job
from quotes.reports.found import settlements

Row = dict[str, Any]


MOST_WORKS = 200
_REFUSALS = (
    "job_state", "covered_work", "said_otherwise", "not_counted", "counted_beyond", "counted_noted", "wrong_dimension",
)  # fmt: skip


class CountedFilters(django_filters.FilterSet):  # type: ignore[misc]
    assembly = django_filters.CharFilter(max_length=63, label="Slug of the assembly.")


@extend_schema_field(MEASURE_SCHEMA)
class DoneField(ExtentField):
    """A length, an area, a count or days, whichever the work is counted in."""

    def to_internal_value(self, data: object) -> Quantity:
        try:
            return super().to_internal_value(data)
        except ValidationError as error:
            if "wrong_dimension" not in str(error.get_codes()):
                raise
        return MeasureField(TIME, us="", metric="").to_internal_value(data)


class CountedInput(StrictSerializer):
    client_id = UuidField(
        required=False, allow_null=True, default=None, help_text="Made by the client, so that what is sent twice counts once."
    )
    assembly = SlugField(help_text="Slug of counted work of the job.")
    done = DoneField(help_text="How much of it was done, 0 if none, with its unit.")
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")


class CountedWorks(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_counted",
        "How counted work of a job was settled, newest first",
        answers={200: CountedSettlementShape},
        filters=CountedFilters,
    )
    def get(self, request: Request, job_id: int) -> Response:
        """The newest of an assembly holds."""
        job = job_of(self, job_id)
        rows = filtered(request, settlements(self.context.shop, job.pk), CountedFilters)
        return Response(paginate(request, rows).document(lambda several: _shown_all(several, job)))

    @operation(
        "settle_counted",
        "Settle counted work at what was done",
        body=CountedInput,
        answers={201: CountedSettlementShape},
        creates=True,
        refusals=_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """Less than quoted is billed less, line by line; set-ups stay. More is never billed by this: 409 says how much more it
        is, and of which hidden components it is a found note; where there are none it is a change order.
        """
        return once(request, self.context, lambda: self._settle(request, job_id))

    def _settle(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, CountedInput)
        try:
            settled = settle_counted(
                shop=self.context.shop,
                job=job,
                assembly=values["assembly"],
                done=values["done"],
                note=values["note"],
                by=self.context.actor,
                sent=sent(json_object(request), values["client_id"]),
            )
        except CountedBeyondError as error:
            raise _beyond(error) from error
        return Response(settled_shown(settled, job), status=status.HTTP_201_CREATED)


class OneOfSeveralInput(CountedInput):
    done = DoneField(
        required=False, allow_null=True, default=None, help_text="How much of it was done; as quoted where it is left out."
    )


class SeveralCountedInput(StrictSerializer):
    works = OneOfSeveralInput(many=True, required=False, default=[], max_length=MOST_WORKS)
    rest_as_quoted = FlagField(
        required=False,
        default=False,
        help_text="true: whatever counted work is neither named here nor settled yet was done as quoted.",
    )
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="", help_text="Of the rest.")

    def validate(self, attrs: Row) -> Row:
        for member in ("assembly", "client_id"):
            values = [work[member] or at for at, work in enumerate(attrs["works"])]
            if faults := said_twice("works", values):
                raise ValidationError(faults)
        if not attrs["works"] and not attrs["rest_as_quoted"]:
            words = "Expected works that were counted, or true for rest_as_quoted."
            raise ValidationError({"works": [ErrorDetail(words, "required")]})
        return attrs


class SeveralCountedShape(serializers.Serializer[Any]):
    """The works in the order of the request, then the rest in the order of the job's lines."""

    settled = CountedSettlementShape(many=True)


class SeveralCounted(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "settle_several_counted",
        "Settle several pieces of counted work, and all the rest as quoted",
        body=SeveralCountedInput,
        answers={201: SeveralCountedShape},
        creates=True,
        refusals=[*_REFUSALS, "several_faults"],
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """All or none; every fault points at its row. Work that is named without `done` was done as quoted, which is with what
        found notes drew beyond that. A work that comes again under its `client_id` is answered as the first time.
        """
        return once(request, self.context, lambda: self._settle(request, job_id))

    def _settle(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, SeveralCountedInput)
        bodies: Any = json_object(request).get("works", [])
        works = [
            Counting(work["assembly"], work["done"], work["note"], sent(body, work["client_id"]))
            for work, body in zip(values["works"], bodies, strict=True)
        ]
        rest = values["note"] if values["rest_as_quoted"] else None
        try:
            settled = settle_several(shop=self.context.shop, job=job, works=works, rest=rest, by=self.context.actor)
        except CountedBeyondError as error:
            raise _beyond(error) from error
        return Response({"settled": _shown_all(settled, job)}, status=status.HTTP_201_CREATED)


def _beyond(error: CountedBeyondError) -> Problem:
    told = problem_of(error)
    members = {"excess": f"{error.excess:.4f}", "unit": error.unit, "components": list(error.components)}
    return Problem(error.code, told.words if told else "", faults=told.faults if told else (), members=members)


def settled_shown(settled: CountedSettlement, job: Job) -> Row:
    """Counted work as it was settled."""
    digits = currency_of(job.currency).digits
    return {
        **{name: getattr(settled, name) for name in ("id", "assembly", "unit", "note")},
        "client_id": str(settled.client_id) if settled.client_id else None,
        **{name: f"{getattr(settled, name):.4f}" for name in ("quoted", "done")},
        "credit": fixed(settled.credit, digits),
        "lines": settled.lines,
        "created": settled.created.isoformat(),
    }


def _shown_all(several: Sequence[CountedSettlement], job: Job) -> list[Row]:
    return [settled_shown(one, job) for one in several]
