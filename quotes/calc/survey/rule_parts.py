"""What are the severity rules made of? Plain values that an edition's contents are read into."""

import math
from dataclasses import dataclass

from costbase.calc.units import AREA, LENGTH, NONE, Dimension

# Mildest first.
TIERS = ("skin-deep", "local", "widespread", "frame")
STRENGTHS = ("weak", "moderate", "strong", "strong_local")
# A strong local sign speaks strongly about its own place, never about the rest of the roof.
STRONG = ("strong", "strong_local")
DIRECTIONS = ("raises", "lowers")
# What happens to the deck of a cell in that condition: it stays, it stays and is dried, it is replaced.
ACTIONS = ("leave", "dry", "replace")
EXTENTS: dict[str, Dimension | None] = {"none": None, "length": LENGTH, "area": AREA, "count": NONE}
FLOOR_KINDS = ("sound_share_below", "strong_sign_of", "survey_method", "marked_edge_or_ring")
INSTRUMENT_KINDS = ("pin", "capacitance")


@dataclass(frozen=True, slots=True)
class Extent:
    """How much of something: a canonical length or area, or a count, by its dimension."""

    dimension: Dimension
    canonical: float


@dataclass(frozen=True, slots=True)
class EvidenceKind:
    """One kind of finding.

    Attributes:
        code: its name in findings.
        how: how it is looked for and measured.
        direction: "raises", or "lowers" for a sign that something is sound, which no rule counts as damage.
        speaks_about: strength by component or by another subject that is no hidden component.
        label: on what authority.
        extent: "none", "length", "area" or "count": what is measured.
        extent_needed: whether a finding without its extent is refused.
        measure: slug of the measure that the extent goes into, or "".
        without_extent: how much a finding without an extent counts for.
        needs_cells: whether the place must be cells, because the extent follows from them.
        cells_become: condition that the cells of its place take, or "".
        flag: slug of the yes/no measure that it sets, or "".
        condition: slug of a condition of the work that it suggests, or "".
        exclusion: what the quote's paper says that it does not include, or "".
    """

    code: str
    how: str
    direction: str
    speaks_about: dict[str, str]
    label: str
    extent: str = "none"
    extent_needed: bool = False
    measure: str = ""
    without_extent: Extent | None = None
    needs_cells: bool = False
    cells_become: str = ""
    flag: str = ""
    condition: str = ""
    exclusion: str = ""

    def words(self) -> str:
        """Its code as a person reads it."""
        return self.code.replace("_", " ")

    def speaks_strongly_about(self) -> frozenset[str]:
        """The subjects that it is a strong sign of."""
        return frozenset(subject for subject, strength in self.speaks_about.items() if strength in STRONG)


@dataclass(frozen=True, slots=True)
class ShareTier:
    """The tier of a roof whose weighted share is below a limit."""

    tier: str
    below: float


@dataclass(frozen=True, slots=True)
class Floor:
    """A reason why the tier is at least so bad.

    Attributes:
        when: one of `FLOOR_KINDS`.
        at_least: the tier.
        words: the reason as told.
        share: of "sound_share_below".
        components: of "strong_sign_of".
        methods: of "survey_method".
        conditions: of "marked_edge_or_ring".
    """

    when: str
    at_least: str
    words: str
    share: float = 0.0
    components: tuple[str, ...] = ()
    methods: tuple[str, ...] = ()
    conditions: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FrameSign:
    """Evidence of damage to what carries the roof, from an extent on."""

    evidence: str
    least: Extent


@dataclass(frozen=True, slots=True)
class Band:
    """What a reading from `least` on means; with `above` only a reading above it does.

    `wet` says whether the wood there needs to be marked damp or worse.
    """

    name: str
    least: float
    words: str
    above: bool = False
    wet: bool = False


@dataclass(frozen=True, slots=True)
class Instrument:
    """A moisture meter and its own bands, driest first.

    Bands differ between publishers by up to ten points and meters are calibrated for other walls than these,
    so that bands belong to an instrument and a shop, never to wood as such.
    """

    slug: str
    kind: str
    label: str
    bands: tuple[Band, ...]

    def band(self, percent: float) -> Band:
        """The band of a reading; on a boundary that publishers leave open it is the wetter one."""
        reached = [band for band in self.bands if _reaches(percent, band)]
        return reached[-1] if reached else self.bands[0]


def _reaches(percent: float, band: Band) -> bool:
    on_it = math.isclose(percent, band.least, rel_tol=1e-9)
    return not band.above if on_it else percent > band.least
