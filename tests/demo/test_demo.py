"""The demo end to end: once, and again on the same data while it serves."""

import http.client
import json
import re
import subprocess
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest

from tests.demo.conftest import WAIT_SECONDS, start, started_in


@pytest.fixture(scope="module")
def printed_once(folder: Path) -> str:
    """What the first run prints, after which nothing of it is left."""
    demo = start(folder, "--once")
    try:
        printed, _ = demo.process.communicate(timeout=WAIT_SECONDS)
    except subprocess.TimeoutExpired:
        demo.interrupt()
        raise
    assert demo.process.returncode == 0, (folder / "said").read_text()
    assert started_in(folder) == []
    return printed


def number_of(printed: str) -> str:
    found = re.search(r"^Quote (Q-\d{4}-\d+), revision 1, issued", printed, re.MULTILINE)
    assert found, printed
    return found[1]


def answer(address: str, token: str = "") -> tuple[int, str]:
    parts = urlsplit(address)
    connection = http.client.HTTPConnection(parts.netloc, timeout=WAIT_SECONDS)
    try:
        connection.request("GET", f"{parts.path}?{parts.query}", headers={"Authorization": f"Bearer {token}"} if token else {})
        response = connection.getresponse()
        return response.status, response.read().decode()
    finally:
        connection.close()


def document(address: str, token: str) -> Any:
    status, content = answer(address, token)
    assert status == 200, content
    return json.loads(content)


def test_one_command_quotes_a_coach_and_ends(printed_once: str) -> None:
    assert number_of(printed_once).endswith("-1")
    assert re.search(r"Allowance +\$[\d,]+\.\d\d\n", printed_once)
    assert re.search(r"The most you pay without a new consent, with tax +\$[\d,]+\.\d\d\n", printed_once)
    for role in ("estimator", "manager", "analyst", "network_manager"):
        assert re.search(rf"^  {role} +rq_\S{{20,}}$", printed_once, re.MULTILINE)


def test_a_second_demo_keeps_the_quote_serves_until_ctrl_c_and_leaves_nothing(printed_once: str, folder: Path) -> None:
    demo = start(folder)
    try:
        printed = "\n".join(demo.lines_until("curl "))
        assert number_of(printed) == number_of(printed_once)
        found = re.search(r"documentation +(http://\S+)/api/docs", printed)
        tokens = dict(re.findall(r"^  (\w+) +(rq_\S+)$", printed, re.MULTILINE))
        assert found
        web = found[1]
        assert [answer(f"{web}/{path}")[0] for path in ("healthz", "readyz", "api/docs")] == [200, 200, 200]
        assert tokens == dict(re.findall(r"^  (\w+) +(rq_\S+)$", printed_once, re.MULTILINE))
        quotes = document(f"{web}/api/v1/shops/drizzle-quay/quotes", tokens["estimator"])["results"]
        assert [quote["number"] for quote in quotes] == [number_of(printed_once)]
    finally:
        status = demo.interrupt()
    assert status == 0, (folder / "said").read_text()
    assert started_in(folder) == []


def test_a_demo_whose_worker_does_not_start_says_so_and_is_no_success(printed_once: str, folder: Path) -> None:
    broken = folder / "broken"
    broken.mkdir()
    # Python imports this before anything else; the worker alone has celery among its words.
    (broken / "sitecustomize.py").write_text('import sys\nif "celery" in sys.orig_argv:\n    raise SystemExit(3)\n')
    demo = start(folder, "--once", variables={"PYTHONPATH": str(broken)})
    printed, _ = demo.process.communicate(timeout=WAIT_SECONDS)
    assert demo.process.returncode == 1
    assert printed == ""
    assert "the worker ended with status" in (folder / "said").read_text()
    assert started_in(folder) == []
