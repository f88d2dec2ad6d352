"""Who gave a measure its value: coach, survey, plan or estimator?

The same layers as in `quotes/calc/measured.py`, one over the other, told only when somebody asks.
"""

from dataclasses import dataclass

from costbase.calc.measures import MEASURES
from quotes.calc.measured import planned
from quotes.calc.survey import Survey
from quotes.calc.takeoff import Value
from quotes.calc.why.steps import Context, measure_value

_NOTHING = "nothing found"


@dataclass(frozen=True, slots=True)
class Saying:
    """A value that somebody gave a measure, canonical, and who it was."""

    value: Value
    source: str


def said(context: Context, slug: str, label: str) -> tuple[Saying, ...]:
    """Everything that survey, plan and estimator said of a measure, in that order; the last holds.

    Args:
        context: the quote, worked out again.
        slug: of a measure.
        label: of a section in scope, or "" for a measure of the whole quote.
    """
    level = MEASURES[slug].level
    place = label if level == "section" else ""
    inputs, plan = context.inputs, context.cost_base.plan
    sayings = []
    if place:
        seen = context.quote.reading.sections[place].values
        if slug in seen:
            sayings.append(Saying(seen[slug], f"{survey_words(inputs.survey)}: {_found_words(context, slug, place)}"))
    sets = planned(plan, level, inputs.roof.section(place) if place else None)
    if slug in sets:
        sayings.append(Saying(sets[slug], plan.edition.words()))
    if slug == "skin":
        sayings.append(Saying(inputs.skin, "estimator: the skin that was chosen"))
    for entry in inputs.entered:
        if entry.slug == slug and entry.section in ("", place):
            reason = f" ({entry.reason})" if entry.reason else ""
            sayings.append(Saying(entry.value, f"estimator: {entry.text}{reason}"))
    return tuple(sayings)


def source_of(slug: str, sayings: tuple[Saying, ...]) -> str:
    """The source of the value that holds, with what it took the place of where that was another one."""
    *before, holds = sayings
    # A survey that found nothing contradicts nobody.
    against = [one for one in before if one.value != holds.value and not one.source.endswith(_NOTHING)]
    others = [f"{' '.join(measure_value(slug, one.value)).strip()}, {one.source}" for one in against]
    return holds.source + (f"; in place of {'; '.join(others)}" if others else "")


def survey_words(survey: Survey) -> str:
    """A survey as a source: its day and how it was made, e.g. ``survey of 2026-05-30, walked``."""
    return f"survey of {survey.on}, {survey.method}"


def _found_words(context: Context, slug: str, label: str) -> str:
    actions = context.quote.reading.actions
    found = [f"{one.text} ({one.source})" for one in actions if (one.section, one.measure) == (label, slug)]
    return "; ".join(found) or _NOTHING
