"""What does the demo need before Django reads its settings: where its data lie, which servers run, a key?

``manage.py demo`` comes through here first. Servers that the environment names are used as they are; what it does not name
is started. From then on there is no difference: settings, commands and children read the environment, as anywhere.
"""

import argparse
import fcntl
import os
import secrets
import signal
import sys
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from api.embedded import broker, postgres
from api.embedded.account import ServerStartError, lasting_folder, server_account
from api.embedded.child import write_secret
from api.management.progress import Progress

ROOT: Final = Path(__file__).resolve().parents[2]

# The names that the demo itself is reached by. It listens on loopback alone, since its tokens stand on the screen.
HOSTS: Final = ("127.0.0.1", "localhost")


@dataclass(frozen=True, slots=True)
class Options:
    """What the command line says."""

    once: bool
    port: int | None
    data: Path


def add_options(parser: argparse.ArgumentParser) -> None:
    """The options of ``manage.py demo``, for Django's parser and for the one before it."""
    parser.add_argument("--once", action="store_true", help="stop after the quote is printed")
    parser.add_argument("--port", type=_port, help="port of the web on 127.0.0.1; a free one unless given")
    parser.add_argument(
        "--data", type=Path, help="folder that keeps database, key, tokens and logs; a folder of the checkout's unless given"
    )


def options_of(values: dict[str, object]) -> Options:
    """The options from the values that a parser made."""
    port, data = values["port"], values["data"]
    return Options(
        once=bool(values["once"]),
        port=port if isinstance(port, int) else None,
        data=data.absolute() if isinstance(data, Path) else lasting_folder(ROOT, server_account()),
    )


@contextmanager
def demo_servers(arguments: Sequence[str]) -> Iterator[None]:
    """Holds the demo's data folder and the servers that nobody named, with their addresses in the environment.

    Call it from the main thread. Ctrl-C and SIGTERM end what is inside in good order, whatever they did before.

    Args:
        arguments: what stands behind ``demo`` on the command line.
    """
    parser = argparse.ArgumentParser(prog="manage.py demo", description="Quotes an invented coach, then serves until Ctrl-C.")
    add_options(parser)
    known, _ = parser.parse_known_args(arguments)  # Django's own options are for Django to read.
    # A shell starts background jobs with SIGINT ignored.
    signal.signal(signal.SIGINT, signal.default_int_handler)
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    try:
        with ExitStack() as stack:
            _start(options_of(vars(known)).data, stack)
            yield
    except ServerStartError as error:
        sys.exit(f"The demo cannot start: {error}")
    except KeyboardInterrupt:
        sys.exit(128 + signal.SIGINT)


def end_calmly() -> None:
    """From here on Ctrl-C is not heard: everything is ending already, each part within its time."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, signal.SIG_IGN)


def _start(data: Path, stack: ExitStack) -> None:
    progress = Progress()
    data = server_account().outer_folder(data)
    stack.enter_context(_one_demo(data))
    if not os.environ.get("DATABASE_URL"):
        with progress.step("Starting a PostgreSQL of its own"):
            server = stack.enter_context(postgres.start(data / "postgres"))
        os.environ.update(DATABASE_URL=server.app_url, DATABASE_OWNER_URL=server.owner_url)
    if not os.environ.get("REDIS_URL"):
        with progress.step("Starting a broker of its own"):
            queue = stack.enter_context(broker.start(data / "broker"))
        os.environ["REDIS_URL"] = queue.url
    stack.callback(end_calmly)
    os.environ["SECRET_KEY"] = os.environ.get("SECRET_KEY") or _kept_key(data / "secret-key")
    hosts = [host for host in os.environ.get("ALLOWED_HOSTS", "").split(",") if host]
    os.environ["ALLOWED_HOSTS"] = ",".join([*hosts, *(host for host in HOSTS if host not in hosts)])


@contextmanager
def _one_demo(data: Path) -> Iterator[None]:
    """Holds the folder. Two demos on one would end each other's servers; the kernel frees it when its holder dies."""
    with open(data / "demo.lock", "a", opener=_private) as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            words = f"one runs already on {data}: stop it, or name another folder with --data"
            raise ServerStartError(words) from None
        yield


def _kept_key(path: Path) -> str:
    """The secret key of the first run."""
    if not path.exists():
        write_secret(path, secrets.token_urlsafe(64))
    return path.read_text()


def _private(path: str, flags: int) -> int:
    return os.open(path, flags | os.O_NOFOLLOW, 0o600)


def _port(text: str) -> int:
    if not text.isdecimal() or not 0 < int(text) < 65536:
        raise argparse.ArgumentTypeError(f"expected a port from 1 to 65535, not {text!r}")
    return int(text)
