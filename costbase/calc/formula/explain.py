"""How did a formula come to its value? The steps, each with its value in the unit in which such things are entered."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from costbase.calc.formula.checker import Known
from costbase.calc.formula.kinds import Kind, Number
from costbase.calc.formula.parts import Part
from costbase.calc.formula.walk import Value, Values, Walk
from costbase.calc.units import (
    ANGLE,
    AREA,
    AREAL_MASS,
    BY_SYMBOL,
    LENGTH,
    MASS,
    NONE,
    TIME,
    VOLUME,
    Dimension,
)

_ENTRY_SYMBOL = {
    LENGTH: "ft",
    AREA: "ft2",
    VOLUME: "gal",
    MASS: "lb",
    TIME: "h",
    ANGLE: "deg",
    AREAL_MASS: "lb/ft2",
}
# Written out in the formula itself, so a step would only say the same again.
_PLAIN = frozenset({"number", "unit", "flag", "option"})


@dataclass(frozen=True, slots=True)
class Step:
    """One part of a formula with its value.

    Attributes:
        text: the part as written.
        value: its value in `unit`; yes or no; or an option.
        unit: the entry unit of its dimension, such as ``ft``, ``ft2``, ``gal``, ``h``, ``h/ft``; "each" or "share" for a
            number without dimension; "" for yes or no and for options.
        note: where a name's value comes from, or which way a condition went.
    """

    text: str
    value: Value
    unit: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Explained:
    """The value of a formula, canonical as a call gives it, and the steps to it in the order of working out."""

    value: Value
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class EntryUnit:
    """A unit for showing: its symbol and the canonical units in one of it."""

    symbol: str
    factor: Fraction


@lru_cache(maxsize=256)
def entry_unit(dimension: Dimension) -> EntryUnit:
    """The unit in which a dimension is shown: feet, square feet, gallons, pounds, hours, degrees, or composed of these."""
    symbol = _ENTRY_SYMBOL.get(dimension)
    if symbol is not None:
        return EntryUnit(symbol, BY_SYMBOL[symbol].factor)
    base = ((dimension.mass, "lb"), (dimension.time, "h"), (dimension.length, "ft"), (dimension.angle, "deg"))
    above = [unit + str(power) * (power > 1) for power, unit in base if power > 0]
    below = [unit + str(-power) * (power < -1) for power, unit in base if power < 0]
    factor = math.prod((BY_SYMBOL[unit].factor ** power for power, unit in base), start=Fraction(1))
    return EntryUnit("/".join(["*".join(above) or "1", *below]), factor)


def shown(value: Value, kind: Kind | None) -> tuple[Value, str]:
    """A canonical value in its entry unit, with the unit's symbol."""
    if not isinstance(kind, Number):
        return value, ""
    number = float(value)
    if kind.dimension == NONE:
        is_share = not kind.whole and kind.low >= 0 and kind.high <= 1
        return number, "share" if is_share else "each"
    unit = entry_unit(kind.dimension)
    return number * unit.factor.denominator / unit.factor.numerator, unit.symbol


def explain(text: str, tree: Part, known: Mapping[int, Known], values: Values, sources: Mapping[str, str]) -> Explained:
    """The value with its steps; a text that stands twice in a formula is one step.

    Raises:
        FormulaError: as a call of the formula does.
    """
    steps: dict[str, Step] = {}

    def watch(part: Part, value: Value, note: str) -> None:
        written = part.text(text)
        if written not in steps and (part.op not in _PLAIN or part is tree):
            amount, unit = shown(value, known[id(part)].kind)
            steps[written] = Step(written, amount, unit, sources.get(part.word, note) if part.op == "name" else note)

    value = Walk(text, known, values, watch).whole(tree)
    return Explained(value, tuple(steps.values()))
