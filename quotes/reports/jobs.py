"""Which jobs has the shop, what was agreed in one, and what does it come to so far?"""

from datetime import date
from typing import Any

from django.db.models import BooleanField, ExpressionWrapper, F, Q, QuerySet, Sum

from costbase.models import Shop
from quotes.calc.job import STATES
from quotes.models import CountedSettlement, FoundNote, Job, JobComponent, JobLine
from quotes.reports.quotes import COMPONENT, LINE

Row = dict[str, Any]

# The owner has the coach back, or never gave it.
_GONE = ("handed_over", "settled", "cancelled", "stopped")
_COUNTED = ("id", "assembly", "quoted", "done", "unit", "credit", "lines", "note", "created")
AT_WORK = tuple(state for state in STATES if state not in _GONE)


def brief_jobs(shop: Shop, day: date) -> "QuerySet[Job, Job]":
    """Jobs with the fleet of their quote and whether they are late on a day: promised before it and not handed over."""
    late = Q(promised_on__isnull=False, promised_on__lt=day, state__in=AT_WORK)
    return (
        Job.objects.for_shop(shop)
        .defer("totals")
        .annotate(fleet_id=F("quote__fleet_id"), late=ExpressionWrapper(late, output_field=BooleanField()))
    )


def job_lines(shop: Shop, job_id: int) -> list[Row]:
    """The agreed lines of a job in their order."""
    return list(JobLine.objects.for_shop(shop).filter(job_id=job_id).order_by("position").values(*LINE))


def job_components(shop: Shop, job_id: int) -> list[Row]:
    """The hidden components of a job in their order."""
    return list(JobComponent.objects.for_shop(shop).filter(job_id=job_id).order_by("position").values(*COMPONENT))


def drawn_by_component(shop: Shop, job_id: int) -> dict[tuple[str, str], Row]:
    """Extent, work, set-up and amount that found notes have drawn, by component and construction; corrections counted."""
    notes = FoundNote.objects.for_shop(shop).filter(job_id=job_id).values("component", "construction")
    sums = notes.annotate(
        drawn_extent=Sum("extent"), drawn_work=Sum("work"), drawn_set_up=Sum("set_up"), drawn_amount=Sum("amount")
    ).order_by("component", "construction")
    return {
        (row["component"], row["construction"]): {
            "extent": row["drawn_extent"],
            "work": row["drawn_work"],
            "set_up": row["drawn_set_up"],
            "amount": row["drawn_amount"],
        }
        for row in sums
    }


def counted_now(shop: Shop, job_id: int) -> list[Row]:
    """What every counted assembly that was settled stands at: its last row."""
    rows = CountedSettlement.objects.for_shop(shop).filter(job_id=job_id).order_by("assembly", "-id").distinct("assembly")
    return list(rows.values(*_COUNTED))
