"""Which tasks of the background are nobody's in particular, and how does any task work a chunk of a run off?"""

from collections.abc import Callable
from contextlib import AbstractContextManager
from datetime import timedelta
from typing import Final

import structlog
from celery import shared_task
from celery.exceptions import SoftTimeLimitExceeded
from django.db import connection
from django.utils import timezone

from costbase.actions import runs
from costbase.actions.runs import Chunk, Json
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.scope import Scope, network_scope, shop_scope

RUNS_KEPT: Final = timedelta(days=90)

Effect = Callable[[Chunk], Json]

_log = structlog.get_logger("costbase.tasks")


@shared_task(name="costbase.tasks.republish_lost_chunks")
def republish_lost_chunks() -> None:
    """Every half a minute: finds what a broker or worker has lost."""
    fresh_connection()
    if found := runs.republish_lost_chunks(now=timezone.now()):
        _log.warning("lost_chunks_published_again", chunks=found)


@shared_task(name="costbase.tasks.forget_runs")
def forget_runs() -> None:
    """Every night: forgets runs that have long been over."""
    fresh_connection()
    _log.info("runs_forgotten", runs=runs.forget_runs(before=timezone.now() - RUNS_KEPT))


def work_chunk(run_id: int, n: int, effect: Effect) -> None:
    """What the task of a chunk does: opens the scope of the run's owner and has the effect, once.

    Args:
        run_id: the run.
        n: number of the chunk.
        effect: does the chunk's part within the open scope; what it answers is added to the run's result.

    Raises:
        Exception: whatever the effect raised, once the failed attempt is written down.
    """
    fresh_connection()
    with structlog.contextvars.bound_contextvars(request_id=f"run-{run_id}", chunk=n):
        chunk = runs.begin_chunk(run_id, n, now=timezone.now())
        if chunk is None:
            return
        try:
            _work(chunk, effect)
        except runs.RunOverError:
            _log.info("chunk_given_up")
        except Exception as error:
            _log.exception("chunk_failed", attempt=chunk.attempt)
            fresh_connection()
            runs.fail_chunk(chunk, _reason(error), final=isinstance(error, CalculationError), now=timezone.now())
            raise


def _work(chunk: Chunk, effect: Effect) -> None:
    with scope_of(chunk):
        if runs.hold_chunk(chunk):
            found = effect(chunk)
            runs.end_chunk(chunk, found, now=timezone.now())


def scope_of(chunk: Chunk) -> AbstractContextManager[Scope]:
    """The scope of the run's owner, not opened yet."""
    if chunk.shop_id is not None:
        return shop_scope(chunk.shop_id, chunk.actor)
    assert chunk.network_id is not None
    return network_scope(chunk.network_id, chunk.actor)


def fresh_connection() -> None:
    """Lets go of a connection that the server has closed, as when it was started anew.

    A worker keeps its connection from task to task, and nobody else looks at it in between.
    """
    if connection.connection is not None and not connection.in_atomic_block and not connection.is_usable():
        connection.close()


def _reason(error: Exception) -> str:
    """Why, in words that may be shown: those of our own refusals, of others the kind only, since they repeat values."""
    if isinstance(error, CalculationFaults):
        first = error.faults[0]
        return f"{first.field}: {first.message}; {len(error.faults)} faults in all"
    if isinstance(error, CalculationError):
        return f"{error.field}: {error.message}" if error.field else error.message
    if isinstance(error, SoftTimeLimitExceeded):
        return "took longer than a part may take"
    return f"{type(error).__name__}; the log says more"
