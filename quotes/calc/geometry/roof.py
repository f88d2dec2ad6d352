"""What is a roof, before anything is worked out from it?

A `Roof` is one or more flat-length sections and the joints between them. Stations run back from a section's
front end, offsets run in from the driver edge; both are measured on the plan, all lengths are canonical (0.1
mm).
"""

from dataclasses import dataclass
from difflib import get_close_matches

from costbase.calc.units import UNITS

INCH = float(UNITS["inch"].factor)
FOOT = float(UNITS["foot"].factor)
POUND = float(UNITS["pound"].factor)
# Two stations nearer than a micrometre are the same station: entry in metric units makes no sliver of a span.
SAME_STATION = 0.01

SECTION_KINDS = ("main", "raised", "lowered", "slide_room", "over_cab")
CONSTRUCTIONS = ("laminated", "framed", "metal")
OLD_SKINS = ("frp", "epdm", "tpo", "aluminium")
DECKS = ("lauan_5_2mm", "plywood_3_8in", "osb_7_16in", "none")
OPENING_KINDS = ("air_conditioner", "vent", "skylight", "fridge_vent", "stack")
ATTACHMENT_KINDS = (
    "antenna", "cable_entry", "ladder", "solar_panel", "awning", "slide_topper", "marker_light",
)  # fmt: skip
FOOTED_KINDS = ("ladder", "solar_panel")
JOINT_KINDS = ("cap", "step", "cross_seam")


@dataclass(frozen=True, slots=True)
class Opening:
    """A hole in the roof.

    Attributes:
        label: its name in the section, such as "vent 2".
        kind: one of `OPENING_KINDS`.
        station: from the section's front end back to the centre.
        offset: from the driver edge in to the centre.
        length: along the coach, outside of the flange; of an air conditioner the hole, whose gasket takes no
            bead.
        width: across the coach, likewise; of a stack length and width are the flange's diameter.
        mass: of the unit that stands on it, canonical; 0 when it carries nothing.
    """

    label: str
    kind: str
    station: float
    offset: float
    length: float
    width: float
    mass: float


@dataclass(frozen=True, slots=True)
class Attachment:
    """Things of one kind that are fixed to the roof.

    Attributes:
        kind: one of `ATTACHMENT_KINDS`.
        count: how many of them.
        feet: their feet in total; only ladders and solar panels have feet.
        station: from the section's front end, or None where nobody noted it.
    """

    kind: str
    count: int
    feet: int
    station: float | None


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the roof with one width, crown and construction.

    Attributes:
        label: its name on the coach.
        kind: one of `SECTION_KINDS`.
        construction: one of `CONSTRUCTIONS`.
        old_skin: the skin that lies on it now, one of `OLD_SKINS`.
        deck: the board under that skin, one of `DECKS`.
        length: flat length between the joints at its two ends (of a slide room: along the coach).
        body_width: outside width at the gutter line (of a slide room: how deep it is).
        crown_rise: rise of the crown over the chord between the two edge radii.
        edge_radius: of the rolled side edge, 0 for a square one.
        edge_sweep: degrees that each rolled edge turns; 90 ends upright.
        tuck: flat tail of skin in each gutter rail.
        core_thickness: of the foam core, 0 where there is none.
        rafter_spacing: between rafters, centre to centre; 0 for a foam core without any.
        openings: holes, each with a label of its own in the section.
        attachments: what is fixed to it.
        captive_nuts: threaded anchors in the whole section.
        wiring_runs: wiring runs in core or rafter bays of the whole section.
    """

    label: str
    kind: str
    construction: str
    old_skin: str
    deck: str
    length: float
    body_width: float
    crown_rise: float
    edge_radius: float
    edge_sweep: float
    tuck: float
    core_thickness: float
    rafter_spacing: float
    openings: tuple[Opening, ...]
    attachments: tuple[Attachment, ...]
    captive_nuts: int
    wiring_runs: int


@dataclass(frozen=True, slots=True)
class Joint:
    """The rear end of section `front` meets the front end of `rear`; `kind` is one of `JOINT_KINDS`."""

    kind: str
    front: str
    rear: str


@dataclass(frozen=True, slots=True)
class Roof:
    """All sections of one coach; an end that no joint names is an outer cap."""

    sections: tuple[Section, ...]
    joints: tuple[Joint, ...]

    def section(self, label: str) -> Section:
        """The section of that label; KeyError for a label that `check_scope` would have refused."""
        for section in self.sections:
            if section.label == label:
                return section
        raise KeyError(label)


@dataclass(frozen=True, slots=True)
class Span:
    """The part of a section that is worked on, from station `start` to station `end`."""

    section: str
    start: float
    end: float

    @property
    def length(self) -> float:
        """From start to end."""
        return self.end - self.start


Scope = tuple[Span, ...]


def whole(roof: Roof) -> Scope:
    """The scope that takes in every section of the roof, end to end."""
    return tuple(Span(section.label, 0.0, section.length) for section in roof.sections)


def same_station(one: float, other: float) -> bool:
    """Whether two stations are one and the same, to a micrometre."""
    return abs(one - other) <= SAME_STATION


def is_whole(section: Section, span: Span) -> bool:
    """Whether the span takes in its section from end to end."""
    return same_station(span.start, 0.0) and same_station(span.end, section.length)


def holds(section: Section, span: Span, station: float) -> bool:
    """Whether a station counts as inside a span.

    The front end belongs to the span and the rear end to the next one, so that two spans that meet count
    everything once; the very end of the section belongs to its last span.
    """
    if same_station(station, span.start):
        return True
    if same_station(station, span.end):
        return same_station(span.end, section.length)
    return span.start < station < span.end


def nearest(word: str, known: tuple[str, ...] | list[str]) -> str:
    """The end of a refusal: ``; did you mean 'vent'?`` or, where nothing is near, what is known."""
    close = get_close_matches(word, known, n=1)
    return f"; did you mean {close[0]!r}?" if close else f"; expected one of {', '.join(known) or 'none'}"
