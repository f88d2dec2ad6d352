"""In which order are formulas worked out that read each other's results?"""

from collections.abc import Mapping
from graphlib import CycleError, TopologicalSorter

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.formula.faults import FormulaFaults
from costbase.calc.formula.parse import parse
from costbase.calc.formula.parts import Part


class FormulaLoopError(CalculationError):
    """Formulas that need each other's results before their own; `value` holds the names of the loop in order."""

    code = "formula_loop"


def order(formulas: Mapping[str, str]) -> list[str]:
    """The names of the formulas, each after those that its formula reads; names of other measures are let be.

    Args:
        formulas: text by the name of its result.

    Raises:
        FormulaLoopError: a loop, with its names: ``a -> b -> a``; several loops together as `CalculationFaults`.
        FormulaFaults: a text that cannot be read, under its name as the field; several together as `CalculationFaults`.
    """
    needs: dict[str, list[str]] = {}
    faults: list[CalculationError] = []
    for name, text in formulas.items():
        tree, errors = parse(text)
        if errors:
            faults.append(FormulaFaults(errors).under(name))
        needs[name] = [word for word in dict.fromkeys(_names(tree)) if word in formulas]
    raise_faults(faults)
    return _sorted(needs)


def _names(part: Part) -> list[str]:
    if part.op == "name":
        return [part.word]
    return [word for inner in part.parts for word in _names(inner)]


def _sorted(needs: dict[str, list[str]]) -> list[str]:
    loops: list[CalculationError] = []
    while True:
        try:
            ordered = list(TopologicalSorter(needs).static_order())
        except CycleError as error:
            # The sorter lists each name before one that needs it; read backwards it goes from a formula to what it reads.
            loop = error.args[1][::-1]
            loops.append(FormulaLoopError(f"these formulas read each other in a loop: {' -> '.join(loop)}", value=loop))
            needs = {name: [word for word in words if word not in loop] for name, words in needs.items() if name not in loop}
        else:
            raise_faults(loops)
            return ordered
