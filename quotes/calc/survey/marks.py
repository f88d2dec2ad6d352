"""What did somebody see, tap, measure or open on a roof?

Rows, strips and courses are counted from 1 at the section's front end (cap strips from the driver edge), as
they are called out loud on the roof: "cell 3D" is the third row at the passenger edge.
"""

from dataclasses import dataclass

from quotes.calc.geometry import INCH

# Mildest first; every step is worse than the one before.
CONDITIONS = ("sound", "damp", "soft", "rotten")
# Least thorough first.
CELL_METHODS = ("walked", "metered", "opened")
SURVEY_METHODS = ("told", "photographs", *CELL_METHODS)
LANES = ("A", "B", "C", "D")
SIDES = ("driver", "passenger", "front", "rear")
BACKINGS = ("present", "missing", "unknown")
REPAIR_KINDS = ("coating", "tape", "added_trim", "screws")
CHEMISTRIES = ("silicone", "acrylic", "urethane", "bitumen", "unknown", "none")

# A cell is 24 in of station by a quarter of the deck arc, a strip 24 in along an edge or a cap.
ROW = 24.0 * INCH
# Deck comes off and goes on in courses of a sheet's width. Source: common practice, none published.
COURSE = 48.0 * INCH


@dataclass(frozen=True, slots=True)
class CellMark:
    """The condition of one cell, and how thoroughly it was looked at (one of `CELL_METHODS`)."""

    section: str
    row: int
    lane: str
    condition: str
    method: str

    def words(self) -> str:
        """The mark as said on the roof, such as ``cell 3D rotten (opened)``."""
        return f"cell {self.row}{self.lane} {self.condition} ({self.method})"


@dataclass(frozen=True, slots=True)
class StripMark:
    """The condition of 24 in along a side edge (from the front) or a cap (from the driver edge)."""

    section: str
    side: str
    index: int
    condition: str
    method: str

    def words(self) -> str:
        """The mark as said on the roof, such as ``strip driver 4 soft (walked)``."""
        return f"strip {self.side} {self.index} {self.condition} ({self.method})"


@dataclass(frozen=True, slots=True)
class RingMark:
    """The condition round one opening, and whether the frame or backing that belongs there is present."""

    section: str
    opening: str
    condition: str
    method: str
    backing: str

    def words(self) -> str:
        """The mark as said on the roof, such as ``ring vent 2 sound (opened), backing missing``."""
        backing = ", backing missing" if self.backing == "missing" else ""
        return f"ring {self.opening} {self.condition} ({self.method}){backing}"


@dataclass(frozen=True, slots=True)
class Finding:
    """One piece of evidence.

    Attributes:
        kind: a code of the rules' evidence list.
        place: ``cell 3D``, ``cells 3D, 4D``, ``strip driver 4``, ``ring vent 2``, or words of one's own.
        section: label of the roof section.
        extent: canonical length or area, or a count, as the kind wants it; None where it was not measured.
        note: what else there is to say.
    """

    kind: str
    place: str
    section: str
    extent: float | None
    note: str


@dataclass(frozen=True, slots=True)
class Repair:
    """An earlier repair of one section.

    Attributes:
        kind: one of `REPAIR_KINDS`.
        section: label of the roof section.
        chemistry: one of `CHEMISTRIES`; "none" for trim and screws.
        share: share of the section's skin under a coating or tape, 0 to 1; None for trim and screws.
        length: canonical length of added trim; None for the others.
    """

    kind: str
    section: str
    chemistry: str
    share: float | None
    length: float | None


@dataclass(frozen=True, slots=True)
class Reading:
    """One moisture reading.

    Attributes:
        instrument: slug of an instrument of the rules, whose own bands say what the figure means.
        section: label of the roof section.
        place: as of a finding.
        percent: as the instrument shows it, 0 to 100.
        over_foil: foil lies between the instrument and the wood.
    """

    instrument: str
    section: str
    place: str
    percent: float
    over_foil: bool


@dataclass(frozen=True, slots=True)
class Survey:
    """Everything known about a roof's condition: how it was made, on which day (ISO, ``2026-03-01``), and what was found."""

    method: str
    on: str
    cells: tuple[CellMark, ...] = ()
    strips: tuple[StripMark, ...] = ()
    rings: tuple[RingMark, ...] = ()
    findings: tuple[Finding, ...] = ()
    repairs: tuple[Repair, ...] = ()
    readings: tuple[Reading, ...] = ()
