"""Why a closed job ended where it did: bridges, luck and look, steps that land on the amounts, and signatures."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from quotes.models import Job, Review
from tests.rest.office import Office, problem
from tests.rest.quoting import Quoting
from tests.rest.reviewing import as_planned, closed, component, drawn, logged, opened
from tests.rest.working import booked

pytestmark = pytest.mark.django_db
D = Decimal
SIGNED = {"cause": "labour_yield", "action": "Plan two more hours for the rear cap."}


@pytest.fixture
def job(quoting: Quoting) -> Job:
    """A closed job with a draw, dearer hours and a subcontractor."""
    job = booked(quoting)
    as_planned(quoting, job, dearer="1.1")
    drawn(quoting, job, D(1))
    logged(quoting, job, kind="subcontract", cost=D("75.00"))
    closed(quoting, job)
    return job


def review(quoting: Quoting, job: Job, path: str = "", role: str = ANALYST) -> dict[str, Any]:
    answer = quoting.office.get(f"jobs/{job.pk}/review{path}", role=role)
    assert answer.status_code == 200, answer.content
    found: dict[str, Any] = answer.json()
    return found


def sign(quoting: Quoting, job: Job, body: object = SIGNED, step: str = "sign-off", **kwargs: Any) -> Any:
    tag = quoting.office.get(f"jobs/{job.pk}/review")["ETag"]
    kwargs.setdefault("headers", {"If-Match": tag})
    return quoting.office.post(f"jobs/{job.pk}/review/{step}", body, **{"role": ANALYST, **kwargs})


@pytest.mark.parametrize("name", ["bill", "cost", "margin"])
def test_every_bridge_adds_up_and_every_cause_lands_on_its_amount(quoting: Quoting, job: Job, name: str) -> None:
    shown, why = review(quoting, job)[name], review(quoting, job, "/why")[name]
    assert D(shown["start"]) + sum(D(cause["amount"]) for cause in shown["causes"]) == D(shown["end"])
    assert [cause["amount"] for cause in why["causes"]] == [cause["amount"] for cause in shown["causes"]]
    for cause in why["causes"]:
        assert sum(D(step["difference"]) for step in cause["steps"]) == D(cause["amount"])
        for step in cause["steps"]:
            assert D(step["actual"]) - D(step["standard"]) == D(step["difference"])


def test_a_review_ends_at_the_bill_and_at_the_cost(quoting: Quoting, job: Job) -> None:
    found = review(quoting, job)
    facts = found["facts"]
    assert found["bill"]["end"] == facts["billed_with_tax"]
    assert (found["cost"]["start"], found["cost"]["end"]) == (facts["planned_cost"], facts["actual_cost"])
    assert D(found["margin"]["end"]) == D(facts["billed"]) - D(facts["actual_cost"])
    assert facts["over_budget"] is (D(facts["actual_cost"]) > D(facts["planned_cost"]))
    subcontract = next(cause for cause in found["cost"]["causes"] if cause["cause"] == "subcontract")
    assert subcontract["amount"] == "75.00"


def cuts(quoting: Quoting, job: Job) -> dict[str, dict[str, str]]:
    return {cut["cut"]: cut for cut in review(quoting, job)["third_cut"]}


def test_rot_inside_the_range_is_luck(quoting: Quoting, job: Job) -> None:
    found, facts = cuts(quoting, job), review(quoting, job)["facts"]
    assert found["look"]["amount"] == "0.00"
    # One unit and the set-up were drawn, and nothing was measured, so what was done counts as found.
    assert D(found["luck"]["amount"]) == D(facts["hidden_done"]) - D(facts["allowance"])


def test_rot_that_only_a_worse_tier_would_have_held_is_look(quoting: Quoting) -> None:
    job = booked(quoting)
    part = component(quoting, job)
    # All of what most is expected of is rotten, and as much again of its set-up: beyond what was set aside.
    whole = str(part.exposure)
    opened(quoting, job, opened=whole, found=whole)
    row = closed(quoting, job)
    found = cuts(quoting, job)
    assert D(found["luck"]["amount"]) + D(found["look"]["amount"]) == row.hidden_measured - row.allowance
    if row.hidden_measured > row.contingency:
        assert D(found["look"]["amount"]) > 0
        assert "opened, the roof was" in found["look"]["sentence"]
    else:
        assert found["look"]["amount"] == "0.00"


def test_an_analyst_signs_a_review_off_and_reopens_it(quoting: Quoting, job: Job) -> None:
    assert review(quoting, job)["review"]["state"] == "open"
    signed = sign(quoting, job)
    assert signed.status_code == 200
    told = signed.json()["review"]
    assert (told["state"], told["cause"], told["action"]) == ("signed_off", SIGNED["cause"], SIGNED["action"])
    assert told["signed_at"]
    assert problem(sign(quoting, job), 409)["code"] == "review_state"
    again = sign(quoting, job, {"reason": "the supplier sent a credit note"}, "reopening")
    told = again.json()["review"]
    assert (told["state"], told["cause"], told["reason"]) == ("open", "", "the supplier sent a credit note")
    assert problem(sign(quoting, job, {"reason": "again"}, "reopening"), 409)["code"] == "review_state"
    with quoting.office.scope():
        events = Review.pgh_event_model.objects.for_shop(quoting.shop)  # type: ignore[attr-defined]
        kept = list(events.order_by("pgh_id").values_list("state", "cause"))
    assert kept == [("open", ""), ("signed_off", SIGNED["cause"]), ("open", "")]


def test_a_signature_is_outdated_when_the_books_are_closed_again(quoting: Quoting, job: Job) -> None:
    assert sign(quoting, job).json()["review"]["outdated"] is False
    logged(quoting, job, kind="subcontract", cost=D("10.00"))
    closed(quoting, job, why="late_entry")
    found = review(quoting, job)
    assert (found["review"]["state"], found["review"]["outdated"], found["facts"]["seq"]) == ("signed_off", True, 2)


@pytest.mark.parametrize("step", ["sign-off", "reopening"])
@pytest.mark.parametrize("role", [ESTIMATOR, MANAGER])
def test_only_analysts_sign(quoting: Quoting, job: Job, step: str, role: str) -> None:
    assert sign(quoting, job, step=step, role=role).status_code == 403


def test_managers_read_reviews_and_estimators_do_not(quoting: Quoting, job: Job) -> None:
    assert review(quoting, job, role=MANAGER)["job"] == job.pk
    for path in ("", "/why"):
        assert quoting.office.get(f"jobs/{job.pk}/review{path}", role=ESTIMATOR).status_code == 403


def test_a_signature_wants_the_version_that_was_read(quoting: Quoting, job: Job) -> None:
    assert problem(sign(quoting, job, headers={}), 428)["code"] == "if_match_missing"
    assert problem(sign(quoting, job, headers={"If-Match": '"v9"'}), 412)["code"] == "version_mismatch"


@pytest.mark.parametrize("body", [{"cause": "bad", "action": "x"}, {"cause": "other"}, {"cause": "other", "action": ""}, {}])
def test_a_signature_without_cause_or_action_is_refused(quoting: Quoting, job: Job, body: object) -> None:
    assert problem(sign(quoting, job, body), 422)["code"] == "invalid_input"


def test_there_is_no_review_before_the_books_are_closed(quoting: Quoting, elsewhere: Office, job: Job) -> None:
    unsettled = booked(quoting)
    for path in ("review", "review/why"):
        assert quoting.office.get(f"jobs/{unsettled.pk}/{path}").status_code == 404
        assert elsewhere.get(f"jobs/{job.pk}/{path}").status_code == 404
    for step in ("sign-off", "reopening"):
        answer = quoting.office.post(f"jobs/{unsettled.pk}/review/{step}", SIGNED, role=ANALYST, headers={"If-Match": "*"})
        assert answer.status_code == 404


def test_a_review_takes_a_constant_number_of_queries(quoting: Quoting, job: Job) -> None:
    with CaptureQueriesContext(connection) as seen:
        review(quoting, job)
    # Token and its use, shop, scope (opened, bound), books, review, components, quote, measured, options, scope closed.
    assert len(seen) <= 14
