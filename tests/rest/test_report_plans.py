"""Reports find the rows of their own shop by an index, whatever other shops have, and read no more than a page of them."""

import json
from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.db.models import Model
from django.test.utils import CaptureQueriesContext

from quotes.models import ClosedJob, Job
from tests.rest.quoting import Quoting
from tests.rest.reviewing import closed, logged
from tests.rest.working import booked

pytestmark = pytest.mark.django_db
# Enough that reading the table whole would cost more than the way by an index.
CLOSED = 3_000
LISTS = ("reports/over-budget?limit=10", "reports/over-limit?limit=10", "reports/quoted-final?limit=10")
SUMS = ("reports/causes", "reports/coverage")


def nodes(plan: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield plan
    for below in plan.get("Plans", []):
        yield from nodes(below)


def filled(quoting: Quoting) -> None:
    """Many closed jobs from one, by two statements."""
    job = booked(quoting)
    logged(quoting, job, kind="subcontract", cost=Decimal(9000))
    row = closed(quoting, job)
    jobs = copied(Job, {"returns_to_id": "t.id", "number": "'B-' || n"}, f"generate_series(1, {CLOSED}) AS n")
    day = "t.closed_on - (j.id %% 1000)::int"
    books = copied(ClosedJob, {"job_id": "j.id", "number": "j.number", "closed_on": day}, "quotes_job AS j")
    with quoting.office.scope(), connection.cursor() as cursor:
        cursor.execute(f"{jobs} WHERE t.id = %s", [job.pk])
        cursor.execute(f"{books} WHERE t.id = %s AND j.returns_to_id = %s", [row.pk, job.pk])
        assert ClosedJob.objects.for_shop(quoting.shop).count() == CLOSED + 1


def copied(model: type[Model], changed: dict[str, str], source: str) -> str:
    """A statement that copies a row of the model, with some columns from elsewhere."""
    columns = [str(field.column) for field in model._meta.concrete_fields if field.name != "id"]
    names, values = ", ".join(f'"{name}"' for name in columns), ", ".join(changed.get(name, f't."{name}"') for name in columns)
    table = model._meta.db_table
    return f"INSERT INTO {table} ({names}) SELECT {values} FROM {table} AS t, {source}"


def plans(quoting: Quoting, path: str) -> list[dict[str, Any]]:
    with CaptureQueriesContext(connection) as seen:
        assert quoting.office.get(path).status_code == 200
    found = []
    with quoting.office.scope(), connection.cursor() as cursor:
        for query in seen.captured_queries:
            if 'FROM "quotes_closedjob"' in query["sql"]:
                cursor.execute("EXPLAIN (ANALYZE, FORMAT JSON) " + query["sql"].replace("%", "%%"), [])
                (told,) = cursor.fetchone()
                found.append((json.loads(told) if isinstance(told, str) else told)[0]["Plan"])
    assert found, path
    return found


def test_no_report_reads_the_table_whole(quoting: Quoting) -> None:
    filled(quoting)
    for path in (*LISTS, *SUMS):
        for plan in plans(quoting, path):
            reads = [node for node in nodes(plan) if "Relation Name" in node or "Index Name" in node]
            assert not [node for node in reads if "Seq Scan" in node["Node Type"]], (path, plan)
    # Of what nothing filters, a table without statistics may be read by its key as well.
    for path in LISTS[:2]:
        for plan in plans(quoting, path):
            reads = [node for node in nodes(plan) if "Index Name" in node]
            assert any(node["Index Name"].startswith("closed_job_") for node in reads), (path, plan)
            # A page, one row more, and each row's look for a newer closing.
            assert max(node["Actual Rows"] * node["Actual Loops"] for node in reads) <= 12, (path, plan)
