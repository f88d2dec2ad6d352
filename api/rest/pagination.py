"""How is a long list handed out?

In pages, by position: a cursor holds the sort values of the last row handed out, and the next page begins
after them. Rows that come or go meanwhile neither repeat nor hide another, and a late page costs as little as
the first. The order must end in a column that is unique in the shop, and its columns must not be null.
"""

import base64
import binascii
import json
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any, Generic, TypeVar
from urllib.parse import urlencode

from django.core.exceptions import ValidationError
from django.db.models import Model, Q, QuerySet
from rest_framework.request import Request

from api.rest.errors import bad_parameter

M = TypeVar("M", bound=Model)

NEWEST_FIRST = ("-id",)
DEFAULT_LIMIT = 50
LARGEST_LIMIT = 200
_LONGEST_CURSOR = 400


@dataclass(frozen=True, slots=True)
class Page(Generic[M]):
    """The rows of one page and the address of the next, None on the last."""

    rows: Sequence[M]
    next: str | None

    def document(self, show: Callable[[Sequence[M]], Iterable[object]]) -> dict[str, object]:
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
        rows = rows.filter(_after(order, _position(cursor, rows.model, order)))
    # One row more than asked for tells whether there is a next page.
    found = list(rows.order_by(*order)[: limit + 1])
    page = found[:limit]
    return Page(page, _next(request, page[-1], order) if len(found) > limit else None)


def _limit(request: Request) -> int:
    text = request.query_params.get("limit")
    if text is None:
        return DEFAULT_LIMIT
    if not re.fullmatch("[0-9]{1,4}", text) or not 1 <= int(text) <= LARGEST_LIMIT:
        raise bad_parameter("limit", f"Expected a whole number from 1 to {LARGEST_LIMIT}.")
    return int(text)


def _next(request: Request, last: Model, order: Sequence[str]) -> str:
    values = [str(getattr(last, field.lstrip("-"))) for field in order]
    cursor = base64.urlsafe_b64encode(json.dumps(values).encode()).decode().rstrip("=")
    others = {name: value for name, value in request.query_params.items() if name != "cursor"}
    # Without scheme and host: those are the client's to know, and a forged Host header stays out.
    return f"{request.path}?{urlencode({**others, 'cursor': cursor})}"


def _position(cursor: str, model: type[Model], order: Sequence[str]) -> list[Any]:
    """The sort values in a cursor, each made to fit its column."""
    words = "The cursor was not made by this list; start again without it."
    if len(cursor) > _LONGEST_CURSOR or not re.fullmatch("[A-Za-z0-9_-]+", cursor):
        raise bad_parameter("cursor", words, code="bad_cursor")
    try:
        values = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
        if not isinstance(values, list) or len(values) != len(order):
            raise ValueError("another list's cursor")
        return [_value(model, name, value) for name, value in zip(order, values, strict=True)]
    except (ValueError, binascii.Error, ValidationError, RecursionError) as error:
        raise bad_parameter("cursor", words, code="bad_cursor") from error


def _value(model: type[Model], name: str, value: object) -> object:
    if not isinstance(value, str) or "\x00" in value:
        raise ValueError("a cursor holds texts")
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
