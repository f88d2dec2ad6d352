"""Reports find the rows of their own shop by an index, whatever other shops have, and read no more than a page of them.

The service is filled by the tables' owner and its statistics are taken, so that the planner chooses as it would at work: so
many rows of so many shops that reading a table whole costs more than the way by an index.
"""

from collections.abc import Iterator, Sequence

import psycopg
import pytest

from api.environment import DatabaseUrl
from tests.benchmarks.many_shops import service_of
from tests.benchmarks.report_history import TABLES, belongings, fill, template
from tests.conftest import address
from tests.rest.office import Office, office
from tests.rest.plans import Plan, checked_indexes, plans, reads
from tests.rest.quoting import Quoting

SHOPS, OPEN, CLOSED = 14, 6, 700
PAGE = 3
_WHEN = "closed_from=2026-01-01"
# The index by which each report finds its first rows. Of 700 closed jobs 8 were closed this year.
BY = {
    "over-budget?limit=3": "closed_job_over_budget",
    "over-budget?limit=3&cause=subcontract&least=10": "closed_job_over_budget",
    "over-limit?limit=3": "closed_job_over_limit",
    "quoted-final?limit=3": "closed_job_newest_first",
    f"causes?{_WHEN}": "closed_job_newest_first",
    f"coverage?{_WHEN}": "closed_job_newest_first",
    "win-rate?issued_from=2026-01-01&issued_to=2026-12-31": "quote_by_issue",
    "open-jobs?limit=3": "job_open_newest_first",
    "waiting-change-orders?limit=3": "change_order_waiting",
    "unbilled-findings?limit=3": "job_open_newest_first",
    f"unbilled-findings?limit=3&{_WHEN}": "job_by_closing_day",
}
# Jobs of this year, and one quote more for every other of them: a sum reads these and no others.
THIS_YEAR = 8
MOST = (OPEN + THIS_YEAR) * 3 // 2


@pytest.fixture
def shop(transactional_db: None, owner_login: DatabaseUrl) -> Iterator[Office]:
    quoting = Quoting(office())
    history = template(quoting, open=OPEN, this_year=THIS_YEAR)
    with psycopg.connect(address(owner_login), autocommit=True) as owner:
        service = service_of(quoting, owner, SHOPS)
        belongings(service)
        fill(service, history, 1, OPEN + CLOSED)
        yield service.shop


def most_read(found: Sequence[Plan]) -> int:
    """The most rows that any table or index of the plans was read for, those that a filter threw away included."""
    most = 0
    for node in reads(found):
        # Whether a job was closed again is looked up in an index alone: job by job or, while that is cheaper, for all at once.
        if "Relation Name" in node and node.get("Index Name") != "closed_job_seq":
            rows: float = (node["Actual Rows"] + node.get("Rows Removed by Filter", 0)) * node["Actual Loops"]
            most = max(most, round(rows))
    return most


@pytest.mark.django_db(transaction=True)
def test_every_report_finds_the_rows_of_its_shop_by_an_index(shop: Office) -> None:
    for path, index in BY.items():
        found = plans(shop, f"reports/{path}", TABLES)
        assert index in checked_indexes(found, TABLES), path
        assert most_read(found) <= MOST, path
