"""A shop that logs what its jobs take: workers, a booked job, and entries as a tablet sends them."""

import uuid
from collections.abc import Iterator
from itertools import count
from typing import Any
from unittest.mock import patch

from quotes.models import Job, JobLine
from tests.rest import working
from tests.rest.quoting import Clock, Quoting

Body = dict[str, Any]

# The shop's day in all of these tests; the job was booked four days before.
TODAY, YESTERDAY, BOOKED_ON = "2026-03-02", "2026-03-01", "2026-02-26"
TECHNICIAN = "lead-technician"
_numbers = count(1)


class Logging:
    """A shop with a job that it rebuilds, and one worker."""

    def __init__(self, quoting: Quoting, clock: Clock, *, trade: str = TECHNICIAN) -> None:
        self.quoting, self.clock, self.office, self.shop = quoting, clock, quoting.office, quoting.shop
        self.job = self.booked()
        self.worker = self.add_worker("Worker one", trade)

    def booked(self, *states: str, **changes: Any) -> Job:
        """A job that was booked four days ago and went through these states, rebuilding unless told."""
        self.clock.turn(days=-4)
        with patch.object(working, "timezone", self.clock):
            job = working.booked(self.quoting, **changes)
        self.clock.turn(days=4)
        return self.moved(job, *(states or ("rebuilding",)))

    def moved(self, job: Job, *states: str) -> Job:
        return working.at_work(self.quoting, job, *states)

    def add_worker(self, label: str = "", trade: str = TECHNICIAN) -> int:
        answer = self.office.post("workers", {"label": label or f"Worker {next(_numbers)}", "trade": trade})
        assert answer.status_code == 201, answer.content.decode()
        number: int = answer.json()["id"]
        return number

    def time(self, hours: str = "2.5", **changes: Any) -> Body:
        """An entry of time on the job's address, as a tablet sends it."""
        return self.entry("time", **{"worker": self.worker, "hours": hours, **changes})

    def entry(self, kind: str, **changes: Any) -> Body:
        return {"client_id": str(uuid.uuid4()), "kind": kind, "day": TODAY, **changes}

    def send(self, *entries: Body, job: Job | None = None, **kwargs: Any) -> Any:
        """The answer to a batch on the job."""
        return self.office.post(f"jobs/{(job or self.job).pk}/entries", {"entries": list(entries)}, **kwargs)

    def logged(self, *entries: Body, **kwargs: Any) -> list[Body]:
        """A batch that was logged, as answered."""
        answer = self.send(*entries, **kwargs)
        assert answer.status_code == 200, answer.content.decode()
        told: list[Body] = answer.json()["entries"]
        return told

    def ledger(self, **kwargs: Any) -> list[Body]:
        """The entries of the job as answered, the oldest first."""
        rows: list[Body] = self.office.get(f"jobs/{self.job.pk}/entries?limit=200", **kwargs).json()["results"]
        return rows[::-1]

    def line(self, kind: str = "labour", **of: Any) -> Any:
        """The first line of the job of a kind."""
        with self.office.scope():
            return JobLine.objects.for_shop(self.shop).filter(job_id=self.job.pk, kind=kind, **of).order_by("position")[0]


def batches(entries: list[Body], size: int) -> Iterator[list[Body]]:
    """The entries in batches of a size."""
    for at in range(0, len(entries), size):
        yield entries[at : at + size]
