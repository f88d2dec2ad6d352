"""What a link opens for an owner: one document, to be read, accepted or declined. No bearer token comes here.

The secret in the address says which shop's scope to open; within it the visitor can do what the kind of document allows
(`owner_documents.py`) and nothing else. A read is counted for the shop and is no evidence of anything.

An owner presses twice, or once more a week later on the page that is still open. The same answer by the same link is told what
the first was told and recorded once, with an `Idempotency-Key` or without; another answer to what was answered is refused.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from typing import Any

from django.db import transaction
from django.http import HttpRequest
from django.http.response import HttpResponseBase
from django.utils import timezone
from drf_spectacular.utils import extend_schema
from rest_framework import status
from rest_framework.exceptions import ValidationError
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from api.accounts.owner_links import LinkRefused, find_link, hold_link, note_read
from api.rest.bodies import body_values
from api.rest.consent_inputs import LONGEST_WORDS, OwnerConsentInput, OwnerWordsInput, given_by_link
from api.rest.consent_shapes import OwnerAnsweredShape, OwnerDocumentShape
from api.rest.errors import Problem
from api.rest.fields import AmountField, TextField
from api.rest.idempotency import REPLAYED, fingerprint, once_by_link
from api.rest.openapi import operation
from api.rest.owner_documents import DOCUMENTS
from api.rest.owner_kinds import GONE, OwnerAnswered, OwnerDocument, OwnerVisit, OwnerYes
from api.rest.quote_requests import said_twice
from api.rest.request_log import bind_link, request_id_of
from api.rest.ticks import OPTIONS, options_field, ticked
from costbase.scope import Actor, shop_scope
from quotes.actions.link_answers import answered_before, keep_answer
from quotes.calc.consent import ELECTRONIC
from quotes.models.consent import DOCUMENTS as CONSENTED
from quotes.reports.consents import answers_by

Row = dict[str, Any]

OWNER_ROLE = "owner"
LINK_REFUSALS = ("link_revoked", "link_expired", *GONE)
# A secret stands in the address: it goes into no cache, and to no other site.
_HEADERS = {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}


class OwnerAcceptanceInput(OwnerConsentInput):
    options = options_field()
    limit_with_tax = AmountField(help_text="What is authorised, as the document says it for this payer.")

    def validate(self, attrs: Row) -> Row:
        attrs = super().validate(attrs)
        if faults := said_twice("options", attrs["options"]):
            raise ValidationError(faults)
        return attrs


class OwnerRefusalInput(OwnerWordsInput):
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why; the shop reads it.")


class _OwnerView(APIView):
    """A resource behind a link. The scope is the only transaction; a refusal rolls it back, as in `ShopView`."""

    http_method_names = ["get", "post", "head"]
    authentication_classes: list[Any] = []
    visit: OwnerVisit

    def dispatch(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        self._raw: str = kwargs.pop("token")
        self._is_open = False
        with ExitStack() as self._scope:
            response = super().dispatch(request, *args, **kwargs)
            if response.status_code >= status.HTTP_400_BAD_REQUEST and self._is_open:
                transaction.set_rollback(True)
        for name, value in _HEADERS.items():
            response[name] = value
        return response

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        now = timezone.now()
        with _told_by_name():
            link = find_link(self._raw, now=now)
        actor = Actor(person_id=None, token_id=None, role=OWNER_ROLE, request_id=request_id_of(request))
        bind_link(link.prefix, f"shop {link.shop.slug}")
        self._scope.enter_context(shop_scope(link.shop_id, actor))
        self._is_open = True
        self.visit = OwnerVisit(link.shop, link, actor, now)

    @property
    def kind(self) -> OwnerDocument:
        """What the link's document can do."""
        return DOCUMENTS[self.visit.link.document]

    def answer(self, request: Request, give: Callable[[], OwnerAnswered]) -> HttpResponseBase:
        """What `give` did, or what the same answer by this link was told before."""
        visit = self.visit
        return once_by_link(request, visit.shop, visit.link.pk, OWNER_ROLE, lambda: self._answer(request, give))

    def _answer(self, request: Request, give: Callable[[], OwnerAnswered]) -> Response:
        visit, link = self.visit, self.visit.link
        with _told_by_name():
            hold_link(link, now=visit.now)
        mark = fingerprint(request, OWNER_ROLE)
        told = answered_before(
            shop=visit.shop,
            link_id=link.pk,
            document=link.document,
            document_id=link.document_id,
            payer=link.payer,
            fingerprint=mark,
        )
        if told is not None:
            again = Response(json.loads(told.answer), status=status.HTTP_201_CREATED)
            again[REPLAYED] = "true"
            return again
        done = give()
        answer = _answered(done)
        text = JSONRenderer().render(answer).decode()
        keep_answer(shop=visit.shop, consent=done.consent, fingerprint=mark, answer=text, by=visit.actor, now=visit.now)
        return Response(answer, status=status.HTTP_201_CREATED)


@contextmanager
def _told_by_name() -> Iterator[None]:
    try:
        yield
    except LinkRefused as refused:
        raise Problem(refused.code, str(refused)) from refused


class OwnerPaper(_OwnerView):
    @extend_schema(parameters=[OPTIONS])
    @operation(
        "read_by_link",
        "The document that a link is for",
        answers={200: OwnerDocumentShape},
        refusals=[*LINK_REFUSALS, "bad_parameter", "unknown_parameter", "not_offered", "quote_state"],
    )
    def get(self, request: Request) -> Response:
        """With `options`, as it is with these options ticked; the hash is of that document. What was answered can still be
        read.

        An unknown link is 404. One that is over, or whose document is, is 410 and says which.
        """
        visit = self.visit
        shown = self.kind.read(visit, ticked(request))
        if request.method != "HEAD":
            note_read(visit.link, now=visit.now)
        answers = answers_by(visit.shop, visit.link.document, visit.link.document_id, visit.link.payer)
        return Response(
            {
                "kind": visit.link.document,
                "state": shown.state,
                "payer": visit.link.payer,
                "document": shown.document,
                "document_hash": shown.hash,
                "statement": ELECTRONIC if visit.link.document in CONSENTED else "",
                "answers": [
                    {"outcome": one.outcome, "at": one.at.isoformat(), "document_hash": one.document_hash, "hash": one.hash}
                    for one in answers
                ],
            }
        )


class OwnerAcceptance(_OwnerView):
    @operation(
        "accept_by_link",
        "Accept the document that a link is for",
        body=OwnerAcceptanceInput,
        answers={201: OwnerAnsweredShape},
        creates=True,
        refusals=[
            *LINK_REFUSALS, "quote_state", "fleet_member", "offer_expired", "provisional_offer", "not_offered",
            "other_document", "other_amount", "no_such_payer", "already_consented", "bad_consent_time",
            "date_proposal_state", "job_state", "change_order_state", "settlement_state", "bad_settlement",
            "step_state", "step_expired", "only_told",
        ],
    )  # fmt: skip
    def post(self, request: Request) -> HttpResponseBase:
        """An electronic consent: the statement affirmed, after the document was looked through. Name, time, address and agent
        are written down with it. The same once more is told the same and recorded once.
        """
        return self.answer(request, lambda: self._accept(request))

    def _accept(self, request: Request) -> OwnerAnswered:
        visit = self.visit
        values = body_values(request, visit.shop, OwnerAcceptanceInput)
        link = visit.link
        given = given_by_link(request, values, payer=link.payer, link_id=link.pk, sent_how=link.sent_how, now=visit.now)
        yes = OwnerYes(given, values["document_hash"], values["limit_with_tax"], tuple(values["options"]))
        return self.kind.accept(visit, yes)


class OwnerRefusal(_OwnerView):
    @operation(
        "decline_by_link",
        "Decline the document that a link is for",
        body=OwnerRefusalInput,
        answers={201: OwnerAnsweredShape},
        creates=True,
        refusals=[
            *LINK_REFUSALS,
            "quote_state",
            "fleet_member",
            "offer_expired",
            "no_such_payer",
            "bad_consent_time",
            "date_proposal_state",
            "job_state",
            "change_order_state",
            "settlement_state",
            "step_state", "step_expired", "only_told",
        ],
    )  # fmt: skip
    def post(self, request: Request) -> HttpResponseBase:
        """The same once more is told the same and recorded once."""
        return self.answer(request, lambda: self._decline(request))

    def _decline(self, request: Request) -> OwnerAnswered:
        visit = self.visit
        values = body_values(request, visit.shop, OwnerRefusalInput)
        link = visit.link
        given = given_by_link(request, values, payer=link.payer, link_id=link.pk, sent_how=link.sent_how, now=visit.now)
        return self.kind.decline(visit, given, values["reason"])


def _answered(done: OwnerAnswered) -> Row:
    one = done.consent
    return {
        "state": done.state,
        "outcome": one.outcome,
        "at": one.at.isoformat(),
        "document_hash": one.document_hash,
        "hash": one.hash,
        "waits_for": list(done.waits_for),
    }
