"""Which further look before signing would do most to the limit, and what would it cost?

A look opens a little of one hidden component: a length of edge, the frame under a shroud, a lane gone over with a meter. What
it may find, and what each finding would leave to doubt, is in the quote's own sample points: each point says how much of every
component is rotten, so a finding makes some points likelier and others less, and news about one part reaches the others
through the roof's common wetness.

What a look sees is taken as `extent x strength / patch` independent patches of the component, rounded half up, one at least:
rot comes in patches. With k of n of them rotten, k/n of the extent goes into the visible work at the agreed unit price with the
set-up, what is sound leaves its share `1 - strength` to doubt, and allowance and level are worked again on the weighted points.

Source: the project's own model (patches as where a roof is opened); the update of the points is Bayes' rule.
"""

from dataclasses import dataclass, field
from decimal import Decimal
from math import comb
from typing import cast

import numpy as np

from costbase.calc.cost_base import Component, CostBase, Look
from costbase.calc.formula import Number, compile_formula
from costbase.calc.measures import MEASURES, names
from costbase.calc.money import amount
from costbase.calc.units import BY_SYMBOL, NONE, in_unit, round_half_up
from quotes.calc.contingency import (
    CostFactors,
    Exposure,
    SamplePoints,
    SetAside,
    expected_factor,
    find_scale,
    found_column,
    quantile,
)
from quotes.calc.contingency.columns import FloatArray
from quotes.calc.contingency.hidden import weighted_atoms
from quotes.calc.hidden import HiddenComponent, repair_part
from quotes.calc.quote import Quote, exposures_of
from quotes.calc.takeoff import Values, value_of

# More patches than these tell little more, and every further one is a case to work out.
MOST_PATCHES = 12
# A finding that no sample point allows is left out: nothing can be said about what would follow.
_NEVER = 1e-12


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that a look may find: `rotten` of its patches, how likely, and the limit after it, in the shop's currency."""

    rotten: int
    chance: float
    found: Decimal
    limit: Decimal


@dataclass(frozen=True, slots=True)
class NextLook:
    """What one look would cost and do.

    `extent` is in the component's unit; `price` is what the owner pays for the look, before tax. `chance_lower` is the chance
    that the limit falls, `expected_limit` the mean of the limit after it, `gain` = limit now - expected limit - price: above 0
    where the look pays for itself on average. `findings` are in rising order of what is rotten; their chances add up to 1.
    """

    name: str
    component: str
    construction: str
    assembly: str
    extent: float
    patches: int
    price: Decimal
    limit_now: Decimal
    chance_lower: float
    expected_limit: Decimal
    gain: Decimal
    findings: tuple[Finding, ...] = field(repr=False)


def next_looks(
    quote: Quote, cost_base: CostBase, factors: CostFactors, sd_survey: float, points: SamplePoints
) -> tuple[NextLook, ...]:
    """Every look that the cost base knows at what this quote exposes, the one with the greatest gain first.

    Args:
        quote: worked out on that cost base.
        cost_base: says which looks there are and what they cost.
        factors: the shop's record as the quote had it.
        sd_survey: spread of the way of surveying, as the quote had it.
        points: the fixed sample points.

    Raises:
        NoRateError, NoMaterialError, NoPriceError, NoMarkupError: the look cannot be priced.
        TemplateFailedError: an extent or a look's assembly fails on this roof.
    """
    doubt = _Doubt(points, exposures_of(quote.hidden), quote.set_aside, quote.totals.base, factors, sd_survey)
    looks = [
        _looked(doubt, at, work, look, quote, cost_base)
        for at, work in enumerate(quote.hidden)
        if work.exposure > 0
        for look in work.component.looks
    ]
    return tuple(sorted((one for one in looks if one is not None), key=lambda one: (-one.gain, one.name, one.construction)))


def _looked(doubt: "_Doubt", at: int, work: HiddenComponent, look: Look, quote: Quote, cost_base: CostBase) -> NextLook | None:
    section = next(part.section for part in work.sections if part.exposure > 0)
    values = quote.measured.sections[section]
    extent = min(_extent(work.component, look, values), work.exposure)
    if extent <= 0:
        return None
    patches = _patches(doubt.exposures[at], extent * look.strength, work.component.patch)
    currency = cost_base.currency
    outcomes = doubt.after(at, extent, look.strength, patches)
    now = doubt.limit_now
    findings = tuple(
        Finding(rotten, chance, amount(found, currency), amount(limit, currency)) for rotten, chance, found, limit in outcomes
    )
    expected = amount(sum(chance * limit for _, chance, _, limit in outcomes), currency)
    limit_now, price = amount(now, currency), look_price(look, extent, work.component, values, cost_base)
    return NextLook(
        name=look.name,
        component=work.component.slug,
        construction=work.construction,
        assembly=look.assembly,
        extent=extent,
        patches=patches,
        price=price,
        limit_now=limit_now,
        chance_lower=sum(finding.chance for finding in findings if finding.limit < limit_now),
        expected_limit=expected,
        gain=limit_now - expected - price,
        findings=findings,
    )


def _extent(component: Component, look: Look, values: Values) -> float:
    """What the look sees, in the component's unit."""
    field_ = f"components/{component.slug}/looks/extent"
    found = value_of(f"look '{look.name}'", field_, compile_formula(look.extent, names("section")), values)
    return in_unit(cast(float, found), component.unit)


def _patches(part: Exposure, seen: float, patch: float) -> int:
    """How many independent patches a look at `seen` of a component tells about."""
    if part.each:
        # Found whole or not at all: one of them tells of all.
        return 1
    return int(min(MOST_PATCHES, max(1.0, round_half_up(seen / patch, 0)))) if patch > 0 else 1


def look_price(look: Look, extent: float, component: Component, values: Values, cost_base: CostBase) -> Decimal:
    """What the owner pays for a look, rounded once: its hours and materials with waste by use, and its set-up.

    Neither supplies, overhead and minimum nor the conditions of the day are in it, as with unit prices of hidden work.

    Args:
        look: which one.
        extent: how much of the component it sees, in the component's unit.
        component: what it looks at.
        values: measures of the section that is looked at.
        cost_base: rates, materials, prices and markups in force.
    """
    kind = MEASURES[look.measure].kind
    counts = isinstance(kind, Number) and kind.dimension == NONE
    much = 1.0 if counts else extent * float(BY_SYMBOL[component.unit].factor)
    part = repair_part(cost_base.assemblies[look.assembly], 1, {**values, look.measure: much}, 1.0, cost_base)
    exact = sum((hours.amount for hours in part.labour), part.set_up)
    exact = sum((goods.amount for goods in part.materials), exact)
    return amount(exact, cost_base.currency)


@dataclass(frozen=True, slots=True)
class _Doubt:
    """A quote's hidden work, point by point, ready to be looked at."""

    points: SamplePoints
    exposures: tuple[Exposure, ...]
    aside: SetAside
    base: Decimal
    factors: CostFactors
    sd_survey: float

    @property
    def limit_now(self) -> float:
        """The limit as the same arithmetic gives it before any look."""
        even = np.full(self.points.count, 1.0 / self.points.count)
        return self._limit(self._total(None), even, 0.0)

    def after(self, at: int, extent: float, strength: float, patches: int) -> list[tuple[int, float, float, float]]:
        """For each number of rotten patches: that number, its chance, what was found in money, and the limit after it."""
        part = self.exposures[at]
        share = self._column(part)[0]
        others = self._total(at)
        unit, set_up = float(part.unit_price), float(part.set_up)
        outcomes = []
        for rotten in range(patches + 1):
            weights = comb(patches, rotten) * share**rotten * (1.0 - share) ** (patches - rotten)
            chance = float(weights.mean())
            if chance < _NEVER:
                continue
            bad = rotten / patches
            found = bad * extent * unit + (set_up if rotten else 0.0)
            left = part.exposure - extent + (1.0 - strength) * extent * (1.0 - bad)
            hidden = others + share * (left * unit)
            if not rotten and left > 0:
                hidden = hidden + (share > 0) * set_up
            outcomes.append((rotten, chance, found, self._limit(hidden, weights / weights.sum(), found)))
        return outcomes

    def _column(self, part: Exposure) -> tuple[FloatArray, FloatArray]:
        column = found_column(self.points, part, find_scale(self.points, self.factors))
        return column.share, column.found.astype(np.float64)

    def _total(self, without: int | None) -> FloatArray:
        """Hidden work at each point, of every component but one."""
        total: FloatArray = np.zeros(self.points.count)
        for at, part in enumerate(self.exposures):
            if at != without and part.exposure > 0:
                share, found = self._column(part)
                total = total + share * (part.exposure * float(part.unit_price)) + found * float(part.set_up)
        return total

    def _limit(self, hidden: FloatArray, weights: FloatArray, found: float) -> float:
        """The limit with `found` in the visible work and the rest of the hidden work at weighted points."""
        visible = float(self.base) + found
        order = np.argsort(hidden, kind="stable")
        ordered, cumulative = hidden[order], np.cumsum(weights[order])
        mean = float((hidden * weights).sum())
        if self.aside.basis == "firm":
            # Sums of weights lose a few bits: a level that is met exactly must not take the next point.
            place = int(np.searchsorted(cumulative, self.aside.level - 1e-12))
            return visible + max(mean, float(ordered[min(place, len(ordered) - 1)]))
        factor = expected_factor(self.factors)
        atoms = weighted_atoms(ordered, weights[order])
        at_level = quantile(atoms, Decimal(visible), self.factors, self.sd_survey, self.aside.level)
        return max(visible * factor + mean * factor, at_level)
