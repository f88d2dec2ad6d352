"""What did jobs take so far: hours, cost, value, and what of it did nobody quote?

Sums are made by the database over all entries, corrections included, so that nothing is ever kept twice.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet, Sum

from costbase.models import Shop
from quotes.calc.ledger import HOURS, TIME, Entry, JobCosts, fold
from quotes.models import LedgerEntry

_PLACE = ("kind", "line", "component", "change_order_id")


def costs_of(shop: Shop, job_ids: Sequence[int]) -> dict[int, JobCosts]:
    """What each of these jobs took: by kind, line, hidden component and change order, and what belongs to none of them.

    One query however many jobs; a job without entries has zeros.
    """
    rows = LedgerEntry.objects.for_shop(shop).filter(job_id__in=job_ids).order_by().values("job_id", *_PLACE)
    grouped: dict[int, list[Entry]] = {job_id: [] for job_id in job_ids}
    for row in rows.annotate(sum_quantity=Sum("quantity"), sum_cost=Sum("cost"), sum_value=Sum("value")):
        place = (row["line"], row["component"], row["change_order_id"])
        grouped[row["job_id"]].append(Entry(row["kind"], *place, row["sum_quantity"], row["sum_cost"], row["sum_value"]))
    return {job_id: fold(entries) for job_id, entries in grouped.items()}


@dataclass(frozen=True, slots=True)
class WorkedHours:
    """Hours of one worker and trade on one place of a job."""

    worker: int
    trade: str
    phase: str
    line: int | None
    component: str
    change_order: int | None  # the order's id
    hours: Decimal
    cost: Decimal
    value: Decimal


def hours_of(shop: Shop, job_id: int) -> list[WorkedHours]:
    """The hours logged on a job, summed by worker, trade, phase and place, corrections taken off; one query."""
    rows = LedgerEntry.objects.for_shop(shop).filter(job_id=job_id, kind=TIME).order_by()
    sums = rows.values("worker_id", "trade", "phase", "line", "component", "change_order_id").annotate(
        sum_hours=Sum("quantity"), sum_cost=Sum("cost"), sum_value=Sum("value")
    )
    return [WorkedHours(*row) for row in sums.order_by("worker_id", "trade", "phase", "line", "component").values_list()]


def hours_there(shop: Shop, workers: Iterable[int], days: Iterable[date]) -> dict[tuple[int, str], Decimal]:
    """Hours by worker and day (ISO) over all entries, corrections taken off."""
    rows = LedgerEntry.objects.for_shop(shop).filter(worker_id__in=set(workers), day__in=set(days), kind__in=HOURS).order_by()
    sums: QuerySet[Any, Any] = rows.values_list("worker_id", "day").annotate(Sum("quantity"))
    return {(worker, day.isoformat()): hours for worker, day, hours in sums}
