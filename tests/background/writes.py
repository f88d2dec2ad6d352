"""What is written of a job from its quote's acceptance to its settlement, each about to be sent by a client."""

import uuid
from collections.abc import Callable
from dataclasses import dataclass

from tests.scenarios.small_shop import SmallShop
from tests.scenarios.story import Body, Story
from tests.scenarios.test_worked_job import PATCH


@dataclass(frozen=True)
class Write:
    """A request that writes, the row that it waits for, and the statement that counts what it left."""

    name: str
    path: str
    body: Body
    headers: dict[str, str]
    held: tuple[str, int]
    left: str
    rows: int


class _AboutToBeSent(Exception):
    """Stands for a request that the story would have sent."""

    def __init__(self, path: str, body: Body, tag: str) -> None:
        super().__init__(path)
        self.path, self.body, self.tag = path, body, tag


class _Told(Story):
    """A story that goes on until it is stopped, and says then what it was about to send."""

    stopped = False

    def post(self, path: str, body: Body, *, tag: str = "", role: str = "estimator", status: int | None = None) -> Body:
        if self.stopped:
            raise _AboutToBeSent(path, body, tag)
        return super().post(path, body, tag=tag, role=role, status=status)


def _accepted(job: _Told) -> None:
    job.accept()


def _at_work(job: _Told) -> None:
    job.accept()
    job.move("opening_up")


def _at_the_end(job: _Told) -> None:
    _at_work(job)
    job.move("rebuilding")
    job.count_as_quoted()
    job.move("testing")


def _tested(job: _Told) -> None:
    _at_the_end(job)
    job.test_for_leaks()


def _handed_over(job: _Told) -> None:
    _tested(job)
    job.hand_over()


def _paid(job: _Told) -> None:
    _handed_over(job)
    job.pay(job.bill()["total"])


def _order_taken(job: _Told) -> object:
    job.stopped = False
    order = job.order(PATCH)
    job.stopped = True
    return job.answer_order(order, "repair")


def _twenty_hours_of_a_tablet(job: _Told) -> object:
    worker = job.shop.office.get("workers").json()["results"][0]["id"]
    return job.log(*({"kind": "time", "worker": worker, "hours": "0.25"} for _ in range(20)))


def _frame_found(job: _Told) -> object:
    rear = [{"section": "main", "opening": "rear vent"}]
    return job.open(rings=rear, found=[{"component": "opening_frame", "condition": "rotten"}])


_Before = Callable[[_Told], None] | None
_Send = Callable[[_Told], object]
# Name, what comes before, what is sent, and the table in which it leaves so many rows of the job (or quote).
_EVERY: tuple[tuple[str, _Before, _Send, str, int], ...] = (
    ("acceptance", None, lambda job: job.accept(), "quotes_job", 1),
    ("hours", _accepted, _twenty_hours_of_a_tablet, "quotes_ledgerentry", 20),
    ("opening", _at_work, _frame_found, "quotes_openingentry", 1),
    ("found note", _at_work, lambda job: job.note("opening_frame", "1 each"), "quotes_foundnote", 1),
    ("counted work", _at_work, lambda job: job.count("backing-frame", "1 each"), "quotes_countedsettlement", 1),
    ("change order", _at_work, lambda job: job.order(PATCH), "quotes_changeorder", 1),
    ("order's acceptance", _at_work, _order_taken, "quotes_changeorderpacks", 1),
    ("leak test", _at_the_end, lambda job: job.test_for_leaks(), "quotes_leaktest", 1),
    ("hand-over", _tested, lambda job: job.hand_over(), "quotes_warranty", 1),
    ("bill", _tested, lambda job: job.bill(), "quotes_bill", 1),
    ("payment", _handed_over, lambda job: job.pay("100.00"), "quotes_payment", 1),
    ("settling", _paid, lambda job: job.settle(), "quotes_closedjob", 1),
)


def every_write(small: SmallShop) -> list[Write]:
    """Each of them on a job of its own, so that none waits for another."""
    small.office.post("workers", {"label": "north bay", "trade": "technician"})
    return [_write(small, *each) for each in _EVERY]


def _write(small: SmallShop, name: str, before: _Before, send: _Send, table: str, rows: int) -> Write:
    job = _Told(small, small.issued())
    if name == "order's acceptance":
        _at_work(job)
        order = job.order(PATCH)
        send = lambda job: job.answer_order(order, "repair")
    elif before is not None:
        before(job)
    job.stopped = True
    try:
        send(job)
    except _AboutToBeSent as request:
        headers = {"Idempotency-Key": uuid.uuid4().hex, **({"If-Match": request.tag} if request.tag else {})}
        quote = job.quote["id"]
        held, whose = (
            (("quotes_job", job.job), f"job_id = {job.job}") if job.job else (("quotes_quote", quote), f"quote_id = {quote}")
        )
        left = f"SELECT count(*) FROM {table} WHERE {whose}"
        return Write(name, small.office.url(request.path), request.body, headers, held, left, rows)
    raise AssertionError(f"{name} sends nothing")
