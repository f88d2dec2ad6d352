"""How long, wide and crowned is each roof section, what stands on it, and which part of it is worked on?

`check_roof` and `check_scope` come first; everything else takes what passed them. Sizes are canonical, and no
function here knows what the sizes are used for.
"""

from quotes.calc.geometry.checked import check_roof
from quotes.calc.geometry.checked_scope import check_scope
from quotes.calc.geometry.explained import explain_geometry
from quotes.calc.geometry.faults import GeometryError, unknown_word
from quotes.calc.geometry.joints import End, ends
from quotes.calc.geometry.measured import (
    SectionGeometry,
    flange_perimeter,
    measure_scope,
    measure_section,
    openings_in,
)
from quotes.calc.geometry.profile import FLAT_RADIUS, Profile, crown_arc, crown_radius, profile
from quotes.calc.geometry.roof import (
    ATTACHMENT_KINDS,
    CONSTRUCTIONS,
    DECKS,
    FOOT,
    INCH,
    JOINT_KINDS,
    OLD_SKINS,
    OPENING_KINDS,
    SECTION_KINDS,
    Attachment,
    Joint,
    Opening,
    Roof,
    Scope,
    Section,
    Span,
    holds,
    is_whole,
    nearest,
    same_station,
    whole,
)

__all__ = [
    "ATTACHMENT_KINDS",
    "CONSTRUCTIONS",
    "DECKS",
    "FLAT_RADIUS",
    "FOOT",
    "INCH",
    "JOINT_KINDS",
    "OLD_SKINS",
    "OPENING_KINDS",
    "SECTION_KINDS",
    "Attachment",
    "End",
    "GeometryError",
    "Joint",
    "Opening",
    "Profile",
    "Roof",
    "Scope",
    "Section",
    "SectionGeometry",
    "Span",
    "check_roof",
    "check_scope",
    "crown_arc",
    "crown_radius",
    "ends",
    "explain_geometry",
    "flange_perimeter",
    "holds",
    "is_whole",
    "measure_scope",
    "measure_section",
    "nearest",
    "openings_in",
    "profile",
    "same_station",
    "unknown_word",
    "whole",
]
