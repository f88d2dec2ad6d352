"""What exactly does each measure mean?

The table behind `costbase/calc/measures.py`: every figure that a formula of the cost base may name, with its
kind and range, the unit it is entered in, where it comes from and one sentence that defines it. It is data;
the code beside it reads it.

One take-off rule holds throughout: a roof is measured flat, openings are never deducted (the textbook rule
deducts none below 30 square feet, and a coach has no larger one), lengths run along the centre line.
Source: Estimating in Building Construction, roofing chapter, for the openings; common practice, none
published, for the rest.
"""

from dataclasses import dataclass
from math import inf
from typing import Literal

from costbase.calc.formula import Choice, Flag, Kind, Number
from costbase.calc.units import BY_SYMBOL

Level = Literal["section", "quote"]
Combine = Literal["sum", "most", "any", "same", "none"]
Source = Literal["coach", "survey", "plan", "estimator", "derived"]
Value = float | bool | str

ROOF_KINDS = ("laminated", "framed", "metal")
SKINS = ("frp", "membrane", "aluminium")


@dataclass(frozen=True, slots=True)
class Measure:
    """A figure that formulas may name.

    Attributes:
        slug: its name in formulas.
        kind: number with dimension and range (canonical units), yes/no, or one of several words.
        unit: symbol of the unit in which people enter and read it; "" for yes/no and words.
        level: "section" (each roof section has its own) or "quote" (one for the whole quote).
        combine: how the sections' values become the quote's: "sum", "most" (the largest), "any" (yes where
            one says yes), "none" (a width has no total). "same" for a measure of the quote, which every
            section sees.
        source: who says it: "coach" (dimensions), "survey", "plan", "estimator", or "derived" from others.
        definition: one sentence.
        formula: how it is worked out, in the formula language; None for what comes from outside or from
            geometry. A measure with a formula and another source than "derived" has it as its default: a
            figure that somebody gives replaces it.
        unset: its value when nobody has said anything; None where it has to be said.
    """

    slug: str
    kind: Kind
    unit: str
    level: Level
    combine: Combine
    source: Source
    definition: str
    formula: str | None = None
    unset: Value | None = None


def _number(
    slug: str,
    unit: str,
    definition: str,
    *,
    low: float = 0.0,
    high: float = inf,
    level: Level = "section",
    combine: Combine = "sum",
    source: Source = "coach",
    formula: str | None = None,
    unset: float | None = None,
) -> Measure:
    """A number whose range is given in its entry unit; what is entered in "each" is whole."""
    entry = BY_SYMBOL[unit]
    factor = float(entry.factor)
    kind = Number(entry.dimension, unit == "each", low * factor, high * factor)
    return Measure(slug, kind, unit, level, combine, source, definition, formula, unset)


def _found(slug: str, unit: str, definition: str, *, high: float, source: Source = "survey") -> Measure:
    """An extent in one section that is nothing until somebody finds it or asks for it."""
    return _number(slug, unit, definition, high=high, source=source, unset=0.0)


def _share(slug: str, definition: str, source: Source = "survey") -> Measure:
    return _number(slug, "share", definition, high=1, combine="none", source=source, unset=0.0)


def _derived(slug: str, unit: str, formula: str | None, definition: str, combine: Combine = "sum") -> Measure:
    return _number(slug, unit, definition, combine=combine, source="derived", formula=formula)


def _patched(slug: str, unit: str, definition: str) -> Measure:
    return _number(slug, unit, definition, source="derived", unset=0.0)


def _count(slug: str, definition: str, high: float = 100.0) -> Measure:
    return _number(slug, "each", definition, high=high)


def _width(slug: str, definition: str, *, low: float = 0.0, high: float = inf, unit: str = "in") -> Measure:
    return _number(slug, unit, definition, low=low, high=high, combine="none")


def _asked(slug: str, unit: str, definition: str, high: float) -> Measure:
    """An extent of the whole quote that is nothing until the estimator asks for it."""
    return _number(slug, unit, definition, high=high, level="quote", combine="same", source="estimator", unset=0.0)


def _yes_no(slug: str, definition: str, source: Source, unset: bool | None = None) -> Measure:
    return Measure(slug, Flag(), "", "quote", "same", source, definition, None, unset)


# Longest and widest are generous bounds for range checks of formulas; what a coach may measure is checked
# with its geometry.
ROOF = (
    _number("roof_length", "in", "Flat length of the section in scope, 0 for a slide room.", high=720),
    _width("body_width", "Outside width of the body at the gutter line, 0 for a slide room.", high=120),
    _width("crown_rise", "Rise of the crown over the chord between the two edge radii.", high=12),
    _width("edge_radius", "Radius of the rolled side edge, 0 for a square edge.", high=24),
    _width("edge_sweep", "Angle turned by each rolled edge, 90 for a tail that hangs down.", high=135, unit="deg"),
    _width("tuck", "Flat tail of skin tucked in each gutter rail.", high=12),
    _width("core_thickness", "Thickness of the foam core, 0 where there is none.", high=12),
    _width("rafter_spacing", "Distance from rafter to rafter, 0 where there are none.", high=60),
    Measure(
        "roof_kind",
        Choice(frozenset(ROOF_KINDS)),
        "",
        "section",
        "none",
        "coach",
        "How the section is built: laminated foam core, framed with rafters, or metal.",
    ),
    _width("old_skin_areal_mass", "Mass of a square foot of the skin that comes off.", high=20, unit="lb/ft2"),
    _width("deck_areal_mass", "Mass of a square foot of the deck that comes off, dry.", high=20, unit="lb/ft2"),
    _width("chord", "Body width less the two edge radii: the chord of the crown.", high=120),
    _width("crown_radius", "Radius of the crown's arc, very large for a flat roof."),
    _width("crown_arc", "Length of the crown over its chord, which is the width of the deck.", high=240),
    _width("edge_arc", "Length of skin over one rolled edge.", high=60),
    _width("visible_width", "Crown arc and both edge arcs: the width of skin that is seen.", high=360),
    _width("developed_width", "Visible width and both tucks: the width of skin that is needed.", high=400),
    _count("cap_joint_count", "Ends of the scope that meet a front or rear cap.", 2),
    _number("cap_joint_length", "ft", "Visible width times the cap joints in the scope.", high=200),
    _count("cross_seam_count", "Ends of the scope that are neither a cap nor a step: new skin meets old.", 20),
    _number("step_joint_length", "ft", "Length of the steps to other roof sections.", high=300),
    _count("ac_count", "Roof air conditioners."),
    _count("vent_count", "Roof vents with a 14 in opening."),
    _count("skylight_count", "Skylights."),
    _count("stack_count", "Plumbing stacks."),
    _count("fridge_vent_count", "Refrigerator roof vents."),
    _count("antenna_count", "Antennas and dishes.", 2000),
    _count("cable_entry_count", "Cable entries.", 2000),
    _count("ladder_foot_count", "Feet of ladders.", 40_000),
    _count("solar_panel_count", "Solar panels.", 2000),
    _count("solar_foot_count", "Feet of solar panels.", 40_000),
    _count("awning_count", "Awnings that hang on this section.", 2000),
    _count("slide_topper_count", "Slide toppers that hang on this section.", 2000),
    _count("marker_light_count", "Marker lights.", 2000),
    _number(
        "vent_flange_length",
        "ft",
        "Outer flange lengths of vents, skylights and refrigerator vents.",
        high=2000,
    ),
    _number("stack_flange_length", "ft", "Outer flange lengths of plumbing stacks.", high=2000),
    _number("small_flange_length", "ft", "Outer flange lengths of antenna bases and cable entries.", high=2000),
    _count("captive_nut_count", "All captive nuts in the roof.", 2000),
    _count("wiring_run_total", "All wiring runs in core or rafter bays.", 200),
    _number("slide_roof_area", "ft2", "Area of slide-room roofs in the scope.", high=2000),
    _number("slide_seal_length", "ft", "Length of the wipers and bulb seals of slide rooms.", high=2000),
)

AREAS_AND_LENGTHS = (
    _derived("plan_area", "ft2", "roof_length * body_width", "Length times body width: the roof seen from above."),
    _derived("skin_area", "ft2", "roof_length * developed_width", "Length times developed width."),
    _derived("deck_area", "ft2", "roof_length * crown_arc", "Length times crown arc."),
    _derived("side_edge_length", "ft", "2 * roof_length", "Both side edges."),
    _derived("perimeter", "ft", "side_edge_length + cap_joint_length", "Both side edges and the cap joints."),
    _derived(
        "pad_length",
        "ft",
        "(ladder_foot_count + solar_foot_count) * foot",
        "A foot of seal for each 4 by 2 in pad.",
    ),
    _derived(
        "penetration_length",
        "ft",
        "vent_flange_length + stack_flange_length + small_flange_length + pad_length",
        "Outer flange lengths of everything that goes through or stands on the skin, air conditioners apart.",
    ),
    _derived(
        "opening_count",
        "each",
        "ac_count + vent_count + skylight_count + fridge_vent_count",
        "Framed openings: air conditioners, vents, skylights and refrigerator vents.",
    ),
    _derived(
        "rafter_length",
        "ft",
        "(floor(roof_length / rafter_spacing) + 1) * body_width if rafter_spacing > 0 * inch else 0 * foot",
        "Length of all rafters, one at each end and at every spacing.",
    ),
    _derived("deck_replaced_area", "ft2", "deck_area * deck_replaced_share", "Deck that is replaced."),
    _derived("foam_replaced_area", "ft2", "deck_area * foam_replaced_share", "Foam core that is replaced."),
    _derived("old_coated_area", "ft2", "skin_area * old_coating_share", "Skin under an added coating or wide tape."),
)

# Worked out by the sheet planner from the deck's size and the replaced share; the formulas of templates read
# them only.
SHEETS = (
    _derived("deck_sheets", "each", None, "Whole sheets for the replaced deck, cutting waste included."),
    _derived("deck_courses", "each", None, "Courses of sheets in the replaced deck."),
    _derived("roof_courses", "each", None, "Courses of sheets in a whole deck of this length."),
    _derived("sheets_across", "each", None, "Sheets side by side across the deck.", "none"),
    _derived(
        "deck_joint_length",
        "ft",
        None,
        "Joints between sheets of the replaced deck, and to the deck that stays.",
    ),
    _patched("deck_patch_count", "each", "Patches that the soft and rotten cells alone would take."),
    _patched("deck_patch_area", "ft2", "Board in those patches, cutting waste left aside."),
    _patched("deck_patch_joint_length", "ft", "Joints round those patches, each once."),
    _patched("deck_patch_sheets", "each", "Whole sheets that those patches are cut from."),
)

# Worked out by the skin planner where the plan lays a new skin.
SKIN = (
    _number(
        "skin_stock_length",
        "ft",
        "Length of roll or coil for the new skin, laps included.",
        high=5000,
        source="estimator",
        formula="roof_length",
    ),
    _patched("skin_lap_length", "ft", "Lap seams between strips of new skin."),
)

SURVEY = (
    _share("deck_replaced_share", "Share of the deck that this price replaces."),
    _share("foam_replaced_share", "Share of the foam core, by deck area, that this price replaces."),
    _share(
        "splinter_share",
        "Share of the replaced deck that comes off in splinters instead of sheets.",
        "estimator",
    ),
    _share("old_coating_share", "Share of the skin under an added coating or wide tape."),
    _number(
        "old_bead_length",
        "ft",
        "Sealant and tape lines to scrape: the perimeter, and the penetrations too where the skin stays.",
        high=5000,
        source="survey",
        formula="perimeter if skin_off else perimeter + penetration_length",
    ),
    _found("added_trim_length", "ft", "Trim strips that somebody added.", high=2000),
    _found("wall_top_rot_length", "ft", "Rotten sidewall top and edge framing that this price repairs.", high=400),
    _found("cap_backing_rot_length", "ft", "Rotten backing of the cap flanges that this price renews.", high=100),
    _found("cap_crack_length", "ft", "Cracks in the moulded caps.", high=200),
    _found("brace_count", "each", "Air-conditioner openings that are braced and framed.", high=20),
    _found("backing_count", "each", "Other openings that get a backing frame.", high=100),
    _found("spun_nut_count", "each", "Captive nuts that spin and are cut out.", high=1000),
    _found("wiring_repair_count", "each", "Wiring runs that are repaired.", high=500),
    _found("vermin_zone_count", "each", "Zones with vermin to remove and clean.", high=50),
    _found("mold_area", "ft2", "Area of mold growth to clean.", high=2000),
    Measure(
        "over_silicone",
        Flag(),
        "",
        "section",
        "any",
        "survey",
        "Silicone was found on the section, and only silicone bonds to it.",
        None,
        False,
    ),
    _number(
        "dry_days",
        "day",
        "Days of drying; sections dry at the same time.",
        high=60,
        combine="most",
        source="survey",
        unset=0.0,
    ),
    _found("rafter_repair_length", "ft", "Rafters sistered or replaced.", high=5000, source="estimator"),
    _found(
        "batt_replaced_area",
        "ft2",
        "Insulation between rafters that is replaced.",
        high=2000,
        source="estimator",
    ),
    _found("ceiling_area", "ft2", "Ceiling panels taken out and put back.", high=2000, source="estimator"),
    _found("shore_zone_count", "each", "Zones of the ceiling shored from inside.", high=50, source="estimator"),
    _found("sag_zone_count", "each", "Sagged zones raised and re-crowned.", high=50, source="estimator"),
    _found("circuit_rerun_count", "each", "Circuits run again above the ceiling.", high=50, source="estimator"),
    _found("coat_area", "ft2", "Area that is coated.", high=5000, source="estimator"),
    _found(
        "quick_membrane_length",
        "ft",
        "Roof priced quickly by the running foot.",
        high=200,
        source="estimator",
    ),
)

# Constants: 0.25 lb/ft2 of glue and screws come off with the skin; 12 lb of scrapings where it stays; dry
# foam weighs 1 lb/ft3 and takes up 4 % of its volume in water at 62.4 lb/ft3; wet deck is at 60 % moisture,
# dry deck at 12 %.
# Source: moisture from the Wood Handbook, chapter 4; water in foam from ASTM C578, type I; masses assumed.
_SKIN_WASTE = "(skin_area * old_skin_areal_mass + plan_area * 0.25 * pound_per_square_foot if skin_off else 12 * pound)"
_FOAM_VOLUME = "foam_replaced_area * core_thickness"
WASTE = (
    _derived(
        "waste_mass_dry",
        "lb",
        f"{_SKIN_WASTE} + deck_replaced_area * deck_areal_mass + {_FOAM_VOLUME} * pound / cubic_foot",
        "Mass of what comes off when it is dry.",
    ),
    _derived(
        "waste_mass_wet",
        "lb",
        f"{_SKIN_WASTE} + deck_replaced_area * deck_areal_mass * 1.6 / 1.12"
        f" + {_FOAM_VOLUME} * (1 + 0.04 * 62.4) * pound / cubic_foot",
        "Mass of what comes off when deck and foam are soaked.",
    ),
    _derived("waste_mass", "ton", "waste_mass_wet", "Mass that the tip charges for, taken as wet."),
    # Loose mixed scrap lies at 300 lb/yd3; foam is bulky instead of heavy, and loose pieces take half as much
    # room again.
    # Source: loose density of scrap wood from published waste conversion tables; 1.5 assumed.
    _derived(
        "waste_volume",
        "yd3",
        f"(waste_mass_dry - {_FOAM_VOLUME} * pound / cubic_foot) * cubic_yard / (300 * pound) + {_FOAM_VOLUME} * 1.5",
        "Room that it takes in a skip, lying loose.",
    ),
)

QUOTE = (
    Measure("skin", Choice(frozenset(SKINS)), "", "quote", "same", "estimator", "Which new skin the roof gets."),
    _yes_no("skin_off", "The scope takes the old skin off.", "plan"),
    _yes_no("dust_work", "The scope opens the roof above the rooms.", "plan"),
    _yes_no("own_skip", "The job gets a skip of its own.", "plan"),
    _yes_no("reuse_fittings", "Vents, skylights, refrigerator vents and lights go back.", "estimator", False),
    _yes_no("indoor_bay", "The coach stands indoors.", "estimator", False),
    _asked("open_days", "day", "Nights that the roof lies open.", 365),
    _asked("storage_days", "day", "Days that the coach stays after the day agreed.", 3650),
    _asked("look_first_count", "each", "Look-first openings before the quote.", 20),
    _asked("look_edge_length", "ft", "Edge opened for a look before a price is signed.", 100),
    _asked("look_shroud_count", "each", "Air-conditioner shrouds lifted for a look.", 20),
    _asked("look_trim_count", "each", "Inner trims of openings taken off for a look.", 50),
    _asked("look_lane_count", "each", "Lanes of the roof, a quarter of the deck each, gone over with a meter.", 20),
    _asked("close_up_length", "ft", "Roof closed for travel or storage without repair.", 200),
    _asked("cap_reseal_length", "ft", "Cap joint resealed.", 200),
    _asked("vent_reinstall_count", "each", "Vents lifted and fitted again.", 100),
    _asked("swap_sheet_count", "each", "Deck sheets swapped.", 100),
    _asked("solar_prep_count", "each", "Preparations for solar panels.", 50),
    _asked("new_ac_count", "each", "New air conditioners in place of old ones.", 20),
    _asked("new_circuit_count", "each", "New branch circuits.", 50),
    _asked("paint_job_count", "each", "Paint or gel-coat matches by an outside shop.", 50),
    _asked("recheck_count", "each", "Visits to look at sealant and fasteners again.", 20),
)

TABLE = (*ROOF, *AREAS_AND_LENGTHS, *SHEETS, *SKIN, *SURVEY, *WASTE, *QUOTE)
