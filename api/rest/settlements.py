"""The settlement of a job that stops before it is done: proposed, drafted, sent, signed as it is."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.owner_links import Linked, links_of
from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from api.rest.base import ShopView
from api.rest.bodies import body_values
from api.rest.concurrency import answer_version, require_match
from api.rest.consent_answers import consent_shown
from api.rest.consent_inputs import given_to_the_shop
from api.rest.consent_shapes import LinkShape
from api.rest.idempotency import once
from api.rest.jobs import held
from api.rest.links import LinkFilters, LinkInput, link_again, links_shown, new_link
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import filtered
from api.rest.quote_answers import fixed
from api.rest.settlement_requests import (
    SettlementInput,
    SettlementRefusalInput,
    SigningInput,
    details_of,
    pointing_into_the_settlement,
)
from api.rest.settlement_shapes import ProposalOfSettlementShape, SettlementAnsweredShape, SettlementShape
from costbase.calc.money import currency as currency_of
from quotes.actions.accepting import NoSuchPayerError
from quotes.actions.priced import shop_day
from quotes.actions.settlements import (
    SettlementSigned,
    draft_settlement,
    must_be,
    refuse_settlement,
    save_settlement,
    send_settlement,
    sign_settlement,
    withdraw_settlement,
)
from quotes.models import Consent, Job, Settlement
from quotes.models.settlement import STATES
from quotes.reports.settlements import proposed, settlements_of
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
LINK_LASTS = timedelta(days=30)
WORK_REFUSALS = (
    "job_state", "settlement_state", "no_such_payer", "bad_settlement", "bad_work", "several_faults", "bad_measure",
    "unknown_measure", "missing_measure", "bad_amount", "assembly_failed", "no_rate", "no_material", "no_price", "no_markup",
    "not_in_force", "edition_unreadable",
)  # fmt: skip
ANSWER_REFUSALS = ("job_state", "settlement_state", "no_such_payer", "bad_consent_time")
_PLAIN = ("id", "state", "reason", "payer", "document", "document_hash", "version")
_AMOUNTS = ("amount", "amount_with_tax", "paid", "due")


class SettlementFilters(django_filters.FilterSet):  # type: ignore[misc]
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in STATES], label="State.")


class SettlementProposal(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("propose_settlement", "What a job's records say of what was done", answers={200: ProposalOfSettlementShape})
    def get(self, request: Request, job_id: int) -> Response:
        """Counted work as it was settled; work that takes the roof off by the share of the places that the opening record has:
        cells for areas, strips for lengths, rings for numbers, and of what comes off and goes back the part for taking off;
        other work, and all of it where no such place was recorded, by the hours logged on it; goods as they were supplied. A
        person says what was done; nothing of this is taken by itself.
        """
        shop = self.context.shop
        job = get_object_or_404(Job.objects.for_shop(shop).select_related("quote"), pk=job_id)
        found = proposed(shop, job, frozen_cost_base(job), shop_day(shop))
        digits = currency_of(job.currency).digits
        return Response({**found, **{name: fixed(found[name], digits) for name in ("drawn", "paid", "most")}})


class Settlements(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_settlements",
        "The settlements of a job: one, and those that were taken back",
        answers={200: SettlementShape},
        filters=SettlementFilters,
    )
    def get(self, request: Request, job_id: int) -> Response:
        job = get_object_or_404(Job.objects.for_shop(self.context.shop).only("pk", "currency"), pk=job_id)
        rows = filtered(request, settlements_of(self.context.shop, job.pk), SettlementFilters)
        return Response(paginate(request, rows).document(lambda found: _all(found, job)))

    @operation(
        "draft_settlement",
        "Draft the settlement of a job that stops",
        body=SettlementInput,
        answers={201: SettlementShape},
        creates=True,
        refusals=WORK_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """Finished lines at the prices of the quote, started ones by what was done of their driver, goods that cannot go back,
        what was found and ordered, closing up, storage, less what was paid; never above what is authorised with tax.
        """
        return once(request, self.context, lambda: self._draft(request, job_id), lambda id_: self._created(job_id, id_))

    def _draft(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, SettlementInput)
        with pointing_into_the_settlement(values):
            settlement = draft_settlement(
                shop=self.context.shop,
                job=job,
                details=details_of(values, json_object(request)),
                by=self.context.actor,
                now=timezone.now(),
            )
        return self._created(job_id, settlement.pk)

    def _created(self, job_id: int, settlement_id: int) -> Response:
        job, settlement = read(self, job_id, settlement_id)
        headers = {"Location": f"{self.request.path}/{settlement.pk}"}
        response = Response(settlement_answer(settlement, job), status=status.HTTP_201_CREATED, headers=headers)
        return answer_version(self.request, settlement.version, response)


class OneSettlement(ShopView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE}

    @operation("get_settlement", "The settlement of a job", answers={200: SettlementShape}, versioned=True)
    def get(self, request: Request, job_id: int, settlement_id: int) -> Response:
        return shown(request, *read(self, job_id, settlement_id))

    @operation(
        "save_settlement",
        "Write the draft of a settlement again",
        body=SettlementInput,
        answers={200: SettlementShape},
        changes=True,
        refusals=WORK_REFUSALS,
    )
    def put(self, request: Request, job_id: int, settlement_id: int) -> Response:
        job, settlement = held_settlement(self, request, job_id, settlement_id)
        values = body_values(request, self.context.shop, SettlementInput)
        with pointing_into_the_settlement(values):
            save_settlement(
                shop=self.context.shop,
                job=job,
                settlement=settlement,
                details=details_of(values, json_object(request)),
                by=self.context.actor,
                now=timezone.now(),
            )
        return shown(request, job, settlement)


class SettlementSending(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "send_settlement",
        "Send a settlement, or send it again as the job stands now",
        answers={200: SettlementShape},
        changes=True,
        refusals=WORK_REFUSALS,
    )
    def post(self, request: Request, job_id: int, settlement_id: int) -> Response:
        job, settlement = held_settlement(self, request, job_id, settlement_id)
        send_settlement(
            shop=self.context.shop, job=job, settlement=settlement, by=self.context.actor, now=timezone.now()
        )  # fmt: skip
        return shown(request, job, settlement)


class SettlementSigning(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "sign_settlement",
        "Write down that a settlement was signed as it is; it stops the job",
        body=SigningInput,
        answers={201: SettlementAnsweredShape},
        creates=True,
        changes=True,
        refusals=[*ANSWER_REFUSALS, "bad_settlement", "other_document", "other_amount"],
    )
    def post(self, request: Request, job_id: int, settlement_id: int) -> HttpResponseBase:
        """Orders that still wait are taken back with it. Where the job has moved since it was sent: 409 `other_document`."""
        return once(request, self.context, lambda: self._sign(request, job_id, settlement_id))

    def _sign(self, request: Request, job_id: int, settlement_id: int) -> Response:
        job, settlement = held_settlement(self, request, job_id, settlement_id)
        values = body_values(request, self.context.shop, SigningInput)
        given = given_to_the_shop(values, values["payer"])
        signed = SettlementSigned(given, values["document_hash"], values["amount_with_tax"])
        consent = sign_settlement(
            shop=self.context.shop, job=job, settlement=settlement, signed=signed, by=self.context.actor, now=timezone.now()
        )
        return Response(_answered(job, settlement, consent), status=status.HTTP_201_CREATED)


class SettlementRefusal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "refuse_settlement",
        "Write down that a settlement was not signed, and why",
        body=SettlementRefusalInput,
        answers={201: SettlementAnsweredShape},
        creates=True,
        changes=True,
        refusals=ANSWER_REFUSALS,
    )
    def post(self, request: Request, job_id: int, settlement_id: int) -> HttpResponseBase:
        """It is a draft again, to be worked out anew."""
        return once(request, self.context, lambda: self._refuse(request, job_id, settlement_id))

    def _refuse(self, request: Request, job_id: int, settlement_id: int) -> Response:
        job, settlement = held_settlement(self, request, job_id, settlement_id)
        values = body_values(request, self.context.shop, SettlementRefusalInput)
        consent = refuse_settlement(
            shop=self.context.shop,
            job=job,
            settlement=settlement,
            given=given_to_the_shop(values, values["payer"]),
            reason=values["reason"],
            by=self.context.actor,
            now=timezone.now(),
        )
        return Response(_answered(job, settlement, consent), status=status.HTTP_201_CREATED)


class SettlementWithdrawal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "withdraw_settlement",
        "Take a settlement back that was not signed",
        answers={200: SettlementShape},
        changes=True,
        refusals=["settlement_state"],
    )
    def post(self, request: Request, job_id: int, settlement_id: int) -> Response:
        job, settlement = held_settlement(self, request, job_id, settlement_id)
        withdraw_settlement(shop=self.context.shop, settlement=settlement, by=self.context.actor)
        return shown(request, job, settlement)


class SettlementLinks(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_settlement_links", "The links to a settlement, newest first", answers={200: LinkShape}, filters=LinkFilters
    )
    def get(self, request: Request, job_id: int, settlement_id: int) -> Response:
        read(self, job_id, settlement_id)
        rows = filtered(request, links_of(self.context.shop, "settlement", settlement_id), LinkFilters)
        return Response(paginate(request, rows).document(links_shown))

    @operation(
        "make_settlement_link",
        "Make a link by which the payer of a settlement reads and signs it",
        body=LinkInput,
        answers={201: LinkShape},
        creates=True,
        refusals=["settlement_state", "no_such_payer"],
    )
    def post(self, request: Request, job_id: int, settlement_id: int) -> HttpResponseBase:
        """Its `token` is told now and never again. It opens the settlement as it was sent; sent again, it needs a new link."""
        return once(
            request, self.context, lambda: self._make(request, job_id, settlement_id), again=lambda id_: link_again(self, id_)
        )

    def _make(self, request: Request, job_id: int, settlement_id: int) -> Response:
        now = timezone.now()
        job, settlement = read(self, job_id, settlement_id)
        values = body_values(request, self.context.shop, LinkInput)
        must_be(settlement, "sent", doing="linked to")
        if values["payer"] != settlement.payer:
            words = f"the settlement of {job.number} is for {settlement.payer}"
            raise NoSuchPayerError(words, field="payer", value=values["payer"])
        linked = Linked("settlement", settlement.pk, settlement.version, settlement.document_hash, settlement.payer)
        return new_link(self, linked, values, until=now + LINK_LASTS, now=now)


def settlement_answer(settlement: Settlement, job: Job) -> Row:
    """A settlement as it is answered; it holds no cost."""
    digits, figures = currency_of(job.currency).digits, settlement.figures
    return {
        **{name: getattr(settlement, name) for name in _PLAIN},
        "job": settlement.job_id,
        "stopped_on": settlement.stopped_on.isoformat(),
        "lines": [{**line, **{name: fixed(line[name], digits) for name in ("of", "amount")}} for line in figures["lines"]],
        **{name: fixed(getattr(settlement, name), digits) for name in _AMOUNTS},
        "taxes": [{**tax, **{name: fixed(tax[name], digits) for name in ("base", "amount")}} for tax in figures["taxes"]],
        "tax": fixed(figures["tax"], digits),
        "rounding": fixed(figures["rounding"], digits),
        "not_billed": fixed(figures["cut"], digits),
        "consent": settlement.consent_id,
        "sent_at": settlement.sent_at.isoformat() if settlement.sent_at else None,
        "signed_at": settlement.signed_at.isoformat() if settlement.signed_at else None,
        "created": settlement.created.isoformat(),
        "request": settlement.request["body"],
    }


def read(view: ShopView, job_id: int, settlement_id: int) -> tuple[Job, Settlement]:
    """A job and one of its settlements; 404 where there is none."""
    shop = view.context.shop
    job = get_object_or_404(Job.objects.for_shop(shop).defer("totals"), pk=job_id)
    return job, get_object_or_404(settlements_of(shop, job_id), pk=settlement_id)


def held_settlement(view: ShopView, request: Request, job_id: int, settlement_id: int) -> tuple[Job, Settlement]:
    """The job and one of its settlements, both held, at the version of the settlement that the client has read."""
    job = held(view, job_id)
    rows = settlements_of(view.context.shop, job_id).select_for_update(of=("self",))
    settlement = get_object_or_404(rows, pk=settlement_id)
    require_match(request, settlement.version)
    return job, settlement


def shown(request: Request, job: Job, settlement: Settlement) -> Response:
    """The settlement as it stands, with its ETag."""
    return answer_version(request, settlement.version, Response(settlement_answer(settlement, job)))


def _all(found: Sequence[Settlement], job: Job) -> list[Row]:
    return [settlement_answer(settlement, job) for settlement in found]


def _answered(job: Job, settlement: Settlement, consent: Consent) -> Row:
    digits = currency_of(job.currency).digits
    return {"state": settlement.state, "job_state": job.state, "consent": consent_shown(consent, digits)}
