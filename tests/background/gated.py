"""Chunks that a test can hold up, before they begin or within their transaction."""

import os
import uuid
from datetime import timedelta

from django.db import connection
from django.utils import timezone

from api.celery import app
from costbase.actions import runs
from costbase.actions.runs import Chunk, Json
from costbase.models import ShopEdition
from costbase.tasks import fresh_connection, work_chunk
from tests import make

TASK = "tests.background.gated_chunk"
BEFORE, WITHIN = 0, 1


@app.task(name="tests.background.look")
def look() -> None:
    """What the beat asks for every half a minute, with a chunk lost after a second."""
    fresh_connection()
    runs.republish_lost_chunks(now=timezone.now(), lost_after=timedelta(seconds=1))


@app.task(name=TASK)
def gated_chunk(run_id: int, n: int) -> None:
    fresh_connection()
    pass_gate(gate(run_id, n, BEFORE))
    work_chunk(run_id, n, leave_a_row)


def leave_a_row(chunk: Chunk) -> Json:
    """Writes a row under a name of its own, so that a second time would be seen, and lets the test hold it up after that."""
    assert chunk.shop_id is not None
    name = f"run-{chunk.run_id}-chunk-{chunk.n}-{uuid.uuid4().hex[:8]}"
    ShopEdition.objects.for_shop(chunk.shop_id).create(
        shop_id=chunk.shop_id, kind="rate", slug=name, valid_from=make.NOW.date(), contents={}
    )
    pass_gate(gate(chunk.run_id, chunk.n, WITHIN))
    return {"numbers": [chunk.n]}


def gate(run_id: int, n: int, place: int) -> int:
    """The number of a lock of the database that holds a chunk up before it begins, or within its transaction."""
    return run_id * 1_000 + n * 2 + place


def pass_gate(number: int) -> None:
    """Returns at once unless a test has closed the gate; then when it opens."""
    with connection.cursor() as cursor:
        # So that a test finds the process that stands here.
        cursor.execute("SELECT set_config('application_name', %s, false)", [f"child-{os.getpid()}"])
        cursor.execute("SELECT pg_advisory_xact_lock_shared(%s)", [number])
