"""How does what was entered become a document that a JSON column keeps?

A measure is kept twice: as it was entered, which is shown again, and canonical, which is computed with.
"""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from typing import Any

from costbase.calc.units import Quantity

Document = dict[str, Any]


def stored(value: object) -> Any:
    """Values with quantities and days in them as plain JSON values.

    A quantity becomes ``{"entered": "33 ft 6 in", "canonical": 102108.0, "dimension": "length"}``, a share a number, a
    day its ISO text. Floats survive JSON exactly: the shortest text that reads back to the same double is written.
    """
    if isinstance(value, Quantity):
        return {"entered": value.entered, "canonical": value.canonical, "dimension": value.dimension.name()}
    if isinstance(value, Decimal):
        return float(value)
    if isinstance(value, Mapping):
        return {name: stored(part) for name, part in value.items()}
    if isinstance(value, list | tuple):
        return [stored(part) for part in value]
    return value.isoformat() if isinstance(value, date) else value
