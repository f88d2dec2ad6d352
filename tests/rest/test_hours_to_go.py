"""Hours to go over the API: shares of lines in, hours out, nothing kept."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Job, LedgerEntry, Worker
from tests import make
from tests.rest.office import places, problem
from tests.rest.quoting import Quoting
from tests.rest.working import booked

pytestmark = pytest.mark.django_db

D = Decimal


def ask(quoting: Quoting, job: Job, *lines: tuple[int, str], role: str = ESTIMATOR) -> Any:
    body = {"lines": [{"position": position, "earned_share": share} for position, share in lines]}
    return quoting.office.post(f"jobs/{job.pk}/hours-to-go", body, role=role)


def labour(quoting: Quoting, job: Job) -> list[dict[str, Any]]:
    return [line for line in quoting.office.get(f"jobs/{job.pk}").json()["lines"] if line["kind"] == "labour"]


def log(quoting: Quoting, job: Job, hours: str, **of: Any) -> None:
    with quoting.office.scope():
        worker = Worker(shop=quoting.shop, label=f"Worker {hours}", trade="technician")
        worker.save()
        LedgerEntry(
            shop=quoting.shop, job_id=job.pk, kind="time", day=date(2026, 3, 2), worker=worker, trade="technician",
            quantity=D(hours), unit="h", rate=D(40), cost=D(40) * D(hours), value=D(0), created=make.NOW, **of,
        ).save(force_insert=True)  # fmt: skip


def test_before_anything_is_done_the_plan_is_to_go(quoting: Quoting) -> None:
    job = booked(quoting)
    told = ask(quoting, job).json()
    planned = sum(D(line["quantity"]) for line in labour(quoting, job))
    assert (D(told["planned"]), D(told["to_go"]), D(told["index"])) == (planned, planned, D(1))
    assert "no real job" in told["assumes"]


def test_hours_of_lines_and_of_no_line_slow_the_index_and_those_of_hidden_work_do_not(quoting: Quoting) -> None:
    job = booked(quoting)
    first = labour(quoting, job)[0]
    log(quoting, job, "25", line=first["position"])
    log(quoting, job, "5")
    log(quoting, job, "9", component="edge")
    told = ask(quoting, job, (first["position"], "0.5")).json()

    # 30 hours worked, half of the line earned: index (40 + earned) / 70.
    earned = D(first["quantity"]) / 2
    assert (D(told["actual"]), D(told["earned"])) == (D(30), earned.quantize(D("0.0001"), rounding="ROUND_HALF_UP"))
    assert D(told["index"]) == ((40 + earned) / 70).quantize(D("0.0001"), rounding="ROUND_HALF_UP")
    assert D(told["at_completion"]) == 30 + D(told["to_go"])


def test_what_is_no_line_of_labour_and_what_is_named_twice_is_told_at_once(quoting: Quoting) -> None:
    job = booked(quoting)
    first = labour(quoting, job)[0]["position"]
    answer = ask(quoting, job, (9999, "0.5"), (first, "0.1"), (first, "0.2"))
    assert places(answer) == {"#/lines/0/position": "bad_progress", "#/lines/2/position": "bad_progress"}


def test_a_share_is_a_share(quoting: Quoting) -> None:
    job = booked(quoting)
    assert places(ask(quoting, job, (1, "1.5"))) == {"#/lines/0/earned_share": "bad_share"}


def test_it_is_for_the_office_and_for_jobs_that_are_there(quoting: Quoting) -> None:
    job = booked(quoting)
    assert ask(quoting, job, role=ANALYST).status_code == 403
    missing = quoting.office.post("jobs/999999/hours-to-go", {"lines": []}, role=ESTIMATOR)
    assert problem(missing, 404)["code"] == "not_found"
