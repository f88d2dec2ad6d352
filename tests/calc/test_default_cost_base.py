"""The default cost base loads as a whole, holds together, and takes off the sample coaches to four decimals."""

from dataclasses import replace
from decimal import Decimal

import pytest

from costbase.calc.assemblies import Assembly
from costbase.calc.checks import FoamError, check_assembly, check_editions
from costbase.calc.cost_base import Material, TierTable
from costbase.calc.errors import CalculationFaults
from costbase.calc.formula import compile_formula
from costbase.calc.measures import MEASURES, Value, derive, names, over_sections
from costbase.calc.units import in_unit, round_half_up
from tests.calc.worked_lines import (
    ASSEMBLY_CODES,
    FRAMED,
    LAMINATED,
    LAMINATED_SKIN,
    MATERIAL_CODES,
    Line,
)
from tests.default_base import editions, stagings, values
from tests.sample_coaches import FRAMED as FRAMED_COACH
from tests.sample_coaches import LAMINATED as LAMINATED_COACH
from tests.sample_coaches import measures

TakenOff = dict[str, tuple[float, str, dict[str, float]]]


def test_every_file_of_the_default_base_is_staged_without_a_fault() -> None:
    assert [fault for staging in stagings() for fault in staging.faults] == []


# Beside the 69 of the worked example.
OUR_OWN = {
    "look-edge-open", "look-shroud-off", "look-trim-off", "look-lane-metered", "deck-patch", "deck-patch-on-rafters",
    "skin-lap",
}  # fmt: skip


def test_the_default_base_holds_74_materials_69_assemblies_and_our_own_12_components_8_plans_and_7_conditions() -> None:
    base = editions()
    assert len(base.materials) == 74
    assert len(base.prices) == 74
    assert len(base.assemblies) == 69 + len(OUR_OWN)
    assert len(base.components) == 12
    assert len(base.plans) == 8
    assert len(base.conditions) == 7
    assert set(base.trades) == {"lead-technician", "technician", "helper", "fabricator", "estimator"}


def test_every_code_of_the_worked_example_stands_for_an_entry_of_its_own() -> None:
    base = editions()
    assert len(MATERIAL_CODES) == 74
    assert set(MATERIAL_CODES.values()) == set(base.materials) == set(base.prices)
    assert len(ASSEMBLY_CODES) == 69
    assert set(ASSEMBLY_CODES.values()) == set(base.assemblies) - OUR_OWN


def test_no_slug_is_a_code_of_letters_and_numbers() -> None:
    for slug in (*editions().materials, *editions().assemblies):
        assert slug.split("-")[0].isalpha(), slug
        assert len(slug.split("-")[0]) > 1, slug


def test_the_default_base_holds_together_and_leaves_no_doubt() -> None:
    assert check_editions(editions()) == ()


def test_the_slugs_that_other_parts_rely_on_are_there() -> None:
    # Quick prices and hidden work are known under these names.
    wanted = {"membrane-per-foot", "deck-sheet-swap", "cap-reseal", "vent-reinstall", "bracing-add"}
    assert wanted <= set(editions().assemblies)


def seen_by_level(coach: dict[str, str | bool], skin: str) -> dict[str, dict[str, Value]]:
    """The measures that formulas of each level see of a coach with one section."""
    given = {**measures(coach), "skin": skin}
    quote = derive("quote", {slug: value for slug, value in given.items() if MEASURES[slug].level == "quote"})
    section = derive("section", {**quote, **given})
    return {"section": section, "quote": {**quote, **over_sections([section])}}


def taken_off(coach: dict[str, str | bool], plan: str, skin: str) -> TakenOff:
    """Driver, hours and needs of every assembly of the plan that there is any of, straight from the formulas."""
    base = editions()
    seen = seen_by_level(coach, skin)
    found: TakenOff = {}
    for slug in base.plans[plan].assemblies:
        assembly = base.assemblies[slug]
        fits = assembly.skin in ("", skin) and seen["section"]["roof_kind"] in assembly.constructions
        line = _line(assembly, seen[assembly.level]) if fits else None
        if line is not None:
            found[slug] = line
    return found


def _line(assembly: Assembly, seen: dict[str, Value]) -> tuple[float, str, dict[str, float]] | None:
    def worked(text: str) -> float:
        return float(compile_formula(text, names(assembly.level))(seen))

    driver = worked(assembly.driver)
    if not compile_formula(assembly.applies, names(assembly.level))(seen) or driver == 0:
        return None
    hours = Decimal(0)
    for rate in assembly.labour:
        set_up = assembly.set_up_hours if rate.trade == assembly.set_up_trade else 0.0
        hours += Decimal(f"{round_half_up(in_unit(driver * worked(rate.rate), 'h') + set_up, 4):.4f}")
    needs = {need.material: _in_use(need.material, worked(need.quantity)) for need in assembly.materials}
    amount = round_half_up(in_unit(driver, assembly.driver_unit), 4)
    return amount, str(hours), {material: need for material, need in needs.items() if need}


def _in_use(material: str, need: float) -> float:
    return round_half_up(in_unit(need, editions().materials[material].unit), 4)


def as_taken_off(lines: tuple[Line, ...]) -> TakenOff:
    return {slug: (driver, hours, needs) for _, slug, driver, hours, needs in lines}


@pytest.mark.parametrize("skin", ["frp", "membrane", "aluminium"])
def test_the_laminated_coach_takes_the_work_and_material_worked_by_hand(skin: str) -> None:
    assert taken_off(LAMINATED_COACH, "full-rebuild", skin) == as_taken_off((*LAMINATED, LAMINATED_SKIN[skin]))


def test_the_framed_coach_takes_the_work_and_material_worked_by_hand() -> None:
    assert taken_off(FRAMED_COACH, "skin-over-kept-deck", "membrane") == as_taken_off(FRAMED)


def test_the_codes_of_the_worked_lines_stand_for_their_assemblies() -> None:
    for code, slug, *_ in (*LAMINATED, *LAMINATED_SKIN.values(), *FRAMED):
        assert ASSEMBLY_CODES[code] == slug


@pytest.mark.parametrize(
    ("skin", "hours"),
    # Sums of the hours of every trade, worked by hand with the same lines.
    [("frp", "175.9849"), ("membrane", "170.6994"), ("aluminium", "174.2230")],
)
def test_the_hours_of_the_laminated_coach_add_up(skin: str, hours: str) -> None:
    total = sum((Decimal(line[1]) for line in taken_off(LAMINATED_COACH, "full-rebuild", skin).values()), Decimal(0))
    assert str(total) == hours


def test_the_hours_of_the_framed_coach_add_up() -> None:
    lines = taken_off(FRAMED_COACH, "skin-over-kept-deck", "membrane")
    assert str(sum((Decimal(line[1]) for line in lines.values()), Decimal(0))) == "84.0923"


# Work that neither sample coach needs, each worked by hand on the laminated one: what is asked for, then driver, hours with
# set-up, and needs. A bead is 0.84375 in3/ft of 18.22734375 in3, a pour round a vent 25.5 of 18.58828125 in3.
ASKED_FOR: tuple[tuple[str, dict[str, str | bool], float, str, dict[str, float]], ...] = (
    # 146.815594 + 10 x 2 ft2, x 0.08 h.
    ("coating-off", {"skin_off": False, "added_trim_length": "10 ft"}, 166.8156, "13.3452", {}),
    ("mold-cleaning", {"mold_area": "50 ft2"}, 50.0, "3.5000", {"mold-cleaner": 0.2}),
    ("vermin-removal", {"vermin_zone_count": "2 each"}, 2.0, "7.0000", {"protective-set": 2}),
    ("section-step", {"step_joint_length": "8 ft"}, 8.0, "3.7000",
     {"step-flashing-8-ft": 8, "butyl-tape-1-in": 16, "perimeter-sealant-10-1-oz": 0.7406}),
    ("slide-roof", {"slide_roof_area": "57 ft2", "slide_seal_length": "30 ft"}, 57.0, "9.9800",
     {"tpo-membrane-45-thou": 6, "membrane-adhesive-water-based": 0.7037, "slide-room-seal": 30, "butyl-tape-1-in": 30,
      "perimeter-sealant-10-1-oz": 1.3887}),
    ("shoring", {"shore_zone_count": "2 each"}, 2.0, "4.0000", {"rafter-timber-2-by-4-in": 48}),
    ("re-crown", {"sag_zone_count": "1 each"}, 1.0, "5.0000", {"structural-adhesive-10-1-oz": 2}),
    ("ceiling-panel", {"ceiling_area": "64 ft2"}, 64.0, "8.6800", {"ceiling-panel": 2}),
    ("circuit-rerun", {"circuit_rerun_count": "1 each"}, 1.0, "2.5000", {"branch-circuit-set-30-ft": 1}),
    ("storage-day", {"storage_days": "3 day"}, 3.0, "0", {"bay-day": 3}),
    ("rafter-repair", {"rafter_repair_length": "10 ft"}, 10.0, "3.4000",
     {"rafter-timber-2-by-4-in": 10, "deck-screw-1-5-8-in": 30}),
    ("batt-replace", {"batt_replaced_area": "44 ft2"}, 44.0, "2.7000", {"glass-batt-2-1-2-in": 44}),
    ("cap-backing", {"cap_backing_rot_length": "4 ft"}, 4.0, "4.2000",
     {"framing-strip-1-by-4-in": 8, "structural-adhesive-10-1-oz": 1}),
    ("close-up", {"close_up_length": "10 ft"}, 10.0, "4.4000", {"close-up-cover": 10, "butyl-tape-1-in": 20}),
    ("look-first", {"look_first_count": "2 each"}, 2.0, "7.0000", {"butyl-tape-1-in": 20, "self-levelling-sealant-10-3-oz": 6}),
    # 8 ft x 0.12 h and half an hour of set-up; 96 in x 1/2 x (3/8 in)^2 = 6.75 cu in of 18.22734375 a cartridge.
    ("look-edge-open", {"look_edge_length": "8 ft"}, 8.0, "1.4600",
     {"butyl-tape-1-in": 8, "perimeter-sealant-10-1-oz": 0.3703}),
    ("look-shroud-off", {"look_shroud_count": "2 each"}, 2.0, "1.5000", {}),
    ("look-trim-off", {"look_trim_count": "3 each"}, 3.0, "1.2000", {}),
    ("look-lane-metered", {"look_lane_count": "2 each"}, 2.0, "1.6000", {}),
    # 24 ft round patches of 16 ft2 from one sheet: 24 x 0.12 h and 0.75 h; 16 / 100 gal, 24 / 180 gal of filler.
    ("deck-patch",
     {"deck_patch_joint_length": "24 ft", "deck_patch_area": "16 ft2", "deck_patch_sheets": "1 each"}, 24.0, "3.6300",
     {"lauan-sheet-5-2-mm": 1, "laminating-adhesive-polyurethane": 0.16, "staple-1-in": 32, "deck-tape-2-in": 24,
      "joint-filler": 0.1333}),
    # The same on rafters: 24 x 0.14 h and 0.75 h; strips under the half of the joint that no rafter carries.
    ("deck-patch-on-rafters",
     {"deck_patch_joint_length": "24 ft", "deck_patch_area": "16 ft2", "deck_patch_sheets": "1 each"}, 24.0, "4.1100",
     {"plywood-sheet-3-8-in": 1, "framing-strip-2-by-2-in": 12, "deck-adhesive-28-oz": 0.2667, "deck-screw-1-5-8-in": 24,
      "deck-tape-2-in": 24, "joint-filler": 0.1333}),
    # A lap as long as a roof of 34 ft: 2 x 34 x 0.06 h.
    ("skin-lap", {"skin_lap_length": "34 ft"}, 34.0, "4.0800", {"seam-tape-4-in": 34}),
    ("cap-reseal", {"cap_reseal_length": "8 ft"}, 8.0, "2.3500",
     {"butyl-tape-1-in": 8, "rail-screw-1-1-2-in": 32, "perimeter-sealant-10-1-oz": 0.3703, "screw-cover-insert-100-ft": 8}),
    ("vent-reinstall", {"vent_reinstall_count": "2 each"}, 2.0, "2.5000",
     {"butyl-tape-1-in": 11.3333, "pan-head-screw-1-in": 56, "self-levelling-sealant-10-3-oz": 2.7437}),
    ("deck-sheet-swap", {"swap_sheet_count": "3 each"}, 3.0, "9.8700",
     {"lauan-sheet-5-2-mm": 3, "laminating-adhesive-polyurethane": 0.96, "staple-1-in": 192, "deck-tape-2-in": 60,
      "joint-filler": 0.3333}),
    # 10 ft x 103.634537 in of width over 81 ft2 a gallon.
    ("membrane-per-foot", {"quick_membrane_length": "10 ft"}, 10.0, "3.1100",
     {"tpo-membrane-45-thou": 10, "membrane-adhesive-water-based": 1.0662}),
    ("solar-prep", {"solar_prep_count": "1 each"}, 1.0, "2.5000",
     {"two-cable-entry-box": 1, "solar-cable-pair-25-ft": 1, "flat-bar-3-in": 8}),
    ("ac-new", {"new_ac_count": "1 each"}, 1.0, "4.5000", {"roof-air-conditioner": 1}),
    ("circuit-new", {"new_circuit_count": "1 each"}, 1.0, "3.5000", {"branch-circuit-set-30-ft": 1}),
    ("paint-match", {"paint_job_count": "1 each"}, 1.0, "1.0000", {"paint-match-sublet": 1}),
    ("thirty-day-check", {"recheck_count": "1 each"}, 1.0, "1.0000", {}),
)  # fmt: skip


@pytest.mark.parametrize(("slug", "asked", "driver", "hours", "needs"), ASKED_FOR, ids=[line[0] for line in ASKED_FOR])
def test_work_that_is_asked_for_takes_the_hours_and_material_worked_by_hand(
    slug: str, asked: dict[str, str | bool], driver: float, hours: str, needs: dict[str, float]
) -> None:
    assembly = editions().assemblies[slug]
    assert _line(assembly, seen_by_level({**LAMINATED_COACH, **asked}, "frp")[assembly.level]) == (driver, hours, needs)


def test_every_assembly_is_worked_by_hand_somewhere() -> None:
    worked = {line[1] for line in (*LAMINATED, *LAMINATED_SKIN.values(), *FRAMED)} | {line[0] for line in ASKED_FOR}
    assert set(editions().assemblies) - worked == {"cross-seam", "coating"}  # these two have tests of their own below


def test_a_cartridge_of_10_1_fl_oz_fills_10_8_ft_of_three_eighths_bead_in_full_section() -> None:
    # 18.22734375 in3 over 0.140625 in2 = 10.80 ft for the square section; the fillet is half of it and goes twice as far.
    base = editions()
    need = base.assemblies["perimeter-bead"].materials[0].quantity
    cartridges = compile_formula(need, names("section"))({"perimeter": 21.60 * 3048.0})
    assert cartridges == pytest.approx(1.0, abs=3e-4)


def test_reusing_the_fittings_buys_stack_flanges_only() -> None:
    reused = taken_off({**LAMINATED_COACH, "reuse_fittings": True}, "full-rebuild", "frp")
    assert reused["fittings-fit"][2] == {"stack-flange": 2, "butyl-tape-1-in": 34.4749, "pan-head-screw-1-in": 154}
    assert reused["marker-lights"][2] == {}


def test_on_silicone_only_silicone_is_laid() -> None:
    # 200 ft2 x 2 coats: 5 gal at 80 ft2 a gallon, or 5.3333 gal at 75.
    coach = {**FRAMED_COACH, "skin_off": False, "coat_area": "200 ft2"}
    assert taken_off(coach, "coat", "membrane")["coating"][2] == {"acrylic-coating": 5.0}
    coach["over_silicone"] = True
    assert taken_off(coach, "coat", "membrane")["coating"][2] == {"silicone-coating": 5.3333}


def test_a_job_without_a_skip_of_its_own_pays_its_share_of_the_shop_bin() -> None:
    lines = taken_off({**LAMINATED_COACH, "own_skip": False}, "full-rebuild", "frp")
    assert lines["disposal"][2] == {"disposal-fee": 0.235, "shop-bin-share": 1.7136}


def test_a_cross_seam_is_as_long_as_the_skin_is_visible() -> None:
    lines = taken_off({**LAMINATED_COACH, "cross_seam_count": "2 each"}, "partial-roof", "frp")
    # 2 x 100.634537 in = 16.7724 ft, and two cartridges a seam.
    assert lines["cross-seam"][0] == 16.7724
    assert lines["cross-seam"][2]["structural-adhesive-10-1-oz"] == 4.0


def test_work_on_foam_takes_foam_safe_adhesives_only() -> None:
    base = editions()
    adhesives = {m.slug: m.foam_safe for m in base.materials.values() if m.adhesive}
    assert adhesives == {
        "gap-foam-can-24-oz": True,
        "membrane-adhesive-water-based": False,
        "laminating-adhesive-polyurethane": True,
        "contact-adhesive-foam-safe": True,
        "structural-adhesive-10-1-oz": True,
        "laminating-resin": False,
        "deck-adhesive-28-oz": None,
    }
    for assembly in base.assemblies.values():
        glue = [need.material for need in assembly.materials if need.material in adhesives]
        if "laminated" in assembly.constructions and assembly.phase in ("core", "brace", "deck") and glue:
            assert assembly.on_foam, assembly.slug
            assert all(adhesives[slug] for slug in glue), assembly.slug


def test_only_plans_that_open_the_roof_expose_hidden_work() -> None:
    opens = {plan.slug: plan.opens for plan in editions().plans.values()}
    assert [slug for slug, opened in opens.items() if not opened] == ["reseal", "coat", "look-first"]


def test_a_coating_is_refused_above_a_fifth_of_wet_roof() -> None:
    # Source: a published coating specification, "choose another option than coating" above 20 % of wet area.
    limits = {plan.slug: plan.refuse_above_wet_share for plan in editions().plans.values()}
    assert limits.pop("coat") == 0.20
    assert set(limits.values()) == {None}


def test_the_columns_of_the_components_are_theirs_for_life() -> None:
    columns = {component.slug: component.column for component in editions().components.values()}
    assert columns == {
        "deck": 1,
        "deck_splinters": 2,
        "core": 3,
        "rafters": 4,
        "insulation": 5,
        "edge": 6,
        "cap_backing": 8,
        "ac_frame": 9,
        "opening_frame": 10,
        "fasteners": 11,
        "wiring": 12,
        "ceiling": 13,
    }


EXPOSED_LAMINATED = {
    # ft2: 249.52647 x 0.6; 249.52647 - 37.428971; ft: 68 - 6; 16.772423; each: 2 - 2; 7 - 2 - 4; 24 - 6; 6 - 1.
    "deck": 0.0,
    "deck_splinters": 149.7159,
    "core": 212.0975,
    "edge": 62.0,
    "cap_backing": 16.7724,
    "ac_frame": 0.0,
    "opening_frame": 1.0,
    "fasteners": 18.0,
    "wiring": 5.0,
    "ceiling": 0.0,
}
EXPOSED_FRAMED = {
    # ft2: 219.482239 - 32.922336; 32.922336 x 0.8; 32.922336 + 0.2 x 186.559903; ft: 22 x 98/12; 56; 16.7245.
    "deck": 186.5599,
    "deck_splinters": 26.3379,
    "rafters": 179.6667,
    "insulation": 70.2343,
    "edge": 56.0,
    "cap_backing": 16.7245,
    "ac_frame": 1.0,
    "opening_frame": 5.0,
    "fasteners": 12.0,
    "wiring": 4.0,
    "ceiling": 0.0,
}


@pytest.mark.parametrize(("coach", "expected"), [(LAMINATED_COACH, EXPOSED_LAMINATED), (FRAMED_COACH, EXPOSED_FRAMED)])
def test_the_sample_coaches_expose_what_was_worked_by_hand(coach: dict[str, str | bool], expected: dict[str, float]) -> None:
    section = seen_by_level(coach, "membrane")["section"]
    found = {}
    for component in editions().components.values():
        if section["roof_kind"] in component.constructions:
            exposure = float(compile_formula(component.exposure, names("section"))(section))
            found[component.slug] = round_half_up(in_unit(exposure, component.unit), 4)
    assert found == expected


def test_where_the_skin_stays_nothing_but_the_replaced_deck_is_exposed() -> None:
    kept: dict[str, str | bool] = {"skin_off": False, "deck_replaced_share": "0 share", "foam_replaced_share": "0 share"}
    section = seen_by_level({**LAMINATED_COACH, **kept}, "frp")["section"]
    for component in editions().components.values():
        assert compile_formula(component.exposure, names("section"))(section) == 0, component.slug


def test_prices_and_sizes_of_a_few_materials_are_as_entered() -> None:
    base = editions()
    tape: Material = base.materials["butyl-tape-1-in"]
    assert (tape.unit, tape.pack_size, tape.waste_share, tape.supply) == ("ft", Decimal(30), Decimal("0.08"), "stock")
    assert base.prices["butyl-tape-1-in"].pack_price == Decimal("11.00")
    skin = base.materials["frp-skin-108-in"]
    # 108 in = 27,432 tenths of a millimetre.
    assert (skin.stock_width, skin.stock_width_covers, skin.sold_by) == (27_432.0, "developed", "measure")
    assert base.materials["tpo-membrane-45-thou"].stock_width_covers == "visible"
    sheet = base.materials["lauan-sheet-5-2-mm"]
    assert (sheet.sheet_length, sheet.sheet_width) == (96 * 254.0, 48 * 254.0)
    assert sheet.whole


def test_the_default_tiers_get_worse_from_left_to_right() -> None:
    tiers = values(TierTable, "tiers")["standard"]
    assert list(tiers.chance_logit.values()) == [-0.9, -0.18, 0.54, 1.35]
    assert list(tiers.share_logit.values()) == [-0.4, -0.08, 0.24, 0.6]


def test_a_foam_unsafe_adhesive_in_the_default_core_work_is_caught() -> None:
    base = editions()
    glue = "laminating-adhesive-polyurethane"
    unsafe = {**base.materials, glue: replace(base.materials[glue], foam_safe=None)}
    with pytest.raises(CalculationFaults) as refused:
        check_assembly(base.assemblies["foam-replace"], unsafe, base.trades, base.assemblies)
    assert [type(fault) for fault in refused.value.faults] == [FoamError]
    assert refused.value.faults[0].field == "materials/1/material"
