"""Is a finding of a known kind, measured as its kind wants it, and no more than the coach has?"""

from collections import defaultdict

from costbase.calc.errors import CalculationError
from costbase.calc.formula import Number
from costbase.calc.measures import MEASURES
from costbase.calc.units import show
from quotes.calc.geometry import FOOT, Roof, nearest
from quotes.calc.survey.faults import BadPlaceError, ExtentError, MoreThanThereIsError, UnknownFindingError
from quotes.calc.survey.grid import place_of
from quotes.calc.survey.marks import Finding, Survey
from quotes.calc.survey.rule_parts import EvidenceKind
from quotes.calc.survey.rules import SeverityRules

# No coach has more of anything; a larger figure is a slip or a wrong unit.
_GREATEST = {"length": 100.0 * FOOT, "area": 600.0 * FOOT * FOOT, "count": 1000.0}
_EXAMPLE = {"length": "its length", "area": "its area", "count": "how many"}
# Measures of which the coach's record says how many there are at most.
_RECORDED = {"spun_nut_count": "captive_nuts", "wiring_repair_count": "wiring_runs"}


def finding_faults(finding: Finding, rules: SeverityRules) -> list[CalculationError]:
    """The faults of one finding apart from its section and place; fields are those of the finding."""
    kind = rules.evidence.get(finding.kind)
    if kind is None:
        words = f"unknown kind of finding {finding.kind!r}{nearest(finding.kind, list(rules.evidence))}"
        return [UnknownFindingError(words, field="kind", value=finding.kind)]
    faults = _extent_faults(finding, kind)
    if kind.needs_cells and not place_of(finding.place).cells:
        words = f"expected cells as the place of {kind.words()}, such as cells 3D, 4D"
        faults.append(BadPlaceError(words, field="place", value=finding.place))
    return faults


def amount_of(finding: Finding, kind: EvidenceKind) -> float:
    """How much a checked finding counts for: its extent, or what the rules say for one without."""
    if finding.extent is not None:
        return finding.extent
    return kind.without_extent.canonical if kind.without_extent is not None else 0.0


def total_faults(survey: Survey, roof: Roof, rules: SeverityRules) -> list[CalculationError]:
    """A fault for each section on which findings add to more than the coach's record or a measure allows."""
    totals: dict[tuple[str, str], float] = defaultdict(float)
    for finding in survey.findings:
        kind = rules.evidence[finding.kind]
        if kind.measure:
            totals[finding.section, kind.measure] += amount_of(finding, kind)
    faults: list[CalculationError] = []
    for (label, slug), total in totals.items():
        measure = MEASURES[slug]
        assert isinstance(measure.kind, Number)  # The rules were checked to feed numbers only.
        most = measure.kind.high
        if slug in _RECORDED:
            most = float(getattr(roof.section(label), _RECORDED[slug]))
        if total > most * (1.0 + 1e-9):
            faults.append(
                MoreThanThereIsError(
                    f"findings on {label!r} add to a {slug.replace('_', ' ')} of {show(total, measure.unit, 2)}, but there "
                    f"can be {show(most, measure.unit, 2)}: correct the findings or the coach's record",
                    field="findings",
                    value=total,
                )
            )
    return faults


def _extent_faults(finding: Finding, kind: EvidenceKind) -> list[CalculationError]:
    extent = finding.extent
    if extent is None:
        if not kind.extent_needed:
            return []
        words = f"expected {_EXAMPLE[kind.extent]} for {kind.words()}: {kind.how}"
        return [ExtentError(words, field="extent", value=None)]
    if kind.extent == "none":
        words = f"expected no extent for {kind.words()}: {kind.how}"
        return [ExtentError(words, field="extent", value=extent)]
    if not 0.0 < extent <= _GREATEST[kind.extent]:
        unit = {"length": "ft", "area": "ft2", "count": "each"}[kind.extent]
        words = f"expected a {kind.extent} above 0 and up to {show(_GREATEST[kind.extent], unit)}"
        return [ExtentError(words, field="extent", value=extent)]
    if kind.extent == "count" and extent != int(extent):
        return [ExtentError("expected a whole number", field="extent", value=extent)]
    return []
