"""Which joint lies at each end of a span, and which section carries it?

A joint between two sections is one piece of work. When both of its ends are in scope it is counted once, at
the rear end of the section in front.
"""

from dataclasses import dataclass

from quotes.calc.geometry.profile import profile
from quotes.calc.geometry.roof import Joint, Roof, Scope, Section, Span, same_station


@dataclass(frozen=True, slots=True)
class End:
    """One end of a span.

    Attributes:
        side: "front" or "rear".
        kind: "cap", "step", "cross_seam", or "" where the work belongs to the section in front or there is
            none.
        length: of the joint, along the visible skin.
        strips: section and side whose survey strips lie along it; only a cap has strips.
        why: how it came to be that kind, in words.
    """

    side: str
    kind: str
    length: float
    strips: tuple[str, str] | None
    why: str


def joint_in_front(roof: Roof, label: str) -> Joint | None:
    """The joint at the front end of a section, None for an outer cap."""
    return next((joint for joint in roof.joints if joint.rear == label), None)


def joint_behind(roof: Roof, label: str) -> Joint | None:
    """The joint at the rear end of a section, None for an outer cap."""
    return next((joint for joint in roof.joints if joint.front == label), None)


def joint_length(roof: Roof, joint: Joint) -> float:
    """Length of a joint between two sections: along the wider one, whose edge has to be closed all across.

    Source: common practice, none published.
    """
    return max(profile(roof.section(label)).visible_width for label in (joint.front, joint.rear))


def ends(roof: Roof, span: Span, scope: Scope) -> tuple[End, End]:
    """What lies at the front and at the rear end of a span that belongs to a scope."""
    section = roof.section(span.section)
    if section.kind == "slide_room":
        # Its rim is one seal all round, counted as such.
        none = "a slide room has a seal all round"
        return End("front", "", 0.0, None, none), End("rear", "", 0.0, None, none)
    return _front_end(roof, section, span, scope), _rear_end(roof, section, span)


def _front_end(roof: Roof, section: Section, span: Span, scope: Scope) -> End:
    joint = joint_in_front(roof, section.label)
    if not same_station(span.start, 0.0) or joint is None:
        return _own_end(section, "front", at_end=same_station(span.start, 0.0))
    if _rear_end_in_scope(roof, joint.front, scope):
        return End("front", "", 0.0, None, f"the {_words(joint)} is counted at the rear end of {joint.front}")
    return _joint_end(roof, "front", joint)


def _rear_end(roof: Roof, section: Section, span: Span) -> End:
    joint = joint_behind(roof, section.label)
    at_end = same_station(span.end, section.length)
    if not at_end or joint is None:
        return _own_end(section, "rear", at_end=at_end)
    return _joint_end(roof, "rear", joint)


def _own_end(section: Section, side: str, *, at_end: bool) -> End:
    width = profile(section).visible_width
    if at_end:
        return End(side, "cap", width, (section.label, side), f"outer cap at the {side} end")
    return End(side, "cross_seam", width, None, f"the scope ends inside the section at the {side}: a cross seam")


def _joint_end(roof: Roof, side: str, joint: Joint) -> End:
    # A cap between two sections is surveyed from the section in front of it.
    strips = (joint.front, "rear") if joint.kind == "cap" else None
    return End(
        side,
        joint.kind,
        joint_length(roof, joint),
        strips,
        f"{_words(joint)} between {joint.front} and {joint.rear}",
    )


def _rear_end_in_scope(roof: Roof, label: str, scope: Scope) -> bool:
    length = roof.section(label).length
    return any(span.section == label and same_station(span.end, length) for span in scope)


def _words(joint: Joint) -> str:
    return joint.kind.replace("_", " ")
