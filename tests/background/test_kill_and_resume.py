"""Nothing is lost and nothing is done twice, whoever is killed: a real worker, a real broker, a real database of its own."""

import os
import signal
from collections.abc import Iterator, Sequence
from contextlib import ExitStack, contextmanager
from functools import partial
from typing import Any

import celery
import pytest
from django.db import connection
from django.utils import timezone
from kombu import Connection

from api.environment import database_url
from api.rest.imports import STAGING_TASK
from costbase.actions.imports import Upload, stage_import
from costbase.actions.runs import WINDOW
from costbase.models import Run, Shop
from costbase.scope import shop_scope
from quotes.exchange.kept_kinds import READERS
from tests import make
from tests.background.gated import BEFORE, TASK, WITHIN, gate
from tests.background.servers import Place
from tests.background.working import started
from tests.conftest import log_in
from tests.embedded.conftest import new_folder, remove_folder

CHUNKS = 12
HELD_UP = 3
ALL = range(1, CHUNKS + 1)


@pytest.fixture(scope="module")
def place() -> Iterator[Place]:
    folder = new_folder()
    place = Place(folder)
    place.start_worker()
    yield place
    place.stop()
    remove_folder(folder)


@pytest.fixture
def shop(place: Place, django_db_blocker: Any, monkeypatch: pytest.MonkeyPatch) -> Iterator[Shop]:
    """A shop of the place's own database, to which this process goes too, as it does to its broker."""
    login = database_url(place.server.app_url)
    kept = dict(connection.settings_dict)
    send = celery.current_app.send_task
    with django_db_blocker.unblock(), Connection(place.queue.url) as broker:
        monkeypatch.setattr(celery.current_app, "send_task", partial(send, connection=broker))
        try:
            connection.settings_dict.update({"HOST": login.host, "PORT": str(login.port), "NAME": login.name})
            log_in(login)
            name = os.urandom(4).hex()
            yield make.shop(f"shop-{name}", network=make.network(f"network-{name}"))
        finally:
            connection.close()
            connection.settings_dict.update(kept)


@contextmanager
def held_up(place: Place, shop: Shop, where: int, chunks: Sequence[int] = (HELD_UP,)) -> Iterator[Run]:
    """A run with closed gates for some chunks, before they begin or within their transaction, at which a child stands; or both
    children, where no chunk gets through.
    """
    # The number of the next run, so that the gates are closed before the run is there.
    ((number,),) = place.rows("SELECT coalesce(max(id), 0) + 1 FROM costbase_run")
    gates = [gate(int(str(number)), n, where) for n in chunks]
    with place.closed(gates):
        run = started(shop, TASK, [{}] * CHUNKS)
        assert run.pk == number
        place.await_arrival(gates, 2 if chunks == ALL else 1)
        yield run


def ended(run: Run) -> bool:
    # The database may have been started anew since this process last asked.
    connection.close()
    run.refresh_from_db()
    return run.finished is not None


def attempts(place: Place, run: Run) -> int:
    ((count,),) = place.rows(f"SELECT attempts FROM costbase_runchunk WHERE run_id = {run.pk} AND n = {HELD_UP}")
    return int(str(count))


def every_chunk_was_done_once(place: Place, run: Run) -> None:
    """Waits for the run's end: then every chunk has left its one row, and the run knows of each once."""
    place.until(lambda: ended(run), f"run {run.pk} does not end")
    left = place.rows(f"SELECT split_part(slug, '-', 4)::int FROM costbase_shopedition WHERE slug LIKE 'run-{run.pk}-%'")

    assert (run.state, run.done, run.reason) == ("done", CHUNKS, "")
    assert sorted(int(str(n)) for (n,) in left) == list(range(1, CHUNKS + 1))
    assert sorted(run.result["numbers"]) == list(range(1, CHUNKS + 1))


def test_a_worker_that_is_killed_within_a_chunk_leaves_nothing_of_it_and_another_does_it(place: Place, shop: Shop) -> None:
    with held_up(place, shop, WITHIN) as run:
        place.kill_worker()
    place.start_worker()

    every_chunk_was_done_once(place, run)
    assert attempts(place, run) == 2


def test_a_worker_that_is_killed_between_chunks_loses_none(place: Place, shop: Shop) -> None:
    with held_up(place, shop, BEFORE) as run:
        place.kill_worker()
    place.start_worker()

    every_chunk_was_done_once(place, run)
    assert attempts(place, run) == 1


def test_a_long_file_whose_worker_is_killed_is_staged_whole_and_once(place: Place, shop: Shop) -> None:
    rows = [f"trade-{n},Trade {n},30.00,80.00,1.5" for n in range(1_200)]
    content = "\n".join(["slug,name,cost_per_hour,billed_per_hour,overtime_factor", *rows]).encode()
    upload = Upload("rates.csv", "rate", content, make.NOW.date(), "")
    with ExitStack() as held:
        # Both children stand at a gate until the file's row is held: so they come to it, and wait there.
        with held_up(place, shop, BEFORE, chunks=ALL):
            with shop_scope(shop.pk, make.OPERATOR):
                staged = stage_import(
                    by=make.OPERATOR, owner=shop, upload=upload, readers=READERS, task=STAGING_TASK, now=timezone.now()
                )
            held.enter_context(place.row_held("costbase_shopimport", staged.pk))
        run = Run.objects.get(pk=staged.run_id or 0)
        begun = f"SELECT FROM costbase_runchunk WHERE run_id = {run.pk} AND attempts > 0"
        place.until(lambda: bool(place.rows(begun)), "no chunk of the import is begun")
        place.kill_worker()
    place.start_worker()

    place.until(lambda: ended(run), f"run {run.pk} does not end")
    positions = place.rows(f"SELECT position FROM costbase_shopimportrow WHERE of_id = {staged.pk} ORDER BY position")
    assert (run.state, run.result) == ("done", {"rows": 1_200, "faulty": 0})
    assert [position for (position,) in positions] == list(range(1, 1_201))
    assert place.rows(f"SELECT state, added FROM costbase_shopimport WHERE id = {staged.pk}") == [("staged", 1_200)]


def test_one_child_of_a_worker_that_is_killed_is_no_loss_to_the_others(place: Place, shop: Shop) -> None:
    with held_up(place, shop, WITHIN) as run:
        os.kill(place.child_at_gate(gate(run.pk, HELD_UP, WITHIN)), signal.SIGKILL)

    every_chunk_was_done_once(place, run)
    assert attempts(place, run) >= 2


def test_a_broker_that_loses_everything_loses_no_chunk(place: Place, shop: Shop) -> None:
    # A worker that has just lost a child may take one task at a time for a while; a new one takes two.
    place.kill_worker()
    place.start_worker()
    # Both children stand still, so everything else that was published is with the broker.
    with held_up(place, shop, BEFORE, chunks=ALL) as run:
        assert place.queued() >= WINDOW - 2
        place.restart_broker()

    every_chunk_was_done_once(place, run)


def test_a_database_that_goes_away_within_a_chunk_and_comes_back_has_all_of_it_done_again(place: Place, shop: Shop) -> None:
    with held_up(place, shop, WITHIN) as run:
        connection.close()
        place.restart_database()

    every_chunk_was_done_once(place, run)
    assert attempts(place, run) >= 2
