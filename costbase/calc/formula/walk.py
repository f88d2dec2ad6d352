"""How is a formula worked out, part by part, and where does it fail?

The walk does the same operations in the same order as the compiled code, so both give the same bits. It makes the steps
of an explanation, and it tells what went wrong, and where, after the compiled code has failed.
"""

import math
import operator
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import cast

from costbase.calc.formula.checker import Known
from costbase.calc.formula.faults import (
    BAD_VALUE,
    DIVISION_BY_ZERO,
    NEGATIVE_ROOT,
    NO_VALUE,
    NOT_FINITE,
    FormulaError,
)
from costbase.calc.formula.kinds import Flag, Kind, Number, kind_words
from costbase.calc.formula.parts import Part
from costbase.calc.units import UNITS, UnitError, ceil_tolerant, floor_tolerant, round_half_up

Value = float | bool | str
Values = Mapping[str, Value]

OPERATIONS: dict[str, Callable[..., float]] = {
    "plus": operator.pos,
    "negate": operator.neg,
    "+": operator.add,
    "-": operator.sub,
    "*": operator.mul,
    "/": operator.truediv,
    "**": operator.pow,
    "min": min,
    "max": max,
    "abs": abs,
    "sqrt": math.sqrt,
    "clamp": lambda x, low, high: min(max(x, low), high),
    # Whole numbers go on as floats: as Python's integers a chain of powers would grow without bound.
    "ceil": lambda x: ceil_tolerant(x) + 0.0,
    "floor": lambda x: floor_tolerant(x) + 0.0,
    "round": lambda x: round_half_up(x, 0),
}
# Equal within a relative 1e-9, which is what isclose means by default.
_COMPARISONS: dict[str, Callable[[float, float], bool]] = {
    "<": lambda a, b: a < b and not math.isclose(a, b),
    "<=": lambda a, b: a <= b or math.isclose(a, b),
    ">": lambda a, b: a > b and not math.isclose(a, b),
    ">=": lambda a, b: a >= b or math.isclose(a, b),
    "==": math.isclose,
    "!=": lambda a, b: not math.isclose(a, b),
}
_FLAGS = {True: True, False: False}
Watch = Callable[[Part, Value, str], None]


@dataclass(slots=True)
class Walk:
    """One walk over one formula with one set of values.

    Attributes:
        text: the formula.
        known: kind of each part, by identity.
        values: the measures.
        watch: told each part with its value and a note, in the order in which they are worked out.
        loaded: the measures that the formula reads, as it reads them.
    """

    text: str
    known: Mapping[int, Known]
    values: Values
    watch: Watch | None = None
    loaded: dict[str, Value] = field(default_factory=dict)

    def whole(self, tree: Part) -> Value:
        """The value of the formula, canonical.

        Raises:
            FormulaError: with the place and the code ``division_by_zero``, ``not_finite``, ``negative_root``,
                ``no_value`` or ``bad_value``.
        """
        self._load(tree)
        value = self.value(tree)
        if isinstance(value, float) and not math.isfinite(value):
            raise self._error(tree, "the result is not a finite number", NOT_FINITE, value)
        return value

    def value(self, part: Part) -> Value:
        """The value of one part, after those of its parts that are needed for it."""
        work_out = _SPECIAL.get(part.op, _operation)
        value, note = work_out(self, part)
        if self.watch is not None:
            self.watch(part, value, note)
        return value

    def _load(self, part: Part) -> None:
        """Reads every measure of the formula first, also those of arms that are not taken: a missing one is always told."""
        if part.op == "name" and part.word not in self.loaded:
            self.loaded[part.word] = self._loaded(part)
        for inner in part.parts:
            self._load(inner)

    def _loaded(self, part: Part) -> Value:
        kind = self.known[id(part)].kind
        try:
            value = self.values[part.word]
        except KeyError as error:
            raise self._error(part, f"there is no value for {part.word}", NO_VALUE, None) from error
        try:
            return _as_kind(value, kind)
        except (TypeError, LookupError, OverflowError) as error:
            wanted = kind_words(kind) if kind is not None else "a value"
            raise self._error(part, f"{part.word} must be {wanted}, not {value!r:.40}", BAD_VALUE, value) from error

    def _error(self, part: Part, reason: str, code: str, value: object) -> FormulaError:
        return FormulaError(reason, part.span, code=code, value=value)

    def operate(self, part: Part, numbers: list[float]) -> float:
        """The operation on values that are all worked out."""
        try:
            return OPERATIONS[part.op](*numbers)
        except ZeroDivisionError as error:
            divisor = part.parts[1]
            reason = f"{divisor.text(self.text)} is 0, and nothing can be divided by zero"
            raise self._error(divisor, reason, DIVISION_BY_ZERO, numbers[1]) from error
        except ValueError as error:
            inner = part.parts[0]
            reason = f"{inner.text(self.text)} is below zero, and there is no square root of that"
            raise self._error(inner, reason, NEGATIVE_ROOT, numbers[0]) from error
        except (OverflowError, UnitError) as error:
            raise self._error(part, "this is not a finite number", NOT_FINITE, numbers) from error


def _as_kind(value: Value, kind: Kind | None) -> Value:
    """A value as compiled code reads it: numbers as floats, 1 and 0 as yes and no.

    Raises:
        TypeError, LookupError, OverflowError: it is not of the kind.
    """
    if isinstance(kind, Number):
        return cast(float, value) + 0.0
    if isinstance(kind, Flag):
        return _FLAGS[cast(bool, value)]
    options = kind.options if kind is not None else frozenset()
    return {option: option for option in options}[cast(str, value)]


def _operation(walk: Walk, part: Part) -> tuple[Value, str]:
    numbers = [float(walk.value(inner)) for inner in part.parts]
    if part.op == "**":
        numbers.append(part.number)
    return walk.operate(part, numbers), ""


def _compare(walk: Walk, part: Part) -> tuple[Value, str]:
    left = walk.value(part.parts[0])
    for op, inner in zip(part.word.split(), part.parts[1:], strict=True):
        right = walk.value(inner)
        if isinstance(left, str) or isinstance(right, str):
            holds = (left == right) is (op == "==")
        else:
            holds = _COMPARISONS[op](left, right)
        if not holds:
            return False, ""
        left = right
    return True, ""


def _logic(walk: Walk, part: Part) -> tuple[Value, str]:
    decides = part.op == "or"
    for inner in part.parts:
        if walk.value(inner) is decides:
            return decides, f"{inner.text(walk.text)} is {yes_or_no(decides)}"
    return not decides, ""


def _conditional(walk: Walk, part: Part) -> tuple[Value, str]:
    condition, then, otherwise = part.parts
    holds = walk.value(condition)
    value = walk.value(then if holds else otherwise)
    return value, f"{condition.text(walk.text)} is {yes_or_no(bool(holds))}"


def yes_or_no(flag: bool) -> str:
    """The flag in words."""
    return "yes" if flag else "no"


_SPECIAL: dict[str, Callable[[Walk, Part], tuple[Value, str]]] = {
    "number": lambda walk, part: (part.number, ""),
    "flag": lambda walk, part: (part.number != 0, ""),
    "option": lambda walk, part: (part.word, ""),
    "unit": lambda walk, part: (float(UNITS[part.word].factor), ""),
    "name": lambda walk, part: (walk.loaded[part.word], ""),
    "not": lambda walk, part: (not walk.value(part.parts[0]), ""),
    "compare": _compare,
    "and": _logic,
    "or": _logic,
    "if": _conditional,
}
