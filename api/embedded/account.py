"""Which account of the operating system runs the embedded servers, and what can it reach?

PostgreSQL refuses to run as root, so a process of root's starts its servers as an ordinary account. It never
opens an existing folder to that account: it copies the programs to where the account can read them, and
refuses a data folder that the account cannot enter.
"""

import hashlib
import os
import pwd
import shutil
import stat
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

ORDINARY_ACCOUNTS: Final = ("postgres", "nobody")
LASTING_TEMP: Final = Path("/var/tmp")


class ServerStartError(Exception):
    """An embedded server cannot be started here; says what was expected."""


@dataclass(frozen=True, slots=True)
class Account:
    """The account that runs the servers. It is another one than ours, `steps_down`, when we are root."""

    uid: int
    gid: int
    steps_down: bool

    def enters(self, place: Path) -> bool:
        """Whether the account may pass through a folder, or run a program, and all the folders above it."""
        place = place.resolve()
        return not self.steps_down or all(self._passes(part.stat()) for part in (place, *place.parents))

    def own_folder(self, folder: Path) -> None:
        """Make a folder that the account alone can enter, or check that an existing one is its own.

        Where the temp folder is shared, others can guess the name; what waits there is not trusted.
        """
        try:
            folder.mkdir(mode=0o700)
        except FileExistsError:
            found = folder.lstat()
            if not stat.S_ISDIR(found.st_mode) or found.st_uid not in {self.uid, os.geteuid()}:
                raise ServerStartError(f"{folder} is another user's: expected ours, or nothing") from None
        os.chown(folder, self.uid, self.gid)
        folder.chmod(0o700)

    def outer_folder(self, folder: Path) -> Path:
        """Make the folder of one server, which the account may pass through but not change; its real path."""
        for place in reversed([place for place in (folder, *folder.parents) if not place.exists()]):
            place.mkdir(exist_ok=True)
            place.chmod(0o711 if self.steps_down else 0o700)
        folder = folder.resolve()
        if folder.stat().st_uid != os.geteuid():
            raise ServerStartError(f"{folder} is another user's: expected a folder of our own, or none")
        if not self.enters(folder):
            name = pwd.getpwuid(self.uid).pw_name
            raise ServerStartError(
                f"as root, the server runs as user {name}, who cannot enter {folder}: "
                f"expected a folder that every user can pass through, such as one under {LASTING_TEMP}"
            )
        return folder

    def _passes(self, found: os.stat_result) -> bool:
        if found.st_uid == self.uid:
            return bool(found.st_mode & stat.S_IXUSR)
        if found.st_gid == self.gid:
            return bool(found.st_mode & stat.S_IXGRP)
        return bool(found.st_mode & stat.S_IXOTH)


def server_account() -> Account:
    """The account of this process, or the first of ORDINARY_ACCOUNTS when this process is root's."""
    if os.geteuid() != 0:
        return Account(uid=os.geteuid(), gid=os.getegid(), steps_down=False)
    for name in ORDINARY_ACCOUNTS:
        try:
            entry = pwd.getpwnam(name)
        except KeyError:
            continue
        return Account(uid=entry.pw_uid, gid=entry.pw_gid, steps_down=True)
    raise ServerStartError(f"as root, expected a user named {' or '.join(ORDINARY_ACCOUNTS)}")


def lasting_folder(project: Path, account: Account) -> Path:
    """Where the servers of a checkout keep their data: inside it, or under /var/tmp if they can't enter."""
    if account.enters(project):
        return project / ".demo"
    return LASTING_TEMP / f"coach-roof-demo-{_digest(str(project.resolve()))}"


def reachable(base: Path, parts: Sequence[str], account: Account) -> Path:
    """`base`, or a copy of its `parts` under the temp folder, made once, when the account can't run them."""
    if all(account.enters(base / part) for part in parts):
        return base
    changed = "".join(f"{part}:{(base / part).stat().st_mtime_ns};" for part in parts)
    copy = Path(tempfile.gettempdir()) / f"coach-roof-programs-{_digest(f'{base};{changed}')}"
    if not copy.exists():
        _copy(base, parts, copy)
    found = copy.lstat()
    # These programs are run, so a copy that somebody else may have put under this name is refused.
    if not stat.S_ISDIR(found.st_mode) or found.st_uid != os.geteuid() or found.st_mode & 0o022:
        raise ServerStartError(f"{copy} is another user's: expected our copy of the programs, or nothing")
    if not account.enters(copy):
        raise ServerStartError(f"the server's user cannot enter {copy}: expected a TMPDIR open to all users")
    return copy


def _digest(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:12]


def _copy(base: Path, parts: Sequence[str], copy: Path) -> None:
    half = Path(tempfile.mkdtemp(prefix=f"{copy.name}-"))
    try:
        for part in parts:
            (half / part).parent.mkdir(parents=True, exist_ok=True)
            if (base / part).is_dir():
                unneeded = shutil.ignore_patterns("include", "pgxs", "*.a")
                shutil.copytree(base / part, half / part, ignore=unneeded)
            else:
                shutil.copy2(base / part, half / part)
        for place in (half, *half.rglob("*")):
            runs = place.is_dir() or place.stat().st_mode & stat.S_IXUSR
            place.chmod(0o755 if runs else 0o644)
        half.rename(copy)
    except OSError:
        # Another process put the same copy there meanwhile, which will do.
        if not copy.exists():
            raise
    finally:
        shutil.rmtree(half, ignore_errors=True)
