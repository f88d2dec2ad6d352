"""The day that a coach is promised for: another one is proposed with its reason, and holds by the owner's consent only."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django.http import Http404
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import serializers, status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.owner_links import Linked, links_of
from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.consent_inputs import HASH_DIGITS, LONGEST_WORDS, ConsentInput, GivenInput, given_to_the_shop
from api.rest.consent_shapes import LinkShape
from api.rest.edition_filters import NoFilters
from api.rest.fields import DayField, StrictSerializer, TextField
from api.rest.idempotency import once
from api.rest.jobs import held
from api.rest.links import LinkInput, end_of_day, link_again, links_shown, new_link
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import PAGE_PARAMETERS, known_parameters
from quotes.actions.accepting import NoSuchPayerError
from quotes.actions.offers import OWNER
from quotes.actions.promises import (
    DateAnswer,
    accept_date,
    decline_date,
    must_wait,
    proposals,
    propose_date,
    withdraw_date,
)
from quotes.models import DateProposal, Job
from quotes.models.promise import STATES

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})


class ProposalInput(StrictSerializer):
    day = DayField(help_text="The day that is promised instead: today in the shop's zone, or later.")
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as the owner reads it. No names: it stays in the record.")


class DateAcceptanceInput(ConsentInput):
    promised_on = None  # type: ignore[assignment]
    document_hash = TextField(max_length=HASH_DIGITS, help_text="Of the document as it was shown.")


class DateRefusalInput(GivenInput):
    reason = TextField(max_length=LONGEST_WORDS, help_text="Why, as it was told. Stays in the record for good.")


class ProposalShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    job = serializers.IntegerField()
    number = serializers.IntegerField()
    state = serializers.ChoiceField(choices=STATES)
    before = serializers.DateField(allow_null=True, help_text="The day that held when it was proposed; null: none.")
    day = serializers.DateField()
    reason = serializers.CharField()
    consent = serializers.IntegerField(allow_null=True, help_text="Id of the record that answered it.")
    document = serializers.DictField(help_text="What the owner sees.")
    document_hash = serializers.CharField()
    created = serializers.DateTimeField()
    created_by = serializers.IntegerField(allow_null=True)
    decided_at = serializers.DateTimeField(allow_null=True)


class PromisedDates(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_date_proposals", "Days that a job was proposed for, newest first", answers={200: ProposalShape}, filters=NoFilters
    )
    def get(self, request: Request, job_id: int) -> Response:
        known_parameters(request, PAGE_PARAMETERS)
        get_object_or_404(Job.objects.for_shop(self.context.shop).only("pk"), pk=job_id)
        rows = proposals(self.context.shop, job_id)
        return Response(paginate(request, rows).document(_shown))

    @operation(
        "propose_date",
        "Propose another promised day",
        body=ProposalInput,
        answers={201: ProposalShape},
        creates=True,
        refusals=["job_state", "bad_promised_date"],
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """What was promised stands until the owner has consented. A proposal that waits is superseded by a newer one."""
        return once(request, self.context, lambda: self._propose(request, job_id))

    def _propose(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, ProposalInput)
        proposal = propose_date(
            shop=self.context.shop, job=job, **values, by=self.context.actor, now=timezone.now()
        )  # fmt: skip
        return Response(proposal_answer(proposal), status=status.HTTP_201_CREATED)


class OnePromisedDate(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_date_proposal", "A proposed day, with what the owner sees", answers={200: ProposalShape})
    def get(self, request: Request, job_id: int, proposal_id: int) -> Response:
        return Response(proposal_answer(get_object_or_404(proposals(self.context.shop, job_id), pk=proposal_id)))


class PromisedDateAcceptance(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "accept_date",
        "Write down that the owner consents to another day",
        body=DateAcceptanceInput,
        answers={201: ProposalShape},
        creates=True,
        refusals=["date_proposal_state", "job_state", "other_document", "bad_consent_time"],
    )
    def post(self, request: Request, job_id: int, proposal_id: int) -> HttpResponseBase:
        """The day is promised from now on. No amount moves."""
        return once(request, self.context, lambda: self._accept(request, job_id, proposal_id))

    def _accept(self, request: Request, job_id: int, proposal_id: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        job, proposal = _held(self, job_id, proposal_id)
        values = body_values(request, shop, DateAcceptanceInput)
        answer = DateAnswer(given_to_the_shop(values, OWNER), values["document_hash"])
        accept_date(shop=shop, job=job, proposal=proposal, answer=answer, by=self.context.actor, now=now)
        return Response(proposal_answer(proposal), status=status.HTTP_201_CREATED)


class PromisedDateRefusal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "decline_date",
        "Write down that the owner does not consent to another day",
        body=DateRefusalInput,
        answers={201: ProposalShape},
        creates=True,
        refusals=["date_proposal_state", "bad_consent_time"],
    )
    def post(self, request: Request, job_id: int, proposal_id: int) -> HttpResponseBase:
        """What was promised before stands."""
        return once(request, self.context, lambda: self._decline(request, job_id, proposal_id))

    def _decline(self, request: Request, job_id: int, proposal_id: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        job, proposal = _held(self, job_id, proposal_id)
        values = body_values(request, shop, DateRefusalInput)
        given, reason, by = given_to_the_shop(values, OWNER), values["reason"], self.context.actor
        decline_date(shop=shop, job=job, proposal=proposal, given=given, reason=reason, by=by, now=now)
        return Response(proposal_answer(proposal), status=status.HTTP_201_CREATED)


class PromisedDateWithdrawal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "withdraw_date",
        "Take a proposed day back",
        answers={201: ProposalShape},
        creates=True,
        refusals=["date_proposal_state"],
    )
    def post(self, request: Request, job_id: int, proposal_id: int) -> HttpResponseBase:
        return once(request, self.context, lambda: self._withdraw(job_id, proposal_id))

    def _withdraw(self, job_id: int, proposal_id: int) -> Response:
        _, proposal = _held(self, job_id, proposal_id)
        withdraw_date(shop=self.context.shop, proposal=proposal, by=self.context.actor, now=timezone.now())
        return Response(proposal_answer(proposal), status=status.HTTP_201_CREATED)


class PromisedDateLinks(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_date_links", "The links to a proposed day, the newest first", answers={200: LinkShape}, filters=NoFilters)
    def get(self, request: Request, job_id: int, proposal_id: int) -> Response:
        known_parameters(request, PAGE_PARAMETERS)
        get_object_or_404(proposals(self.context.shop, job_id).only("pk"), pk=proposal_id)
        rows = links_of(self.context.shop, "date", proposal_id)
        return Response(paginate(request, rows).document(links_shown))

    @operation(
        "make_date_link",
        "Make a link by which an owner reads and answers a proposed day",
        body=LinkInput,
        answers={201: LinkShape},
        creates=True,
        refusals=["date_proposal_state", "no_such_payer"],
    )
    def post(self, request: Request, job_id: int, proposal_id: int) -> HttpResponseBase:
        """Its `token` is told now and never again. It is the owner who is asked, whoever pays."""
        return once(
            request, self.context, lambda: self._make(request, job_id, proposal_id), again=lambda id_: link_again(self, id_)
        )

    def _make(self, request: Request, job_id: int, proposal_id: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        _, proposal = _held(self, job_id, proposal_id)
        values = body_values(request, shop, LinkInput)
        must_wait(proposal, doing="linked to")
        if values["payer"] != OWNER:
            raise NoSuchPayerError(f"the consent of the {OWNER} is asked for", field="payer", value=values["payer"])
        linked = Linked("date", proposal.pk, proposal.number, proposal.document_hash, OWNER)
        return new_link(self, linked, values, until=end_of_day(shop.time_zone, proposal.day), now=now)


def proposal_answer(proposal: DateProposal) -> Row:
    """A proposal as it is answered."""
    plain = ("id", "number", "state", "before", "day", "reason", "document", "document_hash", "created", "created_by")
    return {
        **{name: getattr(proposal, name) for name in (*plain, "decided_at")},
        "job": proposal.job_id,
        "consent": proposal.consent_id,
    }


def _shown(rows: Sequence[DateProposal]) -> list[Row]:
    return [proposal_answer(row) for row in rows]


def _held(view: ShopView, job_id: int, proposal_id: int) -> tuple[Job, DateProposal]:
    """The job, held, and the proposal as it stands then."""
    job = held(view, job_id)
    proposal = proposals(view.context.shop, job_id).filter(pk=proposal_id).first()
    if proposal is None:
        raise Http404
    return job, proposal
