"""Texts that were written to hurt, or by people who think of another language, each answered in a bounded number of steps.

Steps are calls as the interpreter counts them, of Python functions and of built-in ones, so that the bound is the same on any
machine.
"""

import ast
import re
import sys
from collections.abc import Callable
from types import CodeType, FrameType

import pytest

from costbase.calc.formula import FormulaError, FormulaFaults, Value, check, compile_formula, compile_rows
from tests.calc.formula_cases import NAMES

# About three times what the worst of the longest legal formulas below takes.
MOST_CALLS = 200_000
OPENING = "(" * 100_000

HOSTILE = {
    "power tower": "9**9**9**9",
    "power tower in brackets": "((9**4)**4)**9",
    "power of a name": "2 ** ac_count",
    "negative power": "2 ** -1",
    "true power": "2 ** True",
    "deep brackets": OPENING,
    "deep brackets closed": OPENING + "1" + ")" * 100_000,
    "sixty-one brackets": "(" * 61 + "1" + ")" * 61,
    "brackets and functions": "abs(" * 400,
    "unbalanced": "1)(2",
    "never opened": "1))",
    "import": "__import__('os')",
    "import in a call": "ceil(__import__('os').system('true'))",
    "attribute": "a.b",
    "attribute of a measure": "roof_length.real",
    "attribute of an option": "'framed'.upper()",
    "class of a number": "(1).__class__.__bases__",
    "lambda": "lambda: 1",
    "lambda called": "(lambda x: x)(1)",
    "f-string": "f'{roof_length}'",
    "byte string": "b'framed'",
    "raw string": "r'framed'",
    "joined strings": "'framed' 'metal'",
    "long string": "'" + "a" * 5_000 + "'",
    "string times number": "'a' * 10**9",
    "option alone in arithmetic": "'a' * 3",
    "triple quotes": "'''a'''",
    "quote left open": "roof_kind == 'framed",
    "quote over two lines": "'a\nb'",
    "walrus": "(x := 3)",
    "assignment": "x = 3",
    "semicolon": "1; 2",
    "comment": "1 # 2",
    "backslash": "1 + \\\n2",
    "list": "[1, 2]",
    "list of lists": "[" * 5_000,
    "set": "{1}",
    "comprehension": "[x for x in 'a']",
    "generator": "min(x for x in 'abc')",
    "subscript": "roof_kind[0]",
    "tuple": "1, 2",
    "empty tuple": "()",
    "starred": "min(*roof_kind)",
    "keyword argument": "min(1, 2, key=abs)",
    "default argument": "max(1, default=2)",
    "yield": "(yield)",
    "await": "await 1",
    "is": "1 is 1",
    "in": "'a' in roof_kind",
    "none": "None",
    "ellipsis": "...",
    "floor division": "7 // 2",
    "remainder": "7 % 2",
    "bit or": "1 | 2",
    "bit not": "~1",
    "matrix": "1 @ 2",
    "shift": "1 << 999999",
    "diamond": "1 <> 2",
    "huge literal": "9" * 400,
    "exponent": "1e400",
    "small exponent": "1e5",
    "underscore": "1_000",
    "hexadecimal": "0xFF",
    "octal": "0o17",
    "binary": "0b1",
    "leading zero": "007",
    "complex": "1j",
    "two points": "1.2.3",
    "number before a name": "2foot",
    "number before a keyword": "1if skin_off else 2",
    "infinity": "inf",
    "nan": "nan * foot",
    "nul": "1\x00",
    "tab and nul": "\t\x00",
    "bell": "\x07",
    "cyrillic a": "\u0430c_count",
    "fullwidth digit": "\uff11 + 1",
    "arabic digit": "\u0661",
    "superscript": "roof_length\u00b2",
    "minus sign": "3 \u2212 2",
    "no-break space": "1\u00a0+ 1",
    "line separator": "1\u2028+ 1",
    "zero-width joiner": "roof\u200d_length",
    "right-to-left mark": "\u202e1",
    "lone surrogate": "\ud800",
    "emoji": "\U0001f6a8",
    "byte order mark": "\ufeff1",
    "curly quotes": "roof_kind == \u2018framed\u2019",
    "empty": "",
    "spaces": "   \n\t ",
    "only an operator": "*",
    "only brackets": "(())",
    "missing operand": "1 +",
    "missing arm": "1 if skin_off",
    "two names": "roof_length body_width",
    "called number": "3(4)",
    "called bracket": "(3)(4)",
    "called measure": "roof_length(4)",
    "called unit": "foot(4)",
    "called option": "'a'(1)",
    "called keyword": "True(1)",
    "function as a value": "ceil + 1",
    "no values": "min()",
    "one value": "max(1)",
    "too many values": f"max({', '.join(['1'] * 21)})",
    "long name": "a" * 900,
    "many unknown names": " + ".join(f"roof_lengt_{number:02d}" for number in range(60)),
    "too long": "1 + " * 250 + "1",
    "a million characters": "1+" * 500_000 + "1",
    "too many parts": "1+" * 100 + "1",
    "chained comparisons of 200 parts": "1<" * 199 + "1",
    "unary minus chain": "-" * 150 + "1",
    "unary minus chain of a thousand": "-" * 999 + "1",
    "not chain": "not " * 150 + "skin_off",
    "conditional chain": "1 if skin_off else " * 70 + "2",
    "nested conditions": "1 if " * 60 + "skin_off" + " else 2" * 60,
}


def calls_of(work: Callable[[], object]) -> int:
    """How many calls a piece of work takes."""
    count = 0

    def tick(frame: FrameType, event: str, argument: object) -> None:
        nonlocal count
        count += event in ("call", "c_call")

    before = sys.getprofile()
    sys.setprofile(tick)
    try:
        work()
    finally:
        sys.setprofile(before)
    return count


@pytest.mark.parametrize("text", [pytest.param(text, id=name) for name, text in HOSTILE.items()])
def test_a_hostile_text_is_refused_in_bounded_time(text: str) -> None:
    assert calls_of(lambda: check(text, NAMES)) < MOST_CALLS
    with pytest.raises(FormulaFaults) as raised:
        compile_formula(text, NAMES)
    assert all(0 <= fault.span[0] <= fault.span[1] <= len(text) for fault in raised.value.faults)
    assert all(fault.message.isascii() and len(fault.message) < 400 for fault in raised.value.faults)


def test_the_longest_name_of_a_fault_keeps_its_message_short() -> None:
    assert all(len(error.message) < 200 for error in check("a" * 60 + "+" + "b" * 900, NAMES).errors)


@pytest.mark.parametrize("text", [OPENING, "[" * 100_000, "-" * 100_000, "not " * 100_000, "abs(" * 249, "é" * 100_000])
def test_python_s_parser_never_sees_a_text_that_could_overflow_it(text: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(*arguments: object, **named: object) -> ast.AST:
        raise AssertionError("parsed")

    monkeypatch.setattr(ast, "parse", refuse)
    assert check(text, NAMES).errors


LONGEST: dict[str, tuple[str, Value]] = {
    "sum of a hundred": (" + ".join(["1"] * 100), 100.0),
    "sixty brackets": ("(" * 60 + "vent_count" + ")" * 60, 1.0),
    "sum of sums": ("1+(" * 60 + "1" + ")" * 60, 61.0),
    "fifty-nine minus signs": ("-" * 59 + "vent_count", -1.0),
    "fifty-nine arms": ("1 if indoor_bay else " * 39 + "2", 2.0),
    "a hundred comparisons": ("<".join(["ac_count * 0 + 1", *(str(number) for number in range(2, 97))]), True),
    "a chain of equal sums": ("==".join(["ac_count+vent_count"] * 40), True),
    "functions in functions": ("ceil(" * 58 + "vent_count" + ")" * 58, 1.0),
    "comparisons in conditionals": ("(1 if (" * 28 + "vent_count" + ") < 2 else 3)" * 28, 1.0),
    "powers of powers": ("(" * 58 + "vent_count" + ")**4" * 58, 1.0),
    "a thousand characters": ("vent_count" + " " * 990, 1.0),
}


@pytest.mark.parametrize(("text", "value"), [pytest.param(*case, id=name) for name, case in LONGEST.items()])
def test_the_longest_formulas_work_and_their_code_grows_with_them_only(text: str, value: Value) -> None:
    assert calls_of(lambda: compile_formula(text, dict(NAMES))) < MOST_CALLS
    formula = compile_formula(text, NAMES)
    values: dict[str, Value] = {"vent_count": 1, "ac_count": 0, "indoor_bay": False}
    assert formula(values) == formula.explain(values).value == compile_rows([formula])(values)[0] == value
    code = formula.evaluate.__code__
    assert isinstance(code, CodeType)
    # Each part is written once, so the code is so many bytes a part, whatever the formula.
    parts = len(re.findall(r"\w+|[^\w\s()]+", text))
    assert len(code.co_code) < 300 + 40 * parts


def test_a_count_given_as_an_integer_does_not_grow_without_bound_under_powers() -> None:
    formula = compile_formula("(" * 50 + "vent_count" + ")**4" * 50, NAMES)
    with pytest.raises(FormulaError) as raised:
        formula({"vent_count": 20})
    assert raised.value.code == "not_finite"
