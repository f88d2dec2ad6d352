"""Drafts of editions tried on more issued quotes than a request has time for: begun, watched, and read quote by quote."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.fields import DayField, StrictSerializer, WholeField
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import FlagFilter, filtered
from api.rest.quote_answers import fixed
from api.rest.runs import RunBrief
from api.rest.trial_answers import kept_quote
from api.rest.trial_shapes import TrialRunShape, TriedQuoteShape
from api.rest.trials import DRAFT_REFUSALS, MOST_DRAFTS, DraftInput, edition_drafts
from costbase.calc.money import currency
from costbase.models import Run, Shop
from quotes.actions.priced import shop_day
from quotes.actions.trial_runs import TRIAL, largest_change, start_trial, summary_of
from quotes.models import TriedQuote

MOST_QUOTES = 500
_MANAGER = frozenset({MANAGER})


class TrialRunInput(StrictSerializer):
    editions = DraftInput(many=True, min_length=1, max_length=MOST_DRAFTS)
    on = DayField(
        required=False, allow_null=True, default=None, help_text="Day on which all is worked out; left out, the shop's today."
    )
    last_issued = WholeField(min_value=1, max_value=MOST_QUOTES, help_text="So many; superseded revisions left aside.")


class TriedFilters(django_filters.FilterSet):  # type: ignore[misc]
    changed = FlagFilter(label="Only those that the drafts change, or only others.")
    refused = FlagFilter(label="Only those that cannot be worked out with the drafts, or only others.")


class Trials(ShopView):
    roles: ClassVar = {"POST": _MANAGER}

    @operation(
        "begin_trial",
        "Try drafts of editions on many issued quotes, in the background",
        body=TrialRunInput,
        answers={201: TrialRunShape},
        creates=True,
        refusals=DRAFT_REFUSALS,
    )
    def post(self, request: Request) -> HttpResponseBase:
        """The run works them off some dozens at a time. What it finds is kept for ninety days."""
        return once(request, self.context, lambda: self._begin(request))

    def _begin(self, request: Request) -> Response:
        shop = self.context.shop
        values = body_values(request, shop, TrialRunInput)
        run = start_trial(
            by=self.context.actor,
            shop=shop,
            day=values["on"] or shop_day(shop),
            drafts=edition_drafts(values["editions"]),
            last_issued=values["last_issued"],
            now=timezone.now(),
        )
        headers = {"Location": f"{request.path}/{run.pk}"}
        return Response(_shown(shop, run), status=status.HTTP_201_CREATED, headers=headers)


class OneTrial(ShopView):
    roles: ClassVar = {"GET": _MANAGER}

    @operation("get_trial", "How far a trial is, and what its quotes come to together", answers={200: TrialRunShape})
    def get(self, request: Request, run_id: int) -> Response:
        return Response(_shown(self.context.shop, trial_run(self, run_id)))


class TrialQuotes(ShopView):
    roles: ClassVar = {"GET": _MANAGER}

    @operation(
        "list_tried_quotes",
        "What a trial found of each quote, line by line",
        answers={200: TriedQuoteShape},
        filters=TriedFilters,
    )
    def get(self, request: Request, run_id: int) -> Response:
        run = trial_run(self, run_id)
        rows = TriedQuote.objects.for_shop(self.context.shop).filter(run_id=run.pk).select_related("quote")
        heavy = (f"quote__{name}" for name in ("inputs", "atoms", "totals", "told", "request", "factors"))
        found = filtered(request, rows.defer(*heavy), TriedFilters)
        return Response(paginate(request, found, ("position", "id")).document(_listed))


def trial_run(view: ShopView, run_id: int) -> Run:
    """The run, which has to be a trial of this shop."""
    run: Run = get_object_or_404(Run.objects.for_shop(view.context.shop).filter(kind=TRIAL), pk=run_id)
    return run


def _listed(rows: Sequence[TriedQuote]) -> list[Any]:
    return [{**kept_quote(row.quote), **row.answer} for row in rows]


def _shown(shop: Shop, run: Run) -> dict[str, Any]:
    drafts = [{name: draft[name] for name in ("kind", "slug", "way")} for draft in run.params["drafts"]]
    return {
        "run": RunBrief(run).data,
        "on": run.params["on"],
        "currency": shop.currency,
        "editions": drafts,
        "summary": _summary(shop, run.pk),
    }


def _summary(shop: Shop, run_id: int) -> dict[str, Any]:
    found = summary_of(shop, run_id)
    counts = {name: found[name] for name in ("tried", "worked_out", "refused", "changed")}
    return counts | {name: _sum(shop, run_id, name, found) for name in ("base", "limit")}


def _sum(shop: Shop, run_id: int, name: str, found: Any) -> dict[str, Any]:
    digits = currency(shop.currency).digits
    without, with_drafts = (found[f"sum_{name}_{side}"] or Decimal(0) for side in ("without", "with"))
    largest = largest_change(shop, run_id, name)
    told = None
    if largest is not None:
        moved = getattr(largest, f"{name}_with") - getattr(largest, f"{name}_without")
        told = {"difference": fixed(moved, digits), "quote": largest.quote_id}
    return {
        "without": fixed(without, digits),
        "with": fixed(with_drafts, digits),
        "difference": fixed(with_drafts - without, digits),
        "largest": told,
    }
