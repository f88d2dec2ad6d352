"""What formulas mean, worked by hand.

Canonical units: a foot is 3048, a square foot 9290304, a pound 45359237, an hour 3600.
"""

import math

import pytest

from costbase.calc.errors import CalculationFaults
from costbase.calc.formula import (
    BadKindError,
    Choice,
    Flag,
    FormulaError,
    FormulaFaults,
    FormulaLoopError,
    Kind,
    Number,
    ReservedNameError,
    Value,
    check,
    compile_formula,
    compile_rows,
    entry_unit,
    order,
)
from costbase.calc.units import AREA, LENGTH, NONE, TIME, VOLUME, Dimension
from tests.benchmarks import bench_formula
from tests.calc.formula_cases import NAMES, SKINS

FOOT, SQUARE_FOOT = 3048.0, 9_290_304.0
# An invented roof: 34 ft by 8 ft, 2 air conditioners, 1 vent.
ROOF: dict[str, Value] = {
    "roof_length": 34 * FOOT,
    "body_width": 8 * FOOT,
    "gutter_length": 68 * FOOT,
    "sag": -0.5 * FOOT,
    "roof_area": 272 * SQUARE_FOOT,
    "deck_area": 255 * SQUARE_FOOT,
    "ac_count": 2,
    "vent_count": 1,
    "splinter_share": 0.4,
    "balance": 0.0,
    "skin_off": True,
    "indoor_bay": False,
    "roof_kind": "framed",
    "skin": "frp",
}


def worked(text: str) -> Value:
    return compile_formula(text, NAMES)(ROOF)


def faults(text: str, expects: Kind | Dimension | None = None) -> list[str]:
    return [error.message for error in check(text, NAMES, expects).errors]


def warnings(text: str, expects: Kind | Dimension | None = None) -> list[tuple[str, tuple[int, int]]]:
    return [(warning.code, warning.span) for warning in check(text, NAMES, expects).warnings]


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ("0.5 * inch", 127.0),  # an inch is 254
        ("0.04 * hour / foot * roof_length", 4896.0),  # 0.04 h a foot over 34 ft is 1.36 h
        ("roof_length + 1 * foot", 106_680.0),  # 35 ft
        ("roof_length\n  + 1 * foot\n", 106_680.0),
        ("roof_area / square_foot", 272.0),
        ("ceil(gutter_length / (4 * inch))", 204.0),  # 816 in / 4 in
        ("2 * (ceil(roof_length / (3 * inch)) + 1)", 274.0),  # 408 / 3 = 136, and one, twice
        ("floor(roof_length / (16 * inch)) + 1", 26.0),  # 25.5 spacings
        ("round(roof_length / (16 * inch))", 26.0),  # half up
        ("round(-2.5)", -3.0),  # a credit mirrors the charge
        ("ceil(0.1 * 3 / 0.1)", 3.0),  # 3.0000000000000004 in floats
        ("floor(0.7 * 10 / 0.07 / 1)", 100.0),  # 99.99999999999999 in floats
        ("-2 ** 2", -4.0),
        ("(-2) ** 2", 4.0),
        ("2 - 3 - 4", -5.0),
        ("2 / 4 / 4", 0.125),
        ("2 - (3 - 4)", 3.0),
        ("2 / (4 / 4)", 2.0),
        ("- - 2", 2.0),
        ("+ac_count", 2.0),
        ("abs(sag) / foot", 0.5),
        ("sqrt(roof_length ** 2) / foot", 34.0),
        ("clamp(ac_count, 3, 5)", 3.0),
        ("clamp(ac_count, 0, 1)", 1.0),
        ("min(ac_count, 1, 3) + max(ac_count, 5)", 6.0),
        ("1 if skin_off and not indoor_bay else 0", 1.0),
        ("3 if roof_kind == 'laminated' else 4 if roof_kind == 'framed' else 5", 4.0),
        ('2 if skin != "membrane" else 1', 2.0),
        ("splinter_share == 0.1 * 4", True),
        ("0.1 + 0.2 <= 0.3", True),  # equal within 1e-9 of themselves, so neither above nor below
        ("0.1 + 0.2 > 0.3", False),
        ("0.1 + 0.2 != 0.3", False),
        ("1.00000001 > 1", True),
        ("balance < 0.0000000000001", True),  # nothing but 0 is near 0
        ("0 < ac_count <= 2 < 3", True),
        ("roof_length > gutter_length > 0", False),
        ("True", True),
        ("skin_off or balance == 0", True),
        ("roof_kind", "framed"),
        ("'frp' if skin_off else skin", "frp"),
        ("3 * cubic_foot / gallon", 22.441558441558442),  # 3 x 1728 in3 over 231 in3
    ],
)
def test_a_formula_is_worked_out_as_by_hand(text: str, value: Value) -> None:
    found = worked(text)
    assert found == value
    assert type(found) is type(value)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("roof_length * body_width", Number(AREA, False, 0.0)),
        ("0.04 * hour / foot", Number(TIME / LENGTH, False, 144 / 3048, 144 / 3048)),
        ("ac_count + 2 * vent_count", Number(NONE, True, 2.0, 60.0)),
        ("ac_count / 2", Number(NONE, False, 0.0, 10.0)),
        ("ceil(ac_count / 2)", Number(NONE, True, 0.0, 10.0)),
        ("-ac_count ** 2", Number(NONE, True, -400.0, 0.0)),
        ("(ac_count - 10) ** 2", Number(NONE, True, 0.0, 100.0)),
        ("abs(ac_count - 5)", Number(NONE, True, 0.0, 15.0)),
        ("ac_count if skin_off else 0.5", Number(NONE, False, 0.0, 20.0)),
        ("min(ac_count, 4)", Number(NONE, True, 0.0, 4.0)),
        ("clamp(balance, 1, 3)", Number(NONE, False, 1.0, 3.0)),
        ("sag * sag", Number(AREA, False, -929_030_400.0, 929_030_400.0)),  # each part is taken as free of the others
        ("sqrt(roof_area)", Number(LENGTH, False, 0.0)),
        ("3 * each", Number(NONE, True, 3.0, 3.0)),
        ("edge_sweep / (90 * degree)", Number(NONE, False, 0.0, 2.0)),
        ("skin_areal_mass * roof_area / pound", Number(NONE, False, 0.0)),
        ("ac_count > 0", Flag()),
        ("skin", Choice(SKINS)),
        ("skin if skin_off else 'none'", Choice(SKINS | {"none"})),
        ("roof_length if roof_length > 0 else 1 * foot", Number(LENGTH, False, 0.0)),
    ],
)
def test_kind_and_range_follow_from_the_measures(text: str, kind: Kind) -> None:
    assert check(text, NAMES).errors == ()
    assert check(text, NAMES).kind == kind


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("roof_area + gutter_length", "12-25: cannot add an area (roof_area) and a length (gutter_length)"),
        ("roof_area - gutter_length", "12-25: cannot subtract a length (gutter_length) from an area (roof_area)"),
        ("roof_area > gutter_length", "12-25: cannot compare an area (roof_area) and a length (gutter_length)"),
        ("max(roof_area, dry_time)", "15-23: cannot take the max of an area (roof_area) and a time (dry_time)"),
        ("clamp(roof_area, 0, dry_time)", "20-28: cannot clamp an area (roof_area) to a time (dry_time)"),
        (
            "roof_area if skin_off else dry_time",
            "27-35: cannot choose between an area (roof_area) and a time (dry_time)",
        ),
        (
            "roof_length + 3",
            "14-15: cannot add a length (roof_length) and a bare number (3): give the number a unit, such as 3 * foot",
        ),
        (
            "3 + dry_time / roof_length",
            "4-26: cannot add a bare number (3) and a time per length (dry_time / roof_length):"
            " give the number a unit, such as 3 * hour / foot",
        ),
        ("roof_lenght * 2", "0-11: there is no measure roof_lenght: did you mean roof_length?"),
        ("2 * feet", "4-8: there is no measure feet"),
        ("2 * foott", "4-9: there is no measure foott: did you mean foot?"),
        (
            "ceil(roof_length)",
            "5-16: ceil takes a plain number, and roof_length is a length: divide by a unit first,"
            " such as ceil(roof_length / foot)",
        ),
        ("skin_off * 2", "0-8: skin_off is yes or no, not a number: write 1 if skin_off else 0"),
        ("skin + 1", "0-4: skin is one of aluminium, frp, membrane, not a number: compare it, such as skin == 'aluminium'"),
        ("1 if ac_count else 0", "5-13: ac_count is a number where yes or no is wanted: write ac_count > 0"),
        ("1 if skin else 0", "5-9: skin is a choice where yes or no is wanted: compare it with == or !="),
        ("skin_off == True", "0-8: skin_off is yes or no: write skin_off or not skin_off without comparing it"),
        ("roof_length < True", "14-18: True is yes or no: write True or not True without comparing it"),
        ("+skin_off", "1-9: skin_off is yes or no, not a number: write 1 if skin_off else 0"),
        (
            "roof_kind == 'frame'",
            "13-20: roof_kind is never 'frame': did you mean 'framed'?; it is one of framed, laminated, metal",
        ),
        ("roof_kind < 'framed'", "12-20: options have no order, so < cannot compare them: write == or !="),
        ("roof_kind == skin", "13-17: skin is no quoted option to compare roof_kind with"),
        ("ac_count == 'two'", "0-8: ac_count is a whole number and has no options"),
        ("roof_area if skin_off else skin", "27-31: both arms must be of one kind: roof_area is an area and skin is one of"),
        ("sqrt(roof_length)", "5-16: the square root of a length (roof_length) is no measure"),
        ("sqrt(0 - vent_count)", "5-19: there is no square root below zero, and 0 - vent_count always is"),
        ("1 / (2 - 2)", "5-10: nothing can be divided by zero, and 2 - 2 is always 0"),
        ("1 if ac_count > 0 else 1 / ac_count", "27-35: nothing can be divided by zero, and ac_count is always 0"),
        ("ac_count > 0 or 1 / ac_count > 2", "20-28: nothing can be divided by zero, and ac_count is always 0"),
        ("roof_area ** 4 * roof_area ** 4", "0-31: a length^16 is beyond any measure"),
    ],
)
def test_what_means_nothing_is_refused_with_its_place(text: str, message: str) -> None:
    # The span of a bracketed part is that of what stands in the bracket.
    found = faults(text)
    assert len(found) == 1
    assert found[0].startswith(message)


def test_every_fault_of_a_formula_is_told_at_once_in_the_order_of_the_text() -> None:
    with pytest.raises(FormulaFaults) as raised:
        compile_formula("(roof_area + dry_time) * nothing + ceil(sag) + skin_off", NAMES)
    assert [fault.span for fault in raised.value.faults] == [(13, 21), (25, 32), (40, 43), (47, 55)]
    assert raised.value.code == "formula_faults"
    assert isinstance(raised.value, CalculationFaults)


def test_a_fault_does_not_draw_others_after_it() -> None:
    assert len(faults("ceil((roof_area + dry_time) * 2 + 3) > 0 and (roof_area + dry_time) == 'x'")) == 2


def test_both_arms_of_a_conditional_are_checked() -> None:
    assert [fault.split(":")[0] for fault in faults("(roof_area + sag) if True else (sag + dry_time)")] == ["13-16", "38-46"]


@pytest.mark.parametrize(
    "text",
    [
        "0 + roof_area",
        "roof_area - 0",
        "-0 + roof_area",
        "max(0, roof_area)",
        "roof_area if skin_off else 0",
        "0 if skin_off else roof_area",
        "roof_area > 0",
        "0 <= roof_area",
        "clamp(roof_area, 0, 9 * square_foot)",
        "min(0, 0) + roof_area",
        "abs(0) + (0 if skin_off else 0) + roof_area",
    ],
)
def test_a_bare_zero_has_any_dimension(text: str) -> None:
    assert faults(text) == []


@pytest.mark.parametrize("text", ["0 * foot + roof_area", "ac_count * 0 + roof_area", "(1 - 1) + roof_area"])
def test_a_zero_that_was_worked_out_has_its_own_dimension(text: str) -> None:
    assert len(faults(text)) == 1


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("roof_area / ac_count", (12, 20)),
        ("roof_area / (vent_count - 1)", (13, 27)),
        ("roof_area / ac_count if ac_count >= 0 else 0", (12, 20)),
        ("roof_area / ac_count if ac_count != 3 else 0", (12, 20)),
        ("roof_area / ac_count if ac_count > 0 or skin_off else 0", (12, 20)),
        ("1 / ac_count if vent_count > 0 else 0", (4, 12)),
        ("ac_count > 1 or 1 / ac_count > 2", (20, 28)),
    ],
)
def test_a_division_that_can_be_zero_is_warned_of(text: str, place: tuple[int, int]) -> None:
    assert faults(text) == []
    assert warnings(text) == [("division_can_be_zero", place)]


@pytest.mark.parametrize(
    "text",
    [
        "roof_area / vent_count",  # from 1
        "roof_area / (ac_count + 1)",
        "roof_area / max(ac_count, 1)",
        "roof_area / ac_count if ac_count > 0 else 0",
        "roof_area / ac_count if 0 < ac_count else 0",
        "roof_area / ac_count if ac_count >= 1 else 0",
        "roof_area / ac_count if ac_count == 2 else 0",
        "roof_area / ac_count if ac_count != 0 else 0",
        "0 if ac_count == 0 else roof_area / ac_count",
        "0 if ac_count <= 0 else roof_area / ac_count",
        "roof_area / ac_count if skin_off and ac_count > 0 else 0",
        "0 if skin_off or not ac_count > 0 else roof_area / ac_count",
        "roof_area / ac_count if not (ac_count == 0 or skin_off) else 0",
        "roof_area / (ac_count - 2) if ac_count - 2 != 0 else 0",
        "roof_area / (ac_count * foot * sqrt(ac_count)) if ac_count > 0 else 0",
        "roof_area / ac_count ** 2 if 0 < ac_count < 9 else 0",
        "roof_area / sag if sag < 0 else 0",
        "ac_count > 0 and 1 / ac_count > 2",
        "ac_count == 0 or 1 / ac_count > 2",
        "(1 / ac_count if skin_off else 2 / ac_count) if ac_count > 0 else 0",
    ],
)
def test_a_guarded_division_is_not_warned_of(text: str) -> None:
    assert faults(text) == []
    assert warnings(text) == []


def test_a_root_that_can_be_negative_is_warned_of() -> None:
    assert warnings("sqrt(balance)") == [("root_can_be_negative", (5, 12))]
    assert warnings("sqrt(max(balance, 0))") == warnings("sqrt(balance) if balance > 0 else 0") == []


EACH = Number(NONE, True, 0.0)


@pytest.mark.parametrize(
    "text", ["ac_count", "ceil(roof_length / foot)", "3 * vent_count", "ac_count if skin_off else 0", "max(0, 2.0)"]
)
def test_an_each_slot_takes_a_whole_number(text: str) -> None:
    assert faults(text, EACH) == []


def test_an_each_slot_says_that_it_wants_a_whole_number() -> None:
    wanted = 'an "each" slot wants a whole number, and this can have a fraction: use ceil(...), floor(...) or round(...)'
    assert faults("gutter_length / (8 * foot)", EACH) == [f"0-26: {wanted}"]
    assert faults("ac_count * 0.5", EACH) == [f"0-14: {wanted}"]


@pytest.mark.parametrize(
    ("text", "expects", "message"),
    [
        ("roof_area", LENGTH, "0-9: a length is wanted here, and this is an area"),
        ("skin_off", AREA, "0-8: skin_off is yes or no, not a number: write 1 if skin_off else 0"),
        ("ac_count", Flag(), "0-8: ac_count is a number where yes or no is wanted: write ac_count > 0"),
        ("1", Flag(), "0-1: 1 is a number where yes or no is wanted: write True or False"),
        ("skin", Flag(), "0-4: skin is a choice where yes or no is wanted: compare it with == or !="),
        ("'foam'", Choice(SKINS), "0-6: one of aluminium, frp, membrane is wanted here, and this is one of foam"),
        ("-3 * foot", Number(LENGTH, False, 0.0), "0-9: 0 ft or more is wanted here, and this is always -3 ft"),
        ("2", Number(NONE, False, 0.0, 1.0), "0-1: from 0 to 1 is wanted here, and this is always 2"),
    ],
)
def test_a_place_says_what_it_wants(text: str, expects: Kind | Dimension, message: str) -> None:
    assert faults(text, expects) == [message]


def test_a_number_that_may_leave_the_range_of_its_place_is_warned_of() -> None:
    assert warnings("ac_count - vent_count", EACH) == [("can_leave_range", (0, 21))]
    assert warnings("max(0, ac_count - vent_count)", EACH) == []


def test_a_bare_zero_fits_a_place_of_any_dimension() -> None:
    assert check("0", NAMES, AREA).kind == Number(AREA, False, 0.0, 0.0)


def test_the_measures_that_a_formula_reads_are_listed_once() -> None:
    # A condition comes before its arms.
    assert compile_formula("sag + (roof_length if skin_off else sag)", NAMES).inputs == ("sag", "skin_off", "roof_length")


def test_a_measure_cannot_be_called_like_a_word_of_the_language() -> None:
    with pytest.raises(ReservedNameError, match="day is a word of the language"):
        check("1", {"day": Number()})


@pytest.mark.parametrize(
    ("low", "high", "dimension", "whole"), [(3.0, 2.0, NONE, False), (math.nan, 1.0, NONE, False), (0.0, 1.0, AREA, True)]
)
def test_a_kind_that_nothing_can_have_is_refused(low: float, high: float, dimension: Dimension, whole: bool) -> None:
    with pytest.raises(BadKindError):
        Number(dimension, whole, low, high)


def failure(text: str, **values: Value) -> tuple[str, str]:
    formula = compile_formula(text, NAMES)
    with pytest.raises(FormulaError) as raised:
        formula(ROOF | values)
    with pytest.raises(FormulaError) as explained:
        formula.explain(ROOF | values)
    with pytest.raises(FormulaError) as in_row:
        compile_rows([formula])(ROOF | values)
    assert str(raised.value) == str(explained.value) == str(in_row.value)
    return raised.value.code, raised.value.message


@pytest.mark.parametrize(
    ("text", "values", "code", "message"),
    [
        ("roof_area / balance", {}, "division_by_zero", "12-19: balance is 0, and nothing can be divided by zero"),
        (
            "sqrt(balance)",
            {"balance": -1.0},
            "negative_root",
            "5-12: balance is below zero, and there is no square root of that",
        ),
        ("roof_area ** 4 / foot", {"roof_area": 1e300}, "not_finite", "0-14: this is not a finite number"),
        ("balance * 2", {"balance": 1e308}, "not_finite", "0-11: the result is not a finite number"),
        ("balance - balance", {"balance": math.inf}, "not_finite", "0-17: the result is not a finite number"),
        ("ceil(balance)", {"balance": math.inf}, "not_finite", "0-13: this is not a finite number"),
        ("balance * 2", {"balance": "3"}, "bad_value", "0-7: balance must be a plain number, not '3'"),
        ("1 if skin_off else 2", {"skin_off": "no"}, "bad_value", "5-13: skin_off must be yes or no, not 'no'"),
        ("skin == 'frp'", {"skin": "foam"}, "bad_value", "0-4: skin must be one of aluminium, frp, membrane, not 'foam'"),
        ("ac_count * 2", {"ac_count": 10**400}, "bad_value", "0-8: ac_count must be a whole number, not 1000"),
    ],
)
def test_a_formula_that_cannot_be_worked_out_tells_where(text: str, values: dict[str, Value], code: str, message: str) -> None:
    found = failure(text, **values)
    assert found[0] == code
    assert found[1].startswith(message)


def test_a_missing_measure_is_told_even_where_its_arm_is_not_taken() -> None:
    formula = compile_formula("1 if skin_off else balance", NAMES)
    with pytest.raises(FormulaError) as raised:
        formula({"skin_off": True})
    assert (raised.value.code, raised.value.message) == ("no_value", "19-26: there is no value for balance")


def test_a_division_by_zero_behind_its_guard_is_never_worked_out() -> None:
    text = "roof_area / balance if balance != 0 else 0"
    formula = compile_formula(text, NAMES)
    assert formula(ROOF) == formula.explain(ROOF).value == compile_rows([formula])(ROOF)[0] == 0.0


def test_an_explanation_shows_each_part_in_the_unit_in_which_it_is_entered() -> None:
    explained = compile_formula("ceil(roof_area * 2 / (32 * square_foot)) if skin_off else 0", NAMES).explain(
        ROOF, {"roof_area": "roof plan"}
    )
    assert explained.value == 17.0
    assert [(step.text, step.value, step.unit, step.note) for step in explained.steps] == [
        ("skin_off", True, "", ""),
        ("roof_area", 272.0, "ft2", "roof plan"),
        ("roof_area * 2", 544.0, "ft2", ""),
        ("32 * square_foot", 32.0, "ft2", ""),
        ("roof_area * 2 / (32 * square_foot)", 17.0, "each", ""),
        ("ceil(roof_area * 2 / (32 * square_foot))", 17.0, "each", ""),
        ("ceil(roof_area * 2 / (32 * square_foot)) if skin_off else 0", 17.0, "each", "skin_off is yes"),
    ]


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("roof_length", 34.0, "ft"),
        ("roof_length * body_width * inch", 169.55844155844156, "gal"),  # 272/12 ft3 of 1728 in3 over 231 in3
        ("90 * minute", 1.5, "h"),
        ("2 * ton", 4000.0, "lb"),
        ("3 * pound / square_foot", 3.0, "lb/ft2"),
        ("0.04 * hour / foot", 0.04, "h/ft"),
        ("3 * hour * pound / square_foot ** 2", 3.0, "lb*h/ft4"),
        ("2 / foot", 2.0, "1/ft"),
        ("45 * degree", 45.0, "deg"),
        ("splinter_share", 0.4, "share"),
        ("ac_count", 2.0, "each"),
        ("roof_length / body_width", 4.25, "each"),
        ("7", 7.0, "each"),
    ],
)
def test_a_value_is_shown_in_the_entry_unit_of_its_dimension(text: str, value: float, unit: str) -> None:
    step = compile_formula(text, NAMES).explain(ROOF).steps[-1]
    assert step.value == pytest.approx(value, rel=1e-12)
    assert step.unit == unit


def test_an_option_and_a_flag_are_shown_without_a_unit() -> None:
    for text, value in (("roof_kind", "framed"), ("not skin_off", False)):
        step = compile_formula(text, NAMES).explain(ROOF).steps[-1]
        assert (step.value, step.unit) == (value, "")


def test_the_entry_unit_of_a_volume_is_the_gallon() -> None:
    assert entry_unit(VOLUME).symbol == "gal"
    assert entry_unit(VOLUME).factor == 3_785_411_784


def test_a_plus_sign_changes_nothing() -> None:
    explained = compile_formula("-(+ac_count) + +vent_count", NAMES).explain(ROOF)
    assert [(step.text, step.value) for step in explained.steps] == [
        ("ac_count", 2.0),
        ("+ac_count", 2.0),
        ("-(+ac_count)", -2.0),
        ("vent_count", 1.0),
        ("+vent_count", 1.0),
        ("-(+ac_count) + +vent_count", -1.0),
    ]


def test_an_explanation_says_what_decided() -> None:
    steps = {
        step.text: step.note for step in compile_formula("indoor_bay or skin_off or balance > 1", NAMES).explain(ROOF).steps
    }
    assert steps["indoor_bay or skin_off or balance > 1"] == "skin_off is yes"
    assert "balance" not in steps


def test_the_same_text_over_the_same_names_is_compiled_once() -> None:
    assert compile_formula("roof_area * 2", NAMES) is compile_formula("roof_area * 2", NAMES)
    assert compile_formula("roof_area * 2", NAMES) is not compile_formula("roof_area * 2", dict(NAMES))
    assert compile_formula("0", NAMES, AREA) is not compile_formula("0", NAMES, LENGTH)


def test_a_row_gives_every_formula_in_order_and_works_out_common_parts_once() -> None:
    texts = ("ceil(roof_length / foot) * 2", "ceil(roof_length / foot)", "roof_kind", "not skin_off", "roof_kind == 'framed'")
    row = compile_rows([compile_formula(text, NAMES) for text in texts])
    assert row(ROOF) == (68.0, 34.0, "framed", False, True)
    assert compile_rows([])(ROOF) == ()


def test_a_row_keeps_what_stands_behind_a_guard_behind_it() -> None:
    texts = ("1 / balance if balance > 0 else 0", "2 * (1 / balance) if balance > 0 else 0", "3 + balance")
    row = compile_rows([compile_formula(text, NAMES) for text in texts])
    assert row(ROOF) == (0.0, 0.0, 3.0)
    assert row(ROOF | {"balance": 2.0}) == (0.5, 1.0, 5.0)


def test_a_row_whose_sum_overflows_still_gives_its_finite_values() -> None:
    row = compile_rows([compile_formula("balance", NAMES), compile_formula("balance * 1", NAMES)])
    assert row({"balance": 1.5e308}) == (1.5e308, 1.5e308)


def test_a_row_refuses_one_name_with_two_kinds() -> None:
    one, other = compile_formula("x", {"x": Number()}), compile_formula("x", {"x": Flag()})
    with pytest.raises(BadKindError, match="x is a plain number in one formula and yes or no in another"):
        compile_rows([one, other])


def test_a_row_of_typical_formulas_equals_the_arithmetic_written_out_by_hand() -> None:
    kinds, values = bench_formula.names(), bench_formula.values()
    formulas = [compile_formula(text, kinds) for text, _ in bench_formula.FORMULAS]
    used = list(dict.fromkeys(name for formula in formulas for name in formula.inputs))
    plain = bench_formula.native([expression for _, expression in bench_formula.FORMULAS], used, single=False)
    assert compile_rows(formulas)(values) == pytest.approx(plain(values), rel=1e-12)


def test_formulas_that_read_each_other_are_put_in_order() -> None:
    formulas = {"total": "base + extra", "extra": "base * 0.1", "base": "roof_area * 2", "alone": "1"}
    ordered = order(formulas)
    assert sorted(ordered) == sorted(formulas)
    assert ordered.index("base") < ordered.index("extra") < ordered.index("total")


def test_a_loop_of_formulas_is_named() -> None:
    with pytest.raises(FormulaLoopError) as raised:
        order({"a": "b + 1", "b": "c * 2", "c": "a", "d": "a"})
    loop = raised.value.value
    assert isinstance(loop, list)
    # Around the loop from anywhere: a reads b, b reads c, c reads a.
    assert " ".join(loop) in ("a b c a", "b c a b", "c a b c")
    assert raised.value.message.endswith(" -> ".join(loop))


def test_every_loop_is_named_and_every_text_that_cannot_be_read() -> None:
    with pytest.raises(CalculationFaults) as loops:
        order({"a": "a", "b": "c", "c": "b"})
    assert [fault.code for fault in loops.value.faults] == ["formula_loop", "formula_loop"]
    with pytest.raises(CalculationFaults) as unread:
        order({"a": "1 +", "b": "a", "c": "(("})
    assert [(fault.code, fault.field) for fault in unread.value.faults] == [("formula_faults", "a"), ("formula_faults", "c")]
