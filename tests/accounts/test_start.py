"""Web and worker start with the service's login and refuse one that row policies do not bind."""

import os
import subprocess
import sys
from pathlib import Path

import psycopg
import pytest
from django.core.checks import run_checks
from django.db import connection

from api.accounts.login_role import login_faults
from api.celery import app, refuse_a_login_that_row_policies_do_not_bind
from api.environment import DatabaseUrl
from tests.conftest import address, log_in

ROOT = Path(__file__).resolve().parents[2]

pytestmark = pytest.mark.django_db(transaction=True)


def python(*words: str, **variables: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, *words],
        cwd=ROOT,
        env={**os.environ, **variables},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


class TestWeb:
    def test_it_starts_with_the_services_login_alone_and_a_pool(self, app_login: DatabaseUrl) -> None:
        code = "import api.wsgi; from django.db import connection; print(connection.pool.max_size)"

        addresses = {"DATABASE_URL": address(app_login), "DATABASE_OWNER_URL": ""}
        started = python("-c", code, DATABASE_POOL_SIZE="3", **addresses)

        assert (started.returncode, started.stdout, started.stderr) == (0, "3\n", "")

    def test_it_refuses_the_owners_login(self, owner_login: DatabaseUrl) -> None:
        started = python("-c", "import api.wsgi", DATABASE_URL=address(owner_login))

        assert started.returncode == 1
        assert "may become roof_owner, which bypasses row policies" in started.stderr

    def test_the_deployment_check_says_the_same(self, app_login: DatabaseUrl, owner_login: DatabaseUrl) -> None:
        def told() -> list[str]:
            checked = run_checks(databases=["default"], include_deployment_checks=True)
            return [str(message.msg) for message in checked if message.id == "accounts.E001"]

        assert told() == []
        log_in(owner_login)
        try:
            assert told() == ["the login is or may become roof_owner, which bypasses row policies; expected the role roof_app"]
        finally:
            log_in(app_login)

    def test_it_refuses_a_login_that_could_rewrite_history(self, app_login: DatabaseUrl, owner_login: DatabaseUrl) -> None:
        table = "quotes_coachevent"
        with psycopg.connect(address(owner_login), autocommit=True) as owner:
            owner.execute(f"GRANT UPDATE ON {table} TO roof_app".encode())
            try:
                assert login_faults() == [f"the login may change the table {table}, which is only added to; restore the grants"]
            finally:
                owner.execute(f"REVOKE UPDATE ON {table} FROM roof_app".encode())
        assert login_faults() == []

    def test_migrating_needs_the_owners_address(self, app_login: DatabaseUrl) -> None:
        refused = python("manage.py", "migrate", DATABASE_URL=address(app_login), DATABASE_OWNER_URL="")

        assert refused.returncode == 1
        assert "DATABASE_OWNER_URL is not set" in refused.stderr


class TestWorker:
    def test_it_refuses_the_owners_login(self, owner_login: DatabaseUrl) -> None:
        words = ("-m", "celery", "--app=api.celery", "worker", "--pool=solo", "--loglevel=error")

        started = python(*words, DATABASE_URL=address(owner_login))

        assert started.returncode == 1
        assert "may become roof_owner, which bypasses row policies" in started.stderr

    def test_it_leaves_no_connection_behind_to_be_shared(self) -> None:
        refuse_a_login_that_row_policies_do_not_bind()

        assert connection.connection is None

    def test_the_refusal_is_one_that_the_library_cannot_swallow(self, owner_login: DatabaseUrl, app_login: DatabaseUrl) -> None:
        log_in(owner_login)
        try:
            with pytest.raises(SystemExit, match="roof_owner"):
                refuse_a_login_that_row_policies_do_not_bind()
        finally:
            log_in(app_login)

    def test_a_lost_task_comes_back_soon_and_a_running_one_does_not_run_twice(self) -> None:
        options = app.conf.broker_transport_options

        assert options["visibility_timeout"] > 2 * app.conf.task_time_limit
        assert options["unacked_restore_interval"] * options["unacked_restore_throttle"] <= 2
        assert app.conf.task_acks_late
        assert app.conf.CELERY_DB_REUSE_MAX == 200
        assert app.conf.accept_content == ["json"]
