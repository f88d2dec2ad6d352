"""How do the open jobs stand: authorised, earned, billed, paid, cost so far, forecast, margin at risk, days waiting?"""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db.models import Min, QuerySet

from costbase.models import Shop
from quotes.models import ChangeOrder, Job, JobForecast
from quotes.reports.ledger import costs_of
from quotes.reports.quotes import NOT_SHOWN
from quotes.reports.review.billed import billed_and_paid
from quotes.reports.review.open_work import days_between

Row = dict[str, Any]
ZERO = Decimal(0)


def open_jobs(shop: Shop) -> QuerySet[Job, Job]:
    """Jobs that are booked and not closed, with what was quoted as their P50 and P80."""
    return (
        Job.objects.for_shop(shop)
        .filter(closed_on=None)
        .exclude(state__in=("settled", "cancelled"))
        .select_related("quote")
        .defer("totals", *(f"quote__{name}" for name in NOT_SHOWN))
    )


def open_figures(shop: Shop, jobs: Sequence[Job], now: datetime) -> list[Row]:
    """What these open jobs come to so far; five queries however many they are.

    `earned` is what was logged so far at quote prices, at most what is authorised. `margin_at_risk` is by how much the
    forecast's P80, in the priced basis, passes what is authorised: no bill can take it.
    """
    ids = [job.pk for job in jobs]
    costs = costs_of(shop, ids)
    waiting = ChangeOrder.objects.for_shop(shop).filter(job_id__in=ids, state="waiting").order_by().values("job_id")
    since = {row["job_id"]: row["first"] for row in waiting.annotate(first=Min("sent_at"))}
    billed = billed_and_paid(shop, ids)
    newest = JobForecast.objects.for_shop(shop).filter(job_id__in=ids).order_by("job_id", "-id").distinct("job_id")
    forecasts = {row["job_id"]: (row["p50"], row["p80"]) for row in newest.values("job_id", "p50", "p80")}
    rows = []
    for job in jobs:
        p50, p80 = forecasts.get(job.pk, (job.quote.p50, job.quote.p80))
        invoiced, paid = billed.get(job.pk, (ZERO, ZERO))
        rows.append(
            {
                "authorised": job.authorised,
                "authorised_with_tax": job.authorised_with_tax,
                "earned": min(costs[job.pk].total.value, job.authorised),
                "billed_with_tax": invoiced,
                "paid": paid,
                "cost_to_date": costs[job.pk].total.cost,
                "planned_cost": job.cost,
                "forecast_p50": p50,
                "forecast_p80": p80,
                "margin_at_risk": max(ZERO, p80 - job.authorised),
                "days_waiting": days_between(since.get(job.pk), now),
            }
        )
    return rows
