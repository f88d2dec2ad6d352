"""Contents become values and values contents again, and everything that is wrong is told at once."""

import json
import math
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from typing import cast

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from costbase.calc.assemblies import Assembly
from costbase.calc.contents import (
    canonical_json,
    fingerprint,
    from_contents,
    read,
    read_kind,
    to_contents,
    write,
)
from costbase.calc.contents_table import KINDS
from costbase.calc.cost_base import (
    Component,
    Condition,
    EditionRef,
    Material,
    PricingRule,
    ScopePlan,
    TierTable,
    Trade,
)
from costbase.calc.errors import CalculationFaults
from costbase.calc.fields import ContentsError
from costbase.calc.sizes import write_quantity
from costbase.calc.units import AREA, LENGTH, parse
from tests.default_base import cost_base, staged

Contents = dict[str, object]


def edition(kind: str, slug: str = "a-slug") -> EditionRef:
    return EditionRef(kind, slug, "shop", "2026-03-01")


def default(kind: str, slug: str) -> Contents:
    """The contents of an edition of the default base, to be changed."""
    found = next(entry for entry in staged() if (entry.kind, entry.slug) == (kind, slug))
    return cast(Contents, json.loads(json.dumps(found.contents)))


def refused(kind: str, contents: object) -> dict[str, str]:
    """The messages by path of a refusal."""
    with pytest.raises(CalculationFaults) as faults:
        read_kind(kind, contents, edition(kind))
    return {fault.field: fault.message for fault in faults.value.faults}


def test_every_edition_of_the_default_base_is_the_same_after_reading_and_writing() -> None:
    for entry in staged():
        value = read_kind(entry.kind, entry.contents, edition(entry.kind, entry.slug))
        written = write(value)
        assert written == entry.contents
        assert list(written) == list(entry.contents)
        assert read_kind(entry.kind, json.loads(json.dumps(written)), edition(entry.kind, entry.slug)) == value


def test_a_value_carries_the_slug_and_the_edition_that_stand_outside_its_contents() -> None:
    trade = read(Trade, default("rate", "helper"), edition("rate", "helper"))
    assert trade == Trade("helper", "Helper", Decimal("32.00"), Decimal("95.00"), Decimal("1.5"), edition("rate", "helper"))
    price = read_kind("price", {"pack_price": "24.00"}, edition("price", "lauan-sheet"))
    assert (getattr(price, "material", ""), getattr(price, "pack_price", None)) == ("lauan-sheet", Decimal(24))


def test_an_unknown_kind_is_refused_with_the_kinds_there_are() -> None:
    with pytest.raises(ContentsError) as fault:
        read_kind("spell", {}, edition("spell"))
    assert "rate, material, price, assembly, plan, condition, rule, component, tiers" in fault.value.message


@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("contents", [None, [], "text", 1.5, {1: 2}])
def test_contents_that_are_no_table_of_fields_are_refused(kind: str, contents: object) -> None:
    assert refused(kind, contents)


@pytest.mark.parametrize("kind", sorted(KINDS))
def test_an_empty_table_lacks_every_required_field_and_all_of_them_are_named(kind: str) -> None:
    needed = {field.name for field in KINDS[kind].fields if type(field.absent).__name__ == "Required"}
    assert set(refused(kind, {})) == needed


def test_all_faults_of_a_material_are_told_at_once_each_with_its_path() -> None:
    contents = default("material", "butyl-tape-1-in") | {
        "unit": "furlong",
        "pack_size": 30.0,
        "waste_share": "1.5",
        "supply": "maybe",
        "lead_days": True,
        "colour": "grey",
        "stock_width": "108",
        "name": "=1+1",
    }
    faults = refused("material", contents)
    assert set(faults) == {"unit", "pack_size", "waste_share", "supply", "lead_days", "colour", "stock_width", "name"}
    assert "unknown field 'colour'" in faults["colour"]
    assert 'a number as text above 0 to 1000000000, such as "12.50", not 30.0' in faults["pack_size"]
    assert "job, stock" in faults["supply"]
    assert "the unit is missing" in faults["stock_width"]
    assert "a spreadsheet would run" in faults["name"]


@pytest.mark.parametrize(
    "text",
    ["", " ", " ends", "ends ", "two\nlines", "nul\x00", "\ud800", "+1", "-1", "@name", "=name", "x" * 121, 7, None, ["name"]],
)
def test_a_name_that_is_no_plain_line_is_refused(text: object) -> None:
    assert set(refused("rate", default("rate", "helper") | {"name": text})) == {"name"}


@pytest.mark.parametrize(
    "amount",
    ["0", "", "1,5", "-1", "+1", "1e3", ".5", "5.", "NaN", "Infinity", "٣", "1" * 13, "0.1234567", 32, 32.0, None, True],
)
def test_an_hourly_rate_is_a_plain_decimal_text_above_nothing(amount: object) -> None:
    assert set(refused("rate", default("rate", "helper") | {"cost_per_hour": amount})) == {"cost_per_hour"}


@pytest.mark.parametrize("number", [math.nan, math.inf, -1, 201, "2", True, None])
def test_hours_are_a_plain_number_in_their_range(number: object) -> None:
    contents = default("assembly", "bracing-add") | {"set_up_hours": number}
    assert set(refused("assembly", contents)) == {"set_up_hours"}


def test_a_slug_is_small_letters_digits_and_hyphens() -> None:
    for slug in ("Helper", "a b", "-a", "a--b", "", "a" * 61, "ä"):
        with pytest.raises(CalculationFaults) as faults:
            read(Trade, default("rate", "helper"), edition("rate", slug))
        assert [fault.field for fault in faults.value.faults] == ["slug"]


def test_a_very_long_whole_number_is_refused_in_few_words() -> None:
    # Python will not write out so many digits; the message must not need them.
    faults = refused("material", default("material", "butyl-tape-1-in") | {"lead_days": 10**5000})
    assert len(faults["lead_days"]) < 200


def test_faults_inside_lists_have_the_path_of_their_entry() -> None:
    contents = default("assembly", "bracing-add") | {
        "labour": [{"trade": "helper", "rate": "1 * hour"}, {"trade": "Nobody", "pace": "fast"}],
        "materials": "screws",
        "predecessors": ["foam-replace", "foam-replace", "a||b"],
        "cautions": ["fine", 3],
    }
    assert set(refused("assembly", contents)) == {
        "labour/1/pace",
        "labour/1/trade",
        "labour/1/rate",
        "materials",
        "predecessors/2",
        "cautions/1",
    }
    contents = default("assembly", "bracing-add") | {"predecessors": ["foam-replace", "re-crown", "foam-replace"]}
    assert set(refused("assembly", contents)) == {"predecessors/2"}


@pytest.mark.parametrize(
    ("kind", "slug", "change", "field"),
    [
        ("assembly", "bracing-add", {"set_up_trade": ""}, "set_up_trade"),
        ("assembly", "skin-off", {"set_up_trade": "helper"}, "set_up_trade"),
        ("assembly", "awning-refit", {"reset_after": []}, "off_share"),
        ("assembly", "skin-off", {"predecessors": ["a-slug"]}, "predecessors"),
        ("assembly", "skin-off", {"labour": [{"trade": "helper", "rate": "hour"}, {"trade": "helper", "rate": "2 * hour"}]},
         "labour/1/trade"),
        ("material", "frp-skin-108-in", {"stock_width_covers": "visible", "stock_width": None}, "stock_width_covers"),
        ("material", "butyl-tape-1-in", {"whole": True}, "whole"),
        ("material", "lauan-sheet-5-2-mm", {"sheet_width": "0 in"}, "sheet_width"),
        ("material", "lauan-sheet-5-2-mm", {"sheet_width": None}, "sheet_width"),
        ("material", "lauan-sheet-5-2-mm", {"sheet_width": "97 in"}, "sheet_length"),
        ("material", "lauan-sheet-5-2-mm", {"lap": "2 in"}, "lap"),
        ("material", "frp-skin-108-in", {"stagger": "1 ft"}, "stagger"),
        ("plan", "look-first", {"quantities": {"leak-test": "0.5"}}, "quantities/leak-test"),
        ("condition", "hot-roof", {"excludes": ["a-slug"]}, "excludes"),
        ("condition", "hot-roof", {"follows": "body_width"}, "follows"),
        ("condition", "hot-roof", {"follows": "weather"}, "follows"),
        ("condition", "hot-roof", {"factor": "2.1"}, "factor"),
        ("rule", "standard", {"tax_mode": "parts_only"}, "tax_rates"),
        ("rule", "standard", {"tax_rates": [{"name": "County", "rate": "0.01"}]}, "tax_rates"),
        ("rule", "standard", {"confidence_level": 0.995}, "confidence_level"),
        ("rule", "standard", {"warning_chance": 0.04}, "warning_chance"),
        ("rule", "standard", {"warning_chance": 0.96}, "warning_chance"),
        ("component", "deck", {"column": 7}, "column"),
        ("component", "deck", {"chance_mid": 1.0}, "chance_mid"),
        ("component", "deck", {"repairs": [{"assemblies": ["deck-joints"], "sign": -1}]}, "repairs"),
        ("component", "deck", {"repairs": [{"assemblies": ["deck-joints"], "sign": 2}]}, "repairs/0/sign"),
        ("component", "deck", {"measure": "deck"}, "measure"),
        ("component", "deck", {"table": {"laminated": {"local": [0.1, 0.2]}}}, "table/laminated"),
        ("tiers", "standard", {"chance_logit": {"skin-deep": 0, "local": 1, "widespread": 0.5, "frame": 2}},
         "chance_logit/widespread"),
        ("tiers", "standard", {"share_logit": {"skin-deep": 0, "local": 1}}, "share_logit"),
    ],
)  # fmt: skip
def test_what_fields_say_together_is_checked(kind: str, slug: str, change: Contents, field: str) -> None:
    assert set(refused(kind, default(kind, slug) | change)) == {field}


def test_a_rule_that_says_nothing_about_warnings_warns_at_one_half_and_is_written_as_before() -> None:
    plain = default("rule", "standard")
    assert "warning_chance" not in plain
    rule = read(PricingRule, plain, edition("rule"))
    # Cost bases that were frozen before there was such a level keep their fingerprint.
    assert rule.warning_chance == 0.5
    assert "warning_chance" not in write(rule)
    early = read(PricingRule, plain | {"warning_chance": 0.35}, edition("rule"))
    assert early.warning_chance == 0.35
    assert write(early) == write(rule) | {"warning_chance": 0.35}
    assert read(PricingRule, write(early), edition("rule")) == early


def test_a_table_of_chances_may_not_fall_as_damage_grows() -> None:
    rising = {"skin-deep": [0.1, 0.1], "local": [0.2, 0.1], "widespread": [0.3, 0.2], "frame": [0.3, 0.4]}
    component = read(Component, default("component", "deck") | {"table": {"laminated": rising}}, edition("component"))
    assert component.table["laminated"]["frame"] == (0.3, 0.4)
    falling = rising | {"frame": [0.4, 0.1]}
    assert set(refused("component", default("component", "deck") | {"table": {"laminated": falling}})) == {
        "table/laminated/frame"
    }


def test_a_plan_sets_what_a_plan_can_say() -> None:
    contents = default("plan", "look-first") | {
        "sets": {
            "skin_off": False,
            "deck_replaced_share": 1,
            "mold_area": "8 ft2",
            "dry_days": "2 day",
            "vent_reinstall_count": 3,
        }
    }
    plan = read(ScopePlan, contents, edition("plan"))
    # 8 ft2 of 9,290,304 hundredths of a square millimetre; 2 days of 86,400 s.
    assert plan.sets == {
        "skin_off": False,
        "deck_replaced_share": 1.0,
        "mold_area": 74_322_432.0,
        "dry_days": 172_800.0,
        "vent_reinstall_count": 3.0,
    }
    assert write(plan)["sets"] == {
        "deck_replaced_share": 1.0,
        "dry_days": "2 day",
        "mold_area": "8 ft2",
        "skin_off": False,
        "vent_reinstall_count": 3.0,
    }


@pytest.mark.parametrize(
    ("measure", "value"),
    [
        ("body_width", "96 in"),
        ("plan_area", "272 ft2"),
        ("skin", "frp"),
        ("deck_replaced_share", 1.5),
        ("deck_replaced_share", "1"),
        ("swap_sheet_count", 1.5),
        ("mold_area", 8),
        ("skin_off", 1),
        ("roof_colour", True),
    ],
)
def test_a_plan_cannot_set_what_coach_or_formula_say_nor_what_cannot_be(measure: str, value: object) -> None:
    faults = refused("plan", default("plan", "look-first") | {"sets": {measure: value}})
    assert [path.split("/")[0] for path in faults] == ["sets"]


def test_a_repair_sets_numbers_only() -> None:
    repair = {"assemblies": ["deck-joints"], "sets": {"skin_off": True}}
    faults = refused("component", default("component", "deck") | {"repairs": [repair]})
    assert set(faults) == {"repairs/0/sets/skin_off"}


@pytest.mark.parametrize(
    ("text", "written"),
    # 2.75 m is 27,500 tenths of a millimetre, which no few decimals of an inch say; 45 thou is 11.43 of them.
    [("108 in", "108 in"), ("9 ft", "108 in"), ("2.75 m", "2750 mm"), ("8-1/2 in", "8.5 in"), ("45 thou", "0.045 in")],
)
def test_a_width_is_written_in_the_first_unit_that_says_exactly_the_same(text: str, written: str) -> None:
    contents = default("material", "frp-skin-108-in") | {"stock_width": text}
    material = read(Material, contents, edition("material"))
    assert write(material)["stock_width"] == written
    assert read(Material, write(material), edition("material")) == material


@settings(max_examples=150, deadline=None)
@given(st.decimals(min_value="0.001", max_value="99999", places=6), st.sampled_from(["in", "ft", "m", "mm", "thou", "yd"]))
def test_any_width_that_was_entered_is_written_without_loss(value: Decimal, unit: str) -> None:
    canonical = parse(f"{value:f} {unit}", LENGTH).canonical
    assert parse(write_quantity(canonical, LENGTH), LENGTH).canonical == canonical


@settings(max_examples=60, deadline=None)
@given(st.decimals(min_value="0.001", max_value="9999", places=4), st.sampled_from(["in2", "ft2", "m2", "yd2"]))
def test_any_area_that_was_entered_is_written_without_loss(value: Decimal, unit: str) -> None:
    canonical = parse(f"{value:f} {unit}", AREA).canonical
    assert parse(write_quantity(canonical, AREA), AREA).canonical == canonical


json_like = st.recursive(
    st.none() | st.booleans() | st.integers(-5, 5) | st.floats(-2, 2) | st.text(max_size=5),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=150, deadline=None)
@given(st.data())
def test_any_junk_in_any_field_is_read_or_refused_with_a_path(data: st.DataObject) -> None:
    entry = data.draw(st.sampled_from([e for e in staged() if e.kind not in ("price",)][::7]))
    name = data.draw(st.sampled_from([field.name for field in KINDS[entry.kind].fields]))
    contents = entry.contents | {name: data.draw(json_like)}
    ref = edition(entry.kind, entry.slug)
    try:
        value = read_kind(entry.kind, contents, ref)
    except CalculationFaults as refusal:
        faults = refusal.faults
    else:
        faults = ()
        assert read_kind(entry.kind, write(value), ref) == value
    assert all(fault.field for fault in faults)


def test_a_bundle_comes_out_of_its_json_as_it_went_in() -> None:
    base = cost_base("full-rebuild")
    bundle = json.loads(canonical_json(to_contents(base)))
    assert from_contents(bundle) == base
    assert fingerprint(from_contents(bundle)) == fingerprint(base)


def test_the_fingerprint_is_that_of_the_text_whatever_the_order_of_entries() -> None:
    base = cost_base("reseal")
    turned = replace(base, materials=dict(reversed(base.materials.items())), trades=dict(reversed(base.trades.items())))
    assert fingerprint(turned) == fingerprint(base)
    assert len(fingerprint(base)) == 64


def test_anything_that_is_priced_moves_the_fingerprint() -> None:
    base = cost_base("reseal")
    tape = base.prices["butyl-tape-1-in"]
    dearer = replace(base, prices=base.prices | {"butyl-tape-1-in": replace(tape, pack_price=Decimal("11.01"))})
    later = replace(base, prices=base.prices | {"butyl-tape-1-in": replace(tape, edition=edition("price", "butyl-tape-1-in"))})
    slower = replace(base, rule=replace(base.rule, hours_a_day=7.5))
    prints = {fingerprint(one) for one in (base, dearer, later, slower, cost_base("coat"))}
    assert len(prints) == 5


def test_canonical_json_is_one_text_for_one_meaning() -> None:
    assert canonical_json({"b": [1.5, None, True], "a": "ü"}) == '{"a":"\\u00fc","b":[1.5,null,true]}'
    with pytest.raises(ValueError, match="JSON compliant"):
        canonical_json({"a": math.nan})


def test_a_damaged_bundle_is_refused_with_the_path_of_every_fault() -> None:
    bundle = cast(dict[str, dict[str, Mapping[str, object]]], json.loads(canonical_json(to_contents(cost_base("reseal")))))
    helper = bundle["trades"]["helper"]
    bundle["trades"]["helper"] = {**helper, "contents": {"name": "Helper", "cost_per_hour": "0"}}
    bundle["materials"]["other-tape"] = bundle["materials"].pop("butyl-tape-1-in")
    damaged: dict[str, object] = {**bundle, "currency": "XXQ", "weather": "fine"}
    del damaged["tiers"]
    with pytest.raises(CalculationFaults) as refusal:
        from_contents(damaged)
    assert {fault.field for fault in refusal.value.faults} == {
        "trades/helper/contents/cost_per_hour",
        "trades/helper/contents/billed_per_hour",
        "trades/helper/contents/overtime_factor",
        "materials/other-tape/edition/slug",
        "currency",
        "weather",
        "tiers",
    }


def test_kinds_read_by_class_and_by_name_are_the_same() -> None:
    for kind, value in ((Condition, "condition"), (PricingRule, "rule"), (TierTable, "tiers"), (Assembly, "assembly")):
        entry = next(e for e in staged() if e.kind == value)
        ref = edition(value, entry.slug)
        assert read(kind, entry.contents, ref) == read_kind(value, entry.contents, ref)  # type: ignore[type-var]
