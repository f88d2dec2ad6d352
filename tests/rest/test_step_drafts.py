"""The draft of a step written again, and lists of steps. The teardown and its figures are those of `test_steps.py`."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import StepOffer
from tests.rest.consenting import amount
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Clock, Quoting
from tests.rest.test_steps import CLOSE_UP, STORAGE, act, drafted, issued, sold
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
BODY: Body = {"kind": "teardown", "close_up": CLOSE_UP, "storage": STORAGE}


@pytest.fixture(autouse=True)
def today(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.rest.steps.timezone", clock)


@pytest.fixture
def shop(small: SmallShop) -> SmallShop:
    small.own_edition("assembly", "close-up", materials=[], predecessors=[])
    return small


def put(shop: Quoting, step: Body, tag: str | None = '"v1"', role: str = ESTIMATOR, **changes: Any) -> Any:
    path = f"quotes/{step['quote']}/steps/{step['id']}"
    headers = {} if tag is None else {"If-Match": tag}
    return shop.office.ask("PUT", path, {**BODY, **changes}, role=role, headers=headers)


def test_it_is_priced_again_as_it_is_asked_for_now(shop: SmallShop) -> None:
    step = drafted(shop, shop.issued())
    # As worked in test_steps.py: 1,040.09 + 649.64 + 150.00.
    assert (step["version"], step["limit"], step["limit_with_tax"]) == (1, "1839.73", "1992.00")

    answer = put(shop, step, storage={"price": amount("20.00"), "most_days": 5}, notice="Ours.", destroyed=["the old skin"])

    assert answer.status_code == 200, answer.content.decode()
    saved = answer.json()
    # Storage 5 x 20.00 = 100.00: 1,789.73; tax 8.25 % = 147.652725, 147.65; 1,937.38, to whole units 1,937.00.
    assert (saved["storage"], saved["limit"], saved["limit_with_tax"]) == ("100.00", "1789.73", "1937.00")
    assert (saved["notice"], saved["destroyed"], saved["number"], saved["version"]) == ("Ours.", ["the old skin"], 1, 2)
    assert answer["ETag"] == '"v2"'
    path = f"quotes/{step['quote']}/steps/{step['id']}"
    again = shop.office.get(path, role=ESTIMATOR)
    assert (again.json(), again["ETag"]) == (saved, '"v2"')
    assert shop.office.get(path, headers={"If-None-Match": '"v2"'}).status_code == 304
    with shop.office.scope():
        assert StepOffer.objects.for_shop(shop.shop).count() == 1
    # What is put to the owner is what was written last.
    assert act(shop, saved, "issue").json()["document"]["limit_with_tax"] == "1937.00"


def test_it_wants_the_version_that_was_read(shop: SmallShop) -> None:
    step = drafted(shop, shop.issued())
    assert problem(put(shop, step, None), 428)["code"] == "if_match_missing"
    assert put(shop, step, notice="First.").status_code == 200
    refused = put(shop, step, notice="Second.")
    assert problem(refused, 412)["code"] == "version_mismatch"
    assert refused["ETag"] == '"v2"'


def test_what_was_issued_stays_and_its_version_goes_on(shop: SmallShop) -> None:
    quote = shop.issued()
    step = issued(shop, quote)
    assert step["version"] == 2
    assert problem(put(shop, step, "*"), 409)["code"] == "step_state"
    second = issued(shop, quote, notice="Another.")
    path = f"quotes/{quote['id']}/steps/{step['id']}"
    superseded = shop.office.get(path).json()
    assert (superseded["state"], superseded["version"]) == ("superseded", 3)
    assert act(shop, second, "withdrawal").json()["version"] == 3
    done = sold(shop, quote)
    assert (done["state"], done["version"]) == ("accepted", 3)
    assert problem(put(shop, done, "*"), 409)["code"] == "step_state"


def test_what_does_not_fit_is_refused_and_changes_nothing(shop: SmallShop) -> None:
    step = drafted(shop, shop.issued())
    assert places(put(shop, step, close_up=[])) == {"#/close_up": "bad_step"}
    assert places(put(shop, step, kind="half")) == {"#/kind": "unknown_choice"}
    wrong = [{"assembly": "no-such-work", "measures": []}]
    assert set(places(put(shop, step, close_up=wrong))) == {"#/close_up/0/assembly"}
    assert shop.office.get(f"quotes/{step['quote']}/steps/{step['id']}").json() == step


def test_a_quote_that_is_over_has_no_draft_to_change(shop: SmallShop) -> None:
    quote = shop.issued()
    step = drafted(shop, quote)
    path = f"quotes/{quote['id']}/withdrawal"
    assert shop.office.post(path, {"reason": "A mistake."}, headers={"If-Match": "*"}).status_code == 200
    assert problem(put(shop, step), 409)["code"] == "quote_state"


def test_an_analyst_writes_none_and_another_shop_finds_none(shop: SmallShop, elsewhere: Office) -> None:
    step = drafted(shop, shop.issued())
    assert problem(put(shop, step, role=ANALYST), 403)["code"] == "role_not_allowed"
    path = f"quotes/{step['quote']}/steps/{step['id']}"
    assert problem(elsewhere.ask("PUT", path, BODY, headers={"If-Match": "*"}), 404)["code"] == "not_found"
    assert problem(shop.office.ask("PUT", f"quotes/{step['quote']}/steps/999999", BODY), 404)["code"] == "not_found"


def test_a_list_of_steps_takes_as_many_queries_for_one_as_for_five(shop: SmallShop) -> None:
    one, five = shop.issued(), shop.issued()
    drafted(shop, one)
    for number in range(5):
        (issued if number % 2 else drafted)(shop, five)
    shop.office.get(f"quotes/{one['id']}/steps")
    counts = []
    for quote, rows in ((one, 1), (five, 5)):
        with CaptureQueriesContext(connection) as queries:
            listed = shop.office.get(f"quotes/{quote['id']}/steps").json()["results"]
        assert len(listed) == rows
        counts.append(len(queries))
    assert counts[0] == counts[1]
