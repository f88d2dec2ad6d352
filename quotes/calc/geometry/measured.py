"""What does one section bring to the take-off: lengths, joints, flanges and counts inside its span?

Everything here is a primitive that formulas of other measures build on; areas and perimeters are such
formulas.
"""

import math
from dataclasses import dataclass

from costbase.calc.units import UNITS
from quotes.calc.geometry.joints import ends
from quotes.calc.geometry.profile import profile
from quotes.calc.geometry.roof import INCH, Attachment, Opening, Roof, Scope, Section, Span, holds, is_whole

Value = float | bool | str

_POUND_PER_SQUARE_FOOT = float(UNITS["pound_per_square_foot"].factor)
# Mass per area of the skin that comes off. Source: frp 1.9 mm of glass laminate at 3,000 g/m2 from a
# metal-roofing code of practice, rounded; aluminium 0.030 in at 0.098 lb/in3, computed; the two membranes at
# 45 thou from memory.
SKIN_AREAL_MASS = {
    skin: pounds * _POUND_PER_SQUARE_FOOT
    for skin, pounds in {"frp": 0.61, "epdm": 0.28, "tpo": 0.23, "aluminium": 0.42}.items()
}
# Mass per area of the dry deck. Source: lauan of gravity 0.46 (from memory) at 12 % by the Wood Handbook's
# density formula; plywood at the published 3.0 lb/ft2 an inch; OSB at the published 45 to 46 lb a sheet.
DECK_AREAL_MASS = {
    deck: pounds * _POUND_PER_SQUARE_FOOT
    for deck, pounds in {
        "lauan_5_2mm": 0.549,
        "plywood_3_8in": 1.125,
        "osb_7_16in": 1.42,
        "none": 0.0,
    }.items()
}
# An antenna's base is 12 x 8 in, a cable entry's cover 4 x 4 in. Source: common practice, none published.
ANTENNA_PERIMETER = 40.0 * INCH
CABLE_ENTRY_PERIMETER = 16.0 * INCH

VENT_KINDS = ("vent", "skylight", "fridge_vent")
OPENING_COUNTS = {
    "air_conditioner": "ac_count",
    "vent": "vent_count",
    "skylight": "skylight_count",
    "fridge_vent": "fridge_vent_count",
    "stack": "stack_count",
}
ATTACHMENT_COUNTS = {
    "antenna": "antenna_count",
    "cable_entry": "cable_entry_count",
    "solar_panel": "solar_panel_count",
    "awning": "awning_count",
    "slide_topper": "slide_topper_count",
    "marker_light": "marker_light_count",
}
FOOT_COUNTS = {"ladder": "ladder_foot_count", "solar_panel": "solar_foot_count"}


@dataclass(frozen=True, slots=True)
class SectionGeometry:
    """The primitives of one section by measure slug, canonical; counts are whole, `roof_kind` is a text."""

    label: str
    values: dict[str, Value]


def measure_scope(roof: Roof, scope: Scope) -> tuple[SectionGeometry, ...]:
    """The primitives of every span of a checked scope, in its order; a joint between two counts once."""
    return tuple(measure_section(roof, span, scope) for span in scope)


def measure_section(roof: Roof, span: Span, scope: Scope = ()) -> SectionGeometry:
    """The primitives of one span of a checked roof.

    A slide room brings the plan area and the rim of its roof in place of widths, lengths and joints, which
    are 0 for it; what is fixed to it is counted as anywhere.

    Args:
        roof: passed `check_roof`.
        span: passed `check_scope`.
        scope: every span of the quote, so that a joint between two of them is counted once (at the section in
            front). Empty means that this span is the whole scope.

    Returns:
        Every slug for every section, so that sums need no gaps filled.
    """
    section = roof.section(span.section)
    values: dict[str, Value] = {
        "crown_rise": section.crown_rise,
        "edge_radius": section.edge_radius,
        "edge_sweep": section.edge_sweep,
        "tuck": section.tuck,
        "core_thickness": section.core_thickness,
        "rafter_spacing": section.rafter_spacing,
        "roof_kind": section.construction,
        "old_skin_areal_mass": SKIN_AREAL_MASS[section.old_skin],
        "deck_areal_mass": DECK_AREAL_MASS[section.deck],
        "captive_nut_count": float(section.captive_nuts),
        "wiring_run_total": float(section.wiring_runs),
    }
    values |= _widths(section, span)
    values |= _joints(roof, span, scope or (span,))
    values |= _openings(section, span)
    values |= _attachments(section, span)
    return SectionGeometry(section.label, values)


def openings_in(section: Section, span: Span) -> tuple[Opening, ...]:
    """The openings whose centre lies in the span; two spans that meet share none."""
    return tuple(opening for opening in section.openings if holds(section, span, opening.station))


def flange_perimeter(opening: Opening) -> float:
    """Length of the sealant line round an opening: along its flange's outside, a circle for a stack."""
    if opening.kind == "stack":
        return math.pi * opening.width
    return 2.0 * (opening.length + opening.width)


def _widths(section: Section, span: Span) -> dict[str, Value]:
    across = profile(section)
    slide = section.kind == "slide_room"
    shown = 0.0 if slide else 1.0
    return {
        "roof_length": span.length * shown,
        "body_width": section.body_width * shown,
        "chord": across.chord * shown,
        "crown_radius": across.crown_radius,
        "crown_arc": across.crown_arc * shown,
        "edge_arc": across.edge_arc * shown,
        "visible_width": across.visible_width * shown,
        "developed_width": across.developed_width * shown,
        "slide_roof_area": span.length * section.body_width if slide else 0.0,
        "slide_seal_length": 2.0 * (span.length + section.body_width) if slide else 0.0,
    }


def _joints(roof: Roof, span: Span, scope: Scope) -> dict[str, Value]:
    both = ends(roof, span, scope)
    caps = [end.length for end in both if end.kind == "cap"]
    return {
        "cap_joint_count": float(len(caps)),
        "cap_joint_length": sum(caps, 0.0),
        "cross_seam_count": float(sum(end.kind == "cross_seam" for end in both)),
        "step_joint_length": sum((end.length for end in both if end.kind == "step"), 0.0),
    }


def _openings(section: Section, span: Span) -> dict[str, Value]:
    inside = openings_in(section, span)
    values: dict[str, Value] = {
        slug: float(sum(opening.kind == kind for opening in inside)) for kind, slug in OPENING_COUNTS.items()
    }
    values["vent_flange_length"] = sum((flange_perimeter(opening) for opening in inside if opening.kind in VENT_KINDS), 0.0)
    values["stack_flange_length"] = sum((flange_perimeter(opening) for opening in inside if opening.kind == "stack"), 0.0)
    return values


def attachments_in(section: Section, span: Span) -> tuple[Attachment, ...]:
    """What is fixed inside the span; what nobody noted a station for counts: it may have to come off."""
    every = is_whole(section, span)
    return tuple(
        attachment
        for attachment in section.attachments
        if every or attachment.station is None or holds(section, span, attachment.station)
    )


def _attachments(section: Section, span: Span) -> dict[str, Value]:
    inside = attachments_in(section, span)
    counts = {
        slug: float(sum(attachment.count for attachment in inside if attachment.kind == kind))
        for kind, slug in ATTACHMENT_COUNTS.items()
    }
    feet = {
        slug: float(sum(attachment.feet for attachment in inside if attachment.kind == kind))
        for kind, slug in FOOT_COUNTS.items()
    }
    small = counts["antenna_count"] * ANTENNA_PERIMETER + counts["cable_entry_count"] * CABLE_ENTRY_PERIMETER
    return {**counts, **feet, "small_flange_length": small}
