"""An owner who presses twice: told the same, recorded once, by a key or without, at once or later."""

from collections import Counter
from typing import Any

import pytest
from rest_framework.test import APIClient

from quotes.actions.idempotency import forget_requests
from quotes.models import ChangeOrder, Consent, IdempotencyKey, Job, LinkAnswer
from tests import make
from tests.rest.changing import opened, sent, wish
from tests.rest.consenting import SMALL, accept, by_link, consents, make_link, yes
from tests.rest.office import problem
from tests.rest.quoting import Body, Clock, Quoting
from tests.rest.test_idempotency import together
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
NO: Body = {"name": "Invented Owner", "reason": "I sell the coach."}


@pytest.fixture
def quote(quoting: Quoting) -> Body:
    return quoting.issued(**SMALL)


@pytest.fixture
def token(quoting: Quoting, quote: Body) -> str:
    return str(make_link(quoting, quote["id"])["token"])


def keyed(token: str, way: str, body: Body, key: str) -> Any:
    client = APIClient(raise_request_exception=False)
    return client.post(f"/api/v1/owner/{token}{way}", body, format="json", headers={"Idempotency-Key": key})


def counts(quoting: Quoting) -> tuple[int, int]:
    with quoting.office.scope():
        return Job.objects.for_shop(quoting.shop).count(), Consent.objects.for_shop(quoting.shop).count()


def same(first: Any, again: Any) -> bool:
    assert (first.status_code, again.status_code) == (201, 201), again.content.decode()
    assert ("Idempotency-Replayed" in first, again.headers.get("Idempotency-Replayed")) == (False, "true")
    return bool(first.json() == again.json())


class TestWithoutAKey:
    def test_the_same_yes_is_told_the_same_and_books_one_job(
        self, quoting: Quoting, quote: Body, token: str, clock: Clock
    ) -> None:
        sent_ = yes(by_link(token).json())
        first = by_link(token, "/acceptance", sent_)
        # A week later, from another browser, with the members in another order.
        clock.turn(days=7)
        again = by_link(token, "/acceptance", dict(reversed(sent_.items())), agent="Invented Browser 2")

        assert same(first, again)
        assert counts(quoting) == (1, 1)
        assert consents(quoting, quote["id"])["intact"]

    def test_the_same_no_is_told_the_same(self, quoting: Quoting, token: str) -> None:
        assert same(by_link(token, "/refusal", NO), by_link(token, "/refusal", NO))
        assert counts(quoting) == (0, 1)

    @pytest.mark.parametrize("changes", [{"name": "Somebody Else"}, {"old_parts": "discard"}, {"old_parts": None}])
    def test_another_answer_than_the_first_is_refused_by_name(self, quoting: Quoting, token: str, changes: Body) -> None:
        sent_ = yes(by_link(token).json())
        assert by_link(token, "/acceptance", sent_).status_code == 201
        assert problem(by_link(token, "/acceptance", {**sent_, **changes}), 409)["code"] == "quote_state"
        assert problem(by_link(token, "/refusal", NO), 409)["code"] == "quote_state"
        assert counts(quoting) == (1, 1)

    def test_another_link_to_the_same_offer_is_another_hand(self, quoting: Quoting, quote: Body, token: str) -> None:
        sent_ = yes(by_link(token).json())
        other = make_link(quoting, quote["id"], sent_how="message")["token"]
        assert by_link(token, "/acceptance", sent_).status_code == 201
        assert problem(by_link(other, "/acceptance", sent_), 409)["code"] == "quote_state"

    def test_a_link_that_was_taken_back_repeats_nothing(self, quoting: Quoting, quote: Body) -> None:
        link = make_link(quoting, quote["id"])
        sent_ = yes(by_link(link["token"]).json())
        assert by_link(link["token"], "/acceptance", sent_).status_code == 201
        quoting.office.post(f"links/{link['id']}/revocation", {})
        assert problem(by_link(link["token"], "/acceptance", sent_), 410)["code"] == "link_revoked"

    def test_a_refused_answer_may_be_corrected(self, quoting: Quoting, token: str) -> None:
        sent_ = yes(by_link(token).json())
        assert problem(by_link(token, "/acceptance", {**sent_, "document_hash": "0" * 64}), 409)["code"] == "other_document"
        assert "Idempotency-Replayed" not in by_link(token, "/acceptance", sent_)
        assert counts(quoting) == (1, 1)

    def test_a_payer_who_changes_a_no_into_a_yes_and_back_is_heard_each_time(self, quoting: Quoting) -> None:
        draft = quoting.draft(**SMALL).json()
        body = {
            "payers": [{"label": "insurer", "kind": "insurer"}],
            "rules": [{"by": "everything", "of": "", "payer": "insurer", "cause": "storm"}],
        }
        assert quoting.office.change(f"quotes/{draft['id']}/payers", body, method="PUT").status_code == 200
        quoting.issue(draft["id"])
        token = make_link(quoting, draft["id"], payer="insurer", sent_how="post")["token"]
        sent_ = yes(by_link(token).json())

        first = by_link(token, "/refusal", NO)
        assert same(first, by_link(token, "/refusal", NO))
        assert "Idempotency-Replayed" not in by_link(token, "/acceptance", sent_)
        third = by_link(token, "/refusal", NO)

        # Not the first no again, since there was a yes between them.
        assert "Idempotency-Replayed" not in third
        assert third.json()["hash"] != first.json()["hash"]
        outcomes = [one["outcome"] for one in consents(quoting, draft["id"])["consents"]]
        assert outcomes == ["declined", "accepted", "declined"]

    def test_an_answer_over_the_desk_between_two_is_no_first_answer_of_the_link(self, quoting: Quoting, quote: Body) -> None:
        token = make_link(quoting, quote["id"])["token"]
        sent_ = yes(by_link(token).json())
        assert accept(quoting, quote["id"]).status_code == 201
        assert problem(by_link(token, "/acceptance", sent_), 409)["code"] == "quote_state"

    def test_a_way_of_a_change_order_is_accepted_once(self, small: SmallShop) -> None:
        job = opened(small)
        order = sent(small, job, wish())
        made = small.office.post(f"jobs/{job.pk}/change-orders/{order['id']}/links", {"sent_how": "email"}).json()
        read = by_link(made["token"]).json()
        (way,) = read["document"]["ways"]
        limit = {"amount": way["limit_with_tax"], "currency": "USD"}
        body = {
            "name": "Invented Owner",
            "options": ["repair"],
            "document_hash": read["document_hash"],
            "limit_with_tax": limit,
            "affirmed": True,
            "reviewed": True,
        }
        first = by_link(made["token"], "/acceptance", body)
        assert same(first, by_link(made["token"], "/acceptance", body))
        assert first.json()["state"] == "accepted"
        refused = by_link(made["token"], "/acceptance", {**body, "name": "Somebody Else"})
        assert problem(refused, 409)["code"] == "change_order_state"
        with small.office.scope():
            kept = ChangeOrder.objects.for_shop(small.shop).get()
            # 3,929.00 and the order of 294.73 with its tax, as on the page of the order of operations.
            assert str(Job.objects.for_shop(small.shop).get().authorised_with_tax.normalize()) == "4248"
            assert Consent.objects.for_shop(small.shop).filter(document="change_order").count() == 1
        assert kept.state == "accepted"


class TestWithAKey:
    def test_it_is_replayed_and_another_body_is_refused(self, quoting: Quoting, token: str) -> None:
        sent_ = yes(by_link(token).json())
        first = keyed(token, "/acceptance", sent_, "k-1")
        assert same(first, keyed(token, "/acceptance", sent_, "k-1"))
        other = keyed(token, "/acceptance", {**sent_, "name": "Somebody Else"}, "k-1")
        assert problem(other, 422)["code"] == "idempotency_mismatch"
        assert problem(keyed(token, "/refusal", NO, "k-1"), 422)["code"] == "idempotency_mismatch"
        assert counts(quoting) == (1, 1)

    def test_another_key_or_none_with_the_same_body_is_told_the_same_too(self, quoting: Quoting, token: str) -> None:
        sent_ = yes(by_link(token).json())
        first = keyed(token, "/acceptance", sent_, "k-1")
        assert same(first, keyed(token, "/acceptance", sent_, "k-2"))
        assert same(first, by_link(token, "/acceptance", sent_))
        assert counts(quoting) == (1, 1)

    def test_a_key_belongs_to_its_link(self, quoting: Quoting, quote: Body, token: str) -> None:
        other = str(make_link(quoting, quoting.issued(**SMALL)["id"])["token"])
        for one in (token, other):
            assert "Idempotency-Replayed" not in keyed(one, "/acceptance", yes(by_link(one).json()), "k-1")
        assert counts(quoting) == (2, 2)

    def test_a_refused_answer_leaves_no_key_behind(self, quoting: Quoting, token: str) -> None:
        sent_ = yes(by_link(token).json())
        assert problem(keyed(token, "/acceptance", {**sent_, "document_hash": "0" * 64}, "k-1"), 409)
        with quoting.office.scope():
            assert not IdempotencyKey.objects.for_shop(quoting.shop).filter(link_id__isnull=False).exists()
        assert keyed(token, "/acceptance", sent_, "k-1").status_code == 201

    @pytest.mark.parametrize("key", ["", "two words"])
    def test_a_key_has_a_form(self, token: str, key: str) -> None:
        assert problem(keyed(token, "/acceptance", yes(by_link(token).json()), key), 400)["code"] == "bad_header"

    def test_a_key_is_forgotten_and_the_answer_is_not(self, quoting: Quoting, token: str, clock: Clock) -> None:
        sent_ = yes(by_link(token).json())
        first = keyed(token, "/acceptance", sent_, "k-1")
        with quoting.office.scope():
            row = IdempotencyKey.objects.for_shop(quoting.shop).get(link_id__isnull=False)
            later = row.created.replace(year=row.created.year + 1)
            assert forget_requests(by=make.OPERATOR, shop=quoting.shop, before=later) >= 1
        assert same(first, keyed(token, "/acceptance", sent_, "k-1"))


class TestWhatIsKept:
    def test_it_names_nobody_and_cannot_be_guessed_without_the_secret(self, quoting: Quoting, token: str) -> None:
        first = by_link(token, "/acceptance", yes(by_link(token).json()))
        with quoting.office.scope():
            kept = LinkAnswer.objects.for_shop(quoting.shop).get()
            assert kept.consent.hash == first.json()["hash"]
        assert "Invented" not in kept.answer
        assert token not in kept.answer


@pytest.mark.django_db(transaction=True)
class TestAtTheSameMoment:
    @pytest.mark.parametrize("keys", [("", "", "", ""), ("k", "k", "k", "k"), ("a", "b", "", "a")])
    def test_of_identical_clicks_one_works_and_all_are_told_the_same(self, quoting: Quoting, keys: tuple[str, ...]) -> None:
        quote = quoting.issued(**SMALL)
        token = make_link(quoting, quote["id"])["token"]
        sent_ = yes(by_link(token).json())

        def ask(number: int) -> Any:
            key = keys[number]
            return keyed(token, "/acceptance", sent_, key) if key else by_link(token, "/acceptance", sent_)

        answers = together(4, ask)

        assert [answer.status_code for answer in answers] == [201] * 4
        assert Counter("Idempotency-Replayed" in answer for answer in answers) == {False: 1, True: 3}
        assert len({answer.content for answer in answers}) == 1
        assert counts(quoting) == (1, 1)

    def test_of_two_different_answers_one_stands_and_the_other_is_refused(self, quoting: Quoting) -> None:
        quote = quoting.issued(**SMALL)
        token = make_link(quoting, quote["id"])["token"]
        sent_ = yes(by_link(token).json())
        ways: list[tuple[str, Body]] = [("/acceptance", sent_), ("/refusal", NO)]

        answers = together(4, lambda number: by_link(token, *ways[number % 2]))

        # The two clicks that say what came first, and the two that say the other.
        assert Counter(answer.status_code for answer in answers) == {201: 2, 409: 2}
        assert {answer.json()["code"] for answer in answers if answer.status_code == 409} == {"quote_state"}
        assert counts(quoting)[1] == 1
