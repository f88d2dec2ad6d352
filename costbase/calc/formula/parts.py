"""What is a formula made of? The tree of parts that every later step reads, and the words of the language."""

from dataclasses import dataclass, field

from costbase.calc.formula.faults import Span
from costbase.calc.units import UNITS

# Name of each function with the fewest and most values it takes.
FUNCTIONS: dict[str, tuple[int, int]] = {
    "min": (2, 20),
    "max": (2, 20),
    "ceil": (1, 1),
    "floor": (1, 1),
    "round": (1, 1),
    "abs": (1, 1),
    "sqrt": (1, 1),
    "clamp": (3, 3),
}
WORDS = frozenset({"and", "or", "not", "if", "else", "True", "False"})
# A measure may not be called by one of these.
RESERVED = frozenset(UNITS) | frozenset(FUNCTIONS) | WORDS


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a formula; two parts are equal when they say the same, wherever they stand.

    Attributes:
        op: "number", "flag", "option", "name", "unit", "plus", "negate", "+", "-", "*", "/", "**", "compare", "and", "or",
            "not", "if" (condition, then, otherwise), a function's name, or "fault" where the text could not be understood.
        parts: the parts it works on, in the order in which they are worked out; for "if" as listed.
        word: the name, the unit's slug, the option, or the comparisons of a chain with spaces between (``< <=``).
        number: the literal, the power of "**", or 1.0 and 0.0 for True and False.
        span: where it stands in the text.
    """

    op: str
    parts: tuple["Part", ...] = ()
    word: str = ""
    number: float = 0.0
    span: Span = field(default=(0, 0), compare=False)

    def text(self, formula: str) -> str:
        """The part as written in the formula that it came from, on one line."""
        return " ".join(formula[self.span[0] : self.span[1]].split())


def brief(part: Part, formula: str) -> str:
    """The part as written, cut to 40 characters for a message."""
    text = part.text(formula)
    return text if len(text) <= 40 else text[:37] + "..."
