"""Runs over HTTP: who sees which, how far they are, and how one is ended early."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import NETWORK_MANAGER
from costbase.models import Run
from tests import make
from tests.background.working import started
from tests.rest.office import Office, places, problem

TASK = "tests.rest.never_run"


def below_network(office: Office, path: str) -> str:
    return f"/api/v1/networks/{office.shop.network.slug}/{path}"


def test_a_run_tells_how_far_it_is(here: Office) -> None:
    run = started(here.shop, TASK, [{"secret": 1}] * 3)
    Run.objects.filter(pk=run.pk).update(state="working", done=1, failed=2, result={"counted": 4}, asked_by=7)

    answer = here.get(f"runs/{run.pk}", role="analyst")

    assert answer.status_code == 200
    assert answer.json() == {
        "id": run.pk,
        "kind": "test",
        "state": "working",
        "total": 3,
        "done": 1,
        "failed": 2,
        "reason": "",
        "asked_by": 7,
        "created": "2026-03-02T15:00:00Z",
        "heartbeat": "2026-03-02T15:00:00Z",
        "finished": None,
        "result": {"counted": 4},
    }


def test_runs_are_listed_newest_first_and_filtered(here: Office) -> None:
    runs = [started(here.shop, TASK, [{}]) for _ in range(3)]
    Run.objects.filter(pk=runs[0].pk).update(state="done", done=1, finished=make.NOW)
    Run.objects.filter(pk=runs[1].pk).update(kind="nightly")

    def listed(query: str) -> list[int]:
        return [row["id"] for row in here.get(f"runs{query}").json()["results"]]

    assert listed("") == [runs[2].pk, runs[1].pk, runs[0].pk]
    assert listed("?state=done") == [runs[0].pk]
    assert listed("?kind=nightly") == [runs[1].pk]
    assert "result" not in here.get("runs").json()["results"][0]
    assert places(here.get("runs?state=lost"), 400) == {"state": "bad_parameter"}
    assert places(here.get("runs?stat=done"), 400) == {"stat": "unknown_parameter"}


def test_a_list_of_runs_takes_as_many_queries_however_long_it_is(here: Office) -> None:
    started(here.shop, TASK, [{}])
    here.get("runs")  # A token's first use is written down.
    with CaptureQueriesContext(connection) as one:
        here.get("runs")
    for _ in range(4):
        started(here.shop, TASK, [{}] * 20)
    with CaptureQueriesContext(connection) as several:
        assert len(here.get("runs").json()["results"]) == 5

    assert len(several) == len(one)


def test_a_shop_and_a_network_each_see_their_own_runs_only(here: Office, elsewhere: Office) -> None:
    of_shop, of_network = started(here.shop, TASK, [{}]), started(here.shop.network, TASK, [{}])
    started(elsewhere.shop, TASK, [{}])

    assert [row["id"] for row in here.get("runs").json()["results"]] == [of_shop.pk]
    network = here.get(below_network(here, "runs"), role=NETWORK_MANAGER)
    assert [row["id"] for row in network.json()["results"]] == [of_network.pk]
    problem(here.get(f"runs/{of_network.pk}"), 404)
    problem(elsewhere.get(f"runs/{of_shop.pk}"), 404)
    problem(here.get(below_network(here, f"runs/{of_shop.pk}"), role=NETWORK_MANAGER), 404)
    assert here.get(below_network(here, f"runs/{of_network.pk}"), role=NETWORK_MANAGER).status_code == 200
    problem(elsewhere.post(f"runs/{of_shop.pk}/cancellation", {}), 404)


def test_a_manager_ends_a_run_early_once_or_twice(here: Office) -> None:
    run = started(here.shop, TASK, [{}])

    for _ in range(2):
        answer = here.post(f"runs/{run.pk}/cancellation", {})
        assert answer.status_code == 200
        assert answer.json()["state"] == "cancelled"
    run.refresh_from_db()
    assert run.finished is not None


def test_a_network_manager_ends_a_run_of_the_network(here: Office) -> None:
    run = started(here.shop.network, TASK, [{}])

    answer = here.post(below_network(here, f"runs/{run.pk}/cancellation"), {}, role=NETWORK_MANAGER)

    assert answer.json()["state"] == "cancelled"


@pytest.mark.parametrize("state", ["done", "failed"])
def test_a_run_that_is_over_is_not_cancelled(here: Office, state: str) -> None:
    run = started(here.shop, TASK, [{}])
    Run.objects.filter(pk=run.pk).update(state=state, done=1, finished=make.NOW)

    told = problem(here.post(f"runs/{run.pk}/cancellation", {}), 409)

    assert told["code"] == "run_over"
    assert told["detail"] == f"the run is {state} already; expected one that is under way"


def test_an_estimator_sees_no_runs_and_an_analyst_ends_none(here: Office) -> None:
    run = started(here.shop, TASK, [{}])

    assert here.get("runs", role="estimator").status_code == 403
    assert here.get(f"runs/{run.pk}", role="estimator").status_code == 403
    assert here.post(f"runs/{run.pk}/cancellation", {}, role="analyst").status_code == 403
