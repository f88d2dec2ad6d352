"""Hours beside their plan, hours that nobody quoted, and a payroll that adds up."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.rest.ledgers import TODAY, YESTERDAY, Body, Logging
from tests.rest.office import places, problem
from tests.rest.quoting import Clock, Quoting

pytestmark = pytest.mark.django_db


@pytest.fixture
def logging(quoting: Quoting, clock: Clock) -> Logging:
    return Logging(quoting, clock)


def other(logging: Logging, hours: str, reason: str = "cleaning", **changes: object) -> Body:
    return logging.entry("other_hours", **{"worker": logging.worker, "hours": hours, "reason": reason, **changes})


def test_hours_stand_beside_their_plan_by_line_trade_phase_and_worker(logging: Logging) -> None:
    second = logging.add_worker("Worker two", "technician")
    leak_test = logging.line(slug="leak-test", trade="lead-technician")
    logging.logged(
        logging.time("2", assembly="leak-test"),
        logging.time("1", assembly="leak-test", worker=second),
        logging.time("0.5", component="deck"),
        logging.time("3"),
    )

    found = logging.office.get(f"jobs/{logging.job.pk}/hours", role="estimator").json()

    lines = {(line["assembly"], line["trade"]): line for line in found["lines"]}
    # The job has 1.5 hours of each trade for the leak test.
    line = lines["leak-test", "lead-technician"]
    assert (line["line"], line["planned"], line["worked"], line["left"]) == (leak_test.position, "1.5000", "2.0000", "-0.5000")
    assert lines["leak-test", "technician"]["left"] == "0.5000"
    assert found["components"] == [{"component": "deck", "worked": "0.5000"}]
    assert [(each["label"], each["worked"]) for each in found["workers"]] == [
        ("Worker one", "5.5000"),
        ("Worker two", "1.0000"),
    ]
    (phase,) = [each for each in found["phases"] if each["phase"] == leak_test.phase]
    assert phase["worked"] == "3.0000"
    (trade,) = [each for each in found["trades"] if each["trade"] == "lead-technician"]
    assert trade["worked"] == "5.5000"
    assert (found["total"]["worked"], found["not_quoted"]) == ("6.5000", "3.0000")
    assert found["total"]["planned"] == str(logging.job.hours)


def test_what_nobody_quoted_shows_at_once_with_its_cost_for_those_who_may_read_it(logging: Logging) -> None:
    (stray, _) = logging.logged(logging.time("3", note="old antenna"), logging.time("1", assembly="leak-test"))
    path = f"jobs/{logging.job.pk}/not-quoted"

    seen = logging.office.get(path, role="estimator").json()
    known = logging.office.get(f"not-quoted?day={TODAY}", role="analyst").json()

    # 3 h at 62.00, billed at 150.00.
    job: Body = {"job": logging.job.pk, "number": logging.job.number, "hours": "3.0000", "value": "450.00"}
    assert seen["jobs"] == [job]
    assert known["jobs"] == [{**job, "cost": "186.00"}]
    assert [(entry["id"], entry["note"]) for entry in known["entries"]] == [(stray["id"], "old antenna")]
    assert "cost" not in seen["entries"][0]
    assert logging.office.get(f"not-quoted?day={YESTERDAY}").json()["jobs"] == []
    assert places(logging.office.get("not-quoted?day=today"), 400) == {"day": "bad_parameter"}

    body = {"client_id": "2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10", "note": "was for the ladder"}
    logging.office.post(f"entries/{stray['id']}/correction", body)
    assert logging.office.get(path).json() == {"currency": "USD", "jobs": [], "entries": []}


def test_costs_of_a_job_add_up_by_place_and_by_kind(logging: Logging) -> None:
    line = logging.line(slug="leak-test", trade="lead-technician")
    logging.logged(
        logging.time("2", assembly="leak-test"),
        logging.time("1", component="deck"),
        logging.time("3", overtime=True),
        logging.entry("issued", material="framing-strip-2-by-2-in", quantity="1"),
    )

    found = logging.office.get(f"jobs/{logging.job.pk}/costs").json()

    # 2 x 62 = 124; 1 x 62 = 62; 3 x 62 x 1.5 = 279; a strip 6.80. Value: 300 + 150 + 450 + 9.18.
    assert found["total"] == {"hours": "6.0000", "cost": "471.80", "value": "909.18"}
    assert found["not_quoted"] == {"hours": "3.0000", "cost": "279.00", "value": "450.00"}
    assert found["by_component"] == [{"key": "deck", "hours": "1.0000", "cost": "62.00", "value": "150.00"}]
    assert {"key": str(line.position), "hours": "2.0000", "cost": "124.00", "value": "300.00"} in found["by_line"]
    assert [(each["key"], each["cost"]) for each in found["by_kind"]] == [("issued", "6.80"), ("time", "465.00")]
    problem(logging.office.get(f"jobs/{logging.job.pk}/costs", role="estimator"), 403)


def test_payroll_hours_are_job_hours_and_other_hours(logging: Logging) -> None:
    second = logging.add_worker("Worker two")
    logging.logged(
        logging.time("6"),
        logging.time("2", overtime=True, day=YESTERDAY),
        other(logging, "1.5"),
        other(logging, "0.5", "travel"),
        other(logging, "8", "sick", worker=second),
    )

    found = logging.office.get(f"payroll?from={YESTERDAY}&to={TODAY}").json()

    assert {name: found[name] for name in ("on_jobs", "other", "payroll")} == {
        "on_jobs": "8.0000", "other": "10.0000", "payroll": "18.0000",
    }  # fmt: skip
    one, two = found["workers"]
    assert (one["on_jobs"], one["other"], one["payroll"], one["overtime"]) == ("8.0000", "2.0000", "10.0000", "2.0000")
    assert one["by_reason"] == {"cleaning": "1.5000", "travel": "0.5000"}
    assert one["days"] == [
        {"day": YESTERDAY, "on_jobs": "2.0000", "other": "0", "payroll": "2.0000"},
        {"day": TODAY, "on_jobs": "6.0000", "other": "2.0000", "payroll": "8.0000"},
    ]
    assert (two["label"], two["payroll"]) == ("Worker two", "8.0000")


def test_hours_that_were_paid_and_nobody_logged_are_told(logging: Logging) -> None:
    logging.logged(logging.time("6"), other(logging, "1.5"))

    path = f"payroll?from={TODAY}&to={TODAY}"
    (pay,) = logging.office.get(f"{path}&worker={logging.worker}&paid=8").json()["workers"]

    assert (pay["payroll"], pay["paid"], pay["missing"]) == ("7.5000", "8", "0.5000")
    assert places(logging.office.get(f"{path}&paid=8"), 400) == {"paid": "bad_parameter"}
    assert places(logging.office.get(f"{path}&worker=1&paid=x"), 400) == {"paid": "bad_parameter"}
    assert places(logging.office.get(f"payroll?from={TODAY}"), 400) == {"to": "bad_parameter"}
    assert places(logging.office.get(f"payroll?from={TODAY}&to=9999-12-31"), 400) == {"to": "bad_parameter"}
    assert places(logging.office.get(f"payroll?from={TODAY}&to={YESTERDAY}"), 400) == {"to": "bad_parameter"}
    problem(logging.office.get(path, role="estimator"), 403)


def test_reports_take_as_many_queries_for_many_workers_as_for_one(logging: Logging) -> None:
    paths = [f"payroll?from={TODAY}&to={TODAY}", f"jobs/{logging.job.pk}/hours", f"jobs/{logging.job.pk}/not-quoted", "entries"]

    def queries() -> list[int]:
        counts = []
        for path in paths:
            with CaptureQueriesContext(connection) as seen:
                assert logging.office.get(path).status_code == 200
            counts.append(len(seen))
        return counts

    logging.logged(logging.time("1"), other(logging, "1"))
    before = queries()
    workers = [logging.add_worker() for _ in range(10)]
    logging.logged(*(logging.time("1", worker=worker, line=at + 1) for at, worker in enumerate(workers)))
    logging.logged(*(logging.time("1", worker=worker) for worker in workers))

    assert queries() == before
