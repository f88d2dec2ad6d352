"""What happens when a client sends the same creating request twice, later or at the same time?"""

import threading
from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from datetime import timedelta
from typing import Any

import pytest
from django.db import connection

from api.accounts.roles import ESTIMATOR, MANAGER
from api.rest import idempotency
from costbase.scope import shop_scope
from quotes.actions.idempotency import forget_requests
from quotes.models import Coach, IdempotencyKey
from tests import make
from tests.rest import bodies
from tests.rest.office import Office, office, places, problem

KEY = {"Idempotency-Key": "7d3f-1"}


def coach_count(here: Office) -> int:
    with here.scope():
        return Coach.objects.for_shop(here.shop).count()


def test_a_repeat_is_answered_as_the_first_and_does_nothing(here: Office) -> None:
    first = here.post("coaches", bodies.coach(), headers=KEY)
    again = here.post("coaches", bodies.coach(), headers=KEY)
    assert "Idempotency-Replayed" not in first
    assert again["Idempotency-Replayed"] == "true"
    assert again.status_code == first.status_code == 201
    assert again.content == first.content
    assert (again["Location"], again["ETag"]) == (first["Location"], first["ETag"])
    assert again["Content-Type"] == first["Content-Type"]
    assert coach_count(here) == 1


def test_the_first_answer_is_repeated_even_after_a_change(here: Office) -> None:
    first = here.post("coaches", bodies.coach(), headers=KEY)
    here.change(f"coaches/{first.json()['id']}", {"label": "New label"})
    assert here.post("coaches", bodies.coach(), headers=KEY).content == first.content


def test_the_order_of_members_makes_no_other_request(here: Office) -> None:
    here.post("coaches", bodies.coach(), headers=KEY)
    turned = dict(reversed(bodies.coach().items()))
    assert here.post("coaches", turned, headers=KEY)["Idempotency-Replayed"] == "true"


def test_another_body_under_the_same_key_is_refused(here: Office) -> None:
    here.post("coaches", bodies.coach(), headers=KEY)
    refused = here.post("coaches", bodies.coach(label="Another"), headers=KEY)
    assert problem(refused, 422)["code"] == "idempotency_mismatch"
    assert coach_count(here) == 1


def test_another_address_under_the_same_key_is_refused(here: Office) -> None:
    here.post("customers", bodies.customer(), headers=KEY)
    assert problem(here.post("coaches", bodies.coach(), headers=KEY), 422)["code"] == "idempotency_mismatch"


def test_without_a_key_every_request_counts(here: Office) -> None:
    for _ in range(2):
        assert here.post("coaches", bodies.coach()).status_code == 201
    assert coach_count(here) == 2


def test_a_refused_request_may_be_corrected_under_the_same_key(here: Office) -> None:
    refused = here.post("coaches", bodies.coach(year=1800), headers=KEY)
    assert places(refused) == {"#/year": "min_value"}
    with here.scope():
        assert not IdempotencyKey.objects.for_shop(here.shop).exists()
    taken = here.post("coaches", bodies.coach(), headers=KEY)
    assert taken.status_code == 201
    assert "Idempotency-Replayed" not in taken


def test_a_request_that_the_core_refuses_leaves_no_record_either(here: Office) -> None:
    long = bodies.roof(bodies.section(length="200 ft"))
    assert here.post("coaches", bodies.coach(roof=long), headers=KEY).status_code == 422
    with here.scope():
        assert not IdempotencyKey.objects.for_shop(here.shop).exists()


def test_a_key_belongs_to_its_person_and_its_shop(here: Office, elsewhere: Office) -> None:
    for who, role in [(here, MANAGER), (here, ESTIMATOR), (elsewhere, MANAGER)]:
        answer = who.post("coaches", bodies.coach(), headers=KEY, role=role)
        assert answer.status_code == 201
        assert "Idempotency-Replayed" not in answer
    assert coach_count(here) == 2


def test_a_person_with_a_new_token_is_the_same_person(here: Office) -> None:
    who = make.person()
    make.membership(who, here.shop, MANAGER)
    for replayed in (False, True):
        token = make.token(here.shop, MANAGER, who=who)
        answer = here.post("coaches", bodies.coach(), headers=KEY, token=token)
        assert ("Idempotency-Replayed" in answer) == replayed


@pytest.mark.parametrize("key", ["", " ", "x" * 256, "two words", "ü"])
def test_a_key_has_a_form(here: Office, key: str) -> None:
    refused = here.post("coaches", bodies.coach(), headers={"Idempotency-Key": key})
    assert places(refused, 400) == {"Idempotency-Key": "bad_header"}


def test_a_shop_forgets_its_requests_from_before_an_instant(here: Office, elsewhere: Office) -> None:
    for where in (here, elsewhere):
        where.post("coaches", bodies.coach(), headers=KEY)
    with here.scope():
        made = IdempotencyKey.objects.for_shop(here.shop).get().created
        assert forget_requests(by=make.OPERATOR, shop=here.shop, before=made) == 0
        assert forget_requests(by=make.OPERATOR, shop=here.shop, before=made + timedelta(seconds=1)) == 1
    assert "Idempotency-Replayed" not in here.post("coaches", bodies.coach(), headers=KEY)
    assert "Idempotency-Replayed" in elsewhere.post("coaches", bodies.coach(), headers=KEY)


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


@pytest.mark.django_db(transaction=True)
def test_of_parallel_twins_one_works_and_the_others_wait_and_replay() -> None:
    here = office()
    answers = together(6, lambda _: here.post("coaches", bodies.coach(), headers=KEY))
    assert [answer.status_code for answer in answers] == [201] * 6
    assert Counter("Idempotency-Replayed" in answer for answer in answers) == {False: 1, True: 5}
    assert len({answer.content for answer in answers}) == 1
    assert coach_count(here) == 1


@pytest.mark.django_db(transaction=True)
def test_parallel_requests_of_other_keys_do_not_wait_for_each_other() -> None:
    here = office()
    answers = together(4, lambda n: here.post("coaches", bodies.coach(), headers={"Idempotency-Key": f"k-{n}"}))
    assert [answer.status_code for answer in answers] == [201] * 4
    assert coach_count(here) == 4


@pytest.mark.django_db(transaction=True)
def test_a_twin_of_a_refused_request_does_the_work_itself() -> None:
    here = office()
    bad, good = bodies.coach(year=1800), bodies.coach()
    answers = together(4, lambda n: here.post("coaches", good if n % 2 else bad, headers=KEY))
    # The good ones are twins of each other; a bad one is refused for its year, or for its body once a good one is in.
    assert sorted(answer.status_code for answer in answers) == [201, 201, 422, 422]
    assert coach_count(here) == 1


@pytest.mark.django_db(transaction=True)
def test_a_twin_waits_only_so_long(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(idempotency, "WAIT_MILLISECONDS", 20)
    here = office()
    identity = make.person()
    make.membership(identity, here.shop, MANAGER)
    token = make.token(here.shop, MANAGER, who=identity)
    taken, done = threading.Event(), threading.Event()

    def first() -> None:
        try:
            with shop_scope(here.shop.pk, make.OPERATOR):
                IdempotencyKey.objects.for_shop(here.shop).create(
                    shop=here.shop, person_id=identity.pk, key=KEY["Idempotency-Key"], fingerprint="x" * 64
                )
                taken.set()
                done.wait(timeout=10)
        finally:
            connection.close()

    with ThreadPoolExecutor(1) as pool:
        working = pool.submit(first)
        assert taken.wait(timeout=10)
        refused = here.post("coaches", bodies.coach(), headers=KEY, token=token)
        done.set()
        working.result(timeout=10)
    assert problem(refused, 409)["code"] == "twin_at_work"
    assert refused["Retry-After"] == "1"
    assert coach_count(here) == 0
