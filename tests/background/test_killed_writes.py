"""A write whose web or database is killed under way leaves nothing, and is there once when the client sends it again.

The write is held up at a row that it needs, so that it is killed within its transaction; a client that hears nothing sends the
same again, as a tablet on a bad line does.
"""

import http.client
import json
import os
import signal
import subprocess
import sys
import uuid
from collections.abc import Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.db import connection
from django.utils import timezone

from api.environment import database_url
from api.management.children import HOST, free_port
from quotes.actions.priced import shop_day
from tests import make
from tests.background.servers import Place
from tests.conftest import log_in
from tests.embedded.conftest import ROOT, new_folder, remove_folder
from tests.rest.office import Office
from tests.rest.working import booked
from tests.scenarios.small_shop import SmallShop

Answer = tuple[int, dict[str, Any]]


@dataclass
class Web:
    """The service as it is served, which can be killed and started anew at the same port."""

    place: Place
    port: int = field(default_factory=lambda: free_port(None))
    process: "subprocess.Popen[bytes] | None" = None

    def start(self) -> None:
        command = ["-m", "granian", "--interface", "wsgi", "--host", HOST, "--port", str(self.port), "--no-ws"]
        command += ["--workers", "1", "--blocking-threads", "2", "api.wsgi:application"]
        with open(self.place.folder / "web.log", "ab") as log:
            self.process = subprocess.Popen(
                [sys.executable, *command], cwd=ROOT, env=self.place.variables(), stdout=log, stderr=log, start_new_session=True
            )
        self.place.until(self.is_ready, "the web does not become ready")

    def kill(self) -> None:
        """Kills the web with its workers, none of which can say a word."""
        if self.process is not None:
            os.killpg(self.process.pid, signal.SIGKILL)
            self.process.wait()
            self.process = None

    def is_ready(self) -> bool:
        try:
            return self.ask("GET", "/readyz", None, {})[0] == 200
        except (OSError, http.client.HTTPException):
            return False

    def ask(self, method: str, path: str, body: object, headers: dict[str, str]) -> Answer:
        client = http.client.HTTPConnection(HOST, self.port, timeout=60)
        try:
            sent = {**headers, "Content-Type": "application/json", "Host": "localhost"}
            client.request(method, path, json.dumps(body) if body is not None else None, sent)
            answer = client.getresponse()
            told = answer.read()
            return answer.status, json.loads(told) if told else {}
        finally:
            client.close()


@dataclass(frozen=True)
class Write:
    """A request that writes, the row that it waits for, and the statement that counts what it left."""

    path: str
    body: dict[str, Any]
    headers: dict[str, str]
    held: tuple[str, int]
    left: str
    rows: int


@pytest.fixture(scope="module")
def web() -> Iterator[Web]:
    folder = new_folder()
    web = Web(Place(folder))
    web.start()
    yield web
    web.kill()
    web.place.stop()
    remove_folder(folder)


@pytest.fixture
def small(web: Web, django_db_blocker: Any) -> Iterator[SmallShop]:
    """A shop of the place's own database, to which this process goes too."""
    login = database_url(web.place.server.app_url)
    kept = dict(connection.settings_dict)
    with django_db_blocker.unblock():
        try:
            connection.settings_dict.update({"HOST": login.host, "PORT": str(login.port), "NAME": login.name})
            log_in(login)
            name = os.urandom(4).hex()
            yield SmallShop(Office(make.shop(f"shop-{name}", network=make.network(f"network-{name}"))))
        finally:
            connection.close()
            connection.settings_dict.update(kept)


def hours_of_a_tablet(small: SmallShop) -> Write:
    """Twenty entries of one day, each with an id of the tablet's own."""
    job = booked(small)
    worker = small.office.post("workers", {"label": "north bay", "trade": "technician"}).json()["id"]
    day = shop_day(small.shop, timezone.now()).isoformat()
    entries = [
        {"client_id": str(uuid.uuid4()), "kind": "time", "day": day, "worker": worker, "hours": "0.25"} for _ in range(20)
    ]
    left = f"SELECT count(*) FROM quotes_ledgerentry WHERE job_id = {job.pk}"
    return Write(small.office.url(f"jobs/{job.pk}/entries"), {"entries": entries}, {}, ("quotes_job", job.pk), left, 20)


def acceptance(small: SmallShop) -> Write:
    """A consent that books a job, under a key of the client's own."""
    quote = small.issued()
    document = small.office.get(f"quotes/{quote['id']}/document").json()
    body = {
        "manner": "written",
        "name": "Invented Owner",
        "at": timezone.now().isoformat(),
        "document_hash": document["document_hash"],
        "limit_with_tax": {"amount": "3929.00", "currency": "USD"},
        "old_parts": "discard",
    }
    tag = small.office.get(f"quotes/{quote['id']}")["ETag"]
    headers = {"Idempotency-Key": uuid.uuid4().hex, "If-Match": tag}
    left = f"SELECT count(*) FROM quotes_job WHERE quote_id = {quote['id']}"
    return Write(small.office.url(f"quotes/{quote['id']}/acceptance"), body, headers, ("quotes_quote", quote["id"]), left, 1)


WRITES = pytest.mark.parametrize("write_of", [hours_of_a_tablet, acceptance])


def send(web: Web, small: SmallShop, write: Write) -> Answer:
    return web.ask(
        "POST", write.path, write.body, {"Authorization": f"Bearer {small.office.tokens['manager']}", **write.headers}
    )


def count_left(web: Web, write: Write) -> int:
    ((count,),) = web.place.rows(write.left)
    return int(str(count))


def under_way(web: Web, small: SmallShop, write: Write, pool: ThreadPoolExecutor) -> "Future[Answer]":
    """The write, sent, and waiting within its transaction for the row that is held."""
    waiting = "SELECT FROM pg_locks WHERE NOT granted"
    while True:
        answer = pool.submit(send, web, small, write)
        came = "the write does not come to the row that it waits for"
        web.place.until(lambda: answer.done() or bool(web.place.rows(waiting)), came)  # noqa: B023
        if not answer.done():
            return answer
        # A machine that has much else to do may look only after the service has given the wait up.
        assert answer.result()[1].get("code") == "busy", answer.result()


def there_once(web: Web, small: SmallShop, write: Write) -> None:
    """Sent again it is done; sent once more it is answered, and not done twice."""
    first, again = send(web, small, write), send(web, small, write)
    assert first[0] in (200, 201), first
    assert again[0] in (200, 201), again
    assert count_left(web, write) == write.rows


@WRITES
def test_a_write_whose_web_is_killed_is_not_there_and_then_there_once(web: Web, small: SmallShop, write_of: Any) -> None:
    write = write_of(small)
    with ThreadPoolExecutor(1) as pool:
        with web.place.row_held(*write.held):
            answer = under_way(web, small, write, pool)
            web.kill()
        with pytest.raises((OSError, http.client.HTTPException)):
            answer.result()
    web.start()

    assert count_left(web, write) == 0
    there_once(web, small, write)


@WRITES
def test_a_write_whose_database_goes_away_is_not_there_and_then_there_once(web: Web, small: SmallShop, write_of: Any) -> None:
    write = write_of(small)
    connection.close()
    with ThreadPoolExecutor(1) as pool:
        holding = web.place.row_held(*write.held)
        holding.__enter__()
        answer = under_way(web, small, write, pool)
        web.place.restart_database()
        assert answer.result()[0] >= 400
        with pytest.raises(Exception, match=r"terminat|clos|connection|server"):
            holding.__exit__(None, None, None)
    web.place.until(web.is_ready, "the web does not find its database again")

    assert count_left(web, write) == 0
    there_once(web, small, write)
