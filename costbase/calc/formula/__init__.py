"""The language of quantities: formulas over measures, checked for what they mean and compiled to run fast.

A formula is an arithmetic subset of Python expressions: ``+ - * /``, ``**`` with a power from 1 to 4, comparisons, ``and
or not``, ``A if c else B``, the functions ``min max ceil floor round abs sqrt clamp``, quoted options as in ``roof_kind
== 'framed'``, names of measures, and names of units, which multiply: ``0.04 * hour / foot``. It gives a quantity, hours,
yes or no, or an option; never money.

From text to value: `scan` (is it safe to parse?), `parse` (tree of parts), `check` with `checker`, `judges`, `guards` and
`ranges` (kind, dimension and range of every part), `compile` and `rows` (Python source), `walk` and `explain` (the steps,
and what failed where).
"""

from costbase.calc.formula.check import Checked, ReservedNameError, check
from costbase.calc.formula.explain import EntryUnit, Explained, Step, entry_unit
from costbase.calc.formula.faults import FormulaError, FormulaFaults, Warning_
from costbase.calc.formula.formula import Formula, compile_formula, compile_rows
from costbase.calc.formula.kinds import BadKindError, Choice, Flag, Kind, Number, a_dimension, kind_words
from costbase.calc.formula.order import FormulaLoopError, order
from costbase.calc.formula.parts import FUNCTIONS, RESERVED
from costbase.calc.formula.walk import Value, Values

__all__ = [
    "FUNCTIONS",
    "RESERVED",
    "BadKindError",
    "Checked",
    "Choice",
    "EntryUnit",
    "Explained",
    "Flag",
    "Formula",
    "FormulaError",
    "FormulaFaults",
    "FormulaLoopError",
    "Kind",
    "Number",
    "ReservedNameError",
    "Step",
    "Value",
    "Values",
    "Warning_",
    "a_dimension",
    "check",
    "compile_formula",
    "compile_rows",
    "entry_unit",
    "kind_words",
    "order",
]
