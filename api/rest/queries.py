"""What may stand in the query of an address?

Query parameters are checked as strictly as bodies: an unknown one, a value that does not fit or a parameter
said twice is a problem that names it, never a filter that is silently not applied.
"""

import re
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from difflib import get_close_matches
from typing import Any, TypeVar

from django import forms
from django.db.models import Model, QuerySet
from django_filters import BooleanFilter, CharFilter, DateFilter, FilterSet, NumberFilter
from rest_framework.request import Request

from api.rest.errors import Fault, Problem, bad_parameter

M = TypeVar("M", bound=Model)

# Every list takes these beside its filters.
PAGE_PARAMETERS = ("cursor", "limit")


_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")


class _FlagField(forms.Field):
    def to_python(self, value: object) -> bool | None:
        if value in (None, ""):
            return None
        if value not in ("true", "false"):
            raise forms.ValidationError("Expected true or false.")
        return value == "true"


class FlagFilter(BooleanFilter):  # type: ignore[misc]
    """true or false; the library's own takes any other word for nothing said."""

    field_class = _FlagField

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"widget": forms.TextInput, **kwargs})


class IdFilter(NumberFilter):  # type: ignore[misc]
    """An id; the library's own takes fractions and numbers that no id can be."""

    field_class = forms.IntegerField

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **{"min_value": 1, "max_value": 2**63 - 1, **kwargs})

    def get_max_validator(self) -> None:
        return None


class _DayField(forms.Field):
    def to_python(self, value: object) -> date | None:
        if value in (None, ""):
            return None
        try:
            if isinstance(value, str) and re.fullmatch("[0-9]{4}-[0-9]{2}-[0-9]{2}", value):
                return date.fromisoformat(value)
        except ValueError:
            pass
        raise forms.ValidationError("Expected a day of the calendar such as 2026-03-01.")


class DayFilter(DateFilter):  # type: ignore[misc]
    """A day; the library's own takes other ways to write one."""

    field_class = _DayField


class _AmountField(forms.Field):
    def to_python(self, value: object) -> Decimal | None:
        if value in (None, ""):
            return None
        if not isinstance(value, str) or not re.fullmatch(r"[0-9]{1,12}(\.[0-9]{1,3})?", value):
            raise forms.ValidationError("Expected an amount of 0 or more such as 250.00.")
        return Decimal(value)


class AmountFilter(CharFilter):  # type: ignore[misc]
    """An amount of 0 or more, as a text; the library's own takes exponents and what is no number."""

    field_class = _AmountField


def filtered(request: Request, rows: QuerySet[M], kind: type[FilterSet]) -> QuerySet[M]:
    """The rows that the query's filters leave.

    Raises:
        Problem: unknown_parameter or bad_parameter, with every parameter that is wrong.
    """
    chosen: QuerySet[M] = checked_filters(request, rows, kind).qs
    return chosen


def checked_filters(request: Request, rows: QuerySet[Any, Any], kind: type[FilterSet]) -> FilterSet:
    """The filters of the query, over the rows; for a view that has to see what was asked.

    Raises:
        Problem: as `filtered`.
    """
    known_parameters(request, (*kind.base_filters, *PAGE_PARAMETERS))
    filters = kind(data=request.query_params, queryset=rows)
    faults = [
        Fault("bad_parameter", f"{message}", parameter=name)
        for name, messages in filters.form.errors.items()
        for message in messages
    ]
    if faults:
        raise Problem("bad_parameter", "Query parameters do not fit; see errors.", faults=faults)
    return filters


def known_parameters(request: Request, known: Iterable[str]) -> None:
    """Refuses parameters that the resource does not know, and parameters that are said twice.

    Raises:
        Problem: unknown_parameter or bad_parameter.
    """
    names = list(known)
    unknown = [name for name in request.query_params if name not in names]
    if unknown:
        faults = [Fault("unknown_parameter", _words(name, names), parameter=name) for name in unknown[:20]]
        raise Problem("unknown_parameter", "The address has unknown query parameters; see errors.", faults=faults)
    twice = [name for name in names if len(request.query_params.getlist(name)) > 1]
    if twice:
        faults = [Fault("bad_parameter", "Expected this parameter once.", parameter=name) for name in twice]
        raise Problem("bad_parameter", "Query parameters are said twice; see errors.", faults=faults)


def _words(name: str, known: list[str]) -> str:
    close = get_close_matches(name[:40], known, n=1)
    return f"Unknown parameter. Did you mean {close[0]}?" if close else f"Expected one of {', '.join(known)}."


def day_parameter(request: Request, name: str) -> date | None:
    """A day in the query; None where it is not said.

    Raises:
        Problem: bad_parameter.
    """
    text = request.query_params.get(name)
    try:
        if text is None or _DAY.fullmatch(text):
            return None if text is None else date.fromisoformat(text)
    except ValueError:
        pass
    raise bad_parameter(name, "Expected a day of the calendar such as 2026-03-01.")


def text_parameter(request: Request, name: str, most: int) -> str:
    """A text in the query, trimmed; "" where it is not said.

    Raises:
        Problem: bad_parameter for one that is too long or holds what no text may hold.
    """
    text = request.query_params.get(name, "").strip()
    if len(text) > most or not text.isprintable():
        raise bad_parameter(name, f"Expected at most {most} printable characters.")
    return text
