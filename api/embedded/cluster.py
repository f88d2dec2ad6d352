"""What lies in the folder of an embedded PostgreSQL, and how is it made?

`cluster/` are PostgreSQL's own data; `passwords.json`, `server.log` and `start.lock` lie beside them.

Everybody logs in with a password, over the socket too. The socket's folder keeps other accounts out, but the
owner's and the application's roles are used by processes of one account, so neither `trust` nor `peer` could
tell them apart. With passwords, a process that was given the application's address alone can't become the
owner.
"""

import json
import secrets
import shutil
import signal
import subprocess
import tempfile
from dataclasses import asdict, dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import Final
from urllib.parse import quote

import psycopg
from psycopg import sql

from api.embedded import roles
from api.embedded.account import Account, ServerStartError
from api.embedded.child import START_SECONDS, start_child, tail, write_secret

SUPERUSER: Final = "postgres"
PORT: Final = 5432  # A part of the socket's name; the server listens on no network address.
LONGEST_SOCKET_PATH: Final = 103  # 107 bytes on Linux, 103 on macOS.

Connection = psycopg.Connection[tuple[object, ...]]


@dataclass(frozen=True, slots=True)
class Passwords:
    """The passwords of the three roles: long random ones, kept in a file that we alone read."""

    superuser: str = field(repr=False)
    owner: str = field(repr=False)
    app: str = field(repr=False)


@dataclass(frozen=True, slots=True)
class Cluster:
    """One server's data, the folder of its socket and the passwords to it."""

    data: Path
    socket_folder: Path
    passwords: Passwords

    @property
    def log(self) -> Path:
        """What the server writes to its standard output."""
        return self.data.with_name("server.log")

    def connect(self, database: str) -> Connection:
        """Log in as the superuser."""
        return psycopg.connect(
            host=str(self.socket_folder),
            port=PORT,
            user=SUPERUSER,
            password=self.passwords.superuser,
            dbname=database,
            connect_timeout=5,
            autocommit=True,
        )

    def answers(self) -> bool:
        """Whether a server answers on the socket, and serves these data."""
        if not (self.socket_folder / f".s.PGSQL.{PORT}").exists():
            return False
        try:
            with self.connect("postgres") as connection:
                found = connection.execute("SHOW data_directory").fetchone()
        except psycopg.OperationalError:
            return False
        return found is not None and found[0] == str(self.data)

    def url(self, role: str, password: str) -> str:
        """The address of the database for one role, in libpq's form."""
        place = f"host={quote(str(self.socket_folder))}&port={PORT}"
        return f"postgresql://{role}:{password}@/{roles.DATABASE}?{place}"


def read_passwords(folder: Path) -> Passwords:
    """The passwords of the server in `folder`, chosen now if it is a new one."""
    kept = folder / "passwords.json"
    if kept.exists():
        return Passwords(**json.loads(kept.read_text()))
    if (folder / "cluster").exists():
        raise ServerStartError(f"{kept} is gone: expected it beside the data, which nothing else can open")
    passwords = Passwords(*(secrets.token_hex(24) for _ in range(3)))
    write_secret(kept, json.dumps(asdict(passwords)))
    return passwords


def socket_folder_for(folder: Path, account: Account) -> Path:
    """A folder for the socket under the temp folder, short enough, and the same one at the next start."""
    name = f"coach-roof-{sha256(str(folder).encode()).hexdigest()[:12]}"
    for base in (Path(tempfile.gettempdir()), Path("/tmp"), Path("/var/tmp")):
        longest = len(str(base / name / f".s.PGSQL.{PORT}").encode())
        if longest <= LONGEST_SOCKET_PATH and base.is_dir() and account.enters(base):
            return base / name
    raise ServerStartError("no folder for a socket: expected a TMPDIR, /tmp or /var/tmp open to all users")


def init_cluster(cluster: Cluster, account: Account, programs: Path, *, test_profile: bool) -> None:
    """Make PostgreSQL's data: whole or not at all, so that a start cut short leaves nothing to trip over."""
    new = cluster.data.with_name("cluster.new")
    password_file = cluster.data.with_name("initdb.password")
    if new.exists():
        shutil.rmtree(new)
    account.own_folder(new)
    write_secret(password_file, cluster.passwords.superuser, reader=account)
    # The builtin locale sorts alike on every machine, and the wheel's programs are built without ICU.
    argv: list[str | Path] = [
        *(
            programs / "initdb",
            "-D",
            new,
            "-U",
            SUPERUSER,
            f"--pwfile={password_file}",
            "--auth=scram-sha-256",
        ),
        *("--encoding=UTF8", "--locale-provider=builtin", "--builtin-locale=C.UTF-8", "--locale=C"),
        *(["--no-sync"] if test_profile else []),
    ]
    process = start_child(argv, account=account, log=cluster.log, dies_with=signal.SIGTERM)
    try:
        if process.wait(START_SECONDS) != 0:
            raise ServerStartError(f"initdb failed; its last lines:\n{tail(cluster.log)}")
    except (KeyboardInterrupt, subprocess.TimeoutExpired):
        process.terminate()
        process.wait()
        raise
    finally:
        password_file.unlink()
    new.rename(cluster.data)


def make_database(cluster: Cluster, *, test_profile: bool) -> None:
    """Make both roles and the database, or put right those that exist."""
    with cluster.connect("postgres") as connection:
        _execute(connection, *roles.role_statements(makes_databases=test_profile))
        _set_password(connection, roles.OWNER, cluster.passwords.owner)
        _set_password(connection, roles.APP, cluster.passwords.app)
        there = connection.execute("SELECT FROM pg_database WHERE datname = %s", [roles.DATABASE]).fetchone()
        if there is None:
            _execute(connection, roles.CREATE_DATABASE)
        _execute(connection, *roles.connect_statements())
    # Each database that the tests make is a copy of template1, and default privileges are copied with it.
    for database in (roles.DATABASE, *(["template1"] if test_profile else [])):
        with cluster.connect(database) as connection:
            _execute(connection, *roles.grant_statements())


def _execute(connection: Connection, *statements: str) -> None:
    for statement in statements:
        connection.execute(statement.encode())


def _set_password(connection: Connection, role: str, password: str) -> None:
    # Hashed here, so that no log of the server's can show the password itself.
    hashed = connection.pgconn.encrypt_password(password.encode(), role.encode(), b"scram-sha-256").decode()
    statement = sql.SQL("ALTER ROLE {} PASSWORD {}").format(sql.Identifier(role), sql.Literal(hashed))
    connection.execute(statement)
