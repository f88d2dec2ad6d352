"""How does a body become values, and what may a body not be?

Where no files are taken, the only parser is that of JSON. It takes UTF-8 of bounded size and depth and refuses what the
standard library lets through: NaN and infinities, numbers beyond a float, members named twice, NUL, and halves of
surrogate pairs, none of which PostgreSQL or another JSON reader could take back.

A file of a cost base is bounded in size and left as it is: what is wrong inside is told by whoever reads it, with its place.
"""

import json
import math
import re
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import IO, Any, NoReturn

from rest_framework.exceptions import UnsupportedMediaType
from rest_framework.parsers import BaseParser
from rest_framework.request import Request

from api.rest.errors import Fault, Problem, places, pointer
from costbase.exchange.staging import MOST_BYTES

LARGEST_BODY = 1_000_000
# What a file may have; its readers in `costbase/exchange` take no more.
LARGEST_FILE = MOST_BYTES
DEEPEST = 50
# Longer than any amount or measure here; Python's own limit of 4,300 digits would still cost time and raise
# elsewhere.
LONGEST_NUMBER = 40

_BYTE_ORDER_MARK = b"\xef\xbb\xbf"
# A string, closed or not, or one bracket. Possessive, so that no text is read twice: it stays linear on
# hostile input.
_STRINGS_AND_BRACKETS = re.compile(rb'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[\[{]|[\]}]', re.DOTALL)
_CHARSET = re.compile(r";\s*charset\s*=\s*\"?([^\";\s]+)", re.IGNORECASE)
_FORBIDDEN = re.compile("[\x00\ud800-\udfff]")
_SUSPICIOUS_ESCAPE = re.compile(r"\\u(?:0000|[dD][89a-fA-F])")


class StrictJSONParser(BaseParser):
    """application/json, within the bounds above. Faults of single values are told all at once."""

    media_type = "application/json"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, object] | None = None,
    ) -> Any:
        """The values of a body.

        Raises:
            Problem: with the codes invalid_json, body_too_large, unsupported_media_type.
        """
        return read_json(_read(stream, self.media_type, media_type, parser_context, LARGEST_BODY))


class CsvParser(BaseParser):
    """text/csv, within its bound, as bytes."""

    media_type = "text/csv"

    def parse(
        self,
        stream: IO[bytes],
        media_type: str | None = None,
        parser_context: Mapping[str, object] | None = None,
    ) -> Any:
        """The bytes of a file.

        Raises:
            Problem: with the codes body_too_large, length_required, bad_header, unsupported_media_type.
        """
        return _read(stream, self.media_type, media_type, parser_context, LARGEST_FILE)


class TomlParser(CsvParser):
    """application/toml, within its bound, as bytes."""

    media_type = "application/toml"


def _read(stream: IO[bytes], wanted: str, media_type: str | None, context: Mapping[str, object] | None, largest: int) -> bytes:
    request = (context or {}).get("request")
    header = request.META.get("CONTENT_TYPE", "") if isinstance(request, Request) else media_type or ""
    charset = _CHARSET.search(header)
    if charset and charset[1].lower() not in ("utf-8", "utf8"):
        raise UnsupportedMediaType(header, f"The body must be {wanted} in UTF-8.")
    if isinstance(request, Request):
        check_length(request, largest)
    # One byte more than allowed tells a body that is longer than its header said.
    body = stream.read(largest + 1)
    if len(body) > largest:
        raise _too_large(largest)
    return body


def file_bytes(request: Request) -> bytes:
    """The body of a request that is a file.

    Raises:
        Problem: there is no body, or it is longer than a file may be.
    """
    check_length(request, LARGEST_FILE)
    body = request.data
    if request.stream is None or not isinstance(body, bytes):
        raise Problem("body_missing", "Expected a file in the body, of the type text/csv or application/toml.")
    return body


def json_object(request: Request) -> dict[str, object]:
    """The body of a request as a JSON object.

    Raises:
        Problem: there is no body, or it is a list or a single value.
    """
    check_length(request)
    body = request.data
    if request.stream is None:
        raise Problem("body_missing", "Expected a JSON object in the body, of the type application/json.")
    if not isinstance(body, dict):
        fault = Fault("not_an_object", f"Expected a JSON object, not {_kind(body)}.", pointer="#")
        raise Problem("not_an_object", fault.detail, faults=[fault])
    return body


def check_length(request: Request, largest: int = LARGEST_BODY) -> None:
    """Refuses a body by its header before a byte of it is read, and one whose length nobody said.

    Raises:
        Problem: with the codes body_too_large, length_required, bad_header.
    """
    length = request.META.get("CONTENT_LENGTH") or ""
    if not length:
        if request.META.get("HTTP_TRANSFER_ENCODING"):
            raise Problem("length_required", "Expected the header Content-Length with a body.")
    elif not re.fullmatch("[0-9]{1,18}", length):
        raise Problem("bad_header", "Expected the length of the body in bytes in Content-Length.")
    elif int(length) > largest:
        raise _too_large(largest)


def read_json(body: bytes) -> object:
    """The values of a JSON text.

    Raises:
        Problem: with the code invalid_json and, for faults of single values, a pointer to each.
    """
    if _depth_exceeds(body, DEEPEST):
        _refuse("too_deep", f"Expected lists and objects nested at most {DEEPEST} deep.")
    try:
        text = body.removeprefix(_BYTE_ORDER_MARK).decode()
    except UnicodeDecodeError as error:
        _refuse("not_utf8", f"Expected UTF-8; byte {error.start} does not belong to any character.")
    hooks = _Hooks()
    try:
        value: object = json.loads(
            text,
            parse_int=hooks.whole,
            parse_float=hooks.decimal,
            parse_constant=hooks.constant,
            object_pairs_hook=hooks.members,
        )
    except json.JSONDecodeError as error:
        _refuse("bad_syntax", f"Expected JSON: {error.msg} in line {error.lineno}, column {error.colno}.")
    if hooks.saw_fault or _SUSPICIOUS_ESCAPE.search(text):
        faults = list(_value_faults(value, ()))
        if faults:
            raise Problem("invalid_json", f"Values in {places(faults)} cannot be taken; see errors.", faults=faults)
    return value


def _depth_exceeds(body: bytes, limit: int) -> bool:
    """Whether brackets nest deeper than the limit.

    Looked at before the parser, which would run out of stack.
    """
    if body.count(b"[") + body.count(b"{") <= limit:
        return False
    depth = 0
    for match in _STRINGS_AND_BRACKETS.finditer(body):
        first = match[0][:1]
        if first in b"[{":
            depth += 1
            if depth > limit:
                return True
        elif first in b"]}":
            depth -= 1
    return False


class _Doubled(dict[str, object]):
    """An object that named members twice; `twice` are their names."""

    twice: tuple[str, ...] = ()


class _Hooks:
    """What the JSON reader calls for each value.

    A hook knows no place, so it only notes that the walk has to find one.
    """

    def __init__(self) -> None:
        self.saw_fault = False

    def whole(self, digits: str) -> int | float:
        return int(digits) if len(digits) <= LONGEST_NUMBER else self.constant(digits)

    def decimal(self, digits: str) -> float:
        value = float(digits)
        # 1e-400 would be a silent zero.
        lost = value == 0 and any(digit in "123456789" for digit in re.split("[eE]", digits)[0])
        return self.constant(digits) if lost or math.isinf(value) or len(digits) > LONGEST_NUMBER else value

    def constant(self, _: str) -> float:
        self.saw_fault = True
        return math.nan

    def members(self, pairs: list[tuple[str, object]]) -> dict[str, object]:
        members = dict(pairs)
        if len(members) == len(pairs):
            return members
        self.saw_fault = True
        doubled = _Doubled(members)
        doubled.twice = tuple(name for name, count in Counter(name for name, _ in pairs).items() if count > 1)
        return doubled


def _value_faults(value: object, path: tuple[str | int, ...]) -> Iterator[Fault]:
    if isinstance(value, dict):
        yield from _object_faults(value, path)
    elif isinstance(value, list):
        for index, element in enumerate(value):
            yield from _value_faults(element, (*path, index))
    elif isinstance(value, str):
        if _FORBIDDEN.search(value):
            yield Fault(
                "bad_text",
                "Expected text without NUL and without half surrogate pairs.",
                pointer=pointer(*path),
            )
    elif isinstance(value, float) and math.isnan(value):
        words = f"Expected a finite number of at most {LONGEST_NUMBER} characters that a double can hold."
        yield Fault("bad_number", words, pointer=pointer(*path))


def _object_faults(value: dict[str, object], path: tuple[str | int, ...]) -> Iterator[Fault]:
    if isinstance(value, _Doubled):
        for name in value.twice:
            yield Fault("duplicate_key", "Expected each member of an object once.", pointer=pointer(*path, name))
    for name, element in value.items():
        if _FORBIDDEN.search(name):
            yield Fault(
                "bad_text",
                "Expected names without NUL and without half surrogate pairs.",
                pointer=pointer(*path),
            )
        yield from _value_faults(element, (*path, name))


def _refuse(code: str, detail: str) -> NoReturn:
    raise Problem("invalid_json", detail, faults=[Fault(code, detail, pointer="#")])


def _too_large(largest: int) -> Problem:
    return Problem("body_too_large", f"Expected a body of at most {largest} bytes.")


def _kind(value: object) -> str:
    """The kind of a JSON value, as JSON names it."""
    kinds: dict[type, str] = {list: "a list", str: "a text", bool: "true or false", type(None): "null"}
    return kinds.get(type(value), "a number")
