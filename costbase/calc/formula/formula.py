"""What is a formula after it was checked: something to call, to explain, and to run together with others."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import cast

from costbase.calc.formula.check import Examined, examine
from costbase.calc.formula.compile import Evaluate, one_function
from costbase.calc.formula.explain import Explained, explain
from costbase.calc.formula.faults import FormulaFaults, Warning_
from costbase.calc.formula.kinds import Kind
from costbase.calc.formula.rows import row_function
from costbase.calc.formula.walk import Value, Values, Walk
from costbase.calc.units import Dimension

# A few times what one shop's assemblies, components and measures hold.
_KEPT_FORMULAS = 8192
_KEPT_ROWS = 256


@dataclass(frozen=True, slots=True, eq=False)
class Formula:
    """A formula that was checked and compiled.

    Attributes:
        text: as written; the only thing that is ever stored.
        kind: kind and range of its value.
        inputs: the measures that it reads, each once, a condition's before those of its arms.
        warnings: what may be right and deserves a look.
    """

    text: str
    kind: Kind
    inputs: tuple[str, ...]
    warnings: tuple[Warning_, ...]
    evaluate: Evaluate = field(repr=False)
    examined: Examined = field(repr=False)

    def __call__(self, values: Values) -> Value:
        """The value, canonical: a finite float, yes or no, or an option.

        Args:
            values: at least the measures of `inputs`, canonical: numbers (an infinite one is let in), flags, options.

        Raises:
            FormulaError: with the place and the code ``not_finite``, ``division_by_zero``, ``negative_root``,
                ``no_value`` or ``bad_value``.
        """
        return self.evaluate(values)

    def explain(self, values: Values, sources: Mapping[str, str] | None = None) -> Explained:
        """The same value, to the bit, with the steps to it.

        Args:
            values: as for a call.
            sources: where the measures come from, in words, by name; each becomes the note of its step.

        Raises:
            FormulaError: as a call does.
        """
        return explain(self.text, self.examined.tree, self.examined.known, values, sources or {})


def compile_formula(text: str, names: Mapping[str, Kind], expects: Kind | Dimension | None = None) -> Formula:
    """The formula of a text, checked and compiled; the same object again for the same text, kind and mapping of names.

    Args:
        text: the formula.
        names: the measures that it may read; kept, and taken never to change.
        expects: what its place wants, as in `check`.

    Raises:
        FormulaFaults: everything that is wrong with it.
        ReservedNameError: `names` holds a word of the language.
    """
    return _compiled(text, _Same(names), expects)


class _Same:
    """A mapping as a key: equal to itself only, and kept alive, so that its identity is never given to another."""

    __slots__ = ("names",)

    def __init__(self, names: Mapping[str, Kind]) -> None:
        self.names = names

    def __hash__(self) -> int:
        return id(self.names)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Same) and other.names is self.names


@lru_cache(maxsize=_KEPT_FORMULAS)
def _compiled(text: str, same: _Same, expects: Kind | Dimension | None) -> Formula:
    examined = examine(text, same.names, expects)
    checked = examined.checked
    if checked.errors or checked.kind is None:
        raise FormulaFaults(checked.errors)

    def again(values: Values) -> Value:
        return Walk(text, examined.known, values).whole(examined.tree)

    evaluate = one_function(examined.tree, checked.kind, examined.input_kinds, again)
    return Formula(text, checked.kind, checked.inputs, checked.warnings, evaluate, examined)


def compile_rows(formulas: Sequence[Formula]) -> Callable[[Values], tuple[Value, ...]]:
    """One function that gives the values of many formulas in their order, each the same to the bit as its own call.

    Measures are read once, and what several formulas have in common is worked out once.

    Args:
        formulas: compiled over the same kinds of names.

    Raises:
        FormulaError: by the function, for the first formula that fails, as its own call does.
    """
    return _compiled_rows(tuple(formulas))


@lru_cache(maxsize=_KEPT_ROWS)
def _compiled_rows(formulas: tuple[Formula, ...]) -> Callable[[Values], tuple[Value, ...]]:
    def again(values: Values) -> tuple[Value, ...]:
        return tuple(formula(values) for formula in formulas)

    trees = [(formula.examined.tree, formula.kind, formula.examined.input_kinds) for formula in formulas]
    return cast(Callable[[Values], tuple[Value, ...]], row_function(trees, again))
