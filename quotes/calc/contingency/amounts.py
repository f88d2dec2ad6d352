"""How much is set aside for hidden work, and what is the most that the owner pays without a new consent?

*Firm*: visible work is a price, so only hidden work can be drawn. The allowance is the mean of H, the
contingency the larger of the allowance and the level's order statistic of H, the limit visible work +
contingency. *Open* (time and materials to a limit): productivity is in all of these. The forecast of the
final cost is with productivity in both, and is the shop's.

Everything is worked out in floats and becomes an amount here, once: base_expected, allowance, contingency,
and the forecast. The reserve, the limit and the difference to the base are sums of these; the components
share the allowance out.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from costbase.calc import money
from costbase.calc.errors import CalculationError, raise_faults
from quotes.calc.contingency.columns import SamplePoints
from quotes.calc.contingency.final_cost import chance_within, expected_factor, quantiles
from quotes.calc.contingency.hidden import HiddenWork, add_up
from quotes.calc.contingency.inputs import (
    BASES,
    BasisError,
    CostFactors,
    Exposure,
    LevelError,
    base_faults,
    exposure_faults,
    factor_faults,
    level_faults,
    spread_faults,
)


@dataclass(frozen=True, slots=True)
class ComponentShare:
    """One component's part of the allowance, with the numbers that it comes from (as in `Exposure`)."""

    component: str
    exposure: float
    chance: float
    share: float
    unit_price: Decimal
    set_up: Decimal
    allowance: Decimal


@dataclass(frozen=True, slots=True)
class SetAside:
    """What is set aside, in the shop's currency and rounded to it.

    `contingency` = `allowance` + `reserve`. `base_expected` is what this shop's record makes of the visible
    work, and `record_difference` = base_expected - base: a line of its own in an open quote, a warning to
    the manager in a firm one. `limit` = base + contingency (firm) or base_expected + contingency (open).
    `components` is in the order given and adds to the allowance. `atoms` are 128 equally likely amounts of
    hidden work, not rounded, kept with the quote. `coverage_share` is how often the limit holds by this
    model: the share of points with H within the contingency (firm), the chance of a final cost within the
    limit (open); both before rounding. `p50`, `p80`, `p90` forecast the final cost.
    """

    basis: str
    level: float
    allowance: Decimal
    reserve: Decimal
    contingency: Decimal
    base_expected: Decimal
    record_difference: Decimal
    limit: Decimal
    components: tuple[ComponentShare, ...]
    atoms: tuple[float, ...] = field(repr=False)
    chance_nothing_found: float
    coverage_share: float
    p50: Decimal
    p80: Decimal
    p90: Decimal


@dataclass(frozen=True, slots=True)
class Terms:
    """What the amounts of a quote depend on beside its hidden components; see `set_aside`."""

    basis: str
    level: float
    base: Decimal
    factors: CostFactors
    sd_survey: float
    corrected_level: float | None

    @property
    def level_used(self) -> float:
        """The level with the network's correction, where one is in force."""
        return self.level if self.corrected_level is None else self.corrected_level


@dataclass(frozen=True, slots=True)
class Figures:
    """The same before rounding, for `set_aside` and its explanation.

    `factor` multiplies hidden work: 1 in a firm quote, the expected productivity in an open one. `at_level`
    is what the level asks for: the order statistic of H (firm), or the quantile of the final cost less the
    expected visible work (open).
    """

    work: HiddenWork
    atoms: tuple[float, ...]
    factor: float
    base_expected: float
    allowance: float
    at_level: float
    coverage_share: float
    p50: float
    p80: float
    p90: float


def set_aside(
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
) -> SetAside:
    """Allowance, reserve, contingency, limit and forecast of one quote.

    Args:
        points: the project's sample points (`shipped_points`).
        exposures: the hidden components of the quote; those with exposure 0 get an allowance of 0.
        basis: ``firm`` or ``open``.
        level: how often the limit shall hold, 0.50 to 0.99.
        base: visible work, the sum of its rounded lines, above zero.
        factors: the shop's record; `NO_HISTORY` where the network has none.
        sd_survey: spread that the way of surveying adds to the final cost, log scale, with mean 1. It moves
            neither allowance nor base_expected, and in a firm quote the contingency neither.
        currency: whose decimals the amounts get.
        corrected_level: the level to work with instead of `level` while the network's level correction is in
            force.

    Returns:
        Amounts rounded half up to the currency, once each.

    Raises:
        CalculationError: `ExposureError`, `FactorsError`, `LevelError`, `BasisError`, `AmountError`, or all
            of several as `CalculationFaults`.

    Source: the project's own model; of its parts, mixtures and quantiles are textbook. Every accuracy known
    of it comes from synthetic shops.
    """
    terms = Terms(basis, level, base, factors, sd_survey, corrected_level)
    return rounded(exposures, work_out(points, exposures, terms), terms, currency)


def work_out(points: SamplePoints, exposures: Sequence[Exposure], terms: Terms) -> Figures:
    """The figures of a quote before rounding. Errors as for `set_aside`."""
    raise_faults(exposure_faults(exposures, points.columns) + term_faults(terms))
    return figures_of(add_up(points, exposures, terms.factors), terms)


def figures_of(work: HiddenWork, terms: Terms) -> Figures:
    """The figures that follow from hidden work at all points, for terms that have been checked."""
    base, factors, sd_survey = terms.base, terms.factors, terms.sd_survey
    atoms = work.atoms()
    productivity = expected_factor(factors)
    base_expected = float(base) * productivity
    firm = terms.basis == "firm"
    levels = (0.5, 0.8, 0.9) if firm else (0.5, 0.8, 0.9, terms.level_used)
    p50, p80, p90, *cost_at_level = quantiles(atoms, base, factors, sd_survey, levels)
    if firm:
        factor, at_level = 1.0, work.at_level(terms.level_used)
        coverage_share = work.share_within(max(work.mean, at_level))
    else:
        factor, at_level = productivity, cost_at_level[0] - base_expected
        limit = base_expected + max(work.mean * factor, at_level)
        coverage_share = chance_within(atoms, base, factors, sd_survey, Decimal(limit))
    allowance = work.mean * factor
    return Figures(work, atoms, factor, base_expected, allowance, at_level, coverage_share, p50, p80, p90)


def rounded(exposures: Sequence[Exposure], figures: Figures, terms: Terms, currency: money.Currency) -> SetAside:
    """The figures as amounts: each rounded once, the rest sums and differences of these."""
    allowance = money.amount(figures.allowance, currency)
    return amounts_of(figures, terms, currency, allowance, _shares(exposures, figures, allowance, currency))


def amounts_of(
    figures: Figures, terms: Terms, currency: money.Currency, allowance: Decimal, components: tuple[ComponentShare, ...]
) -> SetAside:
    """The figures as amounts beside an allowance that is rounded already, with what the components have of it."""
    contingency = max(allowance, money.amount(figures.at_level, currency))
    base_expected = money.amount(figures.base_expected, currency)
    return SetAside(
        basis=terms.basis,
        level=terms.level,
        allowance=allowance,
        reserve=contingency - allowance,
        contingency=contingency,
        base_expected=base_expected,
        record_difference=base_expected - terms.base,
        limit=(terms.base if terms.basis == "firm" else base_expected) + contingency,
        components=components,
        atoms=figures.atoms,
        chance_nothing_found=figures.work.chance_nothing,
        coverage_share=figures.coverage_share,
        p50=money.amount(figures.p50, currency),
        p80=money.amount(figures.p80, currency),
        p90=money.amount(figures.p90, currency),
    )


def term_faults(terms: Terms) -> list[CalculationError]:
    """Every fault of the terms of a quote or lot."""
    faults = factor_faults(terms.factors) + level_faults(terms.level) + base_faults(terms.base)
    faults += spread_faults("sd_survey", terms.sd_survey)
    if terms.basis not in BASES:
        faults.append(BasisError(f"expected the price basis {' or '.join(BASES)}", field="basis", value=terms.basis))
    if terms.corrected_level is not None and not 0 < terms.corrected_level < 1:
        words = "expected a corrected level above 0 and below 1"
        faults.append(LevelError(words, field="corrected_level", value=terms.corrected_level))
    return faults


def _shares(
    exposures: Sequence[Exposure], figures: Figures, allowance: Decimal, currency: money.Currency
) -> tuple[ComponentShare, ...]:
    parts = [Decimal(mean) for mean in figures.work.means]
    amounts = money.largest_remainder(allowance, parts, currency)
    return tuple(
        ComponentShare(
            component=part.component,
            exposure=part.exposure,
            chance=part.chance,
            share=part.share,
            unit_price=part.unit_price,
            set_up=part.set_up,
            allowance=amount,
        )
        for part, amount in zip(exposures, amounts, strict=True)
    )
