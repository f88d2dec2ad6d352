"""How does somebody take a job from one state to the next by hand, and what does each move need first?"""

from collections.abc import Callable, Mapping
from decimal import Decimal
from types import MappingProxyType

from django.db.models import Q, Sum

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.jobs import move_job
from quotes.calc.job import JobStateError, check_move_by_hand
from quotes.models import Job, LedgerEntry
from quotes.snapshot import frozen_cost_base

OF_A_STEP = ("opening_up", "cancelled", "stopped")
"""Where a job may go by hand of which nothing whole was agreed yet."""


class ReasonMissingError(CalculationError):
    """A job is cancelled or stopped without a word on why."""

    code = "reason_missing"


class HoursLoggedError(CalculationError):
    """A job on which billable hours were logged is not cancelled any more."""

    code = "hours_logged"


class SettlementMissingError(CalculationError):
    """A job is stopped without a settlement."""

    code = "settlement_missing"


def move_by_hand(*, shop: Shop, job: Job, to: str, by: Actor, reason: str = "") -> None:
    """Takes a held job to another state.

    Raises:
        JobStateError: the move is not allowed, or not by hand.
        ReasonMissingError, HoursLoggedError, SettlementMissingError: something that the move needs is not there.
    """
    assert_scope(shop.pk)
    check_move_by_hand(job.state, to, resumes=job.resumes, opens=frozen_cost_base(job).plan.opens)
    if not job.whole and to not in OF_A_STEP:
        words = f"only a step of {job.number} was sold; it goes on when the whole is agreed, or is closed up"
        raise JobStateError(words, field="to", value=to)
    if to in NEEDS:
        NEEDS[to](shop, job, reason)
    move_job(shop=shop, job=job, to=to, by=by, reason=reason)


def _may_cancel(shop: Shop, job: Job, reason: str) -> None:
    _with_reason("cancelled", reason)
    hours = billable_hours(shop, job.pk)
    if hours:
        words = f"{hours} billable hours were logged on {job.number}: correct them, or open the roof and stop the job"
        raise HoursLoggedError(words, field="to", value=str(hours))


def _may_stop(shop: Shop, job: Job, reason: str) -> None:
    _with_reason("stopped", reason)
    # Signing moves the job; here is only left to say so.
    words = f"{job.number} is stopped by its settlement: draft, send and sign that"
    raise SettlementMissingError(words, field="to", value="stopped")


def _with_reason(done: str, reason: str) -> None:
    if not reason:
        raise ReasonMissingError(f"expected the reason why the job is {done}", field="reason", value=reason)


# What a move to a state needs besides being allowed.
NEEDS: Mapping[str, Callable[[Shop, Job, str], None]] = MappingProxyType({"cancelled": _may_cancel, "stopped": _may_stop})


def billable_hours(shop: Shop, job_id: int) -> Decimal:
    """Hours logged on agreed lines, drawn components and change orders of a job, corrections counted."""
    on_something = Q(line__isnull=False) | ~Q(component="") | Q(change_order__isnull=False)
    rows = LedgerEntry.objects.for_shop(shop).filter(on_something, job_id=job_id, kind="time")
    return rows.aggregate(hours=Sum("quantity"))["hours"] or Decimal(0)
