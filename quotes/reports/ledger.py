"""What did jobs take so far: hours, cost, value, and what of it did nobody quote?

Sums are made by the database over all entries, corrections included, so that nothing is ever kept twice.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Exists, F, OuterRef, Q, QuerySet, Sum

from costbase.models import Shop
from quotes.calc.ledger import HOURS, TIME, Entry, JobCosts, Taken, Took, fold, took
from quotes.models import LedgerEntry

_PLACE = ("kind", "line", "component", "change_order_id", "warranty_return_id")
_WORKED = ("worker_id", "trade", "phase", "line", "component", "change_order_id", "warranty_return_id")


def costs_of(shop: Shop, job_ids: Sequence[int]) -> dict[int, JobCosts]:
    """What each of these jobs took: by kind, line, hidden component, change order and return, and what belongs to none.

    One query however many jobs; a job without entries has zeros.
    """
    rows = LedgerEntry.objects.for_shop(shop).filter(job_id__in=job_ids).order_by().values("job_id", *_PLACE)
    grouped: dict[int, list[Entry]] = {job_id: [] for job_id in job_ids}
    for row in rows.annotate(sum_quantity=Sum("quantity"), sum_cost=Sum("cost"), sum_value=Sum("value")):
        place = (row["line"], row["component"], row["change_order_id"])
        sums = (row["sum_quantity"], row["sum_cost"], row["sum_value"])
        grouped[row["job_id"]].append(Entry(row["kind"], *place, *sums, row["warranty_return_id"]))
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
    warranty_return: int | None
    hours: Decimal
    cost: Decimal
    value: Decimal


def hours_of(shop: Shop, job_id: int) -> list[WorkedHours]:
    """The hours logged on a job, summed by worker, trade, phase and place, corrections taken off; one query."""
    rows = LedgerEntry.objects.for_shop(shop).filter(job_id=job_id, kind=TIME).order_by()
    sums = rows.values(*_WORKED).annotate(sum_hours=Sum("quantity"), sum_cost=Sum("cost"), sum_value=Sum("value"))
    names = (*_WORKED, "sum_hours", "sum_cost", "sum_value")
    return [WorkedHours(*(row[name] for name in names)) for row in sums.order_by(*_WORKED)]


def standing(shop: Shop, rows: QuerySet[LedgerEntry]) -> QuerySet[LedgerEntry]:
    """Entries that were not taken back, and take none back."""
    taken_back = LedgerEntry.objects.for_shop(shop).filter(corrects_id=OuterRef("pk"))
    return rows.filter(corrects=None).exclude(Exists(taken_back))


@dataclass(frozen=True, slots=True)
class NotQuoted:
    """What of one job belongs to nothing that was quoted."""

    job: int
    number: str
    hours: Decimal
    cost: Decimal
    value: Decimal


def not_quoted(shop: Shop, *, job_id: int | None = None, day: date | None = None) -> list[NotQuoted]:
    """Hours, cost and value of what nobody quoted, by job, corrections taken off; one query.

    Args:
        shop: whose jobs.
        job_id: only of this one.
        day: only of this day.
    """
    hours = Sum("quantity", filter=Q(kind=TIME), default=Decimal(0))
    sums = not_quoted_entries(shop, job_id=job_id, day=day).order_by().values("job_id", number=F("job__number"))
    rows = sums.annotate(sum_hours=hours, sum_cost=Sum("cost"), sum_value=Sum("value")).order_by("job_id")
    return [
        NotQuoted(row["job_id"], row["number"], row["sum_hours"], row["sum_cost"], row["sum_value"])
        for row in rows
        if any((row["sum_hours"], row["sum_cost"], row["sum_value"]))
    ]


def not_quoted_entries(shop: Shop, *, job_id: int | None = None, day: date | None = None) -> QuerySet[LedgerEntry]:
    """The entries of jobs that belong to no line, hidden component, change order or return."""
    rows = LedgerEntry.objects.for_shop(shop).filter(line=None, component="", change_order=None, warranty_return=None)
    rows = rows.filter(job_id=job_id) if job_id is not None else rows.filter(job__isnull=False)
    return rows if day is None else rows.filter(day=day)


def took_of_returns(shop: Shop, return_ids: Sequence[int]) -> dict[int, Took]:
    """What each of these returns took, by its id, corrections taken off; one query however many."""
    rows = LedgerEntry.objects.for_shop(shop).filter(warranty_return_id__in=return_ids).exclude(rate=0, cost=0).order_by()
    names = ("warranty_return_id", "kind", "trade", "material", "words", "unit")
    grouped: dict[int, list[Taken]] = {id_: [] for id_ in return_ids}
    for row in rows.values(*names).annotate(quantities=Sum("quantity"), costs=Sum("cost")):
        goods = row["material"] or row["words"]
        entry = Taken(row["kind"], row["trade"], goods, row["unit"], row["quantities"], row["costs"])
        grouped[row["warranty_return_id"]].append(entry)
    return {id_: took(entries) for id_, entries in grouped.items()}


def hours_there(shop: Shop, workers: Iterable[int], days: Iterable[date]) -> dict[tuple[int, str], Decimal]:
    """Hours by worker and day (ISO) over all entries, corrections taken off."""
    rows = LedgerEntry.objects.for_shop(shop).filter(worker_id__in=set(workers), day__in=set(days), kind__in=HOURS).order_by()
    sums: QuerySet[Any, Any] = rows.values_list("worker_id", "day").annotate(Sum("quantity"))
    return {(worker, day.isoformat()): hours for worker, day, hours in sums}
