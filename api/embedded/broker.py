"""How is a Redis-protocol server of our own started in a folder, shared while it runs, and ended?

It listens on loopback, where every user of the machine can knock, so it wants a password: a new one at each
start. It keeps nothing on disk, because what has to survive lies in the database.
"""

import json
import secrets
import signal
import socket
import subprocess
from dataclasses import dataclass, field
from pathlib import Path
from types import TracebackType
from typing import Final, Self

import redis
from redis.backoff import NoBackoff
from redis.retry import Retry

from api.embedded.account import Account, ServerStartError, server_account
from api.embedded.binaries import broker_binary
from api.embedded.child import Process, one_starter, start_child, tail, wait_until, write_secret

STOP_SECONDS: Final = 10.0
PORT_ATTEMPTS: Final = 5
DATABASES: Final = 256  # One for each worker process of a test run.


@dataclass(slots=True)
class Broker:
    """A running broker. `owner` says whether we started it, and so stop it; others use it while it runs."""

    url: str = field(repr=False)
    owner: bool
    _process: Process | None

    def lives(self) -> bool:
        """Whether the broker that we started is still there; that of somebody else is taken to be."""
        return self._process is None or self._process.poll() is None

    def stop(self) -> None:
        """End the broker if we started it."""
        process, self._process = self._process, None
        if process is None:
            return
        process.terminate()
        try:
            process.wait(STOP_SECONDS)
        except subprocess.TimeoutExpired:
            process.kill()  # It holds nothing that is worth waiting for.
            process.wait()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.stop()


def start(folder: Path) -> Broker:
    """The broker of `folder`, started unless it runs. Call it from the main thread.

    Raises:
        ServerStartError: saying what was expected of the machine or the folder.
    """
    account = server_account()
    folder = account.outer_folder(folder)
    with one_starter(folder):
        endpoint = folder / "endpoint.json"
        if endpoint.exists() and _answers(url := json.loads(endpoint.read_text())["url"], folder):
            return Broker(url=url, owner=False, _process=None)
        for _ in range(PORT_ATTEMPTS):
            broker = _start_process(folder, account)
            if _came_up(broker, folder):
                write_secret(endpoint, json.dumps({"url": broker.url}))
                return broker
    raise ServerStartError(f"the broker did not start; its last lines:\n{tail(folder / 'server.log')}")


def _start_process(folder: Path, account: Account) -> Broker:
    port, password = _free_port(), secrets.token_hex(24)
    settings = {
        "bind": "127.0.0.1",
        "port": port,
        "requirepass": password,
        "dir": json.dumps(str(folder), ensure_ascii=False),
        "databases": DATABASES,
        "save": '""',
        "appendonly": "no",
        # A full queue refuses; the other policies drop tasks in silence.
        "maxmemory-policy": "noeviction",
    }
    # A file, because everybody on the machine can read a command line.
    conf = folder / "broker.conf"
    write_secret(conf, "".join(f"{name} {value}\n" for name, value in settings.items()), reader=account)
    process = start_child([broker_binary(account), conf], account=account, log=folder / "server.log", dies_with=signal.SIGTERM)
    return Broker(url=f"redis://:{password}@127.0.0.1:{port}/0", owner=True, _process=process)


def _came_up(broker: Broker, folder: Path) -> bool:
    """Whether it answers in the end; False when it ended, as when somebody took the port meanwhile."""
    try:
        wait_until(
            lambda: not broker.lives() or _answers(broker.url, folder),
            "the broker started but does not answer",
        )
    except BaseException:
        broker.stop()
        raise
    return broker.lives()


def _answers(url: str, folder: Path) -> bool:
    """Whether the broker of this folder answers at the address, and not whoever has the port by now."""
    try:
        with redis.Redis.from_url(
            url,
            decode_responses=True,
            socket_timeout=2,
            socket_connect_timeout=2,
            retry=Retry(NoBackoff(), 0),
        ) as client:
            return bool(client.config_get("dir") == {"dir": str(folder)})
    except redis.RedisError:
        return False


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])
