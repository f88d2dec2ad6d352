"""How are rates, materials and prices read from a table with commas, and written to one?

The first line that is no comment names the columns: the slug and every field of the kind, in any order. An empty
cell says nothing. Comments begin with # and stand above the columns only.
"""

import csv
import io
from collections.abc import Iterable, Iterator, Mapping
from functools import partial

from costbase.calc.contents_table import KINDS
from costbase.calc.fields import Field, Required
from costbase.exchange.staging import Opened, Row, Staged, Staging, TableFault, opened, read_text, stage

CSV_KINDS = ("rate", "material", "price")
_FLAGS = {"yes": True, "no": False}
_FLAG_WORDS = {True: "yes", False: "no"}


def read_csv(file: str, kind: str, content: bytes) -> Staging:
    """The editions in a table of one kind, and every fault with its row and column.

    Args:
        file: its name, for the faults.
        kind: "rate", "material" or "price".
        content: UTF-8, at most `MOST_BYTES`.
    """
    return open_csv(file, kind, content).staging()


def open_csv(file: str, kind: str, content: bytes) -> Opened:
    """The rows of a table, which are read one by one, and what is wrong with the table as a whole; arguments as `read_csv`."""
    text = read_text(file, content)
    lines = text if isinstance(text, TableFault) else _lines(file, text)
    if isinstance(lines, TableFault):
        return opened(file, [], [lines])
    if not lines:
        return opened(file, [], [TableFault(file, "", "", "expected a line with the names of the columns")])
    (first, header), *rows = lines
    faults = list(_header_faults(file, f"row {first}", kind, header))
    if faults:
        return opened(file, [], faults)
    at = header.index(KINDS[kind].slug_field)
    return opened(file, [_unread(file, kind, header, at, f"row {number}", cells) for number, cells in rows], [])


def _unread(file: str, kind: str, header: list[str], slug_at: int, place: str, cells: list[str]) -> Row:
    slug = cells[slug_at] if slug_at < len(cells) else ""
    return Row(kind, slug, place, partial(_row, file, kind, header, place, cells))


def write_csv(kind: str, entries: Iterable[Staged]) -> bytes:
    """The table of these editions; `read_csv` gives them back as they are."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(_columns(kind))
    for entry in entries:
        writer.writerow([entry.slug, *(_cell(entry.contents, column) for column in KINDS[kind].fields)])
    return out.getvalue().encode("utf-8")


def _columns(kind: str) -> list[str]:
    entry = KINDS[kind]
    return [entry.slug_field, *(column.name for column in entry.fields)]


def _cell(contents: Mapping[str, object], column: Field) -> str:
    value = contents.get(column.name)
    if value is None:
        return ""
    return _FLAG_WORDS[value] if isinstance(value, bool) else str(value)


def _lines(file: str, text: str) -> list[tuple[int, list[str]]] | TableFault:
    """Rows with their number in the file, without comments above the columns and empty rows."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        for cells in reader:
            comment = not rows and cells and cells[0].lstrip().startswith("#")
            if not comment and any(cell.strip() for cell in cells):
                rows.append((reader.line_num, [cell.strip() for cell in cells]))
    except csv.Error as error:
        return TableFault(file, f"row {reader.line_num}", "", f"expected cells with commas between: {error}")
    return rows


def _header_faults(file: str, place: str, kind: str, header: list[str]) -> Iterator[TableFault]:
    wanted = _columns(kind)
    if len(header) == 1 and any(mark in header[0] for mark in (";", "\t")):
        yield TableFault(file, place, "", "expected commas between the cells, not semicolons or tabs")
        return
    for index, column in enumerate(header):
        if column not in wanted:
            yield TableFault(file, place, column, f"unknown column; expected {', '.join(wanted)}")
        elif column in header[:index]:
            yield TableFault(file, place, column, "the column is there twice")
    needed = [KINDS[kind].slug_field] + [f.name for f in KINDS[kind].fields if isinstance(f.absent, Required)]
    for column in needed:
        if column not in header:
            yield TableFault(file, place, column, "the column is missing")


def _row(file: str, kind: str, header: list[str], place: str, cells: list[str]) -> Staged | list[TableFault]:
    if len(cells) != len(header):
        return [TableFault(file, place, "", f"expected {len(header)} cells, not {len(cells)}")]
    named = {column: cell for column, cell in zip(header, cells, strict=True) if cell}
    slug = named.pop(KINDS[kind].slug_field, "")
    faults: list[TableFault] = []
    contents: dict[str, object] = {}
    for column in KINDS[kind].fields:
        if column.name in named:
            value = _value(named[column.name], column.codec.cell)
            if isinstance(value, _Misread):
                faults.append(TableFault(file, place, column.name, value.reason))
            contents[column.name] = value
    # What could not be read as a cell is told once, here, and not again as a value of the wrong kind.
    misread = {fault.column for fault in faults}
    staged = stage(file, kind, slug, contents, place)
    if isinstance(staged, Staged):
        return staged
    return faults + [fault for fault in staged if fault.column not in misread]


class _Misread:
    """A cell that holds no value of its column's kind."""

    def __init__(self, reason: str) -> None:
        self.reason = reason


def _value(cell: str, kind: str) -> object:
    if kind == "flag":
        return _FLAGS.get(cell.lower(), _Misread(f"expected yes or no, not {cell[:40]!r}"))
    if kind == "whole":
        if cell.isascii() and cell.isdigit() and len(cell) < 10:
            return int(cell)
        return _Misread(f"expected a whole number, not {cell[:40]!r}")
    return cell
