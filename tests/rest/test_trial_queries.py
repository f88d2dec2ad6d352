"""How many statements does a trial of drafts take? The same number however many quotes and coaches it is about."""

import pytest

from tests.rest.quoting import Quoting, contents_of
from tests.rest.test_quote_queries import ENTERING, statements

pytestmark = pytest.mark.django_db(transaction=True)

DEARER = {"kind": "rate", "slug": "estimator", "contents": {**contents_of("rate", "estimator"), "billed_per_hour": "135.00"}}


@pytest.fixture
def warm(quoting: Quoting) -> Quoting:
    """A process that has seen the editions, and a shop with six issued quotes."""
    for _ in range(6):
        quoting.issued()
    quoting.tried()
    return quoting


def test_last_issued_quotes_take_four_statements_however_many_they_are(warm: Quoting) -> None:
    # Editions in force; quotes, their lines, their components.
    for last_issued in (1, 6):
        body = {"editions": [DEARER], "quotes": {"last_issued": last_issued}}
        taken = statements(warm.office.post, "editions/trial", body)
        assert len(taken) == ENTERING + 4, "\n".join(taken)
        assert all(sql.startswith(("SELECT", "WITH")) for sql in taken[ENTERING:])


def test_coaches_take_one_statement_together(warm: Quoting) -> None:
    for coaches in (1, 6):
        body = {"editions": [DEARER], "coaches": [warm.body()] * coaches}
        taken = statements(warm.office.post, "editions/trial", body)
        # Surveys with their coaches, and editions in force.
        assert len(taken) == ENTERING + 2, "\n".join(taken)


def test_a_draft_that_follows_or_withdraws_takes_two_more(warm: Quoting) -> None:
    warm.own_edition("rate", "helper")
    warm.own_edition("rate", "technician")
    warm.tried()
    body = {"editions": [{"kind": "rate", "slug": "helper", "withdrawn": True}], "coaches": [warm.body()]}
    body["editions"].append({"kind": "rate", "slug": "technician", "follow_network": True})
    taken = statements(warm.office.post, "editions/trial", body)
    # The shop's editions behind those in force, and the network's.
    assert len(taken) == ENTERING + 4, "\n".join(taken)
