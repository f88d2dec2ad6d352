"""An entry is taken back by a new one, once, and never changed."""

import uuid
from decimal import Decimal

import pytest
from django.db import transaction
from django.db.utils import ProgrammingError

from quotes.models import LedgerEntry
from quotes.reports.ledger import costs_of
from tests.rest.ledgers import Body, Logging
from tests.rest.office import places, problem
from tests.rest.quoting import Clock, Quoting

pytestmark = pytest.mark.django_db


@pytest.fixture
def logging(quoting: Quoting, clock: Clock) -> Logging:
    return Logging(quoting, clock)


def correction(**changes: object) -> Body:
    return {"client_id": str(uuid.uuid4()), "note": "wrong job", **changes}


def test_a_correction_takes_the_figures_back_and_says_what_is_right(logging: Logging) -> None:
    line = logging.line()
    (wrong,) = logging.logged(logging.time("8", assembly=line.slug, overtime=True))
    body = correction(entry=logging.time("2", job=logging.job.pk))

    answer = logging.office.post(f"entries/{wrong['id']}/correction", body, role="estimator")

    assert [entry["status"] for entry in answer.json()["entries"]] == ["added", "added"]
    first, taken_back, right = logging.ledger()
    # 8 h of overtime: 8 x 62.00 x 1.5 = 744.00, billed at 150.00 like any other hour.
    assert (first["quantity"], first["cost"], first["value"]) == ("8.0000", "744.00", "1200.00")
    assert (taken_back["quantity"], taken_back["cost"], taken_back["value"]) == ("-8.0000", "-744.00", "-1200.00")
    assert (taken_back["corrects"], taken_back["line"], taken_back["day"]) == (first["id"], first["line"], first["day"])
    assert (right["quantity"], right["cost"], right["quoted"]) == ("2.0000", "124.00", False)
    with logging.office.scope():
        costs = costs_of(logging.shop, [logging.job.pk])[logging.job.pk]
    assert (costs.total.hours, costs.total.cost, costs.by_line[line.position].cost) == (Decimal(2), Decimal(124), Decimal(0))


def test_a_correction_that_is_sent_again_is_there(logging: Logging) -> None:
    (wrong,) = logging.logged(logging.time("8"))
    path, body = f"entries/{wrong['id']}/correction", correction(entry=logging.time("24", job=logging.job.pk))
    first = logging.office.post(path, body).json()["entries"]

    again = logging.office.post(path, body).json()["entries"]

    assert [entry["status"] for entry in again] == ["there", "there"]
    assert [entry["id"] for entry in again] == [entry["id"] for entry in first]
    assert places(logging.office.post(path, {**body, "note": "another"}), 409) == {"#/client_id": "said_otherwise"}


def test_an_entry_is_corrected_once_and_a_correction_never(logging: Logging) -> None:
    (wrong,) = logging.logged(logging.time("8"))
    (taken_back,) = logging.office.post(f"entries/{wrong['id']}/correction", correction()).json()["entries"]

    twice = logging.office.post(f"entries/{wrong['id']}/correction", correction())
    of_it = logging.office.post(f"entries/{taken_back['id']}/correction", correction())

    assert (problem(twice, 409)["code"], problem(of_it, 409)["code"]) == ("not_correctable", "not_correctable")
    assert len(logging.ledger()) == 2


def test_where_the_right_entry_is_refused_nothing_is_taken_back(logging: Logging) -> None:
    (wrong,) = logging.logged(logging.time("8"))
    body = correction(entry=logging.time("8", job=logging.job.pk, assembly="no-such"))

    answer = logging.office.post(f"entries/{wrong['id']}/correction", body)

    assert places(answer) == {"#/entry/assembly": "unknown_place"}
    assert len(logging.ledger()) == 1


def test_the_database_lets_nobody_change_an_entry(logging: Logging) -> None:
    logging.logged(logging.time("8"))
    rows = LedgerEntry.objects.for_shop(logging.shop)
    for change in (lambda: rows.update(quantity=1), rows.delete):
        with logging.office.scope(), pytest.raises(ProgrammingError, match="permission denied"), transaction.atomic():
            change()


def test_another_shops_entry_is_not_there(logging: Logging) -> None:
    problem(logging.office.post("entries/999999/correction", correction()), 404)
