"""A replayed answer shows nobody more than its own role may read."""

from django.db import connection

from api.accounts.roles import ESTIMATOR, MANAGER
from api.rest import idempotency
from tests import make
from tests.rest.office import problem
from tests.rest.quoting import Quoting


def test_a_replayed_key_shows_an_estimator_no_costs_that_a_manager_was_answered(quoting: Quoting) -> None:
    who = make.person()
    make.membership(who, quoting.shop, MANAGER)
    manager, estimator = (make.token(quoting.shop, role, who=who) for role in (MANAGER, ESTIMATOR))
    headers = {"Idempotency-Key": "one-key-two-tokens"}
    answered = quoting.office.post("quotes", quoting.body(), token=manager, headers=headers)
    assert "cost" in answered.json()["amounts"]
    again = quoting.office.post("quotes", quoting.body(), token=estimator, headers=headers)
    assert problem(again, 422)["code"] == "idempotency_mismatch"


def test_claiming_a_key_puts_the_bound_on_waiting_back_as_it_was(quoting: Quoting) -> None:
    claim = idempotency._Claim(idempotency._of_shop(quoting.shop), ("person_id", make.person().pk), "a-key", "a fingerprint")
    with quoting.office.scope(), connection.cursor() as cursor:
        cursor.execute("SET LOCAL lock_timeout = '7s'")
        assert claim.take() is not None
        cursor.execute("SHOW lock_timeout")
        assert cursor.fetchone() == ("7s",)
