"""Returns of a job under warranty: what was found and done, and what each of them took by itself."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.handing_over_inputs import ReturnInput
from api.rest.handing_over_shapes import ReturnShape
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import FlagFilter, filtered
from api.rest.quote_answers import COST_READERS, fixed
from costbase.calc.money import currency
from quotes.actions.handing_over import Returning, add_return
from quotes.actions.sent_twice import sent
from quotes.calc.ledger import Part, Took
from quotes.models import Job, WarrantyReturn
from quotes.reports.ledger import took_of_returns

Row = dict[str, Any]


class ReturnFilters(django_filters.FilterSet):  # type: ignore[misc]
    covered = FlagFilter(field_name="covered", label="Only those that the warranty covers, or only others.")


class Returns(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_returns", "Returns of a job under warranty, newest first", answers={200: ReturnShape}, filters=ReturnFilters
    )
    def get(self, request: Request, job_id: int) -> Response:
        """Each with what it took so far, as `get_return` tells it."""
        job = _job(self, job_id)
        rows = filtered(request, WarrantyReturn.objects.for_shop(self.context.shop).filter(job_id=job_id), ReturnFilters)
        return Response(paginate(request, rows).document(lambda came: _returns(self, job, came)))

    @operation(
        "create_return",
        "Write a return under warranty down",
        body=ReturnInput,
        answers={201: ReturnShape},
        creates=True,
        refusals=["job_state", "bad_return", "said_otherwise"],
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """It has no price. Hours and goods that are logged on this job and name the return count into the job's cost."""
        return once(request, self.context, lambda: self._create(request, job_id))

    def _create(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, ReturnInput)
        returning = Returning(
            **{name: values[name] for name in ("came_on", "cause", "covered", "findings", "done")},
            photographs=[dict(one) for one in values["photographs"]],
            sent=sent(json_object(request), values["client_id"]),
        )
        came = add_return(shop=self.context.shop, job=job, returning=returning, by=self.context.actor, now=timezone.now())
        (shown,) = _returns(self, job, [came])
        headers = {"Location": f"{request.path}/{came.pk}"}
        return Response(shown, status=status.HTTP_201_CREATED, headers=headers)


class OneReturn(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_return", "A return under warranty, and what it took", answers={200: ReturnShape})
    def get(self, request: Request, job_id: int, return_id: int) -> Response:
        """Hours and goods of the entries that name it, corrections taken off. Cost is for managers and analysts."""
        job = _job(self, job_id)
        came = get_object_or_404(WarrantyReturn.objects.for_shop(self.context.shop), job_id=job.pk, pk=return_id)
        (shown,) = _returns(self, job, [came])
        return Response(shown)


def _job(view: ShopView, job_id: int) -> Job:
    job: Job = get_object_or_404(Job.objects.for_shop(view.context.shop).only("pk", "currency"), pk=job_id)
    return job


def _returns(view: ShopView, job: Job, returns: Sequence[WarrantyReturn]) -> list[Row]:
    digits = currency(job.currency).digits
    taken = took_of_returns(view.context.shop, [came.pk for came in returns])
    return [{**_return(came), "took": _took(taken[came.pk], digits, view.identity.role)} for came in returns]


def _return(came: WarrantyReturn) -> Row:
    return {
        **{name: getattr(came, name) for name in ("id", "number", "cause", "covered", "findings", "done", "photographs")},
        "came_on": came.came_on.isoformat(),
        "created": came.created.isoformat(),
    }


def _took(took: Took, digits: int, role: str) -> Row:
    shown: Row = {
        "hours": str(took.hours),
        "trades": [{"trade": part.name, "hours": str(part.quantity), **_cost(part, digits, role)} for part in took.trades],
        "goods": [
            {"name": part.name, "unit": part.unit, "quantity": str(part.quantity), **_cost(part, digits, role)}
            for part in took.goods
        ],
    }
    if role in COST_READERS:
        shown |= {"others": fixed(took.others, digits), "cost": fixed(took.cost, digits)}
    return shown


def _cost(part: Part, digits: int, role: str) -> Row:
    return {"cost": fixed(part.cost, digits)} if role in COST_READERS else {}
