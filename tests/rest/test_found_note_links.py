"""A found note told by a link, on the small roof of DEVELOPERS.md section 1: a pot of 137.71, one frame exposed."""

import hashlib
import json
from typing import Any

import pytest

from api.accounts.models import OwnerLink
from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Consent, Job, ShownDocument
from tests.rest.consenting import amount, by_link
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body
from tests.rest.test_found_notes import PHOTOGRAPH, note, opened
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db


def link(small: SmallShop, job: Job, number: int = 1, **changes: Any) -> Any:
    body = {"sent_how": "message", **changes}
    role = body.pop("role", ESTIMATOR)
    return small.office.post(f"jobs/{job.pk}/found-notes/{number}/links", body, role=role)


def noted(small: SmallShop, extent: str = "0.5 each") -> Job:
    job = opened(small)
    assert note(small, job, extent, photographs=[PHOTOGRAPH], note="soft all round").status_code == 201
    return job


def yes(shown: Body) -> Body:
    return {
        "name": "Invented Owner",
        "options": [],
        "document_hash": shown["document_hash"],
        "limit_with_tax": amount("0.00"),
        "affirmed": True,
        "reviewed": True,
    }


def test_it_tells_what_was_found_and_what_is_left(small: SmallShop) -> None:
    job = noted(small)
    answer = by_link(link(small, job).json()["token"])

    assert answer.status_code == 200, answer.content.decode()
    read = answer.json()
    assert (read["kind"], read["state"], read["payer"], read["statement"], read["answers"]) == (
        "found_note", "told", "owner", "", [],
    )  # fmt: skip
    told = read["document"]
    # Half a frame: 0.5 x 87.711200 = 43.8556, 43.86; set-up 50.00; 93.86 of 137.71 leaves 43.85. Of the component's own
    # allowance of 41.32 that is 52.54 more.
    assert {name: told[name] for name in ("extent", "unit", "unit_price", "work", "set_up", "amount", "set_aside", "left")} == {
        "extent": "0.5000", "unit": "each", "unit_price": "87.711200", "work": "43.86", "set_up": "50.00", "amount": "93.86",
        "set_aside": "137.71", "left": "43.85",
    }  # fmt: skip
    (own,) = told["left_by_component"]
    assert (own["component"], own["left"], own["words"]) == ("opening_frame", "-52.54", told["words"])
    assert told["words"]
    assert (told["photographs"], told["note"], told["number"], told["takes_back"]) == ([PHOTOGRAPH], "soft all round", 1, None)
    assert (answer["Cache-Control"], answer["Referrer-Policy"]) == ("no-store", "no-referrer")
    text = json.dumps(told, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    assert hashlib.sha256(text.encode()).hexdigest() == read["document_hash"]


def test_it_asks_for_no_answer_and_reading_it_is_evidence_of_nothing(small: SmallShop) -> None:
    job = noted(small)
    made = link(small, job).json()
    read = by_link(made["token"]).json()

    assert problem(by_link(made["token"], "/acceptance", yes(read)), 409)["code"] == "only_told"
    refused = by_link(made["token"], "/refusal", {"name": "Invented Owner", "reason": "No."})
    assert problem(refused, 409)["code"] == "only_told"
    assert problem(by_link(made["token"], query="?options=repair"), 422)["code"] == "not_offered"

    (listed,) = small.office.get(f"jobs/{job.pk}/found-notes/1/links", role=ANALYST).json()["results"]
    assert (listed["reads"], listed["token"], listed["document"]) == (1, None, "found_note")
    with small.office.scope():
        assert not Consent.objects.for_shop(small.shop).filter(link_id=made["id"]).exists()
        kept = ShownDocument.objects.for_shop(small.shop).get(hash=read["document_hash"])
    assert (kept.document, kept.contents) == ("found_note", read["document"])
    assert small.office.get(f"documents/{read['document_hash']}").json()["document"] == read["document"]


def test_later_notes_do_not_change_what_an_earlier_one_told(small: SmallShop) -> None:
    job = noted(small)
    token = link(small, job).json()["token"]
    before = by_link(token).json()
    assert note(small, job, "0.4 each").status_code == 201

    assert by_link(token).json() == before


def test_a_note_that_was_taken_back_is_gone_and_the_correction_is_told(small: SmallShop) -> None:
    job = noted(small)
    token = link(small, job).json()["token"]
    assert small.office.post(f"jobs/{job.pk}/found-notes/1/correction", {"reason": "Another frame."}).status_code == 201

    assert problem(by_link(token), 410)["code"] == "document_withdrawn"
    assert problem(by_link(token, "/refusal", {"name": "x", "reason": "x"}), 410)["code"] == "document_withdrawn"
    assert problem(link(small, job), 409)["code"] == "corrected_before"
    told = by_link(link(small, job, 2).json()["token"]).json()["document"]
    assert (told["takes_back"], told["amount"], told["left"], told["note"]) == (1, "-93.86", "137.71", "Another frame.")


def test_a_link_that_is_over_says_so_as_others_do(small: SmallShop) -> None:
    job = noted(small)
    made = link(small, job).json()
    # 2 March and 30 days.
    assert made["expires"].startswith("2026-04-01")
    OwnerLink.objects.update(document_hash="0" * 64)
    assert problem(by_link(made["token"]), 410)["code"] == "document_changed"
    small.office.post(f"links/{made['id']}/revocation", {})
    assert problem(by_link(made["token"]), 410)["code"] == "link_revoked"
    expired = link(small, job, days=1).json()
    OwnerLink.objects.filter(pk=expired["id"]).update(created="2026-01-01T00:00:00Z", expires="2026-01-02T00:00:00Z")
    assert problem(by_link(expired["token"]), 410)["code"] == "link_expired"


def test_it_is_made_by_the_office_for_a_payer_of_the_job_and_once(small: SmallShop, elsewhere: Office) -> None:
    job = noted(small)
    path = f"jobs/{job.pk}/found-notes/1/links"

    assert problem(link(small, job, role=ANALYST), 403)["code"] == "role_not_allowed"
    assert places(link(small, job, payer="insurer")) == {"#/payer": "no_such_payer"}
    assert places(link(small, job, sent_how="pigeon")) == {"#/sent_how": "unknown_choice"}
    assert problem(link(small, job, 2), 404)["code"] == "not_found"
    for answer in (elsewhere.get(path), elsewhere.post(path, {"sent_how": "email"})):
        assert problem(answer, 404)["code"] == "not_found"
    first, again = (small.office.post(path, {"sent_how": "email"}, headers={"Idempotency-Key": "k"}) for _ in range(2))
    assert {**first.json(), "token": None} == again.json()
    assert OwnerLink.objects.count() == 1
