"""Change orders of a job: drafted with their ways, sent, accepted, declined, taken back, or carried under an adopted policy."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any, ClassVar

import django_filters
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
from api.rest.change_order_answers import answered_order, brief_order, order_answer
from api.rest.change_order_requests import (
    ChangeOrderInput,
    NewChangeOrderInput,
    OrderAcceptanceInput,
    OrderRefusalInput,
    OrderWithdrawalInput,
    WayChosenInput,
    details_of,
    pointing_into_the_order,
)
from api.rest.change_order_shapes import BriefOrderShape, OrderAnsweredShape, OrderShape, OrderWhyShape
from api.rest.concurrency import answer_version, require_match
from api.rest.consent_inputs import given_to_the_shop
from api.rest.consent_shapes import LinkShape
from api.rest.idempotency import once
from api.rest.jobs import held
from api.rest.links import LinkFilters, LinkInput, link_again, links_shown, new_link
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import FlagFilter, IdFilter, filtered
from costbase.calc.money import currency as currency_of
from quotes.actions.accepting import NoSuchPayerError
from quotes.actions.change_order_answers import (
    WayAccepted,
    accept_change_order,
    carry_change_order,
    decline_change_order,
    withdraw_change_order,
)
from quotes.actions.change_orders import (
    draft_change_order,
    must_be,
    remove_change_order,
    save_change_order,
    send_change_order,
)
from quotes.calc.change_order import KINDS
from quotes.models import ChangeOrder, Job
from quotes.models.change_order import CAUSES, STATES
from quotes.reports.change_orders import brief_orders, orders_of, why_line

Row = dict[str, Any]

OFFICE = frozenset({ESTIMATOR, MANAGER})
READERS = frozenset({ESTIMATOR, MANAGER, ANALYST})
# What pricing a way can refuse beside what pricing a quote can.
ORDER_REFUSALS = (
    "job_state", "change_order_state", "no_such_payer", "bad_ways", "cannot_close_up", "bad_work", "several_faults",
    "bad_measure", "unknown_measure", "missing_measure", "bad_amount", "assembly_failed", "no_rate", "no_material", "no_price",
    "no_markup", "not_in_force", "edition_unreadable",
)  # fmt: skip
# Unless the shop says otherwise.
LINK_LASTS = timedelta(days=30)
ANSWER_REFUSALS = ("job_state", "change_order_state", "no_such_payer", "bad_consent_time")


class OrderFilters(django_filters.FilterSet):  # type: ignore[misc]
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in STATES], label="State.")
    cause = django_filters.ChoiceFilter(choices=[(cause, cause) for cause in CAUSES], label="Cause.")
    job = IdFilter(field_name="job_id", label="Id of the job.")
    stops_work = FlagFilter(field_name="stops_work", label="Only those that stop work, or only others.")


class OrdersOfJobFilters(django_filters.FilterSet):  # type: ignore[misc]
    state = django_filters.ChoiceFilter(choices=[(state, state) for state in STATES], label="State.")


class ShopOrders(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "list_change_orders", "Change orders of all jobs, newest first", answers={200: BriefOrderShape}, filters=OrderFilters
    )
    def get(self, request: Request) -> Response:
        """How long one waits is counted from `sent_at`."""
        rows = filtered(request, brief_orders(self.context.shop), OrderFilters)
        return Response(paginate(request, rows).document(self._briefly))

    def _briefly(self, orders: Sequence[ChangeOrder]) -> list[Row]:
        return [brief_order(order, order.chosen_kind, currency_of(order.currency).digits) for order in orders]  # type: ignore[attr-defined]


class JobOrders(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_orders_of_job", "Change orders of a job, newest first", answers={200: BriefOrderShape}, filters=OrdersOfJobFilters
    )
    def get(self, request: Request, job_id: int) -> Response:
        job = get_object_or_404(Job.objects.for_shop(self.context.shop).only("pk", "currency"), pk=job_id)
        rows = filtered(request, brief_orders(self.context.shop).filter(job_id=job.pk), OrdersOfJobFilters)
        digits = currency_of(job.currency).digits
        shown = paginate(request, rows).document(
            lambda orders: [brief_order(order, order.chosen_kind, digits) for order in orders]  # type: ignore[attr-defined]
        )
        return Response(shown)

    @operation(
        "draft_change_order",
        "Draft a change of a job, with the ways to go on",
        body=NewChangeOrderInput,
        answers={201: OrderShape},
        creates=True,
        refusals=ORDER_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """Priced as the job stands: on its own frozen cost base, with packs counted over everything it has bought. Two to four
        ways; a wish of the owner has one or two, and takes nothing of the pot.
        """
        return once(request, self.context, lambda: self._draft(request, job_id), lambda id_: self._created(job_id, id_))

    def _draft(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, NewChangeOrderInput)
        with pointing_into_the_order(values):
            order = draft_change_order(
                shop=self.context.shop,
                job=job,
                details=details_of(values, json_object(request)),
                client_id=values["client_id"],
                by=self.context.actor,
                now=timezone.now(),
            )
        return self._created(job_id, order.pk)

    def _created(self, job_id: int, order_id: int) -> Response:
        job, order = read(self, job_id, order_id)
        headers = {"Location": f"{self.request.path}/{order.pk}"}
        answer = order_answer(self.context.shop, job, order, self.identity.role)
        response = Response(answer, status=status.HTTP_201_CREATED, headers=headers)
        return answer_version(self.request, order.version, response)


class OneOrder(ShopView):
    roles: ClassVar = {"GET": READERS, "PUT": OFFICE, "DELETE": OFFICE}

    @operation("get_change_order", "A change order with its ways and lines", answers={200: OrderShape}, versioned=True)
    def get(self, request: Request, job_id: int, order_id: int) -> Response:
        """`document` is what was sent, `document_hash` what an answer has to name."""
        return shown(self, request, *read(self, job_id, order_id))

    @operation(
        "save_change_order",
        "Write a draft again",
        body=ChangeOrderInput,
        answers={200: OrderShape},
        changes=True,
        refusals=ORDER_REFUSALS,
    )
    def put(self, request: Request, job_id: int, order_id: int) -> Response:
        job, order = held_order(self, request, job_id, order_id)
        values = body_values(request, self.context.shop, ChangeOrderInput)
        with pointing_into_the_order(values):
            save_change_order(
                shop=self.context.shop,
                job=job,
                order=order,
                details=details_of(values, json_object(request)),
                by=self.context.actor,
                now=timezone.now(),
            )
        return shown(self, request, job, order)

    @operation("delete_change_order", "Take a draft away", answers={204: None}, changes=True, refusals=["change_order_state"])
    def delete(self, request: Request, job_id: int, order_id: int) -> Response:
        _, order = held_order(self, request, job_id, order_id)
        remove_change_order(shop=self.context.shop, order=order, by=self.context.actor)
        return Response(status=status.HTTP_204_NO_CONTENT)


class OrderSending(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "send_change_order",
        "Send a change order, or send it again with the limit that holds now",
        answers={200: OrderShape},
        changes=True,
        refusals=ORDER_REFUSALS,
    )
    def post(self, request: Request, job_id: int, order_id: int) -> Response:
        """Priced as the job stands, frozen with its hash. While one that stops work waits, the job does."""
        job, order = held_order(self, request, job_id, order_id)
        send_change_order(shop=self.context.shop, job=job, order=order, by=self.context.actor, now=timezone.now())
        return shown(self, request, job, order)


class OrderAcceptance(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "accept_change_order",
        "Write down that one way of a change order was accepted",
        body=OrderAcceptanceInput,
        answers={201: OrderAnsweredShape},
        creates=True,
        changes=True,
        refusals=[*ANSWER_REFUSALS, "other_document", "other_amount"],
    )
    def post(self, request: Request, job_id: int, order_id: int) -> HttpResponseBase:
        """It authorises the new limit with tax and the promised day of the way. Where another order was accepted since this one
        was sent, its limit holds no longer: 409 `other_document` until it is sent again.
        """
        return once(request, self.context, lambda: self._accept(request, job_id, order_id))

    def _accept(self, request: Request, job_id: int, order_id: int) -> Response:
        job, order = held_order(self, request, job_id, order_id)
        values = body_values(request, self.context.shop, OrderAcceptanceInput)
        given = given_to_the_shop(values, values["payer"])
        accepted = WayAccepted(given, values["way"], values["document_hash"], values["limit_with_tax"])
        consent = accept_change_order(
            shop=self.context.shop, job=job, order=order, accepted=accepted, by=self.context.actor, now=timezone.now()
        )
        return Response(answered_order(job, order, consent), status=status.HTTP_201_CREATED)


class OrderRefusal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "decline_change_order",
        "Write down that a change order was declined, and why",
        body=OrderRefusalInput,
        answers={201: OrderAnsweredShape},
        creates=True,
        changes=True,
        refusals=ANSWER_REFUSALS,
    )
    def post(self, request: Request, job_id: int, order_id: int) -> HttpResponseBase:
        """What was agreed stays; the job goes on when nothing waits any more."""
        return once(request, self.context, lambda: self._decline(request, job_id, order_id))

    def _decline(self, request: Request, job_id: int, order_id: int) -> Response:
        job, order = held_order(self, request, job_id, order_id)
        values = body_values(request, self.context.shop, OrderRefusalInput)
        consent = decline_change_order(
            shop=self.context.shop,
            job=job,
            order=order,
            given=given_to_the_shop(values, values["payer"]),
            reason=values["reason"],
            by=self.context.actor,
            now=timezone.now(),
        )
        return Response(answered_order(job, order, consent), status=status.HTTP_201_CREATED)


class OrderWithdrawal(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "withdraw_change_order",
        "Take a change order back that waits for an answer",
        body=OrderWithdrawalInput,
        answers={200: OrderShape},
        changes=True,
        refusals=["change_order_state"],
    )
    def post(self, request: Request, job_id: int, order_id: int) -> Response:
        job, order = held_order(self, request, job_id, order_id)
        values = body_values(request, self.context.shop, OrderWithdrawalInput)
        withdraw_change_order(
            shop=self.context.shop, job=job, order=order, reason=values["reason"], by=self.context.actor, now=timezone.now()
        )
        return shown(self, request, job, order)


class OrderCarrying(ShopView):
    roles: ClassVar = {"POST": frozenset({MANAGER})}

    @operation(
        "carry_change_order",
        "Do one way of a change order without a consent, as the adopted policy allows",
        body=WayChosenInput,
        answers={200: OrderShape},
        changes=True,
        refusals=[*ORDER_REFUSALS, "not_carried"],
    )
    def post(self, request: Request, job_id: int, order_id: int) -> Response:
        """Only as far as all carried orders together stay within `overrun_with_tax` of the job, which is 0 unless the shop has
        adopted a policy. What is authorised stays; the policy's words are kept with the order. Not legal advice.
        """
        job, order = held_order(self, request, job_id, order_id)
        values = body_values(request, self.context.shop, WayChosenInput)
        carry_change_order(
            shop=self.context.shop, job=job, order=order, way_kind=values["way"], by=self.context.actor, now=timezone.now()
        )
        return shown(self, request, job, order)


class OrderLinks(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation(
        "list_change_order_links", "The links to a change order, newest first", answers={200: LinkShape}, filters=LinkFilters
    )
    def get(self, request: Request, job_id: int, order_id: int) -> Response:
        read(self, job_id, order_id)
        rows = filtered(request, links_of(self.context.shop, "change_order", order_id), LinkFilters)
        return Response(paginate(request, rows).document(links_shown))

    @operation(
        "make_change_order_link",
        "Make a link by which the payer of a change order reads and answers it",
        body=LinkInput,
        answers={201: LinkShape},
        creates=True,
        refusals=["change_order_state", "no_such_payer"],
    )
    def post(self, request: Request, job_id: int, order_id: int) -> HttpResponseBase:
        """Its `token` is told now and never again. It opens the order as it was sent; sent again, it needs a new link."""
        return once(
            request, self.context, lambda: self._make(request, job_id, order_id), again=lambda id_: link_again(self, id_)
        )

    def _make(self, request: Request, job_id: int, order_id: int) -> Response:
        shop, now = self.context.shop, timezone.now()
        job, order = read(self, job_id, order_id)
        values = body_values(request, shop, LinkInput)
        must_be(order, "waiting", doing="linked to")
        if values["payer"] != order.payer:
            words = f"change order {order.number} of {job.number} is for {order.payer}"
            raise NoSuchPayerError(words, field="payer", value=values["payer"])
        linked = Linked("change_order", order.pk, order.version, order.document_hash, order.payer)
        return new_link(self, linked, values, until=now + LINK_LASTS, now=now)


class OrderLineWhy(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "why_order_line",
        "Why a line of a way is what it is: of goods, what was bought before and what is needed now",
        answers={200: OrderWhyShape},
        places={"way": KINDS},
    )
    def get(self, request: Request, job_id: int, order_id: int, way: str, position: int) -> Response:
        job, order = read(self, job_id, order_id)
        told = why_line(self.context.shop, order.pk, way, position, currency_of(job.currency))
        if told is None:
            raise Http404
        return Response(told)


def read(view: ShopView, job_id: int, order_id: int) -> tuple[Job, ChangeOrder]:
    """A job and one of its change orders; 404 where there is none."""
    shop = view.context.shop
    job = get_object_or_404(Job.objects.for_shop(shop).defer("totals"), pk=job_id)
    return job, get_object_or_404(orders_of(shop, job_id), pk=order_id)


def held_order(view: ShopView, request: Request, job_id: int, order_id: int) -> tuple[Job, ChangeOrder]:
    """The job and one of its orders, both held, at the version of the order that the client has read."""
    job = held(view, job_id)
    order = get_object_or_404(orders_of(view.context.shop, job_id).select_for_update(of=("self",)), pk=order_id)
    require_match(request, order.version)
    return job, order


def shown(view: ShopView, request: Request, job: Job, order: ChangeOrder) -> Response:
    """The order as it stands, with its ETag."""
    return answer_version(request, order.version, Response(order_answer(view.context.shop, job, order, view.identity.role)))
