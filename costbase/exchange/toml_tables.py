"""How are assemblies, plans, conditions, components and rules read from TOML, and written to it?

Each edition is a table named by kind and slug: ``[assembly.skin-off]``. Every kind can stand in such a file, those
that usually come as tables with commas too.
"""

import re
import tomllib
from collections.abc import Iterable, Mapping

from costbase.calc.contents_table import KINDS
from costbase.exchange.staging import Staged, Staging, TableFault, gather, read_text, stage

_LINE = 100
# The parser keeps every beginning of a dotted name: one of a few hundred thousand parts takes all memory there is.
# So names are counted first, with texts and comments taken out, and texts over several lines, whose end is harder
# to find, are refused.
_MOST_PARTS = 8
_QUOTED = re.compile(r'"(?:\\.|[^"\\\n])*+"|\'[^\'\n]*+\'|#[^\n]*+')
_LONG_NAME = re.compile(rf"(?:\.[ \t]*+[\w-]*+[ \t]*+){{{_MOST_PARTS}}}")


def read_toml(file: str, content: bytes) -> Staging:
    """The editions in a file, and every fault with its table and field.

    Args:
        file: its name, for the faults.
        content: UTF-8, at most a megabyte.
    """
    text = read_text(file, content)
    if isinstance(text, TableFault):
        return Staging(file, (), (text,))
    tables = _parse(file, text)
    if isinstance(tables, TableFault):
        return Staging(file, (), (tables,))
    staged: list[Staged | list[TableFault]] = []
    faults: list[TableFault] = []
    for kind, by_slug in tables.items():
        if kind not in KINDS:
            faults.append(TableFault(file, kind[:60], "", f"unknown kind; expected one of {', '.join(KINDS)}"))
        elif not isinstance(by_slug, dict):
            faults.append(TableFault(file, kind, "", f"expected tables such as [{kind}.its-slug]"))
        else:
            staged += [stage(file, kind, slug, table, f"{kind} {slug[:60]}") for slug, table in by_slug.items()]
    return gather(file, staged, faults)


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
