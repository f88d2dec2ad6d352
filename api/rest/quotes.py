"""Quotes: trial, draft, alternative, revision, issue."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, ClassVar

import django_filters
from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.errors import Problem
from api.rest.fields import FlagField, StrictSerializer
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import FlagFilter, IdFilter, filtered
from api.rest.quote_answers import Parts, brief_answer, quote_answer, row_of
from api.rest.quote_requests import QuoteInput, pointing_into_the_request, wish_of
from api.rest.quote_shapes import BriefShape, QuoteShape
from quotes.actions.issuing import NewerEditionsError, issue_quote
from quotes.actions.priced import ENGINE, Draft
from quotes.actions.quote_inputs import frozen_inputs, survey_of
from quotes.actions.quoting import (
    Kept,
    delete_draft,
    draft_quote,
    revise_quote,
    save_draft,
    trial_quote,
)
from quotes.calc.inputs import QuoteInputs
from quotes.models import Quote
from quotes.models.quote import STATES
from quotes.reports.quotes import brief_quotes, offer_rows, other_alternatives, stored_components, stored_lines

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
# A network's manager comes in where the shop opted in to share what it learns, and reads what was billed, never what it cost.
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST, NETWORK_MANAGER})
PRICE_REFUSALS = (
    "other_shop", "retired", "survey_of_another_coach", "plan_refused", "nothing_to_do", "bad_scope", "bad_entry",
    "condition_conflict", "bad_severity", "several_faults", "not_in_force", "no_rate", "no_price", "no_material", "no_markup",
    "no_repair", "assembly_failed", "edition_unreadable", "bad_layout",
)  # fmt: skip


class QuoteFilters(django_filters.FilterSet):  # type: ignore[misc]
    number = django_filters.CharFilter(max_length=24, label="The whole number, with all its revisions.")
    reference = django_filters.CharFilter(max_length=100, label="The client's own number.")
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in STATES], label="State.")
    coach = IdFilter(field_name="coach_id", label="Id of the coach.")
    customer = IdFilter(field_name="customer_id", label="Id of the customer.")
    fleet = IdFilter(field_name="fleet_id", label="Id of the fleet.")
    provisional = FlagFilter(label="Only provisional, or only others.")


class Quotes(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_quotes", "Quotes, newest first, without lines", answers={200: BriefShape}, filters=QuoteFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, brief_quotes(self.context.shop), QuoteFilters)
        return Response(paginate(request, rows).document(_briefly))

    @operation(
        "create_quote",
        "Price a coach and keep the quote as a draft",
        body=QuoteInput,
        answers={201: QuoteShape},
        creates=True,
        refusals=PRICE_REFUSALS,
    )
    def post(self, request: Request) -> HttpResponseBase:
        """Priced on the editions in force today."""
        return once(request, self.context, lambda: self._create(request))

    def _create(self, request: Request) -> Response:
        draft, inputs = asked(self, request)
        with pointing_into_the_request():
            kept = draft_quote(shop=self.context.shop, draft=draft, inputs=inputs, by=self.context.actor)
        return created(self, request, kept, request.path)


class QuoteTrial(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "try_quote", "Price a coach and keep nothing", body=QuoteInput, answers={200: QuoteShape}, refusals=PRICE_REFUSALS
    )
    def post(self, request: Request) -> Response:
        draft, inputs = asked(self, request)
        with pointing_into_the_request():
            kept = trial_quote(shop=self.context.shop, draft=draft, inputs=inputs, by=self.context.actor)
        return Response(_shown(self, kept))


class OneQuote(ShopView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE, "DELETE": OFFICE}

    @operation("get_quote", "A quote with its lines and hidden components", answers={200: QuoteShape}, versioned=True)
    def get(self, request: Request, quote_id: int) -> Response:
        quote = get_object_or_404(Quote.objects.for_shop(self.context.shop), pk=quote_id)
        return answer_version(request, quote.version, Response(stored_answer(self, quote)))

    @operation(
        "save_quote",
        "Price a draft again from changed inputs",
        body=QuoteInput,
        answers={200: QuoteShape},
        changes=True,
        refusals=["quote_state", "fleet_member", "offer_of_another_coach", *PRICE_REFUSALS],
    )
    def put(self, request: Request, quote_id: int) -> Response:
        """Priced on the editions in force today, whatever it was priced on before.

        The version of its alternatives goes on with its own.
        """
        quote = locked(self, quote_id)
        require_match(request, quote.version)
        draft, inputs = asked(self, request)
        with pointing_into_the_request():
            kept = save_draft(shop=self.context.shop, quote=quote, draft=draft, inputs=inputs, by=self.context.actor)
        return answer_version(request, kept.row["version"], Response(_shown(self, kept, others=others_of(self, kept.row))))

    @operation(
        "delete_quote",
        "Delete a draft; its alternatives stay",
        answers={204: None},
        changes=True,
        refusals=["quote_state", "fleet_member"],
    )
    def delete(self, request: Request, quote_id: int) -> Response:
        quote = locked(self, quote_id)
        require_match(request, quote.version)
        delete_draft(shop=self.context.shop, quote=quote, by=self.context.actor)
        return Response(status=status.HTTP_204_NO_CONTENT)


class IssueInput(StrictSerializer):
    confirm_editions = FlagField(
        required=False, default=False, help_text="Issue at the draft's prices although newer editions are in force."
    )


class QuoteIssue(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "issue_quote",
        "Issue a draft with its alternatives; they never change from then on",
        body=IssueInput,
        answers={200: QuoteShape},
        changes=True,
        refusals=["quote_state", "fleet_member", "newer_editions"],
    )
    def post(self, request: Request, quote_id: int) -> Response:
        """Nothing is priced again, and the survey is locked. All alternatives of the offer are issued together.

        Where something else is in force than the draft was priced on, 409 lists it in `newer`, unless confirmed: kind, slug,
        the first day of the edition that was `quoted` (null for what was not there) and of the one `in_force` (null for what
        was withdrawn).
        """
        quote = locked(self, quote_id)
        require_match(request, quote.version)
        confirmed = body_values(request, self.context.shop, IssueInput)["confirm_editions"]
        try:
            issue_quote(shop=self.context.shop, quote=quote, confirm_editions=confirmed, by=self.context.actor)
        except NewerEditionsError as newer:
            raise Problem(newer.code, newer.message, members={"newer": newer.newer}) from newer
        issued = Quote.objects.for_shop(self.context.shop).get(pk=quote_id)
        return answer_version(request, issued.version, Response(stored_answer(self, issued)))


class QuoteRevision(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "revise_quote",
        "Begin a new revision of an issued quote",
        body=QuoteInput,
        answers={201: QuoteShape},
        creates=True,
        refusals=["quote_state", "fleet_member", "not_newest_revision", *PRICE_REFUSALS],
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """The old revision, with all its alternatives, stands until the new one is issued.

        A quote's `request` is the body to begin from. The new revision has this one alternative; add what else shall be offered
        again to it, from the `request` of the old ones.
        """
        return once(request, self.context, lambda: self._revise(request, quote_id))

    def _revise(self, request: Request, quote_id: int) -> Response:
        quote = locked(self, quote_id)
        draft, inputs = asked(self, request)
        with pointing_into_the_request():
            kept = revise_quote(shop=self.context.shop, quote=quote, draft=draft, inputs=inputs, by=self.context.actor)
        return created(self, request, kept, request.path.removesuffix(f"/{quote_id}/revisions"))


def asked(view: ShopView, request: Request) -> tuple[Draft, QuoteInputs]:
    """What a request for a quote asks for, and the frozen inputs it comes to."""
    shop = view.context.shop
    values = body_values(request, shop, QuoteInput)
    survey = survey_of(shop, values["coach"], values["survey"])
    draft = Draft(
        label=values["label"],
        reference=values["reference"],
        customer_id=survey.coach.customer_id,
        coach_id=survey.coach_id,
        survey_id=survey.pk,
        request=json_object(request),
    )
    return draft, frozen_inputs(survey, wish_of(values))


def created(view: ShopView, request: Request, kept: Kept, below: str, others: Iterable[Row] = ()) -> Response:
    """The answer to a request that made a quote."""
    headers = {"Location": f"{below}/{kept.row['id']}"}
    response = Response(_shown(view, kept, others=others), status=status.HTTP_201_CREATED, headers=headers)
    return answer_version(request, kept.row["version"], response)


def locked(view: ShopView, quote_id: int) -> Quote:
    """The quote, held with its whole offer until the request ends, so that its version stays what If-Match was compared with.

    Always all of the number and in one order: two requests that change two alternatives wait for each other and lock up never.
    """
    for quote in offer_rows(view.context.shop, quote_id).select_for_update(of=("self",)):
        if quote.pk == quote_id:
            return quote
    raise Http404


def of_this_engine(view: ShopView, quote_id: int) -> Quote:
    """The quote, for an answer that works it out again.

    Raises:
        Problem: older_engine, where another arithmetic than the present one priced it.
    """
    rows = Quote.objects.for_shop(view.context.shop).select_related("cost_base")
    quote: Quote = get_object_or_404(rows, pk=quote_id)
    if quote.engine != ENGINE:
        raise Problem("older_engine", f"{quote.number} was priced by an older arithmetic; save or revise it first.")
    return quote


def stored_answer(view: ShopView, quote: Quote) -> dict[str, Any]:
    """A quote that was read, with its lines, components and alternatives."""
    shop, row = view.context.shop, row_of(quote)
    lines, components = stored_lines(shop, quote.pk), stored_components(shop, quote.pk)
    return quote_answer(shop, view.identity.role, row, Parts(lines, components, others_of(view, row)))


def others_of(view: ShopView, row: Mapping[str, Any]) -> list[Row]:
    """What is offered beside a quote that was read or just written."""
    return other_alternatives(view.context.shop, number=row["number"], revision=row["revision"], than=row["id"])


def _shown(view: ShopView, kept: Kept, others: Iterable[Row] = ()) -> dict[str, Any]:
    return quote_answer(view.context.shop, view.identity.role, kept.row, Parts(kept.lines, kept.components, others))


def _briefly(quotes: Sequence[Quote]) -> list[Any]:
    return [brief_answer(row_of(quote)) for quote in quotes]
