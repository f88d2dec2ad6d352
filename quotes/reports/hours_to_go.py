"""How many hours has a job still to go, given what is done of each line and how the hours so far went?"""

from collections.abc import Sequence
from decimal import Decimal
from typing import NamedTuple

from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Shop
from quotes.calc.teardown import HoursForecast, LineProgress, ProgressError, hours_to_complete
from quotes.models import Job, JobLine
from quotes.reports.ledger import hours_of


class Earned(NamedTuple):
    """What is done of the agreed line at a position, as a share of its hours."""

    position: int
    share: Decimal


def hours_to_go(shop: Shop, job: Job, earned: Sequence[Earned]) -> HoursForecast:
    """Hours to go on the agreed lines of a job, in two queries; of a line that is not named nothing is done.

    Worked are the hours of agreed lines and those of no line at all. Hours of hidden work and of change orders are left out, as
    what is planned for these is no agreed line.

    Raises:
        ProgressError: a position that is no line of labour, or is named twice.
        CalculationFaults: several of these.
    """
    lines = JobLine.objects.for_shop(shop).filter(job_id=job.pk, kind="labour").order_by("position")
    planned = dict(lines.values_list("position", "quantity"))
    raise_faults(_faults(earned, planned))
    done = {each.position: each.share for each in earned}
    worked = sum((row.hours for row in hours_of(shop, job.pk) if not row.component and row.change_order is None), Decimal(0))
    return hours_to_complete(
        [LineProgress(hours, done.get(position, Decimal(0))) for position, hours in planned.items()], worked
    )


def _faults(earned: Sequence[Earned], planned: dict[int, Decimal]) -> list[CalculationError]:
    faults: list[CalculationError] = []
    seen: set[int] = set()
    for at, each in enumerate(earned):
        field = f"lines/{at}/position"
        if each.position not in planned:
            faults.append(
                ProgressError("expected the position of a line of labour of this job", field=field, value=each.position)
            )
        elif each.position in seen:
            faults.append(ProgressError("expected every line once", field=field, value=each.position))
        seen.add(each.position)
    return faults
