"""Two tablets at once: each entry is there once, no worker's day passes 24 hours, and nothing is left of a batch that died."""

from decimal import Decimal
from typing import Any

import pytest

from quotes.actions.ledger import log_entries
from quotes.calc.ledger import Said
from quotes.models import LedgerEntry
from tests import make
from tests.rest.ledgers import TODAY, Logging
from tests.rest.office import office
from tests.rest.quoting import Clock, Quoting
from tests.rest.test_idempotency import together

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def logging(clock: Clock) -> Logging:
    return Logging(Quoting(office()), clock)


class Died(Exception):
    """The process went away before it could commit."""


def die_after(logging: Logging, said: list[Said]) -> None:
    with logging.office.scope():
        logged = log_entries(shop=logging.shop, entries=said, by=make.OPERATOR, now=make.NOW, may_be_late=False)
        assert [entry.status for entry in logged] == ["added", "added"]
        raise Died


def quantities(logging: Logging) -> list[float]:
    with logging.office.scope():
        return sorted(float(q) for q in LedgerEntry.objects.for_shop(logging.shop).values_list("quantity", flat=True))


def test_two_tablets_that_send_one_batch_at_once_log_each_entry_once(logging: Logging) -> None:
    entries = [logging.time("0.1") for _ in range(40)]

    # One sends it the other way round: rows are held and written in an order of their own.
    answers = together(2, lambda n: logging.send(*(reversed(entries) if n else entries)))

    assert [answer.status_code for answer in answers] == [200, 200]
    told = [[entry["status"] for entry in answer.json()["entries"]] for answer in answers]
    assert sorted(told) == [["added"] * 40, ["there"] * 40]
    assert quantities(logging) == [0.1] * 40


def test_goods_for_the_shelf_that_hold_no_row_are_logged_once_too(logging: Logging) -> None:
    price = {"amount": "6.80", "currency": "USD"}
    bought = {"material": "framing-strip-2-by-2-in", "supplier": "Invented Supply", "invoice": "A-1", "price": price}
    entries = [logging.entry("purchase", quantity=str(n), **bought) for n in range(1, 31)]

    answers = together(3, lambda n: logging.office.post("entries", {"entries": entries[::-1] if n else entries}))

    assert [answer.status_code for answer in answers] == [200] * 3
    told = [{entry["status"] for entry in answer.json()["entries"]} for answer in answers]
    assert sorted(told, key=sorted) == [{"added"}, {"there"}, {"there"}]
    assert quantities(logging) == list(range(1, 31))


def test_a_workers_day_is_summed_by_one_at_a_time(logging: Logging) -> None:
    # On two jobs, so that only the worker is what both of them hold.
    jobs = [logging.job, logging.booked()]

    answers = together(2, lambda n: logging.send(logging.time("13"), job=jobs[n]))

    assert sorted(answer.status_code for answer in answers) == [200, 422]
    assert quantities(logging) == [13.0]


def test_an_entry_that_two_people_correct_at_once_is_taken_back_once(logging: Logging) -> None:
    (wrong,) = logging.logged(logging.time("8"))
    ids = ["2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10", "2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f11"]

    def ask(n: int) -> Any:
        return logging.office.post(f"entries/{wrong['id']}/correction", {"client_id": ids[n], "note": "slip"})

    answers = together(2, ask)

    assert sorted(answer.status_code for answer in answers) == [200, 409]
    assert quantities(logging) == [-8.0, 8.0]


def test_of_a_batch_whose_request_dies_nothing_is_there_and_it_can_be_sent_again(logging: Logging) -> None:
    entries = [logging.time("1"), logging.time("2")]
    said = [
        Said(entry["client_id"], "time", TODAY, job=logging.job.pk, worker=logging.worker, quantity=Decimal(entry["hours"]))
        for entry in entries
    ]

    with pytest.raises(Died):
        die_after(logging, said)

    assert quantities(logging) == []
    assert [entry["status"] for entry in logging.logged(*entries)] == ["added", "added"]
