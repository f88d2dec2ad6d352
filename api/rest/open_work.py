"""Reports of what stands open: jobs, change orders without an answer, and rot that was found and never billed."""

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any, ClassVar

from django.http.response import HttpResponseBase
from django.utils import timezone
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.openapi import operation
from api.rest.pagination import paginate_fetched
from api.rest.queries import DayFilter, checked_filters, filtered
from api.rest.quote_answers import fixed
from api.rest.report_files import JSON, wanted
from api.rest.report_shapes import OpenJobShape, UnbilledShape, WaitingOrderShape
from api.rest.report_views import CHUNK, READERS, ReportFilters, ReportView
from costbase.calc.money import currency
from quotes.models import ChangeOrder, Job
from quotes.reports.review.open_jobs import open_figures, open_jobs
from quotes.reports.review.open_work import (
    LAST_PLACE,
    amounts_of_ways,
    days_between,
    unbilled_findings,
    waiting_orders,
)

Row = dict[str, Any]


class WaitingOrders(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "waiting-change-orders"
    columns = (
        "order", "job", "job_number", "number", "title", "cause", "payer", "sent_at", "days_waiting", "least", "most",
    )  # fmt: skip

    @operation(
        "report_waiting_change_orders",
        "Change orders without an answer, the oldest first",
        answers={200: WaitingOrderShape},
        filters=ReportFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        rows = filtered(request, waiting_orders(self.context.shop), ReportFilters)
        return self.rows_answer(request, rows, ("sent_at", "id"), self._show)

    def _show(self, orders: Sequence[ChangeOrder]) -> list[Row]:
        shop, now = self.context.shop, timezone.now()
        digits, sums = currency(shop.currency).digits, amounts_of_ways(shop, orders)
        shown = []
        for order in orders:
            least, most = sums.get(order.pk, (0, 0))
            shown.append(
                {
                    "order": order.pk,
                    "job": order.job_id,
                    "job_number": order.job_number,  # type: ignore[attr-defined]
                    **{name: getattr(order, name) for name in ("number", "title", "cause", "payer")},
                    "sent_at": order.sent_at.isoformat() if order.sent_at else None,
                    "days_waiting": days_between(order.sent_at, now),
                    "least": fixed(least, digits),
                    "most": fixed(most, digits),
                }
            )
        return shown


class OpenJobs(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "open-jobs"
    columns = (
        "job", "number", "state", "promised_on", "authorised", "authorised_with_tax", "earned", "billed_with_tax", "paid",
        "planned_cost", "cost_to_date", "forecast_p50", "forecast_p80", "margin_at_risk", "days_waiting",
    )  # fmt: skip

    @operation(
        "report_open_jobs",
        "Open jobs with what is authorised, earned, billed, paid and spent, the newest first",
        answers={200: OpenJobShape},
        filters=ReportFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        rows = filtered(request, open_jobs(self.context.shop), ReportFilters)
        return self.rows_answer(request, rows, ("-created", "-id"), self._show)

    def _show(self, jobs: Sequence[Job]) -> list[Row]:
        digits = currency(self.context.shop.currency).digits
        shown = []
        for job, figures in zip(jobs, open_figures(self.context.shop, jobs, timezone.now()), strict=True):
            days = figures.pop("days_waiting")
            shown.append(
                {
                    "job": job.pk,
                    "number": job.number,
                    "state": job.state,
                    "promised_on": job.promised_on.isoformat() if job.promised_on else None,
                    **{name: fixed(value, digits) for name, value in figures.items()},
                    "days_waiting": days,
                }
            )
        return shown


class UnbilledFilters(ReportFilters):
    closed_from = DayFilter(method="unchanged", label="Also of jobs closed on this day or later; without it of open jobs only.")


_ORDER = {"job": int, "component": str, "construction": str}


class UnbilledFindings(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "unbilled-findings"
    columns = (
        "job", "number", "state", "component", "construction", "name", "unit", "found", "drawn", "left", "unit_price", "amount",
        "waiting",
    )  # fmt: skip

    @operation(
        "report_unbilled_findings",
        "Rot that was measured and neither drawn, nor in an accepted order, nor declined",
        answers={200: UnbilledShape},
        filters=UnbilledFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        """By job, the newest first. What an order was accepted or declined for is dealt with there."""
        shop = self.context.shop
        said = checked_filters(request, Job.objects.for_shop(shop).none(), UnbilledFilters).form.cleaned_data
        closed_from = said["closed_from"] or date.max - timedelta(days=1)

        def fetch(after: Sequence[Any] | None, limit: int) -> list[Row]:
            before = LAST_PLACE if after is None else (after[0], after[1], after[2])
            return unbilled_findings(shop, before=before, closed_from=closed_from, limit=limit)

        if wanted(request) == JSON:
            return Response(paginate_fetched(request, fetch, _ORDER).document(self._show))
        return self.file_answer(request, lambda: self._all(fetch))

    def _all(self, fetch: Any) -> Any:
        after = None
        while rows := fetch(after, CHUNK):
            yield self._show(rows)
            after = [rows[-1][name] for name in _ORDER]

    def _show(self, rows: Sequence[Row]) -> list[Row]:
        digits = currency(self.context.shop.currency).digits
        return [
            {
                **row,
                **{name: str(row[name]) for name in ("found", "drawn", "left", "unit_price")},
                "amount": fixed(row["amount"], digits),
            }
            for row in rows
        ]
