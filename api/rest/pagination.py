"""How is a long list handed out?

In pages, by position: a cursor holds the sort values of the last row handed out, and the next page begins
after them. Rows that come or go meanwhile neither repeat nor hide another, and a late page costs as little as
the first. The order must end in a column that is unique in the shop, and its columns must not be null.
"""

import base64
import binascii
import json
import re
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any, Generic, TypeVar
from urllib.parse import urlencode

from django.core.exceptions import ValidationError
from django.db.models import Model, Q, QuerySet
from rest_framework.request import Request

from api.rest.errors import bad_parameter

M = TypeVar("M", bound=Model)
T = TypeVar("T")

NEWEST_FIRST = ("-id",)
DEFAULT_LIMIT = 50
LARGEST_LIMIT = 200
_LONGEST_CURSOR = 400


@dataclass(frozen=True, slots=True)
class Page(Generic[T]):
    """The rows of one page and the address of the next, None on the last."""

    rows: Sequence[T]
    next: str | None

    def document(self, show: Callable[[Sequence[T]], Iterable[object]]) -> dict[str, object]:
        """The page as it is answered."""
        return {"results": list(show(self.rows)), "next": self.next}


def paginate(request: Request, rows: QuerySet[M], order: Sequence[str] = NEWEST_FIRST) -> Page[M]:
    """The page that the parameters `cursor` and `limit` ask for, in one query.

    Raises:
        Problem: bad_parameter for the limit, bad_cursor for a cursor that this list did not make.
    """
    limit = _limit(request)
    cursor = request.query_params.get("cursor")
    if cursor is not None:
        readers = [partial(_value, rows.model, name) for name in order]
        rows = rows.filter(_after(order, _position(cursor, readers)))
    # One row more than asked for tells whether there is a next page.
    found = list(rows.order_by(*order)[: limit + 1])
    return _page(request, found, limit, lambda last: [getattr(last, field.lstrip("-")) for field in order])


def in_pages(rows: QuerySet[M], order: Sequence[str], size: int) -> Iterator[Sequence[M]]:
    """All rows, page by page, one query each: as little memory for a million of them as for one page."""
    after = Q()
    while found := list(rows.filter(after).order_by(*order)[:size]):
        yield found
        after = _after(order, [getattr(found[-1], name.lstrip("-")) for name in order])


def paginate_parts(
    request: Request, parts: Sequence[QuerySet[Any, dict[str, Any]]], order: Mapping[str, Callable[[str], object]]
) -> Page[dict[str, Any]]:
    """As `paginate`, for a list of rows as dictionaries that comes from several tables with the same columns.

    Args:
        request: with `cursor` and `limit`.
        parts: rows of each table, all with the same columns in the same order.
        order: columns with what reads a value of each from text, raising ValueError.
    """
    limit = _limit(request)
    cursor = request.query_params.get("cursor")
    if cursor is not None:
        beyond = _after(tuple(order), _position(cursor, list(order.values())))
        parts = [part.filter(beyond) for part in parts]
    rows = parts[0].union(*parts[1:], all=True) if len(parts) > 1 else parts[0]
    found = list(rows.order_by(*order)[: limit + 1])
    return _page(request, found, limit, lambda last: [last[name.lstrip("-")] for name in order])


def paginate_fetched(
    request: Request,
    fetch: Callable[[Sequence[Any] | None, int], list[dict[str, Any]]],
    order: Mapping[str, Callable[[str], object]],
) -> Page[dict[str, Any]]:
    """As `paginate`, for rows that a statement of its own fetches.

    Args:
        request: with `cursor` and `limit`.
        fetch: rows after a position (None to begin), and how many at most.
        order: columns of the position with what reads a value of each from text, raising ValueError.
    """
    limit = _limit(request)
    cursor = request.query_params.get("cursor")
    after = None if cursor is None else _position(cursor, list(order.values()))
    return _page(request, fetch(after, limit + 1), limit, lambda last: [last[name] for name in order])


def paginate_list(request: Request, rows: Sequence[T], name: Callable[[T], str]) -> Page[T]:
    """As `paginate`, for a list that is no table, in the order of a unique name."""
    limit = _limit(request)
    cursor = request.query_params.get("cursor")
    after = str(_position(cursor, [str])[0]) if cursor is not None else ""
    found = sorted((row for row in rows if name(row) > after), key=name)[: limit + 1]
    return _page(request, found, limit, lambda last: [name(last)])


def _page(request: Request, found: list[T], limit: int, position: Callable[[T], list[object]]) -> Page[T]:
    page = found[:limit]
    return Page(page, _next(request, position(page[-1])) if len(found) > limit else None)


def _limit(request: Request) -> int:
    text = request.query_params.get("limit")
    if text is None:
        return DEFAULT_LIMIT
    if not re.fullmatch("[0-9]{1,4}", text) or not 1 <= int(text) <= LARGEST_LIMIT:
        raise bad_parameter("limit", f"Expected a whole number from 1 to {LARGEST_LIMIT}.")
    return int(text)


def _next(request: Request, position: list[object]) -> str:
    cursor = base64.urlsafe_b64encode(json.dumps([str(value) for value in position]).encode()).decode().rstrip("=")
    others = {name: value for name, value in request.query_params.items() if name != "cursor"}
    # Without scheme and host: those are the client's to know, and a forged Host header stays out.
    return f"{request.path}?{urlencode({**others, 'cursor': cursor})}"


def _position(cursor: str, readers: Sequence[Callable[[str], object]]) -> list[Any]:
    """The sort values in a cursor, each made to fit its column."""
    words = "The cursor was not made by this list; start again without it."
    if len(cursor) > _LONGEST_CURSOR or not re.fullmatch("[A-Za-z0-9_-]+", cursor):
        raise bad_parameter("cursor", words, code="bad_cursor")
    try:
        values = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        if not isinstance(values, list) or len(values) != len(readers):
            raise ValueError("another list's cursor")
        return [read(_text(value)) for read, value in zip(readers, values, strict=True)]
    except (ValueError, binascii.Error, ValidationError, RecursionError) as error:
        raise bad_parameter("cursor", words, code="bad_cursor") from error


def _text(value: object) -> str:
    # Half of a surrogate pair can stand in JSON and in no column.
    if not isinstance(value, str) or "\x00" in value or not value.isprintable():
        raise ValueError("a cursor holds texts")
    return value


def _value(model: type[Model], name: str, value: str) -> object:
    field = model._meta.get_field(name.lstrip("-"))
    fitting: object = field.clean(value, None)  # type: ignore[union-attr]
    return fitting


def _after(order: Sequence[str], position: Sequence[Any]) -> Q:
    """The rows after a position: greater in the first column, or equal there and greater in the second, and so on."""
    condition = Q()
    equal = Q()
    for name, value in zip(order, position, strict=True):
        column, beyond = name.lstrip("-"), "lt" if name.startswith("-") else "gt"
        condition |= equal & Q(**{f"{column}__{beyond}": value})
        equal &= Q(**{column: value})
    return condition
