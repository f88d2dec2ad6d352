"""How many hours are still to come, given how the hours so far went?

Hours to go at plan are what is planned and not yet earned. They are divided by a productivity index, earned over actual hours,
which is pulled towards 1 as if 40 hours had gone exactly to plan before: index = (40 + earned) / (40 + actual). A first morning
that went badly hardly moves it; after some weeks the job speaks for itself.

What it assumes: that the rest goes as the work so far did, whatever its trade; that shares earned are counted in finished cells
and lengths and not felt; and that hours which belong to no line are among the actual ones, so that they slow the index down as
they slow the job. The weight of 40 hours is a judgement of ours, tested on no real job.

Source: earned over actual hours, common practice; shrinking by prior hours as in a gamma law of rates, textbook.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.money import decimal_quantity

PRIOR_HOURS = Decimal(40)


class ProgressError(CalculationError):
    """Planned or actual hours below zero, or a share earned outside 0 to 1."""

    code = "bad_progress"


@dataclass(frozen=True, slots=True)
class LineProgress:
    """Planned hours of one line, and the share of its work that is done, 0 to 1."""

    planned: Decimal
    earned_share: Decimal


@dataclass(frozen=True, slots=True)
class HoursForecast:
    """Hours with four decimals; `index` above 1 is faster than planned. `at_completion` = actual + `to_go`."""

    planned: Decimal
    earned: Decimal
    actual: Decimal
    index: Decimal
    to_go: Decimal
    at_completion: Decimal


def hours_to_complete(lines: Sequence[LineProgress], actual: Decimal) -> HoursForecast:
    """Hours to go and at completion, rounded half up to four decimals each; the index too.

    Args:
        lines: what was planned, line by line, and how much of it is done.
        actual: hours that were worked on the job, those of no line included.

    Raises:
        ProgressError: hours below zero, or a share outside 0 to 1.
        CalculationFaults: several of these.
    """
    raise_faults(_faults(lines, actual))
    planned = sum((line.planned for line in lines), Decimal(0))
    earned = sum((line.planned * line.earned_share for line in lines), Decimal(0))
    index = (PRIOR_HOURS + earned) / (PRIOR_HOURS + actual)
    to_go = decimal_quantity(float((planned - earned) / index))
    return HoursForecast(
        planned=decimal_quantity(float(planned)),
        earned=decimal_quantity(float(earned)),
        actual=decimal_quantity(float(actual)),
        index=decimal_quantity(float(index)),
        to_go=to_go,
        at_completion=decimal_quantity(float(actual)) + to_go,
    )


def _faults(lines: Sequence[LineProgress], actual: Decimal) -> list[CalculationError]:
    faults: list[CalculationError] = []
    if not (actual.is_finite() and actual >= 0):
        faults.append(ProgressError("expected actual hours of zero or more", field="actual", value=actual))
    for at, line in enumerate(lines):
        if not (line.planned.is_finite() and line.planned >= 0):
            faults.append(
                ProgressError("expected planned hours of zero or more", field=f"lines/{at}/planned", value=line.planned)
            )
        if not (line.earned_share.is_finite() and 0 <= line.earned_share <= 1):
            words = "expected a share earned from 0 to 1"
            faults.append(ProgressError(words, field=f"lines/{at}/earned_share", value=line.earned_share))
    return faults
