"""Whole packs and whole sheets are counted where a reader looks for them, by one tolerant rule."""

import ast
from collections.abc import Iterator

from tests.rules.sources import Found, faults, found, modules, placed

# Plain ceilings of floats are wrong now and then: ceil(0.1 * 3 / 0.1) is 4. `units.py` has the tolerant ones.
TOLERANT = {"ceil_tolerant", "floor_tolerant"}
COUNTS = {"ceil", "floor", "trunc", "rint", "fix"}
LIBRARIES = {"math", "np", "numpy"}
UPWARDS = {"ROUND_CEILING", "ROUND_UP"}
HOMES = {
    "costbase/calc/units.py": "defines the tolerant rule",
    "costbase/calc/formula/": "ceil and floor of the formula language",
    "quotes/calc/packing.py": "whole packs, once over the quote",
    "quotes/calc/sheets/": "whole sheets and courses",
    "quotes/calc/skins.py": "whole strips and pieces of skin",
    "quotes/calc/days/schedule.py": "which day of the clock it is, and the morning after it; nothing is bought by them",
    "costbase/calc/sizes.py:_plain": "decimals of an exact fraction that is written as text; nothing is counted",
    "api/management/printed_words.py:whole_days": "days for the eye, by the tolerant rule; nothing is bought by them",
}
DIVIDES = {
    "costbase/calc/money.py:_whole_numbers": "denominators are whole and divide their least common multiple",
    "costbase/calc/formula/judges.py": "exponents of dimensions are whole numbers",
    "quotes/calc/survey/grid.py:course_of": "row numbers are whole: two rows make a course",
    "quotes/calc/bill/open_basis.py:cut_items": "whole coins are halved until the least cut is found",
    "quotes/calc/sheets/": "the planner counts in whole micrometres and whole prices",
}


def counts(node: ast.AST) -> bool:
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        return node.value.id in LIBRARIES and node.attr in COUNTS
    if isinstance(node, ast.ImportFrom):
        return node.module in LIBRARIES and any(alias.name in COUNTS for alias in node.names)
    return isinstance(node, ast.Name) and node.id in TOLERANT | UPWARDS


def counted() -> Iterator[Found]:
    for module in modules():
        for node, name in placed(module):
            if counts(node):
                yield found(module, node, name)


def whole_divisions() -> Iterator[Found]:
    for module in modules("costbase/calc", "quotes/calc"):
        for node, name in placed(module):
            if isinstance(node, ast.BinOp) and isinstance(node.op, ast.FloorDiv):
                yield found(module, node, name)


def test_ceilings_and_floors_stand_in_their_homes() -> None:
    fix = "count packs in quotes/calc/packing.py, sheets in quotes/calc/sheets, anything else in a formula:"
    assert not (told := faults(counted(), HOMES, fix)), told


def test_whole_division_divides_whole_numbers() -> None:
    fix = "a // b of floats is a floor without tolerance; use floor_tolerant(a / b) in one of the homes of counting:"
    assert not (told := faults(whole_divisions(), DIVIDES, fix)), told


def test_the_tolerant_rule_has_one_definition() -> None:
    named = [
        found(module, node, name)
        for module in modules()
        for node, name in placed(module)
        if isinstance(node, ast.FunctionDef) and node.name in ("ceil_tolerant", "floor_tolerant", "half_up_scaled")
    ]
    assert {place.path for place in named} == {"costbase/calc/units.py"}
