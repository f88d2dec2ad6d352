"""Moving the day that a coach is promised for: asked, answered over the desk or by a link, and never without a consent."""

from datetime import date
from typing import Any

import pytest

from quotes.models import Job
from tests.rest.consenting import AT, by_link, consents, yes
from tests.rest.office import problem
from tests.rest.quoting import Body, Clock, Quoting
from tests.rest.working import at_work, booked

PROMISED = date(2026, 4, 1)


@pytest.fixture(autouse=True)
def today(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.rest.promises.timezone", clock)


@pytest.fixture
def job(quoting: Quoting) -> Job:
    return booked(quoting, promised_on=PROMISED, plan="reseal", measures=[])


def propose(quoting: Quoting, job: Job, day: str = "2026-04-10", **kwargs: Any) -> Any:
    body = {"day": day, "reason": "The board comes a week late."}
    return quoting.office.post(f"jobs/{job.pk}/promised-date", body, **kwargs)


def proposed(quoting: Quoting, job: Job, day: str = "2026-04-10") -> Body:
    answer = propose(quoting, job, day)
    assert answer.status_code == 201, answer.content.decode()
    found: Body = answer.json()
    return found


def said(**changes: Any) -> Body:
    return {"manner": "oral", "name": "Invented Owner", "contact": "555 0100", "at": AT, **changes}


def accept(quoting: Quoting, job: Job, proposal: Body, **changes: Any) -> Any:
    body = said(document_hash=proposal["document_hash"], **changes)
    return quoting.office.post(f"jobs/{job.pk}/promised-date/{proposal['id']}/acceptance", body)


def promised(quoting: Quoting, job: Job) -> str:
    day: str = quoting.office.get(f"jobs/{job.pk}").json()["promised_on"]
    return day


def test_another_day_holds_once_the_owner_has_consented_and_not_before(quoting: Quoting, job: Job) -> None:
    before = quoting.office.get(f"jobs/{job.pk}").json()
    proposal = proposed(quoting, job)
    assert (proposal["state"], proposal["before"], proposal["day"], proposal["number"]) == (
        "waiting", "2026-04-01", "2026-04-10", 1,
    )  # fmt: skip
    assert proposal["document"]["promised_before"] == "2026-04-01"
    assert promised(quoting, job) == "2026-04-01"
    answer = accept(quoting, job, proposal)
    assert answer.status_code == 201, answer.content.decode()
    assert (answer.json()["state"], promised(quoting, job)) == ("accepted", "2026-04-10")
    after = quoting.office.get(f"jobs/{job.pk}").json()
    assert after["authorised_with_tax"] == before["authorised_with_tax"]
    chain = consents(quoting, before["quote"])
    assert chain["intact"]
    record = chain["consents"][-1]
    assert (record["id"], record["document"], record["manner"], record["promised_on"], record["job"]) == (
        answer.json()["consent"], "date", "oral", "2026-04-10", job.pk,
    )  # fmt: skip
    assert (record["amount"], record["limit_with_tax"]) == ("0.00", after["authorised_with_tax"])


def test_an_owners_no_leaves_the_day_that_was_promised(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    path = f"jobs/{job.pk}/promised-date/{proposal['id']}"
    body = said(reason="We leave on the third.")
    answer = quoting.office.post(f"jobs/{job.pk}/promised-date/{proposal['id']}/refusal", body)
    assert (answer.status_code, answer.json()["state"]) == (201, "declined")
    assert promised(quoting, job) == "2026-04-01"
    assert problem(accept(quoting, job, proposal), 409)["code"] == "date_proposal_state"
    assert quoting.office.get(path).json()["state"] == "declined"


def test_a_day_is_accepted_by_a_link_and_the_read_is_no_answer(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    path = f"jobs/{job.pk}/promised-date/{proposal['id']}/links"
    link = quoting.office.post(path, {"sent_how": "email"}).json()
    shown = by_link(link["token"]).json()
    assert (shown["kind"], shown["state"], shown["document_hash"]) == ("date", "waiting", proposal["document_hash"])
    assert promised(quoting, job) == "2026-04-01"
    other = problem(
        by_link(link["token"], "/acceptance", yes(shown, limit_with_tax={"amount": "1.00", "currency": "USD"})), 409
    )
    assert other["code"] == "other_amount"
    answer = by_link(link["token"], "/acceptance", yes(shown))
    assert answer.status_code == 201, answer.content.decode()
    assert (answer.json()["state"], promised(quoting, job)) == ("accepted", "2026-04-10")
    assert quoting.office.get(path).json()["results"][0]["reads"] == 1


def test_an_owner_declines_by_a_link(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    link = quoting.office.post(f"jobs/{job.pk}/promised-date/{proposal['id']}/links", {"sent_how": "email"}).json()
    answer = by_link(link["token"], "/refusal", {"name": "Invented Owner", "reason": "Too late."})
    assert (answer.status_code, answer.json()["state"]) == (201, "declined")


def test_a_newer_proposal_takes_the_place_of_one_that_waits(quoting: Quoting, job: Job) -> None:
    first = proposed(quoting, job)
    link = quoting.office.post(f"jobs/{job.pk}/promised-date/{first['id']}/links", {"sent_how": "email"}).json()
    second = proposed(quoting, job, "2026-04-20")
    assert second["number"] == 2
    assert problem(by_link(link["token"]), 410)["code"] == "document_superseded"
    assert problem(accept(quoting, job, first), 409)["code"] == "date_proposal_state"
    listed = quoting.office.get(f"jobs/{job.pk}/promised-date").json()["results"]
    assert [(row["number"], row["state"]) for row in listed] == [(2, "waiting"), (1, "superseded")]


def test_a_proposal_is_taken_back(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    answer = quoting.office.post(f"jobs/{job.pk}/promised-date/{proposal['id']}/withdrawal", {})
    assert (answer.status_code, answer.json()["state"]) == (201, "withdrawn")
    assert problem(accept(quoting, job, proposal), 409)["code"] == "date_proposal_state"


@pytest.mark.parametrize("day", ["2026-03-01", "2026-04-01"])
def test_a_day_that_is_over_or_promised_already_is_refused(quoting: Quoting, job: Job, day: str) -> None:
    assert problem(propose(quoting, job, day), 422)["code"] == "bad_promised_date"


def test_a_consent_to_another_document_is_refused(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    assert problem(accept(quoting, job, {**proposal, "document_hash": "0" * 64}), 409)["code"] == "other_document"


def test_a_consent_is_not_given_before_it_was_asked_for(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    refused = problem(accept(quoting, job, proposal, at="2026-03-02T14:00:00+00:00"), 422)
    assert refused["code"] == "bad_consent_time"


def test_nothing_is_promised_once_the_coach_is_handed_over(quoting: Quoting, job: Job) -> None:
    proposal = proposed(quoting, job)
    at_work(quoting, job, "rebuilding", "testing", "handed_over")
    assert problem(propose(quoting, job, "2026-05-01"), 409)["code"] == "job_state"
    assert problem(accept(quoting, job, proposal), 409)["code"] == "job_state"


def test_a_job_past_its_day_is_late_until_the_owner_consents_to_another(quoting: Quoting, clock: Clock) -> None:
    job = booked(quoting, promised_on=date(2026, 3, 4), plan="reseal", measures=[])
    assert quoting.office.get("jobs?late=true").json()["results"] == []
    clock.turn(days=3)
    assert [row["id"] for row in quoting.office.get("jobs?late=true").json()["results"]] == [job.pk]
    proposal = proposed(quoting, job)
    assert accept(quoting, job, proposal, at=clock.moment.isoformat()).status_code == 201
    assert quoting.office.get("jobs?late=true").json()["results"] == []


def test_analysts_read_and_propose_nothing(quoting: Quoting, job: Job) -> None:
    assert problem(propose(quoting, job, role="analyst"), 403)["code"] == "role_not_allowed"
    assert quoting.office.get(f"jobs/{job.pk}/promised-date", role="analyst").status_code == 200


def test_proposing_twice_with_one_key_proposes_once(quoting: Quoting, job: Job) -> None:
    answers = [propose(quoting, job, headers={"Idempotency-Key": "one"}) for _ in range(2)]
    assert answers[0].json() == answers[1].json()
    assert len(quoting.office.get(f"jobs/{job.pk}/promised-date").json()["results"]) == 1
