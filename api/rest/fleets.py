"""Fleets: several like coaches quoted together. Trial, draft, issue."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.errors import Problem
from api.rest.fleet_answers import brief_fleet, fleet_answer, fleet_row
from api.rest.fleet_requests import FleetInput, fleet_asked, pointing_into_the_fleet
from api.rest.fleet_shapes import BriefFleetShape, FleetShape
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import IdFilter, filtered
from api.rest.quote_answers import row_of
from api.rest.quotes import OFFICE, PRICE_REFUSALS, READERS, IssueInput
from quotes.actions.fleet_inputs import FleetDraft, fleet_inputs
from quotes.actions.fleets import KeptFleet, delete_fleet, draft_fleet, issue_fleet, save_fleet, trial_fleet
from quotes.actions.issuing import NewerEditionsError
from quotes.calc.inputs import QuoteInputs
from quotes.models import Fleet
from quotes.models.fleet import FLEET_STATES
from quotes.reports.fleets import brief_fleets, quotes_of

_REFUSALS = (*PRICE_REFUSALS, "coach_twice", "coach_of_another_customer")


class FleetFilters(django_filters.FilterSet):  # type: ignore[misc]
    label = django_filters.CharFilter(max_length=100, label="What the fleet is called, whole.")
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in FLEET_STATES], label="State.")
    customer = IdFilter(field_name="customer_id", label="Id of the customer.")


class Fleets(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_fleets", "Fleets, newest first, without lines", answers={200: BriefFleetShape}, filters=FleetFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, brief_fleets(self.context.shop), FleetFilters)
        return Response(paginate(request, rows).document(_briefly))

    @operation(
        "create_fleet",
        "Price several like coaches together and keep them as drafts",
        body=FleetInput,
        answers={201: FleetShape},
        creates=True,
        refusals=_REFUSALS,
    )
    def post(self, request: Request) -> HttpResponseBase:
        """Packs, set-up, supplies, overhead and minimum count once for all coaches, and work is learned from coach to coach.

        Every coach gets a quote of its own with its shares, which is saved, issued and deleted with the fleet only. The coaches
        need not be of one construction: work that only some of them have is shared and learned among those.
        """
        return once(request, self.context, lambda: self._create(request))

    def _create(self, request: Request) -> Response:
        values, draft, inputs = asked(self, request)
        with pointing_into_the_fleet(values):
            kept = draft_fleet(shop=self.context.shop, draft=draft, inputs=inputs, by=self.context.actor)
        headers = {"Location": f"{request.path}/{kept.row['id']}"}
        response = Response(_shown(self, kept), status=status.HTTP_201_CREATED, headers=headers)
        return answer_version(request, kept.row["version"], response)


class FleetTrial(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "try_fleet",
        "Price several like coaches and keep nothing",
        body=FleetInput,
        answers={200: FleetShape},
        refusals=_REFUSALS,
    )
    def post(self, request: Request) -> Response:
        values, draft, inputs = asked(self, request)
        with pointing_into_the_fleet(values):
            kept = trial_fleet(shop=self.context.shop, draft=draft, inputs=inputs, by=self.context.actor)
        return Response(_shown(self, kept))


class OneFleet(ShopView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE, "DELETE": OFFICE}

    @operation("get_fleet", "A fleet with its lines and its coaches' shares", answers={200: FleetShape}, versioned=True)
    def get(self, request: Request, fleet_id: int) -> Response:
        fleet = get_object_or_404(Fleet.objects.for_shop(self.context.shop), pk=fleet_id)
        return answer_version(request, fleet.version, Response(stored_answer(self, fleet)))

    @operation(
        "save_fleet",
        "Price a draft again from changed inputs, with all its quotes",
        body=FleetInput,
        answers={200: FleetShape},
        changes=True,
        refusals=["quote_state", *_REFUSALS],
    )
    def put(self, request: Request, fleet_id: int) -> Response:
        """Priced on the editions in force today. A coach that stays keeps its quote and its number, in whatever place."""
        fleet = locked(self, fleet_id)
        require_match(request, fleet.version)
        values, draft, inputs = asked(self, request)
        with pointing_into_the_fleet(values):
            kept = save_fleet(shop=self.context.shop, fleet=fleet, draft=draft, inputs=inputs, by=self.context.actor)
        return answer_version(request, kept.row["version"], Response(_shown(self, kept)))

    @operation(
        "delete_fleet", "Delete a draft with all its quotes", answers={204: None}, changes=True, refusals=["quote_state"]
    )
    def delete(self, request: Request, fleet_id: int) -> Response:
        fleet = locked(self, fleet_id)
        require_match(request, fleet.version)
        delete_fleet(shop=self.context.shop, fleet=fleet, by=self.context.actor)
        return Response(status=status.HTTP_204_NO_CONTENT)


class FleetIssue(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "issue_fleet",
        "Issue a fleet with all its quotes; they never change from then on",
        body=IssueInput,
        answers={200: FleetShape},
        changes=True,
        refusals=["quote_state", "newer_editions"],
    )
    def post(self, request: Request, fleet_id: int) -> Response:
        """As a quote is issued: nothing is priced again, all surveys are locked, and newer editions are refused (409) unless
        confirmed.
        """
        fleet = locked(self, fleet_id)
        require_match(request, fleet.version)
        confirmed = body_values(request, self.context.shop, IssueInput)["confirm_editions"]
        try:
            issue_fleet(shop=self.context.shop, fleet=fleet, confirm_editions=confirmed, by=self.context.actor)
        except NewerEditionsError as newer:
            raise Problem(newer.code, newer.message, members={"newer": newer.newer}) from newer
        issued = Fleet.objects.for_shop(self.context.shop).get(pk=fleet_id)
        return answer_version(request, issued.version, Response(stored_answer(self, issued)))


def asked(view: ShopView, request: Request) -> tuple[dict[str, Any], FleetDraft, list[QuoteInputs]]:
    """What a request for a fleet says, what it asks for, and the frozen inputs of every coach that it comes to."""
    shop = view.context.shop
    values = body_values(request, shop, FleetInput)
    draft, wish = fleet_asked(values, json_object(request))
    with pointing_into_the_fleet(values):
        return values, draft, fleet_inputs(shop, draft, wish)


def locked(view: ShopView, fleet_id: int) -> Fleet:
    """The fleet, held until the request ends; its quotes are changed by nobody who does not hold it."""
    rows = brief_fleets(view.context.shop).select_for_update(of=("self",))
    fleet: Fleet = get_object_or_404(rows, pk=fleet_id)
    return fleet


def stored_answer(view: ShopView, fleet: Fleet) -> dict[str, Any]:
    """A fleet that was read, with its quotes in short."""
    quotes = [row_of(quote) for quote in quotes_of(view.context.shop, fleet.pk)]
    return fleet_answer(view.identity.role, fleet_row(fleet), quotes)


def _shown(view: ShopView, kept: KeptFleet) -> dict[str, Any]:
    return fleet_answer(view.identity.role, kept.row, kept.quotes)


def _briefly(fleets: Sequence[Fleet]) -> list[Any]:
    return [brief_fleet(fleet_row(fleet)) for fleet in fleets]
