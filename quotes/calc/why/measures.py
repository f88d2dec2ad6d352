"""Where does a measure of this quote come from?

A measure is explained once in an answer, before the first step that uses it: what coach, survey, plan or estimator said, the
geometry of a section, the layout of the deck, or the formula it is derived by, down to what was said.
"""

from costbase.calc.formula import Formula, Step
from costbase.calc.measures import MEASURES, formula_of
from quotes.calc.geometry import Span, explain_geometry
from quotes.calc.takeoff import Value, Values
from quotes.calc.why import skins
from quotes.calc.why.boards import SLUGS, board_steps, starts_from
from quotes.calc.why.said import said, source_of
from quotes.calc.why.skins import planned_skin
from quotes.calc.why.steps import Context, WhyStep, in_entry_unit, measure_value, number

_TOGETHER = {"sum": "all sections together", "most": "the most of any section", "any": "in any section"}
_RECORDED = "the coach's record"
# What the geometry repeats on the way to a width is a measure of its own, which is told once under its own name.
_STARTS_FROM: dict[str, tuple[str, ...]] = {
    "crown_radius": ("chord",),
    "crown_arc": ("chord", "crown_radius"),
    "visible_width": ("crown_arc", "edge_arc"),
    "developed_width": ("visible_width",),
}


class MeasureSteps:
    """Collects the steps of the measures that an answer names, each once."""

    def __init__(self, context: Context) -> None:
        self.context = context
        self.steps: list[WhyStep] = []
        self._told: set[tuple[str, str]] = set()

    def values(self, label: str) -> Values:
        """The measures of a section, or of the whole quote where `label` is ""."""
        return self.context.quote.measured.sections[label] if label else self.context.quote.measured.whole

    def formula(self, words: str, formula: Formula, label: str, unit: str, source: str) -> Value:
        """Explains the measures of a formula, then its value in a unit.

        Args:
            words: what the formula stands for.
            formula: over the measures of the level of `label`.
            label: of a section; "" at the level of the quote.
            unit: symbol of the unit in which the value is shown.
            source: where the formula stands.
        """
        for slug in formula.inputs:
            self.measure(slug, label)
        explained = formula.explain(self.values(label))
        note = explained.steps[-1].note if explained.steps else ""
        text = f"{words}{self._of(label)}: {formula.text}" + (f" ({note})" if note else "")
        self.steps.append(WhyStep(text, *in_entry_unit(explained.value, unit), source))
        return explained.value

    def measure(self, slug: str, label: str) -> None:
        """Explains one measure of a section, or of the whole quote where `label` is ""."""
        place = label if MEASURES[slug].level == "section" else ""
        if (place, slug) in self._told:
            return
        self._told.add((place, slug))
        if not place and MEASURES[slug].level == "section":
            self._together(slug)
        elif MEASURES[slug].source == "coach":
            self._geometry(slug, place)
        elif slug in SLUGS:
            self._sheets(slug, place)
        elif planned_skin(self.context, slug, place) is not None and not said(self.context, slug, place):
            self._skin(slug, place)
        else:
            self._one(slug, place, label)

    def _skin(self, slug: str, place: str) -> None:
        found = planned_skin(self.context, slug, place)
        for name in skins.starts_from(self.context, found[0]) if found else ():
            self.measure(name, place)
        self.steps += skins.skin_steps(self.context, slug, place, f"{slug}{self._of(place)}")

    def _of(self, label: str) -> str:
        """Names the section where there are several."""
        return f" of section {label}" if label and len(self.context.quote.measured.sections) > 1 else ""

    def _together(self, slug: str) -> None:
        sections = self.context.quote.measured.sections
        for label in sections:
            self.measure(slug, label)
        if len(sections) > 1:
            shown = measure_value(slug, self.context.quote.measured.whole[slug])
            self.steps.append(WhyStep(f"{slug}, {_TOGETHER[MEASURES[slug].combine]}", *shown, ""))

    def _one(self, slug: str, place: str, label: str) -> None:
        text = f"{slug}{self._of(place)}"
        shown = measure_value(slug, self.values(label)[slug])
        sayings = said(self.context, slug, place)
        if sayings:
            self.steps.append(WhyStep(text, *shown, source_of(slug, sayings)))
        elif MEASURES[slug].formula is not None:
            formula = formula_of(slug)
            for name in formula.inputs:
                self.measure(name, label)
            self.steps.append(WhyStep(f"{text} = {formula.text}", *shown, f"rule: {MEASURES[slug].definition}"))
        else:
            self.steps.append(WhyStep(text, *shown, "rule: nobody said anything, so there is none"))

    def _geometry(self, slug: str, label: str) -> None:
        """The steps of the geometry, after those of the measures that it starts from; the last one is the measure itself."""
        starts_from = _STARTS_FROM.get(slug, ())
        for name in starts_from:
            self.measure(name, label)
        source, name = f"coach: section {label}", f"{slug}{self._of(label)}"
        *before, last = explain_geometry(self.context.inputs.roof, self._span(label), slug, self.context.quote.scope)
        if not starts_from:
            self.steps += [_geometry_step(step, step.text, source) for step in before]
        recorded = not before and last.note == _RECORDED
        self.steps.append(_geometry_step(last, name if recorded else f"{name} = {last.text}", source))

    def _span(self, label: str) -> Span:
        return next(span for span in self.context.quote.scope if span.section == label)

    def _sheets(self, slug: str, label: str) -> None:
        """The layout of the deck, or the patches of its damage."""
        for name in starts_from(self.context, slug, label):
            self.measure(name, label)
        self.steps += board_steps(self.context, slug, label, f"{slug}{self._of(label)}")


def _geometry_step(step: Step, text: str, source: str) -> WhyStep:
    words = text + (f" ({step.note})" if step.note and step.note != _RECORDED else "")
    value = step.value if isinstance(step.value, str) else number(float(step.value))
    return WhyStep(words, value, step.unit, source)
