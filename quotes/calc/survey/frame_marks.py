"""Which openings get a frame or backing, by the rings round them, and which stay exposed?"""

from quotes.calc.geometry import Opening, Section, Span, openings_in
from quotes.calc.survey.marks import RingMark, Survey
from quotes.calc.survey.notes import Notes, Part, left
from quotes.calc.survey.rules import SeverityRules


def read_frames(survey: Survey, section: Section, span: Span, rules: SeverityRules, notes: Notes) -> Part:
    """How many openings get a frame or a backing, and the share of the exposure that the others leave.

    Args:
        survey: passed `check_survey`.
        section: of the span.
        span: of the scope; openings count by their centre.
        rules: which conditions are replaced, and what a sound rim leaves.
        notes: takes the reasons.

    Returns:
        ``brace_count`` (air conditioners) and ``backing_count`` (others); scales of "ac_rings" and "rings".
    """
    if not any(mark.section == section.label for mark in survey.rings):
        return Part({"brace_count": 0.0, "backing_count": 0.0}, {"ac_rings": 1.0, "rings": 1.0})
    braced = backed = 0
    ac_left: list[float] = []
    left_of_others: list[float] = []
    for opening in openings_in(section, span):
        own = [mark for mark in survey.rings if (mark.section, mark.opening) == (section.label, opening.label)]
        is_ac = opening.kind == "air_conditioner"
        if frame_to_base(opening, own, rules, notes):
            braced += is_ac
            backed += not is_ac
        elif is_ac:
            ac_left.append(left(own, rules))
        elif opening.kind != "stack":
            left_of_others.append(left(own, rules))
    return Part(
        {"brace_count": float(braced), "backing_count": float(backed)},
        {
            "ac_rings": sum(ac_left) / len(ac_left) if ac_left else 1.0,
            "rings": _rings_left(section, span, backed, left_of_others),
        },
    )


def frame_to_base(opening: Opening, marks: list[RingMark], rules: SeverityRules, notes: Notes) -> bool:
    """Whether an opening gets its frame or backing anew; a sound rim that lacks it is no better than a rotten one.

    A stack passes through a hole without a frame, so that nothing can be missing there.
    """
    damaged = [mark for mark in marks if rules.replaces(mark.condition)]
    notes.damage += [(f"{notes.section}, {mark.words()}", mark.condition) for mark in damaged]
    missing = [mark for mark in marks if mark.backing == "missing" and opening.kind != "stack"]
    reasons = list(dict.fromkeys(mark.words() for mark in (*damaged, *missing)))
    if not reasons:
        return False
    if opening.kind == "air_conditioner":
        notes.act(f"frame at {opening.label}", reasons, "brace_count")
    else:
        notes.act(f"backing at {opening.label}", reasons, "backing_count")
    return True


def _rings_left(section: Section, span: Span, backed: int, shares: list[float]) -> float:
    """Share left of the framed openings that are not backed.

    The exposure counts framed openings less every backing. A backing at a stack, which is no framed opening,
    takes one too many off; the share makes up for it as far as a share can.
    """
    framed = sum(o.kind not in ("air_conditioner", "stack") for o in openings_in(section, span))
    counted = framed - backed
    return min(sum(shares) / counted, 1.0) if counted > 0 else 1.0
