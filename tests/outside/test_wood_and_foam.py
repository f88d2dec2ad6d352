"""The masses of wood and foam in the default base, against published densities.

Sources: Wood Handbook, Forest Products Laboratory, General Technical Report FPL-GTR-190 (2010), chapter 4, density from gravity
and moisture; ASTM C578 (1992 and later), table 1, for moulded polystyrene foam. Gravity of lauan 0.46: from memory.
"""

import pytest

from costbase.calc.measures import Value
from costbase.calc.units import in_unit
from quotes.calc.geometry import measure_section
from tests.calc.roofs import roof, section, span
from tests.calc.test_default_cost_base import seen_by_level
from tests.default_base import editions
from tests.sample_coaches import LAMINATED

SHEET_SQFT = 32.0
LAUAN_GRAVITY = 0.46
LAUAN_THICKNESS_FT = 5.2 / 304.8
FOAM_THICKNESS_FT = 2.5 / 12
# Density in lb/ft3 at least, and water in % of the volume at most. Source: ASTM C578, table 1.
TYPE_1, TYPE_8, TYPE_2, TYPE_9 = 0.90, 1.15, 1.35, 1.80
TYPE_1_WATER_PERCENT = 4.0
WATER = 62.4  # lb/ft3


def density(gravity: float, moisture_percent: float) -> float:
    """Density of wood in lb/ft3: 62.43 x gravity x (1 + moisture / 100). Source: Wood Handbook, chapter 4."""
    return 62.43 * gravity * (1 + moisture_percent / 100)


def sheet_pounds(slug: str) -> float:
    """Mass of one piece of a material in the default base."""
    mass = editions().materials[slug].unit_mass
    assert mass is not None
    return in_unit(mass, "lb")


def deck_psf(deck: str) -> float:
    """Mass of a square foot of a deck, as a section with that deck has it."""
    mass = measure_section(roof(section(deck=deck)), span()).values["deck_areal_mass"]
    assert isinstance(mass, float)
    return in_unit(mass, "lb/ft2")


def waste_pounds(slug: str, **changes: str | bool) -> float:
    """Waste of the laminated sample coach under glass laminate."""
    seen: dict[str, Value] = seen_by_level({**LAMINATED, **changes}, "frp")["section"]
    mass = seen[slug]
    assert isinstance(mass, float)
    return in_unit(mass, "lb")


def test_the_formula_gives_the_handbooks_own_figure() -> None:
    # Gravity 0.40 at 12 %: 62.43 x 0.40 x 1.12 = 27.97 lb/ft3. Source: Wood Handbook, chapter 4, table of densities (28.0).
    assert density(0.40, 12) == pytest.approx(27.968, abs=0.001)


def test_lauan_weighs_what_its_density_says() -> None:
    # 62.43 x 0.46 x 1.12 = 32.164 lb/ft3; x 5.2 mm = 0.5487 lb/ft2; x 32 ft2 = 17.56 lb.
    areal = density(LAUAN_GRAVITY, 12) * LAUAN_THICKNESS_FT
    assert areal == pytest.approx(0.5487, abs=0.0001)
    assert deck_psf("lauan_5_2mm") == pytest.approx(areal, abs=0.0005)
    assert sheet_pounds("lauan-sheet-5-2-mm") == pytest.approx(SHEET_SQFT * areal, abs=0.05)


def test_softwood_plywood_weighs_three_pounds_an_inch() -> None:
    # 3.0 lb/ft2 for each inch of thickness: 3/8 in is 1.125 lb/ft2, 36 lb a sheet. Source: public page that quotes APA, the
    # engineered wood association; panels vary by 15 %. The Wood Handbook's formula at gravity 0.50 and 12 % is inside that.
    assert deck_psf("plywood_3_8in") == pytest.approx(3.0 * 3 / 8, rel=1e-9)
    assert sheet_pounds("plywood-sheet-3-8-in") == pytest.approx(SHEET_SQFT * 3.0 * 3 / 8, rel=1e-9)
    assert deck_psf("plywood_3_8in") == pytest.approx(density(0.50, 12) * 3 / 8 / 12, rel=0.15)


def test_strand_board_weighs_45_to_46_pounds_a_sheet() -> None:
    # 7/16 in, 4 x 8 ft. Source: public page of panel weights.
    assert 45.0 <= sheet_pounds("strand-board-sheet-7-16-in") <= 46.0
    assert 45.0 <= SHEET_SQFT * deck_psf("osb_7_16in") <= 46.0


@pytest.mark.parametrize(
    ("slug", "least_pcf", "next_pcf"),
    [("foam-board-type-1-2-5-in", TYPE_1, TYPE_8), ("foam-board-type-2-2-5-in", TYPE_2, TYPE_9)],
)
def test_a_foam_board_weighs_what_its_type_must_and_less_than_the_next(slug: str, least_pcf: float, next_pcf: float) -> None:
    # 32 ft2 x 2.5 in = 6.667 ft3: type I 6.00 to 7.67 lb, type II 9.00 to 12.00 lb.
    volume_ft3 = SHEET_SQFT * FOAM_THICKNESS_FT
    assert least_pcf * volume_ft3 <= sheet_pounds(slug) < next_pcf * volume_ft3


def test_soaked_deck_weighs_ten_sevenths_of_dry_deck() -> None:
    # From 12 to 60 % moisture: 1.60 / 1.12 = 10 / 7 = 1.428571, whatever the gravity. Source: Wood Handbook, chapter 4.
    factor = density(LAUAN_GRAVITY, 60) / density(LAUAN_GRAVITY, 12)
    assert factor == pytest.approx(10 / 7, rel=1e-12)
    dry = waste_pounds("waste_mass_dry") - waste_pounds("waste_mass_dry", deck_replaced_share="0 share")
    wet = waste_pounds("waste_mass_wet") - waste_pounds("waste_mass_wet", deck_replaced_share="0 share")
    assert wet / dry == pytest.approx(factor, rel=1e-9)
    # 249.5265 ft2 x 0.7839 lb/ft2 (lauan at 60 %) = 195.6 lb.
    assert wet == pytest.approx(249.5265 * density(LAUAN_GRAVITY, 60) * LAUAN_THICKNESS_FT, rel=1e-3)


def test_soaked_foam_holds_the_water_that_its_type_may_take_up() -> None:
    # 15 % of 249.5265 ft2, 2.5 in thick = 7.7977 ft3: dry at 1 lb/ft3, which type I reaches (0.90); and 4 % of the volume in
    # water, 2.496 lb/ft3 or 0.520 lb/ft2 more. Source: ASTM C578, type I, water absorption.
    volume_ft3 = 0.15 * 249.5265 * FOAM_THICKNESS_FT
    dry = waste_pounds("waste_mass_dry") - waste_pounds("waste_mass_dry", foam_replaced_share="0 share")
    wet = waste_pounds("waste_mass_wet") - waste_pounds("waste_mass_wet", foam_replaced_share="0 share")
    assert TYPE_1 <= dry / volume_ft3 < TYPE_8
    assert (wet - dry) / volume_ft3 == pytest.approx(TYPE_1_WATER_PERCENT / 100 * WATER, rel=1e-5)
    assert (wet - dry) / (0.15 * 249.5265) == pytest.approx(0.520, abs=0.0005)


def test_the_sample_coach_throws_away_what_was_worked_by_hand() -> None:
    # Skin 293.6312 ft2 x 0.61 = 179.115; glue and screws 272 x 0.25 = 68; deck 249.5265 x 0.549 = 136.990; foam 7.798.
    assert waste_pounds("waste_mass_dry") == pytest.approx(391.90, abs=0.01)
    # 179.115 + 68 + 136.990 x 10/7 = 195.700 + 7.798 x (1 + 0.04 x 62.4) = 27.261.
    assert waste_pounds("waste_mass_wet") == pytest.approx(470.08, abs=0.01)
