"""How many statements does the cost base take over the API? The same number however much there is."""

from typing import Any

import pytest

from tests.rest.costing import body, entered
from tests.rest.quoting import Quoting
from tests.rest.test_quote_queries import ENTERING, statements

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def warm(quoting: Quoting) -> Quoting:
    """A process that has seen the editions in force before."""
    entered(quoting.office, "rates", body("rate", "estimator"))
    quoting.tried()
    return quoting


def later(slug: str = "estimator", day: str = "2026-04-01") -> dict[str, Any]:
    return body("rate", slug, day, billed_per_hour="140.00")


@pytest.mark.parametrize("path", ["rates", "materials", "assemblies", "plans", "conditions", "rules", "components", "tiers"])
def test_a_page_of_what_is_in_force_takes_one_statement_however_long(warm: Quoting, path: str) -> None:
    for limit in (1, 200):
        taken = statements(warm.office.get, f"{path}?limit={limit}")
        assert len(taken) == ENTERING + 1, "\n".join(taken)


def test_a_page_of_prices_takes_one_more_for_materials_and_markups(warm: Quoting) -> None:
    for limit in (1, 200):
        taken = statements(warm.office.get, f"prices?limit={limit}")
        assert len(taken) == ENTERING + 2, "\n".join(taken)


def test_what_is_in_force_under_a_slug_takes_one_for_each_owner(warm: Quoting) -> None:
    taken = statements(warm.office.get, "rates/estimator")
    assert len(taken) == ENTERING + 2, "\n".join(taken)


def test_editions_and_history_take_one_statement_however_many_there_are(warm: Quoting) -> None:
    for day in ("2026-04-01", "2026-05-01"):
        for path in ("rates/estimator/editions", "rates/estimator/history"):
            taken = statements(warm.office.get, path)
            assert len(taken) == ENTERING + 1, "\n".join(taken)
        entered(warm.office, "rates", later(day=day))


def test_entering_an_edition_takes_the_same_number_however_many_follow(warm: Quoting) -> None:
    # The shop held, that day looked at, own and network's editions, what is overridden; written; and read again.
    for day in ("2026-06-01", "2026-05-01", "2026-04-01"):
        taken = statements(warm.office.post, "rates", later(day=day))
        assert len(taken) == ENTERING + 7, "\n".join(taken)


def test_replacing_takes_as_many_and_withdrawing_one_less(warm: Quoting) -> None:
    made = entered(warm.office, "rates", later())
    path, headers = f"rates/estimator/editions/{made['id']}", {"If-Match": '"v1"'}
    sent = {"contents": later()["contents"]}
    taken = statements(warm.office.ask, "PUT", path, sent, headers=headers)
    assert len(taken) == ENTERING + 7, "\n".join(taken)
    taken = statements(warm.office.ask, "DELETE", path, headers={"If-Match": '"v2"'})
    assert len(taken) == ENTERING + 6, "\n".join(taken)
