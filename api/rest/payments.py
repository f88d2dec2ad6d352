"""What was paid of a job, by whom and how; and what is still open."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import serializers, status
from rest_framework.exceptions import PermissionDenied
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER
from api.rest.base import ShopView
from api.rest.bill_answers import balances_answer
from api.rest.bill_shapes import BalanceShape
from api.rest.bodies import body_values
from api.rest.fields import AmountField, DayField, OneOfField, SlugField, StrictSerializer, TextField, UuidField
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.parsing import json_object
from api.rest.queries import filtered
from api.rest.quote_answers import fixed
from costbase.calc.money import currency as currency_of
from quotes.actions.payments import REFUND, Paying, add_payment, take_payment_back
from quotes.actions.sent_twice import sent
from quotes.models import Job, Payment
from quotes.models.bill import PAYMENT_KINDS
from quotes.reports.bills import balances

Row = dict[str, Any]


class PaymentInput(StrictSerializer):
    client_id = UuidField(help_text="Made by the client, so that a payment sent twice is booked once.")
    kind = OneOfField(PAYMENT_KINDS, help_text="A deposit is paid on account. A refund is for managers.")
    payer = SlugField(required=False, default="owner", help_text="Label of a payer, or owner.")
    day = DayField()
    way = TextField(max_length=100, help_text="How it was paid, in plain words; no number of a card or an account.")
    amount = AmountField(help_text="Above 0, of a refund too.")
    note = TextField(max_length=400, required=False, allow_blank=True, default="")


class TakingBackInput(StrictSerializer):
    client_id = UuidField()
    note = TextField(max_length=400, help_text="Why the entry was wrong.")


class PaymentShape(serializers.Serializer[Any]):
    id = serializers.IntegerField()
    client_id = serializers.UUIDField()
    kind = serializers.ChoiceField(choices=PAYMENT_KINDS)
    payer = serializers.CharField()
    day = serializers.DateField()
    way = serializers.CharField()
    amount = serializers.CharField(help_text="Below 0 where money went back; the other sign in a correction.")
    note = serializers.CharField()
    corrects = serializers.IntegerField(allow_null=True)
    created = serializers.DateTimeField()


class BalancesShape(serializers.Serializer[Any]):
    job = serializers.IntegerField()
    currency = serializers.CharField()
    payers = BalanceShape(many=True)


class PaymentFilters(django_filters.FilterSet):  # type: ignore[misc]
    payer = django_filters.CharFilter(max_length=63, label="Label of the payer.")
    kind = django_filters.ChoiceFilter(choices=[(kind, kind) for kind in PAYMENT_KINDS], label="Kind.")


class JobPayments(ShopView):
    roles: ClassVar = {"GET": READERS, "POST": OFFICE}

    @operation("list_payments", "Payments of a job, newest first", answers={200: PaymentShape}, filters=PaymentFilters)
    def get(self, request: Request, job_id: int) -> Response:
        job = get_object_or_404(Job.objects.for_shop(self.context.shop).only("pk", "currency"), pk=job_id)
        rows = filtered(request, Payment.objects.for_shop(self.context.shop).filter(job=job), PaymentFilters)
        return Response(paginate(request, rows).document(lambda found: _shown_all(found, job.currency)))

    @operation(
        "create_payment",
        "Book a deposit, a payment or a refund",
        body=PaymentInput,
        answers={201: PaymentShape},
        creates=True,
        refusals=["bad_payment", "said_otherwise"],
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """One that comes again under its `client_id` is answered as the first time. An open balance is paid after settling."""
        return once(request, self.context, lambda: self._create(request, job_id))

    def _create(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, PaymentInput)
        if values["kind"] == REFUND and self.identity.role != MANAGER:
            raise PermissionDenied(detail="A refund is for managers.", code="role_not_allowed")
        paying = Paying(
            **{name: values[name] for name in ("kind", "payer", "day", "way", "amount", "note")},
            sent=sent(json_object(request), values["client_id"]),
        )
        payment = add_payment(shop=self.context.shop, job=job, paying=paying, by=self.context.actor, now=timezone.now())
        return Response(_shown(payment, job.currency), status=status.HTTP_201_CREATED)


class PaymentTakenBack(ShopView):
    roles: ClassVar = {"POST": frozenset({MANAGER})}

    @operation(
        "take_payment_back",
        "Take a wrong entry back",
        body=TakingBackInput,
        answers={201: PaymentShape},
        creates=True,
        refusals=["bad_payment", "said_otherwise"],
    )
    def post(self, request: Request, job_id: int, payment_id: int) -> HttpResponseBase:
        """By a new entry with the other sign; what is right is entered anew."""
        return once(request, self.context, lambda: self._create(request, job_id, payment_id))

    def _create(self, request: Request, job_id: int, payment_id: int) -> Response:
        shop = self.context.shop
        job = held(self, job_id)
        payment = get_object_or_404(Payment.objects.for_shop(shop).filter(job=job), pk=payment_id)
        values = body_values(request, shop, TakingBackInput)
        back = take_payment_back(
            shop=shop,
            job=job,
            payment=payment,
            note=values["note"],
            sent=sent({**json_object(request), "payment": payment_id}, values["client_id"]),
            by=self.context.actor,
            now=timezone.now(),
        )
        return Response(_shown(back, job.currency), status=status.HTTP_201_CREATED)


class JobBalance(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_balance", "What each payer of a job was billed, has paid, and still owes", answers={200: BalancesShape})
    def get(self, request: Request, job_id: int) -> Response:
        job = get_object_or_404(Job.objects.for_shop(self.context.shop).only("pk", "currency"), pk=job_id)
        return Response(balance_answer(self, job))


def balance_answer(view: ShopView, job: Job) -> Row:
    """How every payer of the job stands."""
    rows = balances(view.context.shop, job.pk)
    return {"job": job.pk, "currency": job.currency, "payers": balances_answer(rows, job.currency)}


def _shown_all(payments: Sequence[Payment], currency: str) -> list[Row]:
    return [_shown(payment, currency) for payment in payments]


def _shown(payment: Payment, currency: str) -> Row:
    return {
        **{name: getattr(payment, name) for name in ("id", "kind", "payer", "way", "note")},
        "client_id": str(payment.client_id),
        "day": payment.day.isoformat(),
        "amount": fixed(payment.amount, currency_of(currency).digits),
        "corrects": payment.corrects_id,
        "created": payment.created.isoformat(),
    }
