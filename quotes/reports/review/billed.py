"""What was a job billed, before tax, in tax and in all?"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.db.models import Q, Sum

from costbase.models import Shop
from quotes.calc.bill import CREDIT, CUT, GOODWILL
from quotes.calc.variance import added
from quotes.models import Bill, BillLine, Job, Payment
from quotes.reports.bills import last_bills

ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class Billed:
    """The bills of a job in all, over its payers: before tax, tax, the owner's rounding (signed) and their sum.

    `credits` is what credit notes took back, `cut` what passed the limit of what was logged (each 0 or more); `net` is without
    both already.
    """

    net: Decimal
    tax: Decimal
    rounding: Decimal
    total: Decimal
    credits: Decimal
    cut: Decimal


def billed_of(shop: Shop, job: Job) -> Billed:
    """What the last bills of all payers come to; zeros where nothing was billed. Two queries."""
    bills = last_bills(shop, job.pk).values()
    lines = BillLine.objects.for_shop(shop).filter(bill_id__in=[bill.pk for bill in bills])
    less = lines.aggregate(back=Sum("amount", filter=Q(source__in=(CREDIT, GOODWILL))), cut=Sum("amount", filter=Q(source=CUT)))
    # What one payer bears of another's total moves between them: over all of them it is nothing.
    return Billed(
        net=_sum(bill.net for bill in bills),
        tax=_sum(bill.tax for bill in bills),
        rounding=_sum(bill.rounding for bill in bills),
        total=_sum(bill.total for bill in bills),
        credits=-(less["back"] or ZERO),
        cut=-(less["cut"] or ZERO),
    )


def billed_and_paid(shop: Shop, job_ids: Iterable[int]) -> dict[int, tuple[Decimal, Decimal]]:
    """What each of these jobs was billed with tax so far, and what was paid: two queries however many."""
    ids = list(job_ids)
    billed = Bill.objects.for_shop(shop).filter(job_id__in=ids).order_by().values("job_id").annotate(sum=Sum("due"))
    paid = Payment.objects.for_shop(shop).filter(job_id__in=ids).order_by().values("job_id").annotate(sum=Sum("amount"))
    due, came = ({row["job_id"]: row["sum"] for row in rows} for rows in (billed, paid))
    return {job_id: (due.get(job_id, ZERO), came.get(job_id, ZERO)) for job_id in ids}


def _sum(columns: Iterable[object]) -> Decimal:
    return added(Decimal(str(column)) for column in columns)
