"""Why is this much set aside? What `set_aside` does, told component by component and for the whole."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc import money
from quotes.calc.contingency.amounts import Figures, SetAside, Terms, rounded, work_out
from quotes.calc.contingency.columns import SamplePoints
from quotes.calc.contingency.hidden import level_rank
from quotes.calc.contingency.inputs import CostFactors, Exposure


@dataclass(frozen=True, slots=True)
class ComponentSteps:
    """How one component's allowance comes about.

    `exact_expected` is chance x share x exposure x unit price + chance of a find x set-up: what the tables
    promise, before the shop's find factor. `sample_expected` is the mean over the sample points, find factor
    included; without one they differ by the sample's own error, some tenths of a percent. `chance_found`
    (exact) is the chance, or chance x share where each is found whole or not at all; `sample_chance_found`
    is the sample's. `allowance` = sample_expected x the quote's `factor`, shared out so that the components
    add up.
    """

    component: str
    exposure: float
    chance: float
    share: float
    each: bool
    unit_price: Decimal
    set_up: Decimal
    chance_found: float
    sample_chance_found: float
    exact_expected: Decimal
    sample_expected: Decimal
    allowance: Decimal


@dataclass(frozen=True, slots=True)
class SetAsideSteps:
    """How the amounts of a quote come about; `result` is what `set_aside` gives.

    `mean` is the mean of H over `points` sample points. Firm: `at_level` is value number `rank` of H in
    rising order, and `share_within` of the points lie at or below the contingency. Open: `rank` is None,
    `at_level` is the quantile of the final cost less the expected visible work. `decided_by` tells which of
    ``mean`` and ``level`` was the larger and made the contingency. `factor` multiplies the hidden work (1 in
    a firm quote); `level_used` differs from the level of the quote while a level correction is in force.
    """

    components: tuple[ComponentSteps, ...]
    points: int
    rank: int | None
    level_used: float
    mean: Decimal
    factor: float
    at_level: Decimal
    decided_by: str
    share_within: float
    chance_nothing_found: float
    find_factor: float
    result: SetAside


def explain_set_aside(
    points: SamplePoints,
    exposures: Sequence[Exposure],
    *,
    basis: str,
    level: float,
    base: Decimal,
    factors: CostFactors,
    sd_survey: float,
    currency: money.Currency,
    corrected_level: float | None = None,
) -> SetAsideSteps:
    """The steps from exposures and chances to allowance and contingency.

    Arguments and errors as for `set_aside`, whose amounts it lands on. Amounts are rounded half up to the
    currency each by itself, except the allowances of the components, which add up.
    """
    terms = Terms(basis, level, base, factors, sd_survey, corrected_level)
    figures = work_out(points, exposures, terms)
    result = rounded(exposures, figures, terms, currency)
    return SetAsideSteps(
        components=_component_steps(exposures, figures, result, currency),
        points=points.count,
        rank=level_rank(terms.level_used, points.count) if basis == "firm" else None,
        level_used=terms.level_used,
        mean=money.amount(figures.work.mean, currency),
        factor=figures.factor,
        at_level=money.amount(figures.at_level, currency),
        decided_by="level" if figures.at_level > figures.allowance else "mean",
        share_within=figures.coverage_share,
        chance_nothing_found=figures.work.chance_nothing,
        find_factor=factors.find_factor,
        result=result,
    )


def _component_steps(
    exposures: Sequence[Exposure], figures: Figures, result: SetAside, currency: money.Currency
) -> tuple[ComponentSteps, ...]:
    rows = zip(exposures, figures.work.means, figures.work.chances, result.components, strict=True)
    return tuple(
        ComponentSteps(
            component=part.component,
            exposure=part.exposure,
            chance=part.chance,
            share=part.share,
            each=part.each,
            unit_price=part.unit_price,
            set_up=part.set_up,
            chance_found=_chance_found(part),
            sample_chance_found=sample_chance,
            exact_expected=money.amount(_exact_mean(part), currency),
            sample_expected=money.amount(sample_mean, currency),
            allowance=row.allowance,
        )
        for part, sample_mean, sample_chance, row in rows
    )


def _chance_found(part: Exposure) -> float:
    if part.exposure == 0.0 or part.share == 0.0:
        return 0.0
    return part.chance * part.share if part.each else part.chance


def _exact_mean(part: Exposure) -> float:
    found = part.chance * part.share * part.exposure * float(part.unit_price)
    return found + _chance_found(part) * float(part.set_up)
