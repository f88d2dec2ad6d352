import subprocess
import sys
from pathlib import Path

import psycopg
import pytest

from api.embedded import binaries, cluster, postgres, roles
from api.embedded.account import server_account
from api.embedded.postgres import Server
from api.environment import database_url
from tests.embedded.conftest import WAIT_SECONDS, as_superuser, rows

# They look at processes through /proc, and wait for their end through the kernel.
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs Linux")


def test_the_printed_script_makes_roles_and_database_and_may_be_run_again(folder: Path) -> None:
    place = folder / "postgres"
    with postgres.start(place, test_profile=True) as server:
        with as_superuser(place, server, "template1") as connection:
            connection.execute("DROP OWNED BY roof_owner")
            connection.execute("DROP OWNED BY roof_app")
        with as_superuser(place, server, "postgres") as connection:
            connection.execute("DROP DATABASE roofs")
            connection.execute("DROP ROLE roof_app")
            connection.execute("DROP ROLE roof_owner")
        for _ in range(2):
            run_script(place, server)
        with as_superuser(place, server, "postgres") as connection:
            connection.execute("ALTER ROLE roof_owner PASSWORD 'owner'")
            connection.execute("ALTER ROLE roof_app PASSWORD 'app'")
        owner, app = (database_url(url) for url in (server.owner_url, server.app_url))
        owner_url = f"postgresql://roof_owner:owner@/roofs?host={owner.host}"
        app_url = f"postgresql://roof_app:app@/roofs?host={app.host}"
        rows(owner_url, "CREATE TABLE coach AS SELECT 28 AS feet")
        assert rows(app_url, "SELECT feet, current_setting('statement_timeout') FROM coach") == [(28, "30s")]
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            rows(owner_url, "CREATE DATABASE more")


def run_script(folder: Path, server: Server) -> None:
    psql = binaries.postgres_binaries(server_account()) / "psql"
    socket = database_url(server.owner_url).host
    subprocess.run(
        [
            psql,
            "--set",
            "ON_ERROR_STOP=1",
            "--no-psqlrc",
            "--file",
            "-",
            "--host",
            socket,
            "--username",
            "postgres",
        ],
        input=roles.script(),
        text=True,
        env={"PGPASSWORD": cluster.read_passwords(folder).superuser, "PGDATABASE": "postgres"},
        check=True,
        timeout=WAIT_SECONDS,
        stdout=subprocess.DEVNULL,
    )
