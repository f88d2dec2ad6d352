"""What do the served documentation and `openapi.yaml` say about every operation?

A view's method is described by `operation`, which adds what all operations share: the headers of versions and
idempotency, the parameters of lists, and the problems that may be answered. The file is made by ``manage.py
spectacular --file api/rest/openapi.yaml --validate --fail-on-warn``; a test compares it.
"""

from collections.abc import Callable, Iterable, Mapping
from inspect import cleandoc
from typing import Any, TypeVar

from django_filters import BooleanFilter, ChoiceFilter, DateFilter, Filter, FilterSet, NumberFilter
from drf_spectacular.authentication import TokenScheme
from drf_spectacular.extensions import OpenApiSerializerExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.plumbing import build_bearer_security_scheme_object
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema, inline_serializer
from rest_framework import serializers

from api.rest.codes import CODES
from api.rest.errors import CONTENT_TYPE
from api.rest.pagination import DEFAULT_LIMIT, LARGEST_LIMIT

F = TypeVar("F", bound=Callable[..., Any])
Shape = type[serializers.Serializer[Any]]

# Answered by every operation, so they stand once, under `default`.
_EVERY_REFUSAL = (
    *("token_missing", "token_malformed", "token_unknown", "token_expired", "token_revoked"),
    *("role_not_allowed", "not_found", "method_not_allowed", "bad_header", "busy", "internal_error"),
)
_BODY_REFUSALS = ("invalid_json", "body_too_large", "unsupported_media_type", "invalid_input")


class BearerScheme(TokenScheme):  # type: ignore[no-untyped-call]
    """Names the scheme of `BearerAuthentication` in the document."""

    target_class = "api.rest.authentication.BearerAuthentication"
    name = "token"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        scheme: dict[str, str] = build_bearer_security_scheme_object(header_name="Authorization", token_prefix="Bearer")
        return scheme


class StrictObject(OpenApiSerializerExtension):  # type: ignore[no-untyped-call]
    """Says of bodies what `StrictSerializer` does: a member that is not named is refused."""

    target_class = "api.rest.fields.StrictSerializer"
    match_subclasses = True

    def map_serializer(self, auto_schema: AutoSchema, direction: str) -> dict[str, Any]:
        schema: dict[str, Any] = auto_schema._map_serializer(  # type: ignore[no-untyped-call]
            self.target, direction, bypass_extensions=True
        )
        return {**schema, "additionalProperties": False}


class FaultShape(serializers.Serializer[Any]):
    pointer = serializers.CharField(required=False, help_text="JSON pointer into the body, such as #/roof/sections/0.")
    parameter = serializers.CharField(required=False, help_text="Name of a query parameter.")
    header = serializers.CharField(required=False, help_text="Name of a header.")
    code = serializers.CharField()
    detail = serializers.CharField(help_text="What was expected.")


class ProblemShape(serializers.Serializer[Any]):
    """A problem document of RFC 9457."""

    type = serializers.CharField()
    title = serializers.CharField()
    status = serializers.IntegerField()
    detail = serializers.CharField()
    code = serializers.CharField(help_text="Stable; GET /api/problems/{code} says what it means.")
    errors = FaultShape(many=True, required=False)  # type: ignore[assignment]
    errors_left_out = serializers.IntegerField(required=False)


def operation(
    name: str,
    summary: str,
    *,
    answers: Mapping[int, Shape | None],
    body: Shape | None = None,
    creates: bool = False,
    versioned: bool = False,
    tagged: bool = False,
    changes: bool = False,
    filters: type[FilterSet] | None = None,
    refusals: Iterable[str] = (),
    on: bool = False,
    places: Mapping[str, Iterable[str]] | None = None,
    tables: bool = False,
) -> Callable[[F], F]:
    """Describes a method of a view.

    Args:
        name: the operation's id, unique: ``list_coaches``.
        summary: one line; the method's docstring is the longer description.
        answers: the shape of each good answer by status, None for one without a body.
        body: the shape of the request's body.
        creates: takes Idempotency-Key.
        versioned: answers an ETag and takes If-None-Match.
        tagged: answers an ETag only, for If-Match.
        changes: wants If-Match.
        filters: makes it a list in pages, with these query parameters.
        refusals: codes of the problems that only this operation has.
        on: takes the day of which is asked.
        places: parts of the address that are one of a few words.
        tables: can be had as a table in a file too.
    """
    codes = [*(_BODY_REFUSALS if body else ()), *refusals]
    codes += ["idempotency_mismatch", "twin_at_work"] if creates else []
    codes += ["if_match_missing", "version_mismatch"] if changes else []
    codes += ["bad_parameter"] if filters or on else []
    parameters = [
        *_headers(creates=creates, versioned=versioned, tagged=tagged, changes=changes),
        *(_list_parameters(filters) if filters else []),
        *(
            [OpenApiParameter("on", OpenApiTypes.DATE, description="The day of which is asked; today unless told.")]
            if on
            else []
        ),
        *(OpenApiParameter(name, str, "path", enum=list(words)) for name, words in (places or {}).items()),
    ]
    responses: dict[Any, Any] = {**_good(name, answers, paged=filters is not None), **_problems(codes)}
    if tables:
        responses |= {("200", kind): OpenApiResponse(OpenApiTypes.BINARY, description="The table.") for kind in TABLE_KINDS}
    if versioned:
        responses[304] = OpenApiResponse(description="The client has this version already; no body.")

    def describe(method: F) -> F:
        described: F = extend_schema(
            operation_id=name,
            summary=summary,
            # Without one of its own a method would get the docstring of the base view.
            description=cleandoc(method.__doc__ or f"{summary}."),
            request=body,
            parameters=parameters,
            responses=responses,
        )(method)
        return described

    return describe


def _headers(*, creates: bool, versioned: bool, tagged: bool, changes: bool) -> list[OpenApiParameter]:
    parameters = []
    if creates:
        words = "Sent again with the same key, the request is answered as before and does nothing."
        parameters.append(_header("Idempotency-Key", words))
    if changes:
        parameters.append(_header("If-Match", 'The ETag that was read, such as "v7".', required=True))
    if versioned:
        parameters.append(_header("If-None-Match", "An ETag; 304 without a body while it is current."))
    if versioned or tagged:
        parameters.append(OpenApiParameter("ETag", OpenApiTypes.STR, OpenApiParameter.HEADER, response=[200, 201]))
    return parameters


def _header(name: str, words: str, *, required: bool = False) -> OpenApiParameter:
    return OpenApiParameter(name, OpenApiTypes.STR, OpenApiParameter.HEADER, description=words, required=required)


_ON = OpenApiParameter("on", OpenApiTypes.DATE, description="The day of which is asked; today unless told.")
_FILTER_TYPES: tuple[tuple[type[Filter], OpenApiTypes], ...] = (
    (BooleanFilter, OpenApiTypes.BOOL),
    (NumberFilter, OpenApiTypes.INT),
    (DateFilter, OpenApiTypes.DATE),
)


def _list_parameters(filters: type[FilterSet]) -> list[OpenApiParameter]:
    parameters = [
        OpenApiParameter(
            name,
            next((kind for filter_kind, kind in _FILTER_TYPES if isinstance(each, filter_kind)), OpenApiTypes.STR),
            description=each.label or "",
            enum=[value for value, _ in each.extra["choices"]] if isinstance(each, ChoiceFilter) else None,
        )
        for name, each in filters.base_filters.items()
    ]
    limit = f"Rows a page, 1 to {LARGEST_LIMIT}; {DEFAULT_LIMIT} unless told."
    return [
        *parameters,
        OpenApiParameter("limit", OpenApiTypes.INT, description=limit),
        OpenApiParameter("cursor", OpenApiTypes.STR, description="From the address in next; no meaning of its own."),
    ]


def _good(name: str, answers: Mapping[int, Shape | None], *, paged: bool) -> dict[int, Any]:
    return {
        status: OpenApiResponse(description="Done.") if shape is None else _page(name, shape) if paged else shape
        for status, shape in answers.items()
    }


def _page(name: str, shape: Shape) -> object:
    title = "".join(word.capitalize() for word in name.split("_"))
    return inline_serializer(
        f"{title}Page",
        {
            "results": shape(many=True),
            "next": serializers.CharField(allow_null=True, help_text="Address of the next page, null on the last."),
        },
    )


def _problems(codes: Iterable[str]) -> dict[tuple[str, str], Any]:
    by_status: dict[str, list[str]] = {}
    for code in dict.fromkeys(codes):
        by_status.setdefault(str(CODES[code].status), []).append(code)
    return {
        (status, CONTENT_TYPE): OpenApiResponse(ProblemShape, description="Codes: " + ", ".join(names) + ".")
        for status, names in [*sorted(by_status.items()), ("default", list(_EVERY_REFUSAL))]
    }


FILE_KINDS = ("text/csv", "application/toml")
TABLE_KINDS = ("text/csv", "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet")


def file_answers(refusals: Iterable[str]) -> dict[Any, Any]:
    """The answers of an operation that hands out a file."""
    words = OpenApiResponse(OpenApiTypes.STR, description="The file, which an import takes back.")
    return {**{("200", kind): words for kind in FILE_KINDS}, **_problems(refusals)}


def query(name: str, words: str, kind: OpenApiTypes = OpenApiTypes.STR, **further: Any) -> OpenApiParameter:
    """A parameter of the query."""
    return OpenApiParameter(name, kind, description=words, **further)
