"""Which days and hours may an entry have?

Days come as days of the shop's calendar; whatever a clock did on that day, an hour is an hour.
"""

from collections.abc import Iterator, Mapping, Sequence
from decimal import Decimal

from costbase.calc.errors import CalculationError
from quotes.calc.ledger.said import HOURS, Said

# No day has room for more, one on which clocks are put back included: nobody works through it.
MOST_HOURS_A_DAY = Decimal(24)


class BadDayError(CalculationError):
    """A day on which the entry cannot be."""

    code = "bad_entry_day"


class TooManyHoursError(CalculationError):
    """More hours of one worker on one day than a day has."""

    code = "too_many_hours"


def check_day(day: str, *, today: str, booked_on: str | None) -> None:
    """Refuses a day that is not over yet to come, or before its job was booked.

    Args:
        day: of the entry, ISO, in the shop's zone.
        today: the shop's.
        booked_on: the day on which the job was booked, in the shop's zone; None without a job.

    Raises:
        BadDayError: the day is after today, or before `booked_on`.

    Source: common practice, none published.
    """
    if day > today:
        raise BadDayError(f"expected a day up to today, {today}, not {day}", field="day", value=day)
    if booked_on is not None and day < booked_on:
        raise BadDayError(f"the job was booked on {booked_on}; expected no day before, not {day}", field="day", value=day)


def hours_faults(
    entries: Sequence[tuple[int, Said]], there: Mapping[tuple[int, str], Decimal], labels: Mapping[int, str]
) -> Iterator[TooManyHoursError]:
    """Every worker's day that comes to more than 24 hours, with what is there already; the entry that passes them is named.

    Args:
        entries: new ones with their places in the batch.
        there: hours by worker and day that stand in the ledger, corrections taken off.
        labels: of the workers.

    Source: common practice, none published.
    """
    sums: dict[tuple[int, str], Decimal] = {}
    told: set[tuple[int, str]] = set()
    for at, said in entries:
        if said.kind not in HOURS or said.worker is None or said.quantity is None:
            continue
        key = said.worker, said.day
        before = there.get(key, Decimal(0))
        sums[key] = sums.get(key, Decimal(0)) + said.quantity
        if before + sums[key] > MOST_HOURS_A_DAY and key not in told:
            told.add(key)
            words = (
                f"{labels.get(said.worker, said.worker)} has {before.normalize():f} hours on {said.day} already; "
                f"with this batch it would be {(before + sums[key]).normalize():f}, expected 24 at most"
            )
            yield TooManyHoursError(words, field=f"entries/{at}/hours", value=said.quantity)
