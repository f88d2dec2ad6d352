"""Between which values can a part of a formula lie? Interval arithmetic on floats.

Bounds are worked out with the same operation as the value itself, and rounding to nearest keeps order, so a value never
lies outside its bounds. Each part is taken as free of the others: ``x - x`` of 0 to 5 is -5 to 5.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass

from costbase.calc.units import ceil_tolerant, floor_tolerant, round_half_up


@dataclass(frozen=True, slots=True)
class Bounds:
    """From `low` to `high`, both included; `nonzero` where 0 is known to be left out."""

    low: float = -math.inf
    high: float = math.inf
    nonzero: bool = False

    @property
    def can_be_zero(self) -> bool:
        """Whether 0 is among the values."""
        return self.low <= 0 <= self.high and not self.nonzero

    def meet(self, other: "Bounds") -> "Bounds":
        """What both allow; these bounds unchanged where they have nothing in common (that arm is never taken)."""
        low, high = max(self.low, other.low), min(self.high, other.high)
        return Bounds(low, high, self.nonzero or other.nonzero) if low <= high else self


def exactly(value: float) -> Bounds:
    """The bounds of a constant."""
    return Bounds(value, value, value != 0)


def negate(a: Bounds) -> Bounds:
    """Bounds of ``-a``."""
    return Bounds(-a.high, -a.low, a.nonzero)


def add(a: Bounds, b: Bounds) -> Bounds:
    """Bounds of ``a + b``."""
    low, high = a.low + b.low, a.high + b.high
    same_side = (a.low >= 0 and b.low >= 0) or (a.high <= 0 and b.high <= 0)
    nonzero = same_side and not (a.can_be_zero and b.can_be_zero)
    return Bounds(-math.inf if math.isnan(low) else low, math.inf if math.isnan(high) else high, nonzero)


def subtract(a: Bounds, b: Bounds) -> Bounds:
    """Bounds of ``a - b``."""
    return add(a, negate(b))


def multiply(a: Bounds, b: Bounds) -> Bounds:
    """Bounds of ``a * b``."""
    corners = [0.0 if 0 in (x, y) else x * y for x in (a.low, a.high) for y in (b.low, b.high)]
    return Bounds(min(corners), max(corners), not (a.can_be_zero or b.can_be_zero))


def divide(a: Bounds, b: Bounds) -> Bounds:
    """Bounds of ``a / b`` where b is not 0."""
    nonzero = not a.can_be_zero
    if b.low < 0 < b.high or b.low == b.high == 0:
        return Bounds(nonzero=nonzero)
    side = 1.0 if b.high > 0 else -1.0
    corners = [_quotient(x, y, side) for x in (a.low, a.high) for y in (b.low, b.high)]
    return Bounds(min(corners), max(corners), nonzero)


def _quotient(x: float, y: float, side: float) -> float:
    if y == 0:
        return 0.0 if x == 0 else math.copysign(math.inf, x * side)
    # The limit of inf / inf is anything; the other corners span it together with 0.
    return 0.0 if math.isinf(y) else x / y


def power(a: Bounds, exponent: int) -> Bounds:
    """Bounds of ``a ** exponent`` for a whole exponent from 1."""
    ends = (_raised(a.low, exponent), _raised(a.high, exponent))
    low = 0.0 if exponent % 2 == 0 and a.low < 0 < a.high else min(ends)
    return Bounds(low, max(ends), not a.can_be_zero)


def _raised(x: float, exponent: int) -> float:
    try:
        return x**exponent
    except OverflowError:
        return math.inf if x > 0 or exponent % 2 == 0 else -math.inf


def absolute(a: Bounds) -> Bounds:
    """Bounds of ``abs(a)``."""
    low = 0.0 if a.low < 0 < a.high else min(abs(a.low), abs(a.high))
    return Bounds(low, max(abs(a.low), abs(a.high)), not a.can_be_zero)


def square_root(a: Bounds) -> Bounds:
    """Bounds of ``sqrt(a)`` where a is not negative."""
    return Bounds(math.sqrt(max(a.low, 0.0)), math.sqrt(max(a.high, 0.0)), not a.can_be_zero)


def _stepwise(step: Callable[[float], float]) -> Callable[[Bounds], Bounds]:
    def bounds(a: Bounds) -> Bounds:
        low, high = (x if math.isinf(x) else float(step(x)) for x in (a.low, a.high))
        return Bounds(low, high)

    return bounds


ceiling = _stepwise(ceil_tolerant)
floor = _stepwise(floor_tolerant)
rounded = _stepwise(lambda x: round_half_up(x, 0))


def least(*several: Bounds) -> Bounds:
    """Bounds of ``min(...)``."""
    nonzero = not any(bounds.can_be_zero for bounds in several)
    return Bounds(min(bounds.low for bounds in several), min(bounds.high for bounds in several), nonzero)


def most(*several: Bounds) -> Bounds:
    """Bounds of ``max(...)``."""
    nonzero = not any(bounds.can_be_zero for bounds in several)
    return Bounds(max(bounds.low for bounds in several), max(bounds.high for bounds in several), nonzero)


def clamped(a: Bounds, low: Bounds, high: Bounds) -> Bounds:
    """Bounds of ``clamp(a, low, high)``, which is ``min(max(a, low), high)``."""
    return least(most(a, low), high)


def either(a: Bounds, b: Bounds) -> Bounds:
    """Bounds of a value that is one of the two."""
    nonzero = not (a.can_be_zero or b.can_be_zero)
    return Bounds(min(a.low, b.low), max(a.high, b.high), nonzero)
