"""How do the tests get a real database and broker? Before Django's settings are read, this starts both.

With `-n`, the first process starts them, the worker processes inherit the addresses, and each uses a database
of its own in both. A `DATABASE_URL` or `REDIS_URL` that is already set is used instead. The servers live in a
temporary folder and end with the run; when the run is killed, the kernel ends them.
"""

import os
import shutil
import tempfile
from collections.abc import Generator
from pathlib import Path
from typing import Final

import pytest

from api.embedded import broker, postgres
from api.embedded.account import ServerStartError

# Tells the worker processes of `-n` that the broker is ours, so that each may have a database of it.
OUR_BROKER: Final = "TEST_BROKER_IS_OURS"

# What the settings want besides the servers.
PLAIN: Final = {"SECRET_KEY": "only-for-tests-" * 4, "ALLOWED_HOSTS": "testserver,localhost", "DEBUG": "0"}


# A wrapper, and the first one, runs before the Django plugin reads the settings.
@pytest.hookimpl(wrapper=True, tryfirst=True)
def pytest_load_initial_conftests(early_config: pytest.Config) -> Generator[None]:
    """Put the addresses of both servers into the environment."""
    options = early_config.known_args_namespace
    if worker := os.environ.get("PYTEST_XDIST_WORKER", ""):
        _take_own_broker_database(worker)
    elif not options.help and not options.version:
        try:
            _start_missing(early_config)
        except ServerStartError as error:
            raise pytest.UsageError(str(error)) from error
    for name, value in PLAIN.items():
        os.environ.setdefault(name, value)
    return (yield)


def _start_missing(config: pytest.Config) -> None:
    needs_database, needs_broker = not os.environ.get("DATABASE_URL"), not os.environ.get("REDIS_URL")
    if not needs_database and not needs_broker:
        return
    folder = Path(tempfile.mkdtemp(prefix="coach-roof-tests-"))
    folder.chmod(0o711)  # The servers' user has to pass through it, and mkdtemp lets nobody else in.
    # Unlike pytest_unconfigure, a clean-up also runs when pytest stops early. Last in, first out.
    config.add_cleanup(lambda: shutil.rmtree(folder))
    if needs_database:
        server = postgres.start(folder / "postgres", test_profile=True)
        config.add_cleanup(server.stop)
        _publish(config, {"DATABASE_URL": server.app_url, "DATABASE_OWNER_URL": server.owner_url})
    if needs_broker:
        queue = broker.start(folder / "broker")
        config.add_cleanup(queue.stop)
        _publish(config, {"REDIS_URL": queue.url, OUR_BROKER: "1"})


def _publish(config: pytest.Config, variables: dict[str, str]) -> None:
    def withdraw() -> None:
        for name in variables:
            os.environ.pop(name, None)

    os.environ.update(variables)
    config.add_cleanup(withdraw)


def _take_own_broker_database(worker: str) -> None:
    if os.environ.get(OUR_BROKER):
        address, _, _ = os.environ["REDIS_URL"].rpartition("/")
        os.environ["REDIS_URL"] = f"{address}/{int(worker.removeprefix('gw')) + 1}"
