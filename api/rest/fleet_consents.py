"""How the offer of a fleet is answered over the shop's desk: all coaches together, a consent and a job for each."""

from typing import Any, ClassVar

from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_digest, require_match
from api.rest.consent_answers import fleet_answered
from api.rest.consent_inputs import HASH_DIGITS, LONGEST_WORDS, ConsentInput, GivenInput, given_to_the_shop
from api.rest.consent_shapes import AnsweredShape, DocumentShape
from api.rest.consents import (
    ACCEPT_REFUSALS,
    DECLINE_REFUSALS,
    OFFICE,
    PAYER_WORDS,
    READERS,
    WithdrawalInput,
)
from api.rest.errors import Problem
from api.rest.fields import AmountField, OneOfField, SlugField, TextField
from api.rest.fleet_shapes import FleetShape
from api.rest.fleets import stored_answer
from api.rest.idempotency import once
from api.rest.openapi import operation
from quotes.actions.accepting import Acceptance
from quotes.actions.fleet_answers import accept_fleet, decline_fleet, fleet_offer, withdraw_fleet
from quotes.calc.consent import OLD_PARTS
from quotes.models import Fleet, Quote
from quotes.reports.fleets import held_fleet

Row = dict[str, Any]


class FleetAcceptanceInput(ConsentInput):
    payer = SlugField(required=False, default="owner", help_text=PAYER_WORDS)
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the fleet's document as it was shown.")
    limit_with_tax = AmountField(help_text="What is authorised: the coaches' limits with tax together, of this payer's parts.")
    old_parts = OneOfField(OLD_PARTS, help_text="What shall be done with parts that come off.")


class FleetRefusalInput(GivenInput):
    payer = SlugField(required=False, default="owner", help_text=PAYER_WORDS)
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as it was told. Stays in the record for good.")


class CoachAnsweredShape(AnsweredShape):
    quote = serializers.IntegerField()
    place = serializers.IntegerField()


class FleetAnsweredShape(serializers.Serializer[Any]):
    """What an answer to the offer of a fleet did."""

    fleet = serializers.IntegerField()
    state = serializers.CharField()
    coaches = CoachAnsweredShape(many=True)


class FleetDocument(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "get_fleet_document",
        "What the owner of a fleet signs, with its hash",
        answers={200: DocumentShape},
        tagged=True,
        refusals=["quote_state"],
    )
    def get(self, request: Request, fleet_id: int) -> Response:
        """Each coach's own document stands in it by its hash. A draft has none yet."""
        shop = self.context.shop
        fleet = get_object_or_404(Fleet.objects.for_shop(shop), pk=fleet_id)
        if fleet.state == "draft":
            raise Problem("quote_state", f"Fleet {fleet.pk} is a draft; expected one that was issued.")
        offer = fleet_offer(shop, fleet, list(Quote.objects.for_shop(shop).filter(fleet_id=fleet.pk).order_by("place")))
        return answer_digest(request, Response({"document": offer.document, "document_hash": offer.hash}))


class FleetAcceptance(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "accept_fleet",
        "Write down that the offer of a fleet was accepted",
        body=FleetAcceptanceInput,
        answers={201: FleetAnsweredShape},
        creates=True,
        changes=True,
        refusals=ACCEPT_REFUSALS,
    )
    def post(self, request: Request, fleet_id: int) -> HttpResponseBase:
        """All coaches or none: a consent and a job for each, with the coach's own limit with tax."""
        return once(request, self.context, lambda: self._accept(request, fleet_id))

    def _accept(self, request: Request, fleet_id: int) -> Response:
        fleet, quotes = _held(self, request, fleet_id)
        values = body_values(request, self.context.shop, FleetAcceptanceInput)
        given = given_to_the_shop(values, values["payer"])
        acceptance = Acceptance(given, (), values["document_hash"], values["limit_with_tax"])
        shop, by = self.context.shop, self.context.actor
        done = accept_fleet(shop=shop, fleet=fleet, quotes=quotes, acceptance=acceptance, by=by)
        return Response(fleet_answered(shop, fleet, done), status=status.HTTP_201_CREATED)


class FleetRefusal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "decline_fleet",
        "Write down that the offer of a fleet was declined, and why",
        body=FleetRefusalInput,
        answers={201: FleetAnsweredShape},
        creates=True,
        changes=True,
        refusals=DECLINE_REFUSALS,
    )
    def post(self, request: Request, fleet_id: int) -> HttpResponseBase:
        """The owner's no ends it; another payer's leaves it on offer."""
        return once(request, self.context, lambda: self._decline(request, fleet_id))

    def _decline(self, request: Request, fleet_id: int) -> Response:
        fleet, quotes = _held(self, request, fleet_id)
        values = body_values(request, self.context.shop, FleetRefusalInput)
        given = given_to_the_shop(values, values["payer"])
        shop, by = self.context.shop, self.context.actor
        done = decline_fleet(shop=shop, fleet=fleet, quotes=quotes, given=given, reason=values["reason"], by=by)
        return Response(fleet_answered(shop, fleet, done), status=status.HTTP_201_CREATED)


class FleetWithdrawal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "withdraw_fleet",
        "Take the offer of a fleet back",
        body=WithdrawalInput,
        answers={200: FleetShape},
        changes=True,
        refusals=["quote_state"],
    )
    def post(self, request: Request, fleet_id: int) -> Response:
        fleet, quotes = _held(self, request, fleet_id)
        reason = body_values(request, self.context.shop, WithdrawalInput)["reason"]
        shop, by = self.context.shop, self.context.actor
        withdraw_fleet(shop=shop, fleet=fleet, quotes=quotes, reason=reason, by=by)
        return Response(stored_answer(self, Fleet.objects.for_shop(shop).get(pk=fleet_id)))


def _held(view: ShopView, request: Request, fleet_id: int) -> tuple[Fleet, list[Quote]]:
    found = held_fleet(view.context.shop, fleet_id)
    if found is None:
        raise Http404
    require_match(request, found[0].version)
    return found
