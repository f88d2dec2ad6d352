"""How much less work is the next coach of the same kind?

Wright's law of the unit: on every doubling of the units done, the hours of a unit come down to the same share of what they
were.
"""

import math

from costbase.calc.errors import CalculationError

LEAST_RATE = 0.6


class LearningError(CalculationError):
    """A learning rate, or a number of a unit, that cannot be."""

    code = "bad_learning"


def learned(unit: int, rate: float) -> float:
    """The hours of unit number `unit` over those of the first: unit ** log2(rate), 1 for the first.

    Args:
        unit: which one it is, from 1.
        rate: what hours come down to on each doubling, 0.6 to 1; 1 for no learning.

    Raises:
        LearningError: a number outside these.

    Source: T. P. Wright, Factors affecting the cost of airplanes, 1936 (the law; from memory). The range told of construction
    is 0.60 to 0.95; 0.95 is assumed here (common practice, none published for this trade).
    """
    if not LEAST_RATE <= rate <= 1.0:
        raise LearningError(f"expected a learning rate from {LEAST_RATE:g} to 1", field="rule/unit_learning", value=rate)
    if unit < 1:
        raise LearningError("expected the number of a unit, from 1", field="unit", value=unit)
    return math.pow(unit, math.log2(rate))
