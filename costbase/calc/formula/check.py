"""Does a formula mean something? The kind and range of its value, and every fault and doubt at once."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from costbase.calc.errors import CalculationError
from costbase.calc.formula.checker import FAULTY, SUGGESTED_UNIT, Checker, Known
from costbase.calc.formula.faults import FormulaError, Warning_
from costbase.calc.formula.judges import JUDGES
from costbase.calc.formula.kinds import Choice, Flag, Kind, Number, a_dimension, kind_words
from costbase.calc.formula.parse import parse
from costbase.calc.formula.parts import RESERVED, Part
from costbase.calc.units import NONE, UNITS, Dimension


class ReservedNameError(CalculationError):
    """A measure that is called like a unit, a function or a word of the language."""

    code = "reserved_name"


@dataclass(frozen=True, slots=True)
class Checked:
    """What a formula is.

    Attributes:
        kind: kind and range of its value; None where an error hides it.
        inputs: the names that it reads, each once, a condition's before those of its arms.
        errors: all of them, in the order of the text; none for a formula that can be compiled.
        warnings: what may be right and deserves a look.
    """

    kind: Kind | None
    inputs: tuple[str, ...]
    errors: tuple[FormulaError, ...]
    warnings: tuple[Warning_, ...]


@dataclass(frozen=True, slots=True)
class Examined:
    """The tree of a formula with what is known about each part, by the part's identity, and the kinds of its inputs."""

    tree: Part
    known: dict[int, Known]
    input_kinds: dict[str, Kind]
    checked: Checked


def check(text: str, names: Mapping[str, Kind], expects: Kind | Dimension | None = None) -> Checked:
    """What a formula is, with every error and warning; nothing is raised for any text.

    Args:
        text: the formula.
        names: the measures that it may read, with their kinds.
        expects: what its place wants: a kind (a `Number` that is whole for an "each" slot, with the range that is meant),
            or a dimension for any number of it; None for anything.

    Raises:
        ReservedNameError: `names` holds a word of the language.
    """
    return examine(text, names, expects).checked


def examine(text: str, names: Mapping[str, Kind], expects: Kind | Dimension | None) -> Examined:
    """As `check`, with the tree."""
    if not RESERVED.isdisjoint(names):
        word = sorted(RESERVED.intersection(names))[0]
        raise ReservedNameError(f"{word} is a word of the language of formulas, so no measure can be called that", value=word)
    tree, errors = parse(text)
    checker = Checker(text, names, JUDGES)
    checker.errors.extend(errors)
    known = checker.judge(tree)
    if known.kind is not None and expects is not None:
        known = _fit(checker, tree, known, expects)
    ordered = tuple(sorted(checker.errors, key=lambda error: error.span))
    checked = Checked(known.kind, tuple(checker.inputs), ordered, tuple(checker.warnings))
    return Examined(tree, checker.known, {name: names[name] for name in checker.inputs}, checked)


def _fit(checker: Checker, tree: Part, known: Known, expects: Kind | Dimension) -> Known:
    """The whole formula against what its place wants."""
    if isinstance(expects, Dimension):
        expects = Number(expects)
    if isinstance(expects, Number):
        number = checker.as_number(tree, known)
        return FAULTY if number is None else _fit_number(checker, tree, known, number, expects)
    if isinstance(expects, Flag):
        checker.condition(tree, known)
        return known
    kind = known.kind
    if kind is not None and not (isinstance(kind, Choice) and kind.options <= expects.options):
        return checker.fault(tree, f"{kind_words(expects)} is wanted here, and this is {kind_words(kind)}")
    return known


def _fit_number(checker: Checker, tree: Part, known: Known, number: Number, expects: Number) -> Known:
    if known.any_dimension:
        number = Number(expects.dimension, number.whole and expects.dimension == NONE, number.low, number.high)
    if number.dimension != expects.dimension:
        wanted = a_dimension(expects.dimension)
        return checker.fault(tree, f"{wanted} is wanted here, and this is {a_dimension(number.dimension)}")
    if expects.whole and not number.whole:
        reason = 'an "each" slot wants a whole number, and this can have a fraction: use ceil(...), floor(...) or round(...)'
        return checker.fault(tree, reason)
    wanted = _range_words(expects)
    if number.high < expects.low or number.low > expects.high:
        return checker.fault(tree, f"{wanted} is wanted here, and this is always {_range_words(number)}")
    if number.low < expects.low or number.high > expects.high:
        checker.warn(tree, "can_leave_range", f"{wanted} is wanted here, and this can be {_range_words(number)}")
    return Known(number, known.nonzero)


def _range_words(number: Number) -> str:
    """A range in the suggested unit of its dimension, such as "0 or more" or "from 0 to 1"."""
    slug = SUGGESTED_UNIT.get(number.dimension)
    factor = float(UNITS[slug].factor) if slug else 1.0
    unit = f" {UNITS[slug].symbol}" if slug else ""
    low, high = f"{number.low / factor:.6g}{unit}", f"{number.high / factor:.6g}{unit}"
    if number.low == number.high:
        return low
    if number.high == math.inf:
        return "any number" if number.low == -math.inf else f"{low} or more"
    return f"{high} or less" if number.low == -math.inf else f"from {low} to {high}"
