"""How is a survey read from the document that its row keeps?

The document has the lists of `quotes.calc.survey.Survey` under their own names; shares and percents are plain
numbers, measures as `documents.stored` wrote them.
"""

from datetime import date
from typing import Any

from cattrs import Converter

from quotes.calc.survey import Survey
from quotes.exchange.documents import Document

_converter = Converter(forbid_extra_keys=True)
_converter.register_structure_hook(float, lambda value, _: _number(value))
_converter.register_structure_hook(float | None, lambda value, _: None if value is None else _number(value))


def survey_from(method: str, made_on: date, document: Document) -> Survey:
    """The survey that a row describes, not yet checked."""
    return _converter.structure({**document, "method": method, "on": made_on.isoformat()}, Survey)


def _number(value: Any) -> float:
    return float(value["canonical"] if isinstance(value, dict) else value)
