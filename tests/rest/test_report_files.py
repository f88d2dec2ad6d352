"""Tables in files stay small in memory however long they are, keep their numbers, and hold nothing that runs."""

import csv
import io
import tracemalloc
import zipfile
from collections.abc import Callable, Iterator, Sequence
from contextlib import nullcontext
from decimal import Decimal
from typing import Any
from xml.etree import ElementTree

import pytest
from django.db import connection

from api.rest import report_files, report_views
from api.rest.report_files import guarded, table
from quotes.models import ClosedJob, Job
from tests.rest.quoting import Quoting
from tests.rest.reviewing import as_planned, closed, logged
from tests.rest.working import booked

COLUMNS = ("number", "title", "amount")
SPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
MIB = 1024 * 1024


def rows(pages: int) -> Callable[[], Iterator[Sequence[dict[str, Any]]]]:
    """Pages of 500 rows, each of which is made when it is asked for."""

    def made() -> Iterator[Sequence[dict[str, Any]]]:
        for page in range(pages):
            yield [{"number": f"J-{page}-{n}", "title": f"Invented work {page} {n}", "amount": f"{n}.50"} for n in range(500)]

    return made


def most_memory(consume: Callable[[], object]) -> int:
    """The most that was held at once, in bytes, beside what was held before."""
    tracemalloc.start()
    try:
        before = tracemalloc.get_traced_memory()[0]
        consume()
        return tracemalloc.get_traced_memory()[1] - before
    finally:
        tracemalloc.stop()


def consumed(answer: Any) -> int:
    """The answer's bytes, counted and let go chunk by chunk, as a server sends them."""
    return sum(len(chunk) for chunk in answer.streaming_content)


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_more_rows_take_no_more_memory(monkeypatch: pytest.MonkeyPatch, kind: str) -> None:
    monkeypatch.setattr(report_files, "_IN_MEMORY", 16 * 1024)  # Less than either workbook.

    def made(pages: int) -> int:
        return most_memory(lambda: consumed(table(kind, "report", COLUMNS, rows(pages), nullcontext)))

    made(1)  # What is imported and kept once.
    few, many = made(3), made(15)
    # A page of 500 rows is a fifth of a mebibyte.
    assert many < few * 1.2 < MIB


@pytest.mark.django_db
@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_a_shop_with_many_closed_jobs_is_written_page_by_page(
    quoting: Quoting, monkeypatch: pytest.MonkeyPatch, kind: str
) -> None:
    monkeypatch.setattr(report_views, "CHUNK", 40)
    monkeypatch.setattr(report_files, "_IN_MEMORY", 4 * 1024)
    with_closed_jobs(quoting, 600)

    def asked(query: str) -> int:
        return most_memory(lambda: consumed(quoting.office.get(f"reports/quoted-final?format={kind}{query}")))

    asked("")
    # Three pages, and fifteen: no more than two of them are there at once.
    few, many = asked("&tier=local"), asked("")
    assert many < few * 1.2
    whole = b"".join(quoting.office.get("reports/quoted-final?format=csv").streaming_content)
    assert len(list(csv.reader(io.StringIO(whole.decode())))) == 1 + 600 + 1


def with_closed_jobs(quoting: Quoting, many: int) -> None:
    """So many closed jobs more, copied from one by two statements; every fifth is of another tier."""
    job = booked(quoting)
    as_planned(quoting, job)
    logged(quoting, job, kind="subcontract", cost=Decimal(9000))
    row = closed(quoting, job)
    jobs = copied(Job, {"returns_to_id": "t.id", "number": "'B-' || n"}, f"generate_series(1, {many}) AS n")
    changed = {
        "job_id": "j.id",
        "number": "j.number",
        "closed_on": "t.closed_on - (j.id %% 1000)::int",
        "tier": "CASE WHEN j.id %% 5 = 0 THEN 'local' ELSE 'frame' END",
    }
    books = copied(ClosedJob, changed, "quotes_job AS j")
    with quoting.office.scope(), connection.cursor() as cursor:
        cursor.execute(f"{jobs} WHERE t.id = %s", [job.pk])
        cursor.execute(f"{books} WHERE t.id = %s AND j.returns_to_id = %s", [row.pk, job.pk])


def copied(model: type[Job] | type[ClosedJob], changed: dict[str, str], source: str) -> str:
    """A statement that copies a row of the model, with some columns from elsewhere."""
    columns = [str(field.column) for field in model._meta.concrete_fields if field.name != "id"]
    names, values = ", ".join(f'"{name}"' for name in columns), ", ".join(changed.get(name, f't."{name}"') for name in columns)
    name = model._meta.db_table
    return f"INSERT INTO {name} ({names}) SELECT {values} FROM {name} AS t, {source}"


HOSTILE = (
    "=1+1", "+1+1", "-1+1", "@SUM(A1)", "\t=1+1", "\r=1+1", "\n=1+1", "  =1+1", "\uff1d1+1", "\uff0b1", "\uff0d1", "\uff201",
    '=HYPERLINK("x";"y")', '"=1+1', "a\n=1+1", 'a",=1+1', "\u00a0=1+1",
)  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE)
def test_no_cell_of_a_text_begins_a_formula(text: str) -> None:
    page = [{"number": "J-1", "title": text, "amount": "-12.50"}]
    (_, line) = csv.reader(io.StringIO(written("csv", page).decode(), newline=""))
    # A text that begins no formula stays as it is; either way it is one cell.
    assert line in (["J-1", text, "-12.50"], ["J-1", f"'{text}", "-12.50"])
    assert line[1].lstrip()[0] not in "=+-@\uff1d\uff0b\uff0d\uff20"
    assert sheets(written("xlsx", page))[0][1] == [("inlineStr", "J-1"), ("inlineStr", line[1]), ("n", "-12.5")]


@pytest.mark.parametrize("text", ["0012", "-007", "1e5", "1.", ".5", "1,5", "12345678901234567"])
def test_a_text_that_is_no_plain_number_stays_a_text(text: str) -> None:
    page = [{"number": text, "title": "", "amount": "0.00"}]
    cells = sheets(written("xlsx", page))[0][1]
    assert cells[0] == ("inlineStr", guarded(text))
    assert cells[-1] == ("n", "0")


def test_what_a_sheet_cannot_hold_goes_on_in_another(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(report_files, "SHEET_ROWS", 4)
    page = [{"number": f"J-{n}", "title": "", "amount": "1"} for n in range(1, 6)]
    first, second = sheets(written("xlsx", page))
    assert [row[0][1] for row in first] == ["number", "J-1", "J-2", "J-3"]
    assert [row[0][1] for row in second] == ["number", "J-4", "J-5"]


def written(kind: str, page: Sequence[dict[str, Any]]) -> bytes:
    answer: Any = table(kind, "report", COLUMNS, lambda: [page], nullcontext)
    return b"".join(answer.streaming_content)


def sheets(workbook: bytes) -> list[list[list[tuple[str, str]]]]:
    """Every sheet's rows as kind and text of each cell, read with nothing but the standard library."""
    found = []
    with zipfile.ZipFile(io.BytesIO(workbook)) as parts:
        for name in sorted(part for part in parts.namelist() if part.startswith("xl/worksheets/sheet")):
            tree = ElementTree.fromstring(parts.read(name))
            assert not list(tree.iter(f"{SPACE}f"))  # no formula
            found.append(
                [
                    # The format's own way to write a line break of the old kind.
                    [(cell.get("t", "n"), "".join(cell.itertext()).replace("_x000D_", "\r")) for cell in row.iter(f"{SPACE}c")]
                    for row in tree.iter(f"{SPACE}row")
                ]
            )
    return found
