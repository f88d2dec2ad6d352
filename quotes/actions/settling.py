"""When is a job settled?

When everything counted is settled, no change order waits, and the final bill says what there is to say. What is still owed may
be owed: the balance is told, and payments are booked after settling too. The books are closed with it.
"""

from datetime import datetime
from decimal import Decimal

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.bills import no_order_waits
from quotes.actions.closing import close_books
from quotes.actions.jobs import move_job
from quotes.calc.bill import billed
from quotes.calc.job import must_be_in
from quotes.models import Job
from quotes.reports.bills import account_of
from quotes.reports.found import counted_lines
from quotes.reports.jobs import counted_now


class NotBilledError(CalculationError):
    """The final bill is not out, or something has changed since the last bill."""

    code = "not_billed"


class CountedOpenError(CalculationError):
    """Counted work of which nobody has said how much was done."""

    code = "counted_open"


def settle_job(*, shop: Shop, job: Job, by: Actor, now: datetime) -> None:
    """Settles a held job and closes its books.

    Raises:
        JobStateError: it was neither handed over nor stopped.
        OrderWaitsError: a change order waits for its consent.
        CountedOpenError: counted work is neither settled nor confirmed as quoted.
        NotBilledError: it was not billed finally, or not as it stands now.
    """
    assert_scope(shop.pk)
    must_be_in(job.state, "handed_over", "stopped", doing="settled")
    no_order_waits(shop, job)
    if job.state != "stopped":
        _everything_counted(shop, job)
    _everything_billed(shop, job)
    # The books say whether the work was stopped, which the state will not say any more.
    close_books(shop=shop, job=job, by=by, now=now)
    move_job(shop=shop, job=job, to="settled", by=by)


def _everything_counted(shop: Shop, job: Job) -> None:
    settled = {row["assembly"] for row in counted_now(shop, job.pk)}
    left = [slug for slug in counted_lines(shop, job) if slug not in settled]
    if left and job.price_basis == "firm":
        words = f"nobody has said how much was done of {', '.join(left)}; settle each, or confirm it as quoted"
        raise CountedOpenError(words, value=left)


def _everything_billed(shop: Shop, job: Job) -> None:
    account = account_of(shop, job)
    if not account.is_final:
        raise NotBilledError(f"the final bill of {job.number} is not out", value=job.number)
    worked = billed([*account.items, *account.credits], account.terms, account.payers)
    before = sum((account.billed_before(payer.label) for payer in account.payers), Decimal(0))
    apart = any(worked.due(payer.label).total != account.billed_before(payer.label) for payer in account.payers)
    if apart:
        words = f"{job.number} comes to {worked.total} with tax and {before.normalize():f} was billed; bill the rest first"
        raise NotBilledError(words, value=worked.total)
