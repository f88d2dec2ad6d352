"""Which number does a quote get, also when many are made at once or one is sent twice?"""

import threading
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from django.db import connection

from api.accounts.roles import ESTIMATOR, MANAGER
from quotes.models import FrozenCostBase, Quote, QuoteCounter
from tests.rest.office import problem
from tests.rest.quoting import Body, Clock, Quoting, entry

KEY = {"Idempotency-Key": "a-key-of-a-tablet"}


def together(count: int, ask: Callable[[int], Any]) -> list[Any]:
    """The answers to requests that are sent at the same moment, each over a connection of its own."""
    barrier = threading.Barrier(count)

    def one(number: int) -> Any:
        try:
            barrier.wait(timeout=10)
            return ask(number)
        finally:
            connection.close()

    with ThreadPoolExecutor(count) as pool:
        return list(pool.map(one, range(count)))


def small(quoting: Quoting, **changes: Any) -> Body:
    return quoting.body(plan="look-first", measures=[entry("look_first_count", 1)], **changes)


def kept(quoting: Quoting) -> list[str]:
    with quoting.office.scope():
        return sorted(Quote.objects.for_shop(quoting.shop).values_list("number", flat=True))


class TestNumbers:
    def test_they_count_up_within_a_year_of_the_shop_and_begin_again_in_the_next(self, quoting: Quoting, clock: Clock) -> None:
        numbers = [quoting.posted(small(quoting)).json()["number"] for _ in range(2)]
        # From 2 March 15:00 UTC on, 304 days and 14 hours reach 1 January 05:00 UTC: still 2026 in Chicago.
        clock.turn(days=304, hours=14)
        numbers.append(quoting.posted(small(quoting)).json()["number"])
        clock.turn(hours=1)
        numbers.append(quoting.posted(small(quoting)).json()["number"])
        assert numbers == ["Q-2026-1", "Q-2026-2", "Q-2026-3", "Q-2027-1"]

    def test_a_refused_quote_takes_none(self, quoting: Quoting) -> None:
        assert quoting.office.post("quotes", small(quoting, options=["no-such-work"])).status_code == 422
        assert quoting.posted(small(quoting)).json()["number"] == "Q-2026-1"

    @pytest.mark.django_db(transaction=True)
    def test_quotes_that_are_made_at_once_get_numbers_of_their_own(self, quoting: Quoting) -> None:
        # None has been kept before, so that they also meet over the cost base.
        answers = together(8, lambda _: quoting.office.post("quotes", small(quoting)))
        assert [answer.status_code for answer in answers] == [201] * 8, answers[0].content
        numbers = sorted(answer.json()["number"] for answer in answers)
        assert len(set(numbers)) == 8
        assert numbers == kept(quoting) == [f"Q-2026-{at}" for at in range(1, 9)]
        with quoting.office.scope():
            assert QuoteCounter.objects.for_shop(quoting.shop).get().last == 8
            assert FrozenCostBase.objects.for_shop(quoting.shop).count() == 1

    @pytest.mark.django_db(transaction=True)
    def test_of_two_revisions_that_are_begun_at_once_one_is_refused(self, quoting: Quoting) -> None:
        first = quoting.issued(plan="reseal", measures=[])
        answers = together(2, lambda _: quoting.revise(first))
        assert sorted(answer.status_code for answer in answers) == [201, 409]
        (refused,) = [answer for answer in answers if answer.status_code == 409]
        assert problem(refused, 409)["code"] == "not_newest_revision"

    @pytest.mark.django_db(transaction=True)
    def test_alternatives_that_are_added_at_once_take_places_of_their_own_until_none_is_left(self, quoting: Quoting) -> None:
        offer = [quoting.posted(small(quoting)).json()["id"]]
        offer.append(quoting.office.post(f"quotes/{offer[0]}/alternatives", small(quoting)).json()["id"])
        answers = together(4, lambda at: quoting.office.post(f"quotes/{offer[at % 2]}/alternatives", small(quoting)))
        assert sorted(answer.status_code for answer in answers) == [201, 409, 409, 409]
        assert {problem(one, 409)["code"] for one in answers if one.status_code == 409} == {"too_many_alternatives"}
        (added,) = [answer.json() for answer in answers if answer.status_code == 201]
        assert added["alternative"] == 3

    @pytest.mark.django_db(transaction=True)
    def test_alternatives_that_are_changed_at_once_wait_for_each_other(self, quoting: Quoting) -> None:
        offer = [quoting.posted(small(quoting)).json()["id"]]
        offer.append(quoting.office.post(f"quotes/{offer[0]}/alternatives", small(quoting)).json()["id"])

        def save(at: int) -> Any:
            path = f"quotes/{offer[at % 2]}"
            return quoting.office.ask("PUT", path, small(quoting, reference=f"no {at}"), headers={"If-Match": "*"})

        answers = together(6, save)
        assert [answer.status_code for answer in answers] == [200] * 6, [answer.content for answer in answers]
        # One raised it when it came, and then each of six changes.
        assert quoting.office.get(f"quotes/{offer[0]}")["ETag"] == '"v8"'

    @pytest.mark.django_db(transaction=True)
    def test_of_two_saves_of_one_version_one_is_refused(self, quoting: Quoting) -> None:
        path = quoting.posted(small(quoting))["Location"]

        def save(number: int) -> Any:
            return quoting.office.ask("PUT", path, small(quoting, reference=f"no {number}"), headers={"If-Match": '"v1"'})

        answers = together(4, save)
        assert sorted(answer.status_code for answer in answers) == [200, 412, 412, 412]
        (saved,) = [answer for answer in answers if answer.status_code == 200]
        assert quoting.office.get(path).json() == saved.json()

    @pytest.mark.django_db(transaction=True)
    def test_a_draft_is_issued_once_however_many_ask(self, quoting: Quoting) -> None:
        quote_id = quoting.posted(small(quoting)).json()["id"]
        headers = {"If-Match": '"v1"'}
        answers = together(4, lambda _: quoting.office.post(f"quotes/{quote_id}/issue", {}, headers=headers))
        assert sorted(answer.status_code for answer in answers) == [200, 412, 412, 412]


class TestSentTwice:
    def test_the_first_answer_is_repeated_and_nothing_is_priced_again(self, quoting: Quoting) -> None:
        first = quoting.office.post("quotes", small(quoting), headers=KEY)
        quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
        again = quoting.office.post("quotes", small(quoting), headers=KEY)
        assert (first.status_code, again.status_code) == (201, 201)
        assert again["Idempotency-Replayed"] == "true"
        assert again.json() == first.json()
        assert (again["Location"], again["ETag"]) == (first["Location"], first["ETag"])
        assert kept(quoting) == ["Q-2026-1"]

    def test_another_body_under_the_key_is_refused(self, quoting: Quoting) -> None:
        quoting.office.post("quotes", small(quoting), headers=KEY)
        refused = quoting.office.post("quotes", small(quoting, reference="another"), headers=KEY)
        assert problem(refused, 422)["code"] == "idempotency_mismatch"
        assert kept(quoting) == ["Q-2026-1"]

    def test_a_revision_is_begun_once(self, quoting: Quoting) -> None:
        first = quoting.issued(plan="reseal", measures=[])
        path = f"quotes/{first['id']}/revisions"
        answers = [quoting.office.post(path, first["request"], headers=KEY) for _ in range(2)]
        assert [answer.status_code for answer in answers] == [201, 201]
        assert answers[0].json() == answers[1].json()

    def test_a_refused_quote_may_be_corrected_under_the_key(self, quoting: Quoting) -> None:
        assert quoting.office.post("quotes", small(quoting, skin="slate"), headers=KEY).status_code == 422
        assert quoting.office.post("quotes", small(quoting), headers=KEY).status_code == 201

    def test_a_key_is_one_person_s(self, quoting: Quoting) -> None:
        made = [quoting.office.post("quotes", small(quoting), headers=KEY, role=role) for role in (MANAGER, ESTIMATOR)]
        assert [answer.json()["number"] for answer in made] == ["Q-2026-1", "Q-2026-2"]

    @pytest.mark.django_db(transaction=True)
    def test_of_twins_at_once_one_is_kept_and_all_are_answered_alike(self, quoting: Quoting) -> None:
        answers = together(5, lambda _: quoting.office.post("quotes", small(quoting), headers=KEY))
        assert [answer.status_code for answer in answers] == [201] * 5
        assert Counter("Idempotency-Replayed" in answer for answer in answers) == {False: 1, True: 4}
        assert len({answer.content for answer in answers}) == 1
        assert kept(quoting) == ["Q-2026-1"]
