"""Bills: what would be billed now and why, stage bills and the final one, credit notes."""

from collections.abc import Sequence
from typing import Any, ClassVar

import django_filters
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import status
from rest_framework.request import Request
from rest_framework.response import Response

from api.accounts.roles import MANAGER
from api.rest.base import ShopView
from api.rest.bill_answers import bill_answer, bill_shown, issued_answer, now_answer, preview_answer
from api.rest.bill_shapes import BillNowShape, BillPreviewShape, BillShape, BriefBillShape, IssuedShape
from api.rest.bodies import body_values
from api.rest.errors import Problem
from api.rest.fields import AmountField, OneOfField, ShareField, StrictSerializer, TextField
from api.rest.idempotency import once
from api.rest.jobs import OFFICE, READERS, held
from api.rest.openapi import operation
from api.rest.pagination import paginate
from api.rest.queries import IdFilter, filtered
from quotes.actions.bills import bill_job, credit_bill, preview_bill
from quotes.calc.bill import DRAW, billed, net
from quotes.models import Bill, Job
from quotes.models.bill import KINDS
from quotes.reports.bills import account_of, bill_lines, bills_of

MOST_LINES = 500
BILL_REFUSALS = (
    "job_state", "bad_stage", "nothing_to_bill", "final_billed", "change_order_waits", "settlement_missing",
    "bill_passes_authorised", "bad_bill_item",
)  # fmt: skip
MOST_PHASES = 40


class PhaseDone(StrictSerializer):
    phase = TextField(max_length=20)
    share = ShareField(help_text="How much of the phase is done, 0 to 1.")


class BillInput(StrictSerializer):
    kind = OneOfField(("stage", "final"))
    done = PhaseDone(
        many=True,
        max_length=MOST_PHASES,
        required=False,
        default=list,
        help_text="Of a stage bill: the phases that are done, or a share of one. Draws and change orders are billed so far.",
    )
    reason = TextField(max_length=400, required=False, allow_blank=True, default="", help_text="Stands on the paper.")


class CreditLine(StrictSerializer):
    key = TextField(max_length=160, help_text="Of a line of the bill.")
    amount = AmountField(
        required=False, allow_null=True, default=None, help_text="Without tax; everything that is left of the line if not said."
    )


class CreditInput(StrictSerializer):
    lines = CreditLine(many=True, max_length=MOST_LINES, required=False, default=list)
    goodwill = AmountField(required=False, allow_null=True, default=None, help_text="Without tax. Never touches a deductible.")
    reason = TextField(max_length=400, help_text="Stands on the paper.")


class JobBillNow(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation(
        "get_job_bill",
        "What would be billed of a job now, and why",
        answers={200: BillNowShape},
        refusals=["bill_passes_authorised", "bad_bill_item", "settlement_missing"],
    )
    def get(self, request: Request, job_id: int) -> Response:
        """All of it, as a final bill would say: what is set aside and was not needed is shown, and never billed."""
        job = get_object_or_404(Job.objects.for_shop(self.context.shop), pk=job_id)
        account = account_of(self.context.shop, job)
        worked = billed([*account.items, *account.credits], account.terms, account.payers)
        drawn = net(item for item in account.items if item.source == DRAW)
        return Response(now_answer(job, account, worked, drawn))


class JobBills(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "bill_job",
        "Bill a job: a stage of it, or all of it",
        body=BillInput,
        answers={201: IssuedShape},
        creates=True,
        refusals=BILL_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> HttpResponseBase:
        """A document for each payer whose part has changed. Each says what is due so far, and less what was billed before."""
        return once(request, self.context, lambda: self._issue(request, job_id))

    def _issue(self, request: Request, job_id: int) -> Response:
        job = held(self, job_id)
        values = body_values(request, self.context.shop, BillInput)
        done = _no_twins(values["done"], "phase", "share")
        ids = bill_job(
            shop=self.context.shop,
            job=job,
            kind=values["kind"],
            done=done,
            by=self.context.actor,
            now=timezone.now(),
            reason=values["reason"],
        )
        return issued(self, ids)


class BillPreview(ShopView):
    roles: ClassVar = {"POST": OFFICE}

    @operation(
        "preview_bill",
        "What a stage bill or the final one would say",
        body=BillInput,
        answers={200: BillPreviewShape},
        refusals=BILL_REFUSALS,
    )
    def post(self, request: Request, job_id: int) -> Response:
        """Refused as the bill would be. Nothing is kept, and no number is taken."""
        job = held(self, job_id)
        values = body_values(request, self.context.shop, BillInput)
        done = _no_twins(values["done"], "phase", "share")
        preview = preview_bill(shop=self.context.shop, job=job, kind=values["kind"], done=done)
        drawn = net(item for item in preview.account.items if item.source == DRAW)
        return Response(preview_answer(job, values["kind"], preview, drawn))


class BillFilters(django_filters.FilterSet):  # type: ignore[misc]
    job = IdFilter(field_name="job_id", label="Id of the job.")
    kind = django_filters.ChoiceFilter(choices=[(kind, kind) for kind in KINDS], label="Kind of the bill.")
    payer = django_filters.CharFilter(max_length=63, label="Label of the payer.")
    number = django_filters.CharFilter(max_length=24, label="The whole number.")


class Bills(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("list_bills", "Bills, newest first, without lines", answers={200: BriefBillShape}, filters=BillFilters)
    def get(self, request: Request) -> Response:
        rows = filtered(request, bills_of(self.context.shop), BillFilters)
        return Response(paginate(request, rows).document(_briefly))


class OneBill(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_bill", "A bill with its lines", answers={200: BillShape})
    def get(self, request: Request, bill_id: int) -> Response:
        bill = get_object_or_404(bills_of(self.context.shop), pk=bill_id)
        return Response(bill_answer(bill, bill_lines(self.context.shop, [bill.pk]).get(bill.pk, ())))


class BillCredit(ShopView):
    roles: ClassVar = {"POST": frozenset({MANAGER})}

    @operation(
        "credit_bill",
        "Take something of a bill back, by a credit note",
        body=CreditInput,
        answers={201: IssuedShape},
        creates=True,
        refusals=[
            "job_state",
            "bad_credit",
            "bad_bill_item",
            "nothing_to_bill",
            "bill_passes_authorised",
            "settlement_missing",
        ],
    )
    def post(self, request: Request, bill_id: int) -> HttpResponseBase:
        """Of no line more than this payer was billed for it. Where tax or rounding shift for others, they get a note too."""
        return once(request, self.context, lambda: self._issue(request, bill_id))

    def _issue(self, request: Request, bill_id: int) -> Response:
        shop = self.context.shop
        job_id = get_object_or_404(Bill.objects.for_shop(shop).only("job_id"), pk=bill_id).job_id
        job = held(self, job_id)
        values = body_values(request, shop, CreditInput)
        lines = _no_twins(values["lines"], "key", "amount")
        ids = credit_bill(
            shop=shop,
            job=job,
            bill=Bill.objects.for_shop(shop).get(pk=bill_id),
            lines=lines,
            goodwill=values["goodwill"],
            reason=values["reason"],
            by=self.context.actor,
            now=timezone.now(),
        )
        return issued(self, ids)


def issued(view: ShopView, ids: Sequence[int]) -> Response:
    """The documents of one issuing."""
    shop = view.context.shop
    bills = list(bills_of(shop).filter(pk__in=ids).order_by("pk"))
    return Response(issued_answer(bills, bill_lines(shop, ids)), status=status.HTTP_201_CREATED)


def _no_twins(rows: Sequence[dict[str, Any]], name: str, value: str) -> dict[str, Any]:
    """The rows as a mapping; what is said twice could be meant either way."""
    said: dict[str, Any] = {}
    for at, row in enumerate(rows):
        if row[name] in said:
            raise Problem("invalid_input", f"'{row[name]}' stands twice; expected each once (row {at + 1}).")
        said[row[name]] = row[value]
    return said


def _briefly(bills: Sequence[Bill]) -> list[Any]:
    return [bill_shown(bill) for bill in bills]
