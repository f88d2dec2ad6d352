"""Which closed jobs went over budget, over the limit, or anywhere else than quoted?

Of a job that was closed again the newest row holds. "Over budget" is actual cost above planned cost; "over limit" is a bill
with tax above what was authorised with tax and what an adopted policy allowed beyond it, of which there must be none.
"""

from django.db.models import Exists, F, OuterRef, QuerySet, Subquery

from costbase.models import Shop
from quotes.calc.variance import CAUSES
from quotes.models import ClosedJob, Review


def closed_jobs(shop: Shop) -> QuerySet[ClosedJob, ClosedJob]:
    """The newest closing of every job, with the state of its review, without the steps of its bridges."""
    rows = ClosedJob.objects.for_shop(shop)
    newer = ClosedJob.objects.for_shop(shop).filter(job_id=OuterRef("job_id"), seq__gt=OuterRef("seq"))
    review = Review.objects.for_shop(shop).filter(job_id=OuterRef("job_id")).values("state")[:1]
    return rows.filter(~Exists(newer)).annotate(review_state=Subquery(review)).defer("bridges")


def over_budget(shop: Shop) -> QuerySet[ClosedJob, ClosedJob]:
    """Jobs that cost more than planned, with `over`: by how much."""
    # As a difference, of which the database knows how it is spread: two columns compared are taken for a third of all rows,
    # and a page is then made by reading every job over budget and sorting them.
    return closed_jobs(shop).annotate(over=F("actual_cost") - F("planned_cost")).filter(over__gt=0)


def over_limit(shop: Shop) -> QuerySet[ClosedJob, ClosedJob]:
    """Jobs that were billed more than was authorised; a row here is a fault of the service."""
    return closed_jobs(shop).filter(billed_with_tax__gt=F("authorised_with_tax") + F("overrun_with_tax"))


def main_cause(row: ClosedJob) -> str:
    """The cause that cost most, "" where none cost anything."""
    found = max(CAUSES, key=lambda slug: getattr(row, f"cost_{slug}"))
    return found if getattr(row, f"cost_{found}") > 0 else ""
