"""How do tests kill workers and servers? With a database, a broker and a worker of their own, each in a process of its own."""

import os
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path

import psycopg
import redis
from redis.backoff import ExponentialBackoff
from redis.retry import Retry

from api.embedded import broker, postgres
from api.embedded.account import ServerStartError, server_account
from api.embedded.binaries import broker_binary
from api.embedded.child import Process, start_child, tail, wait_until
from api.embedded.postgres import Server
from api.embedded.pytest_plugin import PLAIN
from tests.embedded.conftest import ROOT

# A machine that has much else to do is no fault.
WAIT_SECONDS = 90.0


@dataclass
class Place:
    """A folder with a database, a broker and at most one worker, all of which can be killed and started anew."""

    folder: Path
    server: Server = field(init=False)
    queue: broker.Broker = field(init=False)
    worker: "subprocess.Popen[bytes] | None" = None

    def __post_init__(self) -> None:
        self.start_database()
        self.queue = broker.start(self.folder / "broker")
        self._broker_process: Process | None = None
        migrate = [sys.executable, "manage.py", "migrate", "--no-input", "--verbosity=0"]
        subprocess.run(migrate, cwd=ROOT, env=self.variables(owner=True), check=True)

    def variables(self, *, owner: bool = False) -> Mapping[str, str]:
        """The environment of a process that works here."""
        addresses = {"DATABASE_URL": self.server.app_url, "REDIS_URL": self.queue.url}
        kept = {name: value for name, value in os.environ.items() if not name.startswith(("DATABASE_", "PYTEST_"))}
        owners = {"DATABASE_OWNER_URL": self.server.owner_url} if owner else {}
        return {**kept, **PLAIN, **addresses, **owners, "PYTHONPATH": str(ROOT), "PYTHONWARNINGS": "ignore"}

    def start_database(self) -> None:
        self.server = postgres.start(self.folder / "postgres", test_profile=True)

    def restart_database(self) -> None:
        self.server.stop()
        self.start_database()

    def restart_broker(self) -> None:
        """Kills the broker, with all that is in it, and starts it anew at the same address."""
        running = self._broker_process or self.queue._process
        assert running is not None
        running.kill()
        running.wait()
        account, place = server_account(), self.folder / "broker"
        command = [broker_binary(account), place / "broker.conf"]
        self._broker_process = start_child(command, account=account, log=place / "server.log", dies_with=signal.SIGTERM)

    def queued(self) -> int:
        """Tasks that wait in the broker, once it answers."""
        client = redis.Redis.from_url(self.queue.url, retry=Retry(ExponentialBackoff(), 10))
        with client:
            return int(client.llen("celery"))

    def start_worker(self) -> None:
        """A worker with two children and the beat, in a process group of its own."""
        command = ["-m", "celery", "--app", "tests.background.worker_app", "worker", "--concurrency", "2", "--beat"]
        command += ["--schedule", str(self.folder / "beat"), "--pidfile", "", "--loglevel", "INFO"]
        command += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
        with open(self.log, "ab") as log:
            self.worker = subprocess.Popen(
                [sys.executable, *command], cwd=ROOT, env=self.variables(), stdout=log, stderr=log, start_new_session=True
            )

    def kill_worker(self) -> None:
        """Kills the worker with its children and its beat, none of which can say a word."""
        if self.worker is not None:
            os.killpg(self.worker.pid, signal.SIGKILL)
            self.worker.wait()
            self.worker = None

    def child_at_gate(self, number: int) -> int:
        """The child of the worker whose connection waits at a gate."""
        (found,) = self.rows(
            "SELECT a.application_name FROM pg_locks l JOIN pg_stat_activity a USING (pid)"
            f" WHERE l.locktype = 'advisory' AND l.objid = {number} AND NOT l.granted"
        )
        return int(str(found[0]).rpartition("-")[2])

    @property
    def log(self) -> Path:
        return self.folder / "worker.log"

    def rows(self, statement: str) -> list[tuple[object, ...]]:
        """What the database says to its owner."""
        with psycopg.connect(self.server.owner_url, autocommit=True) as connection:
            return connection.execute(statement.encode()).fetchall()

    @contextmanager
    def closed(self, numbers: Sequence[int]) -> Iterator[None]:
        """Holds up whoever comes to one of these gates."""
        with psycopg.connect(self.server.owner_url, autocommit=True) as connection:
            connection.execute("SELECT pg_advisory_lock(n) FROM unnest(%s::bigint[]) AS n", [list(numbers)])
            yield

    @contextmanager
    def row_held(self, table: str, number: int) -> Iterator[None]:
        """Holds a row, so that who comes to change it waits."""
        with psycopg.connect(self.server.owner_url) as connection:
            connection.execute(f"SELECT FROM {table} WHERE id = {number} FOR UPDATE".encode())
            yield

    def await_arrival(self, numbers: Sequence[int], most: int) -> None:
        """Returns when so many stand at these closed gates, two at one of them where a task was delivered twice."""
        among = ", ".join(map(str, numbers))
        waiting = f"SELECT FROM pg_locks WHERE locktype = 'advisory' AND objid IN ({among}) AND NOT granted"
        self.until(lambda: len(self.rows(waiting)) >= most, f"fewer than {most} come to the gates {among}")

    def until(self, reached: Callable[[], bool], words: str) -> None:
        """Waits for a condition, and fails with the worker's last words."""
        try:
            wait_until(reached, words, seconds=WAIT_SECONDS)
        except ServerStartError:
            print(tail(self.log) if self.log.exists() else "no worker ran")
            raise

    def stop(self) -> None:
        self.kill_worker()
        if self._broker_process is not None:
            self._broker_process.kill()
            self._broker_process.wait()
        self.queue.stop()
        self.server.stop()
