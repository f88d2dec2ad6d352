"""The end of a job: leak tests, hand over with the warranty record, settling, and returns under warranty."""

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
from api.rest.handing_over_inputs import HandOverInput, LeakTestInput
from api.rest.handing_over_shapes import LeakTestShape, SettledShape, WarrantyShape
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.payments import balance_answer
from api.rest.queries import FlagFilter, filtered
from quotes.actions.handing_over import HandingOver, WarrantedPart, hand_over
from quotes.actions.leak_tests import Testing, add_leak_test
from quotes.actions.sent_twice import sent
from quotes.actions.settling import settle_job
from quotes.calc.job import CAUTION, METHODS
from quotes.models import Job, LeakTest, Warranty

Row = dict[str, Any]


class LeakTestFilters(django_filters.FilterSet):  # type: ignore[misc]
    passed = FlagFilter(field_name="passed", label="Only those that passed, or only others.")


class LeakTests(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_leak_tests", "Leak tests of a job, newest first", answers={200: LeakTestShape}, filters=LeakTestFilters)
    def get(self, request: Request, job_id: int) -> Response:
        _job(self, job_id)
        rows = filtered(request, LeakTest.objects.for_shop(self.context.shop).filter(job_id=job_id), LeakTestFilters)
        return Response(paginate(request, rows).document(_tests))

    @operation(
        "create_leak_test",
        "Write a leak test down",
        body=LeakTestInput,
        answers={201: LeakTestShape},
        creates=True,
        refusals=["job_state", "bad_leak_test", "said_otherwise"],
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """One that failed sends the job back to rebuilding. The last one has to have passed before the coach is handed over."""
        return once(request, self.context, lambda: self._create(request, job_id))

    def _create(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, LeakTestInput)
        said = values["pressure"]
        testing = Testing(
            **{name: values[name] for name in ("method", "bonds_cured", "day", "tested_by", "passed", "note")},
            pressure=(said["value"], said["unit"]) if said else None,
            places=list(values["places"]),
            photographs=[dict(one) for one in values["photographs"]],
            sent=sent(json_object(request), values["client_id"]),
        )
        test = add_leak_test(shop=self.context.shop, job=job, testing=testing, by=self.context.actor, now=timezone.now())
        return Response(_test(test), status=status.HTTP_201_CREATED)


class HandOver(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "hand_over",
        "Hand the coach over, with its warranty record",
        body=HandOverInput,
        answers={201: WarrantyShape},
        creates=True,
        refusals=["job_state", "leak_test_missing", "bad_return"],
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """What the owner had closed up or repaired in part, and what was found out of scope, is written down by itself."""
        return once(request, self.context, lambda: self._create(request, job_id))

    def _create(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, HandOverInput)
        handing = HandingOver(
            day=values["day"],
            parts=[WarrantedPart(**part) for part in values["parts"]],
            excluded=list(values["excluded"]),
            pre_existing=list(values["pre_existing"]),
            keys=values["keys"],
        )
        warranty = hand_over(shop=self.context.shop, job=job, handing=handing, by=self.context.actor, now=timezone.now())
        return Response(_warranty(warranty), status=status.HTTP_201_CREATED)


class JobWarranty(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_warranty", "The warranty record of a job", answers={200: WarrantyShape})
    def get(self, request: Request, job_id: int) -> Response:
        return Response(_warranty(get_object_or_404(Warranty.objects.for_shop(self.context.shop), job_id=job_id)))


class Settling(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "settle_job",
        "Settle a job and close its books",
        answers={200: SettledShape},
        refusals=[
            "job_state",
            "change_order_waits",
            "counted_open",
            "not_billed",
            "settlement_missing",
            "bill_passes_authorised",
            "bad_bill_item",
        ],
    )
    def post(self, request: Request, job_id: int) -> Response:
        """Once handed over or stopped, billed finally and everything counted. What is still owed is told, and may be owed."""
        job = held(self, job_id)
        settle_job(shop=self.context.shop, job=job, by=self.context.actor, now=timezone.now())
        closed_on = job.closed_on.isoformat() if job.closed_on else None
        return Response({"number": job.number, "state": job.state, "closed_on": closed_on, **balance_answer(self, job)})


def _job(view: ShopView, job_id: int) -> Job:
    job: Job = get_object_or_404(Job.objects.for_shop(view.context.shop).only("pk"), pk=job_id)
    return job


def _tests(tests: Sequence[LeakTest]) -> list[Row]:
    return [_test(test) for test in tests]


def _test(test: LeakTest) -> Row:
    return {
        **{name: getattr(test, name) for name in ("id", "method", "tested_by", "passed", "places", "photographs", "note")},
        "method_words": METHODS[test.method],
        "pressure": test.pressure or None,
        "caution": CAUTION,
        "day": test.day.isoformat(),
        "created": test.created.isoformat(),
    }


def _warranty(warranty: Warranty) -> Row:
    return {
        **{name: getattr(warranty, name) for name in ("id", "parts", "excluded", "pre_existing", "old_parts", "keys")},
        "job": warranty.job_id,
        "begins_on": warranty.begins_on.isoformat(),
        "recheck_on": warranty.recheck_on.isoformat(),
        "document_hash": warranty.document_hash,
        "created": warranty.created.isoformat(),
    }
