"""What an owner can do with a link, and nobody without one."""

import hashlib
import json
from datetime import datetime
from typing import Any

import pytest

from api.accounts.models import OwnerLink
from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.calc.consent import ELECTRONIC
from quotes.models import Consent, ConsentGiver, Job
from tests.rest.consenting import SMALL, accept, amount, by_link, consents, document, make_link, post, refusal, yes
from tests.rest.fleets import Fleeting
from tests.rest.office import Office, places, problem
from tests.rest.quoting import MEASURES, Body, Clock, Quoting, entry

pytestmark = pytest.mark.django_db


@pytest.fixture
def quote(quoting: Quoting) -> Body:
    return quoting.issued(**SMALL)


@pytest.fixture
def token(quoting: Quoting, quote: Body) -> str:
    return str(make_link(quoting, quote["id"])["token"])


def links(quoting: Quoting, quote_id: int, **kwargs: Any) -> list[Body]:
    found: list[Body] = quoting.office.get(f"quotes/{quote_id}/links", **kwargs).json()["results"]
    return found


class TestReading:
    def test_the_document_comes_with_its_hash_and_the_statement(self, quoting: Quoting, quote: Body, token: str) -> None:
        answer = by_link(token)
        read = answer.json()
        assert {name: read[name] for name in ("document", "document_hash")} == document(quoting, quote["id"])
        assert (read["kind"], read["state"], read["payer"], read["answers"]) == ("quote", "issued", "owner", [])
        assert read["statement"] == ELECTRONIC
        assert (answer["Cache-Control"], answer["Referrer-Policy"]) == ("no-store", "no-referrer")

    def test_whoever_has_the_document_can_work_its_hash_out(self, token: str) -> None:
        read = by_link(token).json()
        text = json.dumps(read["document"], sort_keys=True, separators=(",", ":"), ensure_ascii=False)
        assert hashlib.sha256(text.encode()).hexdigest() == read["document_hash"]

    def test_it_shows_what_ticking_comes_to(self, quoting: Quoting) -> None:
        asked = [*(dict(one) for one in MEASURES), entry("solar_prep_count", 2)]
        quote = quoting.issued(measures=asked, offered=["solar-prep"])
        token = make_link(quoting, quote["id"])["token"]
        read = by_link(token, query="?options=solar-prep").json()
        assert read["document"]["ticked"] == ["solar-prep"]
        assert read["document_hash"] == document(quoting, quote["id"], "solar-prep")["document_hash"]
        assert problem(by_link(token, query="?options=paint-match"), 422)["code"] == "not_offered"
        done = by_link(token, "/acceptance", yes(read, "solar-prep"))
        assert done.json()["state"] == "accepted"
        with quoting.office.scope():
            assert Job.objects.for_shop(quoting.shop).get().options == ["solar-prep"]

    def test_it_is_counted_for_the_shop_and_is_no_evidence(
        self, quoting: Quoting, quote: Body, token: str, clock: Clock
    ) -> None:
        assert (links(quoting, quote["id"])[0]["reads"], links(quoting, quote["id"])[0]["last_read"]) == (0, None)
        for _ in range(3):
            by_link(token)
        (link,) = links(quoting, quote["id"])
        assert (link["reads"], datetime.fromisoformat(link["last_read"])) == (3, clock.moment)
        assert consents(quoting, quote["id"])["consents"] == []
        # Nor does the record of a consent say how often anybody has read.
        assert by_link(token, "/acceptance", yes(by_link(token).json())).status_code == 201
        (record,) = consents(quoting, quote["id"])["consents"]
        assert set(record["said"]) == {
            "link_sent", "old_parts", "options", "part_with_tax", "reviewed", "statement", "terms",
        }  # fmt: skip

    def test_a_refused_read_is_not_counted(self, quoting: Quoting, quote: Body, token: str) -> None:
        assert problem(by_link(token, query="?options=a,a"), 400)["code"] == "bad_parameter"
        assert links(quoting, quote["id"])[0]["reads"] == 0


class TestAccepting:
    def test_it_is_an_electronic_consent_with_everything_it_has_to_say(
        self, quoting: Quoting, quote: Body, token: str, clock: Clock
    ) -> None:
        clock.turn(hours=20)
        read = by_link(token).json()
        answer = by_link(token, "/acceptance", yes(read), agent="Invented Browser 7")
        done = answer.json()
        assert (answer.status_code, done["state"], done["outcome"], done["waits_for"]) == (201, "accepted", "accepted", [])
        listed = consents(quoting, quote["id"])
        (record,) = listed["consents"]
        assert listed["intact"]
        assert (record["manner"], record["received_by"], record["hash"]) == ("electronic", None, done["hash"])
        assert record["link"] == links(quoting, quote["id"])[0]["id"]
        assert record["limit_with_tax"] == quote["limit_with_tax"]
        assert datetime.fromisoformat(record["at"]) == clock.moment
        said = record["said"]
        assert (said["statement"], said["reviewed"], said["link_sent"], said["old_parts"]) == (
            ELECTRONIC,
            True,
            "email",
            "keep",
        )
        assert record["giver"] == {
            "name": "Invented Owner",
            "contact": "",
            "address": "127.0.0.1",
            "agent": "Invented Browser 7",
            "erased_at": None,
        }

    def test_what_was_signed_can_be_read_again_and_not_signed_again(self, token: str) -> None:
        read = by_link(token).json()
        done = by_link(token, "/acceptance", yes(read)).json()
        again = by_link(token).json()
        assert (again["document"], again["document_hash"]) == (read["document"], read["document_hash"])
        assert (again["state"], again["answers"]) == (
            "accepted",
            [{"outcome": "accepted", "at": done["at"], "document_hash": read["document_hash"], "hash": done["hash"]}],
        )
        assert problem(by_link(token, "/acceptance", yes(read, old_parts="discard")), 409)["code"] == "quote_state"

    @pytest.mark.parametrize(
        ("changes", "fault"),
        [
            ({"affirmed": False}, {"#/affirmed": "not_affirmed"}),
            ({"reviewed": False}, {"#/reviewed": "not_affirmed"}),
            ({"affirmed": "yes"}, {"#/affirmed": "not_flag"}),
            ({"name": " "}, {"#/name": "blank"}),
            ({"options": ["a", "a"]}, {"#/options/1": "said_twice"}),
            ({"payer": "insurer"}, {"#/payer": "unknown_field"}),
            ({"at": "2020-01-01T00:00:00Z"}, {"#/at": "unknown_field"}),
        ],
    )
    def test_what_does_not_fit_is_refused_at_its_place(self, token: str, changes: Body, fault: dict[str, str]) -> None:
        read = by_link(token).json()
        assert places(by_link(token, "/acceptance", yes(read, **changes))) == fault

    def test_another_document_and_another_amount(self, quoting: Quoting, token: str) -> None:
        read = by_link(token).json()
        refused = by_link(token, "/acceptance", yes(read, document_hash="0" * 64))
        assert problem(refused, 409)["code"] == "other_document"
        refused = by_link(token, "/acceptance", yes(read, limit_with_tax=amount("1.00")))
        assert problem(refused, 409)["code"] == "other_amount"
        with quoting.office.scope():
            assert not Consent.objects.for_shop(quoting.shop).exists()
            assert not ConsentGiver.objects.for_shop(quoting.shop).exists()

    def test_a_payers_link_answers_for_that_payer(self, quoting: Quoting) -> None:
        draft = quoting.draft(**SMALL).json()
        body = {
            "payers": [{"label": "insurer", "kind": "insurer"}],
            "rules": [{"by": "everything", "of": "", "payer": "insurer", "cause": "storm"}],
        }
        assert quoting.office.change(f"quotes/{draft['id']}/payers", body, method="PUT").status_code == 200
        quoting.issue(draft["id"])
        insurer = make_link(quoting, draft["id"], payer="insurer", sent_how="post")["token"]
        owner = make_link(quoting, draft["id"])["token"]
        first = by_link(insurer, "/acceptance", yes(by_link(insurer).json())).json()
        assert (first["state"], first["waits_for"]) == ("issued", ["owner"])
        second = by_link(owner, "/acceptance", yes(by_link(owner).json())).json()
        assert (second["state"], second["waits_for"]) == ("accepted", [])
        assert [one["payer"] for one in consents(quoting, draft["id"])["consents"]] == ["insurer", "owner"]
        assert [link["payer"] for link in links(quoting, draft["id"])] == ["owner", "insurer"]
        only = quoting.office.get(f"quotes/{draft['id']}/links?payer=insurer").json()["results"]
        assert [link["sent_how"] for link in only] == ["post"]


class TestDeclining:
    def test_it_says_why(self, quoting: Quoting, quote: Body, token: str) -> None:
        answer = by_link(token, "/refusal", {"name": "Invented Owner", "reason": "I sell the coach."})
        assert (answer.status_code, answer.json()["state"], answer.json()["outcome"]) == (201, "declined", "declined")
        (record,) = consents(quoting, quote["id"])["consents"]
        assert (record["said"]["reason"], record["outcome"]) == ("I sell the coach.", "declined")
        assert by_link(token).json()["state"] == "declined"

    def test_it_wants_a_reason(self, token: str) -> None:
        assert places(by_link(token, "/refusal", {"name": "Invented Owner"})) == {"#/reason": "required"}


class TestWhatIsOver:
    """A link opens one document at one revision, and says by name why it no longer does."""

    def gone(self, token: str) -> str:
        codes = {problem(by_link(token), 410)["code"]}
        body = {"name": "x", "document_hash": "x", "limit_with_tax": amount("1.00"), "affirmed": True, "reviewed": True}
        codes.add(problem(by_link(token, "/acceptance", body), 410)["code"])
        codes.add(problem(by_link(token, "/refusal", {"name": "x", "reason": "x"}), 410)["code"])
        (code,) = codes
        return str(code)

    def test_superseded_by_a_revision(self, quoting: Quoting, quote: Body, token: str) -> None:
        new = quoting.revise(quote).json()
        assert by_link(token).status_code == 200
        quoting.issue(new["id"])
        assert self.gone(token) == "document_superseded"

    def test_superseded_by_another_alternative(self, quoting: Quoting) -> None:
        first = quoting.draft(**SMALL).json()
        second = quoting.office.post(f"quotes/{first['id']}/alternatives", quoting.body(label="Dearer")).json()
        quoting.issue(first["id"])
        token = make_link(quoting, first["id"])["token"]
        assert accept(quoting, second["id"]).status_code == 201
        assert self.gone(token) == "document_superseded"

    def test_withdrawn(self, quoting: Quoting, quote: Body, token: str) -> None:
        post(quoting, f"quotes/{quote['id']}/withdrawal", {"reason": "A mistake."})
        assert self.gone(token) == "document_withdrawn"

    def test_expired_before_the_night_has_said_so(self, quoting: Quoting, quote: Body, clock: Clock) -> None:
        token = make_link(quoting, quote["id"], days=60)["token"]
        clock.turn(days=30)
        assert by_link(token).status_code == 200
        clock.turn(days=1)
        assert self.gone(token) == "document_expired"

    def test_the_link_ends_with_the_last_day_of_the_offer_unless_told(
        self, quoting: Quoting, quote: Body, clock: Clock
    ) -> None:
        link = make_link(quoting, quote["id"])
        # Midnight after the first of April in Chicago is 05:00 UTC.
        assert (quote["valid_until"], link["expires"]) == ("2026-04-01", "2026-04-02T05:00:00+00:00")
        clock.turn(days=31)
        assert self.gone(link["token"]) == "link_expired"

    def test_revoked(self, quoting: Quoting, quote: Body) -> None:
        link = make_link(quoting, quote["id"])
        first = quoting.office.post(f"links/{link['id']}/revocation", {})
        assert (first.status_code, first.json()["token"]) == (200, None)
        assert quoting.office.post(f"links/{link['id']}/revocation", {}).json()["revoked"] == first.json()["revoked"]
        assert self.gone(link["token"]) == "link_revoked"

    def test_reading_otherwise_than_when_it_was_made(self, token: str) -> None:
        OwnerLink.objects.update(document_hash="0" * 64)
        assert self.gone(token) == "document_changed"


class TestSecrets:
    @pytest.mark.parametrize(
        "wrong", ["x", "ow_", "rq_aaaaaaaa_" + "A" * 43, "ow_aaaaaaaa_" + "A" * 43, "ow_" + "%00" * 8, "%F0%9F%98%80", "..%2f"]
    )
    def test_a_wrong_one_finds_nothing(self, wrong: str) -> None:
        for way, body in (("", None), ("/acceptance", {}), ("/refusal", {})):
            assert problem(by_link(wrong, way, body), 404)["code"] == "not_found"

    def test_the_secret_is_kept_nowhere(self, quoting: Quoting, quote: Body, token: str) -> None:
        row = OwnerLink.objects.get()
        assert token not in str({name: str(value) for name, value in vars(row).items()})
        assert bytes(row.digest) == hashlib.sha256(token.encode()).digest()
        assert [link["token"] for link in links(quoting, quote["id"])] == [None]
        # 32 random bytes are 43 letters of base 64.
        assert len(token.split("_", 2)[2]) == 43

    def test_the_same_request_again_makes_no_second_link_and_tells_no_secret(self, quoting: Quoting, quote: Body) -> None:
        path, sent = f"quotes/{quote['id']}/links", {"Idempotency-Key": "k"}
        first, again = (quoting.office.post(path, {"sent_how": "message"}, headers=sent) for _ in range(2))
        assert (first.status_code, again.status_code, again.json()["token"]) == (201, 201, None)
        assert {**first.json(), "token": None} == again.json()
        assert OwnerLink.objects.count() == 1

    def test_a_shops_token_opens_no_link_and_a_link_no_shop(self, quoting: Quoting, token: str) -> None:
        assert problem(by_link(quoting.office.tokens["manager"]), 404)["code"] == "not_found"
        assert problem(quoting.office.get("quotes", token=token), 401)["code"] == "token_malformed"

    def test_a_method_that_there_is_not_is_refused(self, token: str) -> None:
        assert problem(by_link(token, "/acceptance"), 405)["code"] == "method_not_allowed"
        assert problem(by_link(token, "", {}), 405)["code"] == "method_not_allowed"


class TestMaking:
    def test_for_whom_by_whom_and_of_what(self, quoting: Quoting, elsewhere: Office, quote: Body) -> None:
        path, body = f"quotes/{quote['id']}/links", {"sent_how": "email"}
        assert quoting.office.post(path, body, role=ESTIMATOR).status_code == 201
        assert problem(quoting.office.post(path, body, role=ANALYST), 403)["code"] == "role_not_allowed"
        assert len(links(quoting, quote["id"], role=ANALYST)) == 1
        link = links(quoting, quote["id"])[0]
        for way in (path, f"links/{link['id']}/revocation"):
            assert problem(elsewhere.post(way, body), 404)["code"] == "not_found"
        assert problem(elsewhere.get(path), 404)["code"] == "not_found"
        assert problem(quoting.office.post(f"links/{link['id']}/revocation", {}, role=ANALYST), 403)

    @pytest.mark.parametrize(
        ("body", "fault"),
        [
            ({}, {"#/sent_how": "required"}),
            ({"sent_how": "pigeon"}, {"#/sent_how": "unknown_choice"}),
            ({"sent_how": "email", "days": 0}, {"#/days": "min_value"}),
            ({"sent_how": "email", "days": 181}, {"#/days": "max_value"}),
            ({"sent_how": "email", "payer": "nobody"}, {"#/payer": "no_such_payer"}),
        ],
    )
    def test_what_does_not_fit(self, quoting: Quoting, quote: Body, body: Body, fault: dict[str, str]) -> None:
        assert places(quoting.office.post(f"quotes/{quote['id']}/links", body)) == fault

    def test_only_to_an_open_offer_that_stands_alone(self, quoting: Quoting, quote: Body, clock: Clock) -> None:
        fleeting = Fleeting(quoting)
        fleet = fleeting.draft()
        tag = quoting.office.get(f"fleets/{fleet['id']}")["ETag"]
        quoting.office.post(f"fleets/{fleet['id']}/issue", {}, headers={"If-Match": tag})
        draft = quoting.draft(**SMALL).json()
        cases = {fleet["coaches"][0]["quote"]: "fleet_member", draft["id"]: "quote_state"}
        for quote_id, code in cases.items():
            refused = quoting.office.post(f"quotes/{quote_id}/links", {"sent_how": "email"})
            assert problem(refused, 409)["code"] == code
        post(quoting, f"quotes/{draft['id']}/refusal", refusal())
        clock.turn(days=31)
        assert (
            problem(quoting.office.post(f"quotes/{quote['id']}/links", {"sent_how": "email"}), 409)["code"] == "offer_expired"
        )
