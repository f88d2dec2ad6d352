"""Which processes of our own does the demo run beside itself, and how do they end with it?

Each is started outside our terminal, so that Ctrl-C reaches the demo alone, and receives SIGTERM when the demo dies. What it
writes goes to a log in the demo's data folder.
"""

import http.client
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from api.embedded.account import Account, ServerStartError
from api.embedded.child import Process, start_child, tail, wait_until
from api.management.demo_servers import ROOT

HOST: Final = "127.0.0.1"
THREADS: Final = 4
STOP_SECONDS: Final = 30.0
READY_SECONDS: Final = 90.0
ASK_SECONDS: Final = 5.0


@dataclass(frozen=True, slots=True)
class Child:
    """A running process of ours, with the log that it writes."""

    name: str
    log: Path
    process: Process

    def ended(self) -> ServerStartError:
        """Says that it has ended, with its last words."""
        status = self.process.poll()
        return ServerStartError(f"the {self.name} ended with status {status}; the last lines of {self.log}:\n{tail(self.log)}")

    def lives(self) -> bool:
        return self.process.poll() is None


def migrate(logs: Path) -> None:
    """Brings the tables up to date, as their owner, and waits for it.

    Raises:
        ServerStartError: it failed; with its last words.
    """
    child = _start("migration", logs, [sys.executable, ROOT / "manage.py", "migrate", "--no-input"], _without())
    try:
        child.process.wait()
    finally:
        stop([child])
    if child.process.returncode != 0:
        raise child.ended()


def start_web(logs: Path, port: int) -> Child:
    """The web on loopback, with a pool of as many connections as it has threads."""
    command = [
        *("-m", "granian", "--interface", "wsgi", "--host", HOST, "--port", str(port), "--no-ws"),
        *("--workers", "1", "--blocking-threads", str(THREADS), "--workers-kill-timeout", "5", "api.wsgi:application"),
    ]
    variables = {**_without("DATABASE_OWNER_URL"), "DATABASE_POOL_SIZE": str(THREADS)}
    return _start("web", logs, [sys.executable, *command], variables)


def start_worker(logs: Path) -> Child:
    """One worker for tasks in the background, which has no others to make friends with."""
    command = ["-m", "celery", "--app", "api.celery", "worker", "--concurrency", "1", "--loglevel", "INFO"]
    command += ["--without-gossip", "--without-mingle", "--without-heartbeat"]
    return _start("worker", logs, [sys.executable, *command], _without("DATABASE_OWNER_URL", "DATABASE_POOL_SIZE"))


def start_beat(logs: Path) -> Child:
    """The clock of the background. A process of its own, as everywhere else: a worker's death does not stop it."""
    command = ["-m", "celery", "--app", "api.celery", "beat", "--loglevel", "INFO", "--pidfile="]
    command += ["--schedule", str(logs / "beat-schedule")]
    return _start("beat", logs, [sys.executable, *command], _without("DATABASE_OWNER_URL", "DATABASE_POOL_SIZE"))


def await_ready(web: Child, port: int) -> None:
    """Returns when the web says that it can do its work.

    Raises:
        ServerStartError: it ended, or says no for too long.
    """

    def ready() -> bool:
        if not web.lives():
            raise web.ended()
        return _ready(port)

    wait_until(ready, f"the web does not become ready: see {web.log}", seconds=READY_SECONDS)


def await_answer(worker: Child, answers: Callable[[], bool]) -> None:
    """Returns when the worker answers over the broker.

    Args:
        worker: started by `start_worker`.
        answers: asks it, and waits a moment for the answer.

    Raises:
        ServerStartError: it ended, or says nothing for too long.
    """

    def ready() -> bool:
        if not worker.lives():
            raise worker.ended()
        return answers()

    wait_until(ready, f"the worker does not become ready: see {worker.log}", seconds=READY_SECONDS)


def stop(children: Sequence[Child]) -> None:
    """Asks all of them to end, waits, and ends by force what does not, and what they started and did not end."""
    for child in children:
        if child.lives():
            child.process.terminate()
    for child in children:
        with suppress(subprocess.TimeoutExpired):
            child.process.wait(STOP_SECONDS)
        # Each child leads a group of its own, which its workers are in: one that was asked to end while it forked leaves them.
        with suppress(ProcessLookupError):
            os.killpg(child.process.pid, signal.SIGKILL)
        child.process.wait()


def free_port(wanted: int | None) -> int:
    """The wanted port, or any that is free.

    Raises:
        ServerStartError: somebody has the wanted port.
    """
    with socket.socket() as probe:
        # A port whose last connections have only just ended is free.
        probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            probe.bind((HOST, wanted or 0))
        except OSError as error:
            raise ServerStartError(f"port {wanted} is not free ({error.strerror}): name another with --port") from error
        return int(probe.getsockname()[1])


def _start(name: str, logs: Path, command: Sequence[str | Path], variables: Mapping[str, str]) -> Child:
    log = logs / f"{name}.log"
    log.unlink(missing_ok=True)
    ourselves = Account(uid=os.geteuid(), gid=os.getegid(), steps_down=False)
    process = start_child(command, account=ourselves, log=log, dies_with=signal.SIGTERM, variables=variables)
    return Child(name, log, process)


def _without(*names: str) -> dict[str, str]:
    """Our environment less some names. The web and the worker have no use for the owner's address."""
    kept = {name: value for name, value in os.environ.items() if name not in names}
    # Children start in the root folder, and the project need not be installed.
    path = os.pathsep.join(part for part in (str(ROOT), kept.get("PYTHONPATH")) if part)
    return {**kept, "PYTHONPATH": path}


def _ready(port: int) -> bool:
    connection = http.client.HTTPConnection(HOST, port, timeout=ASK_SECONDS)
    try:
        connection.request("GET", "/readyz")
        return connection.getresponse().status == http.HTTPStatus.OK
    except (OSError, http.client.HTTPException):
        return False
    finally:
        connection.close()
