"""What was sent as a file, and what does the query say about it?"""

from email.message import Message
from typing import Final

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework.request import Request

from api.rest.errors import Fault, Problem, bad_parameter
from api.rest.openapi import FILE_KINDS, query
from api.rest.parsing import CsvParser, file_bytes
from api.rest.queries import day_parameter, known_parameters, text_parameter
from costbase.actions.imports import Upload
from costbase.exchange.csv_tables import CSV_KINDS

LONGEST_FILE_NAME: Final = 200
LONGEST_NOTE: Final = 1_000
FILE_REFUSALS: Final = (
    "body_missing", "body_too_large", "length_required", "unsupported_media_type", "bad_parameter", "unknown_parameter",
    "note_missing",
)  # fmt: skip

# Says of a method that its body is a file; stands above `operation`.
takes_file = extend_schema(
    request=dict.fromkeys(FILE_KINDS, OpenApiTypes.BINARY),
    parameters=[
        query("valid_from", "First day of what the file says.", OpenApiTypes.DATE, required=True),
        query("kind", "Of a table with commas, which holds one kind. TOML names the kinds itself.", enum=list(CSV_KINDS)),
        query("file", "Its name, for the faults; that of the header Content-Disposition unless told."),
        query("note", "Why; needed where the first day is over."),
    ],
)


def upload_of(request: Request) -> Upload:
    """The file of a request.

    Raises:
        Problem: there is no file, or a parameter is missing, unknown or does not fit.
    """
    known_parameters(request, ("file", "kind", "valid_from", "note"))
    content = file_bytes(request)
    valid_from = day_parameter(request, "valid_from")
    if valid_from is None:
        raise bad_parameter("valid_from", "Expected the first day of what the file says, such as 2026-03-01.")
    kind, note = _kind(request), text_parameter(request, "note", LONGEST_NOTE)
    return Upload(file=_file_name(request), kind=kind, content=content, valid_from=valid_from, note=note)


def _kind(request: Request) -> str:
    said = request.query_params.get("kind")
    is_table = (request.content_type or "").partition(";")[0].strip().lower() == CsvParser.media_type
    if is_table and said not in CSV_KINDS:
        raise bad_parameter("kind", f"Expected the kind of the table: {', '.join(CSV_KINDS)}. Other kinds come as TOML.")
    if not is_table and said is not None:
        raise bad_parameter("kind", "Expected none: TOML names the kind of each of its tables.")
    return said or ""


def _file_name(request: Request) -> str:
    name = text_parameter(request, "file", LONGEST_FILE_NAME) or _disposed(request)
    if not name:
        words = "Expected the file's name, for its faults, here or in the header Content-Disposition."
        raise bad_parameter("file", words)
    return name


def _disposed(request: Request) -> str:
    """The file name in Content-Disposition; "" without that header."""
    header = request.headers.get("Content-Disposition")
    if header is None:
        return ""
    message = Message()
    message["Content-Disposition"] = header
    name = message.get_filename("").strip()
    if not name or len(name) > LONGEST_FILE_NAME or not name.isprintable():
        words = 'Expected a file name, such as attachment; filename="rates.csv".'
        raise Problem("bad_header", words, faults=[Fault("bad_header", words, header="Content-Disposition")])
    return name
