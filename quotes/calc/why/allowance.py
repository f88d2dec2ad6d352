"""Why is this much set aside for hidden work?"""

from costbase.calc.money import unit_price
from quotes.calc.contingency import ComponentSteps, SetAsideSteps, explain_set_aside
from quotes.calc.hidden import HiddenComponent, SectionExposure, exposure_formula
from quotes.calc.quote import exposures_of
from quotes.calc.why.measures import MeasureSteps
from quotes.calc.why.said import survey_words
from quotes.calc.why.steps import FINE_SHOWN, Context, Why, WhyStep, number

# Which marks carry each kind of exposure scale.
_MARKS = {
    "cells": "cells",
    "kept_cells": "cells",
    "edge_strips": "edge strips",
    "cap_strips": "cap strips",
    "ac_rings": "air-conditioner rims",
    "rings": "rims of openings",
}


def why_allowance(context: Context) -> Why:
    """The steps from exposures, chances and shares to the allowance, and on to the contingency and the reserve."""
    quote = context.quote
    told = set_aside_again(context)
    collected = MeasureSteps(context)
    for work, component in zip(quote.hidden, told.components, strict=True):
        if work.exposure > 0:
            _exposure_steps(collected, work)
            collected.steps += _component_steps(context, work, component)
    if not any(work.exposure > 0 for work in quote.hidden):
        text = "this scope exposes nothing that could be rotten unseen"
        collected.steps.append(WhyStep(text, context.money(quote.totals.allowance), context.currency, _plan(context)))
    return Why("allowance", quote.totals.allowance, (*collected.steps, *contingency_steps(context, told)))


def _name(context: Context, work: HiddenComponent) -> str:
    """A component, with its construction where sections of several have it."""
    same = [other for other in context.quote.hidden if other.component.slug == work.component.slug]
    return work.component.name if len(same) == 1 else f"{work.component.name} ({work.construction})"


def _plan(context: Context) -> str:
    return context.cost_base.plan.edition.words()


def set_aside_again(context: Context) -> SetAsideSteps:
    """What is set aside, worked out again with its steps."""
    quote, rule = context.quote, context.cost_base.rule
    return explain_set_aside(
        context.points,
        exposures_of(quote.hidden),
        basis=rule.price_basis,
        level=rule.confidence_level,
        base=quote.visible.base,
        factors=context.factors,
        sd_survey=context.rules.survey_spread[context.inputs.survey.method],
        currency=context.cost_base.currency,
    )


def _exposure_steps(collected: MeasureSteps, work: HiddenComponent) -> None:
    component, context = work.component, collected.context
    source = component.edition.words()
    for part in work.sections:
        words = f"{_name(context, work)}: what the work exposes"
        collected.formula(words, exposure_formula(component), part.section, component.unit, source)
        if part.scale != 1.0:
            collected.steps.append(_scale_step(context, work, part))
    exposed = [part for part in work.sections if part.exposure > 0]
    if len(exposed) > 1 or exposed[0].scale != 1.0:
        text = " + ".join(_of_section(part) for part in exposed)
        collected.steps.append(WhyStep(f"{_name(context, work)}: exposure, {text}", number(work.exposure), component.unit, ""))


def _of_section(part: SectionExposure) -> str:
    return f"{number(part.whole)} x {number(part.scale)}" if part.scale != 1.0 else number(part.whole)


def _scale_step(context: Context, work: HiddenComponent, part: SectionExposure) -> WhyStep:
    text = f"{_name(context, work)}: share of it that sound {_MARKS[work.component.scaled_by]} of section {part.section} leave"
    source = f"{survey_words(context.inputs.survey)}; {context.cost_base.severity.edition.words()}"
    return WhyStep(text, number(part.scale), "share", source)


def _component_steps(context: Context, work: HiddenComponent, told: ComponentSteps) -> list[WhyStep]:
    component, name, currency = work.component, _name(context, work), context.currency
    source = f"{component.edition.words()}; {context.cost_base.tiers.edition.words()}"
    found = number(told.chance_found * 100)
    product = " x ".join(
        [
            f"{number(told.chance * 100)} %",
            f"{number(told.share * 100)} %",
            number(told.exposure),
            number(told.unit_price, FINE_SHOWN),
        ]
    )
    return [
        WhyStep(f"{name}: chance that any of it is rotten{_from(context, work, 0)}", number(told.chance * 100), "%", source),
        WhyStep(f"{name}: mean share rotten when it is{_from(context, work, 1)}", number(told.share * 100), "%", source),
        WhyStep(
            f"{name}: agreed unit price",
            str(unit_price(told.unit_price)),
            f"{currency}/{component.unit}",
            "why: unit price of this component",
        ),
        WhyStep(
            f"{name}: set-up, once when any is found", context.money(told.set_up), currency, "why: unit price of this component"
        ),
        WhyStep(f"{name}: {product} + {found} % x set-up", context.money(told.exact_expected), currency, ""),
        WhyStep(
            f"{name}: the same over the {context.points.count} sample points", context.money(told.sample_expected), currency, ""
        ),
        WhyStep(f"{name}: its part of the allowance, so that all parts add up", context.money(told.allowance), currency, ""),
    ]


def _from(context: Context, work: HiddenComponent, which: int) -> str:
    """Where a chance (0) or a mean share (1) comes from: the component's own table, or its middle figure moved by tier."""
    component, tier = work.component, work.tier
    if component.table.get(work.construction, {}).get(tier) is not None:
        return f", from its own table for {work.construction} roofs at tier {tier}"
    middle = (component.chance_mid, component.share_mid)[which]
    shift = (context.cost_base.tiers.chance_logit, context.cost_base.tiers.share_logit)[which][tier]
    return f", {number(middle * 100)} % in the middle of the tiers moved by {number(shift)} (logit) to tier {tier}"


def contingency_steps(context: Context, told: SetAsideSteps) -> list[WhyStep]:
    """The steps from the mean over the sample points to allowance, contingency and reserve."""
    rule, currency, result = context.cost_base.rule, context.currency, told.result
    level, source = f"{number(told.level_used * 100)} %", rule.edition.words()
    steps = [
        WhyStep(f"mean of the hidden work over {told.points} sample points", context.money(told.mean), currency, ""),
        WhyStep("share of the points at which nothing is found", number(told.chance_nothing_found * 100), "%", ""),
    ]
    if told.factor != 1.0:
        record = f"record: {number(context.factors.theta)} on the log scale, spread {number(context.factors.sigma)}"
        steps.append(WhyStep("this shop's record on such work", number(told.factor), "times", record))
    steps.append(WhyStep("allowance: that mean, rounded", context.money(result.allowance), currency, ""))
    text = f"value number {told.rank} of {told.points} in rising order, for {level}"
    if told.rank is None:
        text = f"final cost that {level} stay below, less the expected visible work"
    steps.append(WhyStep(text, context.money(told.at_level), currency, source))
    larger = "the mean" if told.decided_by == "mean" else "the value at the level"
    steps.append(WhyStep(f"contingency: the larger of the two, {larger}", context.money(result.contingency), currency, ""))
    steps.append(WhyStep("reserve: contingency less allowance", context.money(result.reserve), currency, ""))
    steps.append(WhyStep("share of roofs like this that stay inside", number(told.share_within * 100), "%", ""))
    return steps
