"""Formulas written at random, against pint, exact fractions, and each other."""

import ast
import math
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from costbase.calc.formula import (
    Flag,
    Formula,
    FormulaError,
    FormulaFaults,
    Number,
    Value,
    check,
    compile_formula,
    compile_rows,
)
from costbase.calc.units import LENGTH, NONE, Dimension
from tests.calc.formula_cases import NAMES, Roof, anything, fitting, numbers, roofs
from tests.oracles.formulas import (
    Exact,
    FragileError,
    RefusedError,
    UndefinedError,
    dimension_of,
    exact_whole,
    value_of,
)

EXAMPLES = settings(max_examples=100, deadline=None)
# What the language refuses because of ranges; the oracle looks at dimensions and kinds only.
RANGE_FAULTS = ("nothing can be divided by zero", "there is no square root")


def outcome(formula: Formula, roof: Roof) -> tuple[str, object]:
    """The value to the bit, or how it failed and where."""
    try:
        return bits(formula(roof.values))
    except FormulaError as error:
        return error.code, error.span


def bits(value: Value) -> tuple[str, object]:
    return type(value).__name__, value.hex() if isinstance(value, float) else value


def kind_by_pint(text: str, roof: Roof) -> object:
    found = dimension_of(text, roof.given)
    if isinstance(found, type | frozenset):
        return "flag" if isinstance(found, type) else found
    powers = {} if isinstance(found, Fraction) else dict(found.dimensionality)
    length, mass, time, angle = (int(str(powers.get(f"[{name}]", 0))) for name in ("length", "mass", "time", "turned_angle"))
    return Dimension(length, mass, time, angle)


def kind_found(text: str) -> object:
    checked = check(text, NAMES)
    if [error for error in checked.errors if not error.reason.startswith(RANGE_FAULTS)]:
        return "refused"
    if checked.errors:
        return "out of range"
    if isinstance(checked.kind, Number):
        return checked.kind.dimension
    return "flag" if isinstance(checked.kind, Flag) else getattr(checked.kind, "options", None)


@EXAMPLES
@given(anything() | fitting(), roofs())
def test_pint_agrees_on_what_fits_together_and_on_its_dimension(text: str, roof: Roof) -> None:
    try:
        expected = kind_by_pint(text, roof)
    except RefusedError:
        expected = "refused"
    found = kind_found(text)
    # A fault of ranges hides what stands around it, so nothing more can be said there.
    assert found in (expected, "out of range")


def canonical(exact: Exact, dimension: Dimension) -> tuple[float, float]:
    # Canonical units: 0.1 mm is 1e-4 of pint's metre, 10 ug is 1e-8 of its kilogram.
    factor = Fraction(10) ** (4 * dimension.length + 8 * dimension.mass)
    return float(exact.value * factor), float(exact.slack * factor)


@EXAMPLES
@given(fitting(), roofs())
def test_values_are_those_of_exact_fractions(text: str, roof: Roof) -> None:
    checked = check(text, NAMES)
    assume(not checked.errors)  # Ranges alone: a divisor that is always 0.
    formula = compile_formula(text, NAMES)
    try:
        expected = value_of(text, roof.given)
    except FragileError:
        return
    except UndefinedError:
        with pytest.raises(FormulaError) as raised:
            formula(roof.values)
        assert raised.value.code in ("division_by_zero", "negative_root")
        return
    found = formula(roof.values)
    if isinstance(expected, Exact):
        assert isinstance(found, float)
        assert isinstance(formula.kind, Number)
        value, slack = canonical(expected, formula.kind.dimension)
        assert math.isclose(found, value, rel_tol=1e-9, abs_tol=2 * slack)
    else:
        assert found is expected


@EXAMPLES
@given(st.lists(fitting(2), min_size=1, max_size=4), roofs())
def test_a_call_an_explanation_and_a_row_give_the_same_bits(texts: list[str], roof: Roof) -> None:
    formulas = [compile_formula(text, NAMES) for text in texts if not check(text, NAMES).errors]
    outcomes = [outcome(formula, roof) for formula in formulas]
    for formula, expected in zip(formulas, outcomes, strict=True):
        try:
            explained = bits(formula.explain(roof.values).value)
        except FormulaError as error:
            explained = error.code, error.span
        assert explained == expected
    row = compile_rows(formulas)
    failures = [found for found in outcomes if isinstance(found[1], tuple)]
    if failures:
        with pytest.raises(FormulaError) as raised:
            row(roof.values)
        assert (raised.value.code, raised.value.span) == failures[0]
    else:
        assert [bits(value) for value in row(roof.values)] == outcomes


@EXAMPLES
@given(fitting(), roofs())
def test_whole_numbers_given_as_python_integers_change_no_bit(text: str, roof: Roof) -> None:
    assume(not check(text, NAMES).errors)
    formula = compile_formula(text, NAMES)
    counts = {
        name: int(value) if isinstance(value, float) and value.is_integer() else value for name, value in roof.values.items()
    }
    expected = outcome(formula, roof)
    assert outcome(formula, Roof(counts, roof.given)) == expected
    if not isinstance(expected[1], tuple):
        assert bits(compile_rows([formula])(counts)[0]) == expected


@EXAMPLES
@given(fitting(), roofs())
def test_a_value_lies_in_the_range_that_was_found_and_is_whole_where_that_was_said(text: str, roof: Roof) -> None:
    checked = check(text, NAMES)
    assume(not checked.errors)
    formula = compile_formula(text, NAMES)
    found = outcome(formula, roof)
    if isinstance(formula.kind, Number) and not isinstance(found[1], tuple):
        value = formula(roof.values)
        assert isinstance(value, float)
        assert formula.kind.low <= value <= formula.kind.high
        assert value.is_integer() or not formula.kind.whole


@EXAMPLES
@given(numbers(NONE, 3) | numbers(LENGTH, 3), roofs())
def test_a_formula_without_a_warning_never_divides_by_zero_or_roots_a_negative(text: str, roof: Roof) -> None:
    checked = check(text, NAMES)
    assume(not checked.errors)
    warned = {warning.code for warning in checked.warnings}
    code = outcome(compile_formula(text, NAMES), roof)[0]
    assert code != "division_by_zero" or "division_can_be_zero" in warned
    assert code != "negative_root" or "root_can_be_negative" in warned


@EXAMPLES
@given(fitting(), roofs())
def test_the_last_step_is_the_whole_formula_and_every_step_is_a_part_of_it(text: str, roof: Roof) -> None:
    assume(not check(text, NAMES).errors)
    formula = compile_formula(text, NAMES)
    assume(not isinstance(outcome(formula, roof)[1], tuple))
    steps = formula.explain(roof.values).steps
    assert ast.dump(ast.parse(steps[-1].text, mode="eval")) == ast.dump(ast.parse(text, mode="eval"))
    assert all(step.text in text for step in steps)
    assert len({step.text for step in steps}) == len(steps)


@EXAMPLES
@given(st.integers(0, 10**6), st.integers(1, 1000), st.sampled_from(("ceil", "floor", "round")))
def test_ceil_floor_and_round_are_those_of_exact_fractions(above: int, below: int, name: str) -> None:
    # Inches over inches; a fraction of at most 1000 parts is a thousandth from the next whole number, or is one.
    formula = compile_formula(f"{name}(roof_length / gutter_length)", NAMES)
    assert formula({"roof_length": above * 254.0, "gutter_length": below * 254.0}) == exact_whole(name, Fraction(above, below))


@EXAMPLES
@given(st.integers(1, 2000), st.sampled_from(("0.1", "0.3", "1.1", "0.07")))
def test_a_decimal_that_floats_cannot_hold_does_not_buy_one_piece_too_many(count: int, step: str) -> None:
    formula = compile_formula(f"ceil(vent_count * {step} / {step})", NAMES)
    assert formula({"vent_count": float(count)}) == count


SIGNS = [*"()()+-*/<>=,.!'\"#@;[]{}\\", "**", "//", "==", "<=", ":=", " ", "\n", "\x00", "\ud800", "é", "𝟙"]
WORDS = [
    "if",
    "else",
    "and",
    "or",
    "not",
    "min",
    "ceil",
    "clamp",
    "foot",
    "hour",
    "lambda",
    "for",
    "in",
    "is",
    "None",
    "__class__",
]
VALUES = ["0", "1", "2.5", "0x1", "1e9", "1j", "f'", "'framed'", "True"]
PIECES = st.sampled_from([*NAMES, *SIGNS, *WORDS, *VALUES])


def read_or_refused(text: str) -> None:
    """Any text gives a formula or faults with places in it; nothing else is ever raised."""
    checked = check(text, NAMES)
    told = [(error.span, error.message) for error in checked.errors]
    told += [(warning.span, warning.message) for warning in checked.warnings]
    for (start, end), message in told:
        assert 0 <= start <= end <= len(text)
        assert message.startswith(f"{start}-{end}: ")
        assert message.isascii()
    if checked.errors:
        with pytest.raises(FormulaFaults) as raised:
            compile_formula(text, NAMES)
        assert [str(fault) for fault in raised.value.faults] == [str(error) for error in checked.errors]
    else:
        assert compile_formula(text, NAMES).kind == checked.kind


@EXAMPLES
@given(
    st.text()
    | st.text(alphabet="abfo0123. ()+-*/<>=!,'\"")
    | st.lists(PIECES, max_size=40).map("".join)
    | st.lists(PIECES).map(" ".join)
)
def test_any_text_gives_a_formula_or_faults(text: str) -> None:
    read_or_refused(text)


@EXAMPLES
@given(fitting() | anything(), st.data())
def test_a_formula_with_a_slip_gives_a_formula_or_faults(text: str, data: st.DataObject) -> None:
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        end = data.draw(st.integers(start, min(len(text), start + 6)))
        text = text[:start] + data.draw(PIECES | st.just("") | st.characters()) + text[end:]
    read_or_refused(text)
