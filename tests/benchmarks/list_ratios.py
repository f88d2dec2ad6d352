"""The measurements of `bench_lists`: a test, so that it gets the database that tests get.

One shop's pages are asked for over the API among 500 shops of 20 rows each and of 2,000 each, in turns, the fastest of each
counting. Every statement of a page that reads the list's table is then explained: it must find its rows by an index and read no
more than a page of them, or, filtered by a column that no index has, the rows of its own shop.
"""

import json
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import psycopg
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.environment import DatabaseUrl
from costbase.models import Shop
from tests.conftest import address
from tests.rest.office import Office, office
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
_FILL = """
INSERT INTO costbase_shop (slug, name, currency, time_zone, unit_system, shares_learning, created, network_id)
SELECT 'bench-' || n, 'Invented', currency, time_zone, unit_system, false, created, network_id
FROM costbase_shop, generate_series(1, {shops}) AS n WHERE costbase_shop.id = {shop};
"""
_SMALL = {"atoms": "'{}'", "totals": "'{}'", "told": "'{}'", "request": "'{}'", "inputs": "'{}'", "factors": "'{}'"}


@dataclass
class Service:
    """A shop among many, and a way to write rows past the API, as the tables' owner."""

    quoting: Quoting
    owner: psycopg.Connection[Any]
    shop: Office

    def run(self, statement: str) -> None:
        self.owner.execute(statement.encode())

    def columns(self, table: str, **changed: str) -> tuple[str, str]:
        """The table's columns, and what each is filled with from the row that there is."""
        rows = self.owner.execute(
            b"SELECT column_name FROM information_schema.columns WHERE table_name = %s AND table_schema = 'public'", [table]
        )
        names = [name for (name,) in rows if name != "id"]
        return ", ".join(f'"{name}"' for name in names), ", ".join(changed.get(name, f't."{name}"') for name in names)

    def copied(self, table: str, source: str, **changed: str) -> None:
        """Copies the template shop's row for every other shop."""
        names, values = self.columns(table, shop_id="s.id", **changed)
        # One by one: what the insert has still to check stands in the way of the others within one transaction.
        self.run(f"ALTER TABLE {table} DISABLE TRIGGER USER")
        self.run(
            f"INSERT INTO {table} ({names}) SELECT {values} FROM {table} AS t, costbase_shop AS s, {source}"
            f" WHERE t.shop_id = {self.quoting.shop.pk} AND s.slug LIKE 'bench-%'"
        )
        self.run(f"ALTER TABLE {table} ENABLE TRIGGER USER")


@pytest.fixture
def service(transactional_db: None, owner_login: DatabaseUrl) -> Iterator[Service]:
    quoting = Quoting(office())
    quoting.draft()
    with psycopg.connect(address(owner_login), autocommit=True) as owner:
        owner.execute(_FILL.format(shops=SHOPS, shop=quoting.shop.pk).encode())
        one = Office(Shop.objects.get(slug=f"bench-{SHOPS // 2}"))
        service = Service(quoting, owner, one)
        for table in ("quotes_coach", "quotes_survey", "quotes_frozencostbase"):
            below = {"coach_id": _of("quotes_coach")} if table == "quotes_survey" else {}
            service.copied(table, "(SELECT 1) AS once", **below)
        yield service


def _of(table: str) -> str:
    return f"(SELECT min(x.id) FROM {table} AS x WHERE x.shop_id = s.id)"


def fill(service: Service, first: int, last: int) -> None:
    """Quotes and customers number `first` to `last` of every shop."""
    refers = {"coach_id": _of("quotes_coach"), "survey_id": _of("quotes_survey"), "cost_base_id": _of("quotes_frozencostbase")}
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


def nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for below in plan.get("Plans", []):
        yield from nodes(below)


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
