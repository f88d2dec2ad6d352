"""A write whose web or database is killed under way leaves nothing, and is there once when the client sends it again.

Every write is held up at a row that it needs, so that it is killed within its transaction; a client that hears nothing sends
the same again, as a tablet on a bad line does.
"""

import http.client
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import ExitStack
from typing import Any

import pytest
from django.db import connection

from api.environment import database_url
from tests import make
from tests.background.servers import Place
from tests.background.webs import Answer, Web
from tests.background.writes import Write, every_write
from tests.conftest import log_in
from tests.embedded.conftest import new_folder, remove_folder
from tests.rest.office import Office
from tests.scenarios.small_shop import SmallShop

# One for each write, one for the question whether the web is ready.
THREADS = 16


@pytest.fixture(scope="module")
def web() -> Iterator[Web]:
    folder = new_folder()
    web = Web(Place(folder), THREADS)
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


def send(web: Web, small: SmallShop, write: Write) -> Answer:
    token = {"Authorization": f"Bearer {small.office.tokens['manager']}"}
    return web.ask("POST", write.path, write.body, {**token, **write.headers})


def left(web: Web, writes: Sequence[Write]) -> dict[str, int]:
    """How many rows each of them has left."""
    return {write.name: int(str(web.place.rows(write.left)[0][0])) for write in writes}


def under_way(web: Web, small: SmallShop, writes: Sequence[Write], pool: ThreadPoolExecutor) -> "list[Future[Answer]]":
    """All of them, sent, and each waiting within its transaction for the row that is held."""
    answers = {write.name: pool.submit(send, web, small, write) for write in writes}
    waiting = "SELECT count(DISTINCT pid) FROM pg_locks WHERE NOT granted"

    def all_wait() -> bool:
        for write in writes:
            if answers[write.name].done():
                # A machine that has much else to do may look only after the service has given the wait up.
                told = answers[write.name].result()
                assert told[1].get("code") == "busy", (write.name, told)
                answers[write.name] = pool.submit(send, web, small, write)
        return int(str(web.place.rows(waiting)[0][0])) == len(writes)

    web.place.until(all_wait, "some write does not come to the row that it waits for")
    return list(answers.values())


def there_once(web: Web, small: SmallShop, writes: Sequence[Write]) -> None:
    """Sent again each is done; sent once more it is answered, and not done twice."""
    told = {write.name: (send(web, small, write)[0], send(web, small, write)) for write in writes}
    refused = {name: answers for name, answers in told.items() if answers[0] not in (200, 201)}
    assert not refused
    again = {name: answers[1] for name, answers in told.items() if answers[1][0] not in (200, 201)}
    # A job is settled under no key: the second time it is told what it is.
    assert {name: (status, body["code"]) for name, (status, body) in again.items()} == {"settling": (409, "job_state")}
    assert left(web, writes) == {write.name: write.rows for write in writes}


def test_writes_whose_web_is_killed_are_not_there_and_then_there_once(web: Web, small: SmallShop) -> None:
    writes = every_write(small)
    before = left(web, writes)
    with ThreadPoolExecutor(len(writes)) as pool:
        with ExitStack() as held:
            for write in writes:
                held.enter_context(web.place.row_held(*write.held))
            answers = under_way(web, small, writes, pool)
            web.kill()
        for answer in answers:
            with pytest.raises((OSError, http.client.HTTPException)):
                answer.result()
    web.start()

    assert left(web, writes) == before
    there_once(web, small, writes)


def test_writes_whose_database_goes_away_are_not_there_and_then_there_once(web: Web, small: SmallShop) -> None:
    writes = every_write(small)
    before = left(web, writes)
    connection.close()
    with ThreadPoolExecutor(len(writes)) as pool:
        holding = [web.place.row_held(*write.held) for write in writes]
        for held in holding:
            held.__enter__()
        answers = under_way(web, small, writes, pool)
        web.place.restart_database()
        assert {answer.result()[0] for answer in answers} <= {500, 503}
        for held in holding:
            with pytest.raises(Exception, match=r"terminat|clos|connection|server"):
                held.__exit__(None, None, None)
    web.place.until(web.is_ready, "the web does not find its database again")

    assert left(web, writes) == before
    there_once(web, small, writes)
