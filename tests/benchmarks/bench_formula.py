"""How fast are formulas beside Python written by hand? Run with ``python -m tests.benchmarks.bench_formula``.

Prints ratios of one run only, each the median of many rounds in which both sides take turns: a formula's call
to a native function that does the same arithmetic on the same mapping, and one row function over all formulas
to one plain function.
"""

import statistics
import time
from collections.abc import Callable, Mapping

from costbase.calc.formula import Choice, Flag, Kind, Number, Value, compile_formula, compile_rows
from costbase.calc.units import AREA, AREAL_MASS, LENGTH, NONE, TIME, ceil_tolerant, floor_tolerant

TARGET_ROW = 1.35
TARGET_CALL = 3.2

LENGTHS = [
    "roof_length",
    "body_width",
    "perimeter",
    "side_edge_length",
    "cap_joint_length",
    "visible_width",
    "developed_width",
    "vent_flange_length",
    "stack_flange_length",
    "small_flange_length",
    "pad_length",
    "penetration_length",
    "deck_joint_length",
    "old_bead_length",
    "core_thickness",
    "wall_top_rot_length",
    "cap_crack_length",
    "added_trim_length",
    "step_joint_length",
    "rafter_length",
    "rafter_repair_length",
    "cap_backing_rot_length",
    "cap_reseal_length",
    "close_up_length",
    "slide_seal_length",
    "rafter_spacing",
]
AREAS = [
    "skin_area",
    "deck_area",
    "deck_replaced_area",
    "foam_replaced_area",
    "plan_area",
    "old_coated_area",
    "mold_area",
    "coat_area",
    "ceiling_area",
]
COUNTS = [
    "ac_count",
    "vent_count",
    "skylight_count",
    "stack_count",
    "fridge_vent_count",
    "antenna_count",
    "ladder_foot_count",
    "cable_entry_count",
    "marker_light_count",
    "brace_count",
    "backing_count",
    "spun_nut_count",
    "wiring_repair_count",
    "cross_seam_count",
    "captive_nut_count",
    "deck_sheets",
    "opening_count",
    "swap_sheet_count",
]
SHARES = ["splinter_share"]
TIMES = ["dry_days", "open_days"]
FLAGS = ["skin_off", "dust_work", "indoor_bay", "reuse_fittings", "over_silicone"]

# A formula as a manager writes it, and the same arithmetic as a programmer would write it over canonical
# floats.
FORMULAS: list[tuple[str, str]] = [
    ("plan_area * 1.5", "plan_area * 1.5"),
    ("0 if indoor_bay else 1", "0.0 if indoor_bay else 1.0"),
    ("min(1, ac_count) if skin_off else 0", "min(1.0, ac_count) if skin_off else 0.0"),
    ("open_days if not indoor_bay else 0", "open_days if not indoor_bay else 0.0"),
    ("antenna_count + min(1, ladder_foot_count)", "antenna_count + min(1.0, ladder_foot_count)"),
    (
        "vent_count + skylight_count + stack_count + fridge_vent_count",
        "vent_count + skylight_count + stack_count + fridge_vent_count",
    ),
    ("0.05 * hour / foot * perimeter", "0.05 * 3600.0 / 3048.0 * perimeter"),
    ("0.03 * hour / foot * old_bead_length", "0.03 * 3600.0 / 3048.0 * old_bead_length"),
    ("old_bead_length / (150 * foot)", "old_bead_length / 457200.0"),
    (
        "0 * square_foot if skin_off else old_coated_area + added_trim_length * 2 * foot",
        "0.0 if skin_off else old_coated_area + added_trim_length * 2.0 * 3048.0",
    ),
    ("skin_area if skin_off else 0", "skin_area if skin_off else 0.0"),
    ("deck_replaced_area * (1 - splinter_share)", "deck_replaced_area * (1.0 - splinter_share)"),
    ("deck_replaced_area * splinter_share", "deck_replaced_area * splinter_share"),
    ("dry_days / day", "dry_days / 86400.0"),
    ("mold_area / (250 * square_foot)", "mold_area / 2322576000.0"),
    ("wiring_repair_count * 1.5 * hour", "wiring_repair_count * 1.5 * 3600.0"),
    ("wall_top_rot_length * 2", "wall_top_rot_length * 2.0"),
    ("wall_top_rot_length / (8 * foot)", "wall_top_rot_length / 24384.0"),
    (
        "foam_replaced_area / (32 * square_foot) * core_thickness / (2.5 * inch)",
        "foam_replaced_area / 297289728.0 * core_thickness / 635.0",
    ),
    ("foam_replaced_area / (100 * square_foot)", "foam_replaced_area / 929030400.0"),
    ("foam_replaced_area / (40 * square_foot)", "foam_replaced_area / 371612160.0"),
    (
        "brace_count * (2 * (body_width - 4 * inch) + 2 * 15 * inch)",
        "brace_count * (2.0 * (body_width - 1016.0) + 7620.0)",
    ),
    ("brace_count * 5", "brace_count * 5.0"),
    ("brace_count * 16", "brace_count * 16.0"),
    ("backing_count * 6 * foot", "backing_count * 6.0 * 3048.0"),
    ("backing_count * 0.5", "backing_count * 0.5"),
    ("spun_nut_count * 0.25 * hour", "spun_nut_count * 0.25 * 3600.0"),
    ("deck_replaced_area / (100 * square_foot)", "deck_replaced_area / 929030400.0"),
    ("deck_replaced_area / square_foot * 2", "deck_replaced_area / 9290304.0 * 2.0"),
    ("deck_joint_length / (180 * foot)", "deck_joint_length / 548640.0"),
    ("roof_length + 1 * foot", "roof_length + 3048.0"),
    ("skin_area / (100 * square_foot)", "skin_area / 929030400.0"),
    ("skin_area / (81 * square_foot)", "skin_area / 752514624.0"),
    ("ceil(perimeter / (4 * inch))", "ceil_tolerant(perimeter / 1016.0)"),
    ("2 * (ceil(roof_length / (4 * inch)) + 1)", "2.0 * (ceil_tolerant(roof_length / 1016.0) + 1.0)"),
    ("2 * (ceil(visible_width / (3 * inch)) + 1)", "2.0 * (ceil_tolerant(visible_width / 762.0) + 1.0)"),
    ("cap_crack_length * 0.08 * gallon / foot", "cap_crack_length * 0.08 * 3785411784.0 / 3048.0"),
    ("cap_crack_length * 0.4 * square_foot / foot", "cap_crack_length * 0.4 * 9290304.0 / 3048.0"),
    ("cap_crack_length * 0.15 * quart / foot", "cap_crack_length * 0.15 * 946352946.0 / 3048.0"),
    ("vent_count * (0 if reuse_fittings else 1)", "vent_count * (0.0 if reuse_fittings else 1.0)"),
    ("skylight_count * (0 if reuse_fittings else 1)", "skylight_count * (0.0 if reuse_fittings else 1.0)"),
    ("fridge_vent_count * (0 if reuse_fittings else 1)", "fridge_vent_count * (0.0 if reuse_fittings else 1.0)"),
    ("marker_light_count * (0 if reuse_fittings else 1)", "marker_light_count * (0.0 if reuse_fittings else 1.0)"),
    (
        "perimeter * 0.375 * inch * 0.1875 * inch / (10.1 * fluid_ounce)",
        "perimeter * 0.375 * 254.0 * 0.1875 * 254.0 / 298692648.58125",
    ),
    (
        "(vent_flange_length + stack_flange_length) * 1.5 * inch * 0.25 * inch / (10.3 * fluid_ounce)",
        "(vent_flange_length + stack_flange_length) * 1.5 * 254.0 * 0.25 * 254.0 / 304607354.49375",
    ),
    (
        "(pad_length + small_flange_length) * 1.5 * inch * 0.25 * inch / (10.3 * fluid_ounce)",
        "(pad_length + small_flange_length) * 1.5 * 254.0 * 0.25 * 254.0 / 304607354.49375",
    ),
    ("pad_length + small_flange_length", "pad_length + small_flange_length"),
    ("antenna_count * 16 + cable_entry_count * 7", "antenna_count * 16.0 + cable_entry_count * 7.0"),
    ("ac_count if skin_off else 0", "ac_count if skin_off else 0.0"),
    ("cross_seam_count * visible_width", "cross_seam_count * visible_width"),
    ("cross_seam_count * 2", "cross_seam_count * 2.0"),
    ("2 * step_joint_length", "2.0 * step_joint_length"),
    ("rafter_repair_length / foot * 3", "rafter_repair_length / 3048.0 * 3.0"),
    ("cap_backing_rot_length * 2", "cap_backing_rot_length * 2.0"),
    ("close_up_length * 2", "close_up_length * 2.0"),
    (
        "0 if over_silicone else coat_area * 2 / (80 * square_foot)",
        "0.0 if over_silicone else coat_area * 2.0 / 743224320.0",
    ),
    (
        "coat_area * 2 / (75 * square_foot) if over_silicone else 0",
        "coat_area * 2.0 / 696772800.0 if over_silicone else 0.0",
    ),
    ("cap_reseal_length / foot * 4", "cap_reseal_length / 3048.0 * 4.0"),
    ("swap_sheet_count * 32 * square_foot", "swap_sheet_count * 32.0 * 9290304.0"),
    ("skin_area * old_skin_areal_mass if skin_off else 0", "skin_area * old_skin_areal_mass if skin_off else 0.0"),
    ("deck_area - deck_replaced_area if skin_off else 0", "deck_area - deck_replaced_area if skin_off else 0.0"),
    (
        "max(0, deck_replaced_area - foam_replaced_area) + (0.2 * (deck_area - deck_replaced_area) if skin_off else 0)",
        "max(0.0, deck_replaced_area - foam_replaced_area) + (0.2 * (deck_area - deck_replaced_area) if skin_off else 0.0)",
    ),
    ("rafter_length - rafter_repair_length if skin_off else 0", "rafter_length - rafter_repair_length if skin_off else 0.0"),
    (
        "(floor(roof_length / rafter_spacing) + 1) * body_width if rafter_spacing > 0 else 0",
        "(floor_tolerant(roof_length / rafter_spacing) + 1.0) * body_width if rafter_spacing > 0 else 0.0",
    ),
    ("max(0, ac_count - brace_count) if skin_off else 0", "max(0.0, ac_count - brace_count) if skin_off else 0.0"),
    (
        "max(0, opening_count - ac_count - backing_count) if skin_off else 0",
        "max(0.0, opening_count - ac_count - backing_count) if skin_off else 0.0",
    ),
    ("captive_nut_count - spun_nut_count if skin_off else 0", "captive_nut_count - spun_nut_count if skin_off else 0.0"),
    ("skin_off and dust_work", "skin_off and dust_work"),
    ("roof_kind == 'framed'", "roof_kind == 'framed'"),
    ("roof_kind != 'metal' and ac_count > 0", "roof_kind != 'metal' and ac_count > 0"),
    ("0.5 * hour + 0.02 * hour / foot * side_edge_length", "1800.0 + 0.02 * 3600.0 / 3048.0 * side_edge_length"),
    ("max(2 * hour, 0.1 * hour * deck_sheets)", "max(7200.0, 0.1 * 3600.0 * deck_sheets)"),
]
# The formulas whose calls are timed one by one: the shortest, and typical ones of each sort.
CALLS = (0, 2, 5, 18, 21, 34, 44, 61, 63)


def names() -> dict[str, Kind]:
    """Kinds of the measures."""
    kinds: dict[str, Kind] = {name: Number(LENGTH, False, 0.0) for name in LENGTHS}
    kinds |= {name: Number(AREA, False, 0.0) for name in AREAS} | {name: Number(TIME, False, 0.0) for name in TIMES}
    kinds |= {name: Number(NONE, True, 0.0) for name in COUNTS} | {name: Number(NONE, False, 0.0, 1.0) for name in SHARES}
    kinds |= {name: Flag() for name in FLAGS}
    return kinds | {
        "old_skin_areal_mass": Number(AREAL_MASS, False, 0.0),
        "roof_kind": Choice(frozenset(("laminated", "framed", "metal"))),
    }


def values() -> dict[str, Value]:
    """Measures of an invented roof, canonical."""
    found: dict[str, Value] = {name: 3048.0 * (place + 1.5) for place, name in enumerate(LENGTHS)}
    found |= {name: 9290304.0 * (40.0 + 10 * place) for place, name in enumerate(AREAS)}
    found |= {name: float(place % 5) for place, name in enumerate(COUNTS)} | {name: 86400.0 for name in TIMES}
    found |= {name: place % 2 == 0 for place, name in enumerate(FLAGS)}
    return found | {"splinter_share": 0.4, "old_skin_areal_mass": 2.9, "roof_kind": "framed"}


def native(expressions: list[str], used: list[str], single: bool) -> Callable[[Mapping[str, Value]], object]:
    """A plain function of these expressions over a mapping, as somebody would write it out."""
    reads = "".join(f"    {name} = values[{name!r}]\n" for name in used)
    result = expressions[0] if single else f"({', '.join(expressions)})"
    scope: dict[str, object] = {"ceil_tolerant": ceil_tolerant, "floor_tolerant": floor_tolerant}
    exec(f"def plain(values):\n{reads}    return {result}\n", scope)
    function = scope["plain"]
    assert callable(function)
    return function


def ratio(first: Callable[[Mapping[str, Value]], object], second: Callable[[Mapping[str, Value]], object], calls: int) -> float:
    """Time of the first over time of the second: the median over rounds in which they take turns."""
    measured = values()
    found = []
    for _ in range(41):
        times = []
        for function in (first, second):
            begun = time.perf_counter()
            for _ in range(calls):
                function(measured)
            times.append(time.perf_counter() - begun)
        found.append(times[0] / times[1])
    return statistics.median(found)


def main() -> None:
    """Prints the ratios."""
    kinds = names()
    formulas = [compile_formula(text, kinds) for text, _ in FORMULAS]
    singles = []
    for place in CALLS:
        formula = formulas[place]
        plain = native([FORMULAS[place][1]], list(formula.inputs), single=True)
        singles.append(ratio(formula, plain, 2000))
        print(f"call / native function: {singles[-1]:.2f}  {formula.text}")
    print(f"one formula call / native function: {min(singles):.2f} to {max(singles):.2f} (target 1.0 to {TARGET_CALL})")
    used = list(dict.fromkeys(name for formula in formulas for name in formula.inputs))
    plain_row = native([expression for _, expression in FORMULAS], used, single=False)
    found = ratio(compile_rows(formulas), plain_row, 200)
    print(f"row of {len(formulas)} formulas / plain Python: {found:.2f} (target {TARGET_ROW})")


if __name__ == "__main__":
    main()
