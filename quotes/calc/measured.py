"""Which value has every measure of this quote?

Coach, survey, plan and estimator are laid over each other in that order: what the estimator enters holds against all others.
Then the sheets are laid out and the derived measures follow. Who said what is told by `quotes/calc/why/said.py`.
"""

from dataclasses import dataclass

from costbase.calc.cost_base import CostBase, ScopePlan
from costbase.calc.errors import CalculationError, CalculationFaults, raise_faults
from costbase.calc.measures import MEASURES, check_values, derive, over_sections
from quotes.calc.boards import Boards, lay_boards
from quotes.calc.geometry import Roof, Scope, Section, Span, measure_scope
from quotes.calc.inputs import Entered, QuoteInputs
from quotes.calc.sheets import Damage
from quotes.calc.skin_stocks import Skins, lay_skins
from quotes.calc.survey import SurveyReading
from quotes.calc.takeoff import Value, Values, compile_assembly

SLIDE_ROOM = "slide_room"
# Said by choosing a skin, a coach or a plan; a second saying of the same thing could contradict the first.
_NOT_ENTERED = frozenset({"derived", "coach"})
_CHOSEN_ELSEWHERE = frozenset({"skin"})


class PlanMeasureError(CalculationError):
    """A measure that was entered where it cannot stand."""

    code = "bad_entry"


@dataclass(frozen=True, slots=True)
class Measured:
    """The measures of every section in scope by label, each with those of the quote, and the measures of the whole quote.

    `boards` says how the decks are laid, `skins` how the new skins are.
    """

    sections: dict[str, Values]
    whole: Values
    boards: Boards
    skins: Skins

    def sizes(self) -> dict[str, tuple[tuple[str, int], ...]]:
        """What is bought in place of a board or skin that assemblies need: by its slug, sizes with their sheets or shares."""
        boards = {layout.material: layout.plan.counts for layout in self.boards.layouts}
        return boards | {plan.needed: ((plan.stock, 1),) for plan in self.skins.plans}


def usual_scope(roof: Roof, plan: ScopePlan, cost_base: CostBase) -> Scope:
    """Every section that is no slide room, or the slide rooms alone where the plan is driven by their area."""
    about_slides = any(
        "slide_roof_area" in compile_assembly(cost_base.assemblies[slug]).driver.inputs
        for slug in plan.assemblies
        if slug in cost_base.assemblies
    )
    return tuple(
        Span(section.label, 0.0, section.length) for section in roof.sections if (section.kind == SLIDE_ROOM) == about_slides
    )


def measure(inputs: QuoteInputs, scope: Scope, reading: SurveyReading, cost_base: CostBase) -> Measured:
    """Every measure of the quote, canonical.

    Args:
        inputs: of the quote.
        scope: the spans that are worked on, at least one.
        reading: of the survey over the same spans.
        cost_base: its plan sets measures.

    Raises:
        PlanMeasureError, MeasureError: an entered measure that does not fit, all of them at once.
        LayoutError: a board whose rules cannot be kept on this roof.
    """
    _check_entries(inputs.entered, scope)
    plan = cost_base.plan
    quote = derive("quote", {"skin": inputs.skin, **planned(plan, "quote"), **_entered(inputs, "quote", "")})
    said: dict[str, Values] = {
        part.label: {
            **quote,
            **part.values,
            **reading.sections[part.label].values,
            **planned(plan, "section", inputs.roof.section(part.label)),
            **_entered(inputs, "section", part.label),
        }
        for part in measure_scope(inputs.roof, scope)
    }
    boards = lay_boards(said, scope, _damage(reading), inputs, cost_base)
    laid = {label: {**values, **boards.measures[label]} for label, values in said.items()}
    skins = lay_skins(laid, inputs, cost_base)
    # What the estimator enters holds against what was planned.
    planned_too: dict[str, Values] = {label: {**skins.measures.get(label, {}), **values} for label, values in laid.items()}
    sections: dict[str, Values] = {label: {**quote, **derive("section", values)} for label, values in planned_too.items()}
    return Measured(sections, {**quote, **over_sections(list(sections.values()))}, boards, skins)


def _damage(reading: SurveyReading) -> dict[str, tuple[Damage, ...]]:
    return {
        label: tuple(Damage(place.start, place.end, place.near, place.far) for place in section.damaged)
        for label, section in reading.sections.items()
    }


def planned(plan: ScopePlan, level: str, section: Section | None = None) -> dict[str, Value]:
    """The measures of a level that a plan sets; no share of the deck where the section has none."""
    sets: dict[str, Value] = {slug: value for slug, value in plan.sets.items() if MEASURES[slug].level == level}
    if section is not None and section.deck == "none":
        # A skin that lies straight on its frame has no board to take up, whatever the plan does to boards.
        sets.pop("deck_replaced_share", None)
    return sets


def _entered(inputs: QuoteInputs, level: str, label: str) -> dict[str, Value]:
    return {
        entry.slug: entry.value
        for entry in inputs.entered
        if MEASURES[entry.slug].level == level and entry.section in ("", label)
    }


def _check_entries(entered: tuple[Entered, ...], scope: Scope) -> None:
    faults: list[CalculationError] = []
    labels = [span.section for span in scope]
    for at, entry in enumerate(entered):
        fault = _place_fault(entry, labels) or _again_fault(entry, entered[:at]) or _value_fault(entry)
        if fault is not None:
            faults.append(fault.under(f"measures/{at}"))
    raise_faults(faults)


def _place_fault(entry: Entered, labels: list[str]) -> CalculationError | None:
    """What is wrong with saying this measure at all, or of this section."""
    measure = MEASURES.get(entry.slug)
    if measure is None or measure.source in _NOT_ENTERED or entry.slug in _CHOSEN_ELSEWHERE:
        return PlanMeasureError(
            f"'{entry.slug}' is no measure that can be entered; give what the survey or the estimator says",
            field="slug",
            value=entry.slug,
        )
    if measure.level == "quote" and entry.section:
        return PlanMeasureError(f"'{entry.slug}' is a measure of the whole quote; leave the section out", field="section")
    if measure.level == "section" and entry.section and entry.section not in labels:
        return PlanMeasureError(f"section must be one in scope: {', '.join(labels)}", field="section", value=entry.section)
    if measure.level == "section" and not entry.section and len(labels) > 1 and measure.combine == "sum":
        return PlanMeasureError(f"say which section '{entry.slug}' is of: {', '.join(labels)}", field="section")
    return None


def _again_fault(entry: Entered, before: tuple[Entered, ...]) -> CalculationError | None:
    """The same measure of the same section, or of all and of one, said twice: nobody could tell which one holds."""
    for other in before:
        if other.slug == entry.slug and (other.section == entry.section or "" in (other.section, entry.section)):
            return PlanMeasureError(f"'{entry.slug}' is entered twice; enter it once", field="slug", value=entry.slug)
    return None


def _value_fault(entry: Entered) -> CalculationError | None:
    try:
        check_values({entry.slug: entry.value})
    except CalculationFaults as faults:
        return faults.faults[0]
    except CalculationError as fault:
        fault.field = "value"
        return fault
    return None
