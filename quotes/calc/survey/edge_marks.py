"""How much of the edges and cap flanges do marked strips put in the base, and what do they leave exposed?"""

from dataclasses import dataclass

from costbase.calc.units import show
from quotes.calc.geometry import Roof, Scope, Section, Span, ends
from quotes.calc.survey.grid import clipped, pieces
from quotes.calc.survey.marks import ROW, StripMark, Survey
from quotes.calc.survey.notes import Notes, Part, left
from quotes.calc.survey.rules import SeverityRules


@dataclass(frozen=True, slots=True)
class Strip:
    """A strip as far as it lies in a span: which, and how much of it."""

    side: str
    index: int
    length: float


def read_edges(survey: Survey, section: Section, span: Span, rules: SeverityRules, notes: Notes) -> Part:
    """Length of side edge that goes to the base, and the share of the exposure that the other strips leave."""
    marks = [mark for mark in survey.strips if mark.section == section.label]
    if not marks:
        return Part({"wall_top_rot_length": 0.0}, {"edge_strips": 1.0})
    strips = [
        Strip(side, index, end - start) for side in ("driver", "passenger") for index, start, end in clipped(section, span, ROW)
    ]
    share, scale = _along(strips, marks, rules, notes, ("wall top repaired", "wall_top_rot_length"))
    # A share of the length that the take-off knows, so that nothing is ever left below zero of it.
    return Part({"wall_top_rot_length": 2.0 * span.length * share}, {"edge_strips": scale})


def read_caps(survey: Survey, roof: Roof, span: Span, scope: Scope, rules: SeverityRules, notes: Notes) -> Part:
    """Length of cap backing that goes to the base, and the share of the exposure that the other strips leave."""
    if not survey.strips:
        return Part({"cap_backing_rot_length": 0.0}, {"cap_strips": 1.0})
    strips, marks = cap_strips(survey, roof, span, scope)
    names = ("cap backing renewed", "cap_backing_rot_length")
    share, scale = _along(strips, marks, rules, notes, names)
    joints = sum((end.length for end in ends(roof, span, scope) if end.kind == "cap"), 0.0)
    return Part({"cap_backing_rot_length": joints * share}, {"cap_strips": scale})


def cap_strips(survey: Survey, roof: Roof, span: Span, scope: Scope) -> tuple[list[Strip], list[StripMark]]:
    """The strips along the caps that a span carries, and the marks on them; a shared cap is marked in front."""
    strips: list[Strip] = []
    marks: list[StripMark] = []
    for end in ends(roof, span, scope):
        if end.kind == "cap" and end.strips is not None:
            label, side = end.strips
            strips += [Strip(end.side, index, high - low) for index, (low, high) in enumerate(pieces(end.length, ROW), 1)]
            marks += [
                StripMark(label, end.side, mark.index, mark.condition, mark.method)
                for mark in survey.strips
                if (mark.section, mark.side) == (label, side)
            ]
    return strips, marks


def _along(
    strips: list[Strip],
    marks: list[StripMark],
    rules: SeverityRules,
    notes: Notes,
    names: tuple[str, str],
) -> tuple[float, float]:
    """Share of the strips' length that goes to the base, and share of the exposure that the others leave."""
    text, measure = names
    by_strip: dict[tuple[str, int], list[StripMark]] = {}
    for mark in marks:
        by_strip.setdefault((mark.side, mark.index), []).append(mark)
    kept = exposed = 0.0
    for strip in strips:
        own = by_strip.get((strip.side, strip.index), [])
        if any(rules.replaces(mark.condition) for mark in own):
            words = [mark.words() for mark in own]
            notes.act(f"{text} over {show(strip.length, 'in', 2)}", words, measure)
            notes.damage += [(f"{notes.section}, {mark.words()}", mark.condition) for mark in own]
        else:
            kept += strip.length
            exposed += strip.length * left(own, rules)
    whole = sum(strip.length for strip in strips)
    return (1.0 - kept / whole if whole else 0.0), (min(exposed / kept, 1.0) if kept else 1.0)
