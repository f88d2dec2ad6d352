"""What does a survey put in the base, and how much of each exposure does it leave?

What is found rotten or soft is visible work and goes to the base: deck in whole courses, edges and caps by
the strip, frames by the opening. What is damp is dried and stays exposed. What is sound leaves part of its
exposure, the less the more thoroughly it was looked at. What nobody looked at is exposed in full: unchecked
never counts as sound.
"""

from dataclasses import dataclass

from quotes.calc.geometry import Roof, Scope, Section, Span, check_scope, is_whole, whole
from quotes.calc.survey.checked import check_survey
from quotes.calc.survey.deck_marks import DamagedPlace, SeenCell, cell_conditions, damaged_places
from quotes.calc.survey.found import BandedReading, Found, found_in
from quotes.calc.survey.grid import place_in, place_of
from quotes.calc.survey.marks import Finding, Survey
from quotes.calc.survey.notes import SurveyAction
from quotes.calc.survey.rules import SeverityRules
from quotes.calc.survey.seen import Seen, seen_on


@dataclass(frozen=True, slots=True)
class SectionReading:
    """What the survey of one section says.

    Attributes:
        values: measures that it puts in the base, by slug, canonical; every slug for every section.
        exposure_scale: share of its exposure that is left, 0 to 1, by what carries the marks: "cells" (all in
            scope), "kept_cells" (outside replaced courses), "edge_strips", "cap_strips", "ac_rings", "rings";
            1 where nothing is marked.
        damaged: places whose deck is soft or rotten; none where there is no deck.
    """

    values: dict[str, float | bool]
    exposure_scale: dict[str, float]
    damaged: tuple[DamagedPlace, ...]


@dataclass(frozen=True, slots=True)
class SurveyReading:
    """What a survey says about a scope.

    Attributes:
        checked_share: share of the scope's deck area whose cells are marked.
        sound_share: share of it whose cells are marked sound.
        weighted_share: weight of the marked cells over their area; 0 where none is marked.
        wet_share: share of the marked area that is damp, soft or rotten; 0 where none is marked. Only what
            was looked at is in it: spread over unchecked cells a wet roof would look dry.
        roof_checked_share: as checked_share, over the whole roof.
        roof_wet_share: as wet_share, over the whole roof.
        sections: what the survey says of each section in scope, by label.
        findings: those that lie in the scope.
        damage_marks: soft and rotten strips and rings in the scope with their condition, in words.
        bands: every meter reading with what it means.
        conditions: slugs of conditions of the work that findings suggest.
        warnings: what to look at again.
        exclusions: what the paper says that the price does not include.
        actions: every reason why something is in the base, with its source on the roof.
    """

    checked_share: float
    sound_share: float
    weighted_share: float
    wet_share: float
    roof_checked_share: float
    roof_wet_share: float
    sections: dict[str, SectionReading]
    findings: tuple[Finding, ...]
    damage_marks: tuple[tuple[str, str], ...]
    bands: tuple[BandedReading, ...]
    conditions: tuple[str, ...]
    warnings: tuple[str, ...]
    exclusions: tuple[str, ...]
    actions: tuple[SurveyAction, ...]


def read_survey(survey: Survey, roof: Roof, scope: Scope, rules: SeverityRules) -> SurveyReading:
    """What a survey says about the spans of a scope.

    Args:
        survey: of the whole roof; marks outside the scope say nothing about it.
        roof: passed `check_roof`.
        scope: the spans that are worked on.
        rules: weights, factors and evidence.

    Raises:
        ScopeError, SurveyError: the one fault of the scope or of the survey.
        CalculationFaults: all faults of the scope, or all of the survey.

    Source: common practice, none published; weights and factors are invented and data of the rules.
    """
    check_scope(roof, scope)
    check_survey(survey, roof, rules)
    findings = tuple(f for f in survey.findings if _in_scope(roof, scope, f))
    cells = _cells(survey, roof, scope, rules)
    seen = {span.section: seen_on(cells[span.section], survey, roof, span, scope, rules) for span in scope}
    found = {span.section: found_in(survey, roof, span, findings, rules) for span in scope}
    shares = _Shares.over(cells, rules)
    everything = whole(roof)
    of_roof = shares if scope == everything else _Shares.over(_cells(survey, roof, everything, rules), rules)
    return SurveyReading(
        checked_share=shares.checked,
        sound_share=shares.sound,
        weighted_share=shares.weighted,
        wet_share=shares.wet,
        roof_checked_share=of_roof.checked,
        roof_wet_share=of_roof.wet,
        sections={
            span.section: _section(seen[span.section], found[span.section], cells[span.section], roof, span, rules)
            for span in scope
        },
        findings=findings,
        damage_marks=tuple(mark for one in seen.values() for mark in one.damage_marks),
        bands=tuple(reading for one in found.values() for reading in one.bands),
        conditions=tuple(dict.fromkeys(slug for one in found.values() for slug in one.conditions)),
        warnings=_warnings(survey, roof, scope, shares, [*seen.values(), *found.values()]),
        exclusions=tuple(dict.fromkeys(text for one in found.values() for text in one.exclusions)),
        actions=tuple(action for label in seen for action in (*seen[label].actions, *found[label].actions)),
    )


def _section(
    seen: Seen, found: Found, cells: tuple[SeenCell, ...], roof: Roof, span: Span, rules: SeverityRules
) -> SectionReading:
    dry = rules.dry_days_when_damp if seen.damp else 0.0
    damaged = damaged_places(cells, roof.section(span.section), span, rules)
    return SectionReading({**found.values, **seen.values, "dry_days": dry}, seen.exposure_scale, damaged)


def _in_scope(roof: Roof, scope: Scope, finding: Finding) -> bool:
    span = next((span for span in scope if span.section == finding.section), None)
    return span is not None and place_in(roof.section(span.section), span, place_of(finding.place))


def _cells(survey: Survey, roof: Roof, scope: Scope, rules: SeverityRules) -> dict[str, tuple[SeenCell, ...]]:
    """Every cell of the scope by section; none at all where nobody marked any, since they could say nothing."""
    if not (survey.cells or survey.findings):
        return dict.fromkeys((span.section for span in scope), ())
    return {span.section: cell_conditions(survey, roof.section(span.section), span, rules) for span in scope}


# Shares -----------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Shares:
    """Shares of the deck area of a scope; see `SurveyReading`."""

    checked: float
    sound: float
    weighted: float
    wet: float

    @classmethod
    def over(cls, cells: dict[str, tuple[SeenCell, ...]], rules: SeverityRules) -> "_Shares":
        area = checked = sound = weighted = 0.0
        every = [seen for of_section in cells.values() for seen in of_section]
        if not any([seen.condition for seen in every]):
            return cls(0.0, 0.0, 0.0, 0.0)
        for seen in every:
            area += seen.cell.area
            if seen.condition:
                checked += seen.cell.area
                sound += seen.cell.area if seen.condition == "sound" else 0.0
                weighted += seen.cell.area * rules.weighs(seen.condition)
        if not checked:
            return cls(0.0, 0.0, 0.0, 0.0)
        return cls(checked / area, sound / area, weighted / checked, (checked - sound) / checked)


# Warnings ---------------------------------------------------------------------------------------------


def _warnings(survey: Survey, roof: Roof, scope: Scope, shares: _Shares, parts: list[Seen | Found]) -> tuple[str, ...]:
    warnings = [warning for part in parts for warning in part.warnings]
    if not shares.checked:
        warnings.insert(0, "no cell of this part of the roof was checked: how wet it is, is not known")
    for span in scope:
        warnings += _partial_warnings(survey, roof.section(span.section), span)
    in_scope = [finding for finding in survey.findings if _in_scope(roof, scope, finding)]
    warnings += [
        f"{finding.section}, {finding.place}: {finding.kind.replace('_', ' ')} lies outside of this scope"
        for finding in survey.findings
        if finding not in in_scope
    ]
    return tuple(dict.fromkeys(warnings))


def _partial_warnings(survey: Survey, section: Section, span: Span) -> list[str]:
    """What counts in a part of a section although nobody said where on the section it is."""
    if is_whole(section, span):
        return []
    return [
        f"{section.label}: {finding.kind.replace('_', ' ')} at {finding.place!r} has no place on the grid: "
        "counted in this part of the roof"
        for finding in survey.findings
        if finding.section == section.label and place_of(finding.place).free
    ] + [
        f"{section.label}: {repair.kind.replace('_', ' ')} has no station: counted in full in this part of the roof"
        for repair in survey.repairs
        if repair.section == section.label and repair.kind != "coating"
    ]
