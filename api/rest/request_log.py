"""What happened in a request? One line of JSON each, under an id that the answer, the log and history
share.
"""

import re
import time
import uuid
from collections.abc import Callable
from http import HTTPStatus

import structlog
from django.http import HttpRequest
from django.http.response import HttpResponseBase

from api.accounts.tokens import Identity

HEADER = "X-Request-Id"
# A caller's id goes into logs and history, so it is taken only if it is short and plain.
_PLAIN = re.compile(r"[A-Za-z0-9._-]{1,64}")
_KEY = "roofs.request_id"

_log = structlog.get_logger("api.request")


class RequestLog:
    """Middleware: gives every request an id and logs how it ended. Bodies, queries and headers are never
    logged.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponseBase]) -> None:
        self._get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        asked = request.headers.get(HEADER, "")
        request_id = asked if _PLAIN.fullmatch(asked) else uuid.uuid4().hex
        request.META[_KEY] = request_id
        started = time.perf_counter()
        with structlog.contextvars.bound_contextvars(request_id=request_id):
            response = self._get_response(request)
            response[HEADER] = request_id
            _log_end(request, response, time.perf_counter() - started)
        # What the view bound belongs to this request; the thread goes on to serve another.
        structlog.contextvars.unbind_contextvars(*_IDENTITY_KEYS)
        return response


def request_id_of(request: HttpRequest) -> str:
    """The id that `RequestLog` gave this request."""
    request_id: str = request.META[_KEY]
    return request_id


_IDENTITY_KEYS = ("token", "role", "place")


def bind_identity(identity: Identity, place: str) -> None:
    """Adds to the rest of this request's log whose token it has (by prefix) and where it goes ("shop
    north-bay").
    """
    structlog.contextvars.bind_contextvars(token=identity.token_prefix, role=identity.role, place=place)


def bind_link(prefix: str, place: str) -> None:
    """The same for a request by an owner's link."""
    structlog.contextvars.bind_contextvars(token=prefix, role="owner", place=place)


def _log_end(request: HttpRequest, response: HttpResponseBase, seconds: float) -> None:
    match = request.resolver_match
    log = _log.warning if response.status_code >= HTTPStatus.INTERNAL_SERVER_ERROR else _log.info
    log(
        "request",
        method=request.method,
        route=match.route if match else "",
        status=response.status_code,
        ms=round(seconds * 1000, 1),
    )
