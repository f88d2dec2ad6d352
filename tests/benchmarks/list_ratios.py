"""The measurements of `bench_lists`: a test, so that it gets the database that tests get.

One shop's pages are asked for over the API among 500 shops of 20 rows each and of 2,000 each, in turns, the fastest of each
counting. Every statement of a page that reads the list's table is then explained: it must find its rows by an index and read no
more than a page of them, or, filtered by a column that no index has, the rows of its own shop.
"""

import json
import time
from collections.abc import Callable, Iterator
from typing import Any

import psycopg
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.environment import DatabaseUrl
from tests.benchmarks.many_shops import Service, own, service_of
from tests.conftest import address
from tests.rest.office import office
from tests.rest.plans import nodes
from tests.rest.quoting import Quoting

SHOPS = 500
FEW, MANY = 20, 2_000
ROUNDS = 40
# What one page may cost more in the large service than in the small one before it is no longer flat.
FLAT = 1.3
# As many rows a page as the small service has of each: a full page costs more than a short one, however many rows there are.
PAGES = {
    "quotes": "quotes?limit=10",
    "quotes, a late page": "",
    "quotes of one state": "quotes?limit=2&state=draft",
    "quotes of one coach": "quotes?limit=10&coach={coach}",
    "customers": "customers?limit=10",
}
_SMALL = {"atoms": "'{}'", "totals": "'{}'", "told": "'{}'", "request": "'{}'", "inputs": "'{}'", "factors": "'{}'"}


@pytest.fixture
def service(transactional_db: None, owner_login: DatabaseUrl) -> Iterator[Service]:
    quoting = Quoting(office())
    quoting.draft()
    with psycopg.connect(address(owner_login), autocommit=True) as owner:
        service = service_of(quoting, owner, SHOPS)
        for table in ("quotes_coach", "quotes_survey", "quotes_frozencostbase"):
            below = {"coach_id": own("quotes_coach")} if table == "quotes_survey" else {}
            service.copied(table, "(SELECT 1) AS once", **below)
        yield service


def fill(service: Service, first: int, last: int) -> None:
    """Quotes and customers number `first` to `last` of every shop."""
    refers = {"coach_id": own("quotes_coach"), "survey_id": own("quotes_survey"), "cost_base_id": own("quotes_frozencostbase")}
    state = "CASE WHEN n % 10 = 0 THEN 'draft' ELSE 'declined' END"
    service.copied(
        "quotes_quote", f"generate_series({first}, {last}) AS n", number="'B-' || n", state=state, issued_at="t.created",
        created="t.created + n * interval '1 minute'", **_SMALL, **refers,
    )  # fmt: skip
    service.run(
        "INSERT INTO quotes_customer (shop_id, kind, name, contacts, authorisers, note, version, created, changed, digests)"
        f" SELECT s.id, 'person', 'Invented ' || n, '[]', '[]', '', 1, now(), now(), '[]' FROM costbase_shop AS s,"
        f" generate_series({first}, {last}) AS n WHERE s.slug LIKE 'bench-%'"
    )
    service.run("VACUUM ANALYZE quotes_quote")
    service.run("VACUUM ANALYZE quotes_customer")


def addresses(service: Service) -> dict[str, str]:
    """The pages that are measured; the late one is the last of the quotes."""
    coach = service.shop.get("coaches").json()["results"][0]["id"]
    path = "quotes?limit=10"
    following = service.shop.get(path).json()["next"]
    for _ in range(10):
        path = following or path
        following = service.shop.get(path).json()["next"] if following else None
    return {**{name: page.format(coach=coach) for name, page in PAGES.items()}, "quotes, a late page": path}


def fastest(work: Callable[[], Any]) -> float:
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        assert work().status_code == 200
        best = min(best, time.perf_counter() - start)
    return best


def plans(service: Service, path: str) -> list[dict[str, Any]]:
    """The plans of the statements that a page sends to the tables of lists."""
    with CaptureQueriesContext(connection) as seen:
        service.shop.get(path)
    told = []
    with service.shop.scope(), connection.cursor() as cursor:
        for query in seen.captured_queries:
            if 'FROM "quotes_quote"' in query["sql"] or 'FROM "quotes_customer"' in query["sql"]:
                cursor.execute("EXPLAIN (ANALYZE, FORMAT JSON) " + query["sql"].replace("%", "%%"), [])
                (found,) = cursor.fetchone()
                told.append((json.loads(found) if isinstance(found, str) else found)[0]["Plan"])
    assert told, path
    return told


def check_plan(name: str, plan: dict[str, Any]) -> str:
    """Refuses a plan that reads a table whole; tells by which indexes it reads."""
    reads = [node for node in nodes(plan) if "Relation Name" in node or "Index Name" in node]
    whole = [node for node in reads if node["Node Type"] in ("Seq Scan", "Parallel Seq Scan")]
    assert not whole, f"{name} reads a whole table: {whole}"
    read = max(node["Actual Rows"] + node.get("Rows Removed by Filter", 0) for node in reads)
    assert read <= MANY + 1, f"{name} reads {read} rows, more than its shop has"
    return ", ".join(sorted({node["Index Name"] for node in reads if "Index Name" in node}))


@pytest.mark.django_db(transaction=True)
def test_ratios_of_pages(service: Service, capsys: pytest.CaptureFixture[str]) -> None:
    fill(service, 1, FEW)
    small = {name: fastest(lambda path=path: service.shop.get(path)) for name, path in addresses(service).items()}  # type: ignore[misc]
    fill(service, FEW + 1, MANY)
    pages = addresses(service)
    large = {name: fastest(lambda path=path: service.shop.get(path)) for name, path in pages.items()}  # type: ignore[misc]
    indexes = {name: [check_plan(name, plan) for plan in plans(service, path)] for name, path in pages.items()}
    with capsys.disabled():
        print(f"\none page, of {SHOPS} shops with {MANY:,} rows each / with {FEW} each (flat up to {FLAT})")
        for name in PAGES:
            print(f"{name:<24} {large[name] / small[name]:5.2f}   by {'; '.join(indexes[name])}")
