"""How does long work go on in the background, with nothing lost and nothing done twice?

A run is cut into chunks. A worker *begins* a chunk, which counts the attempt, and then does everything in one transaction, that
of the shop's or network's scope: it *holds* the chunk, has the effect, and *ends* the chunk. Whoever dies in between leaves the
chunk as it was. A chunk that is held is at work; one that is neither held nor done for a while is lost, and is published again.

Only a few chunks of a run are with the broker at a time, and each that ends publishes the next one: so a long run neither
stands in the way of others nor is taken for lost while it waits. What is published is a task's name with two numbers,
and always after the commit: a task that the broker loses is one that this finds again.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Final

import celery
from django.db import connection, transaction

from costbase.calc.errors import CalculationError
from costbase.models import Network, Run, RunChunk, Shop
from costbase.models.run import CANCELLED, DONE, FAILED, OVER, WAITING
from costbase.scope import Actor, assert_network_scope, assert_scope

Json = Mapping[str, Any]

# A chunk that was begun so often and never ended does not end.
MOST_ATTEMPTS: Final = 3
# Chunks of one run that are with the broker at a time.
WINDOW: Final = 8
# Longer than a chunk may take, so that a worker that is slow to begin is not taken for lost.
LOST_AFTER: Final = timedelta(minutes=2)
MOST_REPUBLISHED: Final = 500
# Entries of each list that a run's result keeps; more are counted only.
MOST_KEPT: Final = 200


class RunOverError(CalculationError):
    """A run that is over can be neither cancelled nor worked on."""

    code = "run_over"


@dataclass(frozen=True, slots=True)
class Chunk:
    """A chunk that a worker has begun: whose it is, what to do, and the number of this attempt."""

    run_id: int
    n: int
    attempt: int
    shop_id: int | None
    network_id: int | None
    params: Json
    run_params: Json
    actor: Actor


def start_run(
    *,
    by: Actor,
    owner: Shop | Network,
    kind: str,
    task: str,
    chunks: Sequence[Json],
    closing: Json | None = None,
    params: Json | None = None,
    key: str = "",
    now: datetime,
) -> Run:
    """A new run, whose first chunks are published when the open scope commits.

    Args:
        by: who wants it; the system for nightly work.
        owner: the shop or network that it is for, whose scope is open.
        kind: what sort of work it is, such as "recompute".
        task: name of the task that works a chunk off, called with the run's id and the chunk's number.
        chunks: what each chunk is to do, as JSON; each under a minute. Without any the run is done at once.
        closing: one more chunk, which begins when all the others are done.
        params: what all chunks share.
        key: makes the run the only one of its kind and owner under it, as the day does for nightly work.
        now: this moment.

    Raises:
        IntegrityError: there is a run of that kind and key already.
    """
    _assert_open(owner)
    total = len(chunks) + (closing is not None)
    run = Run.objects.create(
        shop=owner if isinstance(owner, Shop) else None,
        network=owner if isinstance(owner, Network) else None,
        kind=kind,
        key=key,
        task=task,
        total=total,
        state=WAITING if total else DONE,
        params=dict(params or {}),
        asked_by=by.person_id,
        created=now,
        heartbeat=now,
        finished=None if total else now,
    )
    _write_chunks(run, [*chunks, *([closing] if closing is not None else [])], closes=closing is not None)
    publish_next(run, WINDOW, now)
    return run


_CHUNKS = """
INSERT INTO costbase_runchunk (run_id, n, state, closing, params, attempts)
SELECT %(run)s, n, 'waiting', %(closes)s AND n = %(total)s, params, 0
FROM jsonb_array_elements(%(chunks)s::jsonb) WITH ORDINALITY AS chunk(params, n)
"""


def _write_chunks(run: Run, chunks: Sequence[Json], *, closes: bool) -> None:
    with connection.cursor() as cursor:
        cursor.execute(_CHUNKS, {"run": run.pk, "closes": closes, "total": run.total, "chunks": json.dumps(chunks)})


_NEXT = """
WITH next AS (
    SELECT c.id FROM costbase_runchunk c
    WHERE c.run_id = %(run)s AND c.state = 'waiting' AND c.published IS NULL AND (NOT c.closing OR %(all_but_one)s)
    ORDER BY c.n LIMIT %(most)s FOR UPDATE
)
UPDATE costbase_runchunk c SET published = %(now)s FROM next WHERE c.id = next.id RETURNING c.n
"""


def publish_next(run: Run, most: int, now: datetime) -> None:
    """Gives the next chunks of a run to the broker when the transaction commits."""
    with connection.cursor() as cursor:
        all_but_one = run.done == run.total - 1
        cursor.execute(_NEXT, {"run": run.pk, "all_but_one": all_but_one, "most": most, "now": now})
        numbers = sorted(n for (n,) in cursor.fetchall())
    for n in numbers:
        _publish_on_commit(run.task, run.pk, n)


def _publish_on_commit(task: str, run_id: int, n: int) -> None:
    def publish() -> None:
        celery.current_app.send_task(task, args=(run_id, n))

    # Robust: the chunk stands in the table, so a broker that is away is no fault of what was committed.
    transaction.on_commit(publish, robust=True)


# A chunk that somebody holds is at work, and is skipped. All in one statement, which commits by itself: the attempt counts, and
# stays counted when the worker dies.
_BEGIN = """
WITH free AS (
    SELECT c.id FROM costbase_runchunk c JOIN costbase_run r ON r.id = c.run_id
    WHERE c.run_id = %(run)s AND c.n = %(n)s AND c.state = 'waiting' AND r.state IN ('waiting', 'working')
    FOR UPDATE OF c SKIP LOCKED
), begun AS (
    UPDATE costbase_runchunk c SET attempts = c.attempts + 1, begun = %(now)s FROM free WHERE c.id = free.id
    RETURNING c.run_id, c.attempts, c.params
), working AS (
    UPDATE costbase_run r SET state = 'working' FROM begun WHERE r.id = begun.run_id AND r.state = 'waiting'
)
SELECT begun.attempts, r.shop_id, r.network_id, begun.params, r.params, r.asked_by
FROM begun JOIN costbase_run r ON r.id = begun.run_id
"""


def begin_chunk(run_id: int, n: int, *, now: datetime) -> Chunk | None:
    """A chunk to work on; None where it is done, at work, or of a run that is over.

    The attempt is counted in a transaction of its own. One attempt too many ends the run as failed: every worker that began
    this chunk was lost with it.
    """
    with connection.cursor() as cursor:
        cursor.execute(_BEGIN, {"run": run_id, "n": n, "now": now})
        row = cursor.fetchone()
    if row is None:
        return None
    attempt, shop_id, network_id, params, run_params, asked_by = row
    # Django leaves JSON columns of a plain cursor as text.
    actor = Actor(person_id=asked_by, token_id=None, role="system", request_id=f"run-{run_id}")
    chunk = Chunk(run_id, n, attempt, shop_id, network_id, json.loads(params), json.loads(run_params), actor)
    if attempt > MOST_ATTEMPTS:
        fail_chunk(
            chunk, f"begun {MOST_ATTEMPTS} times, and each time the worker was lost before it ended", final=True, now=now
        )
        return None
    return chunk


def hold_chunk(chunk: Chunk) -> bool:
    """Locks the chunk until its transaction ends; False where somebody else has done it meanwhile."""
    rows = RunChunk.objects.select_for_update().filter(run_id=chunk.run_id, n=chunk.n, state=WAITING)
    return rows.first() is not None


def end_chunk(chunk: Chunk, found: Json, *, now: datetime) -> Run:
    """Marks the chunk done in the transaction of its effect, adds what it found to the run's result, publishes the next one.

    Args:
        chunk: held in this transaction.
        found: numbers, which are added up, lists, which are put together, and texts, of which the last one stays.
        now: this moment.

    Raises:
        RunOverError: the run was cancelled or has failed meanwhile; the effect must not stay.
    """
    run = Run.objects.select_for_update().get(pk=chunk.run_id)
    if run.state in OVER:
        raise RunOverError(f"the run is {run.state}")
    RunChunk.objects.filter(run_id=chunk.run_id, n=chunk.n).update(state=DONE)
    run.done += 1
    run.result = together(run.result, found)
    run.heartbeat = now
    if run.done == run.total:
        run.state, run.finished = DONE, now
    else:
        publish_next(run, 1, now)
    run.save(update_fields=["done", "result", "heartbeat", "state", "finished"])
    return run


def together(kept: Json, found: Json) -> dict[str, Any]:
    """A run's result with what one more chunk found."""
    result = dict(kept)
    for name, value in found.items():
        if isinstance(value, list):
            whole = [*result.get(name, []), *value]
            result[name] = whole[:MOST_KEPT]
            if len(whole) > MOST_KEPT:
                result[f"{name}_left_out"] = result.get(f"{name}_left_out", 0) + len(whole) - MOST_KEPT
        elif isinstance(value, int) and not isinstance(value, bool):
            result[name] = result.get(name, 0) + value
        else:
            result[name] = value
    return result


def fail_chunk(chunk: Chunk, reason: str, *, final: bool, now: datetime) -> None:
    """Counts a failed attempt, after its transaction was rolled back; tries again, or ends the run as failed.

    Args:
        chunk: the attempt.
        reason: why, in words that may be shown: no values of other people's rows.
        final: another attempt would fail in the same way.
        now: this moment.
    """
    with transaction.atomic():
        run = Run.objects.select_for_update().get(pk=chunk.run_id)
        if run.state in OVER:
            return
        run.failed += 1
        run.heartbeat = now
        if final or chunk.attempt >= MOST_ATTEMPTS:
            run.state, run.finished = FAILED, now
            run.reason = f"part {chunk.n} of {run.total}: {reason}"[:500]
        else:
            RunChunk.objects.filter(run_id=chunk.run_id, n=chunk.n).update(published=now)
            _publish_on_commit(run.task, run.pk, chunk.n)
        run.save(update_fields=["failed", "heartbeat", "state", "finished", "reason"])


def cancel_run(*, by: Actor, owner: Shop | Network, run: Run, now: datetime) -> Run:
    """Ends a run whose row is locked: no further chunk begins, and one that is at work leaves nothing.

    What earlier chunks did stays. Cancelled twice is cancelled once.

    Raises:
        RunOverError: the run has ended already, in another way.
    """
    _assert_open(owner)
    if run.state in OVER and run.state != CANCELLED:
        raise RunOverError(f"the run is {run.state} already; expected one that is under way")
    if run.state != CANCELLED:
        run.state, run.finished, run.heartbeat = CANCELLED, now, now
        run.save(update_fields=["state", "finished", "heartbeat"])
    return run


# Held chunks are at work, however long.
_LOST = """
WITH lost AS (
    SELECT c.id, r.task FROM costbase_run r JOIN costbase_runchunk c ON c.run_id = r.id
    WHERE r.state IN ('waiting', 'working') AND c.state = 'waiting'
      AND c.published < %(before)s AND (c.begun IS NULL OR c.begun < %(before)s)
    ORDER BY c.published LIMIT %(most)s FOR UPDATE OF c SKIP LOCKED
)
UPDATE costbase_runchunk c SET published = %(now)s FROM lost WHERE c.id = lost.id RETURNING lost.task, c.run_id, c.n
"""


def republish_lost_chunks(*, now: datetime, lost_after: timedelta = LOST_AFTER) -> int:
    """Publishes again what was published or begun long ago and is neither done nor at work; how many chunks that were."""
    with transaction.atomic():
        with connection.cursor() as cursor:
            cursor.execute(_LOST, {"before": now - lost_after, "now": now, "most": MOST_REPUBLISHED})
            lost = cursor.fetchall()
        for task, run_id, n in lost:
            _publish_on_commit(task, run_id, n)
    return len(lost)


def forget_runs(*, before: datetime) -> int:
    """Forgets the runs that were over before an instant, with their chunks; how many there were."""
    forgotten, by_table = Run.objects.filter(finished__lt=before).delete()
    return by_table.get("costbase.Run", 0) if forgotten else 0


def _assert_open(owner: Shop | Network) -> None:
    if isinstance(owner, Shop):
        assert_scope(owner.pk)
    else:
        assert_network_scope(owner.pk)
