"""Which places of a scope carry the exposure that a survey left, and how much of it does each?

What is found soft or rotten is visible work: its place carries nothing that could still be found. A place that was seen sound
carries a part, one that nobody looked at all of it.
"""

from typing import NamedTuple

from quotes.calc.geometry import Roof, Scope, Section, Span, ends, openings_in
from quotes.calc.survey.deck_marks import cell_conditions
from quotes.calc.survey.frame_marks import frame_to_base
from quotes.calc.survey.grid import clipped, course_of, grid, pieces
from quotes.calc.survey.marks import ROW, StripMark, Survey
from quotes.calc.survey.notes import Notes, left
from quotes.calc.survey.rules import SeverityRules


class PlaceName(NamedTuple):
    """A cell (``at`` is such as "3D"), a strip ("driver 4") or a ring (the opening's label) of a section."""

    section: str
    kind: str
    at: str


Carried = dict[PlaceName, float]
KINDS = ("cells", "kept_cells", "edge_strips", "cap_strips", "ac_rings", "rings")


def carried_exposure(survey: Survey, roof: Roof, scope: Scope, rules: SeverityRules) -> dict[str, dict[str, Carried]]:
    """What every place of a scope carries, by section and by what scales exposures (`KINDS`).

    Args:
        survey: passed `check_survey`.
        roof: passed `check_roof`.
        scope: passed `check_scope`, none left out.
        rules: what is replaced, and what sound places leave.

    Returns:
        Canonical area of cells, canonical length of strips, and 1 for a ring, each times the share that the survey left of it;
        places that went to the visible work are not there. Their proportions are those of the exposures that were quoted.
    """
    return {span.section: _of_span(survey, roof, scope, span, rules) for span in scope}


def places_in(roof: Roof, scope: Scope) -> frozenset[PlaceName]:
    """Every cell, strip and ring in a scope, whatever the survey says of it; a shared cap is named by the section in front."""
    return frozenset(place_sizes(roof, scope))


def place_sizes(roof: Roof, scope: Scope) -> Carried:
    """How large every cell, strip and ring in a scope is, whatever the survey says of it.

    Args:
        roof: passed `check_roof`.
        scope: passed `check_scope`, none left out.

    Returns:
        Canonical area of cells along the deck arc, canonical length of strips, and 1 for a ring, by name; a shared cap is there
        once, named by the section in front.
    """
    sizes: Carried = {}
    for span in scope:
        section = roof.section(span.section)
        label = section.label
        sizes |= {PlaceName(label, "cell", f"{cell.row}{cell.lane}"): cell.area for cell in grid(section, span)}
        sizes |= {PlaceName(label, "ring", opening.label): 1.0 for opening in openings_in(section, span)}
        if section.kind != "slide_room":
            for index, start, end in clipped(section, span, ROW):
                sizes |= {PlaceName(label, "strip", f"{side} {index}"): end - start for side in ("driver", "passenger")}
        for end_joint in ends(roof, span, scope):
            if end_joint.kind == "cap" and end_joint.strips is not None:
                of, side = end_joint.strips
                cut = enumerate(pieces(end_joint.length, ROW), 1)
                sizes |= {PlaceName(of, "strip", f"{side} {index}"): high - low for index, (low, high) in cut}
    return sizes


def _of_span(survey: Survey, roof: Roof, scope: Scope, span: Span, rules: SeverityRules) -> dict[str, Carried]:
    section = roof.section(span.section)
    cells, kept = _cells(survey, section, span, rules)
    ac_rings, rings = _rings(survey, section, span, rules)
    return {
        "cells": cells,
        "kept_cells": kept,
        "edge_strips": _edges(survey, section, span, rules),
        "cap_strips": _caps(survey, roof, scope, span, rules),
        "ac_rings": ac_rings,
        "rings": rings,
    }


def _cells(survey: Survey, section: Section, span: Span, rules: SeverityRules) -> tuple[Carried, Carried]:
    marks = [mark for mark in survey.cells if mark.section == section.label]
    every: Carried = {}
    replaced: set[int] = set()
    rows: dict[PlaceName, int] = {}
    for seen in cell_conditions(survey, section, span, rules):
        cell = seen.cell
        own = [mark for mark in marks if (mark.row, mark.lane) == (cell.row, cell.lane)]
        name = PlaceName(section.label, "cell", f"{cell.row}{cell.lane}")
        every[name] = cell.area * (left(own, rules) if seen.condition == "sound" else 1.0)
        rows[name] = cell.row
        if seen.condition and rules.replaces(seen.condition):
            replaced.add(course_of(cell.row))
    if section.deck == "none":
        return every, {}
    return every, {name: share for name, share in every.items() if course_of(rows[name]) not in replaced}


def _edges(survey: Survey, section: Section, span: Span, rules: SeverityRules) -> Carried:
    if section.kind == "slide_room":
        return {}
    strips = [
        (PlaceName(section.label, "strip", f"{side} {index}"), end - start, _marked(survey, section.label, side, index))
        for side in ("driver", "passenger")
        for index, start, end in clipped(section, span, ROW)
    ]
    return _left_of(strips, rules)


def _caps(survey: Survey, roof: Roof, scope: Scope, span: Span, rules: SeverityRules) -> Carried:
    strips = []
    for end in ends(roof, span, scope):
        if end.kind == "cap" and end.strips is not None:
            label, side = end.strips
            for index, (low, high) in enumerate(pieces(end.length, ROW), 1):
                marks = _marked(survey, label, side, index)
                strips.append((PlaceName(label, "strip", f"{side} {index}"), high - low, marks))
    return _left_of(strips, rules)


def _left_of(strips: list[tuple[PlaceName, float, list[StripMark]]], rules: SeverityRules) -> Carried:
    return {
        name: length * left(marks, rules)
        for name, length, marks in strips
        if not any(rules.replaces(mark.condition) for mark in marks)
    }


def _marked(survey: Survey, label: str, side: str, index: int) -> list[StripMark]:
    return [mark for mark in survey.strips if (mark.section, mark.side, mark.index) == (label, side, index)]


def _rings(survey: Survey, section: Section, span: Span, rules: SeverityRules) -> tuple[Carried, Carried]:
    ac_rings: Carried = {}
    rings: Carried = {}
    for opening in openings_in(section, span):
        marks = [mark for mark in survey.rings if (mark.section, mark.opening) == (section.label, opening.label)]
        if not frame_to_base(opening, marks, rules, Notes(section.label)):
            name = PlaceName(section.label, "ring", opening.label)
            if opening.kind == "air_conditioner":
                ac_rings[name] = left(marks, rules)
            elif opening.kind != "stack":
                rings[name] = left(marks, rules)
    return ac_rings, rings
