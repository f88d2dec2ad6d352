"""Which kinds of refusal does a survey know?"""

from costbase.calc.errors import CalculationError


class SurveyError(CalculationError):
    """A survey that cannot be read."""

    code = "bad_survey"


class UnknownSectionError(SurveyError):
    """A mark or finding on a section that the roof does not have."""

    code = "unknown_section"


class OffTheRoofError(SurveyError):
    """A cell, strip or ring that the section does not have."""

    code = "mark_off_roof"


class ConflictingMarksError(SurveyError):
    """Two marks of one place that say different things."""

    code = "conflicting_marks"


class UnknownFindingError(SurveyError):
    """A kind of finding that the rules do not know."""

    code = "unknown_finding"


class ExtentError(SurveyError):
    """An extent that is missing, not wanted, or no size."""

    code = "bad_extent"


class MoreThanThereIsError(SurveyError):
    """More found than the coach's record has of it."""

    code = "more_than_there_is"


class BadPlaceError(SurveyError):
    """A place that is blank or in no form that the grid knows."""

    code = "bad_place"


class RepairError(SurveyError):
    """An earlier repair that lacks what its kind needs, or has what it cannot have."""

    code = "bad_repair"


class ReadingError(SurveyError):
    """A reading of an unknown instrument, or no percentage."""

    code = "bad_reading"
