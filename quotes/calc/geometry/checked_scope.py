"""Do the joints of a roof fit its sections, and does a scope lie on them?"""

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.units import show
from quotes.calc.geometry.faults import JointError, ScopeError, unknown_word
from quotes.calc.geometry.limits import SHORTEST_SPAN
from quotes.calc.geometry.roof import (
    JOINT_KINDS,
    SAME_STATION,
    Joint,
    Roof,
    Scope,
    Section,
    is_whole,
    nearest,
)


def check_scope(roof: Roof, scope: Scope) -> tuple[str, ...]:
    """What is unusual about a scope that lies on a checked roof.

    A section takes part in a scope once: two places of one section are two quotes or one longer span.

    Raises:
        ScopeError: the one fault.
        CalculationFaults: all of them, with pointers such as ``scope/0/end``.
    """
    faults: list[CalculationError] = []
    if not scope:
        faults.append(ScopeError("expected at least one span of a roof section", field="scope", value=len(scope)))
    known = [section.label for section in roof.sections]
    for index, span in enumerate(scope):
        pointer = f"scope/{index}"
        if span.section not in known:
            words = f"unknown section {span.section!r}{nearest(span.section, known)}"
            faults.append(ScopeError(words, field=f"{pointer}/section", value=span.section))
        else:
            faults += _span_faults(roof.section(span.section), span.start, span.end, pointer)
        if span.section in [other.section for other in scope[:index]]:
            words = f"section {span.section!r} is in the scope twice: expected one span for a section"
            faults.append(ScopeError(words, field=f"{pointer}/section", value=span.section))
    raise_faults(faults)
    return tuple(
        warning
        for span in scope
        if not is_whole(roof.section(span.section), span)
        for warning in _partial_warnings(roof.section(span.section), span.start, span.end)
    )


def joint_faults(roof: Roof) -> list[CalculationError]:
    """A fault for every joint between ends that cannot meet, with pointers below ``joints``."""
    faults: list[CalculationError] = []
    for index, joint in enumerate(roof.joints):
        earlier = roof.joints[:index]
        own = unknown_word(joint.kind, JOINT_KINDS, "kind")
        own += _joint_end(roof, joint.front, "front", [other.front for other in earlier])
        own += _joint_end(roof, joint.rear, "rear", [other.rear for other in earlier])
        if _closes_a_ring(joint, earlier):
            words = f"{joint.rear!r} already lies before {joint.front!r}: expected one line of sections"
            own.append(JointError(words, field="rear", value=joint.rear))
        faults += [fault.under(f"joints/{index}") for fault in own]
    return faults


def _joint_end(roof: Roof, label: str, field: str, taken: list[str]) -> list[CalculationError]:
    known = [section.label for section in roof.sections]
    if label not in known:
        return [JointError(f"unknown section {label!r}{nearest(label, known)}", field=field, value=label)]
    if roof.section(label).kind == "slide_room":
        words = f"{label!r} is a slide room: its roof meets no other section"
        return [JointError(words, field=field, value=label)]
    if label in taken:
        end = "rear" if field == "front" else "front"
        words = f"the {end} end of {label!r} already has a joint: expected one at each end"
        return [JointError(words, field=field, value=label)]
    return []


def _closes_a_ring(joint: Joint, earlier: tuple[Joint, ...]) -> bool:
    behind = {other.front: other.rear for other in earlier}
    label, seen = joint.rear, {joint.rear}
    while label != joint.front:
        label = behind.get(label, "")
        if not label or label in seen:
            return False
        seen.add(label)
    return True


def _span_faults(section: Section, start: float, end: float, pointer: str) -> list[CalculationError]:
    faults: list[CalculationError] = []
    room = f"expected a station from 0 to {show(section.length, 'ft')} on {section.label!r}"
    for station, name in ((start, "start"), (end, "end")):
        if not -SAME_STATION <= station <= section.length + SAME_STATION:
            faults.append(ScopeError(room, field=f"{pointer}/{name}", value=station))
    if not faults and end - start < SHORTEST_SPAN:
        words = f"expected the span to end at least {show(SHORTEST_SPAN, 'in')} behind its start"
        faults.append(ScopeError(words, field=f"{pointer}/end", value=end))
    return faults


def _partial_warnings(section: Section, start: float, end: float) -> list[str]:
    """What a cut through a section meets, and what counts although nobody said where it is."""
    warnings = []
    for opening in section.openings:
        for cut in (start, end):
            if abs(opening.station - cut) < opening.length / 2 - SAME_STATION:
                warnings.append(
                    f"{section.label}: the scope ends at {show(cut, 'in', 2)}, inside {opening.label}: move the end clear of it"
                )
    loose = [attachment.kind for attachment in section.attachments if attachment.station is None]
    loose += ["captive nuts"] * (section.captive_nuts > 0) + ["wiring runs"] * (section.wiring_runs > 0)
    for kind in loose:
        name = kind.replace("_", " ")
        warnings.append(f"{section.label}: {name} without a station: counted in full in this part of the roof")
    return warnings
