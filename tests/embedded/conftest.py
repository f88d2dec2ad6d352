"""How do these tests start servers in other processes, and see that none is left?"""

import json
import os
import select
import shutil
import signal
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import psycopg
import pytest

from api.embedded import cluster, postgres
from api.embedded.postgres import Server
from api.environment import database_url

ROOT = Path(__file__).parents[2]
WAIT_SECONDS = 30.0


def processes_of(folder: Path) -> list[int]:
    """The live servers in `folder`: PostgreSQL names it on its command line, the broker works in it."""
    return [int(place.name) for place in Path("/proc").glob("[0-9]*") if _serves(place, folder)]


def _serves(process: Path, folder: Path) -> bool:
    try:
        command = (process / "cmdline").read_bytes().decode(errors="replace").split("\0")
        works_in = (process / "cwd").readlink()
    except OSError:
        return False
    if Path(command[0]).name == "postgres":
        return any(word.startswith(str(folder)) for word in command)
    return "valkey-server" in command[0] and works_in.is_relative_to(folder)


def await_end(pid: int) -> None:
    """Returns when the process has ended; fails if it does not."""
    try:
        handle = os.pidfd_open(pid)
    except ProcessLookupError:
        return
    try:
        ended, _, _ = select.select([handle], [], [], WAIT_SECONDS)
    finally:
        os.close(handle)
    assert ended, f"process {pid} goes on"


@dataclass
class Starter:
    """A process of tests/embedded/starter.py."""

    process: "subprocess.Popen[str]"

    def said(self) -> dict[str, object]:
        assert self.process.stdout is not None
        line = self.process.stdout.readline()
        assert line, "the starter ended without a word"
        found = json.loads(line)
        assert isinstance(found, dict)
        return found

    def kill(self) -> None:
        self.process.kill()
        self.finish()

    def finish(self) -> None:
        self.process.communicate(timeout=WAIT_SECONDS)  # Closes its standard input, so that it stops the server.


class Starters:
    """Starts starters, and in the end lets each finish."""

    def __init__(self) -> None:
        self._started: list[Starter] = []

    def start(self, kind: str, folder: Path) -> Starter:
        process = subprocess.Popen(
            [sys.executable, "-m", "tests.embedded.starter", kind, str(folder)],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            text=True,
            cwd=ROOT,
        )
        self._started.append(Starter(process))
        return self._started[-1]

    def finish(self) -> None:
        for starter in self._started:
            if starter.process.poll() is None:
                starter.finish()


@pytest.fixture
def starters() -> Iterator[Starters]:
    started = Starters()
    yield started
    started.finish()


def new_folder() -> Path:
    """A folder that the servers' user can pass through, which pytest's own temporary folders are not."""
    folder = Path(tempfile.mkdtemp(prefix="coach-roof-embedded-"))
    folder.chmod(0o711)
    return folder


def remove_folder(folder: Path) -> None:
    """Removes a test's folder, and fails if a server of it is still there."""
    left = processes_of(folder)
    for pid in left:
        os.kill(pid, signal.SIGKILL)  # Found by our own folder on its command line, so one of ours.
    shutil.rmtree(folder)
    assert not left, f"processes {left} were left"


@pytest.fixture
def folder() -> Iterator[Path]:
    made = new_folder()
    yield made
    remove_folder(made)


@pytest.fixture(scope="session")
def made_once() -> Iterator[Path]:
    """The folder of a server that ran once and was stopped. Its path is long, and its first start was cut short."""
    made = new_folder()
    place = made / ("long-" * 20) / "it's a folder" / "postgres"
    half = place / "cluster.new"
    half.mkdir(parents=True)
    (half / "PG_VERSION").write_text("18\n")
    for folder in (place, *place.parents[:2]):
        folder.chmod(0o711)
    postgres.start(place, test_profile=True).stop()
    yield place
    remove_folder(made)


@pytest.fixture
def stopped(made_once: Path) -> Path:
    """The same for the tests that start it again, each of which finds it stopped and with an empty database."""
    assert processes_of(made_once) == []
    return made_once


def rows(url: str, statement: str) -> list[tuple[object, ...]]:
    with psycopg.connect(url, autocommit=True) as connection:
        cursor = connection.execute(statement.encode())
        return cursor.fetchall() if cursor.description else []


def as_superuser(folder: Path, server: Server, database: str) -> cluster.Connection:
    socket = Path(database_url(server.owner_url).host)
    return cluster.Cluster(folder / "cluster", socket, cluster.read_passwords(folder)).connect(database)


def mode_of(path: Path) -> int:
    return stat.S_IMODE(path.stat().st_mode)
