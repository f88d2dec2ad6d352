"""Hours come in batches, whole or not at all, and once however often a tablet sends them."""

import uuid
from decimal import Decimal

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costbase import snapshot as base_snapshot
from quotes.actions.ledger import log_entries
from quotes.calc.ledger import Said
from quotes.models import LedgerEntry
from quotes.snapshot import forget
from tests import make
from tests.rest.ledgers import TECHNICIAN, TODAY, Logging
from tests.rest.office import places, problem
from tests.rest.quoting import Clock, Quoting

pytestmark = pytest.mark.django_db


@pytest.fixture
def logging(quoting: Quoting, clock: Clock) -> Logging:
    return Logging(quoting, clock)


def count_of(logging: Logging) -> int:
    with logging.office.scope():
        return LedgerEntry.objects.for_shop(logging.shop).count()


def test_hours_cost_the_rate_of_the_day_and_are_worth_what_the_job_was_sold_at(logging: Logging) -> None:
    line = logging.line(trade=TECHNICIAN)

    (told,) = logging.logged(logging.time("2.5", assembly=line.slug, note="north side"))
    (shown,) = logging.ledger()

    assert told == {
        "client_id": shown["client_id"], "id": shown["id"], "status": "added", "line": line.position, "quoted": True,
        "late": False,
    }  # fmt: skip
    assert (shown["quantity"], shown["unit"], shown["trade"], shown["phase"]) == ("2.5000", "h", TECHNICIAN, line.phase)
    # fixtures/network/rates.csv: 62.00 an hour, billed at 150.00. 2.5 x 62 = 155, 2.5 x 150 = 375.
    assert (shown["rate"], shown["cost"], shown["value"]) == ("62.000000", "155.00", "375.00")
    assert shown["valued_by"] == "frozen"


def test_a_batch_that_is_sent_again_adds_nothing(logging: Logging) -> None:
    entries = [logging.time("1"), logging.time("2", overtime=True)]
    first = logging.logged(*entries)

    again = logging.logged(*reversed(entries))

    assert [entry["status"] for entry in again] == ["there", "there"]
    assert [entry["id"] for entry in again] == [entry["id"] for entry in reversed(first)]
    assert count_of(logging) == 2


def test_an_id_under_which_something_else_was_logged_refuses_the_whole_batch(logging: Logging) -> None:
    entry = logging.time("1")
    logging.logged(entry)

    answer = logging.send(logging.time("2"), {**entry, "hours": "1.5"})

    assert places(answer, 409) == {"#/entries/1/client_id": "said_otherwise"}
    assert count_of(logging) == 1
    # Another way to write the same hours says the same.
    assert logging.logged({**entry, "hours": "1.00"})[0]["status"] == "there"


def test_two_hundred_entries_take_as_many_queries_as_two(logging: Logging) -> None:
    workers = [logging.add_worker() for _ in range(20)]
    said = [
        Said(str(uuid.uuid4()), "time", TODAY, job=logging.job.pk, worker=workers[at % 20], quantity=Decimal("0.5"))
        for at in range(200)
    ]
    forget()
    base_snapshot.forget()

    with logging.office.scope(), CaptureQueriesContext(connection) as queries:
        log_entries(shop=logging.shop, entries=said, by=make.OPERATOR, now=make.NOW, may_be_late=False)

    # Jobs, workers, what is there, places, cost base, rates, hours of the days, and the insert.
    assert len(queries) == 8, [query["sql"][:90] for query in queries]
    assert count_of(logging) == 200


def test_a_worker_has_no_more_than_24_hours_a_day_over_all_batches(logging: Logging) -> None:
    logging.logged(logging.time("20"), logging.entry("other_hours", worker=logging.worker, hours="2", reason="training"))

    answer = logging.send(logging.time("1"), logging.time("1.5"))

    assert places(answer) == {"#/entries/1/hours": "too_many_hours"}
    assert "has 22 hours on 2026-03-02 already; with this batch it would be 24.5" in problem(answer, 422)["detail"]
    logging.logged(logging.time("2"))


def test_estimators_log_and_see_value_but_no_cost(logging: Logging) -> None:
    logging.logged(logging.time("1"), role="estimator")

    (seen,) = logging.ledger(role="estimator")
    (known,) = logging.ledger(role="analyst")

    assert seen["value"] == "150.00"
    assert {"rate", "cost"} & set(seen) == set()
    assert known["cost"] == "62.00"
    assert problem(logging.send(logging.time("1"), role="analyst"), 403)["code"] == "role_not_allowed"


def test_a_batch_of_the_shop_names_a_job_with_each_entry(logging: Logging) -> None:
    other = logging.booked()
    entries = [logging.time("1", job=logging.job.pk), logging.time("2", job=other.pk)]
    entries.append(logging.entry("other_hours", worker=logging.worker, hours="1", reason="other", note="fetched the mail"))

    answer = logging.office.post("entries", {"entries": entries})

    assert [entry["status"] for entry in answer.json()["entries"]] == ["added"] * 3
    rows = logging.office.get("entries").json()["results"]
    assert {(row["job"], row["quantity"], row["reason"]) for row in rows} == {
        (None, "1.0000", "other"), (other.pk, "2.0000", ""), (logging.job.pk, "1.0000", ""),
    }  # fmt: skip
    missing = logging.office.post("entries", {"entries": [logging.time("1")]})
    assert places(missing) == {"#/entries/0/job": "entry_member"}


def test_a_batch_has_one_entry_to_five_hundred(logging: Logging) -> None:
    workers = [logging.add_worker() for _ in range(25)]
    entries = [logging.time("1", worker=workers[at % 25]) for at in range(501)]

    assert places(logging.send(*entries)) == {"#/entries": "max_length"}
    assert places(logging.send()) == {"#/entries": "min_length"}
    assert {entry["status"] for entry in logging.logged(*entries[:500])} == {"added"}
    assert count_of(logging) == 500


def test_an_idempotency_key_replays_a_batch_as_it_was_answered(logging: Logging) -> None:
    entries, key = [logging.time("1", phase="deck")], {"Idempotency-Key": "tablet-7"}

    first = logging.send(*entries, headers=key)
    again = logging.send(*entries, headers=key)

    assert (again.json(), again["Idempotency-Replayed"]) == (first.json(), "true")
    assert places(logging.send(logging.time("1", phase="roofing"))) == {"#/entries/0/phase": "unknown_choice"}
