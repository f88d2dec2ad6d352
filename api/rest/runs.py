"""Long work in the background: how far is it, what did it find, and how is it ended early?

A shop sees its own runs only, and so does a network: those of its shops are theirs.
"""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, MANAGER, NETWORK_MANAGER
from api.rest.base import NetworkView, ShopView
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import filtered
from api.tenancy import NetworkContext, ShopContext
from costbase.actions.runs import cancel_run
from costbase.models import Run
from costbase.models.run import STATES

# What a run found may hold cost.
_READERS = frozenset({MANAGER, ANALYST})
_MANAGER = frozenset({MANAGER})
_NETWORK = frozenset({NETWORK_MANAGER})


class RunBrief(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    kind = serializers.CharField(help_text="nightly, or staging of an import.")
    state = serializers.ChoiceField(STATES)
    total = serializers.IntegerField(help_text="Parts that there are.")
    done = serializers.IntegerField(help_text="Parts that are done.")
    failed = serializers.IntegerField(help_text="Attempts at a part that failed; most are tried again.")
    reason = serializers.CharField(help_text="Why the run failed; empty where it did not.")
    asked_by = serializers.IntegerField(allow_null=True, help_text="The person who wanted it; null for the service itself.")
    created = serializers.DateTimeField()
    heartbeat = serializers.DateTimeField(help_text="When a part last ended, well or not.")
    finished = serializers.DateTimeField(allow_null=True)


class RunAnswer(RunBrief):
    result = serializers.JSONField(help_text="What the parts found so far: counts, and lists of the first few hundred.")


class RunFilters(django_filters.FilterSet):  # type: ignore[misc]
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in STATES], label="Only runs in this state.")
    kind = django_filters.CharFilter(max_length=40, label="Only runs of this kind.")


def _listed(request: Request, rows: QuerySet[Run]) -> Response:
    return Response(paginate(request, filtered(request, rows.defer("params", "result"), RunFilters)).document(_briefly))


def _briefly(runs: Sequence[Run]) -> list[Any]:
    return list(RunBrief(runs, many=True).data)


def _one(rows: QuerySet[Run], run_id: int) -> Response:
    return Response(RunAnswer(get_object_or_404(rows, pk=run_id)).data)


def _cancelled(context: ShopContext | NetworkContext, rows: QuerySet[Run], run_id: int) -> Response:
    run = get_object_or_404(rows.select_for_update(), pk=run_id)
    owner = context.shop if isinstance(context, ShopContext) else context.network
    return Response(RunAnswer(cancel_run(by=context.actor, owner=owner, run=run, now=timezone.now())).data)


class Runs(ShopView):
    roles: ClassVar = {"GET": _READERS}

    @operation("list_runs", "Runs, newest first, without results", answers={200: RunBrief}, filters=RunFilters)
    def get(self, request: Request) -> Response:
        return _listed(request, Run.objects.for_shop(self.context.shop))


class OneRun(ShopView):
    roles: ClassVar = {"GET": _READERS}

    @operation("get_run", "A run with its progress and result", answers={200: RunAnswer})
    def get(self, request: Request, run_id: int) -> Response:
        return _one(Run.objects.for_shop(self.context.shop), run_id)


class RunCancellation(ShopView):
    roles: ClassVar = {"POST": _MANAGER}

    @operation("cancel_run", "End a run early", answers={200: RunAnswer}, refusals=["run_over"])
    def post(self, request: Request, run_id: int) -> Response:
        """No further part begins, and one that is at work leaves nothing. What earlier parts did stays."""
        return _cancelled(self.context, Run.objects.for_shop(self.context.shop), run_id)


class NetworkRuns(NetworkView):
    roles: ClassVar = {"GET": _NETWORK}

    @operation(
        "list_network_runs",
        "The network's runs, newest first, without results",
        answers={200: RunBrief},
        filters=RunFilters,
    )
    def get(self, request: Request) -> Response:
        return _listed(request, Run.objects.for_network(self.context.network))


class OneNetworkRun(NetworkView):
    roles: ClassVar = {"GET": _NETWORK}

    @operation("get_network_run", "A run of the network with its progress and result", answers={200: RunAnswer})
    def get(self, request: Request, run_id: int) -> Response:
        return _one(Run.objects.for_network(self.context.network), run_id)


class NetworkRunCancellation(NetworkView):
    roles: ClassVar = {"POST": _NETWORK}

    @operation("cancel_network_run", "End a run of the network early", answers={200: RunAnswer}, refusals=["run_over"])
    def post(self, request: Request, run_id: int) -> Response:
        """No further part begins, and one that is at work leaves nothing. What earlier parts did stays."""
        return _cancelled(self.context, Run.objects.for_network(self.context.network), run_id)
