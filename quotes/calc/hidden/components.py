"""Which hidden components has this roof, how likely is each rotten, and at which price would it be put right?"""

from collections.abc import Mapping
from dataclasses import dataclass

from costbase.calc.cost_base import Component, CostBase
from costbase.calc.units import round_half_up
from quotes.calc.hidden.exposures import EXPOSURE_PLACES, SectionExposure, exposures
from quotes.calc.hidden.prices import UnitCost, can_be_repaired, unit_cost
from quotes.calc.measured import Measured
from quotes.calc.severity import Severity
from quotes.calc.survey import SurveyReading
from quotes.calc.tiers import chance_and_share


@dataclass(frozen=True, slots=True)
class HiddenComponent:
    """One component on one construction: what is exposed, and at which price it would be put right.

    `chance` and `share` are fractions of one, at `tier`; `exposure` is the sum over `sections`, in the component's unit.
    """

    component: Component
    construction: str
    tier: str
    chance: float
    share: float
    sections: tuple[SectionExposure, ...]
    exposure: float
    cost: UnitCost


def hidden_components(
    measured: Measured, reading: SurveyReading, severity: Severity, cost_base: CostBase
) -> tuple[HiddenComponent, ...]:
    """Every hidden component that this construction has, exposed or not, with tier, chance, share and unit price, by column.

    A component that no assembly in force can put right and that this scope does not expose is left out.

    Raises:
        NoRepairError, NoRateError, NoMaterialError, NoPriceError, NoMarkupError: a repair that cannot be priced.
        NoTierError, TemplateFailedError: a tier without figures, or an exposure that fails on this roof.
    """
    scales = {label: seen.exposure_scale for label, seen in reading.sections.items()}
    constructions = dict.fromkeys(str(values["roof_kind"]) for values in measured.sections.values())
    works = []
    for component in in_order(cost_base.components):
        tier = severity.components.get(component.slug, severity.tier)
        for construction in constructions:
            of_kind = {k: v for k, v in measured.sections.items() if v["roof_kind"] == construction}
            found = exposures(component, of_kind, scales)
            exposure = round_half_up(sum(part.exposure for part in found), EXPOSURE_PLACES)
            if not found or (exposure == 0 and not can_be_repaired(component, of_kind[found[0].section], cost_base)):
                continue
            chance, share = chance_and_share(component, tier, construction, cost_base.tiers)
            works.append(
                HiddenComponent(
                    component=component,
                    construction=construction,
                    tier=tier,
                    chance=chance,
                    share=share,
                    sections=found,
                    exposure=exposure,
                    cost=unit_cost(component, found, share, of_kind, cost_base),
                )
            )
    return tuple(works)


def in_order(components: Mapping[str, Component]) -> list[Component]:
    """Components by their column, which is theirs for life.

    A kept cost base comes back from the database with its entries in another order. Sums of floats and cents that are shared
    out depend on the order, so it must not be that of the mapping.
    """
    return sorted(components.values(), key=lambda component: (component.column, component.slug))
