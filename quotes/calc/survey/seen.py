"""What do all marks of one span put in the base, and what do they leave exposed?"""

from dataclasses import dataclass

from costbase.calc.units import in_unit, round_half_up
from quotes.calc.geometry import Roof, Scope, Span, openings_in
from quotes.calc.survey.deck_marks import SeenCell, read_deck
from quotes.calc.survey.edge_marks import cap_strips, read_caps, read_edges
from quotes.calc.survey.frame_marks import read_frames
from quotes.calc.survey.grid import clipped
from quotes.calc.survey.marks import ROW, StripMark, Survey
from quotes.calc.survey.notes import Notes, SurveyAction
from quotes.calc.survey.rules import SeverityRules


@dataclass(frozen=True, slots=True)
class Seen:
    """What the marks of one span say; the fields are as of a `SectionReading`, `damp` asks for drying."""

    values: dict[str, float | bool]
    exposure_scale: dict[str, float]
    actions: tuple[SurveyAction, ...]
    warnings: tuple[str, ...]
    damage_marks: tuple[tuple[str, str], ...]
    damp: bool


def seen_on(cells: tuple[SeenCell, ...], survey: Survey, roof: Roof, span: Span, scope: Scope, rules: SeverityRules) -> Seen:
    """What the marks of one span say.

    Args:
        cells: of the span, as `cell_conditions` gives them.
        survey: passed `check_survey`.
        roof: passed `check_roof`.
        span: of the scope.
        scope: all spans, since a cap between two sections belongs to the one in front.
        rules: actions of conditions and what sound leaves.
    """
    section = roof.section(span.section)
    notes = Notes(section.label)
    deck = read_deck(cells, survey, section, span, rules, notes)
    edges = read_edges(survey, section, span, rules, notes)
    caps = read_caps(survey, roof, span, scope, rules, notes)
    frames = read_frames(survey, section, span, rules, notes)
    damp = _damp(cells, survey, roof, span, scope, rules, notes)
    return Seen(
        values={**deck.values, **edges.values, **caps.values, **frames.values},
        exposure_scale={**deck.scale, **edges.scale, **caps.scale, **frames.scale},
        actions=tuple(notes.actions),
        warnings=tuple(notes.warnings),
        damage_marks=tuple(notes.damage),
        damp=damp,
    )


def _damp(
    cells: tuple[SeenCell, ...], survey: Survey, roof: Roof, span: Span, scope: Scope, rules: SeverityRules, notes: Notes
) -> bool:
    """Whether anything in the span is damp and stays, which puts drying in the base."""
    if not (survey.cells or survey.strips or survey.rings or survey.findings):
        return False
    section = roof.section(span.section)
    inside = {opening.label for opening in openings_in(section, span)}
    rows = {row for row, _, _ in clipped(section, span, ROW)}
    words = [source for seen in cells if seen.condition and rules.dries(seen.condition) for source in seen.sources]
    _, marks = cap_strips(survey, roof, span, scope)
    strips: list[StripMark] = [
        *marks,
        *(
            mark
            for mark in survey.strips
            if mark.section == section.label and mark.side in ("driver", "passenger") and mark.index in rows
        ),
    ]
    words += [mark.words() for mark in strips if rules.dries(mark.condition)]
    words += [
        mark.words()
        for mark in survey.rings
        if mark.section == section.label and mark.opening in inside and rules.dries(mark.condition)
    ]
    if words and rules.dry_days_when_damp:
        days = round_half_up(in_unit(rules.dry_days_when_damp, "day"), 2)
        notes.act(f"{days:g} days of drying", dict.fromkeys(words), "dry_days")
    return bool(words)
