"""What is known about numbers inside an arm of ``A if condition else B``, because the condition held or did not?

``x / y if y > 0 else 0`` divides safely: in its first arm y is known to be above 0. Facts are kept by part, so that the
guard may be any expression that is written again, such as ``a - b``.
"""

import math
from collections.abc import Callable

from costbase.calc.formula.parts import Part
from costbase.calc.formula.ranges import Bounds

Facts = dict[Part, Bounds]
_OPPOSITE = {"<": ">=", "<=": ">", ">": "<=", ">=": "<", "==": "!=", "!=": "=="}
_MIRRORED = {"<": ">", "<=": ">=", ">": "<", ">=": "<=", "==": "==", "!=": "!="}
# Comparisons let equality in within 1e-9 of the larger side, so a bound taken from one gives way by a little more.
_SLACK = 2e-9


def facts_when(condition: Part, holds: bool, bounds_of: Callable[[Part], Bounds | None]) -> Facts:
    """The bounds that follow from a condition that holds, or does not.

    Args:
        condition: the condition as parsed.
        holds: whether it is taken to be true.
        bounds_of: the bounds of a part without the condition, None where it is no number.
    """
    if condition.op == "not":
        return facts_when(condition.parts[0], not holds, bounds_of)
    if condition.op == ("and" if holds else "or"):
        return merged({}, *(facts_when(part, holds, bounds_of) for part in condition.parts))
    if condition.op == "compare":
        return _from_comparison(condition, holds, bounds_of)
    return {}


def merged(facts: Facts, *others: Facts) -> Facts:
    """All facts together, each part's bounds narrowed by all of them."""
    result = dict(facts)
    for other in others:
        for part, bounds in other.items():
            result[part] = result[part].meet(bounds) if part in result else bounds
    return result


def _from_comparison(condition: Part, holds: bool, bounds_of: Callable[[Part], Bounds | None]) -> Facts:
    ops = condition.word.split()
    if not holds and len(ops) > 1:
        return {}  # One link of the chain failed; which one is not known.
    facts: Facts = {}
    for left, op, right in zip(condition.parts, ops, condition.parts[1:], strict=False):
        a, b = bounds_of(left), bounds_of(right)
        if a is not None and b is not None:
            true_op = op if holds else _OPPOSITE[op]
            facts = merged(facts, {left: _limited(true_op, b)}, {right: _limited(_MIRRORED[true_op], a)})
    return facts


def _limited(op: str, other: Bounds) -> Bounds:
    """The bounds of x from ``x op y`` where y lies in `other`."""
    low = other.low - abs(other.low) * _SLACK if math.isfinite(other.low) else other.low
    high = other.high + abs(other.high) * _SLACK if math.isfinite(other.high) else other.high
    if op == ">":
        return Bounds(low, nonzero=other.low >= 0)
    if op == ">=":
        return Bounds(low, nonzero=other.low >= 0 and other.nonzero)
    if op == "<":
        return Bounds(high=high, nonzero=other.high <= 0)
    if op == "<=":
        return Bounds(high=high, nonzero=other.high <= 0 and other.nonzero)
    if op == "==":
        return Bounds(low, high, other.nonzero)
    return Bounds(nonzero=other.low == other.high == 0)
