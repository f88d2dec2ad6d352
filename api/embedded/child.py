"""How is a server started so that it ends with us, and by one starter at a time?"""

import ctypes
import fcntl
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from types import MappingProxyType
from typing import Final

from api.embedded.account import Account, ServerStartError

Process = subprocess.Popen[bytes]

PR_SET_PDEATHSIG: Final = 1
# A server recovering from a crash of the machine may well take a minute before it answers.
START_SECONDS: Final = 120.0
POLL_SECONDS: Final = 0.02


@contextmanager
def one_starter(folder: Path) -> Iterator[None]:
    """Hold the folder's lock, which the kernel frees when its holder dies, so that none is left behind."""
    with open(folder / "start.lock", "a", opener=_private) as lock:
        wait_until(
            lambda: _locked(lock.fileno()),
            f"another process has been starting the server in {folder} for too long",
            seconds=2 * START_SECONDS,
        )
        yield


def start_child(
    argv: Sequence[str | Path],
    *,
    account: Account,
    log: Path,
    dies_with: signal.Signals,
    variables: Mapping[str, str] = MappingProxyType({}),
) -> Process:
    """Start a server as `account`, outside our terminal, to receive `dies_with` when this process dies.

    The kernel watches the thread that started the child, not the process, hence the main thread. Where there
    is no such signal (macOS) a server outlives a killed parent, and the next start takes it over.
    """
    if threading.current_thread() is not threading.main_thread():
        raise ServerStartError("expected the main thread: a server that another starts ends with that thread")
    # A log repeats the values of statements that failed, so it is for our eyes only.
    with open(log, "ab", opener=_private) as output:
        return subprocess.Popen(
            [str(part) for part in argv],
            stdin=subprocess.DEVNULL,
            stdout=output,
            stderr=subprocess.STDOUT,
            cwd="/",
            # No key of ours and no PGPORT or PGDATA reaches the server; its messages are in English.
            env={"PATH": os.environ.get("PATH", os.defpath), "LC_ALL": "C", **variables},
            start_new_session=True,
            user=account.uid if account.steps_down else None,
            group=account.gid if account.steps_down else None,
            extra_groups=[] if account.steps_down else None,
            # Runs after the change of user, which would clear the wish for a signal. It takes no lock that
            # another thread could have held at the fork.
            preexec_fn=_dying_with(os.getpid(), dies_with),  # noqa: PLW1509
        )


def wait_until(reached: Callable[[], bool], otherwise: str, *, seconds: float = START_SECONDS) -> None:
    """Wait until `reached()`; after `seconds` raise ServerStartError(otherwise)."""
    limit = time.monotonic() + seconds
    while not reached():
        if time.monotonic() > limit:
            raise ServerStartError(otherwise)
        time.sleep(POLL_SECONDS)


def command_of(pid: int) -> list[str]:
    """The command line of a process; empty when there is none, or it is one that we may not see."""
    if Path("/proc/self/cmdline").exists():
        try:
            return Path(f"/proc/{pid}/cmdline").read_text(errors="replace").split("\0")
        except OSError:
            return []
    command = ["ps", "-o", "command=", "-p", str(pid)]
    return subprocess.run(command, capture_output=True, text=True, check=False).stdout.split()


def tail(log: Path) -> str:
    """The last lines of a server's log, for a message."""
    return "\n".join(log.read_text(errors="replace").splitlines()[-12:])


def write_secret(path: Path, text: str, *, reader: Account | None = None) -> None:
    """Put `text` into a file that we alone, or `reader` alone, can read; whole or not at all."""
    half = path.with_name(f"{path.name}.{os.getpid()}")
    with open(half, "w", opener=_private) as file:
        if reader is not None:
            os.fchown(file.fileno(), reader.uid, reader.gid)
        file.write(text)
    half.rename(path)


def _private(path: str, flags: int) -> int:
    return os.open(path, flags | os.O_NOFOLLOW, 0o600)


def _locked(handle: int) -> bool:
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


def _dying_with(parent: int, wanted: signal.Signals) -> Callable[[], None]:
    """What the child runs before it becomes the server. The library is loaded now: later is too late."""
    prctl = ctypes.CDLL(None).prctl if sys.platform == "linux" else None

    def prepare() -> None:
        # A shell starts background jobs with SIGINT ignored, and a server inherits what its parent ignores.
        for number in (signal.SIGINT, signal.SIGTERM, signal.SIGQUIT):
            signal.signal(number, signal.SIG_DFL)
        signal.pthread_sigmask(signal.SIG_SETMASK, ())
        refused = prctl is not None and prctl(PR_SET_PDEATHSIG, int(wanted)) != 0
        if refused or os.getppid() != parent:  # The parent may have died before the wish was made.
            os._exit(os.EX_OSERR)

    return prepare
