"""How are assemblies, plans, conditions, components and rules read from TOML, and written to it?

Each edition is a table named by kind and slug: ``[assembly.skin-off]``. Every kind can stand in such a file, those
that usually come as tables with commas too.
"""

import re
import tomllib
from collections.abc import Iterable, Mapping
from functools import partial
from types import MappingProxyType

from costbase.calc.contents_table import KINDS
from costbase.exchange.staging import (
    MOST_ROWS,
    ContentsReader,
    Opened,
    Readers,
    Row,
    Staged,
    Staging,
    TableFault,
    gather,
    opened,
    read_text,
    stage,
)

_NO_READERS: Readers = MappingProxyType({})
_TABLE_LINE = re.compile(rb"^[ \t]*\[", re.MULTILINE)
_LINE = 100
# The parser keeps every beginning of a dotted name: one of a few hundred thousand parts takes all memory there is.
# So names are counted first, with texts and comments taken out, and texts over several lines, whose end is harder
# to find, are refused.
_MOST_PARTS = 8
_QUOTED = re.compile(r'"(?:\\.|[^"\\\n])*+"|\'[^\'\n]*+\'|#[^\n]*+')
_LONG_NAME = re.compile(rf"(?:\.[ \t]*+[\w-]*+[ \t]*+){{{_MOST_PARTS}}}")


def read_toml(file: str, content: bytes, readers: Readers = _NO_READERS) -> Staging:
    """The editions in a file, and every fault with its table and field.

    Args:
        file: its name, for the faults.
        content: UTF-8, at most `MOST_BYTES`.
        readers: of kinds that the cost base only keeps, by kind; those who read their contents hand them in.
    """
    tables = _tables(file, content)
    if isinstance(tables, TableFault):
        return Staging(file, (), (tables,))
    rows, faults = _rows(file, tables, readers)
    # Tables that can be read are told beside those of unknown kinds.
    return gather(file, [row.read() for row in rows[: MOST_ROWS + 1]], [*faults, *opened(file, rows, []).faults])


def open_toml(file: str, content: bytes, readers: Readers = _NO_READERS) -> Opened:
    """The tables of a file, which are read one by one, and what is wrong with the file as a whole; arguments as `read_toml`."""
    tables = _tables(file, content)
    if isinstance(tables, TableFault):
        return opened(file, [], [tables])
    return opened(file, *_rows(file, tables, readers))


def _rows(file: str, tables: Mapping[str, object], readers: Readers) -> tuple[list[Row], list[TableFault]]:
    rows: list[Row] = []
    faults: list[TableFault] = []
    for kind, by_slug in tables.items():
        if kind not in KINDS and kind not in readers:
            faults.append(TableFault(file, kind[:60], "", f"unknown kind; expected one of {', '.join((*KINDS, *readers))}"))
        elif not isinstance(by_slug, dict):
            faults.append(TableFault(file, kind, "", f"expected tables such as [{kind}.its-slug]"))
        else:
            rows += [_row(file, kind, slug, table, readers.get(kind)) for slug, table in by_slug.items()]
    return rows, faults


def _row(file: str, kind: str, slug: str, table: object, reader: ContentsReader | None) -> Row:
    place = f"{kind} {slug[:60]}"
    return Row(kind, slug, place, partial(stage, file, kind, slug, table, place, reader))


def count_toml(content: bytes) -> int:
    """About how many tables a file has, without parsing it: the lines that begin one."""
    return len(_TABLE_LINE.findall(content))


def _tables(file: str, content: bytes) -> dict[str, object] | TableFault:
    text = read_text(file, content)
    return text if isinstance(text, TableFault) else _parse(file, text)


def write_toml(entries: Iterable[Staged]) -> bytes:
    """The file of these editions, in their order; `read_toml` gives them back as they are."""
    blocks = []
    for entry in entries:
        lines = [f"[{entry.kind}.{entry.slug}]"]
        lines += [f"{_key(name)} = {_value(value)}" for name, value in entry.contents.items()]
        blocks.append("\n".join(lines))
    return ("\n\n".join(blocks) + "\n").encode("utf-8")


def _parse(file: str, text: str) -> dict[str, object] | TableFault:
    if '"""' in text or "'''" in text:
        return TableFault(file, "", "", "expected every text on one line in plain quotes, not three of them")
    long_name = _LONG_NAME.search(_QUOTED.sub("_", text))
    if long_name:
        return TableFault(file, "", "", f"expected names of at most {_MOST_PARTS} parts with points between")
    try:
        return tomllib.loads(text)
    except RecursionError:
        return TableFault(file, "", "", "expected tables and lists, not so many inside each other")
    except ValueError as error:
        return TableFault(file, "", "", f"expected TOML: {error}")


def _key(name: str) -> str:
    bare = name and all(letter.isalnum() or letter in "-_" for letter in name) and name.isascii()
    return name if bare else _text(name)


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return _text(value)
    if isinstance(value, int | float):
        return repr(value)
    if isinstance(value, Mapping):
        inside = ", ".join(f"{_key(name)} = {_value(entry)}" for name, entry in value.items())
        return f"{{ {inside} }}" if inside else "{}"
    if isinstance(value, list | tuple):
        return _list([_value(entry) for entry in value])
    raise TypeError(f"contents hold no {type(value).__name__}")


def _list(entries: list[str]) -> str:
    line = f"[{', '.join(entries)}]"
    if len(line) <= _LINE and not any(entry.startswith("{") for entry in entries):
        return line
    return "[\n" + "".join(f"    {entry},\n" for entry in entries) + "]"


def _text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return '"' + "".join(_escape(letter) for letter in escaped) + '"'


def _escape(letter: str) -> str:
    return f"\\u{ord(letter):04x}" if ord(letter) < 0x20 or ord(letter) == 0x7F else letter
