"""Hours: of a job beside its plan, and of all workers for the payroll."""

from datetime import date
from decimal import Decimal
from typing import Any, ClassVar

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.base import ShopView
from api.rest.entries import job_at
from api.rest.errors import bad_parameter
from api.rest.estimate_requests import QuantityField
from api.rest.jobs import READERS
from api.rest.openapi import operation, query
from api.rest.queries import day_parameter, known_parameters, text_parameter
from api.rest.quote_answers import COST_READERS
from quotes.calc.ledger import HoursLine
from quotes.reports.hours import WorkerPay, job_hours, payroll

Row = dict[str, Any]

# Two months of one shop; whoever wants a year asks six times.
MOST_DAYS = 62
_FROM = query("from", "First day.", OpenApiTypes.DATE, required=True)
_TO = query("to", f"Last day; at most {MOST_DAYS} days in all.", OpenApiTypes.DATE, required=True)
_WORKER = query("worker", "Only this worker, by id.", OpenApiTypes.INT)
_PAID = query("paid", "Hours that were paid to this worker for these days, such as 80.5; says what is missing.")


class PlanShape(serializers.Serializer[Any]):
    planned = serializers.CharField()
    worked = serializers.CharField()
    left = serializers.CharField(help_text="Below 0 where the plan was passed.")


class LineHoursShape(PlanShape):
    line = serializers.IntegerField()
    assembly = serializers.CharField()
    name = serializers.CharField()
    trade = serializers.CharField()
    phase = serializers.CharField()


class OrderHoursShape(PlanShape):
    change_order = serializers.IntegerField(help_text="Its number in the job.")
    title = serializers.CharField()


class TradeHoursShape(PlanShape):
    trade = serializers.CharField()


class PhaseHoursShape(PlanShape):
    phase = serializers.CharField()


class WorkerHoursShape(serializers.Serializer[Any]):
    worker = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]
    worked = serializers.CharField()


class ComponentHoursShape(serializers.Serializer[Any]):
    component = serializers.CharField()
    worked = serializers.CharField()


class JobHoursShape(serializers.Serializer[Any]):
    total = PlanShape()
    lines = LineHoursShape(many=True)
    change_orders = OrderHoursShape(many=True, help_text="Accepted ones with labour.")
    trades = TradeHoursShape(many=True)
    phases = PhaseHoursShape(many=True)
    workers = WorkerHoursShape(many=True)
    components = ComponentHoursShape(many=True, help_text="Hidden components; their plan is the draws of the pot.")
    returns = serializers.CharField(help_text="Hours on returns under warranty.")
    not_quoted = serializers.CharField(help_text="Hours that belong to nothing that was quoted, and to no return.")


class PayDayShape(serializers.Serializer[Any]):
    day = serializers.DateField()
    on_jobs = serializers.CharField()
    other = serializers.CharField()
    payroll = serializers.CharField()


class WorkerPayShape(serializers.Serializer[Any]):
    worker = serializers.IntegerField()
    label = serializers.CharField()  # type: ignore[assignment]
    on_jobs = serializers.CharField()
    other = serializers.CharField(help_text="Named hours that belong to no job.")
    payroll = serializers.CharField(help_text="Both together.")
    overtime = serializers.CharField(help_text="Of these.")
    by_reason = serializers.DictField(child=serializers.CharField())
    days = PayDayShape(many=True)
    paid = serializers.CharField(required=False)
    missing = serializers.CharField(required=False, help_text="Paid less payroll: nobody logged these; below 0, unpaid ones.")


class PayrollShape(serializers.Serializer[Any]):
    on_jobs = serializers.CharField()
    other = serializers.CharField()
    payroll = serializers.CharField()
    workers = WorkerPayShape(many=True)


class JobHoursView(ShopView):
    roles: ClassVar = {"GET": READERS}

    @operation("get_job_hours", "Hours of a job, planned, worked and left", answers={200: JobHoursShape})
    def get(self, request: Request, job_id: int) -> Response:
        """By line, change order, trade and phase beside the plan; by worker and hidden component."""
        found = job_hours(self.context.shop, job_at(self, job_id).pk)
        return Response(
            {
                "total": _plan(found.total),
                "lines": [
                    {
                        "line": row["position"],
                        "assembly": row["slug"],
                        **{name: row[name] for name in ("name", "trade", "phase")},
                        **_plan(hours),
                    }
                    for row, hours in found.lines
                ],
                "change_orders": [
                    {"change_order": row["number"], "title": row["title"], **_plan(hours)} for row, hours in found.orders
                ],
                "trades": [{"trade": str(hours.key), **_plan(hours)} for hours in found.trades],
                "phases": [{"phase": str(hours.key), **_plan(hours)} for hours in found.phases],
                "workers": [{"worker": id_, "label": label, "worked": str(hours)} for id_, label, hours in found.workers],
                "components": [{"component": slug, "worked": str(hours)} for slug, hours in found.components],
                "returns": str(found.returns),
                "not_quoted": str(found.not_quoted),
            }
        )


class Payroll(ShopView):
    roles: ClassVar = {"GET": COST_READERS}

    @extend_schema(parameters=[_FROM, _TO, _WORKER, _PAID])
    @operation(
        "get_payroll",
        "Hours of each worker and day: on jobs, other ones, and both together",
        answers={200: PayrollShape},
        refusals=["bad_parameter", "unknown_parameter"],
    )
    def get(self, request: Request) -> Response:
        """Payroll hours are job hours and other hours, on every day, for every worker and in all. Beside the hours that were
        paid to one worker, it says how many nobody logged.
        """
        known_parameters(request, ("from", "to", "worker", "paid"))
        first, last = _days(request)
        worker, paid = _worker(request), _paid(request)
        if paid is not None and worker is None:
            raise bad_parameter("paid", "Expected the worker whom these hours were paid to.")
        pays = payroll(self.context.shop, first, last, worker)
        return Response(
            {
                **_sums(sum((pay.on_jobs for pay in pays), Decimal(0)), sum((pay.other for pay in pays), Decimal(0))),
                "workers": [_pay(pay, paid) for pay in pays],
            }
        )


def _days(request: Request) -> tuple[date, date]:
    first, last = day_parameter(request, "from"), day_parameter(request, "to")
    for name, day in (("from", first), ("to", last)):
        if day is None:
            raise bad_parameter(name, "Expected a day of the calendar such as 2026-03-01.")
    assert first is not None
    assert last is not None
    if not 0 <= (last - first).days < MOST_DAYS:
        raise bad_parameter("to", f"Expected a day from {first} on, {MOST_DAYS} days in all at most.")
    return first, last


def _worker(request: Request) -> int | None:
    text = text_parameter(request, "worker", 18)
    if text and not (text.isascii() and text.isdigit()):
        raise bad_parameter("worker", "Expected the id of a worker.")
    return int(text) if text else None


def _paid(request: Request) -> Decimal | None:
    text = text_parameter(request, "paid", 12)
    try:
        return QuantityField().to_internal_value(text) if text else None
    except serializers.ValidationError as error:
        raise bad_parameter("paid", "Expected hours as a plain decimal number, such as 80.5.") from error


def _pay(pay: WorkerPay, paid: Decimal | None) -> Row:
    shown: Row = {
        "worker": pay.worker,
        "label": pay.label,
        **_sums(pay.on_jobs, pay.other),
        "overtime": str(pay.overtime),
        "by_reason": {reason: str(hours) for reason, hours in sorted(pay.by_reason.items())},
        "days": [{"day": day.isoformat(), **_sums(*hours)} for day, hours in sorted(pay.days.items())],
    }
    return shown if paid is None else {**shown, "paid": str(paid), "missing": str(paid - pay.payroll)}


def _sums(on_jobs: Decimal, other: Decimal) -> Row:
    return {"on_jobs": str(on_jobs), "other": str(other), "payroll": str(on_jobs + other)}


def _plan(hours: HoursLine) -> Row:
    return {"planned": str(hours.planned), "worked": str(hours.worked), "left": str(hours.left)}
