"""How is a refusal told to the client?

Every refusal leaves as a problem document (RFC 9457) with a stable `code` from `api/rest/codes.py`. Faults of
the input are listed all at once in `errors`, each with the place it speaks about: a JSON pointer into the
body (`pointer`), a query parameter (`parameter`) or a header (`header`). This is the only file that turns
codes of the core into HTTP.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, connection
from django.db.models import ProtectedError, RestrictedError
from django.http import Http404, HttpRequest, JsonResponse
from psycopg import errors as postgres
from rest_framework import exceptions
from rest_framework.response import Response

from api.rest.codes import CODES
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.scope import current_scope

CONTENT_TYPE = "application/problem+json"
# A body of a megabyte can hold a hundred thousand faults; nobody reads more than these.
MOST_FAULTS = 100

_LONE = re.compile("[\x00\ud800-\udfff]")
_OWN_KEY = "non_field_errors"


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault of the input. Exactly one of `pointer`, `parameter` and `header` says where."""

    code: str
    detail: str
    pointer: str = ""
    parameter: str = ""
    header: str = ""

    def member(self) -> dict[str, str]:
        """The fault as it stands in the list `errors`."""
        places = {"pointer": self.pointer, "parameter": self.parameter, "header": self.header}
        place = {name: _plain(words) for name, words in places.items() if words} or {"pointer": "#"}
        return {**place, "code": self.code, "detail": _plain(self.detail)}


class Problem(exceptions.APIException):
    """A refusal. The code decides the status; `members` are further members of the document."""

    def __init__(
        self,
        code: str,
        detail: str,
        *,
        faults: Sequence[Fault] = (),
        headers: Mapping[str, str] | None = None,
        members: Mapping[str, object] | None = None,
    ) -> None:
        super().__init__(detail, code)
        self.code = code
        self.status_code = CODES[code].status
        self.words = detail
        self.faults = tuple(faults)
        self.headers = dict(headers or {})
        self.members = dict(members or {})

    def document(self) -> dict[str, object]:
        """The members of the problem document."""
        document: dict[str, object] = {
            "type": f"/api/problems/{self.code}",
            "title": CODES[self.code].title,
            "status": self.status_code,
            "detail": _plain(self.words),
            "code": self.code,
            **self.members,
        }
        if self.faults:
            document["errors"] = [fault.member() for fault in self.faults[:MOST_FAULTS]]
        if len(self.faults) > MOST_FAULTS:
            document["errors_left_out"] = len(self.faults) - MOST_FAULTS
        return document


def bad_parameter(name: str, detail: str, *, code: str = "bad_parameter") -> Problem:
    """The problem of one query parameter."""
    return Problem(code, detail, faults=[Fault(code, detail, parameter=name)])


def bad_header(name: str, detail: str) -> Problem:
    """The problem of one request header."""
    return Problem("bad_header", detail, faults=[Fault("bad_header", detail, header=name)])


def pointer(*segments: str | int) -> str:
    """A JSON pointer as a URI fragment: ``#/roof/sections/0``."""
    return "#" + "".join("/" + str(segment).replace("~", "~0").replace("/", "~1") for segment in segments)


def exception_handler(error: Exception, context: Mapping[str, object]) -> Response | None:
    """The answer to whatever a view raised; None for what nobody foresaw, which `handler500` answers."""
    problem = problem_of(error)
    if problem is None:
        return None
    if current_scope() is not None:
        # Nothing of a refused request is kept, even where the refusal was caught inside its scope.
        connection.set_rollback(True)
    return Response(problem.document(), status=problem.status_code, headers=problem.headers, content_type=CONTENT_TYPE)


def problem_of(error: Exception) -> Problem | None:
    """The problem that an exception means, None where it means a fault of ours."""
    return next((told(error) for kind, told in _TOLD if isinstance(error, kind)), None)


def invalid_input(faults: Sequence[Fault]) -> Problem:
    """The problem of a well-formed body whose contents do not fit."""
    return Problem("invalid_input", f"The body does not fit in {places(faults)}; see errors.", faults=faults)


def places(faults: Sequence[Fault]) -> str:
    """How many places are wrong, in words."""
    return "1 place" if len(faults) == 1 else f"{len(faults)} places"


def validation_faults(detail: object, path: tuple[str | int, ...] = ()) -> Iterator[Fault]:
    """The faults in REST framework's nested lists and dictionaries of errors, each with its pointer."""
    if isinstance(detail, Mapping):
        for key, below in detail.items():
            yield from validation_faults(below, path if key == _OWN_KEY else (*path, key))
    elif isinstance(detail, list | tuple):
        for index, entry in enumerate(detail):
            # A list of dictionaries has an entry per element; a list of messages speaks about one and the
            # same place.
            yield from validation_faults(entry, (*path, index) if isinstance(entry, Mapping) else path)
    else:
        code = getattr(detail, "code", None) or "invalid"
        yield Fault(code if code in CODES else "invalid", str(detail), pointer=pointer(*path))


def calculation_faults(error: CalculationError) -> tuple[Fault, ...]:
    """The faults of a refusal of the core; a field such as ``sections/0/length`` becomes a pointer."""
    if not isinstance(error, CalculationFaults):
        return (Fault(error.code, error.message, pointer="#" + ("/" + error.field if error.field else "")),)
    prefix = "/" + error.field if error.field else ""
    return tuple(
        Fault(fault.code, fault.detail, pointer="#" + prefix + fault.pointer[1:])
        for part in error.faults
        for fault in calculation_faults(part)
    )


def _of_calculation(error: CalculationError) -> Problem | None:
    faults = calculation_faults(error)
    if isinstance(error, CalculationFaults) and len(faults) != 1:
        code, words = error.code, f"Expected something else in {places(faults)}; see errors."
    else:
        code, words = faults[0].code, faults[0].detail
    if any(CODES[fault.code].status >= HTTPStatus.INTERNAL_SERVER_ERROR for fault in faults if fault.code in CODES):
        return None
    return Problem(code if code in CODES else CalculationError.code, words, faults=faults)


def _of_framework(error: exceptions.APIException) -> Problem:
    headers = {}
    if getattr(error, "auth_header", None):
        headers["WWW-Authenticate"] = str(error.auth_header)  # type: ignore[attr-defined]
    if getattr(error, "wait", None):
        headers["Retry-After"] = str(int(error.wait) + 1)  # type: ignore[attr-defined]
    code = str(error.get_codes())
    if code not in CODES or CODES[code].status != error.status_code:
        # A code of the framework's own gives way to ours for the same status.
        code = next((name for name, kind in CODES.items() if kind.status == error.status_code), "bad_request")
    return Problem(code, str(error.detail), headers=headers)


_DATABASE_CODES: tuple[tuple[type[Exception], str], ...] = (
    (postgres.UniqueViolation, "already_there"),
    (postgres.ForeignKeyViolation, "in_use"),
    (postgres.LockNotAvailable, "busy"),
    (postgres.DeadlockDetected, "busy"),
    (postgres.SerializationFailure, "busy"),
    (postgres.QueryCanceled, "busy"),
)


def _of_database(error: DatabaseError) -> Problem | None:
    """Two requests that met in the database. PostgreSQL says tables and values, so its words stay here."""
    for kind, code in _DATABASE_CODES:
        if isinstance(error.__cause__, kind):
            headers = {"Retry-After": "1"} if code == "busy" else {}
            return Problem(code, CODES[code].meaning, headers=headers)
    return None


def _of_code(code: str) -> Problem:
    return Problem(code, CODES[code].meaning)


# The first kind that fits tells.
_TOLD: tuple[tuple[type[Exception] | tuple[type[Exception], ...], Callable[[Any], Problem | None]], ...] = (
    (Problem, lambda error: error),
    (CalculationError, _of_calculation),
    (exceptions.ValidationError, lambda error: invalid_input(tuple(validation_faults(error.detail)))),
    (Http404, lambda _: _of_code("not_found")),
    (PermissionDenied, lambda _: _of_code("forbidden")),
    (exceptions.APIException, _of_framework),
    ((ProtectedError, RestrictedError), lambda _: _of_code("in_use")),
    (DatabaseError, _of_database),
)


def _plain(words: str) -> str:
    """Words that any JSON reader can take, whatever the client sent."""
    return _LONE.sub("\ufffd", words)


def answer(problem: Problem) -> JsonResponse:
    """A problem outside of REST framework's views."""
    return JsonResponse(problem.document(), status=problem.status_code, headers=problem.headers, content_type=CONTENT_TYPE)


def handler400(request: HttpRequest, exception: Exception) -> JsonResponse:
    return answer(_of_code("bad_request"))


def handler403(request: HttpRequest, exception: Exception) -> JsonResponse:
    return answer(_of_code("forbidden"))


def handler404(request: HttpRequest, exception: Exception) -> JsonResponse:
    return answer(_of_code("not_found"))


def handler500(request: HttpRequest) -> JsonResponse:
    return answer(_of_code("internal_error"))
