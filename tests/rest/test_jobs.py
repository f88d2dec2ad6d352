"""The list of jobs, one job, and its moves by hand."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Job, LedgerEntry, Worker
from tests import make
from tests.rest.office import Office, problem
from tests.rest.quoting import Quoting
from tests.rest.working import at_work, booked

pytestmark = pytest.mark.django_db


def read(quoting: Quoting, job: Job, role: str = ESTIMATOR) -> Any:
    answer = quoting.office.get(f"jobs/{job.pk}", role=role)
    assert answer.status_code == 200, answer.content.decode()
    return answer.json()


def move(quoting: Quoting, job: Job, to: str, role: str = ESTIMATOR, **body: Any) -> Any:
    tag = quoting.office.get(f"jobs/{job.pk}")["ETag"]
    return quoting.office.post(f"jobs/{job.pk}/state", {"to": to, **body}, headers={"If-Match": tag}, role=role)


def log_hours(quoting: Quoting, job: Job, hours: str, **of: Any) -> LedgerEntry:
    with quoting.office.scope():
        worker = Worker(shop=quoting.shop, label=f"Worker {hours}", trade="technician")
        worker.save()
        entry = LedgerEntry(
            shop=quoting.shop, job_id=job.pk, kind="time", day=date(2026, 3, 2), worker=worker, trade="technician",
            quantity=Decimal(hours), unit="h", rate=Decimal(40), cost=Decimal(40) * Decimal(hours), value=Decimal(0),
            created=make.NOW, **of,
        )  # fmt: skip
        entry.save(force_insert=True)
        return entry


class TestReading:
    def test_a_job_shows_what_was_agreed_and_its_whole_pot(self, quoting: Quoting) -> None:
        job = booked(quoting, promised_on=date(2026, 3, 20))
        quote = quoting.office.get(f"quotes/{job.quote_id}", role=ESTIMATOR).json()

        answer = read(quoting, job)

        assert answer["lines"] == quote["lines"]
        assert answer["limits"]["limit_with_tax"] == answer["limits"]["authorised_with_tax"] == quote["limit_with_tax"]
        assert answer["pot"] == {
            "contingency": quote["amounts"]["contingency"], "drawn": "0.00", "left": quote["amounts"]["contingency"],
        }  # fmt: skip
        assert [part["left"] for part in answer["hidden"]] == [part["allowance"] for part in quote["hidden"]]
        assert {part["drawn"]["extent"] for part in answer["hidden"]} == {"0.0000"}
        assert (answer["state"], answer["moves"], answer["late"]) == ("booked", ["opening_up", "cancelled"], False)

    def test_an_estimator_sees_no_cost_and_an_analyst_does(self, quoting: Quoting) -> None:
        job = booked(quoting)

        seen, known = read(quoting, job), read(quoting, job, ANALYST)

        assert "cost" not in seen["limits"]
        assert not [line for line in seen["lines"] if {"cost", "pack_price", "markup"} & {*line, *line["details"]}]
        assert Decimal(known["limits"]["cost"]) > 0

    def test_it_is_not_answered_again_to_whom_has_it(self, quoting: Quoting) -> None:
        job = booked(quoting)
        tag = quoting.office.get(f"jobs/{job.pk}")["ETag"]

        assert quoting.office.get(f"jobs/{job.pk}", headers={"If-None-Match": tag}).status_code == 304

    def test_another_shop_finds_nothing(self, quoting: Quoting, elsewhere: Office) -> None:
        job = booked(quoting)

        problem(elsewhere.get(f"jobs/{job.pk}"), 404)
        problem(elsewhere.post(f"jobs/{job.pk}/state", {"to": "opening_up"}, headers={"If-Match": "*"}), 404)
        assert elsewhere.get("jobs").json()["results"] == []

    def test_a_list_costs_as_many_queries_with_two_jobs_as_with_one(self, quoting: Quoting) -> None:
        booked(quoting)
        quoting.office.get("jobs")
        with CaptureQueriesContext(connection) as one:
            quoting.office.get("jobs")
        booked(quoting)
        with CaptureQueriesContext(connection) as two:
            quoting.office.get("jobs")

        assert len(two) == len(one)


class TestFilters:
    def test_a_job_is_late_after_its_promised_day_until_it_is_handed_over(self, quoting: Quoting) -> None:
        # Today is 2 March 2026 in the shop.
        late = booked(quoting, promised_on=date(2026, 3, 1))
        on_its_day = booked(quoting, promised_on=date(2026, 3, 2))
        gone = at_work(
            quoting, booked(quoting, promised_on=date(2026, 3, 1)), "opening_up", "rebuilding", "testing", "handed_over"
        )
        unpromised = booked(quoting)

        def found(query: str) -> list[int]:
            return [row["id"] for row in quoting.office.get(f"jobs?{query}").json()["results"]]

        assert found("late=true") == [late.pk]
        assert found("late=false") == [unpromised.pk, gone.pk, on_its_day.pk]
        assert found("state=handed_over") == [gone.pk]
        assert found(f"number={late.number}") == [late.pk]
        assert found(f"coach={quoting.coach}") == [unpromised.pk, gone.pk, on_its_day.pk, late.pk]
        assert found("coach=999999") == found("customer=999999") == found("fleet=999999") == []
        assert len(found("limit=1")) == 1
        problem(quoting.office.get("jobs?stat=booked"), 400)


class TestMoves:
    def test_a_job_is_opened_rebuilt_and_tested_by_hand(self, quoting: Quoting) -> None:
        job = booked(quoting)
        for to, after in (
            ("opening_up", ["rebuilding"]),
            ("rebuilding", ["testing"]),
            ("testing", ["rebuilding"]),
            ("rebuilding", ["testing"]),
        ):
            answer = move(quoting, job, to)
            assert answer.status_code == 200, answer.content.decode()
            assert (answer.json()["state"], answer.json()["moves"]) == (to, after)
        assert answer.json()["opened_on"] == "2026-03-02"

    @pytest.mark.parametrize("to", ["testing", "handed_over", "settled", "waiting", "stopped", "booked"])
    def test_no_other_move_follows_a_booking(self, quoting: Quoting, to: str) -> None:
        job = booked(quoting)

        assert problem(move(quoting, job, to, reason="why not"), 409)["code"] == "job_state"
        assert read(quoting, job)["state"] == "booked"

    def test_a_roof_that_the_plan_opens_is_opened_before_it_is_rebuilt(self, quoting: Quoting) -> None:
        words = problem(move(quoting, booked(quoting), "rebuilding"), 409)["detail"]

        assert "expected opening up before rebuilding" in words

    def test_a_plan_that_opens_nothing_goes_to_rebuilding_at_once(self, quoting: Quoting) -> None:
        job = booked(quoting, plan="reseal", measures=[])
        assert read(quoting, job)["moves"] == ["opening_up", "rebuilding", "cancelled"]

        assert move(quoting, job, "rebuilding").status_code == 200

    def test_nobody_makes_a_job_wait_or_go_on_by_hand(self, quoting: Quoting) -> None:
        job = at_work(quoting, booked(quoting), "opening_up")
        assert "change order" in problem(move(quoting, job, "waiting"), 409)["detail"]
        at_work(quoting, job, "waiting")

        assert read(quoting, job)["moves"] == []
        assert "change order" in problem(move(quoting, job, "opening_up"), 409)["detail"]

    def test_nobody_settles_by_hand(self, quoting: Quoting) -> None:
        job = at_work(quoting, booked(quoting), "opening_up", "rebuilding", "testing", "handed_over")

        assert "last bill" in problem(move(quoting, job, "settled"), 409)["detail"]

    def test_cancelling_needs_a_reason_and_no_billable_hours(self, quoting: Quoting) -> None:
        job = booked(quoting)
        assert problem(move(quoting, job, "cancelled"), 422)["code"] == "reason_missing"
        logged = log_hours(quoting, job, "2.5", line=1)
        assert problem(move(quoting, job, "cancelled", reason="the owner sells the coach"), 409)["code"] == "hours_logged"
        # Taken back, and what nobody quoted is not billable.
        log_hours(quoting, job, "-2.5", line=1, corrects=logged)
        log_hours(quoting, job, "1.0")

        answer = move(quoting, job, "cancelled", reason="the owner sells the coach").json()

        assert (answer["state"], answer["reason"], answer["closed_on"], answer["moves"]) == (
            "cancelled", "the owner sells the coach", "2026-03-02", [],
        )  # fmt: skip

    def test_an_old_version_moves_nothing(self, quoting: Quoting) -> None:
        job = booked(quoting)
        tag = quoting.office.get(f"jobs/{job.pk}")["ETag"]
        assert move(quoting, job, "opening_up").status_code == 200
        url, body = f"jobs/{job.pk}/state", {"to": "rebuilding"}

        problem(quoting.office.post(url, body, headers={"If-Match": tag}), 412)
        problem(quoting.office.post(url, body), 428)

    def test_an_analyst_moves_nothing(self, quoting: Quoting) -> None:
        problem(move(quoting, booked(quoting), "opening_up", ANALYST), 403)
