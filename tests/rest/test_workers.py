"""Whose hours are logged: managers say so, everybody reads it."""

import pytest

from tests.rest.ledgers import TODAY, YESTERDAY, Logging
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Clock, Quoting

pytestmark = pytest.mark.django_db

ANN = {"label": "Bench two", "trade": "helper"}


def test_a_manager_adds_and_changes_a_worker_and_others_read(quoting: Quoting) -> None:
    here = quoting.office
    made = here.post("workers", ANN)
    path = f"workers/{made.json()['id']}"

    changed = here.change(path, {"trade": "technician"})

    assert made.status_code == 201
    assert changed.json() == {**made.json(), "trade": "technician", "version": 2}
    for role in ("estimator", "analyst"):
        assert here.get(path, role=role).json()["trade"] == "technician"
        assert here.get("workers?trade=technician&retired=false", role=role).json()["results"] == [changed.json()]
        problem(here.post("workers", {**ANN, "label": "Bench three"}, role=role), 403)


def test_no_two_workers_are_called_the_same(quoting: Quoting) -> None:
    here = quoting.office
    here.post("workers", ANN)
    other = here.post("workers", {**ANN, "label": "Bench three"}).json()["id"]

    assert places(here.post("workers", ANN), 409) == {"#/label": "already_there"}
    assert places(here.change(f"workers/{other}", {"label": "Bench two"}), 409) == {"#/label": "already_there"}


def test_nothing_more_is_logged_for_a_retired_worker_from_that_day_on(quoting: Quoting, clock: Clock) -> None:
    logging = Logging(quoting, clock)
    path = f"workers/{logging.worker}"
    tag = logging.office.get(path)["ETag"]

    retired = logging.office.ask("PUT", f"{path}/retirement", {"retired": True}, headers={"If-Match": tag})

    assert retired.json()["retired_on"] == TODAY
    assert places(logging.send(logging.time("1")), 409) == {"#/entries/0/worker": "retired"}
    assert logging.logged(logging.time("1", day=YESTERDAY))[0]["status"] == "added"
    back = logging.office.ask("PUT", f"{path}/retirement", {"retired": False}, headers={"If-Match": retired["ETag"]})
    assert back.json()["retired_on"] is None
    assert logging.logged(logging.time("1"))[0]["status"] == "added"


def test_a_worker_of_another_shop_is_not_there(quoting: Quoting, elsewhere: Office) -> None:
    made = quoting.office.post("workers", ANN).json()["id"]

    problem(elsewhere.get(f"workers/{made}"), 404)


def test_a_trade_without_a_rate_is_told_before_anybody_logs_in_it(quoting: Quoting) -> None:
    assert places(quoting.office.post("workers", {**ANN, "trade": "thatcher"})) == {"#/trade": "no_rate"}
