"""A replayed answer shows nobody more than its own role may read."""

from api.accounts.roles import ESTIMATOR, MANAGER
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
