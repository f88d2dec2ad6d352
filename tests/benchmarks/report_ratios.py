"""The measurements of `bench_reports`: a test, so that it gets the database that tests get.

One shop's reports are asked for over the API among 500 shops of 40 closed jobs each and of 400 each, in turns, the fastest of
each counting. Lists are asked for a page that both services have; sums over a time in which both have as many jobs. Every
statement that reads the closed jobs is explained: it must find its rows by an index that begins with the shop.
"""

import json
import time
from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

import psycopg
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.environment import DatabaseUrl
from costbase.models import Shop
from quotes.models import ClosedJob
from tests.conftest import address
from tests.rest.office import Office, office
from tests.rest.quoting import Quoting
from tests.rest.reviewing import closed, logged
from tests.rest.working import booked

SHOPS = 500
FEW, MANY = 40, 400
ROUNDS = 30
# What a report may cost more in the large service than in the small one before it is no longer flat.
FLAT = 1.3
_WHEN = "closed_from=2026-01-01"
REPORTS = {
    "over budget": "reports/over-budget?limit=20",
    "over budget, one cause": "reports/over-budget?limit=20&cause=subcontract&least=10",
    "over limit": "reports/over-limit",
    "quoted and final": "reports/quoted-final?limit=20",
    "causes": f"reports/causes?{_WHEN}",
    "coverage": f"reports/coverage?{_WHEN}",
}
_SHOPS = """
INSERT INTO costbase_shop (slug, name, currency, time_zone, unit_system, shares_learning, created, network_id)
SELECT 'bench-' || n, 'Invented', currency, time_zone, unit_system, false, created, network_id
FROM costbase_shop, generate_series(1, {shops}) AS n WHERE costbase_shop.id = {shop};
"""
_NO_KEYS = b"""
DO $$ DECLARE name text; BEGIN
    FOR name IN SELECT conname FROM pg_constraint WHERE conrelid = 'quotes_closedjob'::regclass AND contype = 'f' LOOP
        EXECUTE format('ALTER TABLE quotes_closedjob DROP CONSTRAINT %I', name);
    END LOOP;
END $$
"""
TABLE = "quotes_closedjob"


@pytest.fixture
def filling(transactional_db: None, owner_login: DatabaseUrl) -> Iterator[Callable[[int, int], Office]]:
    quoting = Quoting(office())
    job = booked(quoting)
    logged(quoting, job, kind="subcontract", cost=Decimal(9000))
    row = closed(quoting, job)
    columns = [str(field.column) for field in ClosedJob._meta.concrete_fields if field.name != "id"]
    # The first 40 of each shop were closed this year, the others one a day before it.
    day = f"CASE WHEN n <= {FEW} THEN date '2026-01-01' + n ELSE date '2026-01-01' - n END"
    changed = {"shop_id": "s.id", "job_id": "n", "number": "'J-' || n", "closed_on": day, "seq": "1"}
    values = ", ".join(changed.get(name, f'c."{name}"') for name in columns)
    names = ", ".join(f'"{name}"' for name in columns)
    with psycopg.connect(address(owner_login), autocommit=True) as owner:
        owner.execute(_SHOPS.format(shops=SHOPS, shop=quoting.shop.pk).encode())
        shop = Office(Shop.objects.get(slug=f"bench-{SHOPS // 2}"))
        # Closed jobs without their jobs, quotes and coaches: a report reads none of these.
        owner.execute(_NO_KEYS)

        def fill(first: int, last: int) -> Office:
            statement = (
                f"INSERT INTO quotes_closedjob ({names}) SELECT {values} FROM quotes_closedjob AS c, costbase_shop AS s,"
                f" generate_series({first}, {last}) AS n WHERE c.shop_id = {quoting.shop.pk} AND c.id = {row.pk}"
                " AND s.slug LIKE 'bench-%'"
            )
            owner.execute(statement.encode())
            owner.execute(b"VACUUM ANALYZE quotes_closedjob")
            return shop

        yield fill


def fastest(work: Callable[[], Any]) -> float:
    best = float("inf")
    for _ in range(ROUNDS):
        start = time.perf_counter()
        assert work().status_code == 200
        best = min(best, time.perf_counter() - start)
    return best


def nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for below in plan.get("Plans", []):
        yield from nodes(below)


def indexes(shop: Office, path: str) -> str:
    """By which indexes a report reads; refuses one that reads the table whole."""
    with CaptureQueriesContext(connection) as seen:
        shop.get(path)
    used: set[str] = set()
    with shop.scope(), connection.cursor() as cursor:
        for query in seen.captured_queries:
            if 'FROM "quotes_closedjob"' in query["sql"]:
                cursor.execute("EXPLAIN (FORMAT JSON) " + query["sql"].replace("%", "%%"), [])
                (told,) = cursor.fetchone()
                plan = (json.loads(told) if isinstance(told, str) else told)[0]["Plan"]
                whole = [node for node in nodes(plan) if "Seq Scan" in node["Node Type"] and node["Relation Name"] == TABLE]
                assert not whole, f"{path} reads a whole table: {whole}"
                used |= {node["Index Name"] for node in nodes(plan) if "Index Name" in node}
    return ", ".join(sorted(used))


@pytest.mark.django_db(transaction=True)
def test_ratios_of_reports(filling: Callable[[int, int], Office], capsys: pytest.CaptureFixture[str]) -> None:
    shop = filling(1, FEW)
    small = {name: fastest(lambda path=path: shop.get(path)) for name, path in REPORTS.items()}  # type: ignore[misc]
    shop = filling(FEW + 1, MANY)
    large = {name: fastest(lambda path=path: shop.get(path)) for name, path in REPORTS.items()}  # type: ignore[misc]
    with capsys.disabled():
        print(f"\none report, of {SHOPS} shops with {MANY} closed jobs each / with {FEW} each (flat up to {FLAT})")
        for name, path in REPORTS.items():
            print(f"{name:<24} {large[name] / small[name]:5.2f}   by {indexes(shop, path)}")
