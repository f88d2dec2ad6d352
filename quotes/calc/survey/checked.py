"""Does a survey fit its roof and the rules? Every fault at once."""

import re
from collections.abc import Iterator

from costbase.calc.errors import CalculationError, raise_faults
from quotes.calc.geometry import Roof, Section, Span, ends, nearest, unknown_word, whole
from quotes.calc.survey.checked_findings import finding_faults, total_faults
from quotes.calc.survey.faults import (
    BadPlaceError,
    ConflictingMarksError,
    OffTheRoofError,
    ReadingError,
    RepairError,
    SurveyError,
    UnknownSectionError,
)
from quotes.calc.survey.grid import Place, cap_strip_count, place_of, row_count
from quotes.calc.survey.marks import (
    BACKINGS,
    CELL_METHODS,
    CHEMISTRIES,
    CONDITIONS,
    LANES,
    REPAIR_KINDS,
    SIDES,
    SURVEY_METHODS,
    CellMark,
    Reading,
    Repair,
    RingMark,
    StripMark,
    Survey,
)
from quotes.calc.survey.rules import SeverityRules

_DAY = re.compile(r"[0-9]{4}-(0[1-9]|1[0-2])-(0[1-9]|[12][0-9]|3[01])")
LONGEST_PLACE = 120
LONGEST_TRIM_FT = 500.0


def check_survey(survey: Survey, roof: Roof, rules: SeverityRules) -> None:
    """Raises nothing for a survey that fits a checked roof and the rules.

    Args:
        survey: as entered.
        roof: passed `check_roof`.
        rules: whose evidence and instruments the survey names.

    Raises:
        SurveyError: the one fault.
        CalculationFaults: all of them, with pointers such as ``cells/3/row``.
    """
    faults: list[CalculationError] = unknown_word(survey.method, SURVEY_METHODS, "method")
    if not _DAY.fullmatch(survey.on):
        faults.append(SurveyError("expected a day such as 2026-03-01", field="on", value=survey.on))
    faults += _unseen(survey)
    faults += _each("cells", (_cell_faults(roof, mark) for mark in survey.cells))
    faults += _each("strips", (_strip_faults(roof, mark) for mark in survey.strips))
    faults += _each("rings", (_ring_faults(roof, mark) for mark in survey.rings))
    faults += [*_conflicts(survey)]
    faults += _each(
        "findings",
        ([*finding_faults(finding, rules), *_where(roof, finding.section, finding.place)] for finding in survey.findings),
    )
    faults += _each("repairs", (_repair_faults(roof, repair) for repair in survey.repairs))
    faults += _each("readings", (_reading_faults(roof, reading, rules) for reading in survey.readings))
    if not faults:
        faults += total_faults(survey, roof, rules)
    raise_faults(faults)


def _each(pointer: str, several: Iterator[list[CalculationError]]) -> list[CalculationError]:
    return [fault.under(f"{pointer}/{index}") for index, faults in enumerate(several) for fault in faults]


def _unseen(survey: Survey) -> list[CalculationError]:
    """Nobody stood on a roof that was told about or photographed, so nobody marked it."""
    if survey.method not in ("told", "photographs"):
        return []
    return [
        SurveyError(
            f"expected no {name} in a survey that was made by {survey.method}: nobody stood on the roof",
            field=name,
            value=len(marks),
        )
        for name, marks in (
            ("cells", survey.cells),
            ("strips", survey.strips),
            ("rings", survey.rings),
            ("readings", survey.readings),
        )
        if marks
    ]


# Marks ------------------------------------------------------------------------------------------------


def _section(roof: Roof, label: str) -> Section | None:
    return next((section for section in roof.sections if section.label == label), None)


def _no_section(roof: Roof, label: str) -> list[CalculationError]:
    known = [section.label for section in roof.sections]
    words = f"unknown section {label!r}{nearest(label, known)}"
    return [UnknownSectionError(words, field="section", value=label)]


def _seen(mark: CellMark | StripMark | RingMark) -> list[CalculationError]:
    return [
        *unknown_word(mark.condition, CONDITIONS, "condition"),
        *unknown_word(mark.method, CELL_METHODS, "method"),
    ]


def _cell_faults(roof: Roof, mark: CellMark) -> list[CalculationError]:
    faults = [*_seen(mark), *unknown_word(mark.lane, LANES, "lane")]
    section = _section(roof, mark.section)
    if section is None:
        return faults + _no_section(roof, mark.section)
    return faults + _row_faults(section, mark.row, "row")


def _row_faults(section: Section, row: int, field: str) -> list[CalculationError]:
    last = row_count(section)
    if 1 <= row <= last:
        return []
    words = f"expected a row from 1 to {last} on {section.label!r}, not {row}"
    return [OffTheRoofError(words, field=field, value=row)]


def _strip_faults(roof: Roof, mark: StripMark) -> list[CalculationError]:
    faults = [*_seen(mark), *unknown_word(mark.side, SIDES, "side")]
    section = _section(roof, mark.section)
    if section is None:
        return faults + _no_section(roof, mark.section)
    if mark.side in SIDES:
        faults += _strip_place_faults(roof, section, mark.side, mark.index)
    return faults


def _strip_place_faults(roof: Roof, section: Section, side: str, index: int) -> list[CalculationError]:
    if section.kind == "slide_room":
        words = f"{section.label!r} is a slide room: its rim is a seal and has no strips"
        return [OffTheRoofError(words, field="side", value=side)]
    if side in ("driver", "passenger"):
        last = row_count(section)
    else:
        end = ends(roof, Span(section.label, 0.0, section.length), whole(roof))[side == "rear"]
        if end.strips != (section.label, side):
            words = f"the {side} end of {section.label!r} has no cap strips: {end.why}"
            return [OffTheRoofError(words, field="side", value=side)]
        last = cap_strip_count(end.length)
    if 1 <= index <= last:
        return []
    words = f"expected a strip from 1 to {last} at the {side} of {section.label!r}, not {index}"
    return [OffTheRoofError(words, field="index", value=index)]


def _ring_faults(roof: Roof, mark: RingMark) -> list[CalculationError]:
    faults = [*_seen(mark), *unknown_word(mark.backing, BACKINGS, "backing")]
    section = _section(roof, mark.section)
    if section is None:
        return faults + _no_section(roof, mark.section)
    return faults + _opening_faults(section, mark.opening, "opening")


def _opening_faults(section: Section, label: str, field: str) -> list[CalculationError]:
    known = [opening.label for opening in section.openings]
    if label in known:
        return []
    words = f"unknown opening {label!r} on {section.label!r}{nearest(label, known)}"
    return [OffTheRoofError(words, field=field, value=label)]


def _conflicts(survey: Survey) -> Iterator[CalculationError]:
    """A fault for every mark that contradicts an earlier one of the same place.

    The same condition found in two ways is no contradiction: the more thorough way counts.
    """
    said: dict[tuple[str, ...], tuple[str, ...]] = {}
    marks: list[tuple[str, int, tuple[str, ...], tuple[str, ...]]] = [
        *(("cells", i, (m.section, "cell", f"{m.row}{m.lane}"), (m.condition,)) for i, m in enumerate(survey.cells)),
        *(("strips", i, (m.section, "strip", m.side, str(m.index)), (m.condition,)) for i, m in enumerate(survey.strips)),
        *(("rings", i, (m.section, "ring", m.opening), (m.condition, m.backing)) for i, m in enumerate(survey.rings)),
    ]  # fmt: skip
    for name, index, place, words in marks:
        before = said.setdefault(place, words)
        if before != words:
            yield ConflictingMarksError(
                f"{', '.join(place)} is marked {' and '.join(before)} and again {' and '.join(words)}: "
                "expected one condition for one place",
                field=f"{name}/{index}/condition",
                value=words[0],
            )


# Places of findings and readings ----------------------------------------------------------------------


def _where(roof: Roof, label: str, words: str) -> list[CalculationError]:
    section = _section(roof, label)
    if section is None:
        return _no_section(roof, label)
    if not words.strip() or len(words) > LONGEST_PLACE:
        wanted = f"expected a place of 1 to {LONGEST_PLACE} characters"
        return [BadPlaceError(wanted, field="place", value=words)]
    place = place_of(words)
    if not place.valid:
        wanted = "expected a place such as cell 3D, cells 3D, 4D, strip driver 4, ring vent 2, or other words"
        return [BadPlaceError(wanted, field="place", value=words)]
    return _grid_place_faults(roof, section, place)


def _grid_place_faults(roof: Roof, section: Section, place: Place) -> list[CalculationError]:
    faults = [fault for row, _ in place.cells for fault in _row_faults(section, row, "place")]
    if place.ring:
        faults += _opening_faults(section, place.ring, "place")
    if place.strip is not None:
        for fault in _strip_place_faults(roof, section, *place.strip):
            fault.field = "place"
            faults.append(fault)
    return faults


# Repairs and readings ---------------------------------------------------------------------------------

# Which of share and length a kind of repair has, and whether it has a chemistry.
_REPAIR_NEEDS = {
    "coating": ("share", True),
    "tape": ("share", True),
    "added_trim": ("length", False),
    "screws": ("", False),
}


def _repair_faults(roof: Roof, repair: Repair) -> list[CalculationError]:
    faults = [
        *unknown_word(repair.kind, REPAIR_KINDS, "kind"),
        *unknown_word(repair.chemistry, CHEMISTRIES, "chemistry"),
    ]
    if _section(roof, repair.section) is None:
        faults += _no_section(roof, repair.section)
    if repair.kind not in _REPAIR_NEEDS:
        return faults
    size, chemical = _REPAIR_NEEDS[repair.kind]
    for name in ("share", "length"):
        value = getattr(repair, name)
        if (value is None) == (size == name):
            words = f"expected {'a' if size == name else 'no'} {name} for {repair.kind}"
            faults.append(RepairError(words, field=name, value=value))
    if chemical != (repair.chemistry != "none"):
        words = f"expected {'a chemistry, or unknown,' if chemical else 'none'} for {repair.kind}"
        faults.append(RepairError(words, field="chemistry", value=repair.chemistry))
    return faults + _repair_sizes(repair)


def _repair_sizes(repair: Repair) -> list[CalculationError]:
    faults: list[CalculationError] = []
    if repair.share is not None and not 0.0 < repair.share <= 1.0:
        faults.append(RepairError("expected a share above 0 and up to 1", field="share", value=repair.share))
    longest = LONGEST_TRIM_FT * 3048.0
    if repair.length is not None and not 0.0 < repair.length <= longest:
        words = f"expected a length above 0 and up to {LONGEST_TRIM_FT:g} ft"
        faults.append(RepairError(words, field="length", value=repair.length))
    return faults


def _reading_faults(roof: Roof, reading: Reading, rules: SeverityRules) -> list[CalculationError]:
    faults = _where(roof, reading.section, reading.place)
    if reading.instrument not in rules.instruments:
        words = f"unknown instrument {reading.instrument!r}{nearest(reading.instrument, list(rules.instruments))}"
        faults.append(ReadingError(words, field="instrument", value=reading.instrument))
    if not 0.0 <= reading.percent <= 100.0:
        words = "expected a reading from 0 to 100 percent"
        faults.append(ReadingError(words, field="percent", value=reading.percent))
    return faults
