"""How is a real PostgreSQL of our own started in a folder, shared while it runs, and ended?

It signals no process but one that it started: the process number in a lock file left by a crash may by now
belong to anybody.
"""

import signal
import subprocess
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Final, Self

from api.embedded import roles
from api.embedded.account import Account, ServerStartError, server_account
from api.embedded.binaries import postgres_binaries
from api.embedded.child import Process, command_of, one_starter, start_child, tail, wait_until
from api.embedded.cluster import (
    PORT,
    Cluster,
    Passwords,
    init_cluster,
    make_database,
    read_passwords,
    socket_folder_for,
)

STOP_SECONDS: Final = 20.0

# Faster, but a crash of the machine may lose the data: for tests only.
TEST_OPTIONS: Final = ("fsync=off", "synchronous_commit=off", "full_page_writes=off", "autovacuum=off")


@dataclass(slots=True)
class Server:
    """A running server. `owner` says whether we started it, and so stop it; others use it while it runs."""

    owner: bool
    app_url: str = field(repr=False)
    owner_url: str = field(repr=False)
    _socket_folder: Path
    _process: Process | None

    def lives(self) -> bool:
        """Whether the server that we started is still there; somebody else's is taken to be."""
        return self._process is None or self._process.poll() is None

    def stop(self) -> None:
        """End the server if we started it: in good order, or after 20 s at once."""
        process, self._process = self._process, None
        if process is None:
            return
        process.send_signal(signal.SIGINT)  # "Fast": roll back what is open and write everything down.
        try:
            process.wait(STOP_SECONDS)
        except subprocess.TimeoutExpired:
            process.send_signal(signal.SIGQUIT)  # "Immediate": the next start recovers from the journal.
            process.wait(STOP_SECONDS)
        with suppress(OSError):
            self._socket_folder.rmdir()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.stop()


def start(data_dir: Path, *, test_profile: bool = False) -> Server:
    """The server of the folder `data_dir`, started unless it runs, with both roles and the database in it.

    Call it from the main thread: the server ends when the thread that started it ends.

    Raises:
        ServerStartError: saying what was expected of the machine, the folder or the server.
    """
    account = server_account()
    folder = account.outer_folder(data_dir.absolute())
    with one_starter(folder):
        passwords = read_passwords(folder)
        if (running := _running(folder / "cluster", passwords)) is not None:
            return _server(running, None)
        cluster = Cluster(folder / "cluster", socket_folder_for(folder, account), passwords)
        programs = postgres_binaries(account)
        if not cluster.data.exists():
            init_cluster(cluster, account, programs, test_profile=test_profile)
        server = _server(cluster, _start_process(cluster, account, programs, test_profile=test_profile))
        try:
            _await_answer(cluster, server)
            make_database(cluster, test_profile=test_profile)
        except BaseException:
            server.stop()
            raise
        return server


def _server(cluster: Cluster, process: Process | None) -> Server:
    return Server(
        owner=process is not None,
        app_url=cluster.url(roles.APP, cluster.passwords.app),
        owner_url=cluster.url(roles.OWNER, cluster.passwords.owner),
        _socket_folder=cluster.socket_folder,
        _process=process,
    )


def _running(data: Path, passwords: Passwords) -> Cluster | None:
    """The server that somebody else started on these data, once it answers; None if there is none."""
    found: Cluster | None = None

    def settled() -> bool:
        # Looked up anew each time, because it may be only starting, or ending.
        nonlocal found
        pid, socket_folder = _recorded(data)
        ours = pid is not None and _serves(pid, data)
        found = Cluster(data, socket_folder, passwords) if ours else None
        return found is None or found.answers()

    wait_until(settled, f"a server on {data} neither answers nor ends: expected its process to be stopped")
    return found


def _recorded(data: Path) -> tuple[int | None, Path]:
    """The process number and the socket's folder in PostgreSQL's lock file, which a crash may have left."""
    try:
        lines = (data / "postmaster.pid").read_text().splitlines()
    except FileNotFoundError:
        return None, data
    pid = int(lines[0]) if lines and lines[0].isdecimal() else None
    # A server that is only starting has not written the fifth line yet. In its data lies no socket.
    return pid, Path(lines[4]) if len(lines) > 4 and lines[4] else data


def _serves(pid: int, data: Path) -> bool:
    command = command_of(pid)
    return bool(command) and Path(command[0]).name == "postgres" and str(data) in command


def _start_process(cluster: Cluster, account: Account, programs: Path, *, test_profile: bool) -> Process:
    account.own_folder(cluster.socket_folder)
    options = (
        "listen_addresses=",
        f"unix_socket_directories={cluster.socket_folder}",
        f"port={PORT}",
        "timezone=UTC",
        "log_timezone=UTC",
        *(TEST_OPTIONS if test_profile else ()),
    )
    pid, _ = _recorded(cluster.data)
    return start_child(
        [programs / "postgres", "-D", cluster.data, *(part for option in options for part in ("-c", option))],
        account=account,
        log=cluster.log,
        dies_with=signal.SIGINT,
        # The lock file may name a live process that is no server of these data, its number given out again
        # since a crash. PostgreSQL would refuse to start; told that it is a relative, it looks past it.
        # Removing the file instead would open the door to two servers on the same data.
        variables={} if pid is None else {"PG_GRANDPARENT_PID": str(pid)},
    )


def _await_answer(cluster: Cluster, server: Server) -> None:
    def answers() -> bool:
        if not server.lives():
            raise ServerStartError(f"PostgreSQL did not start; its last lines:\n{tail(cluster.log)}")
        return cluster.answers()

    wait_until(answers, f"PostgreSQL started but does not answer: see {cluster.log}")
