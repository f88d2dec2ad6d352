"""The slow, obvious way to read a formula: dimensions by pint, values by exact fractions over Python's own tree.

Nothing here is shared with the language itself: units come from pint's table under pint's names, kinds are found by
letting pint do the arithmetic on ones, and values are fractions in SI units that are never rounded except by a square
root. Each fraction carries how far a float that went the same way may have strayed from it, so that a test can leave
out the cases where a comparison or a whole number hangs on the last bits.
"""

from __future__ import annotations

import ast
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, TypeAlias, cast

import pint

REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry(non_int_type=Fraction)
# pint holds degrees for plain numbers; a formula keeps angles apart, so here they are a dimension of their own.
REGISTRY.define("turned_degree = [turned_angle]")
PINT_NAMES = {
    "inch": "inch",
    "foot": "foot",
    "yard": "yard",
    "metre": "meter",
    "centimetre": "centimeter",
    "millimetre": "millimeter",
    "thou": "thou",
    "square_inch": "inch ** 2",
    "square_foot": "foot ** 2",
    "square_yard": "yard ** 2",
    "square_metre": "meter ** 2",
    "cubic_inch": "inch ** 3",
    "cubic_foot": "foot ** 3",
    "cubic_yard": "yard ** 3",
    "gallon": "gallon",
    "quart": "quart",
    "fluid_ounce": "fluid_ounce",
    "litre": "liter",
    "millilitre": "milliliter",
    "board_foot": "board_foot",
    "pound": "pound",
    "ounce": "ounce",
    "kilogram": "kilogram",
    "gram": "gram",
    "ton": "short_ton",
    "tonne": "metric_ton",
    "second": "second",
    "minute": "minute",
    "hour": "hour",
    "day": "day",
    "degree": "turned_degree",
    "pound_per_square_foot": "pound / foot ** 2",
    "kilogram_per_square_metre": "kilogram / meter ** 2",
    "each": "dimensionless",
    "share": "dimensionless",
}
EPSILON = Fraction(1, 2**51)  # four times the rounding of one operation


class RefusedError(Exception):
    """The oracle cannot give the expression a meaning."""


class FragileError(Exception):
    """The value hangs on the last bits of a float."""


class UndefinedError(Exception):
    """The expression has a meaning but no value: a division by zero, a root of a negative number."""


@dataclass(frozen=True)
class Given:
    """A measure for the oracle: a number of pint's units, a flag, or one of some options."""

    value: Fraction | bool | str
    unit: str = ""
    options: frozenset[str] = frozenset()


# What the dimension walk finds: one of some unit, a plain 0 that fits any, `bool` for a flag, or the options of a choice.
Unit: TypeAlias = "pint.Quantity[Fraction]"
Found: TypeAlias = "Unit | Fraction | type[bool] | frozenset[str]"
Names = Mapping[str, Given]
PLAIN_ZERO = Fraction(0)


def one(unit: str) -> Unit:
    """One of a unit of pint's."""
    return REGISTRY.Quantity(Fraction(1), unit)


# --- dimensions ---------------------------------------------------------------------------------------------------------


def dimension_of(text: str, names: Names) -> Found:
    """What a formula gives.

    Raises:
        RefusedError: the expression does not fit together.
    """
    return _dimension(ast.parse(text, mode="eval").body, names)


def _dimension(node: ast.expr, names: Names) -> Found:  # noqa: C901, PLR0912  (one case a line, as in the grammar)
    match node:
        case ast.Constant(value=bool()):
            return bool
        case ast.Constant(value=str(option)):
            return frozenset({option})
        case ast.Constant():
            return PLAIN_ZERO if node.value == 0 else one("dimensionless")
        case ast.Name(id=word):
            return _named(word, names)
        case ast.UnaryOp(op=ast.Not()):
            return _flag(_dimension(node.operand, names))
        case ast.UnaryOp():
            return _number(_dimension(node.operand, names))
        case ast.BinOp(op=ast.Pow(), right=ast.Constant(value=int(power))):
            return _reachable(_quantity(_dimension(node.left, names)) ** power)
        case ast.BinOp(op=ast.Mult()):
            return _reachable(_quantity(_dimension(node.left, names)) * _quantity(_dimension(node.right, names)))
        case ast.BinOp(op=ast.Div()):
            return _reachable(_quantity(_dimension(node.left, names)) / _quantity(_dimension(node.right, names)))
        case ast.BinOp():
            return _together([_dimension(node.left, names), _dimension(node.right, names)])
        case ast.BoolOp():
            return [_flag(_dimension(part, names)) for part in node.values].pop()
        case ast.Compare():
            return _compared(node, names)
        case ast.IfExp():
            _flag(_dimension(node.test, names))
            return _arms(_dimension(node.body, names), _dimension(node.orelse, names))
        case ast.Call(func=ast.Name(id=name)):
            return _called(name, [_dimension(part, names) for part in node.args])
    raise AssertionError(node)


def _named(word: str, names: Names) -> Found:
    if word in PINT_NAMES:
        return one(PINT_NAMES[word])
    given = names[word]
    if isinstance(given.value, bool):
        return bool
    return given.options if isinstance(given.value, str) else one(given.unit)


def _flag(found: Found) -> Found:
    if found is not bool:
        raise RefusedError("a condition is yes or no")
    return bool


def _number(found: Found) -> Unit | Fraction:
    if isinstance(found, type | frozenset):
        raise RefusedError("not a number")
    return found


def _quantity(found: Found) -> Unit:
    number = _number(found)
    return one("dimensionless") if isinstance(number, Fraction) else number


def _powers(quantity: Unit) -> list[Fraction]:
    return [Fraction(cast(Fraction, power)) for power in dict(quantity.dimensionality).values()]


def _reachable(quantity: Unit) -> Unit:
    # The language refuses powers above 12 of anything.
    if any(abs(power) > 12 for power in _powers(quantity)):
        raise RefusedError("beyond any measure")
    return quantity


def _together(found: Sequence[Found]) -> Unit | Fraction:
    """The unit of numbers that pint adds up; plain zeros fit anything, which is pint's own rule too."""
    total: Unit | Fraction = PLAIN_ZERO
    for number in map(_number, found):
        try:
            total = total + number
        except pint.DimensionalityError as error:
            raise RefusedError("not of one dimension") from error
        if not isinstance(total, Fraction):
            total = REGISTRY.Quantity(Fraction(1), total.units)
    return total


def _compared(node: ast.Compare, names: Names) -> Found:
    found = [_dimension(part, names) for part in (node.left, *node.comparators)]
    if not any(isinstance(kind, frozenset) for kind in found):
        if bool in found:
            raise RefusedError("flags are not compared")
        _together(found)
        return bool
    parts = [node.left, *node.comparators]
    for place, op in enumerate(node.ops):
        pair = {
            isinstance(part, ast.Constant): kind for part, kind in zip(parts[place:], found[place : place + 2], strict=False)
        }
        if set(pair) != {True, False}:
            raise RefusedError("a choice is compared with a quoted option")
        option, choice = pair[True], pair[False]
        fits = isinstance(option, frozenset) and isinstance(choice, frozenset) and option <= choice
        if not fits or not isinstance(op, ast.Eq | ast.NotEq):
            raise RefusedError("no such option, or no such comparison")
    return bool


def _arms(first: Found, second: Found) -> Found:
    if isinstance(first, frozenset) and isinstance(second, frozenset):
        return first | second
    if isinstance(first, type) and isinstance(second, type):
        return bool
    return _together([first, second])


def _called(name: str, found: Sequence[Found]) -> Found:
    if name in ("min", "max", "clamp", "abs"):
        return _together(found)
    if name == "sqrt":
        root = one("dimensionless") * _quantity(found[0]) ** Fraction(1, 2)
        if any(power.denominator > 1 for power in _powers(root)):
            raise RefusedError("no such root")
        return REGISTRY.Quantity(Fraction(1), root.units)
    _together([one("dimensionless"), found[0]])
    return one("dimensionless")


# --- values -------------------------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Exact:
    """A number in SI units, and how far a float that went the same way may be from it."""

    value: Fraction
    slack: Fraction

    def rounded(self) -> Exact:
        return Exact(self.value, self.slack + abs(self.value) * EPSILON)


def value_of(text: str, names: Names) -> Value:
    """The exact value of a formula, in SI units.

    Raises:
        FragileError: it hangs on the last bits of a float.
        UndefinedError: it divides by zero, or takes the root of a negative number.
    """
    return _value(ast.parse(text, mode="eval").body, names)


Value = Exact | bool | str


def _value(node: ast.expr, names: Names) -> Value:  # noqa: C901  (one case a line, as in the grammar)
    match node:
        case ast.Constant(value=bool() | str() as constant):
            return constant
        case ast.Constant():
            return Exact(Fraction(str(node.value)), Fraction(0)).rounded()
        case ast.Name(id=word):
            return _input(word, names)
        case ast.UnaryOp(op=ast.Not()):
            return not _value(node.operand, names)
        case ast.UnaryOp(op=op, operand=inner):
            found = _exact(inner, names)
            return found if isinstance(op, ast.UAdd) else Exact(-found.value, found.slack)
        case ast.BinOp(op=ast.Pow(), right=ast.Constant(value=int(power))):
            base = _exact(node.left, names)
            result = Exact(Fraction(1), Fraction(0))
            for _ in range(power):
                result = _times(result, base)
            return result
        case ast.BinOp(op=op):
            return _arithmetic(op, _exact(node.left, names), _exact(node.right, names))
        case ast.BoolOp(op=op):
            decides = isinstance(op, ast.Or)
            return decides if any(_value(part, names) is decides for part in node.values) else not decides
        case ast.Compare():
            return _compare(node, names)
        case ast.IfExp():
            return _value(node.body if _value(node.test, names) else node.orelse, names)
        case ast.Call(func=ast.Name(id=name)):
            return _call(name, [_exact(part, names) for part in node.args])
    raise AssertionError(node)


def _exact(node: ast.expr, names: Names) -> Exact:
    found = _value(node, names)
    assert isinstance(found, Exact)
    return found


def _input(word: str, names: Names) -> Value:
    given = names.get(word, Given(Fraction(1), PINT_NAMES.get(word, "")))
    if isinstance(given.value, bool | str):
        return given.value
    quantity = REGISTRY.Quantity(given.value, given.unit).to_base_units()
    return Exact(Fraction(quantity.magnitude), Fraction(0)).rounded()


def _times(a: Exact, b: Exact) -> Exact:
    return Exact(a.value * b.value, abs(a.value) * b.slack + abs(b.value) * a.slack + a.slack * b.slack).rounded()


def _arithmetic(op: ast.operator, a: Exact, b: Exact) -> Exact:
    if isinstance(op, ast.Mult):
        return _times(a, b)
    if isinstance(op, ast.Add | ast.Sub):
        sign = 1 if isinstance(op, ast.Add) else -1
        return Exact(a.value + sign * b.value, a.slack + b.slack).rounded()
    if b.value == 0 and b.slack == 0:
        raise UndefinedError("division by zero")
    if abs(b.value) <= 2 * b.slack:
        raise FragileError("a divisor is 0 or nearly")
    quotient = a.value / b.value
    return Exact(quotient, 2 * (a.slack + abs(quotient) * b.slack) / abs(b.value)).rounded()


def _compare(node: ast.Compare, names: Names) -> bool:
    left = _value(node.left, names)
    for op, part in zip(node.ops, node.comparators, strict=True):
        right = _value(part, names)
        if not _holds(op, left, right):
            return False
        left = right
    return True


def _holds(op: ast.cmpop, a: Value, b: Value) -> bool:
    if not isinstance(a, Exact) or not isinstance(b, Exact):
        return (a == b) is isinstance(op, ast.Eq)
    apart, allowed = abs(a.value - b.value), Fraction(1, 10**9) * max(abs(a.value), abs(b.value))
    if abs(apart - allowed) <= 2 * (a.slack + b.slack) and (a.slack or b.slack):
        raise FragileError("a comparison hangs on the last bits")
    equal, below = apart <= allowed, a.value < b.value
    return {
        ast.Lt: below and not equal,
        ast.LtE: below or equal,
        ast.Gt: not below and not equal,
        ast.GtE: not below or equal,
        ast.Eq: equal,
        ast.NotEq: not equal,
    }[type(op)]


def _call(name: str, parts: Sequence[Exact]) -> Exact:
    first = parts[0]
    if name == "abs":
        return Exact(abs(first.value), first.slack)
    if name in ("min", "max"):
        return Exact((min if name == "min" else max)(part.value for part in parts), max(part.slack for part in parts))
    if name == "clamp":
        value = min(max(first.value, parts[1].value), parts[2].value)
        return Exact(value, max(part.slack for part in parts))
    if name == "sqrt":
        return _root(first)
    return _whole(name, first)


def _root(a: Exact) -> Exact:
    if a.value < 0:
        raise UndefinedError("the root of a negative number") if -a.value > 2 * a.slack else FragileError("a root of nearly 0")
    if a.value <= 2 * a.slack and a.slack:
        raise FragileError("a root of nearly 0")
    # A root to 40 more digits than the number has, by whole numbers.
    scale = 10**60
    root = Fraction(math.isqrt(int(a.value * scale * scale)), scale)
    return Exact(root, a.slack / root if root else Fraction(0)).rounded()


def exact_whole(name: str, value: Fraction) -> int:
    """Ceil, floor or round half away from zero of a fraction, where a millionth more or less does not count."""
    millionth = Fraction(1, 10**6)
    if name == "ceil":
        return math.ceil(value - millionth)
    if name == "floor":
        return math.floor(value + millionth)
    size = math.floor(abs(value) + Fraction(1, 2) + millionth)
    return -size if value < 0 else size


def _whole(name: str, a: Exact) -> Exact:
    found = {exact_whole(name, value) for value in (a.value - 2 * a.slack, a.value, a.value + 2 * a.slack)}
    if len(found) > 1:
        raise FragileError("a whole number hangs on the last bits")
    return Exact(Fraction(found.pop()), Fraction(0))
