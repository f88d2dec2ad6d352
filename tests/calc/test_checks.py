"""Editions are checked beside each other: kinds, references, foam, double counting and circles."""

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace
from decimal import Decimal

import pytest

from costbase.calc.assemblies import Assembly, LabourRate, MaterialNeed
from costbase.calc.checks import (
    Doubt,
    check_assembly,
    check_component,
    check_condition,
    check_editions,
    check_plan,
    check_rule,
    counted,
    predecessor_circle,
)
from costbase.calc.cost_base import Condition, EditionRef, Material, Repair
from costbase.calc.errors import CalculationFaults
from tests.default_base import editions

BASE = editions()


def faults_of(check: Callable[[], Iterable[Doubt]]) -> dict[str, str]:
    """Messages by field of what a check refuses; empty where it refuses nothing."""
    try:
        check()
    except CalculationFaults as refusal:
        return {fault.field: fault.message for fault in refusal.faults}
    return {}


def faults(
    assembly: Assembly,
    *,
    materials: Mapping[str, Material] = BASE.materials,
    trades: Collection[str] = tuple(BASE.trades),
) -> dict[str, str]:
    return faults_of(lambda: check_assembly(assembly, materials, trades, BASE.assemblies))


def need(material: str, quantity: str) -> tuple[MaterialNeed, ...]:
    return (MaterialNeed(material, quantity),)


SKIN_OFF = BASE.assemblies["skin-off"]


def test_an_assembly_of_the_default_base_has_neither_fault_nor_doubt() -> None:
    for assembly in BASE.assemblies.values():
        assert check_assembly(assembly, BASE.materials, BASE.trades, BASE.assemblies) == ()


def test_a_driver_must_have_the_dimension_of_its_unit() -> None:
    assert faults(replace(SKIN_OFF, driver="perimeter")) == {"driver": "0-9: an area is wanted here, and this is a length"}


def test_driver_times_rate_must_be_a_time() -> None:
    slow = replace(SKIN_OFF, labour=(LabourRate("helper", "0.012 * hour / foot"),))
    assert set(faults(slow)) == {"labour/0/rate"}
    plain = replace(SKIN_OFF, labour=(LabourRate("helper", "0.012"),))
    assert set(faults(plain)) == {"labour/0/rate"}


def test_adding_an_area_and_a_length_is_told_with_its_span() -> None:
    wrong = faults(replace(SKIN_OFF, driver="skin_area + perimeter"))
    assert wrong == {"driver": "12-21: cannot add an area (skin_area) and a length (perimeter)"}


def test_a_need_must_have_the_dimension_of_its_material() -> None:
    assert set(faults(replace(SKIN_OFF, materials=need("butyl-tape-1-in", "skin_area")))) == {"materials/0/quantity"}
    assert faults(replace(SKIN_OFF, materials=need("butyl-tape-1-in", "perimeter"))) == {}
    assert faults(replace(SKIN_OFF, materials=need("disposal-fee", "waste_mass"))) == {}
    assert faults(replace(SKIN_OFF, materials=need("drying-set-day", "dry_days"))) == {}


def test_only_whole_vents_are_used_and_a_part_of_a_cartridge_may_be() -> None:
    part = faults(replace(SKIN_OFF, materials=need("roof-vent-14-in", "vent_count * 0.5")))
    assert "wants a whole number" in part["materials/0/quantity"]
    assert faults(replace(SKIN_OFF, materials=need("roof-vent-14-in", "ceil(vent_count * 0.5)"))) == {}
    assert faults(replace(SKIN_OFF, materials=need("perimeter-sealant-10-1-oz", "perimeter / (20 * foot)"))) == {}


def test_a_count_as_driver_must_be_whole() -> None:
    counted_work = replace(BASE.assemblies["ac-refit"], driver="ac_count * 0.5")
    assert set(faults(counted_work)) == {"driver"}


def test_applies_is_yes_or_no_and_elapsed_is_a_time() -> None:
    assert set(faults(replace(SKIN_OFF, applies="1"))) == {"applies"}
    assert set(faults(replace(SKIN_OFF, elapsed="skin_area"))) == {"elapsed"}
    assert faults(replace(SKIN_OFF, elapsed="dry_days")) == {}


def test_trades_materials_and_predecessors_must_be_in_force() -> None:
    assembly = replace(
        SKIN_OFF,
        labour=(LabourRate("plumber", "0.012 * hour / square_foot"),),
        set_up_trade="painter",
        materials=need("unobtainable-sheet", "1"),
        predecessors=("rails-trims-off", "deck-bond|deck-of-gold"),
        reset_after=("never",),
    )
    assert set(faults(assembly)) == {
        "labour/0/trade",
        "set_up_trade",
        "materials/0/material",
        "predecessors/1",
        "reset_after/0",
    }


def test_everything_wrong_with_a_template_is_told_at_once() -> None:
    assembly = replace(
        SKIN_OFF,
        applies="skin_area",
        driver="skin_aera",
        labour=(LabourRate("helper", "hour / "), LabourRate("plumber", "0.012 * hour / square_foot")),
    )
    wrong = faults(assembly)
    assert set(wrong) == {"applies", "driver", "labour/0/rate", "labour/1/trade"}
    assert "skin_area" in wrong["driver"]


def test_a_quote_level_template_sees_totals_but_no_width() -> None:
    disposal = BASE.assemblies["disposal"]
    assert faults(replace(disposal, materials=need("masking-film-12-ft", "plan_area"))) == {}
    assert set(faults(replace(disposal, materials=need("gutter-rail-16-ft", "body_width")))) == {"materials/0/quantity"}


def test_a_need_that_can_be_negative_is_a_doubt_and_no_fault() -> None:
    assembly = replace(SKIN_OFF, materials=need("butyl-tape-1-in", "perimeter - 3 * foot"))
    doubts = check_assembly(assembly, BASE.materials, BASE.trades, BASE.assemblies)
    assert [doubt.field for doubt in doubts] == ["materials/0/quantity"]


@pytest.mark.parametrize("foam_safe", [None, False])
def test_an_adhesive_that_is_not_known_to_be_safe_on_foam_stays_off_it(foam_safe: bool | None) -> None:
    glue = replace(BASE.materials["contact-adhesive-foam-safe"], foam_safe=foam_safe)
    on_foam = replace(SKIN_OFF, on_foam=True, materials=need(glue.slug, "skin_area * gallon / (60 * square_foot)"))
    materials = {**BASE.materials, glue.slug: glue}
    assert "solvents dissolve it" in faults(on_foam, materials=materials)["materials/0/material"]
    assert faults(replace(on_foam, on_foam=False), materials=materials) == {}
    assert faults(on_foam) == {}


def condition(slug: str, *assemblies: str, follows: str = "", phases: Collection[str] = ()) -> Condition:
    return Condition(
        slug=slug,
        name=slug,
        factor=Decimal("1.3"),
        assemblies=frozenset(assemblies),
        phases=frozenset(phases),
        excludes=frozenset(),
        follows=follows,
        edition=EditionRef("condition", slug, "shop", "2026-03-01"),
    )


def pairs(one: Condition) -> dict[str, str]:
    return faults_of(lambda: check_condition(one, BASE.assemblies, BASE.conditions))


def test_a_condition_is_a_quantity_or_a_multiplier_and_the_pair_is_named() -> None:
    # coating-off counts added trim as 2 ft2 a foot; to multiply its hours for the same trim would count it twice.
    told = pairs(condition("added-trim", "skin-off", "coating-off", follows="added_trim_length"))
    assert told == {
        "follows": "added-trim multiplies the hours of coating-off, whose formulas count added_trim_length already: "
        "a condition is a quantity or a multiplier, never both"
    }
    assert pairs(condition("added-trim", "skin-off", "scrape-sealant", follows="added_trim_length")) == {}
    assert pairs(condition("added-trim", "coating-off")) == {}


def test_a_measure_counted_through_a_derived_one_is_counted_too() -> None:
    # disposal counts waste, and waste counts the deck that is replaced.
    assert "deck_replaced_share" in counted(BASE.assemblies["disposal"])
    assert "disposal" in pairs(condition("much-deck", "disposal", follows="deck_replaced_area"))["follows"]


def test_a_condition_on_a_phase_or_on_all_work_is_checked_against_all_that_it_multiplies() -> None:
    assert "coating" in pairs(condition("silicone", follows="over_silicone", phases=["seal"]))["follows"]
    assert pairs(condition("silicone", follows="over_silicone"))
    assert pairs(condition("silicone", follows="over_silicone", phases=["teardown"])) == {}


def test_a_condition_and_a_plan_name_what_is_in_force() -> None:
    assert set(pairs(replace(condition("wind", "skin-off", "kite"), excludes=frozenset({"calm"})))) == {
        "assemblies",
        "excludes",
    }
    plan = replace(BASE.plans["look-first"], assemblies=("look-first", "look-again"))
    assert set(faults_of(lambda: check_plan(plan, BASE.assemblies))) == {"assemblies/1"}


def test_a_component_has_a_measure_of_its_unit_repairs_in_force_and_a_column_of_its_own() -> None:
    deck = replace(
        BASE.components["deck"],
        exposure="perimeter",
        measure="wall_top_rot_length",
        repairs=(Repair(("deck-off-sheets", "deck-of-gold"), 1, {}), Repair(("dry-out",), 1, {})),
        column=3,
    )
    wrong = faults_of(lambda: check_component(deck, BASE.assemblies, BASE.components))
    assert set(wrong) == {"exposure", "measure", "repairs/0/assemblies", "repairs/1/assemblies", "column"}
    assert wrong["column"] == "column 3 belongs to core"


def test_every_markup_class_of_a_material_needs_a_markup() -> None:
    rule = replace(BASE.rules["standard"], markups={"goods": Decimal("0.35")})
    wrong = faults_of(lambda: check_rule(rule, BASE.materials))
    assert wrong == {"markups": "no markup for the class materials, which lauan-sheet-5-2-mm has"}


def test_assemblies_that_wait_for_each_other_are_named_in_a_circle() -> None:
    circle = {
        **BASE.assemblies,
        "skin-off": replace(SKIN_OFF, predecessors=("deck-joints", "rails-trims-off")),
    }
    assert predecessor_circle(BASE.assemblies) == ()
    found = predecessor_circle(circle)
    assert found[0] == found[-1]
    assert {"skin-off", "deck-joints"} <= set(found)
    told = faults_of(lambda: check_editions(replace(BASE, assemblies=circle)))
    assert "wait for each other" in next(iter(told.values()))


def test_a_chain_of_many_waits_is_walked() -> None:
    chain = {
        f"work-{n}": replace(SKIN_OFF, slug=f"work-{n}", predecessors=(f"work-{n + 1}",) if n < 3000 else ())
        for n in range(3001)
    }
    assert predecessor_circle(chain) == ()


def test_faults_of_all_editions_are_told_at_once_with_kind_and_slug() -> None:
    broken = replace(
        BASE,
        assemblies={**BASE.assemblies, "skin-off": replace(SKIN_OFF, driver="roof")},
        plans={**BASE.plans, "look-first": replace(BASE.plans["look-first"], assemblies=("nothing",))},
        materials={slug: m for slug, m in BASE.materials.items() if slug != "shop-bin-share"},
    )
    assert set(faults_of(lambda: check_editions(broken))) == {
        "assembly/skin-off/driver",
        "assembly/disposal/materials/2/material",
        "plan/look-first/assemblies/0",
        "price/shop-bin-share/material",
    }


def test_another_size_stands_in_the_place_of_a_material_that_is_in_force_and_counted_alike() -> None:
    sheet = BASE.materials["lauan-sheet-5-2-mm"]
    larger = replace(sheet, slug="lauan-sheet-5-by-10-ft", in_place_of=sheet.slug)

    def told(*others: Material) -> dict[str, str]:
        materials = {**BASE.materials, larger.slug: larger, **{other.slug: other for other in others}}
        return faults_of(lambda: check_editions(replace(BASE, materials=materials)))

    assert told() == {}
    field = "material/other/in_place_of"
    assert "no material nothing is in force" in told(replace(larger, slug="other", in_place_of="nothing"))[field]
    assert "counted in each" in told(replace(larger, slug="other", unit="ft2"))[field]
    assert "in the place of other" in told(replace(larger, slug="other", in_place_of="other"))[field]
    assert f"in the place of {sheet.slug}" in told(replace(larger, slug="other", in_place_of=larger.slug))[field]
