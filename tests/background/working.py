"""Works runs off in the test's own process, as a worker would: only what was published, in its order."""

from collections.abc import Sequence
from contextlib import suppress
from datetime import datetime

import quotes.tasks  # noqa: F401  # Registers its tasks.
from api.celery import app
from costbase.actions.runs import Json, start_run
from costbase.models import Network, Run, RunChunk, Shop
from costbase.scope import network_scope, shop_scope
from tests import make


def started(
    owner: Shop | Network, task: str, chunks: Sequence[Json], *, closing: Json | None = None, now: datetime = make.NOW
) -> Run:
    """A new run of a test's own task."""
    with shop_scope(owner.pk, make.OPERATOR) if isinstance(owner, Shop) else network_scope(owner.pk, make.OPERATOR):
        return start_run(by=make.OPERATOR, owner=owner, kind="test", task=task, chunks=chunks, closing=closing, now=now)


def next_published(run_id: int) -> int | None:
    """The number of the chunk that the broker would hand out next."""
    waiting = RunChunk.objects.filter(run_id=run_id, state="waiting", published__isnull=False)
    return waiting.order_by("published", "n").values_list("n", flat=True).first()


def work_off(run_id: int, *, most: int = 1_000) -> Run:
    """The run, once nothing that was published is left to do; a chunk that fails is tried as often as it is published."""
    for _ in range(most):
        run = Run.objects.get(pk=run_id)
        n = None if run.finished else next_published(run_id)
        if n is None:
            return run
        task = app.tasks[run.task]
        # What a task raises is for the worker's log; what came of it stands in the run.
        with suppress(Exception):
            task(run_id, n)
    raise AssertionError(f"run {run_id} does not come to an end")
