"""How an offer is answered over the shop's desk, and every consent under its number.

An owner's own way is a link (`owner.py`). Here somebody of the shop writes down what was consented to, or refused, on paper, by
word of mouth or by a message.
"""

from typing import Any, ClassVar

from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.exceptions import ValidationError
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_digest, require_match
from api.rest.consent_answers import answered, chain_answer
from api.rest.consent_inputs import HASH_DIGITS, LONGEST_WORDS, ConsentInput, GivenInput, given_to_the_shop
from api.rest.consent_shapes import AnsweredShape, ConsentsShape, DocumentShape
from api.rest.fields import AmountField, OneOfField, SlugField, StrictSerializer, TextField
from api.rest.idempotency import once
from api.rest.openapi import operation
from api.rest.quote_requests import said_twice
from api.rest.quote_shapes import QuoteShape
from api.rest.quotes import stored_answer
from api.rest.ticks import OPTIONS, options_field, ticked
from quotes.actions.accepting import Acceptance, Answered, accept_quote, decline_quote, withdraw_quote
from quotes.actions.offers import standing_offer
from quotes.actions.quoting import must_be
from quotes.calc.consent import OLD_PARTS
from quotes.models import Quote, ShownDocument
from quotes.models.quote import STATES
from quotes.reports.quotes import held_offer

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
PAYER_WORDS = "Label of the payer who answers."
ACCEPT_REFUSALS = (
    "quote_state", "offer_expired", "provisional_offer", "not_offered", "other_document", "other_amount", "no_such_payer",
    "already_consented", "bad_consent_time",
)  # fmt: skip
DECLINE_REFUSALS = ("quote_state", "offer_expired", "no_such_payer", "bad_consent_time")


class AcceptanceInput(ConsentInput):
    payer = SlugField(required=False, default="owner", help_text=PAYER_WORDS)
    options = options_field()
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the document, with these options, as it was shown.")
    limit_with_tax = AmountField(help_text="What is authorised: the limit with tax, of this payer's part where several pay.")
    old_parts = OneOfField(OLD_PARTS, help_text="What shall be done with parts that come off.")

    def validate(self, attrs: Row) -> Row:
        attrs = super().validate(attrs)
        if faults := said_twice("options", attrs["options"]):
            raise ValidationError(faults)
        return attrs


class RefusalInput(GivenInput):
    payer = SlugField(required=False, default="owner", help_text=PAYER_WORDS)
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as it was told. Stays in the record for good.")


class WithdrawalInput(StrictSerializer):
    reason = TextField(max_length=400, help_text="Why the shop takes it back.")


class QuoteDocument(ShopView):
    roles: ClassVar = {"GET": READERS}

    @extend_schema(parameters=[OPTIONS])
    @operation(
        "get_offer_document",
        "What the owner of an offer sees and signs, with its hash",
        answers={200: DocumentShape},
        tagged=True,
        refusals=["quote_state", "not_offered", "bad_parameter", "unknown_parameter"],
    )
    def get(self, request: Request, quote_id: int) -> Response:
        """With `options`, as it is with these options ticked. A draft has none yet."""
        quote = get_object_or_404(Quote.objects.for_shop(self.context.shop), pk=quote_id)
        must_be(quote, *(state for state in STATES if state != "draft"), doing="shown as it is signed")
        offer = standing_offer(self.context.shop, quote, ticked(request))
        return answer_digest(request, Response({"document": offer.document, "document_hash": offer.hash}))


class KeptDocument(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_kept_document", "A document as it was shown, by its hash", answers={200: DocumentShape})
    def get(self, request: Request, hash: str) -> Response:
        """Of every document that a link was made for or that was answered."""
        kept = get_object_or_404(ShownDocument.objects.for_shop(self.context.shop), hash=hash)
        return Response({"document": kept.contents, "document_hash": kept.hash})


class QuoteConsents(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "list_consents", "Every consent under a quote's number, and whether the chain holds", answers={200: ConsentsShape}
    )
    def get(self, request: Request, quote_id: int) -> Response:
        """Consents to its alternatives, revisions, steps, change orders and settlement stand in one chain, each under the hash
        of the one before it. `payers` says whose consent to this quote is asked for, and what they answered last.
        """
        quote = get_object_or_404(Quote.objects.for_shop(self.context.shop), pk=quote_id)
        return Response(chain_answer(self.context.shop, quote, self.identity.role))


class QuoteAcceptance(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "accept_quote",
        "Write down that an issued quote was accepted",
        body=AcceptanceInput,
        answers={201: AnsweredShape},
        creates=True,
        changes=True,
        refusals=["fleet_member", *ACCEPT_REFUSALS],
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """It authorises the limit with tax of the document with this hash. Where several pay, each consents apart to the same
        document; when all have, the quote is accepted, its other alternatives are superseded, and the job is booked.
        """
        return once(request, self.context, lambda: self._accept(request, quote_id))

    def _accept(self, request: Request, quote_id: int) -> Response:
        quote = held(self, request, quote_id)
        values = body_values(request, self.context.shop, AcceptanceInput)
        done = accept_quote(
            shop=self.context.shop, quote=quote, acceptance=acceptance_of(values), by=self.context.actor
        )  # fmt: skip
        return Response(answered(self.context.shop, quote, done), status=status.HTTP_201_CREATED)


class QuoteRefusal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "decline_quote",
        "Write down that an issued quote was declined, and why",
        body=RefusalInput,
        answers={201: AnsweredShape},
        creates=True,
        changes=True,
        refusals=["fleet_member", *DECLINE_REFUSALS],
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """The owner's no ends this alternative. Another payer's leaves it on offer: that payer may still accept, or the draft
        of a revision gives the part to somebody else.
        """
        return once(request, self.context, lambda: self._decline(request, quote_id))

    def _decline(self, request: Request, quote_id: int) -> Response:
        quote = held(self, request, quote_id)
        values = body_values(request, self.context.shop, RefusalInput)
        given = given_to_the_shop(values, values["payer"])
        shop, by = self.context.shop, self.context.actor
        consent = decline_quote(shop=shop, quote=quote, given=given, reason=values["reason"], by=by)
        done = Answered(consent, None, ())
        return Response(answered(shop, quote, done), status=status.HTTP_201_CREATED)


class QuoteWithdrawal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "withdraw_quote",
        "Take an issued offer back, with all its open alternatives",
        body=WithdrawalInput,
        answers={200: QuoteShape},
        changes=True,
        refusals=["quote_state", "fleet_member"],
    )
    def post(self, request: Request, quote_id: int) -> Response:
        """Its links answer 410 from then on. It can be revised."""
        quote = held(self, request, quote_id)
        values = body_values(request, self.context.shop, WithdrawalInput)
        withdraw_quote(shop=self.context.shop, quote=quote, reason=values["reason"], by=self.context.actor)
        return Response(stored_answer(self, Quote.objects.for_shop(self.context.shop).get(pk=quote_id)))


def held(view: ShopView, request: Request, quote_id: int) -> Quote:
    """The quote, held with its whole offer, at the version that the client has read."""
    quote = held_offer(view.context.shop, quote_id)
    if quote is None:
        raise Http404
    require_match(request, quote.version)
    return quote


def acceptance_of(values: Row) -> Acceptance:
    """What was accepted, from the values of an `AcceptanceInput`."""
    given = given_to_the_shop(values, values["payer"])
    return Acceptance(given, tuple(values["options"]), values["document_hash"], values["limit_with_tax"])
