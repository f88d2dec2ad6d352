"""How are the frozen inputs of a quote kept as JSON, and read back to the same values?

Floats survive JSON exactly (shortest text that reads back to the same double), so recomputing from what was kept gives the same
amounts to the cent.
"""

from datetime import date
from decimal import Decimal
from typing import Any, TypeVar

from cattrs import Converter

from quotes.calc.contingency import CostFactors
from quotes.calc.inputs import QuoteInputs

T = TypeVar("T")
Json = dict[str, Any]

_converter = Converter(forbid_extra_keys=True)
_converter.register_unstructure_hook(Decimal, str)
_converter.register_structure_hook(Decimal, lambda value, _: Decimal(value))
_converter.register_unstructure_hook(date, lambda value: value.isoformat())
_converter.register_structure_hook(date, lambda value, _: date.fromisoformat(value))
# A measure's value is a number, yes or no, or a word; JSON tells them apart.
_converter.register_structure_hook(float | bool | str, lambda value, _: value)


def inputs_to_json(inputs: QuoteInputs) -> Json:
    """The inputs of a quote as plain JSON values."""
    return _plain(inputs)


def inputs_from_json(data: Json) -> QuoteInputs:
    """The inputs that `inputs_to_json` wrote."""
    return _converter.structure(data, QuoteInputs)


def factors_to_json(factors: CostFactors) -> Json:
    """A shop's record as plain JSON values."""
    return _plain(factors)


def factors_from_json(data: Json) -> CostFactors:
    """The record that `factors_to_json` wrote."""
    return _converter.structure(data, CostFactors)


def _plain(value: object) -> Json:
    plain: Json = _converter.unstructure(value)
    return plain
