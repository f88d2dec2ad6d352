"""Which deck do marked cells put in the base, and how much of it and of what lies below is left exposed?"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple, cast

from costbase.calc.same import by_identity
from costbase.calc.units import show
from quotes.calc.geometry import Section, Span, profile
from quotes.calc.survey.grid import Cell, course_of, courses, grid, place_of
from quotes.calc.survey.marks import CONDITIONS, LANES, CellMark, Survey
from quotes.calc.survey.notes import Notes, Part, left
from quotes.calc.survey.rules import SeverityRules


class SeenCell(NamedTuple):
    """A cell of a span with its condition ("" where nobody looked) and the words that say so."""

    cell: Cell
    condition: str
    sources: tuple[str, ...]


def cell_conditions(survey: Survey, section: Section, span: Span, rules: SeverityRules) -> tuple[SeenCell, ...]:
    """Each cell of a span with its condition.

    Findings such as parted plies set the condition of the cells that they name; the worst said of a cell
    counts.
    """
    said: dict[tuple[int, str], list[tuple[str, str]]] = {}
    for mark in survey.cells:
        if mark.section == section.label:
            said.setdefault((mark.row, mark.lane), []).append((mark.condition, mark.words()))
    for finding in survey.findings:
        becomes = rules.evidence[finding.kind].cells_become
        if becomes and finding.section == section.label:
            source = f"{finding.place}: {rules.evidence[finding.kind].words()}"
            for name in place_of(finding.place).cells:
                said.setdefault(name, []).append((becomes, source))
    unseen = _unseen(grid(section, span))
    if not said:
        return unseen
    return tuple([_seen(one.cell, said[key]) if (key := (one.cell.row, one.cell.lane)) in said else one for one in unseen])


# Most cells of most roofs were not looked at, and a grid is the same tuple for every roof of its size.
_unseen = by_identity(lambda cells: tuple(SeenCell(cell, "", ()) for cell in cast(tuple[Cell, ...], cells)), 1024)


def _seen(cell: Cell, about: list[tuple[str, str]]) -> SeenCell:
    worst = max((condition for condition, _ in about), key=CONDITIONS.index)
    return SeenCell(cell, worst, tuple(source for condition, source in about if condition == worst))


@dataclass(frozen=True, slots=True)
class DamagedPlace:
    """A cell whose deck is replaced: stations from the front of the span, offsets from the driver edge of the deck."""

    start: float
    end: float
    near: float
    far: float


def damaged_places(cells: tuple[SeenCell, ...], section: Section, span: Span, rules: SeverityRules) -> tuple[DamagedPlace, ...]:
    """The cells of a span whose deck is to be replaced, each by itself; none where the section has no deck.

    Args:
        cells: of the span, as `cell_conditions` gives them.
        section: of the span.
        span: of the scope.
        rules: which conditions are replaced.
    """
    if section.deck == "none":
        return ()
    lane = profile(section).crown_arc / len(LANES)
    return tuple(
        DamagedPlace(seen.cell.start - span.start, seen.cell.end - span.start, lane * at, lane * (at + 1))
        for seen in cells
        if seen.condition and rules.replaces(seen.condition)
        for at in (LANES.index(seen.cell.lane),)
    )


def read_deck(
    cells: tuple[SeenCell, ...], survey: Survey, section: Section, span: Span, rules: SeverityRules, notes: Notes
) -> Part:
    """What marked cells of a span put in the base and leave exposed.

    Every 4 ft course that a cell to be replaced touches is replaced whole, clipped to the span: board is laid by the sheet, and
    half a course would leave a joint beside the rot.

    Args:
        cells: of the span, as `cell_conditions` gives them.
        survey: passed `check_survey`.
        section: of the span.
        span: of the scope.
        rules: which conditions are replaced, and what sound cells leave.
        notes: takes the reasons and warnings.

    Returns:
        ``deck_replaced_share`` of the span's length; scales of all cells and of those outside replaced courses.
    """
    if not any([seen.condition for seen in cells]):
        # Nothing goes to the base and everything stays exposed; metal on its frame has no board that could.
        return Part({"deck_replaced_share": 0.0}, {"cells": 1.0, "kept_cells": 0.0 if section.deck == "none" else 1.0})
    sources: dict[int, list[str]] = {}
    for seen in cells:
        if seen.condition and rules.replaces(seen.condition):
            sources.setdefault(course_of(seen.cell.row), []).extend(seen.sources)
    by_cell = _marks_of(survey.cells, section)
    exposed = [
        (seen.cell, left(by_cell[seen.cell.row, seen.cell.lane], rules) if seen.condition == "sound" else 1.0) for seen in cells
    ]
    if section.deck == "none":
        return _no_deck(sources, exposed, notes)
    replaced, laid = 0.0, courses(section, span)
    for course, start, end in laid:
        if course in sources:
            replaced += end - start
            text = f"deck replaced from {show(start, 'ft', 2)} to {show(end, 'ft', 2)}"
            notes.act(text, dict.fromkeys(sources[course]), "deck_replaced_share")
    if sources and section.kind == "slide_room":
        notes.warnings.append(f"{section.label}: the deck of a slide room is not priced by the course: add swapped sheets")
    kept = [(cell, share) for cell, share in exposed if course_of(cell.row) not in sources]
    return Part(
        # All of it is exactly all of it: a sum of courses may float a hair beside the length.
        {"deck_replaced_share": 1.0 if len(sources) == len(laid) else replaced / span.length},
        {"cells": _by_area(exposed), "kept_cells": _by_area(kept)},
    )


def _no_deck(sources: dict[int, list[str]], exposed: list[tuple[Cell, float]], notes: Notes) -> Part:
    """Metal that lies on its frame has no board to replace and none that could be rotten unseen."""
    if sources:
        notes.warnings.append(f"{notes.section}: there is no deck to replace: note what is soft or rotten as rafters or edge")
    return Part({"deck_replaced_share": 0.0}, {"cells": _by_area(exposed), "kept_cells": 0.0})


def _marks_of(marks: Iterable[CellMark], section: Section) -> dict[tuple[int, str], list[CellMark]]:
    by_cell: dict[tuple[int, str], list[CellMark]] = {}
    for mark in marks:
        if mark.section == section.label:
            by_cell.setdefault((mark.row, mark.lane), []).append(mark)
    return by_cell


def _by_area(shares: list[tuple[Cell, float]]) -> float:
    """Mean share left, by area; 1 where there is nothing to scale."""
    area = sum(cell.area for cell, _ in shares)
    return min(sum(cell.area * share for cell, share in shares) / area, 1.0) if area else 1.0
