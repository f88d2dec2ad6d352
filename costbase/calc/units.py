"""How does a quantity come in and go out, and how is it rounded on the way?

Inside the service every quantity is a float in the canonical units of `unit_table`. `parse` and
`from_value` are the only way in, `show` and `in_unit` the only way out. No text from outside reaches a
units library: such parsers read ``8 1/2 in`` as 4 in and ``10,2 m`` as 102 m without a word, and never
return from ``9**9**9 ft``. The parser here knows the few ways in which sizes are written in a workshop, and
refuses everything else with what it expected.

The functions at the end are the one rule for whole numbers and decimals: what is within a millionth of a
whole number is that whole number, since ``0.1 * 3 / 0.1`` is a little above 3 in floats and must not cost a
fourth sheet.
"""

import math
import re
from dataclasses import dataclass
from fractions import Fraction

from costbase.calc.errors import CalculationError
from costbase.calc.unit_table import (
    ANGLE,
    AREA,
    AREAL_MASS,
    BY_SYMBOL,
    LENGTH,
    MASS,
    NONE,
    TIME,
    UNITS,
    VOLUME,
    Dimension,
    Unit,
    unit_written,
)

__all__ = [
    "ANGLE",
    "AREA",
    "AREAL_MASS",
    "BY_SYMBOL",
    "LENGTH",
    "LONGEST_TEXT",
    "MASS",
    "NONE",
    "TIME",
    "TOLERANCE",
    "UNITS",
    "VOLUME",
    "Dimension",
    "Quantity",
    "Unit",
    "UnitError",
    "UnknownUnitError",
    "WrongDimensionError",
    "ceil_tolerant",
    "floor_tolerant",
    "from_value",
    "half_up_scaled",
    "in_unit",
    "parse",
    "round_half_up",
    "show",
]

LONGEST_TEXT = 40
# What floats lose over a quote stays far below this, and what matters in a workshop is far above.
TOLERANCE = 1e-6
# A fraction works its parts out at every look; a quote asks some hundreds of times.
_RATIOS = {symbol: (unit.factor.denominator, unit.factor.numerator) for symbol, unit in BY_SYMBOL.items()}


class UnitError(CalculationError):
    """A text or number that is no quantity as it was expected."""

    code = "bad_quantity"


class UnknownUnitError(UnitError):
    """A unit that is not in the table."""

    code = "unknown_unit"


class WrongDimensionError(UnitError):
    """A quantity of another kind than expected, such as an area for a length."""

    code = "wrong_dimension"


@dataclass(frozen=True, slots=True)
class Quantity:
    """A quantity that came from outside.

    Attributes:
        entered: as it was entered, in plain marks and symbols, such as ``33 ft 6 in``; `parse` reads it back.
        canonical: its value in canonical units, never negative, always finite.
        dimension: what it measures.
    """

    entered: str
    canonical: float
    dimension: Dimension


_EXAMPLES = {
    NONE: "3 each",
    LENGTH: "33' 6\", 33 ft 6 in, 8-1/2 in or 10.2 m",
    AREA: "96 ft2 or 8.9 m2",
    VOLUME: "2 gal, 10.1 fl_oz or 310 mL",
    MASS: "85 lb or 38.6 kg",
    TIME: "2.5 h or 45 min",
    ANGLE: "90 deg",
    AREAL_MASS: "1.5 lb/ft2 or 7.3 kg/m2",
}
_VULGAR = {
    "½": (1, 2), "⅓": (1, 3), "⅔": (2, 3), "¼": (1, 4), "¾": (3, 4), "⅕": (1, 5), "⅖": (2, 5), "⅗": (3, 5),
    "⅘": (4, 5), "⅙": (1, 6), "⅚": (5, 6), "⅐": (1, 7), "⅛": (1, 8), "⅜": (3, 8), "⅝": (5, 8), "⅞": (7, 8),
    "⅑": (1, 9), "⅒": (1, 10),
}  # fmt: skip
# Marks and spaces that phones, word processors and drawings put in place of the plain ones.
_PLAIN_MARKS = str.maketrans("′’″”⁄‐‑–\u00a0\u2009\u202f", "''\"\"/---   ")

# Every repetition is bounded and so is the text, so that none takes long. Nine digits before the point and
# twenty after it are more than any roof needs, and keep what was tidied within 40 characters.
_PLAIN = r"[0-9]{1,9}(?:\.[0-9]{1,20})?"
_PART = rf"[0-9]{{1,4}}/[0-9]{{1,4}}|[{''.join(_VULGAR)}]"
_AMOUNT = (
    rf"(?:(?P<part_only>{_PART})|(?P<whole>[0-9]{{1,9}})(?:[ -]|(?=[{''.join(_VULGAR)}]))(?P<part>{_PART})"
    rf"|(?P<plain>{_PLAIN}))"
)
_PLAIN_TEXT = re.compile(_PLAIN)
_ONE_UNIT = re.compile(rf"{_AMOUNT} ?(?P<unit>''?|\"|°|[A-Za-z](?:[A-Za-z ._/^²³]|(?<=[A-Za-z^])[0-9]){{0,30}})")
_FEET_AND_INCHES = re.compile(
    rf"(?P<feet>[0-9]{{1,9}}) ?(?:'[ -]?|(?:ft\.?|foot|feet)[ -]){_AMOUNT} ?(?:''|\"|in\.?|inch|inches)",
    re.IGNORECASE | re.ASCII,
)

_NEVER = tuple(
    (re.compile(pattern), why)
    for pattern, why in (
        (r"^ *$", "it is empty"),
        (r"[\x00-\x1f\x7f]", "it holds a control character"),
        (r"(?![0-9])\d", "digits must be 0 to 9"),
        (r",", "a comma can mean a decimal or a thousand: write a point for decimals and no other mark"),
        (r"^ *-| -|−", "there must be no minus sign"),
        (r"[0-9.][eE][-+]?[0-9]", "there must be no exponent"),
    )
)
_UNREAD = tuple(
    (re.compile(pattern, re.IGNORECASE), why)
    for pattern, why in (
        (rf"^{_AMOUNT}$", "the unit is missing"),
        (r"[0-9] ?(?:'|ft\.?|foot|feet)[ -]?[0-9][0-9 ./-]*$", "the inches need their mark"),
        (r"\.[0-9]+ ?(?:'|ft\.?|foot|feet) ?[0-9]", "only whole feet can be followed by inches"),
        (r"^\.[0-9]", "a digit must stand before the point, as in 0.5"),
        (
            r"(?<![.0-9])[0-9]{10}|\.[0-9]{21}",
            "a number has at most nine digits before the point and twenty after it",
        ),
        (r"", "it is not one number with one unit"),
    )
)
_MEANT = {
    "mil": "; write thou for a thousandth of an inch",
    "mils": "; write thou for a thousandth of an inch",
    "psf": "; write lb/ft2",
}


def parse(text: str, dimension: Dimension, *, field: str = "") -> Quantity:
    """The quantity that a person wrote.

    Lengths: one number with a unit (``10.2 m``, ``8-1/2 in``, ``6 1/2"``, ``½ in``), or whole feet followed
        by inches
    below twelve (``33' 6"``, ``33 ft 6 in``, ``33'-6"``). Every other dimension: one number with one unit
    (``96 ft2``, ``96 sq ft``).

    Args:
        text: at most 40 characters; a number has up to nine digits before the point and up to twenty after
            it, no sign and no exponent.
        dimension: what it must measure.
        field: where it stands in the input, for the refusal.

    Returns:
        The quantity; its exact value is rounded once, to the nearest float.

    Raises:
        UnitError: for anything else, with what was expected and an example.
        UnknownUnitError: the unit is not in the table.
        WrongDimensionError: the unit measures something else.
    """
    _check_text(text, dimension, field)
    plain = re.sub(" {2,}", " ", text.translate(_PLAIN_MARKS)).strip(" ")
    for pattern, why in _NEVER:
        if pattern.search(plain):
            raise _refusal(text, dimension, field, why)
    compound = _FEET_AND_INCHES.fullmatch(plain)
    if compound:
        return _feet_and_inches(compound, text, dimension, field)
    match = _ONE_UNIT.fullmatch(plain)
    if match is None:
        why = next(why for pattern, why in _UNREAD if pattern.search(plain))
        raise _refusal(text, dimension, field, why)
    unit = _unit_in_text(match["unit"], text, dimension, field)
    value, entered = _amount(match, text, dimension, field)
    return Quantity(f"{entered} {unit.symbol}", float(value * unit.factor), dimension)


def from_value(value: str, unit: str, dimension: Dimension, *, field: str = "") -> Quantity:
    """The quantity of a pair such as ``{"value": "10.2", "unit": "m"}``.

    Args:
        value: a plain decimal as text: up to nine digits before the point and up to twenty after it; no
            sign, exponent or fraction, at most 40 characters.
        unit: a symbol of the table, such as ``ft2``.
        dimension: what it must measure.
        field: where the pair stands in the input; a refusal points to ``value`` or ``unit`` below it.

    Raises:
        UnitError: the value is no plain decimal.
        UnknownUnitError: the symbol is not in the table.
        WrongDimensionError: the unit measures something else.
    """
    value_field, unit_field = (f"{field}/value", f"{field}/unit") if field else ("value", "unit")
    _check_text(value, dimension, value_field)
    if not _PLAIN_TEXT.fullmatch(value):
        message = f"expected a plain decimal number as text, such as 10.2, not {value!r}"
        raise UnitError(message, field=value_field, value=value)
    found = BY_SYMBOL.get(unit) if isinstance(unit, str) else None
    if found is None:
        symbols = ", ".join(known.symbol for known in UNITS.values() if known.dimension == dimension)
        message = f"unknown unit {unit!r}: expected a unit of {dimension.name()} ({symbols})"
        raise UnknownUnitError(message, field=unit_field, value=unit)
    if found.dimension != dimension:
        raise _wrong_dimension(found, unit, dimension, unit_field)
    return Quantity(f"{_tidy(value)} {unit}", float(Fraction(value) * found.factor), dimension)


def show(canonical: float, unit_symbol: str, places: int = 4) -> str:
    """The quantity in a unit, such as ``34 ft``: half up to `places` decimals, trailing zeros cut.

    Args:
        canonical: in canonical units of the unit's dimension; may be negative (a difference).
        unit_symbol: a symbol of the table.
        places: decimals at most.

    Raises:
        UnknownUnitError: the symbol is not in the table.
        UnitError: the quantity is not finite.
    """
    scaled = half_up_scaled(in_unit(canonical, unit_symbol), places)
    whole, rest = divmod(abs(scaled), 10**places)
    decimals = f"{rest:0{places}d}".rstrip("0") if rest else ""
    return f"{'-' if scaled < 0 else ''}{whole}{'.' if decimals else ''}{decimals} {unit_symbol}"


def in_unit(canonical: float, unit_symbol: str) -> float:
    """How many such units a canonical quantity is: 102108 in ``ft`` is 33.5. Not rounded.

    Raises:
        UnknownUnitError: the symbol is not in the table.
    """
    ratio = _RATIOS.get(unit_symbol)
    if ratio is None:
        message = f"unknown unit {unit_symbol!r}: expected one of {', '.join(BY_SYMBOL)}"
        raise UnknownUnitError(message, value=unit_symbol)
    # Multiplied before it is divided: whole canonical numbers come out exact in inches, feet and metres.
    return canonical * ratio[0] / ratio[1]


def ceil_tolerant(x: float) -> int:
    """The whole number at or next above x; a millionth above a whole number still counts as that number.

    Raises:
        UnitError: x is not finite.
    """
    try:
        return math.ceil(x - TOLERANCE)
    except (OverflowError, ValueError):
        raise _not_finite(x) from None


def floor_tolerant(x: float) -> int:
    """The whole number at or next below x; a millionth below a whole number already counts as it.

    Raises:
        UnitError: x is not finite.
    """
    try:
        return math.floor(x + TOLERANCE)
    except (OverflowError, ValueError):
        raise _not_finite(x) from None


def half_up_scaled(x: float, places: int) -> int:
    """How many units of the last kept decimal x is: 2.34565 to 4 places is 23457. Ties go away from zero.

    A tie is what lies within a millionth of the last decimal of it. Away from zero on both sides, as half
    up is in `decimal`: a credit mirrors the charge that it takes back.

    Raises:
        UnitError: x is not finite.
    """
    scale: int = 10**places
    try:
        size = math.floor(abs(x) * scale + 0.5 + TOLERANCE)
    except (OverflowError, ValueError):
        raise _not_finite(x) from None
    return -size if x < 0 else size


def round_half_up(x: float, places: int) -> float:
    """The number to so many decimals, ties as in `half_up_scaled`: 2.675 to 2 places is 2.68.

    Raises:
        UnitError: x is not finite.
    """
    scale: int = 10**places
    return half_up_scaled(x, places) / scale


def _not_finite(x: float) -> UnitError:
    return UnitError(f"expected a finite number, not {x!r}", value=x)


def _check_text(text: object, dimension: Dimension, field: str) -> None:
    if not isinstance(text, str):
        raise _refusal(text, dimension, field, "it must be text")
    if len(text) > LONGEST_TEXT:
        why = f"it is longer than {LONGEST_TEXT} characters"
        raise _refusal(text[:LONGEST_TEXT] + "…", dimension, field, why)


def _amount(match: re.Match[str], text: str, dimension: Dimension, field: str) -> tuple[Fraction, str]:
    """The number of a match and its tidy spelling: a decimal, a fraction, or a whole number and one."""
    if match["plain"] is not None:
        return Fraction(match["plain"]), _tidy(match["plain"])
    part = match["part"] or match["part_only"]
    above, below = _VULGAR[part] if part in _VULGAR else (int(count) for count in part.split("/"))
    if below == 0:
        raise _refusal(text, dimension, field, "nothing can be divided by zero")
    if match["whole"] is None:
        return Fraction(above, below), f"{above}/{below}"
    if above >= below:
        raise _refusal(text, dimension, field, "the fraction after a whole number must be below one")
    whole = int(match["whole"])
    return whole + Fraction(above, below), f"{whole} {above}/{below}"


def _feet_and_inches(match: re.Match[str], text: str, dimension: Dimension, field: str) -> Quantity:
    if dimension != LENGTH:
        raise _wrong_dimension(UNITS["foot"], text, dimension, field)
    inches, entered = _amount(match, text, dimension, field)
    if inches >= 12:
        raise _refusal(text, dimension, field, "inches after feet must be below 12")
    feet = int(match["feet"])
    exact = feet * UNITS["foot"].factor + inches * UNITS["inch"].factor
    return Quantity(f"{feet} ft {entered} in", float(exact), LENGTH)


def _unit_in_text(written: str, text: str, dimension: Dimension, field: str) -> Unit:
    # Words may end in a full stop, as in "sq. ft.".
    unit = unit_written(re.sub(r"(?<=[A-Za-z])\.(?= |$)", "", written))
    if unit is None:
        hint = _MEANT.get(written.lower(), "")
        message = f"unknown unit {written!r}: expected {_expected(dimension)}{hint}"
        raise UnknownUnitError(message, field=field, value=text)
    if unit.dimension != dimension:
        raise _wrong_dimension(unit, text, dimension, field)
    return unit


def _tidy(plain: str) -> str:
    """A plain decimal without needless zeros in front; those behind say how well it was measured."""
    whole, point, decimals = plain.partition(".")
    return f"{int(whole)}{point}{decimals}"


def _expected(dimension: Dimension) -> str:
    name = dimension.name()
    article = "an" if name[0] in "aeiou" else "a"
    example = f" such as {_EXAMPLES[dimension]}" if dimension in _EXAMPLES else ""
    return f"{article} {name}{example}"


def _refusal(value: object, dimension: Dimension, field: str, why: str) -> UnitError:
    return UnitError(f"expected {_expected(dimension)}, not {value!r}: {why}", field=field, value=value)


def _wrong_dimension(unit: Unit, value: str, dimension: Dimension, field: str) -> WrongDimensionError:
    why = f"{unit.symbol} measures {unit.dimension.name()}"
    return WrongDimensionError(f"expected {_expected(dimension)}, not {value!r}: {why}", field=field, value=value)
