"""Alternatives: what an owner can choose from under one number."""

from typing import ClassVar

from django.http.response import HttpResponseBase
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.quote_requests import QuoteInput, pointing_into_the_request
from api.rest.quote_shapes import QuoteShape
from api.rest.quotes import OFFICE, PRICE_REFUSALS, asked, created, locked, others_of
from quotes.actions.quoting import add_alternative


class QuoteAlternatives(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "add_alternative",
        "Add another choice to a draft, up to three",
        body=QuoteInput,
        answers={201: QuoteShape},
        creates=True,
        refusals=["quote_state", "too_many_alternatives", "offer_of_another_coach", *PRICE_REFUSALS],
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """It has the same number and revision, is issued with the draft, and at most one of them is accepted.

        Each is priced for itself, for the same coach. The version of the others goes on with every change of one.
        """
        return once(request, self.context, lambda: self._add(request, quote_id))

    def _add(self, request: Request, quote_id: int) -> Response:
        quote = locked(self, quote_id)
        draft, inputs = asked(self, request)
        with pointing_into_the_request():
            kept = add_alternative(shop=self.context.shop, quote=quote, draft=draft, inputs=inputs, by=self.context.actor)
        below = request.path.removesuffix(f"/{quote_id}/alternatives")
        return created(self, request, kept, below, others=others_of(self, kept.row))
