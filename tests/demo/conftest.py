"""How do these tests run the demo as a newcomer does, with servers of its own, and see that nothing is left?"""

import os
import re
import select
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.embedded.conftest import ROOT, new_folder

WAIT_SECONDS = 90.0
# What names servers, keys and tests; a newcomer's shell has none of it.
NOT_A_NEWCOMERS = re.compile(r"DATABASE_.*|REDIS_URL|SECRET_KEY|ALLOWED_HOSTS|DEBUG|DJANGO_.*|PYTEST_.*|TEST_.*|COLUMNS")


def started_in(folder: Path) -> list[int]:
    """Every live process that has the folder on its command line or in its environment, or works in it."""
    return [int(place.name) for place in Path("/proc").glob("[0-9]*") if _names(place, os.fsencode(folder))]


def _names(process: Path, folder: bytes) -> bool:
    try:
        works_in = os.fsencode((process / "cwd").readlink())
        return any(
            folder in words for words in (works_in, (process / "cmdline").read_bytes(), (process / "environ").read_bytes())
        )
    except OSError:
        return False


@dataclass
class Demo:
    """A running ``manage.py demo``; `folder` marks its whole family, in the environment that all of it inherits."""

    folder: Path
    process: "subprocess.Popen[str]"

    def lines_until(self, wanted: str) -> list[str]:
        """What it prints up to the line with `wanted`; fails when it ends or takes too long before."""
        assert self.process.stdout is not None
        until, lines = time.monotonic() + WAIT_SECONDS, [""]
        while wanted not in "\n".join(lines[:-1]):
            ready, _, _ = select.select([self.process.stdout], [], [], until - time.monotonic())
            assert ready, f"no {wanted!r} in {WAIT_SECONDS} s"
            read = os.read(self.process.stdout.fileno(), 65536).decode()
            assert read, "it ended:\n" + "\n".join(lines)
            lines = ("\n".join(lines) + read).split("\n")
        return lines

    def interrupt(self) -> int:
        """Ctrl-C, and the status that it ends with."""
        self.process.send_signal(signal.SIGINT)
        self.process.communicate(timeout=WAIT_SECONDS)
        return self.process.returncode


def start(folder: Path, *options: str, variables: Mapping[str, str] | None = None) -> Demo:
    environment = {name: value for name, value in os.environ.items() if not NOT_A_NEWCOMERS.fullmatch(name)}
    with (folder / "said").open("w") as said:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "demo", "--data", str(folder / "data"), *options],
            cwd=ROOT,
            env={**environment, "DEMO_TEST_FOLDER": str(folder), "PYTHONIOENCODING": "utf-8", **(variables or {})},
            stdin=subprocess.DEVNULL,
            stdout=subprocess.PIPE,
            stderr=said,
            text=True,
            start_new_session=True,
        )
    return Demo(folder, process)


@pytest.fixture(scope="module")
def folder() -> Iterator[Path]:
    """One data folder for a demo that is started more than once."""
    made = new_folder()
    yield made
    left = started_in(made)
    for pid in left:
        os.kill(pid, signal.SIGKILL)  # Carries our own folder's name, so it is one of ours.
    shutil.rmtree(made)
    assert not left, f"processes {left} were left"
