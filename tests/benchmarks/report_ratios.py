"""The measurements of `bench_reports`: a test, so that it gets the database that tests get.

One shop's reports are asked for over the API among 500 shops of 40 closed jobs each and of 400 each: in two databases of one
server, in turns, the fastest of each counting. Lists are asked for a page that both have; sums over a time in which both have
as much. Both must answer as many rows. Every statement of a report is explained in the larger one: it must read no table that
grows whole, and each such table by an index that begins with the shop.
"""

import time
from collections.abc import Iterator

import psycopg
import pytest
from django.db import connection
from psycopg import sql

from api.environment import DatabaseUrl
from tests.benchmarks.many_shops import Service, service_of
from tests.benchmarks.report_history import TABLES, belongings, fill, template
from tests.conftest import address
from tests.rest.office import office
from tests.rest.plans import checked_indexes, plans
from tests.rest.quoting import Quoting

SHOPS, OPEN = 500, 20
FEW, MANY = 40, 400
TURNS, ROUNDS = 12, 6
# What a report may cost more in the large service than in the small one before it is no longer flat.
FLAT = 1.3
_WHEN = "closed_from=2026-01-01"
REPORTS = {
    "over budget": "reports/over-budget?limit=20",
    "over budget, one cause": "reports/over-budget?limit=20&cause=subcontract&least=10",
    "over budget, one tier": "reports/over-budget?limit=5&tier=local",
    "over budget, one estimator": "reports/over-budget?limit=3&estimator=3",
    "over limit": "reports/over-limit",
    "quoted and final": "reports/quoted-final?limit=20",
    "causes": f"reports/causes?{_WHEN}",
    "coverage": f"reports/coverage?{_WHEN}",
    "win rate": "reports/win-rate?issued_from=2026-01-01&issued_to=2026-12-31",
    "open jobs": "reports/open-jobs?limit=20",
    "waiting orders": "reports/waiting-change-orders?limit=20",
    "unbilled findings": "reports/unbilled-findings?limit=20",
    "unbilled, closed as well": f"reports/unbilled-findings?limit=60&{_WHEN}",
}


@pytest.fixture
def filled(transactional_db: None, owner_login: DatabaseUrl) -> Iterator[tuple[Service, str]]:
    """The larger service, and the name of the database in which the smaller one stays."""
    quoting = Quoting(office())
    one = template(quoting, open=OPEN, this_year=FEW)
    large = str(connection.settings_dict["NAME"])
    small = f"{large}_small"
    with psycopg.connect(address(owner_login), autocommit=True) as owner:
        service = service_of(quoting, owner, SHOPS)
        belongings(service)
        fill(service, one, 1, OPEN + FEW)
    _copied(owner_login, large, small)
    with psycopg.connect(address(owner_login), autocommit=True) as owner:
        service.owner = owner
        fill(service, one, OPEN + FEW + 1, OPEN + MANY)
        yield service, small
        _log_in(large)
        owner.execute(sql.SQL("DROP DATABASE {}").format(sql.Identifier(small)))


def _copied(owner_login: DatabaseUrl, large: str, small: str) -> None:
    """Copies the database as it stands; nobody may be connected to it meanwhile."""
    connection.close()
    with psycopg.connect(address(owner_login).replace(f"/{large}?", "/postgres?"), autocommit=True) as owner:
        copy = sql.SQL("CREATE DATABASE {} TEMPLATE {}").format(sql.Identifier(small), sql.Identifier(large))
        owner.execute(copy)


def _log_in(database: str) -> None:
    connection.close()
    connection.settings_dict["NAME"] = database


def fastest(service: Service, path: str) -> tuple[float, int]:
    """The least time that the report took, and how many rows it has."""
    best, rows = float("inf"), len(service.shop.get(path).json()["results"])
    for _ in range(ROUNDS):
        start = time.perf_counter()
        answer = service.shop.get(path)
        best = min(best, time.perf_counter() - start)
        assert answer.status_code == 200
    return best, rows


def in_turns(service: Service, small: str, large: str) -> dict[str, float]:
    """By what each report is slower in the large service."""
    best: dict[tuple[str, str], float] = {}
    rows: dict[str, int] = {}
    for _ in range(TURNS):
        for database in (small, large):
            _log_in(database)
            for name, path in REPORTS.items():
                took, count = fastest(service, path)
                assert rows.setdefault(name, count) == count, f"{name} has other rows in the larger service"
                best[database, name] = min(best.get((database, name), float("inf")), took)
    return {name: best[large, name] / best[small, name] for name in REPORTS}


@pytest.mark.django_db(transaction=True)
def test_ratios_of_reports(filled: tuple[Service, str], capsys: pytest.CaptureFixture[str]) -> None:
    service, small = filled
    ratios = in_turns(service, small, str(connection.settings_dict["NAME"]))
    with capsys.disabled():
        print(f"\none report, of {SHOPS} shops with {MANY} closed jobs each / with {FEW} each (flat up to {FLAT})")
        for name, path in REPORTS.items():
            used = checked_indexes(plans(service.shop, path, TABLES), TABLES)
            print(f"{name:<26} {ratios[name]:5.2f}   by {', '.join(used)}")
