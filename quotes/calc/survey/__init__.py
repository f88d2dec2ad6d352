"""What is known of a roof's condition, and what does it put in the base, leave exposed and say about the tier?

`check_survey` refuses what does not fit the roof, `read_survey` (which checks first) gives the figures. The severity rules are
read here, since weights, factors and kinds of evidence are theirs; grading itself is `quotes/calc/severity.py`.
"""

from quotes.calc.survey.checked import check_survey
from quotes.calc.survey.faults import SurveyError
from quotes.calc.survey.found import BandedReading
from quotes.calc.survey.grid import Cell, Place, courses, grid, place_of
from quotes.calc.survey.marks import (
    BACKINGS,
    CELL_METHODS,
    CHEMISTRIES,
    CONDITIONS,
    COURSE,
    LANES,
    REPAIR_KINDS,
    ROW,
    SIDES,
    SURVEY_METHODS,
    CellMark,
    Finding,
    Reading,
    Repair,
    RingMark,
    StripMark,
    Survey,
)
from quotes.calc.survey.notes import SurveyAction
from quotes.calc.survey.places import KINDS as PLACE_KINDS
from quotes.calc.survey.places import Carried, PlaceName, carried_exposure, place_sizes, places_in
from quotes.calc.survey.reading import SectionReading, SurveyReading, read_survey
from quotes.calc.survey.rule_parts import TIERS, Band, EvidenceKind, Extent, Floor, FrameSign, Instrument, ShareTier
from quotes.calc.survey.rules import SeverityRules

__all__ = [
    "BACKINGS",
    "CELL_METHODS",
    "CHEMISTRIES",
    "CONDITIONS",
    "COURSE",
    "LANES",
    "PLACE_KINDS",
    "REPAIR_KINDS",
    "ROW",
    "SIDES",
    "SURVEY_METHODS",
    "TIERS",
    "Band",
    "BandedReading",
    "Carried",
    "Cell",
    "CellMark",
    "EvidenceKind",
    "Extent",
    "Finding",
    "Floor",
    "FrameSign",
    "Instrument",
    "Place",
    "PlaceName",
    "Reading",
    "Repair",
    "RingMark",
    "SectionReading",
    "SeverityRules",
    "ShareTier",
    "StripMark",
    "Survey",
    "SurveyAction",
    "SurveyError",
    "SurveyReading",
    "carried_exposure",
    "check_survey",
    "courses",
    "grid",
    "place_of",
    "place_sizes",
    "places_in",
    "read_survey",
]
