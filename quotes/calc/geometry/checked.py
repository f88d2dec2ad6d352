"""Can this roof exist? Every fault at once, and what to look at again."""

import math
from dataclasses import dataclass
from itertools import combinations

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.units import show
from quotes.calc.geometry.checked_scope import joint_faults
from quotes.calc.geometry.faults import (
    GeometryError,
    ImpossibleShapeError,
    OpeningPlaceError,
    OverlapError,
    bad_labels,
    too_many,
    unknown_word,
)
from quotes.calc.geometry.limits import (
    HARD_ATTACHMENT,
    HARD_BY_KIND,
    HARD_BY_OPENING,
    MOST_AIR_CONDITIONERS,
    MOST_ATTACHMENTS,
    MOST_OPENINGS,
    MOST_SECTIONS,
    OPENING_MASS,
    outside,
    section_doubts,
    section_limits,
    shown,
)
from quotes.calc.geometry.profile import profile
from quotes.calc.geometry.roof import (
    ATTACHMENT_KINDS,
    CONSTRUCTIONS,
    DECKS,
    FOOT,
    FOOTED_KINDS,
    INCH,
    OLD_SKINS,
    OPENING_KINDS,
    SAME_STATION,
    SECTION_KINDS,
    Attachment,
    Opening,
    Roof,
    Section,
)


def check_roof(roof: Roof) -> tuple[str, ...]:
    """What is unusual about a roof that can exist: warnings in the order of its sections, mostly none.

    Raises:
        GeometryError: the one fault of an impossible roof.
        CalculationFaults: all of them, each with a pointer such as ``sections/0/openings/2/station``.
    """
    faults: list[CalculationError] = []
    if not 1 <= len(roof.sections) <= MOST_SECTIONS:
        faults.append(
            GeometryError(
                f"expected 1 to {MOST_SECTIONS} sections, not {len(roof.sections)}",
                field="sections",
                value=len(roof.sections),
            )
        )
    faults += bad_labels([section.label for section in roof.sections], "sections")
    for index, section in enumerate(roof.sections):
        faults += [fault.under(f"sections/{index}") for fault in _section_faults(section)]
    faults += joint_faults(roof)
    raise_faults(faults)
    warnings = [warning for section in roof.sections for warning in _section_warnings(section)]
    return tuple(warnings + _roof_warnings(roof))


# Sections ---------------------------------------------------------------------------------------------------


def _section_faults(section: Section) -> list[CalculationError]:
    faults = [
        *unknown_word(section.kind, SECTION_KINDS, "kind"),
        *unknown_word(section.construction, CONSTRUCTIONS, "construction"),
        *unknown_word(section.old_skin, OLD_SKINS, "old_skin"),
        *unknown_word(section.deck, DECKS, "deck"),
    ]
    if section.kind in HARD_BY_KIND:
        sizes = outside(section, section_limits(section))
        # Shape and places are only worth a word about sizes that are possible one by one.
        faults += sizes or [*_shape_faults(section), *_opening_place_faults(section)]
    faults += bad_labels([opening.label for opening in section.openings], "openings")
    faults += _opening_faults(section)
    faults += _attachment_faults(section)
    return faults


def _shape_faults(section: Section) -> list[CalculationError]:
    faults: list[CalculationError] = []
    chord = section.body_width - 2 * section.edge_radius
    if chord <= 0.0:
        words = (
            f"two edges of radius {show(section.edge_radius, 'in')} do not fit a body "
            f"{show(section.body_width, 'in')} wide: expected a radius below half the width"
        )
        faults.append(ImpossibleShapeError(words, field="edge_radius", value=section.edge_radius))
    elif section.crown_rise > chord / 2:
        words = (
            f"a crown cannot rise {show(section.crown_rise, 'in')} over a chord of {show(chord, 'in')}: "
            f"expected at most half the chord, {show(chord / 2, 'in')}"
        )
        faults.append(ImpossibleShapeError(words, field="crown_rise", value=section.crown_rise))
    if section.construction == "laminated" and section.core_thickness == 0.0:
        words = "a laminated roof has a foam core: expected its thickness"
        faults.append(ImpossibleShapeError(words, field="core_thickness", value=section.core_thickness))
    return faults


def _section_warnings(section: Section) -> list[str]:
    warnings = section_doubts(section)
    if section.deck == "none" and section.construction != "metal":
        warnings.append(f"{section.label}: only a metal roof lies on its frame without a deck")
    for opening in section.openings:
        near_edge = min(opening.offset, section.body_width - opening.offset) - opening.width / 2
        if near_edge < section.edge_radius - SAME_STATION:
            warnings.append(f"{section.label}, {opening.label}: its flange lies over the rolled edge")
    return warnings


def _roof_warnings(roof: Roof) -> list[str]:
    warnings = []
    length = sum(section.length for section in roof.sections if section.kind != "slide_room")
    if length > 45 * FOOT and len(roof.sections) > 1:
        warnings.append(f"the sections add to {show(length, 'ft')}, more than 45 ft: check the measurements")
    for joint in roof.joints:
        front, rear = (profile(roof.section(label)).visible_width for label in (joint.front, joint.rear))
        if joint.kind == "cross_seam" and abs(front - rear) > 0.5 * INCH:
            warnings.append(
                f"{joint.front} and {joint.rear} meet in a cross seam but differ in width by {show(abs(front - rear), 'in', 2)}"
            )
    return warnings


# Openings and attachments -----------------------------------------------------------------------------------


def _opening_faults(section: Section) -> list[CalculationError]:
    units = [opening for opening in section.openings if opening.kind == "air_conditioner"]
    faults = too_many(len(section.openings), MOST_OPENINGS, "openings", field="openings")
    faults += too_many(len(units), MOST_AIR_CONDITIONERS, "air conditioners", field="openings")
    for index, opening in enumerate(section.openings):
        own = unknown_word(opening.kind, OPENING_KINDS, "kind") + _size_faults(opening)
        if opening.kind == "stack" and not math.isclose(opening.length, opening.width, rel_tol=1e-9):
            words = "the flange of a stack is round: expected one diameter as length and as width"
            own.append(ImpossibleShapeError(words, field="width", value=opening.width))
        if opening.kind == "air_conditioner" and section.kind == "slide_room":
            words = "no air conditioner stands on the roof of a slide room"
            own.append(ImpossibleShapeError(words, field="kind", value=opening.kind))
        faults += [fault.under(f"openings/{index}") for fault in own]
    return faults


def _size_faults(opening: Opening) -> list[CalculationError]:
    return outside(opening, (*HARD_BY_OPENING.get(opening.kind, ()), OPENING_MASS))


def _opening_place_faults(section: Section) -> list[CalculationError]:
    faults: list[CalculationError] = []
    # An opening of impossible size is refused for that; its place means nothing yet.
    placed = [
        (index, opening)
        for index, opening in enumerate(section.openings)
        if opening.kind in HARD_BY_OPENING and not _size_faults(opening)
    ]
    for index, opening in placed:
        along = _Axis("station", "front end", opening.station, opening.length / 2, section.length)
        across = _Axis("offset", "driver edge", opening.offset, opening.width / 2, section.body_width)
        for axis in (along, across):
            if not axis.half - SAME_STATION <= axis.centre <= axis.room - axis.half + SAME_STATION:
                faults.append(_off_roof(opening, axis).under(f"openings/{index}"))
    for (_, one), (index, other) in combinations(placed, 2):
        if _overlap(one, other):
            words = f"{other.label!r} lies over {one.label!r}: expected openings apart from each other"
            faults.append(OverlapError(words, field=f"openings/{index}/station", value=other.station))
    return faults


@dataclass(frozen=True, slots=True)
class _Axis:
    """Where an opening lies along one direction of the plan, half its size, and how much room there is."""

    name: str
    origin: str
    centre: float
    half: float
    room: float


def _off_roof(opening: Opening, axis: _Axis) -> OpeningPlaceError:
    farthest = max(axis.room - axis.half, axis.half)
    return OpeningPlaceError(
        f"{opening.label!r} is not wholly on the roof: expected its centre {show(axis.half, 'in')} to "
        f"{show(farthest, 'in')} from the {axis.origin}, not {shown(axis.centre, 'in')}",
        field=axis.name,
        value=axis.centre,
    )


def _overlap(one: Opening, other: Opening) -> bool:
    """Whether two flanges share any place; flanges that touch do not."""
    along, across = abs(one.station - other.station), abs(one.offset - other.offset)
    round_ones = [opening for opening in (one, other) if opening.kind == "stack"]
    if len(round_ones) == 2:
        return math.hypot(along, across) < (one.width + other.width) / 2 - SAME_STATION
    if round_ones:
        square = other if one.kind == "stack" else one
        gap = math.hypot(max(along - square.length / 2, 0.0), max(across - square.width / 2, 0.0))
        return gap < round_ones[0].width / 2 - SAME_STATION
    return along < (one.length + other.length) / 2 - SAME_STATION and across < (one.width + other.width) / 2 - SAME_STATION


def _attachment_faults(section: Section) -> list[CalculationError]:
    faults = too_many(len(section.attachments), MOST_ATTACHMENTS, "attachments", field="attachments")
    for index, attachment in enumerate(section.attachments):
        own = [
            *unknown_word(attachment.kind, ATTACHMENT_KINDS, "kind"),
            *outside(attachment, HARD_ATTACHMENT),
            *_attachment_place(section, attachment),
        ]
        if attachment.feet and attachment.kind not in FOOTED_KINDS:
            words = f"expected feet for {' and '.join(FOOTED_KINDS)} only, not for {attachment.kind}"
            own.append(GeometryError(words, field="feet", value=attachment.feet))
        faults += [fault.under(f"attachments/{index}") for fault in own]
    return faults


def _attachment_place(section: Section, attachment: Attachment) -> list[CalculationError]:
    station = attachment.station
    if station is None or -SAME_STATION <= station <= section.length + SAME_STATION:
        return []
    words = f"{attachment.kind} is not on the section: expected a station from its front to its rear end"
    return [OpeningPlaceError(words, field="station", value=station)]
