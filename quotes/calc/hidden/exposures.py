"""How much of each hidden component does this scope expose?"""

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple, cast

from costbase.calc.cost_base import Component
from costbase.calc.formula import Formula, compile_formula
from costbase.calc.measures import names
from costbase.calc.units import in_unit, round_half_up
from quotes.calc.takeoff import Values, value_of

EXPOSURE_PLACES = 4


class SectionExposure(NamedTuple):
    """What one section exposes: the formula's value, the share that the marks leave, and their product (component's unit)."""

    section: str
    whole: float
    scale: float
    exposure: float


def exposures(
    component: Component,
    sections: Mapping[str, Values],
    scales: Mapping[str, Mapping[str, float]],
) -> tuple[SectionExposure, ...]:
    """The exposure of a component in each section whose construction has it, rounded half up to four decimals.

    Args:
        component: its formula gives a quantity of the dimension of its unit.
        sections: by label, the measures of each section in scope.
        scales: by label, what the marks leave of each kind of exposure, 0 to 1 (1 where nothing was marked).

    Raises:
        TemplateFailedError: its formula fails on this roof.
    """
    formula = exposure_formula(component)
    found = []
    for label, values in sections.items():
        if values["roof_kind"] not in component.constructions:
            continue
        words, field = f"component '{component.slug}' on section {label}", f"components/{component.slug}/exposure"
        whole = max(0.0, in_unit(cast(float, value_of(words, field, formula, values)), component.unit))
        scale = scales[label].get(component.scaled_by, 1.0) if component.scaled_by else 1.0
        found.append(SectionExposure(label, whole, scale, round_half_up(whole * scale, EXPOSURE_PLACES)))
    return tuple(found)


@lru_cache(maxsize=512)
def _compiled(text: str) -> Formula:
    return compile_formula(text, names("section"))


def exposure_formula(component: Component) -> Formula:
    """The compiled formula of a component's exposure."""
    return _compiled(component.exposure)
