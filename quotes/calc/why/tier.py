"""Why is this roof of this severity tier?"""

from quotes.calc.why.said import survey_words
from quotes.calc.why.steps import Context, Why, WhyStep, number


def why_tier(context: Context) -> Why:
    """Every rule that fired, the components with a tier of their own, the roof's tier, and what an estimator set against it."""
    reading, severity = context.quote.reading, context.quote.severity
    rules, survey = context.cost_base.severity.edition.words(), survey_words(context.inputs.survey)
    steps = [
        WhyStep("how the roof was surveyed", context.inputs.survey.method, "", survey),
        WhyStep("share of the deck in scope that was checked", number(reading.checked_share * 100), "%", survey),
        WhyStep("share of it that was checked and found sound", number(reading.sound_share * 100), "%", survey),
        WhyStep("weighted share of damage in what was checked", number(reading.weighted_share * 100), "%", survey),
    ]
    for rule in severity.fired:
        only = f" (only for {_names(rule.components)})" if rule.components else ""
        steps.append(WhyStep(f"{rule.reason}{only}", rule.tier, "", rules))
    for slug, tier in severity.components.items():
        if tier != severity.tier:
            steps.append(WhyStep(f"tier of {_names((slug,))} alone", tier, "", rules))
    steps.append(WhyStep("tier of the roof: the highest of the rules for all of it", severity.worked_tier, "", rules))
    if severity.override_reason:
        steps.append(
            WhyStep("tier of the roof: set by the estimator", severity.tier, "", f"estimator: {severity.override_reason}")
        )
    return Why("tier", severity.tier, tuple(steps))


def _names(components: tuple[str, ...]) -> str:
    return ", ".join(slug.replace("_", " ") for slug in components)
