"""Reports over closed jobs: over budget, over the limit, quoted against final, causes, coverage, win rate."""

from collections.abc import Mapping, Sequence
from datetime import date, datetime, time, timedelta
from typing import Any, ClassVar
from zoneinfo import ZoneInfo

import django_filters
from django.db.models import QuerySet
from django.http.response import HttpResponseBase
from rest_framework.request import Request

from api.accounts.roles import ESTIMATOR
from api.rest.openapi import operation
from api.rest.queries import AmountFilter, DayFilter, IdFilter, checked_filters, filtered
from api.rest.quote_answers import COST_READERS, fixed
from api.rest.report_shapes import (
    CauseShape,
    CoverageShape,
    OverBudgetShape,
    OverLimitShape,
    QuotedFinalShape,
    WinRateShape,
)
from api.rest.report_views import READERS, ClosedFilters, ReportFilters, ReportView
from costbase.calc.money import currency
from quotes.actions.priced import shop_day
from quotes.calc.variance import CAUSES
from quotes.models import ClosedJob, Quote
from quotes.reports.review.closed_jobs import closed_jobs, main_cause, over_budget, over_limit
from quotes.reports.review.sums import WonBetween, causes, coverage, win_rate

Row = dict[str, Any]

NEWEST_CLOSED = ("-closed_on", "-id")
_CLOSED = ("job", "number", "closed_on", "estimator", "tier", "plan", "construction", "currency")
_FINAL = (
    "base", "allowance", "contingency", "limit", "limit_with_tax", "billed", "billed_with_tax", "authorised_with_tax",
)  # fmt: skip
_LEARNED = ("standard", "hidden_measured", "hidden_done")
_HOURS = ("planned_hours", "actual_hours")
_COSTS = ("planned_cost", "actual_cost", "planned_margin", "margin")
# A year of offers, unless told; days far outside any offer's would not fit a clock.
_USUAL_DAYS = 365
_FIRST, _LAST = date(1990, 1, 1), date(2199, 12, 31)


class OverBudgetFilters(ClosedFilters):
    cause = django_filters.ChoiceFilter(
        choices=[(slug, slug) for slug in CAUSES], method="by_cause", label="Jobs in which this cause cost anything."
    )
    least = AmountFilter(field_name="over", lookup_expr="gte", label="Least amount over the planned cost.")

    def by_cause(self, queryset: QuerySet[ClosedJob, ClosedJob], name: str, value: str) -> QuerySet[ClosedJob, ClosedJob]:
        """The rows in which a cause is above 0."""
        return queryset.filter(**{f"cost_{value}__gt": 0})


class OverBudget(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "over-budget"
    columns = (
        *_CLOSED, "planned_cost", "actual_cost", "over", "billed", "planned_margin", "margin", "main_cause",
        "main_cause_amount", "review",
    )  # fmt: skip

    @operation(
        "report_over_budget",
        "Closed jobs that cost more than planned, the latest first",
        answers={200: OverBudgetShape},
        filters=OverBudgetFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        """Planned cost is the agreed visible work and the hidden work that was expected, both at cost."""
        rows = filtered(request, over_budget(self.context.shop), OverBudgetFilters)
        return self.rows_answer(request, rows, NEWEST_CLOSED, _over_budget)


def _closed(row: ClosedJob) -> Row:
    shown = {name: getattr(row, name) for name in _CLOSED if name != "job"}
    return {"job": row.job_id, **shown, "closed_on": row.closed_on.isoformat()}


def _over_budget(rows: Sequence[ClosedJob]) -> list[Row]:
    shown = []
    for row in rows:
        digits, cause = currency(row.currency).digits, main_cause(row)
        amounts = {name: getattr(row, name) for name in ("planned_cost", "actual_cost", "over", "billed")}
        amounts |= {"planned_margin": row.planned_margin, "margin": row.margin}
        amounts["main_cause_amount"] = getattr(row, f"cost_{cause}") if cause else 0
        shown.append(
            {
                **_closed(row),
                **{name: fixed(value, digits) for name, value in amounts.items()},
                "main_cause": cause,
                "review": row.review_state or "",  # type: ignore[attr-defined]
            }
        )
    return shown


class OverLimit(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "over-limit"
    columns = (*_CLOSED, "authorised_with_tax", "overrun_with_tax", "billed_with_tax")

    @operation(
        "report_over_limit",
        "Closed jobs that were billed more than was authorised; there must be none",
        answers={200: OverLimitShape},
        filters=ClosedFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        rows = filtered(request, over_limit(self.context.shop), ClosedFilters)
        names = ("authorised_with_tax", "overrun_with_tax", "billed_with_tax")
        return self.rows_answer(request, rows, NEWEST_CLOSED, lambda page: [_with(row, names) for row in page])


def _with(row: ClosedJob, amounts: Sequence[str]) -> Row:
    digits = currency(row.currency).digits
    return {**_closed(row), **{name: fixed(getattr(row, name), digits) for name in amounts}}


class QuotedFinal(ReportView):
    roles: ClassVar = {"GET": READERS | {ESTIMATOR}}
    file = "quoted-final"
    columns = (*_CLOSED, "price_basis", *_FINAL, *_LEARNED, *_HOURS, *_COSTS)

    @operation(
        "report_quoted_final",
        "What was quoted and what it came to, the latest first",
        answers={200: QuotedFinalShape},
        filters=ClosedFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        """An estimator sees the quotes of his own, without costs and margins."""
        rows, identity = closed_jobs(self.context.shop), self.identity
        if identity.role == ESTIMATOR:
            rows = rows.filter(estimator=identity.person_id)
        names = _FINAL + _LEARNED + (_COSTS if identity.role in COST_READERS else ())
        columns = [name for name in self.columns if name in names or name not in _COSTS]
        chosen = filtered(request, rows, ClosedFilters)
        return self.rows_answer(
            request, chosen, NEWEST_CLOSED, lambda page: [_quoted_final(row, names) for row in page], columns
        )


def _quoted_final(row: ClosedJob, amounts: Sequence[str]) -> Row:
    hours = {name: str(getattr(row, name)) for name in _HOURS}
    return {**_with(row, amounts), "price_basis": row.price_basis, **hours}


class Causes(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "causes"
    columns = ("cause", "words", "amount", "saved", "jobs", "share", "cumulative_share")

    @operation(
        "report_causes",
        "What closed jobs cost beyond plan, by cause, the dearest first",
        answers={200: CauseShape},
        filters=ClosedFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        """Shares are of what all causes cost; what a cause saved in other jobs stands beside it and offsets nothing."""
        shop = self.context.shop
        digits = currency(shop.currency).digits
        found = causes(filtered(request, closed_jobs(shop), ClosedFilters))
        return self.list_answer(
            request, [{**row, **{name: fixed(row[name], digits) for name in ("amount", "saved")}} for row in found]
        )


class Coverage(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "coverage"
    columns = (
        "by", "of", "jobs", "inside_limit", "limit_share", "limit_low", "limit_high", "inside_p80", "p80_share", "p80_low",
        "p80_high",
    )  # fmt: skip

    @operation(
        "report_coverage",
        "How often bills stayed inside the limit and costs inside the forecast, by tier and by estimator",
        answers={200: CoverageShape},
        filters=ClosedFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        """Two promises: the limit is the owner's and is held by the bill, the P80 is the shop's and is held by the cost."""
        return self.list_answer(request, coverage(filtered(request, closed_jobs(self.context.shop), ClosedFilters)))


class WinRateFilters(ReportFilters):
    issued_from = DayFilter(method="unchanged", label="Issued on this day or later; a year ago unless told.")
    issued_to = DayFilter(method="unchanged", label="Issued on this day or before; today unless told.")
    estimator = IdFilter(method="unchanged", label="Id of the person who made the quote.")


class WinRate(ReportView):
    roles: ClassVar = {"GET": READERS}
    file = "win-rate"
    columns = (
        "month", "tier", "estimator", "issued", "accepted", "declined", "win_rate", "margin_share", "margin_share_accepted",
    )  # fmt: skip

    @operation(
        "report_win_rate",
        "Offers issued, accepted and declined by month, tier and estimator, beside their margin",
        answers={200: WinRateShape},
        filters=WinRateFilters,
        tables=True,
    )
    def get(self, request: Request) -> HttpResponseBase:
        """More set aside wins fewer offers: read a margin beside its win rate."""
        shop = self.context.shop
        said: Mapping[str, Any] = checked_filters(
            request, Quote.objects.for_shop(shop).none(), WinRateFilters
        ).form.cleaned_data
        zone = ZoneInfo(shop.time_zone)
        last = min(max(said["issued_to"] or shop_day(shop), _FIRST), _LAST)
        first = min(max(said["issued_from"] or last - timedelta(days=_USUAL_DAYS), _FIRST), _LAST)
        between = WonBetween(
            start=datetime.combine(first, time(), zone),
            end=datetime.combine(last, time.max, zone),
            estimator=said["estimator"],
        )
        return self.list_answer(request, win_rate(shop, between))
