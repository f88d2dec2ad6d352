"""How are marks, findings, repairs and readings of a survey written in a request, and shown again?

The members are those of `quotes.calc.survey`, except that a cell is said as it is on the roof: "3D" is the third row of 24 in
from the front, in the lane at the passenger edge. Whether a mark lies on the roof is checked by the core.
"""

import re
from collections.abc import Mapping
from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from api.rest.fields import (
    LONGEST_NOTE,
    MEASURE_SCHEMA,
    FlagField,
    MeasureField,
    OneOfField,
    ShareField,
    SlugField,
    StrictSerializer,
    TextField,
    WholeField,
    measure_shown,
    refuse,
    shown,
)
from costbase.calc.units import AREA, LENGTH, NONE, Quantity
from quotes.calc.survey import (
    BACKINGS,
    CELL_METHODS,
    CHEMISTRIES,
    CONDITIONS,
    REPAIR_KINDS,
    SIDES,
)
from quotes.exchange.documents import Document, stored

CELL_CODE = re.compile(r"([1-9][0-9]{0,3})([A-D])")
# Above what the longest roof has; the core refuses with better words, this only bounds its work.
_MOST_CELLS = 2_000
_MOST_OTHERS = 500


class Cell(StrictSerializer):
    section = TextField()
    cell = TextField(max_length=5, help_text="Row from the front and lane from the driver edge, such as 3D.")
    condition = OneOfField(CONDITIONS)
    method = OneOfField(CELL_METHODS)

    def validate_cell(self, code: str) -> str:
        if not CELL_CODE.fullmatch(code):
            raise refuse(
                "bad_cell", f"Expected a row from 1 and a lane A to D from the driver edge, such as 3D, not {shown(code)}."
            )
        return code


class Strip(StrictSerializer):
    section = TextField()
    side = OneOfField(SIDES)
    index = WholeField(min_value=1, max_value=9_999, help_text="24 in each, from the front or the driver edge.")
    condition = OneOfField(CONDITIONS)
    method = OneOfField(CELL_METHODS)


class Ring(StrictSerializer):
    section = TextField()
    opening = TextField(help_text="Label of the opening.")
    condition = OneOfField(CONDITIONS)
    method = OneOfField(CELL_METHODS)
    backing = OneOfField(BACKINGS)


_EXTENT_UNITS = {
    "length": {"us": "in", "metric": "mm"},
    "area": {"us": "ft2", "metric": "m2"},
    "plain number": {"us": "each", "metric": "each"},
}


@extend_schema_field(MEASURE_SCHEMA)
class ExtentField(serializers.Field[Any, object, dict[str, str], Any]):
    """A length, an area or a count ("3 each"), whichever the kind of finding is measured by."""

    def to_internal_value(self, data: object) -> Quantity:
        for dimension in (LENGTH, AREA, NONE):
            try:
                return MeasureField(dimension, us="", metric="").to_internal_value(data)
            except ValidationError as error:
                if "wrong_dimension" not in str(error.get_codes()):
                    raise
        raise refuse("wrong_dimension", f"Expected a length, an area or a count such as 3 each, not {shown(data)}.")

    def to_representation(self, value: Mapping[str, Any]) -> dict[str, str]:
        unit = _EXTENT_UNITS[value["dimension"]][self.context["unit_system"]]
        return measure_shown(value["canonical"], unit, value["entered"])


class PercentField(serializers.FloatField):
    """A percentage as an instrument shows it, as a JSON number."""

    def to_internal_value(self, data: object) -> float:
        if isinstance(data, bool) or not isinstance(data, int | float):
            raise refuse("not_number", f"Expected a number of percent such as 18.5, not {shown(data)}.")
        return float(data)


class Finding(StrictSerializer):
    kind = TextField(max_length=63, help_text="One of the kinds of evidence that the severity rules name.")
    place = TextField(max_length=120, help_text="cell 3D, cells 3D, 4D, strip driver 4, ring vent 2, or other words.")
    section = TextField()
    extent = ExtentField(required=False, allow_null=True, default=None)
    note = TextField(max_length=LONGEST_NOTE, required=False, allow_blank=True, default="")


class Repair(StrictSerializer):
    kind = OneOfField(REPAIR_KINDS)
    section = TextField()
    chemistry = OneOfField(CHEMISTRIES, help_text="none for added trim and screws.")
    share = ShareField(
        required=False, allow_null=True, default=None, help_text="Of the section's skin; coatings and tape only."
    )
    length = MeasureField(
        LENGTH, us="ft", metric="m", required=False, allow_null=True, default=None, help_text="Added trim only."
    )


class Reading(StrictSerializer):
    instrument = SlugField(help_text="One of the instruments that the severity rules name.")
    section = TextField()
    place = TextField(max_length=120, help_text="As of a finding.")
    percent = PercentField(help_text="0 to 100.")
    over_foil = FlagField(help_text="Foil lies between the instrument and the wood.")


class Marks(StrictSerializer):
    """The lists of a survey; what is not said in one was not looked at, never sound."""

    cells = Cell(many=True, max_length=_MOST_CELLS, required=False, default=[])
    strips = Strip(many=True, max_length=_MOST_OTHERS, required=False, default=[])
    rings = Ring(many=True, max_length=_MOST_OTHERS, required=False, default=[])
    findings = Finding(many=True, max_length=_MOST_OTHERS, required=False, default=[])
    repairs = Repair(many=True, max_length=_MOST_OTHERS, required=False, default=[])
    readings = Reading(many=True, max_length=_MOST_OTHERS, required=False, default=[])


LISTS = ("cells", "strips", "rings", "findings", "repairs", "readings")


def marks_kept(values: Mapping[str, Any]) -> Document:
    """The lists among the values of a body as a survey's document keeps them: cells by row and lane."""
    kept: Document = {name: stored(values[name]) for name in LISTS if name in values}
    if "cells" in kept:
        kept["cells"] = [_split(cell) for cell in kept["cells"]]
    return kept


def marks_shown(document: Document) -> Document:
    """A survey's document with its cells as they are said."""
    return {**document, "cells": [_joined(cell) for cell in document["cells"]]}


def field_in_body(field: str) -> str:
    """The place in the body of what the core calls ``cells/3/row`` or ``on``."""
    return _OF_CELL.sub(r"\1cell", "made_on" if field == "on" else field)


_OF_CELL = re.compile(r"^(cells/[0-9]+/)(?:row|lane)$")


def _split(cell: Document) -> Document:
    code = str(cell["cell"])
    others = {name: value for name, value in cell.items() if name != "cell"}
    return {**others, "row": int(code[:-1]), "lane": code[-1]}


def _joined(cell: Document) -> Document:
    others = {name: value for name, value in cell.items() if name not in ("row", "lane")}
    return {**others, "cell": f"{cell['row']}{cell['lane']}"}
