"""How does a list leave as a table in a file, however long it is?

Rows are read page by page and written as they come; nothing holds them all. The answer goes out after the request's scope has
closed, so whoever makes the rows opens a scope of its own while they are read: otherwise they would be none, silently.

A spreadsheet takes a cell that begins with = + - @, a tab or a line break for a formula, some also where blanks come first or
where the sign is one of full width. Such a text is written with an apostrophe before it; numbers are numbers there.

Source: OWASP, CSV Injection.
"""

import csv
import io
import re
import tempfile
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import AbstractContextManager
from typing import IO, Any

import xlsxwriter
from django.http import StreamingHttpResponse
from rest_framework.negotiation import BaseContentNegotiation
from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer
from rest_framework.request import Request

from api.rest.openapi import TABLE_KINDS

Row = Mapping[str, Any]
Scope = Callable[[], AbstractContextManager[object]]
Pages = Callable[[], Iterable[Sequence[Row]]]

JSON, CSV, XLSX = FORMATS = ("json", "csv", "xlsx")
MIME = dict(zip((CSV, XLSX), TABLE_KINDS, strict=True))
_FORMULA = ("=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20")
# A plain decimal, as amounts and hours are shown; it stays a number although it may begin with a minus. With a zero before
# other digits it is a name, which would lose the zero.
_NUMBER = re.compile(r"-?(0|[1-9][0-9]*)(\.[0-9]+)?")
_CHUNK = 64 * 1024
# Above this a workbook is kept in a file instead of in memory while it is made.
_IN_MEMORY = 1024 * 1024
# What a sheet of the format holds, the line of names included; more rows go on in another.
SHEET_ROWS = 1_048_576


class ByFormat(BaseContentNegotiation):
    """`format` in the address or the first table that Accept names; JSON otherwise, and for every refusal."""

    def select_parser(self, request: Request, parsers: Iterable[BaseParser]) -> BaseParser:
        return next(iter(parsers))

    def select_renderer(
        self, request: Request, renderers: Iterable[BaseRenderer], format_suffix: str | None = None
    ) -> tuple[BaseRenderer, str]:
        first = next(iter(renderers))
        return first, first.media_type or ""


def wanted(request: Request) -> str:
    """The format that is asked for; `format` was checked by the filters."""
    said = request.query_params.get("format")
    if said in FORMATS:
        return said
    accepted = [part.split(";")[0].strip().lower() for part in request.headers.get("Accept", "").split(",")]
    return next((kind for kind, mime in MIME.items() if mime in accepted), JSON)


def guarded(value: object) -> str:
    """A value as the text of a cell that no spreadsheet takes for a formula."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    text = str(value)
    begins = text.startswith(_FORMULA) or text.lstrip().startswith(_FORMULA)
    return f"'{text}" if begins and not _NUMBER.fullmatch(text) else text


def table(kind: str, name: str, columns: Sequence[str], pages: Pages, scope: Scope) -> StreamingHttpResponse:
    """The streamed answer.

    Args:
        kind: "csv" or "xlsx".
        name: of the file, without its ending.
        columns: names of the members of a row, which stand in the first line.
        pages: makes the rows; called while the scope is open.
        scope: opens the scope of whoever asked.
    """
    make = _csv if kind == CSV else _xlsx
    headers = {"Content-Disposition": f'attachment; filename="{name}.{kind}"'}
    mime = f"{MIME[kind]}; charset=utf-8" if kind == CSV else MIME[kind]
    return StreamingHttpResponse(make(columns, pages, scope), content_type=mime, headers=headers)


def _csv(columns: Sequence[str], pages: Pages, scope: Scope) -> Iterator[bytes]:
    with scope():
        yield _lines([columns])
        for page in pages():
            yield _lines([guarded(row[name]) for name in columns] for row in page)


def _lines(rows: Iterable[Sequence[str]]) -> bytes:
    text = io.StringIO()
    csv.writer(text).writerows(rows)
    return text.getvalue().encode()


def _xlsx(columns: Sequence[str], pages: Pages, scope: Scope) -> Iterator[bytes]:
    with tempfile.SpooledTemporaryFile(max_size=_IN_MEMORY) as file:
        with scope():
            _write_workbook(file, columns, pages)
        file.seek(0)
        while chunk := file.read(_CHUNK):
            yield chunk


def _write_workbook(file: IO[bytes], columns: Sequence[str], pages: Pages) -> None:
    # Rows go to a temporary file as they are written; texts are texts, whatever they look like.
    book = xlsxwriter.Workbook(file, {"constant_memory": True, "strings_to_formulas": False, "strings_to_urls": False})
    sheet, at = book.add_worksheet("report"), 0
    sheet.write_row(0, 0, columns)
    for page in pages():
        for row in page:
            at += 1
            if at == SHEET_ROWS:
                sheet, at = book.add_worksheet(), 1
                sheet.write_row(0, 0, columns)
            for column, name in enumerate(columns):
                _write_cell(sheet, at, column, row[name])
    book.close()


def _write_cell(sheet: Any, row: int, column: int, value: object) -> None:
    text = guarded(value)
    # Fifteen digits are what a spreadsheet's number holds; longer ones stay texts and lose nothing.
    if _NUMBER.fullmatch(text) and len(text.replace(".", "")) <= 15 and not isinstance(value, bool):
        sheet.write_number(row, column, float(text))
    else:
        sheet.write_string(row, column, text)
