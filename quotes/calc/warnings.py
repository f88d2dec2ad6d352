"""What should the estimator look at before this price goes out?

Nothing here moves an amount: a skin is narrower than the roof, or a material goes over something that it does not bond to.
"""

from collections.abc import Mapping, Sequence
from typing import cast

from costbase.calc.cost_base import Material
from costbase.calc.units import show
from quotes.calc.measured import Measured
from quotes.calc.skins import SkinPlan
from quotes.calc.survey import Survey
from quotes.calc.takeoff import Take, Values

# What floats lose on the way to a width must not make it too wide.
_TOLERANCE = 1e-9


def stock_warnings(takes: Sequence[Take], measured: Measured, materials: Mapping[str, Material]) -> tuple[str, ...]:
    """A warning for every skin that does not fit a section: other stock has to be found, or a seam laid.

    Args:
        takes: the work that is priced; only that of a chosen skin is looked at.
        measured: measures by section label, and how the skins are laid; which width counts is said with the material.
        materials: those in force.
    """
    warnings: list[str] = []
    plans = {plan.needed: plan for plan in measured.skins.plans}
    for take in takes:
        if not take.assembly.skin:
            continue
        labels = [label for label, _ in take.by_section if label]
        for material in (materials[slug] for slug in take.needs):
            if material.slug in plans:
                warnings += _unfit(plans[material.slug])
            elif material.stock_width is not None:
                width = material.stock_width
                warnings += [_width_warning(material, width, label, measured.sections[label]) for label in labels]
    return tuple(filter(None, warnings))


def _unfit(plan: SkinPlan) -> list[str]:
    """Why the stock that was asked for does not fit, section by section, where no stock fits them all."""
    unfit = {skin.section for skin in plan.laid if not skin.fits}
    return [no.reason for no in plan.why_not if no.stock == plan.stock and no.section in unfit]


def bond_warnings(
    takes: Sequence[Take], survey: Survey, measured: Measured, materials: Mapping[str, Material]
) -> tuple[str, ...]:
    """A warning for every material that goes over an old coating or tape to which it does not bond.

    Nothing is said where the old skin comes off with what is on it.

    Args:
        takes: the work that is priced.
        survey: says what is on the sections in scope.
        measured: which sections those are, and whether their skin stays.
        materials: those in force.
    """
    if measured.whole["skin_off"]:
        return ()
    under = {repair.chemistry: repair.section for repair in survey.repairs if repair.section in measured.sections}
    used = dict.fromkeys(slug for take in takes for slug in take.needs)
    return tuple(
        f"{materials[slug].name} does not bond to {materials[slug].not_over}, which the survey found on section "
        f"{under[materials[slug].not_over]}; choose another material or take it off"
        for slug in used
        if materials[slug].not_over in under
    )


def _width_warning(material: Material, width: float, label: str, values: Values) -> str:
    covers = material.stock_width_covers
    needed = cast(float, values[f"{covers}_width"])
    if needed <= width * (1.0 + _TOLERANCE):
        return ""
    return (
        f"{material.name}: section {label} needs {show(needed, 'in', 2)} ({covers} width), "
        f"the stock is {show(width, 'in', 2)} wide; find wider stock or plan a seam"
    )
