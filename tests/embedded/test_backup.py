"""What the page says about backup and restore is run as it stands there, and the restored database is whole."""

import os
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import psycopg
import pytest

from api.embedded import binaries, roles
from api.embedded.account import server_account
from api.environment import DatabaseUrl
from tests.conftest import address
from tests.rest import bodies
from tests.rest.office import Office, office
from tests.rest.quoting import with_cost_base

ROOT = Path(__file__).resolve().parents[2]
RESTORED = f"restored_{os.getpid()}"


def command(name: str) -> str:
    """The shell command that follows a marker of the page."""
    page = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    found = re.search(rf"<!-- command: {name} -->\n```\n(.*?)\n```", page, re.DOTALL)
    assert found is not None, f"DEVELOPERS.md has no command {name}"
    return found[1]


def run(name: str, folder: Path, owner_url: str) -> None:
    path = f"{binaries.postgres_binaries(server_account())}:{os.environ['PATH']}"
    done = subprocess.run(
        ["sh", "-euc", command(name)],
        cwd=folder,
        env={"PATH": path, "DATABASE_OWNER_URL": owner_url},
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def other(url: str) -> str:
    """The same address with the restored database in place of the tests' own."""
    return re.sub(r"@/[^?]+\?", f"@/{RESTORED}?", url)


def contents(url: str) -> dict[str, tuple[Any, ...]]:
    """How many rows every table has, and a digest of them all."""
    with psycopg.connect(url) as connection:
        tables = connection.execute(
            "SELECT quote_ident(relname) FROM pg_class WHERE relnamespace = 'public'::regnamespace AND relkind = 'r' ORDER BY 1"
        ).fetchall()
        digest = "SELECT count(*), md5(string_agg(row::text, '|' ORDER BY row::text)) FROM {} AS row"
        return {name: connection.execute(digest.format(name).encode()).fetchone() or () for (name,) in tables}


def guards(url: str) -> list[tuple[Any, ...]]:
    """What the catalogue says of every table: row security, policies, triggers, constraints and who may what."""
    with psycopg.connect(url) as connection:
        return connection.execute(
            """
            SELECT c.relname, c.relrowsecurity, c.relforcerowsecurity,
                   (SELECT string_agg(entry::text, ' ' ORDER BY entry::text)
                    FROM unnest(coalesce(c.relacl, acldefault('r', c.relowner))) AS entry),
                   (SELECT string_agg(polname || pg_get_expr(polqual, polrelid), ' ' ORDER BY polname)
                    FROM pg_policy WHERE polrelid = c.oid),
                   (SELECT string_agg(pg_get_triggerdef(t.oid), ' ' ORDER BY tgname) FROM pg_trigger t
                    WHERE tgrelid = c.oid AND NOT tgisinternal),
                   -- By name: read back, the text of a check has other casts that mean the same.
                   (SELECT string_agg(conname || contype::text, ' ' ORDER BY conname) FROM pg_constraint WHERE conrelid = c.oid)
            FROM pg_class c WHERE c.relnamespace = 'public'::regnamespace AND c.relkind = 'r' ORDER BY 1
            """
        ).fetchall()


@pytest.fixture
def restored(owner_login: DatabaseUrl) -> Iterator[None]:
    with psycopg.connect(address(owner_login), autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {RESTORED} TEMPLATE template0".encode())
    try:
        with psycopg.connect(other(address(owner_login)), autocommit=True) as connection:
            for statement in roles.grant_statements():
                connection.execute(statement.encode())
        yield
    finally:
        with psycopg.connect(address(owner_login), autocommit=True) as connection:
            connection.execute(f"DROP DATABASE {RESTORED} WITH (FORCE)".encode())


def customers_of(url: str, shop_id: int | None) -> list[tuple[Any, ...]]:
    with psycopg.connect(url) as connection:
        connection.execute("SELECT set_config('app.shop_id', %s, true)", [str(shop_id or "")])
        return connection.execute("SELECT name FROM quotes_customer ORDER BY name").fetchall()


def full_shop() -> Office:
    one = office()
    with_cost_base(one.shop.network)
    assert one.post("customers", bodies.customer(name="Invented Owner")).status_code == 201
    assert one.post("coaches", bodies.coach()).status_code == 201
    return one


@pytest.mark.django_db(transaction=True)
def test_a_backup_restores_rows_guards_and_numbers(
    tmp_path: Path, restored: None, owner_login: DatabaseUrl, app_login: DatabaseUrl
) -> None:
    one, two = full_shop(), full_shop()
    here, there = address(owner_login), other(address(owner_login))
    run("backup", tmp_path, here)
    run("restore", tmp_path, there)

    assert contents(there) == contents(here)
    assert contents(there)["quotes_customer"][0] == 2
    assert guards(there) == guards(here)
    # The service's role sees one shop's rows there, as here, and none without a scope.
    app = other(address(app_login))
    assert customers_of(app, None) == []
    assert customers_of(app, one.shop.pk) == customers_of(app, two.shop.pk) == [("Invented Owner",)]
    with psycopg.connect(there) as connection:
        ids = "SELECT max(id), nextval(pg_get_serial_sequence('quotes_customer', 'id')) FROM quotes_customer"
        last, following = connection.execute(ids.encode()).fetchone() or (0, 0)
    assert following > last  # The next customer takes no id that is taken.
