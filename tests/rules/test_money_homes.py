"""Amounts are rounded in one module, and a quantity becomes money in one function."""

import ast
import re
from collections.abc import Iterator
from dataclasses import replace

import pytest

from tests.rules.sources import Found, Module, faults, found, modules, names_in, placed

MONEY = "costbase/calc/money.py"
# The modules that add amounts up. Those that are not there yet are held to the rule from their first day.
NO_FLOAT = re.compile(r"quotes/calc/(pricing|tax|totals|bill|variance)(\.py|/.*\.py)")

ROUNDS = {"quantize", "to_integral", "to_integral_value", "to_integral_exact", "getcontext", "setcontext", "localcontext"}
MAY_ROUND = {
    MONEY: "the home of rounding: every moment stands in ROUNDED_WHERE",
    "api/rest/request_log.py:_log_end": "milliseconds of the log are no amount",
    "api/rest/fields.py:AmountField.to_representation": "only adds zeros; it raises where a digit would go",
    "api/management/printed_words.py:number": "quantities and shares are shortened for the eye; no amount comes here",
    "api/management/printed_words.py:hours": "hours are shortened for the eye; no amount comes here",
    "api/management/printed_words.py:whole_days": "days are shortened for the eye; no amount comes here",
    "api/management/printed_words.py:bar": "characters of a bar are no amount",
}

# `f"{x:.2f}"` rounds half to even, silently. A home here is a function with what it formats: one amount beside a quantity would
# otherwise pass with it.
FIXED_POINT = re.compile(r"\.(\d+|\{.*\})f'?$")
MAY_FORMAT = {
    "quotes/calc/severity.py": "shares of damage, told to people",
    "quotes/calc/payers/explained.py:_money: amount": "adds zeros: the amount was rounded before",
    "quotes/calc/why/steps.py:Context.money: value": "adds zeros: the amount was rounded before",
    "quotes/actions/quote_rows.py:shop_row: line.amount": "adds zeros: the amount was rounded before",
    "quotes/reports/change_order_documents.py:fixed: Decimal(str(value))": "adds zeros: the amount was rounded before",
    "quotes/calc/change_order/steps.py:line_steps: Decimal(str(line['amount']))": "adds zeros: the amount was rounded before",
    "api/rest/quote_answers.py:fixed: Decimal(str(value))": "adds zeros: the amount was rounded before",
    "quotes/reports/offer_documents.py:_fixed: Decimal(str(amount))": "adds zeros: the amount was rounded before",
    "quotes/actions/trial_rows.py:fixed: Decimal(str(value))": "adds zeros: the amount was rounded before",
    "api/rest/quote_answers.py:line_shown: Decimal(str(line['quantity']))": "adds zeros: as many decimals as its column",
    "api/rest/quote_answers.py:line_shown: Decimal(str(line['price']))": "adds zeros: as many decimals as its column",
    "api/rest/quote_answers.py:component_shown: Decimal(str(component['exposure']))": "adds zeros: four decimals",
    "api/rest/quote_answers.py:component_shown: Decimal(str(component[name]))": "adds zeros: as many decimals as its column",
    "api/rest/counted.py:_beyond: error.excess": "adds zeros: as many decimals as its column",
    "api/rest/counted.py:settled_shown: getattr(settled, name)": "adds zeros: as many decimals as its column",
    "api/rest/found_notes.py:note_shown: note.extent": "adds zeros: as many decimals as its column",
    "api/rest/found_notes.py:note_shown: note.unit_price": "adds zeros: as many decimals as its column",
    "api/rest/bill_answers.py:measured_shown: quantity": "adds zeros: as many decimals as its column",
    "api/rest/bill_answers.py:measured_shown: unit_price": "adds zeros: as many decimals as its column",
    "quotes/reports/found_documents.py:found_document: note.extent": "adds zeros: as many decimals as its column",
    "quotes/reports/found_documents.py:found_document: note.unit_price": "adds zeros: as many decimals as its column",
    "api/rest/job_answers.py:_component: own['extent']": "adds zeros: as many decimals as its column",
    "api/rest/openings.py:_extents: row['exposure']": "adds zeros: as many decimals as its column",
    "api/rest/openings.py:_extents: value": "adds zeros: as many decimals as its column",
    "quotes/actions/opening.py:_row: one.found": "adds zeros: as many decimals as its column",
    "quotes/actions/opening.py:_row: one.opened": "adds zeros: as many decimals as its column",
    "quotes/calc/found/explained.py:why_draw: share_of_parts(component)": "a share of parts, told to people",
    "api/rest/quote_whys.py:_WhyView.answer: why.value": "adds zeros: where the steps land was rounded before",
    "api/rest/quote_whys.py:ComponentWhy.get: part.unit_price": "adds zeros: a unit price has six decimals",
}

PRICES = {"price", "pack_price", "unit_price", "billed_per_hour", "cost_per_hour", "set_up"}
MAY_MULTIPLY = {
    "quotes/calc/hidden/prices.py:LabourPart.amount": "part of a unit price of hidden work, which per_unit rounds once",
    "quotes/calc/hidden/prices.py:MaterialPart.amount": "part of a unit price of hidden work, which per_unit rounds once",
    "quotes/calc/hidden/prices.py:repair_part": "set-up of hidden work: the dearest section's counts, rounded by amount",
    "quotes/calc/change_order/repairs.py:_cost": "cost of one unit of hidden work, which per_unit rounds once",
    "quotes/calc/change_order/repairs.py:_set_up": "cost of a set-up: counts of the section, rounded by amount",
    "quotes/calc/looks.py:_Doubt.after": "hidden work at 4096 points, in floats; becomes an amount in money.amount",
    "quotes/calc/looks.py:_Doubt._total": "hidden work at 4096 points, in floats; becomes an amount in money.amount",
    "quotes/calc/boards.py:worth": "what a foot of joint or lap weighs against board or skin; no amount comes of it",
    "quotes/calc/contingency/hidden.py:_add": "hidden work at 4096 points, in floats; becomes an amount in money.amount",
    "quotes/calc/teardown/update.py:update": "hidden work at 4096 points, in floats; becomes an amount in money.amount",
    "quotes/calc/contingency/steps.py:_exact_mean": "the mean of hidden work, in floats; becomes an amount in money.amount",
}


def roundings() -> Iterator[Found]:
    for module in modules():
        for node, name in placed(module):
            called = node.func.id if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) else ""
            word = node.id if isinstance(node, ast.Name) else node.attr if isinstance(node, ast.Attribute) else ""
            if called == "round" or word in ROUNDS or word.startswith("ROUND_"):
                yield found(module, node, name)


def formats() -> Iterator[Found]:
    for module in modules("quotes", "api/rest"):
        for node, name in placed(module):
            if isinstance(node, ast.FormattedValue) and node.format_spec is not None:
                spec = ast.unparse(node.format_spec)
                if FIXED_POINT.search(spec):
                    shown = ast.unparse(node.value)
                    place = found(module, node, name, f"{shown} is formatted with {spec}")
                    yield replace(place, home=f"{place.home}: {shown}")


def products_with_a_price() -> Iterator[Found]:
    for module in modules():
        for node, name in placed(module):
            sides: tuple[ast.expr, ...] = ()
            if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mult):
                sides = (node.left, node.right)
            elif isinstance(node, ast.AugAssign) and isinstance(node.op, ast.Mult):
                sides = (node.target, node.value)
            if any(names_in(side) & PRICES for side in sides):
                yield found(module, node, name)


def test_only_the_money_module_rounds() -> None:
    fix = "round amounts with a function of costbase/calc/money.py, and quantities with round_half_up or decimal_quantity:"
    assert not (told := faults(roundings(), MAY_ROUND, fix)), told


def test_no_format_rounds_an_amount() -> None:
    fix = "round with amount() or unit_price() of costbase/calc/money.py first and write str() of that:"
    assert not (told := faults(formats(), MAY_FORMAT, fix)), told


def test_a_quantity_becomes_money_in_extend_only() -> None:
    fix = "multiply a quantity and a price with costbase.calc.money.extend, which rounds once:"
    assert not (told := faults(products_with_a_price(), MAY_MULTIPLY, fix)), told


MONEY_MODULES = tuple(module for module in modules("quotes/calc") if NO_FLOAT.fullmatch(module.path))


def test_there_are_modules_that_add_amounts_up() -> None:
    assert {"quotes/calc/pricing.py", "quotes/calc/tax.py", "quotes/calc/totals.py"} <= {m.path for m in MONEY_MODULES}


@pytest.mark.parametrize("module", MONEY_MODULES, ids=lambda module: str(module.path))
def test_modules_that_add_amounts_up_hold_no_float(module: Module) -> None:
    floats = [
        found(module, node, name)
        for node, name in placed(module)
        if (isinstance(node, ast.Constant) and isinstance(node.value, float))
        or (isinstance(node, ast.Name) and node.id in ("float", "math", "np", "numpy"))
        or (isinstance(node, ast.Attribute) and node.attr in ("from_float", "as_integer_ratio"))
    ]
    fix = "write Decimal from text or whole numbers; a float comes in through costbase/calc/money.py alone:"
    assert not (told := faults(floats, {}, fix)), told
