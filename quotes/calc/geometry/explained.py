"""How was a primitive of a section worked out, with the numbers of this roof in it?"""

from collections.abc import Callable
from dataclasses import dataclass

from costbase.calc.formula import Step
from costbase.calc.units import in_unit, show
from quotes.calc.geometry.faults import GeometryError
from quotes.calc.geometry.joints import ends
from quotes.calc.geometry.measured import (
    ANTENNA_PERIMETER,
    ATTACHMENT_COUNTS,
    CABLE_ENTRY_PERIMETER,
    FOOT_COUNTS,
    OPENING_COUNTS,
    VENT_KINDS,
    attachments_in,
    flange_perimeter,
    measure_section,
    openings_in,
)
from quotes.calc.geometry.profile import FLAT_RADIUS, Profile, profile
from quotes.calc.geometry.roof import Attachment, Opening, Roof, Scope, Section, Span, nearest

# Four decimals of an inch are a hair's breadth: enough to follow an arc.
PLACES = 4
_SLIDE_ROOM = "a slide room is measured by its plan: this is 0 for it"


@dataclass(frozen=True, slots=True)
class _Place:
    """What is explained: a span of a section in its scope."""

    roof: Roof
    span: Span
    scope: Scope
    section: Section
    across: Profile


def explain_geometry(roof: Roof, span: Span, slug: str, scope: Scope = ()) -> tuple[Step, ...]:
    """The steps to one primitive of a section; the last one holds the value that `measure_section` gives.

    Args:
        roof: passed `check_roof`.
        span: passed `check_scope`.
        slug: of a measure that `measure_section` gives.
        scope: every span of the quote; empty means that this span is the whole scope.

    Raises:
        GeometryError: an unknown slug, with the nearest known one.
    """
    values = measure_section(roof, span, scope).values
    if slug not in values:
        raise GeometryError(f"unknown measure {slug!r}{nearest(slug, list(values))}", field="slug", value=slug)
    section = roof.section(span.section)
    place = _Place(roof, span, scope or (span,), section, profile(section))
    if section.kind == "slide_room" and slug in _MAIN_ONLY:
        return (_step(slug.replace("_", " "), 0.0, _MAIN_ONLY[slug], _SLIDE_ROOM),)
    if slug in _WORKED_OUT:
        return _WORKED_OUT[slug](place)
    if slug in _OPENING_KIND_OF:
        return _opening_count(place, slug)
    if slug in _ATTACHMENT_KIND_OF or slug in _FOOTED_KIND_OF:
        return _attachment_count(place, slug)
    return (_entered(place, slug),)


def _step(text: str, canonical: float, unit: str, note: str = "") -> Step:
    return Step(text, in_unit(canonical, unit), unit, note)


def _inches(canonical: float) -> str:
    return show(canonical, "in", PLACES)


# Widths -----------------------------------------------------------------------------------------------------


def _chord(place: _Place) -> tuple[Step, ...]:
    section = place.section
    text = f"{_inches(section.body_width)} - 2 x {_inches(section.edge_radius)}"
    return (_step(text, place.across.chord, "in", "body width less both edge radii"),)


def _crown_radius(place: _Place) -> tuple[Step, ...]:
    rise = place.section.crown_rise
    chord, radius = place.across.chord, place.across.crown_radius
    if radius == FLAT_RADIUS:
        flat = _step("a flat crown", radius, "in", "a radius of 100 km stands for none")
        return (*_chord(place), flat)
    text = f"({_inches(chord)})^2 / (8 x {_inches(rise)}) + {_inches(rise)} / 2"
    return (*_chord(place), _step(text, radius, "in", "radius of the circle through both ends and the top"))


def _crown_arc(place: _Place) -> tuple[Step, ...]:
    chord, radius, arc = place.across.chord, place.across.crown_radius, place.across.crown_arc
    if place.section.crown_rise == 0.0:
        return (*_chord(place), _step("a flat crown", arc, "in", "as long as its chord"))
    text = f"2 x {_inches(radius)} x asin({_inches(chord)} / (2 x {_inches(radius)}))"
    return (*_crown_radius(place), _step(text, arc, "in", "along the crown"))


def _edge_arc(place: _Place) -> tuple[Step, ...]:
    section = place.section
    text = f"{_inches(section.edge_radius)} x {show(section.edge_sweep, 'deg')} in radians"
    return (_step(text, place.across.edge_arc, "in", "along one rolled edge"),)


def _visible_width(place: _Place) -> tuple[Step, ...]:
    across = place.across
    text = f"{_inches(across.crown_arc)} + 2 x {_inches(across.edge_arc)}"
    own = _step(text, across.visible_width, "in", "crown and both edges")
    return (*_crown_arc(place), *_edge_arc(place), own)


def _developed_width(place: _Place) -> tuple[Step, ...]:
    across = place.across
    text = f"{_inches(across.visible_width)} + 2 x {_inches(place.section.tuck)}"
    own = _step(text, across.developed_width, "in", "with the tail in each gutter rail")
    return (*_visible_width(place), own)


# Lengths and joints -----------------------------------------------------------------------------------------


def _roof_length(place: _Place) -> tuple[Step, ...]:
    span = place.span
    text = f"{_inches(span.end)} - {_inches(span.start)}"
    return (_step(text, span.length, "in", f"from station to station on {span.section}"),)


def _ends(place: _Place, kind: str, *, count: bool) -> tuple[Step, ...]:
    """A step for each end of the span, and their sum."""
    unit, steps, total = ("each" if count else "ft"), [], 0.0
    for end in ends(place.roof, place.span, place.scope):
        own = (1.0 if count else end.length) if end.kind == kind else 0.0
        total += own
        length = f", {_inches(end.length)} along the visible skin" if end.kind == kind and not count else ""
        steps.append(_step(f"{end.side} end{length}", own, unit, end.why))
    return (*steps, _step("sum of both ends", total, unit))


def _cap_joint_count(place: _Place) -> tuple[Step, ...]:
    return _ends(place, "cap", count=True)


def _cap_joint_length(place: _Place) -> tuple[Step, ...]:
    return _ends(place, "cap", count=False)


def _cross_seam_count(place: _Place) -> tuple[Step, ...]:
    return _ends(place, "cross_seam", count=True)


def _step_joint_length(place: _Place) -> tuple[Step, ...]:
    return _ends(place, "step", count=False)


def _slide_roof_area(place: _Place) -> tuple[Step, ...]:
    if place.section.kind != "slide_room":
        return (_step("no slide room", 0.0, "ft2"),)
    text = f"{_inches(place.span.length)} x {_inches(place.section.body_width)}"
    return (_step(text, place.span.length * place.section.body_width, "ft2", "plan of the slide room"),)


def _slide_seal_length(place: _Place) -> tuple[Step, ...]:
    if place.section.kind != "slide_room":
        return (_step("no slide room", 0.0, "ft"),)
    text = f"2 x ({_inches(place.span.length)} + {_inches(place.section.body_width)})"
    return (_step(text, 2.0 * (place.span.length + place.section.body_width), "ft", "rim of the plan"),)


# Openings and attachments -----------------------------------------------------------------------------------


def _opening_count(place: _Place, slug: str) -> tuple[Step, ...]:
    kind = _OPENING_KIND_OF[slug]
    inside = [opening for opening in openings_in(place.section, place.span) if opening.kind == kind]
    steps = [_step(f"{opening.label} at {_inches(opening.station)}", 1.0, "each") for opening in inside]
    return (*steps, _step("sum of those in the scope", float(len(inside)), "each"))


def _flange(opening: Opening) -> Step:
    if opening.kind == "stack":
        text = f"{opening.label}: pi x {_inches(opening.width)}"
    else:
        text = f"{opening.label}: 2 x ({_inches(opening.length)} + {_inches(opening.width)})"
    return _step(text, flange_perimeter(opening), "ft", "outside of the flange")


def _flanges(place: _Place, kinds: tuple[str, ...]) -> tuple[Step, ...]:
    inside = [opening for opening in openings_in(place.section, place.span) if opening.kind in kinds]
    total = sum((flange_perimeter(opening) for opening in inside), 0.0)
    return (*(_flange(opening) for opening in inside), _step("sum of those in the scope", total, "ft"))


def _vent_flange_length(place: _Place) -> tuple[Step, ...]:
    return _flanges(place, VENT_KINDS)


def _stack_flange_length(place: _Place) -> tuple[Step, ...]:
    return _flanges(place, ("stack",))


def _attached(attachment: Attachment, value: float, unit: str) -> Step:
    if attachment.station is None:
        return _step(attachment.kind.replace("_", " "), value, unit, "no station noted: counted in full")
    return _step(f"{attachment.kind.replace('_', ' ')} at {_inches(attachment.station)}", value, unit)


def _attachment_count(place: _Place, slug: str) -> tuple[Step, ...]:
    by_feet = slug in _FOOTED_KIND_OF
    kind = (_FOOTED_KIND_OF if by_feet else _ATTACHMENT_KIND_OF)[slug]
    inside = [attachment for attachment in attachments_in(place.section, place.span) if attachment.kind == kind]
    numbers = [float(attachment.feet if by_feet else attachment.count) for attachment in inside]
    steps = [_attached(attachment, number, "each") for attachment, number in zip(inside, numbers, strict=True)]
    return (*steps, _step("sum of those in the scope", sum(numbers, 0.0), "each"))


def _small_flange_length(place: _Place) -> tuple[Step, ...]:
    steps, total = [], 0.0
    for kind, perimeter in (("antenna", ANTENNA_PERIMETER), ("cable_entry", CABLE_ENTRY_PERIMETER)):
        count = sum(a.count for a in attachments_in(place.section, place.span) if a.kind == kind)
        total += count * perimeter
        text = f"{count} {kind.replace('_', ' ')} x {_inches(perimeter)}"
        steps.append(_step(text, count * perimeter, "ft", "outside of the base"))
    return (*steps, _step("sum of both", total, "ft"))


# What was entered -------------------------------------------------------------------------------------------


def _entered(place: _Place, slug: str) -> Step:
    section = place.section
    if slug == "roof_kind":
        return Step(f"construction of {section.label}", section.construction, "", "the coach's record")
    if slug in _MASSES:
        kind = section.old_skin if slug == "old_skin_areal_mass" else section.deck
        value = measure_section(place.roof, place.span).values[slug]
        note = "mass table of skins and decks"
        return _step(f"{_MASSES[slug]} {kind.replace('_', ' ')}", float(value), "lb/ft2", note)
    attribute, unit = _ENTERED[slug]
    name = f"{attribute.replace('_', ' ')} of {section.label}"
    return _step(name, float(getattr(section, attribute)), unit, "the coach's record")


_MASSES = {"old_skin_areal_mass": "old skin", "deck_areal_mass": "deck"}
_ENTERED: dict[str, tuple[str, str]] = {
    "body_width": ("body_width", "in"),
    "crown_rise": ("crown_rise", "in"),
    "edge_radius": ("edge_radius", "in"),
    "edge_sweep": ("edge_sweep", "deg"),
    "tuck": ("tuck", "in"),
    "core_thickness": ("core_thickness", "in"),
    "rafter_spacing": ("rafter_spacing", "in"),
    "captive_nut_count": ("captive_nuts", "each"),
    "wiring_run_total": ("wiring_runs", "each"),
}
_OPENING_KIND_OF = {slug: kind for kind, slug in OPENING_COUNTS.items()}
_ATTACHMENT_KIND_OF = {slug: kind for kind, slug in ATTACHMENT_COUNTS.items()}
_FOOTED_KIND_OF = {slug: kind for kind, slug in FOOT_COUNTS.items()}
_MAIN_ONLY = dict.fromkeys(
    ("roof_length", "body_width", "chord", "crown_arc", "edge_arc", "visible_width", "developed_width"), "in"
)
_WORKED_OUT: dict[str, Callable[[_Place], tuple[Step, ...]]] = {
    "roof_length": _roof_length,
    "chord": _chord,
    "crown_radius": _crown_radius,
    "crown_arc": _crown_arc,
    "edge_arc": _edge_arc,
    "visible_width": _visible_width,
    "developed_width": _developed_width,
    "cap_joint_count": _cap_joint_count,
    "cap_joint_length": _cap_joint_length,
    "cross_seam_count": _cross_seam_count,
    "step_joint_length": _step_joint_length,
    "slide_roof_area": _slide_roof_area,
    "slide_seal_length": _slide_seal_length,
    "vent_flange_length": _vent_flange_length,
    "stack_flange_length": _stack_flange_length,
    "small_flange_length": _small_flange_length,
}
