import json
import os
import signal
import socket
import stat
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
import redis
from redis.backoff import NoBackoff
from redis.retry import Retry

from api.embedded import binaries, broker
from api.embedded.account import ServerStartError, server_account
from api.embedded.broker import Broker
from tests.embedded.conftest import Starters, await_end, new_folder, processes_of, remove_folder

# They look at processes through /proc, and wait for their end through the kernel.
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs Linux")


@pytest.fixture(scope="module")
def shared() -> Iterator[tuple[Path, Broker]]:
    """One broker for the tests that only look at it."""
    made = new_folder()
    with broker.start(made / "broker") as started:
        yield made / "broker", started
    remove_folder(made)


def setting(address: str, name: str) -> str:
    with redis.Redis.from_url(address, decode_responses=True) as client:
        return str(client.config_get(name)[name])


def port_of(address: str) -> int:
    return int(address.rpartition("/")[0].rpartition(":")[2])


def test_it_answers_at_its_address_and_refuses_without_the_password(shared: tuple[Path, Broker]) -> None:
    _, started = shared
    with redis.Redis.from_url(started.url) as client:
        assert client.ping()
    for password in (None, "wrong"):
        with (
            redis.Redis(host="127.0.0.1", port=port_of(started.url), password=password, retry=Retry(NoBackoff(), 0)) as client,
            pytest.raises(redis.AuthenticationError),
        ):
            client.ping()


def test_it_listens_on_loopback_and_drops_no_task_when_full(shared: tuple[Path, Broker]) -> None:
    _, started = shared
    assert setting(started.url, "bind") == "127.0.0.1"
    assert setting(started.url, "maxmemory-policy") == "noeviction"


def test_its_secrets_are_closed_to_other_accounts(shared: tuple[Path, Broker]) -> None:
    folder, started = shared
    for name in ("broker.conf", "endpoint.json", "server.log"):
        assert stat.S_IMODE((folder / name).stat().st_mode) == 0o600
    (pid,) = processes_of(folder)
    password = setting(started.url, "requirepass")
    assert password.encode() not in Path(f"/proc/{pid}/cmdline").read_bytes()
    assert password not in repr(started)
    assert Path(f"/proc/{pid}").stat().st_uid == server_account().uid


def test_a_second_start_uses_the_broker_and_does_not_stop_it(shared: tuple[Path, Broker]) -> None:
    folder, started = shared
    with broker.start(folder) as second:
        assert not second.owner
        assert second.url == started.url
    with redis.Redis.from_url(started.url) as client:
        assert client.ping()


def test_of_three_starters_at_once_one_owns_the_broker_and_two_use_it(folder: Path, starters: Starters) -> None:
    three = [starters.start("broker", folder / "broker") for _ in range(3)]
    said = [starter.said() for starter in three]
    assert sorted(bool(words["owner"]) for words in said) == [False, False, True]
    assert len({words["url"] for words in said}) == 1


def test_a_killed_parent_leaves_no_broker_and_the_next_start_has_a_new_password(folder: Path, starters: Starters) -> None:
    starter = starters.start("broker", folder / "broker")
    address = str(starter.said()["url"])
    (pid,) = processes_of(folder)
    starter.kill()
    await_end(pid)
    with broker.start(folder / "broker") as started:
        assert started.owner
        assert started.url.rpartition("@")[0] != address.rpartition("@")[0]


def test_a_note_that_leads_to_somebody_else_is_seen_through(folder: Path, shared: tuple[Path, Broker]) -> None:
    _, other = shared
    (folder / "broker").mkdir(mode=0o711)
    (folder / "broker/endpoint.json").write_text(json.dumps({"url": other.url}))
    with broker.start(folder / "broker") as started:
        assert started.owner
        assert started.url != other.url
    assert other.lives()


def test_a_port_that_somebody_takes_meanwhile_is_given_up_for_another(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        ports = iter([taken.getsockname()[1], broker._free_port()])
        monkeypatch.setattr(broker, "_free_port", lambda: next(ports))
        with broker.start(folder / "broker") as started:
            assert port_of(started.url) != taken.getsockname()[1]


def test_a_broker_that_cannot_start_shows_the_end_of_its_log(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(broker, "DATABASES", 0)
    with pytest.raises(ServerStartError, match=r"did not start(.|\n)*databases"):
        broker.start(folder / "broker")


def test_a_folder_with_quotes_in_its_name_works(folder: Path) -> None:
    with broker.start(folder / 'the "other" \\ one') as started, redis.Redis.from_url(started.url) as client:
        assert client.ping()


def test_a_stopped_broker_is_gone(folder: Path) -> None:
    started = broker.start(folder / "broker")
    (pid,) = processes_of(folder)
    started.stop()
    started.stop()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


def test_a_broker_that_hangs_is_killed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(broker, "STOP_SECONDS", 0.2)
    started = broker.start(folder / "broker")
    (pid,) = processes_of(folder)
    os.kill(pid, signal.SIGSTOP)
    started.stop()
    with pytest.raises(ProcessLookupError):
        os.kill(pid, 0)


def test_the_systems_broker_is_used_where_none_is_installed(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(binaries, "_installed", lambda package: None)
    program = folder / "redis-server"
    program.write_text("#!/bin/sh\n")
    program.chmod(0o755)
    monkeypatch.setenv("PATH", str(folder))
    assert binaries.broker_binary(server_account()) == program
    program.unlink()
    with pytest.raises(ServerStartError, match="expected the extra `embedded`, or valkey-server on the PATH"):
        binaries.broker_binary(server_account())
