"""The sample coaches as whole quotes: every line, pack and total of the worked example, and what the example warns of."""

from decimal import Decimal
from functools import cache

import pytest

from costbase.calc.formula import compile_formula
from costbase.calc.measures import names
from costbase.calc.units import BY_SYMBOL, ceil_tolerant, in_unit
from quotes.calc.labour import hours_by_phase
from quotes.calc.quote import Quote
from tests.calc import reference_figures as figures
from tests.calc.shipped_base import base_with, framed, hours_of, laminated, quoted
from tests.calc.worked_lines import FRAMED, LAMINATED, LAMINATED_SKIN

SKINS = ("frp", "membrane", "aluminium")
COACHES = (*SKINS, "framed")


@cache
def coach(name: str) -> Quote:
    return quoted(framed() if name == "framed" else laminated(name))


def by_use(name: str) -> Quote:
    wanted = framed() if name == "framed" else laminated(name)
    return quoted(wanted, base_with(wanted.plan, rule={"stock_billing": "use"}))


def total(amounts: list[Decimal]) -> str:
    return str(sum(amounts, Decimal(0)))


# Line by line -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", COACHES)
def test_every_assembly_takes_the_quantity_and_hours_of_the_example(name: str) -> None:
    worked = FRAMED if name == "framed" else (*LAMINATED, LAMINATED_SKIN[name])
    quote = coach(name)

    hours = {slug: str(value) for slug, value in hours_of(quote).items()}
    assert hours == {slug: value for _, slug, _, value, _ in worked}
    for _, slug, driver, _, _ in worked:
        (take,) = [take for take in quote.takes if take.assembly.slug == slug]
        assert in_unit(take.driver, take.assembly.driver_unit) == pytest.approx(driver, abs=5.1e-5), slug


@pytest.mark.parametrize("name", COACHES)
def test_every_assembly_costs_the_labour_of_the_example(name: str) -> None:
    costs: dict[str, Decimal] = {}
    for line in coach(name).visible.labour:
        costs[line.assembly] = costs.get(line.assembly, Decimal(0)) + line.cost

    expected = figures.FRAMED_LABOUR if name == "framed" else figures.LAMINATED_LABOUR | dict([figures.SKIN_LABOUR[name]])
    assert {slug: str(cost) for slug, cost in costs.items()} == expected


@pytest.mark.parametrize("name", COACHES)
def test_every_material_is_counted_and_paid_for_as_in_the_example(name: str) -> None:
    found = {
        line.packed.material.slug: (str(line.packed.net), str(line.packed.gross), str(line.packed.packs), str(line.cost))
        for line in coach(name).visible.materials
    }

    if name == "framed":
        assert found == figures.FRAMED_MATERIALS
    else:
        assert found == figures.LAMINATED_MATERIALS | figures.SKIN_MATERIALS[name]


@pytest.mark.parametrize("name", COACHES)
def test_every_total_is_the_example_s(name: str) -> None:
    hours, labour, material, direct, direct_by_use, billed_labour, billed_material, base = figures.TOTALS[name]
    quote = coach(name)
    visible = quote.visible

    assert total([line.hours for line in visible.labour]) == hours
    assert total([line.cost for line in visible.labour]) == labour
    assert total([line.cost for line in visible.materials]) == material
    assert str(visible.cost) == direct
    assert str(by_use(name).visible.cost) == direct_by_use
    assert (str(visible.labour_total), str(visible.material_total)) == (billed_labour, billed_material)
    assert str(quote.totals.base) == base


@pytest.mark.parametrize("name", ["frp", "framed"])
def test_the_hours_of_every_phase_are_the_example_s(name: str) -> None:
    by_phase = hours_by_phase(coach(name).visible.labour)

    assert {phase: str(hours) for phase, hours in by_phase.items()} == figures.HOURS_BY_PHASE[name]


def test_with_markup_and_shares_0_and_cost_rates_visible_work_is_direct_cost() -> None:
    shipped = base_with()
    at_cost = {
        slug: type(trade)(slug, trade.name, trade.cost_per_hour, trade.cost_per_hour, trade.overtime_factor, trade.edition)
        for slug, trade in shipped.trades.items()
    }
    quote = quoted(laminated(), base_with(trades=at_cost, rule={"markups": {"materials": Decimal(0)}}))

    assert str(quote.totals.base) == "13969.14"


# Packs ------------------------------------------------------------------------------------------------------


def parts_of(slug: str) -> list[float]:
    """Net needs of a material by assembly on the laminated coach with a laminate skin, in its unit of use."""
    (line,) = [line for line in coach("frp").visible.materials if line.packed.material.slug == slug]
    return [float(part.net) for part in line.parts]


def packs_of(slug: str) -> str:
    (line,) = [line for line in coach("frp").visible.materials if line.packed.material.slug == slug]
    return str(line.packed.packs)


@pytest.mark.parametrize(
    ("slug", "size", "waste", "parts", "packs", "for_each_assembly"),
    [
        # 0.3743 + 2.4953 + 2.9363 = 5.8059, + 10 % = 6.3865 gal: 7. For each assembly 0.4117, 2.7448, 3.2299: 1 + 3 + 4 = 8.
        ("laminating-adhesive-polyurethane", 1, 0.10, [0.3743, 2.4953, 2.9363], "7", 8),
        # 123.914 ft, + 8 % = 133.8271 ft in rolls of 30: 5. For each assembly 73.44, 18.114, 37.233, 5.040 ft:
        # 3 + 1 + 2 + 1 = 7; the example's 6 has the feet sealed with the fittings, 37.233 + 5.040 ft in 2 rolls.
        ("butyl-tape-1-in", 30, 0.08, [68.0, 16.7724, 34.4749, 4.6667], "5", 7),
        # 0.75 + 2 + 2 = 4.75, + 10 % = 5.225: 6. For each assembly 0.825, 2.2, 2.2: 1 + 3 + 3 = 7.
        ("structural-adhesive-10-1-oz", 1, 0.10, [0.75, 2.0, 2.0], "6", 7),
        # 206 + 70 = 276, + 10 % = 303.6 in boxes of 100: 4. For each assembly 226.6 and 77: 3 + 1, by chance 4 as well.
        ("rail-screw-1-1-2-in", 100, 0.10, [206.0, 70.0], "4", 4),
    ],
)
def test_packs_are_rounded_up_once_over_the_quote(
    slug: str, size: float, waste: float, parts: list[float], packs: str, for_each_assembly: int
) -> None:
    assert parts_of(slug) == parts
    assert packs_of(slug) == packs
    assert sum(ceil_tolerant(part * (1 + waste) / size) for part in parts) == for_each_assembly


def test_without_waste_a_box_of_rail_screws_too_few_would_be_bought() -> None:
    # 276 screws fill 2.76 boxes, so 3; with 10 % waste they need 3.036, so 4.
    assert ceil_tolerant(sum(parts_of("rail-screw-1-1-2-in")) / 100) == 3
    assert packs_of("rail-screw-1-1-2-in") == "4"


def test_skins_by_the_foot_and_the_disposal_fee_are_bought_by_measure() -> None:
    # 35 ft x 1.05 = 36.75 ft x 12.75 = 468.5625; 0.235038 ton = 0.24 x 92.00.
    lines = {line.packed.material.slug: line for line in coach("membrane").visible.materials}

    assert (str(lines["tpo-membrane-45-thou"].packed.packs), str(lines["tpo-membrane-45-thou"].cost)) == ("36.75", "468.56")
    assert (str(lines["disposal-fee"].packed.packs), str(lines["disposal-fee"].cost)) == ("0.24", "22.08")


# Quantities -------------------------------------------------------------------------------------------------


def test_fasteners_are_counted_at_both_ends_of_a_row() -> None:
    # Two gutters of 408 in at 4 in: 2 x (102 + 1) = 206. Two caps of 100.6345 in at 3 in: 2 x (34 + 1) = 70.
    needs = {take.assembly.slug: take.needs for take in coach("frp").takes}

    assert needs["edge-and-gutter"]["rail-screw-1-1-2-in"] == 206
    assert needs["cap-joint-rebuild"]["rail-screw-1-1-2-in"] == 70
    # Closed rows have no end: 68 in of vent flange at 2.5 in is 27.2, so 28; 3 x 28 + 42 + 28.
    assert needs["fittings-fit"]["pan-head-screw-1-in"] == 154


def test_disposal_is_weighed_wet_and_tipped_by_volume() -> None:
    # Dry: 293.6312 x 0.61 + 272 x 0.25 + 249.5265 x 0.549 + 37.429 x 2.5/12 x 1.0 = 179.115 + 68 + 136.990 + 7.798.
    # Wet: the deck x 1.60/1.12 (12 to 60 % moisture), the foam + 4 % of its volume in water.
    # Loose: 384.105 lb at 300 lb/yd3 + 7.7977 ft3 of foam x 1.5 / 27 = 1.2803 + 0.4332.
    whole = coach("frp").measured.whole

    assert in_unit(float(whole["waste_mass_dry"]), "lb") == pytest.approx(391.902758, abs=1e-6)
    assert in_unit(float(whole["waste_mass_wet"]), "lb") == pytest.approx(470.075837, abs=1e-6)
    assert in_unit(float(whole["waste_mass"]), "ton") == pytest.approx(0.235038, abs=1e-6)
    assert in_unit(float(whole["waste_volume"]), "yd3") == pytest.approx(1.713556, abs=1e-6)


CARTRIDGES = {"10.1": "(10.1 * fluid_ounce)", "10.3": "(10.3 * fluid_ounce)", "gallon": "gallon"}


def feet_of_bead(section: str, cartridge: str) -> float:
    """How far a cartridge goes, from volume: one foot of bead over the volume of the cartridge, the other way round."""
    need = compile_formula(f"roof_length * {section} / {CARTRIDGES[cartridge]}", names("section"))
    return 1.0 / float(need({"roof_length": float(BY_SYMBOL["ft"].factor)}))


@pytest.mark.parametrize(
    ("wide", "deep", "per_10_1", "per_10_3", "per_gallon"),
    # Worked from 1 fl oz = 231/128 in3: 10.1 fl oz = 18.2273 in3 over 12 x width x depth.
    [
        ("1/8", "1/8", 97.21, 99.14, 1232.0),
        ("3/16", "3/16", 43.21, 44.06, 547.6),
        ("1/4", "1/8", 48.61, 49.57, 616.0),
        # A published chart prints 50 to 55 ft for this bead, twice the true length; two others say 24 to 27 for 10 oz.
        ("1/4", "1/4", 24.30, 24.78, 308.0),
        ("3/8", "1/4", 16.20, 16.52, 205.3),
        ("3/8", "3/8", 10.80, 11.02, 136.9),
        ("1/2", "1/4", 12.15, 12.39, 154.0),
        ("1/2", "3/8", 8.10, 8.26, 102.7),
        ("1/2", "1/2", 6.08, 6.20, 77.0),
    ],
)
def test_the_length_of_a_bead_follows_from_volume_and_from_no_table(
    wide: str, deep: str, per_10_1: float, per_10_3: float, per_gallon: float
) -> None:
    section = f"({wide} * inch) * ({deep} * inch)"

    assert feet_of_bead(section, "10.1") == pytest.approx(per_10_1, abs=0.005)
    assert feet_of_bead(section, "10.3") == pytest.approx(per_10_3, abs=0.005)
    assert feet_of_bead(section, "gallon") == pytest.approx(per_gallon, abs=0.05)


@pytest.mark.parametrize(
    ("section", "cartridge", "feet"),
    [
        ("0.5 * (3/8 * inch) ** 2", "10.1", 21.60),  # right-triangle fillet
        ("3.14159265 * (1/4 * inch) ** 2 / 4", "10.1", 30.94),  # round bead
        ("3.14159265 * (1/2 * inch) ** 2 / 8", "10.1", 15.47),  # half-round bead
        ("(2 * inch) * (3/16 * inch)", "10.3", 4.131),  # self-levelling pour
    ],
)
def test_other_shapes_of_bead_fill_their_section(section: str, cartridge: str, feet: float) -> None:
    assert feet_of_bead(section, cartridge) == pytest.approx(feet, abs=0.005)


def test_the_sealant_of_the_coach_follows_from_its_volumes() -> None:
    # Pour: 51.1416 ft x 4.5 in3/ft / 18.5883 in3 = 12.3808, + 10 % = 13.6188: 14. Fillet: 84.7724 ft / 21.60 ft: 3.9241,
    # + 10 % = 4.3166: 5.
    lines = {line.packed.material.slug: line.packed for line in coach("frp").visible.materials}
    pour, fillet = lines["self-levelling-sealant-10-3-oz"], lines["perimeter-sealant-10-1-oz"]

    assert (str(pour.net), str(pour.gross), str(pour.packs)) == ("12.3808", "13.6188", "14")
    assert (str(fillet.net), str(fillet.gross), str(fillet.packs)) == ("3.9241", "4.3166", "5")


def test_a_skin_of_102_in_is_too_narrow_for_a_developed_width_of_103_63_in() -> None:
    (warning,) = [text for text in coach("aluminium").warnings if "stock" in text]

    assert "section main needs 103.63 in (developed width)" in warning
    assert "the stock is 102 in wide" in warning


@pytest.mark.parametrize("name", ["frp", "membrane", "framed"])
def test_stock_of_108_in_covers_the_developed_and_114_in_the_visible_width(name: str) -> None:
    # The membrane has to cover the visible width only: 100.63 in of 114.
    assert [text for text in coach(name).warnings if "stock" in text] == []
