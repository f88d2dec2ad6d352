"""How do tests meet the database? The owner makes and migrates it; then every test logs in as the role that
row policies bind.
"""

from collections.abc import Iterator
from urllib.parse import quote

import pytest
from django.db import connection
from django.test import TransactionTestCase

import api.celery  # noqa: F401  # A task published before the Celery application exists goes to another broker.
from api import environment
from api.environment import DatabaseUrl


def log_in(login: DatabaseUrl) -> None:
    """Makes the next query log in with this address's role. An open connection or pool would go on with the
    former one.
    """
    connection.close()
    connection.close_pool()  # type: ignore[attr-defined]  # PostgreSQL's connection has it.
    connection.settings_dict["USER"] = login.user
    connection.settings_dict["PASSWORD"] = login.password


def address(login: DatabaseUrl) -> str:
    """The address in the form of DATABASE_URL, for a process of its own, of the database that tests use
    now.
    """
    user, password = quote(login.user, safe=""), quote(login.password, safe="")
    name, host = quote(str(connection.settings_dict["NAME"]), safe=""), quote(login.host, safe="")
    return f"postgresql://{user}:{password}@/{name}?host={host}&port={login.port}"


@pytest.fixture(scope="session")
def owner_login() -> DatabaseUrl:
    """The address of the role that migrates."""
    return environment.read().owner_url()


@pytest.fixture(scope="session")
def app_login() -> DatabaseUrl:
    """The address of the role that the service works with."""
    return environment.read().database_url


@pytest.fixture(scope="session")
def django_db_modify_db_settings(django_db_modify_db_settings_parallel_suffix: None, owner_login: DatabaseUrl) -> None:
    """The Django plugin runs this before it makes the database: only the owner may."""
    log_in(owner_login)


@pytest.fixture(scope="session")
def django_db_setup(
    django_db_setup: None, django_db_blocker: object, owner_login: DatabaseUrl, app_login: DatabaseUrl
) -> Iterator[None]:
    """Hands the migrated database to the service's role, and back before it is dropped."""
    flush = TransactionTestCase._fixture_teardown  # type: ignore[attr-defined]  # What pytest-django runs.

    def flush_as_owner(case: TransactionTestCase) -> None:
        # Emptying tables is TRUNCATE, which the service's role may not do.
        log_in(owner_login)
        try:
            flush(case)
        finally:
            log_in(app_login)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", flush_as_owner)
        log_in(app_login)
        yield
        log_in(owner_login)
