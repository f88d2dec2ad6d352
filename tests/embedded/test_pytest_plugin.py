import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from api.environment import database_url
from tests.embedded.conftest import ROOT, WAIT_SECONDS

# They look at processes through /proc, and wait for their end through the kernel.
pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="needs Linux")

# What a test of somebody's says about the servers that it was given.
TEST = """
import json, os, pathlib, psycopg, pytest, redis

@pytest.mark.parametrize("number", range({tests}))
def test_servers_answer(number):
    names = ("DATABASE_URL", "DATABASE_OWNER_URL", "REDIS_URL", "SECRET_KEY", "ALLOWED_HOSTS", "DEBUG")
    found = {{name: os.environ[name] for name in names}}
    with psycopg.connect(found["DATABASE_URL"]) as connection:
        found["fsync"] = connection.execute("SHOW fsync").fetchone()[0]
    with redis.Redis.from_url(found["REDIS_URL"]) as client:
        assert client.ping()
    worker = os.environ.get("PYTEST_XDIST_WORKER", "only")
    pathlib.Path(__file__).with_name(worker + ".json").write_text(json.dumps(found))
"""


def run_pytest(folder: Path, *arguments: str, **variables: str) -> "subprocess.CompletedProcess[str]":
    """Runs the plugin as a machine without a terminal does, in an environment that knows no server."""
    kept = {name: text for name, text in os.environ.items() if name in {"PATH", "HOME"}}
    command = [
        sys.executable,
        "-m",
        "pytest",
        "-c",
        os.devnull,
        "--rootdir",
        str(folder),
        "-q",
        "-p",
        "no:django",
    ]
    return subprocess.run(
        [*command, "-p", "no:cacheprovider", "-p", "xdist", "-p", "api.embedded.pytest_plugin", *arguments, str(folder)],
        stdin=subprocess.DEVNULL,
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**kept, "CI": "true", "PYTEST_DISABLE_PLUGIN_AUTOLOAD": "1", "TMPDIR": str(folder), **variables},
        timeout=WAIT_SECONDS,
        check=False,
    )


def test_worker_processes_share_the_servers_and_each_has_its_own_broker_database(folder: Path) -> None:
    (folder / "test_one.py").write_text(TEST.format(tests=2))
    run = run_pytest(folder, "-n", "2", "--dist", "each")
    assert run.returncode == 0, run.stdout + run.stderr
    one, two = (json.loads((folder / f"{worker}.json").read_text()) for worker in ("gw0", "gw1"))
    assert one["DATABASE_URL"] == two["DATABASE_URL"]
    assert database_url(one["DATABASE_URL"]).user == "roof_app"
    assert database_url(one["DATABASE_OWNER_URL"]).user == "roof_owner"
    assert one["fsync"] == "off"
    assert one["REDIS_URL"].removesuffix("/1") == two["REDIS_URL"].removesuffix("/2")
    # The folder was its temp folder: nothing of the servers is left there, nor any process (the fixture looks).
    assert list(folder.glob("coach-roof*")) == []


def test_servers_that_are_named_are_used_and_nothing_is_started(folder: Path) -> None:
    (folder / "test_one.py").write_text("import os\ndef test_named():\n    assert os.environ['REDIS_URL'] == 'redis://h/0'\n")
    run = run_pytest(folder, DATABASE_URL="postgresql://u@h/n", REDIS_URL="redis://h/0", PG_BIN="/nowhere")
    assert run.returncode == 0, run.stdout + run.stderr


def test_a_run_that_stops_at_its_options_leaves_nothing(folder: Path) -> None:
    run = run_pytest(folder, "--no-such-option")
    assert run.returncode == pytest.ExitCode.USAGE_ERROR
    assert list(folder.iterdir()) == []


def test_servers_that_cannot_be_started_end_the_run_with_what_was_expected(folder: Path) -> None:
    run = run_pytest(folder, PG_BIN="/nowhere")
    assert run.returncode == pytest.ExitCode.USAGE_ERROR
    assert "PG_BIN is /nowhere: expected a folder with a postgres that we can run" in run.stderr
    assert list(folder.iterdir()) == []
