"""What will this coach cost, line by line, and how much is set aside for what nobody can see?

`compute_quote` is the recipe, top to bottom: scope, survey, measures, tier, take-off, labour, materials, visible work, hidden
work, what is set aside, totals, days. Everything it needs comes in as frozen values.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError
from costbase.calc.measures import MEASURES, SKINS
from costbase.calc.money import Currency
from quotes.calc.cautions import cautions
from quotes.calc.contingency import (
    CostFactors,
    Exposure,
    SamplePoints,
    SetAside,
    counted_whole,
    set_aside,
)
from quotes.calc.days import Days, days
from quotes.calc.geometry import Scope, check_roof, check_scope
from quotes.calc.hidden import HiddenComponent, hidden_components, in_order
from quotes.calc.inputs import QuoteInputs
from quotes.calc.labour import ChosenCondition, Multiplier, chosen, labour_lines
from quotes.calc.measured import Measured, measure, usual_scope
from quotes.calc.packing import pack_needs
from quotes.calc.pricing import Visible, material_lines, visible_work
from quotes.calc.severity import Severity, SeverityRules, grade, override
from quotes.calc.survey import SurveyReading, read_survey
from quotes.calc.takeoff import Take, compile_assembly, take_off
from quotes.calc.totals import Totals, total
from quotes.calc.warnings import bond_warnings, stock_warnings

PROVISIONAL_METHODS = frozenset({"told", "photographs"})
# What floats lose on the way to a share must not make it too wet.
_TOLERANCE = 1e-9


class PlanError(CalculationError):
    """A scope plan, skin or option that this cost base or this roof does not allow."""

    code = "plan_refused"


class NothingToDoError(CalculationError):
    """The plan comes to no line at all on this roof."""

    code = "nothing_to_do"


@dataclass(frozen=True, slots=True)
class Quote:
    """A worked quote. `multipliers` are the conditions that hold; `warnings` and `exclusions` are for people to read."""

    currency: Currency
    scope: Scope
    reading: SurveyReading
    measured: Measured
    severity: Severity
    takes: tuple[Take, ...]
    multipliers: tuple[Multiplier, ...]
    visible: Visible
    hidden: tuple[HiddenComponent, ...]
    set_aside: SetAside
    totals: Totals
    days: Days
    provisional: bool
    warnings: tuple[str, ...]
    exclusions: tuple[str, ...]
    cautions: tuple[str, ...]


def compute_quote(
    inputs: QuoteInputs, cost_base: CostBase, rules: SeverityRules, factors: CostFactors, points: SamplePoints
) -> Quote:
    """Works a quote out: every amount rounded where `costbase.calc.money.ROUNDED_WHERE` says, in the shop's currency.

    Args:
        inputs: roof, survey, plan and what the estimator entered.
        cost_base: everything the shop charges and buys on the day.
        rules: severity rules in force on the day.
        factors: the shop's record; NO_HISTORY where there is none.
        points: the fixed sample points.

    Raises:
        CalculationError: one fault of the inputs or the cost base, or CalculationFaults with all of them.
    """
    odd_sizes = check_roof(inputs.roof)
    scope = inputs.scope or _usual_scope(inputs, cost_base)
    odd_ends = check_scope(inputs.roof, scope)
    reading = read_survey(inputs.survey, inputs.roof, scope, rules)
    _refuse(inputs, reading, cost_base)
    measured = measure(inputs, scope, reading, cost_base)
    severity = _graded(inputs, reading, rules)
    takes = _take_off(inputs, measured, cost_base)
    multipliers = chosen(cost_base.conditions, _conditions(inputs, reading, measured, cost_base, rules))
    visible = _visible(takes, multipliers, measured, cost_base)
    hidden = hidden_components(measured, reading, severity, cost_base)
    aside = set_aside(
        points,
        exposures_of(hidden),
        basis=cost_base.rule.price_basis,
        level=cost_base.rule.confidence_level,
        base=visible.base,
        factors=factors,
        sd_survey=rules.survey_spread[inputs.survey.method],
        currency=cost_base.currency,
    )
    return Quote(
        currency=cost_base.currency,
        scope=scope,
        reading=reading,
        measured=measured,
        severity=severity,
        takes=takes,
        multipliers=multipliers,
        visible=visible,
        hidden=hidden,
        set_aside=aside,
        totals=total(visible, aside, hidden, cost_base),
        days=days(visible, takes, measured, hidden, aside.contingency, cost_base),
        provisional=inputs.survey.method in PROVISIONAL_METHODS,
        warnings=(
            *odd_sizes,
            *odd_ends,
            *reading.warnings,
            *stock_warnings(takes, measured, cost_base.materials),
            *bond_warnings(takes, inputs.survey, measured, cost_base.materials),
        ),
        exclusions=(*reading.exclusions, *_exclusions(takes, cost_base)),
        cautions=cautions(measured.whole, takes),
    )


def _usual_scope(inputs: QuoteInputs, cost_base: CostBase) -> Scope:
    scope = usual_scope(inputs.roof, cost_base.plan, cost_base)
    if not scope:
        kinds = ", ".join(dict.fromkeys(section.kind.replace("_", " ") for section in inputs.roof.sections))
        raise PlanError(
            f"plan '{cost_base.plan.slug}' is about another kind of section than the roof has ({kinds}); "
            "choose another plan or say the scope",
            field="plan",
            value=inputs.plan,
        )
    return scope


def _refuse(inputs: QuoteInputs, reading: SurveyReading, cost_base: CostBase) -> None:
    """Refuses a plan or skin that does not exist, and a plan that this roof is too wet for."""
    plan = cost_base.plan
    if inputs.plan != plan.slug:
        raise PlanError(f"the cost base is of plan '{plan.slug}', not '{inputs.plan}'", field="plan", value=inputs.plan)
    if inputs.skin not in SKINS:
        raise PlanError(f"skin must be one of {', '.join(SKINS)}", field="skin", value=inputs.skin)
    above = plan.refuse_above_wet_share
    if above is not None and reading.wet_share > above * (1.0 + _TOLERANCE):
        raise PlanError(
            f"'{plan.slug}' is refused: {reading.wet_share:.0%} of the roof is wet and the plan allows {above:.0%}; "
            "choose a plan that opens the roof",
            field="plan",
            value=inputs.plan,
        )


def _graded(inputs: QuoteInputs, reading: SurveyReading, rules: SeverityRules) -> Severity:
    severity = grade(inputs.survey, reading, rules)
    if inputs.override is None:
        return severity
    return override(severity, inputs.override.tier, inputs.override.reason)


def _conditions(
    inputs: QuoteInputs, reading: SurveyReading, measured: Measured, cost_base: CostBase, rules: SeverityRules
) -> tuple[ChosenCondition, ...]:
    """The conditions a person chose, those that findings suggest, and those that follow from a measure.

    Silicone on the seams is scraped for longer and added trim hides screws, whether or not somebody thought of it. What a
    person chose holds against what follows by itself and cannot hold beside it.
    """
    picked = {pick.slug: pick for pick in inputs.conditions}
    by_itself = _found_conditions(inputs, reading, rules)
    for condition in cost_base.conditions.values():
        if condition.follows and measured.whole.get(condition.follows):
            by_itself.setdefault(condition.slug, f"follows from {condition.follows.replace('_', ' ')}")
    # By slug: a kept cost base comes back with its entries in another order.
    for slug, reason in sorted(by_itself.items()):
        in_force = cost_base.conditions.get(slug)
        if in_force is None:
            continue
        against = in_force.excludes | {s for s, other in cost_base.conditions.items() if slug in other.excludes}
        if not against & set(picked):
            picked.setdefault(slug, ChosenCondition(slug, reason))
    return tuple(picked.values())


def _found_conditions(inputs: QuoteInputs, reading: SurveyReading, rules: SeverityRules) -> dict[str, str]:
    """Conditions that findings and earlier repairs in scope suggest, each with all its reasons."""
    found = [(rules.evidence[f.kind].condition, f"{f.kind}, {f.place} ({f.section})") for f in reading.findings]
    found += [
        (rules.repair_conditions.get(repair.kind, ""), f"earlier repair: {repair.kind} ({repair.section})")
        for repair in inputs.survey.repairs
        if repair.section in reading.sections
    ]
    words: dict[str, list[str]] = {}
    for slug, reason in found:
        if slug:
            words.setdefault(slug, []).append(reason.replace("_", " "))
    return {slug: f"found by the survey: {'; '.join(reasons)}" for slug, reasons in words.items()}


def _take_off(inputs: QuoteInputs, measured: Measured, cost_base: CostBase) -> tuple[Take, ...]:
    plan = cost_base.plan
    assemblies = [_assembly(cost_base, slug, "plan") for slug in plan.assemblies]
    for at, slug in enumerate(inputs.options):
        assembly = _assembly(cost_base, slug, f"options/{at}")
        if assembly.kind != "option":
            raise PlanError(f"'{slug}' is no option; it belongs to a plan or is priced when found", field=f"options/{at}")
        if assembly not in assemblies:
            assemblies.append(assembly)
    takes = take_off(
        assemblies,
        measured.sections,
        measured.whole,
        quantities={slug: float(share) for slug, share in plan.quantities.items()},
    )
    _refuse_nothing(assemblies, takes, cost_base)
    return takes


def _refuse_nothing(assemblies: Sequence[Assembly], takes: Sequence[Take], cost_base: CostBase) -> None:
    """Refuses a plan without work, and an option that is sold, by the plan or beside it, and comes to nothing."""
    plan = cost_base.plan
    there = {take.assembly.slug for take in takes}
    for assembly in assemblies:
        if assembly.kind == "option" and assembly.slug not in there:
            raise PlanError(
                f"option '{assembly.slug}' comes to nothing; enter the measure that it is driven by: {assembly.driver}",
                field="plan" if assembly.slug in plan.assemblies else "options",
                value=assembly.slug,
            )
    if not takes:
        driven = [name for assembly in assemblies for name in compile_assembly(assembly).driver.inputs]
        wanted = dict.fromkeys(name for name in driven if MEASURES[name].source == "estimator")
        hint = f"; enter {' or '.join(wanted)}" if wanted else ""
        raise NothingToDoError(f"plan '{plan.slug}' comes to no work on this roof{hint}", field="plan", value=plan.slug)


def _assembly(cost_base: CostBase, slug: str, field: str) -> Assembly:
    assembly = cost_base.assemblies.get(slug)
    if assembly is None:
        raise PlanError(f"assembly '{slug}' is not in force on the day", field=field, value=slug)
    return assembly


def _visible(takes: Sequence[Take], multipliers: Sequence[Multiplier], measured: Measured, cost_base: CostBase) -> Visible:
    labour = labour_lines(takes, cost_base.trades, cost_base.conditions, multipliers, cost_base.currency)
    by_use = cost_base.rule.stock_billing == "use"
    needs = pack_needs(takes, cost_base.materials, stock_by_use=by_use, sizes=measured.sizes())
    return visible_work(labour, material_lines(needs, cost_base), cost_base)


def exposures_of(works: Sequence[HiddenComponent]) -> tuple[Exposure, ...]:
    """What the contingency has to know of the hidden components, in their order.

    A component that stands in sections of two constructions comes in two parts with one set-up, charged once: with the part
    that is found whenever the other one is, since both follow the same column and that part's chance is the greater.
    """
    parts = tuple(_exposure_of(work) for work in works)
    charged: dict[tuple[str, tuple[str, ...]], int] = {}
    for at, (work, part) in enumerate(zip(works, parts, strict=True)):
        key = (work.component.slug, work.cost.assemblies)
        if part.exposure > 0 and (key not in charged or _found(part) > _found(parts[charged[key]])):
            charged[key] = at
    carriers = set(charged.values())
    return tuple(
        part if at in carriers or not part.set_up else replace(part, set_up=Decimal(0)) for at, part in enumerate(parts)
    )


def _found(part: Exposure) -> float:
    """The chance that anything of it is found."""
    return part.chance * part.share if part.each else part.chance


def _exposure_of(work: HiddenComponent) -> Exposure:
    component = work.component
    return Exposure(
        component=component.slug,
        column=component.column,
        exposure=work.exposure,
        unit_price=work.cost.price,
        set_up=work.cost.set_up,
        chance=work.chance,
        share=work.share,
        phi=component.phi,
        load=component.load,
        each=counted_whole(component.unit, work.exposure),
        patch=component.patch,
    )


def _exclusions(takes: Sequence[Take], cost_base: CostBase) -> tuple[str, ...]:
    """What this price does not hold, in words for the owner."""
    sold = {take.assembly.slug for take in takes}
    words = [
        f"{component.name}: looked at and reported, not in this price"
        for component in in_order(cost_base.components)
        if component.exposure.strip() == "0" and not any(sold & set(repair.assemblies) for repair in component.repairs)
    ]
    if not cost_base.plan.opens:
        words.append("Not looked under: this work leaves the roof closed, so nothing is said about what is beneath")
    return tuple(words)
