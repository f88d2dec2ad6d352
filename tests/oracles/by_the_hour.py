"""A crew at work hour by hour, and every chain of tasks one by one: the slow, obvious ways to see how long a job takes."""

from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Job:
    """Whole hours of work, then whole hours of cure (until a morning at least), of hold, and whole days of drying."""

    hours: int
    cure: int
    hold: int
    days: int
    after: tuple[int, ...]
    goods_day: int = 0


def last_day(jobs: Sequence[Job], order: Sequence[int], hours_a_day: int) -> float:
    """When the last job is ready, in days of work, by looking at the clock every hour from the first morning on."""
    ready: dict[int, int] = {}
    waiting = list(order)
    doing, left = -1, 0
    clock = 0
    while waiting or left:
        if clock % 24 < hours_a_day:
            if not left:
                job = jobs[waiting[0]]
                if 24 * job.goods_day <= clock and all(ready[before] <= clock for before in job.after):
                    doing, left = waiting.pop(0), job.hours
            if left:
                left -= 1
                if not left:
                    ready[doing] = _ready(jobs[doing], clock + 1)
        clock += 1
    return max(_days(clock, hours_a_day) for clock in ready.values())


def _ready(job: Job, clock: int) -> int:
    ready = max(clock + job.hold, clock + 24 * job.days)
    if job.cure:
        morning = clock
        while morning % 24:
            morning += 1
        ready = max(ready, clock + job.cure, morning)
    return ready


def _days(clock: int, hours_a_day: int) -> float:
    return clock // 24 + min(clock % 24, hours_a_day) / hours_a_day


def longest_chain(jobs: Sequence[Job], hours_a_day: int) -> float:
    """The longest of all chains of work, drying and holds of whole days, trying each one; nights left aside."""

    def back(at: int) -> float:
        job = jobs[at]
        own = job.hours / hours_a_day + max(job.days, job.hold // 24)
        return own + max((back(before) for before in job.after), default=0.0)

    return max((back(at) for at in range(len(jobs))), default=0.0)
