"""How is a size kept as text with its unit, and written back without losing anything?

Contents hold "108 in" or "2.75 m" as somebody entered it; inside it is canonical. Written back it stands in
the first unit in which few decimals say exactly the same, so that nothing that is priced can move.
"""

import math
from fractions import Fraction

from costbase.calc.fields import Codec, ContentsError, shown
from costbase.calc.units import (
    ANGLE,
    AREA,
    AREAL_MASS,
    LENGTH,
    MASS,
    TIME,
    UNITS,
    Dimension,
    from_value,
    parse,
)

# Units in which a quantity is written back: the first in which it is exact.
_WRITTEN_IN: dict[Dimension, tuple[str, ...]] = {
    LENGTH: ("inch", "millimetre"),
    AREA: ("square_foot", "square_metre", "square_inch"),
    MASS: ("pound", "kilogram", "gram"),
    AREAL_MASS: ("pound_per_square_foot", "kilogram_per_square_metre"),
    TIME: ("day", "hour", "second"),
    ANGLE: ("degree",),
}


def size(dimension: Dimension) -> Codec[float]:
    """A quantity with its unit, such as "108 in" or "2.75 m"; canonical inside."""

    def read(value: object, path: str) -> float:
        if not isinstance(value, str):
            raise ContentsError(
                f"expected a {dimension.name()} with its unit as text, not {shown(value)}",
                field=path,
                value=value,
            )
        return parse(value, dimension, field=path).canonical

    # As long as `units.parse` takes.
    shape = {"type": "string", "maxLength": 40, "description": f"A {dimension.name()} with its unit."}
    return Codec(read, lambda canonical: write_quantity(canonical, dimension), schema=shape)


def write_quantity(canonical: float, dimension: Dimension) -> str:
    """The quantity in the first unit in which few decimals say exactly the same number of canonical units.

    Raises:
        ContentsError: no unit of the table does (a quantity that was not entered but worked out).
    """
    for places in (4, 12, 20):
        for slug in _WRITTEN_IN[dimension]:
            unit = UNITS[slug]
            digits = _plain(Fraction(canonical) / unit.factor, places)
            if from_value(digits, unit.symbol, dimension).canonical == canonical:
                return f"{digits} {unit.symbol}"
    raise ContentsError(f"no unit writes this {dimension.name()} exactly: {canonical!r}", value=canonical)


def _plain(number: Fraction, places: int) -> str:
    scaled = math.floor(number * 10**places + Fraction(1, 2))
    digits = str(scaled).rjust(places + 1, "0")
    return f"{digits[:-places]}.{digits[-places:]}".rstrip("0").rstrip(".")
