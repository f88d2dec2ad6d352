"""Steps of the work that are sold on their own before the whole: a look first, or the teardown with its closing up."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django.http import Http404
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
from api.rest.concurrency import answer_version, etag, require_match
from api.rest.consent_inputs import given_to_the_shop
from api.rest.consent_shapes import LinkShape
from api.rest.edition_filters import NoFilters
from api.rest.idempotency import once
from api.rest.jobs import held as held_job
from api.rest.links import LinkInput, end_of_day, link_again, links_shown, new_link
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import PAGE_PARAMETERS, known_parameters
from api.rest.step_shapes import (
    StepAcceptanceInput,
    StepCloseUpInput,
    StepInput,
    StepRefusalInput,
    WorkStepShape,
    details_of,
    step_answer,
)
from quotes.actions.accepting import NoSuchPayerError
from quotes.actions.offers import OWNER
from quotes.actions.step_jobs import NotAStepError, close_up_step
from quotes.actions.steps import (
    StepYes,
    accept_step,
    decline_step,
    draft_step,
    held_step,
    issue_step,
    must_be_step,
    save_draft,
    withdraw_step,
)
from quotes.models import Quote, StepOffer
from quotes.reports.quotes import held_offer
from quotes.reports.steps import steps_of

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
PRICE_REFUSALS = (
    "quote_state", "fleet_member", "bad_step", "empty_step", "bad_work", "no_rate", "no_material", "no_price", "no_markup",
    "assembly_failed", "several_faults", "bad_measure", "missing_measure", "not_in_force", "edition_unreadable", "bad_amount",
    "unknown_tax_mode",
)  # fmt: skip


class _StepView(ShopView):
    """A view of one quote's steps."""

    def quote(self, quote_id: int) -> Quote:
        """The quote, held with its whole offer."""
        quote = held_offer(self.context.shop, quote_id)
        if quote is None:
            raise Http404
        return quote

    def step(self, quote_id: int, step_id: int) -> StepOffer:
        """The step, held; the quote is held before."""
        step = held_step(self.context.shop, quote_id, step_id)
        if step is None:
            raise Http404
        return step

    def answer(self, quote: Quote, step: StepOffer, *, code: int = status.HTTP_201_CREATED) -> Response:
        """The step as it stands."""
        answer = Response(step_answer(step, quote.currency, self.identity.role), status=code)
        answer["ETag"] = etag(step.version)
        return answer


class Steps(_StepView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_steps", "Steps of a quote, newest first", answers={200: WorkStepShape}, filters=NoFilters)
    def get(self, request: Request, quote_id: int) -> Response:
        known_parameters(request, PAGE_PARAMETERS)
        shop, role = self.context.shop, self.identity.role
        quote = get_object_or_404(Quote.objects.for_shop(shop).only("pk", "currency"), pk=quote_id)

        def shown(rows: Sequence[StepOffer]) -> list[Row]:
            return [step_answer(row, quote.currency, role) for row in rows]

        return Response(paginate(request, steps_of(shop, quote_id)).document(shown))

    @operation(
        "draft_step",
        "Price a look first or a teardown on its own",
        body=StepInput,
        answers={201: WorkStepShape},
        creates=True,
        tagged=True,
        refusals=PRICE_REFUSALS,
    )
    def post(self, request: Request, quote_id: int) -> HttpResponseBase:
        """Of a draft or an offer, provisional ones too. A teardown takes the quote's own lines up to the inspection of the open
        roof, and says what closes the coach up if the work ends there.
        """
        return once(request, self.context, lambda: self._draft(request, quote_id))

    def _draft(self, request: Request, quote_id: int) -> Response:
        quote = self.quote(quote_id)
        values = body_values(request, self.context.shop, StepInput)
        details = details_of(values, json_object(request))
        step = draft_step(shop=self.context.shop, quote=quote, details=details, by=self.context.actor, now=timezone.now())
        return self.answer(quote, step)


class OneStep(_StepView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE}

    @operation("get_step", "A step, with what its owner sees", answers={200: WorkStepShape}, versioned=True)
    def get(self, request: Request, quote_id: int, step_id: int) -> Response:
        step = get_object_or_404(steps_of(self.context.shop, quote_id).select_related("quote"), pk=step_id)
        return answer_version(request, step.version, self.answer(step.quote, step, code=status.HTTP_200_OK))

    @operation(
        "save_step",
        "Write the draft of a step again",
        body=StepInput,
        answers={200: WorkStepShape},
        changes=True,
        tagged=True,
        refusals=["step_state", *PRICE_REFUSALS],
    )
    def put(self, request: Request, quote_id: int, step_id: int) -> Response:
        """Whole, and priced again on what is in force today. A step that was issued never changes."""
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        require_match(request, step.version)
        values = body_values(request, self.context.shop, StepInput)
        details = details_of(values, json_object(request))
        shop, by = self.context.shop, self.context.actor
        save_draft(shop=shop, quote=quote, step=step, details=details, by=by, now=timezone.now())
        return answer_version(request, step.version, self.answer(quote, step, code=status.HTTP_200_OK))


class StepIssue(_StepView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "issue_step",
        "Put a step to the owner",
        answers={201: WorkStepShape},
        creates=True,
        refusals=["step_state", "quote_state", "step_expired"],
    )
    def post(self, request: Request, quote_id: int, step_id: int) -> HttpResponseBase:
        """What the owner sees is frozen. A step of the same kind that is on offer is superseded."""
        return once(request, self.context, lambda: self._issue(quote_id, step_id))

    def _issue(self, quote_id: int, step_id: int) -> Response:
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        issue_step(shop=self.context.shop, quote=quote, step=step, by=self.context.actor, now=timezone.now())
        return self.answer(quote, step)


class StepWithdrawal(_StepView):
    roles: ClassVar = {"POST": OFFICE}

    @operation("withdraw_step", "Take a step back", answers={201: WorkStepShape}, creates=True, refusals=["step_state"])
    def post(self, request: Request, quote_id: int, step_id: int) -> HttpResponseBase:
        return once(request, self.context, lambda: self._withdraw(quote_id, step_id))

    def _withdraw(self, quote_id: int, step_id: int) -> Response:
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        withdraw_step(shop=self.context.shop, step=step, by=self.context.actor, now=timezone.now())
        return self.answer(quote, step)


class StepAcceptance(_StepView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "accept_step",
        "Write down that the owner consents to a step",
        body=StepAcceptanceInput,
        answers={201: WorkStepShape},
        creates=True,
        refusals=["step_state", "quote_state", "step_expired", "other_document", "other_amount", "bad_consent_time"],
    )
    def post(self, request: Request, quote_id: int, step_id: int) -> HttpResponseBase:
        """It authorises the limit of the step and begins the job, or goes on with the one that an earlier step began."""
        return once(request, self.context, lambda: self._accept(request, quote_id, step_id))

    def _accept(self, request: Request, quote_id: int, step_id: int) -> Response:
        shop = self.context.shop
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        values = body_values(request, shop, StepAcceptanceInput)
        yes = StepYes(given_to_the_shop(values, OWNER), values["document_hash"], values["limit_with_tax"])
        accept_step(shop=shop, quote=quote, step=step, yes=yes, by=self.context.actor, now=timezone.now())
        return self.answer(quote, step)


class StepRefusal(_StepView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "decline_step",
        "Write down that the owner does not want a step",
        body=StepRefusalInput,
        answers={201: WorkStepShape},
        creates=True,
        refusals=["step_state", "step_expired", "bad_consent_time"],
    )
    def post(self, request: Request, quote_id: int, step_id: int) -> HttpResponseBase:
        return once(request, self.context, lambda: self._decline(request, quote_id, step_id))

    def _decline(self, request: Request, quote_id: int, step_id: int) -> Response:
        shop, by = self.context.shop, self.context.actor
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        values = body_values(request, shop, StepRefusalInput)
        given, reason = given_to_the_shop(values, OWNER), values["reason"]
        decline_step(shop=shop, quote=quote, step=step, given=given, reason=reason, by=by, now=timezone.now())
        return self.answer(quote, step)


class StepCloseUp(_StepView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "close_up_step",
        "End the job of a step: the coach is closed up",
        body=StepCloseUpInput,
        answers={201: WorkStepShape},
        creates=True,
        refusals=["step_not_open", "job_state", "bad_storage_days"],
    )
    def post(self, request: Request, quote_id: int, step_id: int) -> HttpResponseBase:
        """Its closing up and the days that the coach stood, as consented to with the step, are billed, and nothing more; the
        job is stopped.
        """
        return once(request, self.context, lambda: self._close_up(request, quote_id, step_id))

    def _close_up(self, request: Request, quote_id: int, step_id: int) -> Response:
        shop, by = self.context.shop, self.context.actor
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        values = body_values(request, shop, StepCloseUpInput)
        if step.job_id is None:
            raise NotAStepError("no job was begun by this step", value=step.state)
        job, days = held_job(self, step.job_id), values["storage_days"]
        close_up_step(shop=shop, job=job, step=step, days=days, reason=values["reason"], by=by, now=timezone.now())
        return self.answer(quote, step)


class StepLinks(_StepView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_step_links", "The links to a step, the newest first", answers={200: LinkShape}, filters=NoFilters)
    def get(self, request: Request, quote_id: int, step_id: int) -> Response:
        known_parameters(request, PAGE_PARAMETERS)
        get_object_or_404(steps_of(self.context.shop, quote_id).only("pk"), pk=step_id)
        return Response(paginate(request, links_of(self.context.shop, "step", step_id)).document(links_shown))

    @operation(
        "make_step_link",
        "Make a link by which an owner reads and answers a step",
        body=LinkInput,
        answers={201: LinkShape},
        creates=True,
        refusals=["step_state", "no_such_payer"],
    )
    def post(self, request: Request, quote_id: int, step_id: int) -> HttpResponseBase:
        """Its `token` is told now and never again. It is the owner who is asked, whoever pays for the whole."""
        return once(
            request, self.context, lambda: self._make(request, quote_id, step_id), again=lambda id_: link_again(self, id_)
        )

    def _make(self, request: Request, quote_id: int, step_id: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        quote, step = self.quote(quote_id), self.step(quote_id, step_id)
        values = body_values(request, shop, LinkInput)
        must_be_step(step, "issued", doing="linked to")
        if values["payer"] != OWNER:
            raise NoSuchPayerError(f"the consent of the {OWNER} is asked for", field="payer", value=values["payer"])
        linked = Linked("step", step.pk, quote.revision, step.document_hash, OWNER)
        return new_link(self, linked, values, until=end_of_day(shop.time_zone, step.valid_until), now=now)
