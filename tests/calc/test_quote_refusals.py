"""What a quote refuses, by code, place and name: nothing is assumed, and nothing comes to zero in silence."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import pytest

from costbase.calc.assemblies import Assembly, LabourRate, MaterialNeed
from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.calc.geometry import Roof
from quotes.calc.inputs import Entered, QuoteInputs, TierOverride
from quotes.calc.labour import ChosenCondition
from tests.calc.roofs import laminated_34_ft, roof, section, slide_room
from tests.calc.shipped_base import base_with, entry, inputs, quoted, shipped


def refused(wanted: QuoteInputs, base: CostBase | None = None) -> CalculationError:
    with pytest.raises(CalculationError) as caught:
        quoted(wanted, base)
    return caught.value


def told(fault: CalculationError) -> tuple[str, str]:
    return fault.code, fault.field


def without(entries: dict[str, Any], *slugs: str) -> dict[str, Any]:
    return {slug: value for slug, value in entries.items() if slug not in slugs}


# Plan, skin, options ----------------------------------------------------------------------------------------


def test_a_cost_base_of_another_plan_is_refused() -> None:
    fault = refused(inputs(laminated_34_ft(), plan="reseal"), shipped("full-rebuild"))

    assert told(fault) == ("plan_refused", "plan")
    assert fault.message == "the cost base is of plan 'full-rebuild', not 'reseal'"


def test_an_unknown_skin_is_refused_with_those_there_are() -> None:
    fault = refused(inputs(laminated_34_ft(), skin="slate"))

    assert told(fault) == ("plan_refused", "skin")
    assert fault.message == "skin must be one of frp, membrane, aluminium"


@pytest.mark.parametrize(
    ("option", "words"),
    [
        ("gold-leaf", "assembly 'gold-leaf' is not in force on the day"),
        ("skin-off", "'skin-off' is no option; it belongs to a plan or is priced when found"),
    ],
)
def test_an_option_that_is_none_is_refused_with_its_place(option: str, words: str) -> None:
    wanted = inputs(laminated_34_ft(), options=("ceiling-panel", option), entered=(entry("ceiling_area", "32 ft2"),))
    fault = refused(wanted)

    assert (told(fault), fault.message) == (("plan_refused", "options/1"), words)


def test_an_option_that_comes_to_nothing_names_the_measure_that_it_wants() -> None:
    fault = refused(inputs(laminated_34_ft(), options=("ceiling-panel",)))

    assert (told(fault), fault.value) == (("plan_refused", "options"), "ceiling-panel")
    assert "enter the measure that it is driven by: ceiling_area" in fault.message


def test_a_coating_that_coats_nothing_is_refused_though_the_plan_sells_it() -> None:
    fault = refused(inputs(laminated_34_ft(), plan="coat"))

    assert (told(fault), fault.value) == (("plan_refused", "plan"), "coating")
    assert "coat_area" in fault.message


def test_a_plan_without_any_work_names_the_measure_that_it_wants() -> None:
    fault = refused(inputs(laminated_34_ft(), plan="look-first"))

    assert told(fault) == ("nothing_to_do", "plan")
    assert fault.message.endswith("enter look_first_count")


def test_a_slide_room_plan_is_refused_on_a_roof_without_one() -> None:
    fault = refused(inputs(laminated_34_ft(), plan="slide-roof"))

    assert told(fault) == ("plan_refused", "plan")
    assert "about another kind of section than the roof has (main)" in fault.message


def test_a_plan_with_an_assembly_that_is_not_in_force_is_refused_by_name() -> None:
    base = base_with(assemblies=without(shipped().assemblies, "deck-joints"))
    fault = refused(inputs(laminated_34_ft()), base)

    assert (told(fault), fault.value) == (("plan_refused", "plan"), "deck-joints")


# Conditions -------------------------------------------------------------------------------------------------


def test_conditions_that_exclude_each_other_are_refused() -> None:
    both = (ChosenCondition("hot-roof", "July"), ChosenCondition("cold-roof", "November"))
    fault = refused(inputs(laminated_34_ft(), conditions=both))

    assert told(fault) == ("condition_conflict", "conditions/0/slug")
    assert fault.message == "'hot-roof' and 'cold-roof' cannot both hold"


def test_an_unknown_condition_is_refused_with_those_in_force() -> None:
    fault = refused(inputs(laminated_34_ft(), conditions=(ChosenCondition("full-moon", "it was"),)))

    assert told(fault) == ("condition_conflict", "conditions/0/slug")
    assert "known are: added-trim, cold-roof" in fault.message


# What the cost base lacks -----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("change", "code", "field"),
    [
        (lambda: {"trades": without(shipped().trades, "helper")}, "no_rate", "rates/helper"),
        (lambda: {"materials": without(shipped().materials, "staple-1-in")}, "no_material", "materials/staple-1-in"),
        (lambda: {"prices": without(shipped().prices, "staple-1-in")}, "no_price", "prices/staple-1-in"),
        (lambda: {"rule": {"markups": {}}}, "no_markup", "rule/markups/materials"),
        # Trade and material of a hidden repair that the visible work does not need.
        (lambda: {"trades": without(shipped().trades, "fabricator")}, "no_rate", "rates/fabricator"),
        (
            lambda: {"prices": without(shipped().prices, "gap-foam-can-24-oz")},
            "no_price",
            "prices/gap-foam-can-24-oz",
        ),
    ],
)
def test_what_the_cost_base_lacks_is_named_and_nothing_is_assumed(
    change: Callable[[], dict[str, Any]], code: str, field: str
) -> None:
    fault = refused(inputs(laminated_34_ft()), base_with(**change()))

    assert told(fault) == (code, field)
    assert field.rpartition("/")[2] in fault.message


def test_hidden_work_that_is_exposed_and_that_nothing_puts_right_is_refused() -> None:
    base = base_with(assemblies=without(shipped().assemblies, "foam-replace"))
    kept = replace(base.plan, assemblies=tuple(slug for slug in base.plan.assemblies if slug != "foam-replace"))
    fault = refused(inputs(laminated_34_ft()), replace(base, plan=kept))

    assert told(fault) == ("no_repair", "components/core")
    assert "foam-replace is in force for a laminated roof" in fault.message


def test_hidden_work_that_is_not_exposed_and_that_nothing_puts_right_is_left_out() -> None:
    base = base_with("reseal", assemblies=without(shipped().assemblies, "foam-replace"))
    quote = quoted(inputs(laminated_34_ft(), plan="reseal"), base)

    assert "core" not in {work.component.slug for work in quote.hidden}


def test_a_tier_that_the_tier_table_does_not_know_is_refused() -> None:
    tiers = replace(shipped().tiers, chance_logit=without(shipped().tiers.chance_logit, "local"))
    fault = refused(inputs(laminated_34_ft()), base_with(tiers=tiers))

    assert (told(fault), fault.value) == (("unknown_tier", "tier"), "local")


# Formulas that fail -----------------------------------------------------------------------------------------


def changed(slug: str, **fields: Any) -> dict[str, Assembly]:
    assemblies = dict(shipped().assemblies)
    assemblies[slug] = replace(assemblies[slug], **fields)
    return assemblies


ODD = "perimeter / added_trim_length"  # no trim was added


@pytest.mark.parametrize(
    ("fields", "place"),
    [
        ({"driver": f"{ODD} * foot"}, "driver"),
        ({"labour": (LabourRate("technician", f"{ODD} * 0.03 * hour / foot"),)}, "labour/0/rate"),
        ({"materials": (MaterialNeed("perimeter-sealant-10-1-oz", ODD),)}, "materials/0/quantity"),
    ],
)
def test_a_formula_that_fails_is_told_with_its_assembly_and_its_place(fields: dict[str, Any], place: str) -> None:
    fault = refused(inputs(laminated_34_ft()), base_with(assemblies=changed("perimeter-bead", **fields)))

    assert told(fault) == ("assembly_failed", f"assemblies/perimeter-bead/{place}")
    assert "assembly 'perimeter-bead' on section main" in fault.message
    assert "added_trim_length is 0, and nothing can be divided by zero" in fault.message


def test_a_formula_of_an_assembly_that_does_not_apply_may_divide_by_what_is_not_there() -> None:
    # With trim it holds, without it the work is not there and its formulas are not asked.
    fields = {"applies": "added_trim_length > 0 * foot", "driver": f"{ODD} * foot"}
    quote = quoted(inputs(laminated_34_ft()), base_with(assemblies=changed("perimeter-bead", **fields)))

    assert "perimeter-bead" not in {take.assembly.slug for take in quote.takes}
    assert "fittings-pour" in {take.assembly.slug for take in quote.takes}


def test_an_exposure_that_fails_is_told_with_its_component() -> None:
    components = dict(shipped().components)
    components["edge"] = replace(components["edge"], exposure=f"{ODD} * foot")
    fault = refused(inputs(laminated_34_ft()), base_with(components=components))

    assert told(fault) == ("assembly_failed", "components/edge/exposure")
    assert "component 'edge' on section main" in fault.message


def test_an_elapsed_time_that_fails_is_told_with_its_assembly() -> None:
    fault = refused(
        inputs(laminated_34_ft()),
        base_with(assemblies=changed("perimeter-bead", elapsed="day * perimeter / added_trim_length")),
    )

    assert told(fault) == ("assembly_failed", "assemblies/perimeter-bead/elapsed")


# What an estimator enters -----------------------------------------------------------------------------------


def said(slug: str, value: float | bool | str, at: str = "main") -> Entered:
    return Entered(slug, at, value, str(value), "")


@pytest.mark.parametrize(
    ("entered", "code", "field"),
    [
        (said("moonlight", 1.0), "bad_entry", "measures/0/slug"),
        (said("deck_area", 1.0), "bad_entry", "measures/0/slug"),
        (said("body_width", 1.0), "bad_entry", "measures/0/slug"),
        (said("skin", "membrane", ""), "bad_entry", "measures/0/slug"),
        (said("indoor_bay", True), "bad_entry", "measures/0/section"),
        (said("brace_count", 1.0, "attic"), "bad_entry", "measures/0/section"),
        (said("brace_count", 1.5), "bad_measure", "measures/0/value"),
        (said("splinter_share", 1.2), "bad_measure", "measures/0/value"),
        (said("indoor_bay", 3.0, ""), "bad_measure", "measures/0/value"),
    ],
)
def test_a_measure_that_cannot_stand_is_refused_with_its_place(entered: Entered, code: str, field: str) -> None:
    assert told(refused(inputs(laminated_34_ft(), entered=(entered,)))) == (code, field)


def test_a_measure_that_is_said_twice_is_refused() -> None:
    twice = (entry("brace_count", "1 each"), entry("brace_count", "2 each", section=""))
    fault = refused(inputs(laminated_34_ft(), entered=twice))

    assert (told(fault), fault.value) == (("bad_entry", "measures/1/slug"), "brace_count")


def test_every_measure_that_cannot_stand_is_told_at_once() -> None:
    with pytest.raises(CalculationFaults) as caught:
        quoted(inputs(laminated_34_ft(), entered=(said("moonlight", 1.0), said("splinter_share", 2.0))))

    assert [fault.field for fault in caught.value.faults] == ["measures/0/slug", "measures/1/value"]


def test_an_extent_without_a_section_is_refused_where_there_are_several() -> None:
    two = roof(section("front", length_in=120), section("rear", length_in=240))
    fault = refused(inputs(two, entered=(entry("wall_top_rot_length", "6 ft", section=""),)))

    assert told(fault) == ("bad_entry", "measures/0/section")
    assert "say which section 'wall_top_rot_length' is of: front, rear" in fault.message


def test_a_share_without_a_section_holds_for_all_of_them() -> None:
    two = roof(section("front", length_in=120), section("rear", length_in=240))
    quote = quoted(inputs(two, entered=(entry("splinter_share", "0.25 share", section=""),)))

    assert {values["splinter_share"] for values in quote.measured.sections.values()} == {0.25}


def test_an_override_without_a_written_reason_is_refused() -> None:
    assert told(refused(inputs(laminated_34_ft(), override=TierOverride("frame", "bad")))) == ("bad_severity", "reason")


def test_every_fault_of_a_roof_is_told_at_once() -> None:
    odd = Roof((section("a", width_in=500.0), section("a", length_in=9000.0), slide_room()), ())
    with pytest.raises(CalculationFaults) as caught:
        quoted(inputs(odd))

    assert {"sections/0/body_width", "sections/1/length"} <= {fault.field for fault in caught.value.faults}
