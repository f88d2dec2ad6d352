"""How does a formula tell what is wrong with it, and where?

A span is a pair (start, end) of character offsets in the text, from 0, end excluded; messages begin with it: ``12-25:
cannot add an area (roof_area) and a length (gutter_length)``.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from costbase.calc.errors import CalculationError, CalculationFaults

Span = tuple[int, int]

DIVISION_BY_ZERO = "division_by_zero"
NOT_FINITE = "not_finite"
NEGATIVE_ROOT = "negative_root"
NO_VALUE = "no_value"
BAD_VALUE = "bad_value"


class FormulaError(CalculationError):
    """One thing that is wrong with a formula, or that went wrong while it was worked out.

    Attributes:
        code: ``formula_error`` for a text that is no formula; ``division_by_zero``, ``not_finite``, ``negative_root``,
            ``no_value`` or ``bad_value`` for one that could not be worked out.
        reason: the message without the span.
        span: where it is.
        suggestion: what to write there instead, "" where nothing is near.
    """

    code = "formula_error"

    def __init__(self, reason: str, span: Span, *, code: str = "", value: object = None, suggestion: str = "") -> None:
        super().__init__(f"{span[0]}-{span[1]}: {reason}", value=value, code=code)
        self.reason = reason
        self.span = span
        self.suggestion = suggestion


class FormulaFaults(CalculationFaults):
    """Everything that is wrong with one formula, in the order of the text."""

    code = "formula_faults"
    faults: tuple[FormulaError, ...]

    def __init__(self, faults: Iterable[FormulaError]) -> None:
        ordered = sorted(faults, key=lambda fault: fault.span)
        super().__init__(ordered)


@dataclass(frozen=True, slots=True)
class Warning_:  # noqa: N801  (`Warning` is a builtin)
    """Something that may be right and deserves a look: `code` is ``division_can_be_zero``, ``root_can_be_negative`` or
    ``can_leave_range``.
    """

    code: str
    message: str
    span: Span
