"""What do findings, earlier repairs and meter readings of one span put in the base, exclude or warn about?"""

from collections import defaultdict
from dataclasses import dataclass

from costbase.calc.measures import MEASURES
from costbase.calc.units import show
from quotes.calc.geometry import Roof, Section, Span
from quotes.calc.survey.checked_findings import amount_of
from quotes.calc.survey.grid import place_in, place_of
from quotes.calc.survey.marks import Finding, Reading, Repair, Survey
from quotes.calc.survey.notes import Mark, SurveyAction
from quotes.calc.survey.rules import SeverityRules

# Measures that findings and repairs can feed; each is 0 (or no) until something does.
FOUND_AMOUNTS = (
    "spun_nut_count",
    "cap_crack_length",
    "vermin_zone_count",
    "mold_area",
    "wiring_repair_count",
    "added_trim_length",
    "old_coating_share",
)
FOUND_FLAGS = ("over_silicone",)


@dataclass(frozen=True, slots=True)
class BandedReading:
    """A meter reading with what its instrument's bands say; a void reading says nothing about the wood."""

    reading: Reading
    band: str
    words: str
    void: bool


@dataclass(frozen=True, slots=True)
class Found:
    """What findings, repairs and readings of one span say; the fields are as of a `SurveyReading`."""

    values: dict[str, float | bool]
    actions: tuple[SurveyAction, ...]
    bands: tuple[BandedReading, ...]
    conditions: tuple[str, ...]
    exclusions: tuple[str, ...]
    warnings: tuple[str, ...]


def found_in(survey: Survey, roof: Roof, span: Span, findings: tuple[Finding, ...], rules: SeverityRules) -> Found:
    """What was found in one span besides its marks.

    A coating or tape covers a section evenly as far as anybody knows: its share holds for a part of the
    section too. Layers one over the other cover the same place, but nobody can tell: shares add, up to the
    whole.

    Args:
        survey: passed `check_survey`.
        roof: passed `check_roof`.
        span: of the scope.
        findings: those that lie in the scope.
        rules: what each kind of finding feeds.
    """
    section = roof.section(span.section)
    own = [finding for finding in findings if finding.section == section.label]
    amounts: defaultdict[str, float] = defaultdict(float)
    flags: set[str] = set()
    actions: list[SurveyAction] = []
    for finding in own:
        _take_finding(finding, rules, amounts, flags, actions)
    for repair in survey.repairs:
        if repair.section == section.label:
            _take_repair(repair, amounts, flags, actions)
    suggested = _suggested(own, [r for r in survey.repairs if r.section == section.label], rules)
    bands = tuple(
        _banded(reading, section, rules)
        for reading in survey.readings
        if reading.section == section.label and place_in(section, span, place_of(reading.place))
    )
    return Found(
        values=_values(amounts, flags),
        actions=tuple(actions),
        bands=bands,
        conditions=tuple(condition for _, condition in suggested),
        exclusions=tuple(_exclusions(own, rules)),
        warnings=(*_hours_warnings(suggested), *_band_warnings(survey, section, bands, rules)),
    )


def _values(amounts: dict[str, float], flags: set[str]) -> dict[str, float | bool]:
    values: dict[str, float | bool] = dict.fromkeys(FOUND_AMOUNTS, 0.0)
    values |= dict.fromkeys(FOUND_FLAGS, False)
    values |= amounts
    values |= dict.fromkeys(flags, True)
    values["old_coating_share"] = min(amounts.get("old_coating_share", 0.0), 1.0)
    return values


# Findings ---------------------------------------------------------------------------------------------


def _take_finding(
    finding: Finding,
    rules: SeverityRules,
    amounts: defaultdict[str, float],
    flags: set[str],
    actions: list[SurveyAction],
) -> None:
    kind = rules.evidence[finding.kind]
    source = f"{finding.section}, {finding.place}: {kind.words()}"
    if kind.measure:
        amount = amount_of(finding, kind)
        amounts[kind.measure] += amount
        if amount:
            size = show(amount, MEASURES[kind.measure].unit, 2).removesuffix(" each")
            text = f"{kind.measure.replace('_', ' ')} {size}"
            actions.append(SurveyAction(text, source, finding.section, kind.measure))
    if kind.flag:
        flags.add(kind.flag)
        actions.append(SurveyAction(f"{kind.flag.replace('_', ' ')}: yes", source, finding.section, kind.flag))


def _exclusions(findings: list[Finding], rules: SeverityRules) -> list[str]:
    return [
        text.replace("{place}", f"{finding.place} ({finding.section})")
        for finding in findings
        if (text := rules.evidence[finding.kind].exclusion)
    ]


def _suggested(findings: list[Finding], repairs: list[Repair], rules: SeverityRules) -> list[tuple[str, str]]:
    """Where and why the work takes longer, with the condition of the work that stands for it.

    Screws through a vent cover or along a trim are no quantity of their own: somebody has to find them, back them out and close
    their holes while the skin comes off, which is what the condition multiplies.
    """
    by_finding = [
        (f"{finding.section}, {finding.place}: {kind.words()}", kind.condition)
        for finding in findings
        if (kind := rules.evidence[finding.kind]).condition
    ]
    by_repair = [
        (f"{repair.section}, earlier repair: {repair.kind.replace('_', ' ')}", condition)
        for repair in repairs
        if (condition := rules.repair_conditions.get(repair.kind, ""))
    ]
    return by_finding + by_repair


def _hours_warnings(suggested: list[tuple[str, str]]) -> list[str]:
    return [f"{where}: taking off takes longer, consider the condition {condition}" for where, condition in suggested]


# Earlier repairs --------------------------------------------------------------------------------------


def _take_repair(repair: Repair, amounts: defaultdict[str, float], flags: set[str], actions: list[SurveyAction]) -> None:
    name = repair.kind.replace("_", " ")
    if repair.chemistry != "none":
        name += f", {repair.chemistry}"
    source = f"{repair.section}, earlier repair: {name}"
    if repair.share is not None:
        amounts["old_coating_share"] += repair.share
        text = f"{show(100 * repair.share, 'each', 2).removesuffix(' each')} % of the skin is under it"
        actions.append(SurveyAction(text, source, repair.section, "old_coating_share"))
    if repair.length is not None:
        amounts["added_trim_length"] += repair.length
        text = f"{show(repair.length, 'ft', 2)} of added trim comes off"
        actions.append(SurveyAction(text, source, repair.section, "added_trim_length"))
    if repair.chemistry == "silicone":
        flags.add("over_silicone")
        text = "only silicone bonds to silicone"
        actions.append(SurveyAction(text, source, repair.section, "over_silicone"))


# Meter readings ---------------------------------------------------------------------------------------


def _banded(reading: Reading, section: Section, rules: SeverityRules) -> BandedReading:
    instrument = rules.instruments[reading.instrument]
    blind = reading.over_foil or section.old_skin in rules.capacitance_void_over
    if instrument.kind == "capacitance" and blind:
        over = "foil" if reading.over_foil else f"a skin of {section.old_skin}"
        return BandedReading(reading, "", f"void: taken over {over}, which the meter reads instead", void=True)
    band = instrument.band(reading.percent)
    return BandedReading(reading, band.name, band.words, void=False)


def _band_warnings(survey: Survey, section: Section, bands: tuple[BandedReading, ...], rules: SeverityRules) -> list[str]:
    marks: tuple[Mark, ...] = (*survey.cells, *survey.strips, *survey.rings)
    damaged = any(mark.section == section.label and mark.condition != "sound" for mark in marks)
    warnings = []
    for banded in bands:
        reading = banded.reading
        said = f"{section.label}, {reading.place}: {reading.percent:g} % by {reading.instrument}"
        if banded.void:
            warnings.append(f"{said}: {banded.words}")
        elif rules.instruments[reading.instrument].band(reading.percent).wet and not damaged:
            warnings.append(f"{said}: {banded.words}; yet nothing here is marked damp or worse")
    return warnings
