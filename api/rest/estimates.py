"""Another party's estimate beside a quote: entered line by line, matched to our lines by a person, and compared.

It changes no price, so it may stand beside a draft and beside an issued quote alike.
"""

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
from api.rest.estimate_answers import brief_estimate, differences_answer, estimate_answer
from api.rest.estimate_requests import EstimateInput, details_of
from api.rest.estimate_shapes import BriefEstimateShape, DifferencesShape, EstimateShape
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.payers import OFFICE, READERS
from api.rest.queries import IdFilter, filtered
from quotes.actions.second_estimates import add_estimate, change_estimate, remove_estimate
from quotes.models import Quote, SecondEstimate
from quotes.models.second_estimate import PARTIES
from quotes.reports.payers import NOT_READ
from quotes.reports.second_estimates import beside, estimates_of

Row = dict[str, Any]


class EstimateFilters(django_filters.FilterSet):  # type: ignore[misc]
    party = django_filters.ChoiceFilter(choices=[(party, party) for party in PARTIES], label="Whose estimate it is.")
    customer = IdFilter(field_name="customer_id", label="Id of the customer.")


class Estimates(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_estimates",
        "Other parties' estimates beside a quote, newest first, without lines",
        answers={200: BriefEstimateShape},
        filters=EstimateFilters,
    )
    def get(self, request: Request, quote_id: int) -> Response:
        quote = _quote(self, quote_id)
        rows = filtered(request, estimates_of(self.context.shop, quote.pk), EstimateFilters)
        return Response(paginate(request, rows).document(self._briefly))

    @operation(
        "create_estimate",
        "Enter another party's estimate",
        body=EstimateInput,
        answers={201: EstimateShape},
        creates=True,
        refusals=["other_shop", "bad_estimate_line", "bad_decision", "several_faults"],
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """It changes no price, whatever the quote's state. Lines without a match are answered with suggestions."""
        return once(request, self.context, lambda: self._create(request, quote_id), lambda id_: self._created(quote_id, id_))

    def _create(self, request: Request, quote_id: int) -> Response:
        quote = _quote(self, quote_id)
        details = details_of(body_values(request, self.context.shop, EstimateInput))
        estimate = add_estimate(shop=self.context.shop, quote=quote, details=details, by=self.context.actor)
        return self._created(quote_id, estimate.pk)

    def _created(self, quote_id: int, estimate_id: int) -> Response:
        estimate = get_object_or_404(estimates_of(self.context.shop, quote_id), pk=estimate_id)
        headers = {"Location": f"{self.request.path}/{estimate.pk}"}
        response = Response(estimate_answer(self.context.shop, estimate), status=status.HTTP_201_CREATED, headers=headers)
        return answer_version(self.request, estimate.version, response)

    def _briefly(self, estimates: Sequence[SecondEstimate]) -> list[Row]:
        return [brief_estimate(self.context.shop, estimate) for estimate in estimates]


class OneEstimate(ShopView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE, "DELETE": OFFICE}

    @operation("get_estimate", "Another party's estimate", answers={200: EstimateShape}, versioned=True)
    def get(self, request: Request, quote_id: int, estimate_id: int) -> Response:
        """`suggestions` are worked out anew at every reading, and are no part of its version."""
        estimate = _estimate(self, quote_id, estimate_id)
        return answer_version(request, estimate.version, Response(estimate_answer(self.context.shop, estimate)))

    @operation(
        "save_estimate",
        "Change an estimate: its lines, their matches, what was agreed",
        body=EstimateInput,
        answers={200: EstimateShape},
        changes=True,
        refusals=["other_shop", "bad_estimate_line", "bad_decision", "several_faults"],
    )
    def put(self, request: Request, quote_id: int, estimate_id: int) -> Response:
        """In place of what was entered before. A match or decision that fits nothing any more is kept and told."""
        estimate = _estimate(self, quote_id, estimate_id, held=True)
        require_match(request, estimate.version)
        details = details_of(body_values(request, self.context.shop, EstimateInput))
        change_estimate(shop=self.context.shop, estimate=estimate, details=details, by=self.context.actor)
        return answer_version(request, estimate.version, Response(estimate_answer(self.context.shop, estimate)))

    @operation("delete_estimate", "Take an estimate away", answers={204: None}, changes=True)
    def delete(self, request: Request, quote_id: int, estimate_id: int) -> Response:
        estimate = _estimate(self, quote_id, estimate_id, held=True)
        require_match(request, estimate.version)
        remove_estimate(shop=self.context.shop, estimate=estimate, by=self.context.actor)
        return Response(status=status.HTTP_204_NO_CONTENT)


class EstimateDifferences(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_differences", "How an estimate differs from the quote", answers={200: DifferencesShape})
    def get(self, request: Request, quote_id: int, estimate_id: int) -> Response:
        """Every difference with its amount; together they are our total less theirs, to the last cent."""
        quote = _quote(self, quote_id)
        estimate = _estimate(self, quote_id, estimate_id)
        comparison, settled, _ = beside(self.context.shop, quote, estimate)
        return Response(differences_answer(quote.currency, comparison, settled))


def _quote(view: ShopView, quote_id: int) -> Quote:
    quote: Quote = get_object_or_404(Quote.objects.for_shop(view.context.shop).defer(*NOT_READ), pk=quote_id)
    return quote


def _estimate(view: ShopView, quote_id: int, estimate_id: int, *, held: bool = False) -> SecondEstimate:
    rows = estimates_of(view.context.shop, quote_id)
    estimate: SecondEstimate = get_object_or_404(rows.select_for_update(of=("self",)) if held else rows, pk=estimate_id)
    return estimate
