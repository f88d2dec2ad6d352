"""What does the walk that judges a formula carry with it: names, faults, doubts, and what is known of each part so far?"""

import difflib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from costbase.calc.formula.faults import FormulaError, Warning_
from costbase.calc.formula.guards import Facts, facts_when, merged
from costbase.calc.formula.kinds import Choice, Flag, Kind, Number, a_dimension, kind_words
from costbase.calc.formula.parts import FUNCTIONS, Part, brief
from costbase.calc.formula.ranges import Bounds
from costbase.calc.units import AREA, AREAL_MASS, LENGTH, MASS, NONE, TIME, UNITS, VOLUME, Dimension

SUGGESTED_UNIT = {
    LENGTH: "foot",
    AREA: "square_foot",
    VOLUME: "gallon",
    MASS: "pound",
    TIME: "hour",
    AREAL_MASS: "pound_per_square_foot",
}
_UNKNOWN_NAMES_ANSWERED = 10


@dataclass(frozen=True, slots=True)
class Known:
    """What is known about one part: its kind, None after a fault; `nonzero`; `any_dimension` for a bare 0."""

    kind: Kind | None
    nonzero: bool = False
    any_dimension: bool = False

    @property
    def bounds(self) -> Bounds:
        """The range of a number."""
        return Bounds(self.kind.low, self.kind.high, self.nonzero) if isinstance(self.kind, Number) else Bounds()


FAULTY = Known(None)


def known_number(dimension: Dimension, whole: bool, bounds: Bounds, *, any_dimension: bool = False) -> Known:
    """What is known about a number within bounds; only one without dimension can be whole."""
    return Known(Number(dimension, whole and dimension == NONE, bounds.low, bounds.high), bounds.nonzero, any_dimension)


def unit_for(dimension: Dimension) -> str:
    """The unit that a message suggests for a dimension, in the words of a formula, such as ``foot`` or ``hour / foot``."""
    if dimension in SUGGESTED_UNIT:
        return SUGGESTED_UNIT[dimension]
    base = (
        (dimension.mass, "pound"),
        (dimension.time, "hour"),
        (dimension.length, "foot"),
        (dimension.angle, "degree"),
    )
    above = [unit + f"**{power}" * (power > 1) for power, unit in base if power > 0]
    below = [unit + f"**{-power}" * (power < -1) for power, unit in base if power < 0]
    return " / ".join([" * ".join(above) or "1", *below])


@dataclass(slots=True)
class Checker:
    """One walk over one tree, from the leaves up."""

    text: str
    names: Mapping[str, Kind]
    judges: Mapping[str, "Judge"]
    errors: list[FormulaError] = field(default_factory=list)
    warnings: list[Warning_] = field(default_factory=list)
    known: dict[int, Known] = field(default_factory=dict)
    inputs: dict[str, None] = field(default_factory=dict)
    unknown: dict[str, str] = field(default_factory=dict)
    facts: Facts = field(default_factory=dict)

    def judge(self, part: Part) -> Known:
        """Kind and range of a part, narrowed by the conditions under which it is worked out."""
        known = self.judges[part.op](self, part)
        if self.facts and isinstance(known.kind, Number) and part in self.facts:
            bounds = known.bounds.meet(self.facts[part])
            known = known_number(known.kind.dimension, known.kind.whole, bounds, any_dimension=known.any_dimension)
        self.known[id(part)] = known
        return known

    def assume(self, condition: Part, *, holds: bool) -> None:
        """Adds what follows from a judged condition that holds, or does not; the caller puts `facts` back."""
        self.facts = merged(self.facts, facts_when(condition, holds, self.bounds_of))

    def bounds_of(self, part: Part) -> Bounds | None:
        """The range of a part that has been judged; None where it is no number."""
        known = self.known.get(id(part), FAULTY)
        return known.bounds if isinstance(known.kind, Number) else None

    def fault(self, part: Part, reason: str, suggestion: str = "") -> Known:
        """Notes an error, with what to write instead; what it leads to upwards is not an error of its own."""
        self.errors.append(FormulaError(reason, part.span, suggestion=suggestion))
        return FAULTY

    def warn(self, part: Part, code: str, reason: str) -> None:
        """Notes a warning with its span."""
        self.warnings.append(Warning_(code, f"{part.span[0]}-{part.span[1]}: {reason}", part.span))

    def brief(self, part: Part) -> str:
        """The part as written, for a message."""
        return brief(part, self.text)

    def a_number(self, part: Part) -> Number | None:
        """The kind of a part that must be a number; None, with the error noted, where it is none."""
        return self.as_number(part, self.judge(part))

    def as_number(self, part: Part, known: Known) -> Number | None:
        """The kind of a judged part that must be a number."""
        kind, written = known.kind, self.brief(part)
        if isinstance(kind, Flag):
            instead = f"1 if {written} else 0"
            self.fault(part, f"{written} is yes or no, not a number: write {instead}", instead)
        elif isinstance(kind, Choice):
            instead = f"{written} == '{min(kind.options, default='')}'"
            self.fault(part, f"{written} is {kind_words(kind)}, not a number: compare it, such as {instead}", instead)
        return kind if isinstance(kind, Number) else None

    def condition(self, part: Part, known: Known) -> None:
        """Notes an error for a judged part that is not yes or no."""
        if isinstance(known.kind, Number):
            hint = "True or False" if _is_bare(part) else f"{self.brief(part)} > 0"
            self.fault(part, f"{self.brief(part)} is a number where yes or no is wanted: write {hint}", hint)
        elif isinstance(known.kind, Choice):
            self.fault(part, f"{self.brief(part)} is a choice where yes or no is wanted: compare it with == or !=")

    def one_dimension(self, parts: Sequence[Part], verb: str, link: str = "and") -> Dimension | None:
        """The dimension that judged parts share; a bare 0 has any. None, with the errors noted, where they differ."""
        reference: Part | None = None
        agreed = True
        for part in parts:
            known = self.known[id(part)]
            if not isinstance(known.kind, Number) or known.any_dimension:
                continue
            if reference is None:
                reference = part
            elif known.kind.dimension != self._dimension(reference):
                agreed = False
                self._mismatch(reference, part, verb, link)
        if not agreed:
            return None
        return NONE if reference is None else self._dimension(reference)

    def _dimension(self, part: Part) -> Dimension:
        kind = self.known[id(part)].kind
        return kind.dimension if isinstance(kind, Number) else NONE

    def _mismatch(self, first: Part, second: Part, verb: str, link: str) -> None:
        pair = (second, first) if link == "from" else (first, second)
        described = f" {link} ".join(self._described(part) for part in pair)
        hint = instead = ""
        for bare, other in ((first, second), (second, first)):
            if _is_bare(bare) and self._dimension(other) != NONE:
                instead = f"{self.brief(bare)} * {unit_for(self._dimension(other))}"
                hint = f": give the number a unit, such as {instead}"
        self.fault(second, f"cannot {verb} {described}{hint}", instead)

    def _described(self, part: Part) -> str:
        words = "a bare number" if _is_bare(part) else a_dimension(self._dimension(part))
        return f"{words} ({self.brief(part)})"

    def nearest_option(self, word: str, kind: Choice) -> str:
        """The option that an unknown one may have meant, in its quotes, or nothing."""
        found = difflib.get_close_matches(word, sorted(kind.options), n=1)
        return f"'{found[0]}'" if found else ""

    def all_zero(self, parts: Sequence[Part]) -> bool:
        """Whether every part is a bare 0, which has any dimension."""
        return all(self.known[id(part)].any_dimension for part in parts)

    def nearest(self, word: str) -> str:
        """The name that an unknown one may have meant, or nothing."""
        if word not in self.unknown:
            found: list[str] = []
            if len(self.unknown) < _UNKNOWN_NAMES_ANSWERED:  # Each search takes a while, and ten show what is wrong.
                found = difflib.get_close_matches(word, [*self.names, *UNITS, *FUNCTIONS], n=1)
            self.unknown[word] = found[0] if found else ""
        return self.unknown[word]


def did_you_mean(suggestion: str) -> str:
    """The end of a message about an unknown word."""
    return f": did you mean {suggestion}?" if suggestion else ""


def _is_bare(part: Part) -> bool:
    return part.op == "number" or (part.op in ("plus", "negate") and part.parts[0].op == "number")


Judge = Callable[[Checker, Part], Known]
