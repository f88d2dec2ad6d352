"""Accepting, declining and taking back an offer over the shop's desk."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.actions.accepting import expire_offers
from quotes.models import Job, Quote, Withdrawal
from tests import make
from tests.rest import bodies
from tests.rest.consenting import (
    AT,
    SMALL,
    accept,
    acceptance,
    amount,
    consents,
    document,
    part_of,
    post,
    refusal,
)
from tests.rest.office import Office, places, problem
from tests.rest.quoting import MEASURES, Body, Clock, Quoting, entry
from tests.rest.test_quote_alternatives import offer, three
from tests.rest.test_quote_currencies import in_currency

pytestmark = pytest.mark.django_db


def job_of(quoting: Quoting, answer: Any) -> Job:
    """The job that an acceptance booked."""
    assert answer.status_code == 201, answer.content.decode()
    with quoting.office.scope():
        return Job.objects.for_shop(quoting.shop).get(pk=answer.json()["job"])


def jobs(quoting: Quoting) -> int:
    with quoting.office.scope():
        return Job.objects.for_shop(quoting.shop).count()


def state(quoting: Quoting, quote_id: int) -> str:
    return str(quoting.office.get(f"quotes/{quote_id}").json()["state"])


def with_options(quoting: Quoting, *slugs: str) -> Body:
    asked = [*(dict(one) for one in MEASURES), entry("paint_job_count", 1), entry("solar_prep_count", 2)]
    return quoting.issued(measures=asked, offered=list(slugs))


class TestTheDocument:
    def test_it_says_first_what_is_authorised(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        shown = document(quoting, quote["id"])["document"]
        assert next(iter(shown.items())) == ("limit_with_tax", quote["limit_with_tax"])
        assert (shown["number"], shown["revision"], shown["alternative"]) == (quote["number"], 1, 1)
        assert [line["amount"] for line in shown["lines"]] == [line["amount"] for line in quote["lines"]]
        hidden = [(part["unit_price"], part["set_up"]) for part in shown["hidden"]]
        assert [(Decimal(price), set_up) for price, set_up in hidden] == [
            (Decimal(part["unit_price"]), part["set_up"]) for part in quote["hidden"]
        ]
        assert shown["exclusions"] == quote["exclusions"]
        assert shown["valid_until"] == quote["valid_until"]

    def test_it_holds_nothing_that_a_name_stands_in(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        assert "Invented 34 footer" not in str(document(quoting, quote["id"]))

    def test_it_is_the_same_whenever_it_is_asked_for(self, quoting: Quoting, clock: Clock) -> None:
        quote = quoting.issued(**SMALL)
        first = quoting.office.get(f"quotes/{quote['id']}/document")
        clock.turn(days=9)
        again = quoting.office.get(f"quotes/{quote['id']}/document")
        assert (again.json(), again["ETag"]) == (first.json(), first["ETag"])

    def test_a_draft_has_none(self, quoting: Quoting) -> None:
        draft = quoting.draft(**SMALL).json()
        assert problem(quoting.office.get(f"quotes/{draft['id']}/document"), 409)["code"] == "quote_state"

    @pytest.mark.parametrize("query", ["options=a,,b", "options=a,a", "options=" + ",".join("abcdefghijklm")])
    def test_options_are_different_slugs(self, quoting: Quoting, query: str) -> None:
        quote = quoting.issued(**SMALL)
        refused = quoting.office.get(f"quotes/{quote['id']}/document?{query}")
        assert places(refused, 400) == {"options": "bad_parameter"}
        unknown = quoting.office.get(f"quotes/{quote['id']}/document?ticked=a")
        assert places(unknown, 400) == {"ticked": "unknown_parameter"}

    def test_what_was_answered_is_kept_as_it_was_shown(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = quoting.issued(**SMALL)
        shown = document(quoting, quote["id"])
        path = f"documents/{shown['document_hash']}"
        assert problem(quoting.office.get(path), 404)["code"] == "not_found"
        assert accept(quoting, quote["id"]).status_code == 201
        assert quoting.office.get(path).json() == shown
        assert problem(elsewhere.get(path), 404)["code"] == "not_found"


class TestAcceptance:
    def test_it_authorises_the_limit_with_tax_and_books_the_job(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        answer = accept(quoting, quote["id"], promised_on="2026-04-01", note="By the bay door.", parts_and_labour="As shown.")
        done = answer.json()
        assert (done["state"], done["waits_for"]) == ("accepted", [])
        consent = done["consent"]
        assert (consent["amount"], consent["limit_with_tax"]) == (quote["amounts"]["limit"], quote["limit_with_tax"])
        assert (consent["manner"], consent["outcome"], consent["promised_on"]) == ("written", "accepted", "2026-04-01")
        assert (consent["seq"], consent["before"], consent["link"]) == (1, "0" * 64, None)
        assert consent["said"] == {
            "note": "By the bay door.",
            "old_parts": "inspect",
            "options": [],
            "part_with_tax": consent["said"]["part_with_tax"],
            "parts_and_labour": "As shown.",
            "terms": "1",
        }
        assert Decimal(consent["said"]["part_with_tax"]) == Decimal(quote["limit_with_tax"])
        job = job_of(quoting, answer)
        assert (job.quote_id, job.promised_on, job.overrun_with_tax) == (quote["id"], date(2026, 4, 1), Decimal(0))
        assert job.authorised_with_tax == Decimal(quote["limit_with_tax"])

    def test_who_took_it_down_is_whose_token_it_came_with(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        who = make.person()
        make.membership(who, quoting.shop, ESTIMATOR)
        body = acceptance(quoting, quote["id"])
        answer = post(quoting, f"quotes/{quote['id']}/acceptance", body, token=make.token(quoting.shop, ESTIMATOR, who=who))
        assert answer.json()["consent"]["received_by"] == who.pk

    def test_an_adopted_policy_says_what_a_bill_may_pass_it_by(
        self, quoting: Quoting, clock: Clock, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        monkeypatch.setattr("api.rest.overruns.timezone", clock)
        policy = {"template": "us-mi", "valid_from": "2026-03-02", "note": "Our counsel looked at it."}
        assert quoting.office.post("overrun-policy", policy).status_code == 201
        quote = quoting.issued(**SMALL)
        # Above 500 this template lets a bill pass an authorisation by 50.
        assert Decimal(quote["limit_with_tax"]) > 500
        assert job_of(quoting, accept(quoting, quote["id"])).overrun_with_tax == Decimal(50)

    def test_the_same_request_again_books_nothing_more(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        body = acceptance(quoting, quote["id"])
        path, sent = f"quotes/{quote['id']}/acceptance", {"Idempotency-Key": "k"}
        first, again = (post(quoting, path, body, headers=sent) for _ in range(2))
        assert (first.json(), jobs(quoting)) == (again.json(), 1)

    @pytest.mark.parametrize("code", ["JPY", "KWD"])
    def test_in_another_currency_it_has_the_currencys_digits(self, clock: Clock, code: str) -> None:
        quoting = in_currency(code)
        quote = quoting.issued(**SMALL)
        shown = document(quoting, quote["id"])
        assert shown["document"]["limit_with_tax"] == quote["limit_with_tax"]
        # 10 yen or a quarter of a dinar is the step of the owner's total in these shops.
        assert ("." in quote["limit_with_tax"]) == (code == "KWD")
        answer = accept(quoting, quote["id"])
        assert answer.json()["consent"]["limit_with_tax"] == quote["limit_with_tax"]
        assert job_of(quoting, answer).authorised_with_tax == Decimal(quote["limit_with_tax"])


class TestOptions:
    def test_one_of_two_adds_what_the_offer_said(self, quoting: Quoting) -> None:
        quote = with_options(quoting, "paint-match", "solar-prep")
        paint = quote["offered"]["options"][0]
        job = job_of(quoting, accept(quoting, quote["id"], "paint-match"))
        assert job.options == ["paint-match"]
        for name in ("base", "contingency", "limit", "base_with_tax", "limit_with_tax", "deposit"):
            assert getattr(job, name) == Decimal(quote["amounts"][name]) + Decimal(paint[name]), name
        assert job.authorised_with_tax == job.limit_with_tax

    def test_all_of_them_add_what_they_come_to_together(self, quoting: Quoting) -> None:
        quote = with_options(quoting, "paint-match", "solar-prep")
        together = quote["offered"]["together"]
        shown = document(quoting, quote["id"], "solar-prep", "paint-match")
        expected = Decimal(quote["limit_with_tax"]) + Decimal(together["limit_with_tax"])
        assert Decimal(shown["document"]["limit_with_tax"]) == expected
        # Whatever the order of the ticks, it is one document.
        assert shown == document(quoting, quote["id"], "paint-match", "solar-prep")
        job = job_of(quoting, accept(quoting, quote["id"], "solar-prep", "paint-match"))
        assert (job.limit_with_tax, job.options) == (expected, ["paint-match", "solar-prep"])

    def test_what_is_not_offered_cannot_be_ticked(self, quoting: Quoting) -> None:
        quote = with_options(quoting, "paint-match")
        body = {**acceptance(quoting, quote["id"]), "options": ["paint-match", "solar-prep"]}
        refused = post(quoting, f"quotes/{quote['id']}/acceptance", body)
        assert places(refused) == {"#/options/1": "not_offered"}
        body["options"] = ["paint-match", "paint-match"]
        assert places(post(quoting, f"quotes/{quote['id']}/acceptance", body)) == {"#/options/1": "said_twice"}

    def test_the_hash_without_them_is_of_another_document(self, quoting: Quoting) -> None:
        quote = with_options(quoting, "paint-match")
        bare = document(quoting, quote["id"])["document_hash"]
        refused = accept(quoting, quote["id"], "paint-match", document_hash=bare)
        assert problem(refused, 409)["code"] == "other_document"
        assert jobs(quoting) == 0


class TestAlternatives:
    def test_accepting_one_supersedes_the_others_and_raises_every_version(self, quoting: Quoting) -> None:
        first, second, third = three(quoting)
        quoting.issue(first["id"])
        before = [one["version"] for one in offer(quoting, first["id"])]
        assert accept(quoting, third["id"]).status_code == 201
        after = offer(quoting, first["id"])
        assert [one["state"] for one in after] == ["superseded", "superseded", "accepted"]
        assert [one["version"] for one in after] == [version + 1 for version in before]
        refused = accept(quoting, second["id"])
        assert problem(refused, 409)["code"] == "quote_state"
        assert jobs(quoting) == 1

    def test_a_superseded_revision_is_not_accepted(self, quoting: Quoting) -> None:
        old = quoting.issued(**SMALL)
        new = quoting.revise(old).json()
        assert quoting.issue(new["id"]).status_code == 200
        refused = problem(accept(quoting, old["id"]), 409)
        assert refused["code"] == "quote_state"
        assert "superseded" in refused["detail"]

    def test_of_a_revision_that_is_still_a_draft_nothing_can_follow(self, quoting: Quoting) -> None:
        old = quoting.issued(**SMALL)
        new = quoting.revise(old).json()
        assert accept(quoting, old["id"]).status_code == 201
        assert problem(quoting.issue(new["id"]), 409)["code"] == "quote_state"

    def test_the_database_takes_one_acceptance_of_a_number_and_keeps_it(self, quoting: Quoting) -> None:
        first, second, _ = three(quoting)
        quoting.issue(first["id"])
        assert accept(quoting, first["id"]).status_code == 201
        for quote, to in ((second, "accepted"), (first, "issued")):
            with quoting.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
                Quote.objects.for_shop(quoting.shop).filter(pk=quote["id"]).update(state=to)


class TestRefusals:
    """Each by its own name, and nothing is kept of what was refused."""

    def refused(self, quoting: Quoting, quote_id: int, status: int, **changes: Any) -> str:
        answer = accept(quoting, quote_id, **changes)
        assert jobs(quoting) == 0
        assert consents(quoting, quote_id)["consents"] == []
        return str(problem(answer, status)["code"])

    def test_what_is_not_issued(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        post(quoting, f"quotes/{quote['id']}/withdrawal", {"reason": "A mistake."})
        assert self.refused(quoting, quote["id"], 409) == "quote_state"

    def test_a_draft(self, quoting: Quoting) -> None:
        draft = quoting.draft(**SMALL).json()
        issued = quoting.issued(**SMALL)
        answer = post(quoting, f"quotes/{draft['id']}/acceptance", acceptance(quoting, issued["id"]))
        assert problem(answer, 409)["code"] == "quote_state"

    def test_the_day_after_the_prices_held(self, quoting: Quoting, clock: Clock) -> None:
        quote = quoting.issued(**SMALL)
        assert quote["valid_until"] == "2026-04-01"
        # 04:59 UTC on the second is still the first in the shop's zone, UTC-5.
        clock.moment = make.NOW.replace(month=4, day=2, hour=5, minute=0)
        assert self.refused(quoting, quote["id"], 409) == "offer_expired"
        clock.moment = make.NOW.replace(month=4, day=2, hour=4, minute=59)
        assert accept(quoting, quote["id"]).status_code == 201

    def test_a_provisional_one_for_work_and_it_says_what_may_be_done(self, quoting: Quoting) -> None:
        told = quoting.add_survey(quoting.coach, method="told")
        quote = quoting.issued(survey=told, **SMALL)
        assert quote["provisional"]
        answer = accept(quoting, quote["id"])
        refused = problem(answer, 409)
        assert refused["code"] == "provisional_offer"
        assert "reserve a bay" in refused["detail"]
        assert "look-first" in refused["detail"]

    def test_a_provisional_look_may_be_sold(self, quoting: Quoting) -> None:
        told = quoting.add_survey(quoting.coach, method="told")
        look = [{"measure": "look_first_count", "value": 1}]
        quote = quoting.issued(survey=told, plan="look-first", measures=look)
        assert quote["provisional"]
        job = job_of(quoting, accept(quoting, quote["id"]))
        assert job.limit_with_tax == Decimal(quote["limit_with_tax"])

    def test_another_document(self, quoting: Quoting) -> None:
        quote, other = quoting.issued(**SMALL), quoting.issued(**SMALL)
        of_other = document(quoting, other["id"])["document_hash"]
        assert self.refused(quoting, quote["id"], 409, document_hash=of_other) == "other_document"
        assert self.refused(quoting, quote["id"], 409, document_hash="0") == "other_document"

    def test_another_amount(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        for wrong in (quote["base_with_tax"] + "1", "0.00", quote["amounts"]["base"]):
            if wrong == quote["limit_with_tax"] or len(wrong.partition(".")[2]) > 2:
                continue
            assert self.refused(quoting, quote["id"], 409, limit_with_tax=amount(wrong)) == "other_amount"

    def test_a_payer_who_is_not_asked(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        body = {**acceptance(quoting, quote["id"]), "payer": "insurer"}
        refused = post(quoting, f"quotes/{quote['id']}/acceptance", body)
        assert places(refused) == {"#/payer": "no_such_payer"}

    @pytest.mark.parametrize(
        ("changes", "place"),
        [
            # Issued at 15:00 UTC, which is the time now.
            ({"at": "2026-03-02T14:59:59Z"}, "#/at"),
            ({"at": "2026-03-02T15:00:00.000001Z"}, "#/at"),
            ({"at": "2026-03-02T10:30:00-06:00"}, "#/at"),
            ({"promised_on": "2026-03-01"}, "#/promised_on"),
        ],
    )
    def test_a_time_that_cannot_be(self, quoting: Quoting, changes: Body, place: str) -> None:
        quote = quoting.issued(**SMALL)
        assert places(accept(quoting, quote["id"], **changes)) == {place: "bad_consent_time"}

    @pytest.mark.parametrize(
        ("changes", "fault"),
        [
            ({"manner": "oral"}, {"#/contact": "required"}),
            ({"manner": "shouted"}, {"#/manner": "unknown_choice"}),
            ({"manner": "electronic"}, {"#/statement": "not_affirmed", "#/reviewed": "not_affirmed"}),
            ({"manner": "electronic", "statement": "I agree."}, {"#/reviewed": "not_affirmed"}),
            ({"at": "2026-03-02T15:00:00"}, {"#/at": "not_instant"}),
            ({"at": "2026-03-02"}, {"#/at": "not_instant"}),
            ({"at": "2026-02-30T15:00:00Z"}, {"#/at": "not_instant"}),
            ({"name": ""}, {"#/name": "blank"}),
            ({"old_parts": None}, {"#/old_parts": "null"}),
            ({"old_parts": "sell"}, {"#/old_parts": "unknown_choice"}),
            ({"limit_with_tax": "12.00"}, {"#/limit_with_tax": "not_object"}),
            ({"phone": "555 0100"}, {"#/phone": "unknown_field"}),
        ],
    )
    def test_what_does_not_fit_at_its_place(self, quoting: Quoting, changes: Body, fault: dict[str, str]) -> None:
        quote = quoting.issued(**SMALL)
        assert places(accept(quoting, quote["id"], **changes)) == fault

    def test_a_version_that_was_not_read(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        path, body = f"quotes/{quote['id']}/acceptance", acceptance(quoting, quote["id"])
        assert problem(quoting.office.post(path, body), 428)["code"] == "if_match_missing"
        assert problem(quoting.office.post(path, body, headers={"If-Match": '"v9"'}), 412)["code"] == "version_mismatch"

    def test_an_analyst_and_another_shop(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = quoting.issued(**SMALL)
        body = acceptance(quoting, quote["id"])
        for way, sent in (("acceptance", body), ("refusal", refusal()), ("withdrawal", {"reason": "x"})):
            path = f"quotes/{quote['id']}/{way}"
            assert problem(post(quoting, path, sent, role=ANALYST), 403)["code"] == "role_not_allowed"
            assert problem(elsewhere.post(path, sent, headers={"If-Match": "*"}), 404)["code"] == "not_found"


class TestDeclining:
    def test_the_owners_no_ends_it_with_its_reason(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        answer = post(quoting, f"quotes/{quote['id']}/refusal", refusal())
        assert answer.status_code == 201, answer.content.decode()
        done = answer.json()
        assert (done["state"], done["job"], done["consent"]["outcome"]) == ("declined", None, "declined")
        assert done["consent"]["said"]["reason"] == "Too dear this year."
        assert (done["consent"]["amount"], done["consent"]["limit_with_tax"]) == ("0.00", "0.00")
        assert problem(accept(quoting, quote["id"]), 409)["code"] == "quote_state"

    def test_the_other_alternatives_stay_on_offer(self, quoting: Quoting) -> None:
        first, second, _ = three(quoting)
        quoting.issue(first["id"])
        before = offer(quoting, first["id"])
        post(quoting, f"quotes/{first['id']}/refusal", refusal())
        after = offer(quoting, first["id"])
        assert [one["state"] for one in after] == ["declined", "issued", "issued"]
        assert [one["version"] for one in after] == [one["version"] + 1 for one in before]
        assert accept(quoting, second["id"]).status_code == 201

    def test_it_can_be_revised(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        post(quoting, f"quotes/{quote['id']}/refusal", refusal())
        assert quoting.revise(quote).status_code == 201

    def test_it_wants_a_reason(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        body = refusal()
        del body["reason"]
        assert places(post(quoting, f"quotes/{quote['id']}/refusal", body)) == {"#/reason": "required"}


class TestWithdrawing:
    def test_every_open_alternative_is_taken_back(self, quoting: Quoting) -> None:
        first, second, _ = three(quoting)
        quoting.issue(first["id"])
        post(quoting, f"quotes/{second['id']}/refusal", refusal())
        answer = post(quoting, f"quotes/{first['id']}/withdrawal", {"reason": "The bay burnt down."})
        assert (answer.status_code, answer.json()["state"]) == (200, "withdrawn")
        after = offer(quoting, first["id"])
        assert [one["state"] for one in after] == ["withdrawn", "declined", "withdrawn"]
        with quoting.office.scope():
            kept = sorted(Withdrawal.objects.for_shop(quoting.shop).values_list("quote_id", "reason"))
        assert kept == [(one["id"], "The bay burnt down.") for one in (after[0], after[2])]

    def test_what_is_no_offer_is_not(self, quoting: Quoting) -> None:
        draft, quote = quoting.draft(**SMALL).json(), quoting.issued(**SMALL)
        assert accept(quoting, quote["id"]).status_code == 201
        for one in (draft, quote):
            refused = post(quoting, f"quotes/{one['id']}/withdrawal", {"reason": "x"})
            assert problem(refused, 409)["code"] == "quote_state"


class TestPayers:
    """An insurer pays for everything but its deductible of 500.00, which the owner bears."""

    @pytest.fixture
    def quote(self, quoting: Quoting) -> Body:
        draft = quoting.draft(**SMALL).json()
        company = quoting.office.post("customers", bodies.customer(kind="company", name="Invented Mutual", authorisers=[]))
        insurer = {
            "label": "insurer", "kind": "insurer", "customer": company.json()["id"], "deductible": amount("500.00"),
        }  # fmt: skip
        rules = [{"by": "everything", "of": "", "payer": "insurer", "cause": "storm"}]
        saved = quoting.office.change(f"quotes/{draft['id']}/payers", {"payers": [insurer], "rules": rules}, method="PUT")
        assert saved.status_code == 200, saved.content.decode()
        issued: Body = quoting.issue(draft["id"]).json()
        return issued

    def test_each_part_stands_in_the_document_and_they_add_up(self, quoting: Quoting, quote: Body) -> None:
        shown = document(quoting, quote["id"])["document"]
        parts = {row["payer"]: Decimal(row["limit_with_tax"]) for row in shown["payers"]}
        assert sum(parts.values()) == Decimal(quote["limit_with_tax"])
        assert parts["owner"] == Decimal("500.00") + Decimal(quote["amounts"]["limit_rounding"])

    def test_the_job_is_booked_by_the_consent_that_completes_them(self, quoting: Quoting, quote: Body) -> None:
        first = accept(quoting, quote["id"], promised_on="2026-04-09").json()
        assert (first["state"], first["job"], first["waits_for"]) == ("issued", None, ["insurer"])
        shown = document(quoting, quote["id"])
        assert first["consent"]["limit_with_tax"] == part_of(shown, "owner")["amount"]
        listed = consents(quoting, quote["id"])
        assert [(one["payer"], one["outcome"]) for one in listed["payers"]] == [("owner", "accepted"), ("insurer", None)]
        second = accept(quoting, quote["id"], payer="insurer", name="Invented Adjuster")
        assert second.json()["state"] == "accepted"
        assert second.json()["consent"]["limit_with_tax"] == quote["limit_with_tax"]
        job = job_of(quoting, second)
        # What the owner was promised holds, although the insurer speaks of no day.
        assert (job.authorised_with_tax, job.promised_on) == (Decimal(quote["limit_with_tax"]), date(2026, 4, 9))
        assert consents(quoting, quote["id"])["intact"]

    def test_a_payer_accepts_the_payers_own_part_once(self, quoting: Quoting, quote: Body) -> None:
        whole = amount(quote["limit_with_tax"])
        refused = accept(quoting, quote["id"], payer="insurer", limit_with_tax=whole)
        assert problem(refused, 409)["code"] == "other_amount"
        assert accept(quoting, quote["id"], payer="insurer").status_code == 201
        assert problem(accept(quoting, quote["id"], payer="insurer"), 409)["code"] == "already_consented"

    def test_an_insurers_no_leaves_it_on_offer_and_a_later_yes_counts(self, quoting: Quoting, quote: Body) -> None:
        assert accept(quoting, quote["id"]).status_code == 201
        done = post(quoting, f"quotes/{quote['id']}/refusal", refusal(payer="insurer", reason="Not covered.")).json()
        assert done["state"] == "issued"
        listed = consents(quoting, quote["id"])
        assert [one["outcome"] for one in listed["payers"]] == ["accepted", "declined"]
        assert accept(quoting, quote["id"], payer="insurer").json()["state"] == "accepted"
        assert [one["outcome"] for one in consents(quoting, quote["id"])["consents"]] == ["accepted", "declined", "accepted"]

    def test_the_owners_no_ends_it_whatever_an_insurer_said(self, quoting: Quoting, quote: Body) -> None:
        assert accept(quoting, quote["id"], payer="insurer").status_code == 201
        assert post(quoting, f"quotes/{quote['id']}/refusal", refusal()).json()["state"] == "declined"
        assert jobs(quoting) == 0

    def test_all_accept_the_same_options(self, quoting: Quoting) -> None:
        asked = [*(dict(one) for one in MEASURES), entry("solar_prep_count", 2)]
        draft = quoting.draft(measures=asked, offered=["solar-prep"]).json()
        body = {
            "payers": [{"label": "insurer", "kind": "insurer"}],
            "rules": [{"by": "assembly", "of": "skin-off-laminated", "payer": "insurer", "cause": "storm"}],
        }
        slug = next(line["slug"] for line in draft["lines"] if line["kind"] == "labour")
        body["rules"][0]["of"] = slug
        assert quoting.office.change(f"quotes/{draft['id']}/payers", body, method="PUT").status_code == 200
        assert quoting.issue(draft["id"]).status_code == 200
        assert accept(quoting, draft["id"], "solar-prep").status_code == 201
        assert problem(accept(quoting, draft["id"], payer="insurer"), 409)["code"] == "other_document"
        done = accept(quoting, draft["id"], "solar-prep", payer="insurer")
        assert job_of(quoting, done).options == ["solar-prep"]


def test_an_offer_that_was_left_is_ended_at_night(quoting: Quoting, clock: Clock) -> None:
    quote = quoting.issued(**SMALL)
    clock.turn(days=10)
    later = quoting.issued(**SMALL)
    with quoting.office.scope():
        last = date.fromisoformat(quote["valid_until"])
        assert expire_offers(shop=quoting.shop, day=last, by=make.OPERATOR) == 0
        assert expire_offers(shop=quoting.shop, day=last + timedelta(days=1), by=make.OPERATOR) == 1
    assert (state(quoting, quote["id"]), state(quoting, later["id"])) == ("expired", "issued")
    body = {**acceptance(quoting, later["id"]), "document_hash": document(quoting, quote["id"])["document_hash"], "at": AT}
    assert problem(post(quoting, f"quotes/{quote['id']}/acceptance", body), 409)["code"] == "quote_state"
