"""What can a measure or a formula be: a number with a dimension and a range, yes or no, or one of a few options?"""

import math
from dataclasses import dataclass

from costbase.calc.errors import CalculationError
from costbase.calc.units import NONE, Dimension


class BadKindError(CalculationError):
    """A kind that nothing can have, such as a range from 3 to 2."""

    code = "bad_kind"


@dataclass(frozen=True, slots=True)
class Number:
    """A number.

    Attributes:
        dimension: what it measures; `NONE` for counts and shares.
        whole: it is a whole number for certain, as a count is; only a number without dimension can be.
        low: the least it can be, canonical units, -inf when nothing is known.
        high: the most it can be, canonical units, inf when nothing is known.

    Raises:
        BadKindError: the range is empty, or a whole number has a dimension.
    """

    dimension: Dimension = NONE
    whole: bool = False
    low: float = -math.inf
    high: float = math.inf

    def __post_init__(self) -> None:
        if not self.low <= self.high:
            raise BadKindError(f"expected a range from low to high, not {self.low} to {self.high}", value=self.low)
        if self.whole and self.dimension != NONE:
            raise BadKindError(f"a {self.dimension.name()} cannot be a whole number", value=self.dimension)


@dataclass(frozen=True, slots=True)
class Flag:
    """Yes or no."""


@dataclass(frozen=True, slots=True)
class Choice:
    """One of a few options, written in quotes in a formula."""

    options: frozenset[str]


Kind = Number | Flag | Choice


def a_dimension(dimension: Dimension) -> str:
    """The dimension with its article, as messages use it: "an area", "a length", "a plain number"."""
    name = dimension.name()
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"


def kind_words(kind: Kind) -> str:
    """The kind as messages name it: "an area", "a whole number", "yes or no", "one of framed, laminated"."""
    if isinstance(kind, Flag):
        return "yes or no"
    if isinstance(kind, Choice):
        return "one of " + ", ".join(sorted(kind.options))
    return "a whole number" if kind.whole else a_dimension(kind.dimension)
