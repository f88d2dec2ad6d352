"""The offer of a fleet is answered as a whole: a consent and a job for each coach."""

from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST
from quotes.models import Consent, Fleet, Job
from tests.rest.consenting import AT, acceptance, amount, consents, document, post, refusal
from tests.rest.fleets import Fleeting
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Clock, Quoting

pytestmark = pytest.mark.django_db


@pytest.fixture
def fleeting(quoting: Quoting) -> Fleeting:
    return Fleeting(quoting)


def issued(fleeting: Fleeting, *, payers: Body | None = None) -> Body:
    fleet = fleeting.draft()
    if payers is not None:
        for coach in fleet["coaches"][:1]:
            saved = fleeting.office.change(f"quotes/{coach['quote']}/payers", payers, method="PUT")
            assert saved.status_code == 200, saved.content.decode()
    tag = fleeting.office.get(f"fleets/{fleet['id']}")["ETag"]
    answer = fleeting.office.post(f"fleets/{fleet['id']}/issue", {}, headers={"If-Match": tag})
    assert answer.status_code == 200, answer.content.decode()
    found: Body = answer.json()
    return found


def paper(fleeting: Fleeting, fleet: Body) -> Body:
    answer = fleeting.office.get(f"fleets/{fleet['id']}/document")
    assert answer.status_code == 200, answer.content.decode()
    found: Body = answer.json()
    return found


def body(fleeting: Fleeting, fleet: Body, payer: str = "owner", **changes: Any) -> Body:
    shown = paper(fleeting, fleet)
    (limit,) = [row["limit_with_tax"] for row in shown["document"]["payers"] if row["payer"] == payer]
    return {
        "manner": "written",
        "name": "Invented Fleet Manager",
        "at": AT,
        "old_parts": "discard",
        "payer": payer,
        "document_hash": shown["document_hash"],
        "limit_with_tax": amount(limit),
        **changes,
    }


def accept(fleeting: Fleeting, fleet: Body, **changes: Any) -> Any:
    return post(fleeting.quoting, f"fleets/{fleet['id']}/acceptance", body(fleeting, fleet, **changes))


def test_every_coach_gets_a_consent_and_a_job_of_its_own(fleeting: Fleeting) -> None:
    fleet = issued(fleeting)
    answer = accept(fleeting, fleet, promised_on="2026-05-01")
    assert answer.status_code == 201, answer.content.decode()
    done = answer.json()
    assert (done["fleet"], done["state"]) == (fleet["id"], "accepted")
    assert [(one["place"], one["state"]) for one in done["coaches"]] == [(1, "accepted"), (2, "accepted"), (3, "accepted")]
    with fleeting.office.scope():
        jobs = {job.pk: job for job in Job.objects.for_shop(fleeting.quoting.shop)}
        assert Consent.objects.for_shop(fleeting.quoting.shop).count() == 3
    for one, coach in zip(done["coaches"], fleet["coaches"], strict=True):
        job = jobs[one["job"]]
        assert (job.quote_id, str(job.promised_on)) == (coach["quote"], "2026-05-01")
        # What each coach's own quote says, rounded by itself: the lot's own rounding is of a bill that nobody gets.
        assert job.authorised_with_tax == Decimal(coach["limit_with_tax"])
        assert one["consent"]["document_hash"] == document(fleeting.quoting, coach["quote"])["document_hash"]
        assert one["consent"]["said"]["fleet"] == fleet["id"]
        assert consents(fleeting.quoting, coach["quote"])["intact"]
    assert fleeting.office.get(f"fleets/{fleet['id']}").json()["state"] == "accepted"


def test_the_document_adds_the_coaches_up_and_names_each_by_its_hash(fleeting: Fleeting) -> None:
    fleet = issued(fleeting)
    shown = paper(fleeting, fleet)["document"]
    total = sum(Decimal(coach["limit_with_tax"]) for coach in fleet["coaches"])
    assert next(iter(shown.items())) == ("limit_with_tax", f"{total:.2f}")
    hashes = [document(fleeting.quoting, coach["quote"])["document_hash"] for coach in fleet["coaches"]]
    assert [coach["document_hash"] for coach in shown["coaches"]] == hashes


def test_what_was_accepted_of_it_is_kept(fleeting: Fleeting) -> None:
    fleet = issued(fleeting)
    shown = paper(fleeting, fleet)
    assert accept(fleeting, fleet).status_code == 201
    assert fleeting.office.get(f"documents/{shown['document_hash']}").json() == shown


def test_one_coach_alone_is_answered_with_the_others(fleeting: Fleeting) -> None:
    fleet = issued(fleeting)
    quote_id = fleet["coaches"][0]["quote"]
    sent = {"acceptance": acceptance(fleeting.quoting, quote_id), "refusal": refusal(), "withdrawal": {"reason": "x"}}
    for way, what in sent.items():
        assert problem(post(fleeting.quoting, f"quotes/{quote_id}/{way}", what), 409)["code"] == "fleet_member"


@pytest.mark.parametrize(
    ("changes", "status", "code"),
    [
        ({"document_hash": "0" * 64}, 409, "other_document"),
        ({"limit_with_tax": amount("1.00")}, 409, "other_amount"),
        ({"at": "2026-03-02T14:00:00Z"}, 422, "bad_consent_time"),
    ],
)
def test_a_refusal_leaves_all_of_them_as_they_were(fleeting: Fleeting, changes: Body, status: int, code: str) -> None:
    fleet = issued(fleeting)
    assert problem(accept(fleeting, fleet, **changes), status)["code"] == code
    with fleeting.office.scope():
        assert not Job.objects.for_shop(fleeting.quoting.shop).exists()
        assert not Consent.objects.for_shop(fleeting.quoting.shop).exists()


def test_a_payer_of_none_of_its_coaches(fleeting: Fleeting) -> None:
    fleet = issued(fleeting)
    refused = post(fleeting.quoting, f"fleets/{fleet['id']}/acceptance", {**body(fleeting, fleet), "payer": "insurer"})
    assert places(refused) == {"#/payer": "no_such_payer"}


def test_after_the_last_day(fleeting: Fleeting, clock: Clock) -> None:
    fleet = issued(fleeting)
    clock.turn(days=31)
    assert problem(accept(fleeting, fleet), 409)["code"] == "offer_expired"


def test_a_draft_and_what_was_answered(fleeting: Fleeting) -> None:
    draft, fleet = fleeting.draft(label="Another"), issued(fleeting)
    assert problem(fleeting.office.get(f"fleets/{draft['id']}/document"), 409)["code"] == "quote_state"
    sent = body(fleeting, fleet)
    assert problem(post(fleeting.quoting, f"fleets/{draft['id']}/acceptance", sent), 409)["code"] == "quote_state"
    assert accept(fleeting, fleet).status_code == 201
    for way, what in {"acceptance": sent, "refusal": refusal(), "withdrawal": {"reason": "x"}}.items():
        assert problem(post(fleeting.quoting, f"fleets/{fleet['id']}/{way}", what), 409)["code"] == "quote_state"


def test_a_payer_of_one_coach_holds_that_coach_only(fleeting: Fleeting) -> None:
    rules = [{"by": "everything", "of": "", "payer": "insurer", "cause": "storm"}]
    fleet = issued(fleeting, payers={"payers": [{"label": "insurer", "kind": "insurer"}], "rules": rules})
    first = accept(fleeting, fleet).json()
    assert first["state"] == "issued"
    assert [(one["state"], one["waits_for"]) for one in first["coaches"]] == [
        ("issued", ["insurer"]), ("accepted", []), ("accepted", []),
    ]  # fmt: skip
    # Of what is booked nothing is taken back.
    assert problem(post(fleeting.quoting, f"fleets/{fleet['id']}/withdrawal", {"reason": "x"}), 409)["code"] == "quote_state"
    second = accept(fleeting, fleet, payer="insurer").json()
    assert (second["state"], [one["place"] for one in second["coaches"]]) == ("accepted", [1])


def test_declined_and_withdrawn_as_a_whole(fleeting: Fleeting) -> None:
    fleet, other = issued(fleeting), issued(fleeting)
    answer = post(fleeting.quoting, f"fleets/{fleet['id']}/refusal", refusal())
    assert (answer.status_code, answer.json()["state"]) == (201, "declined")
    assert [one["state"] for one in answer.json()["coaches"]] == ["declined"] * 3
    answer = post(fleeting.quoting, f"fleets/{other['id']}/withdrawal", {"reason": "No bay."})
    assert (answer.status_code, answer.json()["state"]) == (200, "withdrawn")
    assert [one["state"] for one in answer.json()["coaches"]] == ["withdrawn"] * 3
    with fleeting.office.scope():
        assert set(Fleet.objects.for_shop(fleeting.quoting.shop).values_list("state", flat=True)) == {"declined", "withdrawn"}


def test_who_may(fleeting: Fleeting, elsewhere: Office) -> None:
    fleet = issued(fleeting)
    sent = {"acceptance": body(fleeting, fleet), "refusal": refusal(), "withdrawal": {"reason": "x"}}
    for way, what in sent.items():
        path = f"fleets/{fleet['id']}/{way}"
        assert problem(post(fleeting.quoting, path, what, role=ANALYST), 403)["code"] == "role_not_allowed"
        assert problem(elsewhere.post(path, what, headers={"If-Match": "*"}), 404)["code"] == "not_found"
        assert problem(fleeting.office.post(path, what), 428)["code"] == "if_match_missing"
    assert fleeting.office.get(f"fleets/{fleet['id']}/document", role=ANALYST).status_code == 200
    assert problem(elsewhere.get(f"fleets/{fleet['id']}/document"), 404)["code"] == "not_found"
