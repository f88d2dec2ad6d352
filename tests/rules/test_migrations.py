"""Migrations are named, in one line, reversible, and import none of our code."""

import ast
import os
import re
import subprocess
import sys
from io import StringIO
from itertools import pairwise
from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from django.db.migrations.operations import RunPython, RunSQL
from django.db.migrations.operations.base import Operation

from api.environment import DatabaseUrl
from tests.conftest import address, log_in

ROOT = Path(__file__).resolve().parents[2]
OURS = ("costbase", "quotes", "accounts")
FILES = sorted(
    path for folder in ("costbase", "quotes", "api/accounts") for path in (ROOT / folder / "migrations").glob("[0-9]*.py")
)


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.parent.name}-{path.stem}")
class TestFile:
    def test_it_has_a_name_of_its_own(self, path: Path) -> None:
        assert re.fullmatch(r"\d{4}_[a-z][a-z_]*", path.stem)
        assert not re.search(r"_(auto|initial|alter_|more)", path.stem)

    def test_it_imports_none_of_our_code(self, path: Path) -> None:
        imported: set[str] = set()
        for node in ast.walk(ast.parse(path.read_text())):
            if isinstance(node, ast.Import):
                imported |= {alias.name.split(".")[0] for alias in node.names}
            elif isinstance(node, ast.ImportFrom):
                imported.add((node.module or "").split(".")[0])

        assert imported <= {"datetime", "decimal", "django", "pghistory", "pgtrigger", "uuid"}


class TestGraph:
    def test_every_application_has_one_line_of_migrations(self) -> None:
        graph = MigrationLoader(None).graph

        for app in OURS:
            own = sorted(key for key in graph.nodes if key[0] == app)
            for before, after in pairwise(own):
                parents = {parent.key for parent in graph.node_map[after].parents if parent.key[0] == app}
                assert parents == {before}, after

    def test_every_statement_says_how_it_is_taken_back(self) -> None:
        for key, migration in MigrationLoader(None).disk_migrations.items():
            for operation in migration.operations if key[0] in OURS else ():
                assert isinstance(operation, Operation)
                assert operation.reversible, (key, operation)
                if isinstance(operation, RunSQL):
                    assert operation.reverse_sql not in (None, RunSQL.noop, ""), (key, operation)
                assert not (isinstance(operation, RunPython) and operation.reverse_code is None), (key, operation)

    @pytest.mark.django_db
    def test_the_models_have_no_change_that_no_migration_makes(self) -> None:
        said = StringIO()

        call_command("makemigrations", "--check", "--dry-run", stdout=said)

        assert said.getvalue() == "No changes detected\n"


@pytest.mark.django_db(transaction=True)
def test_everything_can_be_taken_back_and_made_again(owner_login: DatabaseUrl, app_login: DatabaseUrl) -> None:
    tests_database = connection.settings_dict["NAME"]
    scratch = f"{tests_database}_and_back"
    log_in(owner_login)
    run(f'CREATE DATABASE "{scratch}"')
    try:
        log_in(owner_login)
        connection.settings_dict["NAME"] = scratch
        migrate_in_a_process_of_its_own(owner_login, app_login)
        made = tables()
        for app in ("quotes", "accounts", "costbase"):
            call_command("migrate", app, "zero", verbosity=0)
        left = tables()
        call_command("migrate", verbosity=0)

        assert left == {"django_migrations", "pghistory_context"}
        assert tables() == made > left
    finally:
        log_in(owner_login)
        connection.settings_dict["NAME"] = tests_database
        run(f'DROP DATABASE IF EXISTS "{scratch}"')
        log_in(app_login)


def migrate_in_a_process_of_its_own(owner: DatabaseUrl, app: DatabaseUrl) -> None:
    """As a person does it: the command itself finds out that it needs the owner's login, and runs Django's
    checks.
    """
    addresses = {"DATABASE_URL": address(app), "DATABASE_OWNER_URL": address(owner)}
    done = subprocess.run(
        [sys.executable, "manage.py", "migrate", "--verbosity=0"],
        cwd=ROOT,
        env={**os.environ, **addresses},
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr


def run(statement: str) -> None:
    with connection.cursor() as cursor:
        cursor.execute(statement)


def tables() -> set[str]:
    return set(connection.introspection.table_names())
