"""Workers: whose hours are logged. A label of the shop's own and a trade, no personal data."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_changes, body_values
from api.rest.coaches import Retirement
from api.rest.concurrency import answer_version, require_match
from api.rest.fields import SlugField, StrictSerializer, TextField, WholeField
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.payers import LARGEST_ID, READERS
from api.rest.queries import FlagFilter, filtered
from quotes.actions.priced import shop_day
from quotes.actions.workers import WorkerDetails, add_worker, change_worker, retire_worker
from quotes.models import Worker

_MANAGERS = frozenset({MANAGER})


class WorkerInput(StrictSerializer):
    label = TextField(max_length=63, help_text="What the shop calls the worker; no two are called the same.")  # type: ignore[assignment]
    trade = SlugField(help_text="Of the worker's hours, unless an entry says another.")
    person = WholeField(
        min_value=1,
        max_value=LARGEST_ID,
        required=False,
        allow_null=True,
        default=None,
        help_text="Id of one who logs in.",
    )


class WorkerShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]
    trade = serializers.CharField()
    person = serializers.IntegerField(source="person_id", allow_null=True)
    retired_on = serializers.DateField(allow_null=True)
    version = serializers.IntegerField()


class WorkerFilters(django_filters.FilterSet):  # type: ignore[misc]
    trade = django_filters.CharFilter(max_length=63, label="Slug of the trade.")
    retired = FlagFilter(field_name="retired_on", lookup_expr="isnull", exclude=True, label="Only retired, or only others.")


class Workers(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": _MANAGERS}

    @operation("list_workers", "Workers, newest first", answers={200: WorkerShape}, filters=WorkerFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, Worker.objects.for_shop(self.context.shop), WorkerFilters)
        return Response(paginate(request, rows).document(_all))

    @operation(
        "create_worker",
        "Add a worker",
        body=WorkerInput,
        answers={201: WorkerShape},
        creates=True,
        refusals=["already_there", "no_rate", "edition_unreadable"],
    )
    def post(self, request: Request) -> HttpResponseBase:
        return once(request, self.context, lambda: self._create(request))

    def _create(self, request: Request) -> Response:
        details = _details(body_values(request, self.context.shop, WorkerInput))
        worker = add_worker(shop=self.context.shop, details=details, by=self.context.actor)
        headers = {"Location": f"{self.request.path}/{worker.pk}"}
        response = Response(_one(worker), status=status.HTTP_201_CREATED, headers=headers)
        return answer_version(self.request, worker.version, response)


class OneWorker(ShopView):
    roles: ClassVar = {"GET": READERS, "PATCH": _MANAGERS}

    @operation("get_worker", "A worker", answers={200: WorkerShape}, versioned=True)
    def get(self, request: Request, worker_id: int) -> Response:
        worker = get_object_or_404(Worker.objects.for_shop(self.context.shop), pk=worker_id)
        return answer_version(request, worker.version, Response(_one(worker)))

    @operation(
        "change_worker",
        "Change a worker",
        body=WorkerInput,
        answers={200: WorkerShape},
        changes=True,
        refusals=["already_there", "no_rate", "edition_unreadable"],
    )
    def patch(self, request: Request, worker_id: int) -> Response:
        """Hours that were logged keep the trade that they were logged with."""
        worker = _locked(self, worker_id)
        require_match(request, worker.version)
        changes = body_changes(request, self.context.shop, WorkerInput)
        if "person" in changes:
            changes["person_id"] = changes.pop("person")
        details = replace(WorkerDetails(worker.label, worker.trade, worker.person_id), **changes)
        change_worker(worker=worker, details=details, by=self.context.actor)
        return answer_version(request, worker.version, Response(_one(worker)))


class WorkerRetirement(ShopView):
    roles: ClassVar = {"PUT": _MANAGERS}

    @operation("retire_worker", "Retire a worker, or take one back", body=Retirement, answers={200: WorkerShape}, changes=True)
    def put(self, request: Request, worker_id: int) -> Response:
        """From that day on no hours are logged for a retired worker; those of days before still may be."""
        worker = _locked(self, worker_id)
        require_match(request, worker.version)
        wanted = body_values(request, self.context.shop, Retirement)["retired"]
        # Retired twice, the worker keeps the first day.
        day = worker.retired_on or shop_day(self.context.shop)
        retire_worker(worker=worker, on=day if wanted else None, by=self.context.actor)
        return answer_version(request, worker.version, Response(_one(worker)))


def _details(values: dict[str, Any]) -> WorkerDetails:
    return WorkerDetails(values["label"], values["trade"], values["person"])


def _locked(view: ShopView, worker_id: int) -> Worker:
    worker: Worker = get_object_or_404(Worker.objects.for_shop(view.context.shop).select_for_update(), pk=worker_id)
    return worker


def _one(worker: Worker) -> dict[str, Any]:
    return dict(WorkerShape(worker).data)


def _all(workers: Sequence[Worker]) -> list[Any]:
    return list(WorkerShape(workers, many=True).data)
