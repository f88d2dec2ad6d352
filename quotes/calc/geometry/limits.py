"""Which sizes does no coach have (refused), and which are so unusual that they are read again (warned about)?

Limits are generous: a refusal stops a quote, so it is kept for a typing slip or a wrong unit. Unless a line
says otherwise, the source is common practice, none published.
"""

import math
from dataclasses import dataclass

from costbase.calc.errors import CalculationError
from costbase.calc.units import show
from quotes.calc.geometry.faults import OutOfRangeError
from quotes.calc.geometry.roof import FOOT, INCH, POUND, Attachment, Opening, Section


@dataclass(frozen=True, slots=True)
class Limit:
    """Least and greatest value of one attribute; `unit` is the symbol in which both are shown."""

    attribute: str
    least: float
    greatest: float
    unit: str


# Hard limits ------------------------------------------------------------------------------------------------

_EVERY_SECTION = (
    Limit("crown_rise", 0.0, 12 * INCH, "in"),
    Limit("edge_radius", 0.0, 24 * INCH, "in"),
    # Past 135 degrees the skin would run back into the wall.
    Limit("edge_sweep", 0.0, 135.0, "deg"),
    Limit("tuck", 0.0, 12 * INCH, "in"),
    Limit("core_thickness", 0.0, 12 * INCH, "in"),
    Limit("captive_nuts", 0, 1_000, "each"),
    Limit("wiring_runs", 0, 200, "each"),
)
HARD_BY_KIND: dict[str, tuple[Limit, ...]] = {
    # A rebuilt coach has 24 to 45 ft of flat roof; 8 ft and 60 ft leave room for vans and for very long
    # frames.
    "main": (
        Limit("length", 8 * FOOT, 60 * FOOT, "ft"),
        Limit("body_width", 60 * INCH, 120 * INCH, "in"),
    ),
    "raised": (
        Limit("length", 2 * FOOT, 60 * FOOT, "ft"),
        Limit("body_width", 48 * INCH, 120 * INCH, "in"),
    ),
    "lowered": (
        Limit("length", 2 * FOOT, 60 * FOOT, "ft"),
        Limit("body_width", 48 * INCH, 120 * INCH, "in"),
    ),
    "over_cab": (
        Limit("length", 1 * FOOT, 14 * FOOT, "ft"),
        Limit("body_width", 48 * INCH, 120 * INCH, "in"),
    ),
    "slide_room": (
        Limit("length", 1 * FOOT, 45 * FOOT, "ft"),
        Limit("body_width", 8 * INCH, 72 * INCH, "in"),
    ),
}
RAFTERS = Limit("rafter_spacing", 6 * INCH, 60 * INCH, "in")
NO_RAFTERS = Limit("rafter_spacing", 0.0, 0.0, "in")
HARD_BY_OPENING: dict[str, tuple[Limit, ...]] = {
    "air_conditioner": (
        Limit("length", 8 * INCH, 48 * INCH, "in"),
        Limit("width", 8 * INCH, 48 * INCH, "in"),
    ),
    "vent": (Limit("length", 3 * INCH, 60 * INCH, "in"), Limit("width", 3 * INCH, 60 * INCH, "in")),
    "skylight": (Limit("length", 4 * INCH, 96 * INCH, "in"), Limit("width", 4 * INCH, 96 * INCH, "in")),
    "fridge_vent": (Limit("length", 4 * INCH, 48 * INCH, "in"), Limit("width", 4 * INCH, 48 * INCH, "in")),
    "stack": (Limit("length", 1 * INCH, 16 * INCH, "in"), Limit("width", 1 * INCH, 16 * INCH, "in")),
}
OPENING_MASS = Limit("mass", 0.0, 400 * POUND, "lb")
HARD_ATTACHMENT = (Limit("count", 1, 200, "each"), Limit("feet", 0, 400, "each"))
MOST_SECTIONS = 30
MOST_OPENINGS = 100
MOST_AIR_CONDITIONERS = 20
MOST_ATTACHMENTS = 100
SHORTEST_SPAN = 1.0 * INCH


def outside(thing: Section | Opening | Attachment, limits: tuple[Limit, ...]) -> list[CalculationError]:
    """A fault for each attribute outside its hard limit, NaN and infinity too; the field names it."""
    faults: list[CalculationError] = []
    for limit in limits:
        value = float(getattr(thing, limit.attribute))
        if not limit.least <= value <= limit.greatest:
            faults.append(_out_of_range(limit, value))
    return faults


def shown(value: float, unit: str) -> str:
    """The value in that unit, or as Python writes it where it is no number that a person would write."""
    return show(value, unit) if abs(value) < 1e12 else repr(value)


def _out_of_range(limit: Limit, value: float) -> OutOfRangeError:
    name = limit.attribute.replace("_", " ")
    least, greatest = show(limit.least, limit.unit), show(limit.greatest, limit.unit)
    return OutOfRangeError(
        f"expected a {name} from {least} to {greatest}, not {shown(value, limit.unit)}",
        field=limit.attribute,
        value=value,
    )


def section_limits(section: Section) -> tuple[Limit, ...]:
    """The hard limits of a section of a known kind; only a roof on a foam core may do without rafters."""
    spacing = NO_RAFTERS if section.construction == "laminated" and not section.rafter_spacing else RAFTERS
    return (*HARD_BY_KIND[section.kind], *_EVERY_SECTION, spacing)


# Soft limits ------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Doubt:
    """A usual range; outside of it the value is doubted with these words."""

    attribute: str
    least: float
    greatest: float
    unit: str
    words: str


_SOFT_EVERY = (
    # Flat roofs have 1 to 3 in of crown (from memory).
    Doubt("crown_rise", 0.0, 3 * INCH, "in", "more crown than 3 in is rare: measure the rise over the chord"),
    Doubt("edge_radius", 0.0, 6 * INCH, "in", "rolled edges have a radius of 2 to 6 in"),
    Doubt("edge_sweep", 0.0, 95.0, "deg", "rolled edges end upright, at 90 degrees"),
    Doubt("tuck", 0.0, 4 * INCH, "in", "a gutter rail takes an inch or two of skin"),
)
_SOFT_BODY = (
    # 23 CFR 658.15 keeps states at 102 in for commercial vehicles on the National Network; by the road
    # authority's own answers it does not speak of recreational vehicles, so width is never refused for it.
    Doubt("body_width", 0.0, 102 * INCH, "in", "wider than 102 in: check the measurement and local width rules"),
    Doubt("body_width", 80 * INCH, math.inf, "in", "narrower than 80 in: check the measurement"),
)
_SOFT_MAIN = (
    Doubt("length", 16 * FOOT, math.inf, "ft", "shorter than 16 ft: check the measurement"),
    Doubt("length", 0.0, 45 * FOOT, "ft", "longer than 45 ft: check the measurement and local length rules"),
)
_SOFT_LAMINATED = (
    Doubt("core_thickness", 2 * INCH, 5 * INCH, "in", "foam cores are 2 to 5 in thick"),
    Doubt("crown_rise", 1e-9, math.inf, "in", "a flat foam roof holds water: check the crown"),
)
_SOFT_FRAMED = (
    Doubt("rafter_spacing", 12 * INCH, 24 * INCH, "in", "rafters stand 16 or 24 in apart"),
    Doubt(
        "core_thickness",
        0.0,
        0.0,
        "in",
        "a roof on rafters has no foam core; its insulation is counted as batts",
    ),
)
_SOFT_AIR_CONDITIONER = (
    # Opening 14-1/4 in square in a manufacturer's installation manual; mass 65 to 130 lb from memory.
    Doubt("length", 13 * INCH, 16 * INCH, "in", "the hole of a roof air conditioner is 14-1/4 in"),
    Doubt("width", 13 * INCH, 16 * INCH, "in", "the hole of a roof air conditioner is 14-1/4 in"),
    Doubt("mass", 65 * POUND, 130 * POUND, "lb", "roof air conditioners weigh 65 to 130 lb"),
)


def section_doubts(section: Section) -> list[str]:
    """A warning for every unusual size of a section and of its air conditioners."""
    doubts = [*_SOFT_EVERY]
    if section.kind != "slide_room":
        doubts += _SOFT_BODY
        doubts += _SOFT_LAMINATED if section.construction == "laminated" else _SOFT_FRAMED
    if section.kind == "main":
        doubts += _SOFT_MAIN
    warnings = _doubted(section, section.label, doubts)
    for opening in section.openings:
        if opening.kind == "air_conditioner":
            warnings += _doubted(opening, f"{section.label}, {opening.label}", list(_SOFT_AIR_CONDITIONER))
    return warnings


def _doubted(thing: Section | Opening, label: str, doubts: list[Doubt]) -> list[str]:
    warnings = []
    for doubt in doubts:
        value = float(getattr(thing, doubt.attribute))
        if not doubt.least <= value <= doubt.greatest:
            name = doubt.attribute.replace("_", " ")
            warnings.append(f"{label}: {name} {show(value, doubt.unit)}: {doubt.words}")
    return warnings
