"""How bad is this roof, and by which rules?

The highest rule that fires gives the tier and every rule that fired is listed. A sign of a damaged frame in one place raises
only the components that it speaks about strongly: a sagging air conditioner says nothing about the far end of the roof. So each
component has a tier of its own beside the roof's.

A further damage finding never lowers a tier. The weighted share is a mean and could fall when a mildly damaged cell joins badly
damaged ones, so the rules refuse weights of damage below a limit that the share is compared with; and the floor for roofs that
were hardly looked at is lifted by cells found sound only, since marking damage would otherwise lift it too.
"""

import math
from dataclasses import dataclass, replace

from costbase.calc.errors import CalculationError
from quotes.calc.survey import (
    TIERS,
    Finding,
    Floor,
    SeverityRules,
    Survey,
    SurveyReading,
)
from quotes.calc.survey.checked_findings import amount_of

__all__ = ["TIERS", "FiredRule", "Severity", "SeverityError", "SeverityRules", "grade", "override"]

SHORTEST_REASON = 10


class SeverityError(CalculationError):
    """A tier or a reason that an override cannot have."""

    code = "bad_severity"


@dataclass(frozen=True, slots=True)
class FiredRule:
    """A rule that fired: the tier it asks for, why, and the components it raises; empty means the whole roof."""

    tier: str
    reason: str
    components: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Severity:
    """How bad a roof is.

    Attributes:
        tier: of the roof, one of `TIERS`; what an estimator set it to where `override_reason` is not empty.
        components: tier of every hidden component, by slug; never below the roof's own.
        fired: every rule that fired, the highest tier first.
        worked_tier: what the rules came to, whatever was set.
        override_reason: why an estimator set another tier, or "".
    """

    tier: str
    components: dict[str, str]
    fired: tuple[FiredRule, ...]
    worked_tier: str
    override_reason: str = ""


def grade(survey: Survey, reading: SurveyReading, rules: SeverityRules) -> Severity:
    """How bad the roof in scope is, by the rules.

    Args:
        survey: that the reading was made of; its method sets a floor.
        reading: of the scope, by the same rules.
        rules: limits, floors and signs.

    Returns:
        A severity without an override.

    Source: common practice, none published; the limits are invented and data of the rules.
    """
    fired = (_by_share(reading, rules), *_floors(survey, reading, rules), *_frame_rules(reading, rules))
    tier = max((rule.tier for rule in fired if not rule.components), key=TIERS.index)
    return Severity(
        tier=tier,
        components=_component_tiers(tier, fired, rules.components),
        fired=tuple(sorted(fired, key=lambda rule: TIERS.index(rule.tier), reverse=True)),
        worked_tier=tier,
    )


def override(severity: Severity, tier: str, reason: str) -> Severity:
    """The same severity with another tier of the roof, by an estimator who says why.

    Components that a frame sign of their own has raised stay raised: whoever judges the roof milder has not explained that sign
    away for the part that it speaks about. Correcting the finding itself does.

    Args:
        severity: as graded; an earlier override is replaced.
        tier: one of `TIERS`.
        reason: at least 10 characters.

    Raises:
        SeverityError: an unknown tier, or no reason worth the name.
    """
    if tier not in TIERS:
        raise SeverityError(f"expected one of {', '.join(TIERS)}, not {tier!r}", field="tier", value=tier)
    if len(reason.strip()) < SHORTEST_REASON:
        raise SeverityError(f"expected a reason of at least {SHORTEST_REASON} characters", field="reason", value=reason)
    return replace(
        severity,
        tier=tier,
        components=_component_tiers(tier, severity.fired, tuple(severity.components)),
        override_reason=reason.strip(),
    )


def _component_tiers(tier: str, fired: tuple[FiredRule, ...], components: tuple[str, ...]) -> dict[str, str]:
    return {
        component: max([tier, *(rule.tier for rule in fired if component in rule.components)], key=TIERS.index)
        for component in components
    }


def _by_share(reading: SurveyReading, rules: SeverityRules) -> FiredRule:
    share = reading.weighted_share
    for entry in rules.by_share:
        if _below(share, entry.below):
            break
    checked = f"{100 * reading.checked_share:.0f} % of the roof was checked"
    reason = f"weighted share of damage {share:.3f}, below {entry.below:g}; {checked}"
    return FiredRule(entry.tier, reason, ())


def _floors(survey: Survey, reading: SurveyReading, rules: SeverityRules) -> list[FiredRule]:
    fired = []
    for floor in rules.floors:
        because = _floor_reason(floor, survey, reading, rules)
        if because:
            fired.append(FiredRule(floor.at_least, f"{floor.words}: {because}", ()))
    return fired


def _floor_reason(floor: Floor, survey: Survey, reading: SurveyReading, rules: SeverityRules) -> str:
    """What made a floor fire, or "" where it did not."""
    if floor.when == "sound_share_below":
        return f"{100 * reading.sound_share:.0f} %" if _below(reading.sound_share, floor.share) else ""
    if floor.when == "survey_method":
        return f"survey by {survey.method}" if survey.method in floor.methods else ""
    if floor.when == "marked_edge_or_ring":
        return ", ".join(words for words, condition in reading.damage_marks if condition in floor.conditions)
    return ", ".join(
        _words(finding)
        for finding in reading.findings
        if _damage(finding, rules) and rules.evidence[finding.kind].speaks_strongly_about() & set(floor.components)
    )


def _frame_rules(reading: SurveyReading, rules: SeverityRules) -> list[FiredRule]:
    """One rule for each frame sign, and one for the roof where signs in several places, or much damage beside, support it."""
    signs = [finding for finding in reading.findings if _is_frame_sign(finding, rules)]
    if not signs:
        return []
    fired = []
    for finding in signs:
        strongly = rules.evidence[finding.kind].speaks_strongly_about()
        raised = tuple(component for component in rules.components if component in strongly)
        if raised:
            fired.append(FiredRule("frame", f"sign of a damaged frame: {_words(finding)}", raised))
    places = {(finding.section, " ".join(finding.place.casefold().split())) for finding in signs}
    if len(places) >= rules.frame_places:
        named = ", ".join(_words(finding) for finding in signs)
        fired.append(FiredRule("frame", f"signs of a damaged frame in {len(places)} places: {named}", ()))
    if not _below(reading.weighted_share, rules.frame_weighted_share):
        share = f"{reading.weighted_share:.3f}, at or above {rules.frame_weighted_share:g}"
        fired.append(FiredRule("frame", f"a sign of a damaged frame and a weighted share of {share}", ()))
    return fired


def _is_frame_sign(finding: Finding, rules: SeverityRules) -> bool:
    amount = amount_of(finding, rules.evidence[finding.kind])
    return any(sign.evidence == finding.kind and not _below(amount, sign.least.canonical) for sign in rules.frame_signs)


def _damage(finding: Finding, rules: SeverityRules) -> bool:
    return rules.evidence[finding.kind].direction == "raises"


def _below(value: float, limit: float) -> bool:
    """Whether a value is below a limit by more than what floats lose on the way."""
    return value < limit and not math.isclose(value, limit, rel_tol=1e-9)


def _words(finding: Finding) -> str:
    return f"{finding.kind.replace('_', ' ')} at {finding.place} ({finding.section})"
