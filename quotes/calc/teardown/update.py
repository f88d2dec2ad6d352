"""What does the job come to, now that some of the roof is open?

H = what was found at agreed prices + what is still closed at each point, F (E - x) u, with the set-up where nothing of
it was found yet and something of it is left. Two laws follow from H. *The bill*: of a firm quote, visible work is a price, so
what matters is whether the hidden work passes the pot. *The cost*: what the work comes to with this shop's productivity on top,
whose law is the quote's own (`quotes/calc/contingency/final_cost.py`) over what is known now. The limit of an open quote is by
the law of the cost.

Source: the project's own model.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

import numpy as np

from costbase.calc.errors import CalculationError, raise_faults
from quotes.calc.contingency import (
    AmountError,
    BasisError,
    CostFactors,
    Exposure,
    FoundColumn,
    SamplePoints,
    expected_factor,
    forecast_and_chance_over,
)
from quotes.calc.contingency.columns import RUN, BoolArray, FloatArray, IndexArray
from quotes.calc.contingency.hidden import weighted_atoms
from quotes.calc.contingency.inputs import BASES, base_faults, exposure_faults, factor_faults, spread_faults
from quotes.calc.teardown.conjugate import conjugate_columns
from quotes.calc.teardown.opened import Evidence, Opened, evidence_of
from quotes.calc.teardown.weights import Stack, Weights, point_weights, stacked

# Fewer effective points than this, and no quantile of theirs can be trusted. Source: the project's own, by simulation.
FEWEST_POINTS = 100.0


@dataclass(frozen=True, slots=True)
class Terms:
    """What the job stands on now.

    `base` is visible work at agreed prices, what was agreed on top of it since included; `pot` is what may be drawn for hidden
    work, `limit` the most that is authorised ex tax. `factors` and `sd_survey` are as the quote had them. `half_unit` is half
    of the currency's smallest unit: draws are rounded, so hidden work passes the pot only beyond that.
    """

    basis: str
    base: Decimal
    pot: Decimal
    limit: Decimal
    factors: CostFactors
    sd_survey: float
    half_unit: float


@dataclass(frozen=True, slots=True)
class Closed:
    """What is known of one component: extents in its unit, amounts in the shop's currency, not rounded.

    `opened` to `declined` are sums of `Opened`. `chance_before` is the chance of any rot that the quote had, `chance_left`
    that what is `left` of it holds any, and `expected_left` the mean of what that would cost, its set-up included where that is
    not in the found work yet.
    """

    opened: float
    found: float
    drawn: float
    ordered: float
    declined: float
    left: float
    found_amount: float
    chance_before: float
    chance_left: float
    expected_left: float


@dataclass(frozen=True, slots=True)
class Update:
    """The forecast after all looks, in the shop's currency, not rounded.

    `found` and `left` are the hidden work found and the mean of what is still closed; `expected` is the expected final cost,
    `p50`, `p80`, `p90` what it stays within. `chance_over_pot` is the chance that hidden work at agreed prices passes the pot,
    `chance_cost_over_limit` that the final cost passes the limit; `chance_over_limit` is the one of the two by which the
    owner's limit is passed. `method` is ``points`` or ``conjugate``, `effective` how many equally likely points the looks
    leave.
    """

    method: str
    effective: float
    found: float
    left: float
    expected: float
    p50: float
    p80: float
    p90: float
    chance_over_pot: float
    chance_cost_over_limit: float
    chance_over_limit: float
    closed: tuple[Closed, ...] = field(repr=False)


def update(points: SamplePoints, exposures: Sequence[Exposure], looks: Sequence[Opened], terms: Terms) -> Update:
    """The forecast of a job after what was opened. With nothing opened it is the quote's own, to the last digit.

    Args:
        points: the fixed sample points.
        exposures: the quote's hidden components (`exposures_of`); the parts of one component in two constructions share one
            set-up, which one of them carries.
        looks: everything that was opened, in any order.
        terms: what the job stands on.

    Raises:
        OpenedError: an extent that cannot be, or a component that is not there.
        ExposureError, FactorsError, BasisError, AmountError: numbers of the quote or the job that cannot be.
        CalculationFaults: several of these.
    """
    faults = _term_faults(terms)
    if faults:
        raise_faults(exposure_faults(exposures, points.columns) + faults)
    known = stacked(points, tuple(exposures), terms.factors)
    evidence = evidence_of(exposures, looks)
    weights = point_weights(points, exposures, terms.factors, evidence)
    pays = _set_ups(exposures, evidence)
    amounts = [
        seen.repaired * float(part.unit_price) + paid for part, seen, paid in zip(exposures, evidence, pays.found, strict=True)
    ]
    found = math.fsum(amounts)
    wholes = [seen.left * float(part.unit_price) for part, seen in zip(exposures, evidence, strict=True)]
    if weights.effective < FEWEST_POINTS:
        columns = conjugate_columns(points, exposures, terms.factors, evidence)
        left = _equally_likely(columns, wholes, pays, found)
        by = ("conjugate", Weights(None, None, weights.effective))
    elif weights.rows is None or weights.each is None:
        left, by = _equally_likely(known.columns, wholes, pays, found), ("points", weights)
    else:
        left, by = _weighted(known, weights.rows, weights.each, wholes, pays, found), ("points", weights)
    chances = [chance if seen.left > 0 else 0.0 for chance, seen in zip(left.chances, evidence, strict=True)]
    rows = zip(evidence, amounts, known.chances, chances, left.means, strict=True)
    return _summed(left.total, found, tuple(Closed(*_extents(seen), *row) for seen, *row in rows), terms, by)


class _Left(NamedTuple):
    """What is found and still closed at each point kept; of each component the chance of any rot, and the mean amount left."""

    total: FloatArray
    chances: list[float]
    means: list[float]


def _equally_likely(columns: Sequence[FoundColumn], wholes: Sequence[float], pays: "_SetUps", found: float) -> _Left:
    """As the quote adds up, point by point in the same order, so that nothing opened is the quote to the last digit.

    Args:
        columns: what is found of each component.
        wholes: what each would cost, were all that is left of it rotten.
        pays: the set-ups.
        found: the amount of what was found.
    """
    total = np.full(columns[0].share.size if columns else RUN, found)
    means = []
    for at, (column, whole) in enumerate(zip(columns, wholes, strict=True)):
        mean = 0.0
        if whole:
            total += column.share * whole
            mean = column.mean_share * whole
        if pays.left[at]:
            anything = _any_left(pays.group[at], columns)
            total += anything * pays.left[at]
            mean += np.count_nonzero(anything) / anything.size * pays.left[at]
        means.append(mean)
    return _Left(total, [column.chance_found for column in columns], means)


def _weighted(
    known: Stack, rows: IndexArray, weights: FloatArray, wholes: Sequence[float], pays: "_SetUps", found: float
) -> _Left:
    """The same where the looks told the points apart, for the points that are left. Arguments as for `_equally_likely`."""
    shares, rotten = known.shares.take(rows, axis=1), known.rotten.take(rows, axis=1)
    whole = np.array(wholes)
    chances = np.minimum(1.0, rotten @ weights)
    alone = np.array([set_up if pays.group[at] == (at,) else 0.0 for at, set_up in enumerate(pays.left)])
    total: FloatArray = whole @ shares + alone @ rotten + found
    means = (shares @ weights) * whole + alone * chances
    for at, group in enumerate(pays.group):
        if pays.left[at] and group and group != (at,):
            anything = rotten[list(group)].max(axis=0)
            total += anything * pays.left[at]
            means[at] += min(1.0, float(anything @ weights)) * pays.left[at]
    return _Left(total, chances.tolist(), means.tolist())


def _summed(total: FloatArray, found: float, closed: tuple[Closed, ...], terms: Terms, by: tuple[str, Weights]) -> Update:
    """Both laws over hidden work at every point."""
    method, kept = by
    weights = kept.each
    pot = float(terms.pot) + terms.half_unit
    if weights is None:
        ordered = np.sort(total)
        atoms = tuple(ordered.reshape(-1, RUN).mean(axis=1).tolist())
        mean = float(ordered.mean())
        over_pot = 1.0 - float(np.searchsorted(ordered, pot, side="right")) / len(ordered)
    else:
        order = np.argsort(total)
        atoms = weighted_atoms(total.take(order), weights.take(order))
        mean = float(total @ weights)
        over_pot = min(1.0, float(weights @ (total > pot)))
    law, over_limit = forecast_and_chance_over(atoms, terms.base, terms.factors, terms.sd_survey, terms.limit)
    # While nothing was found the mean is taken as the quote took it; after that a difference would keep its rounding.
    left = math.fsum(row.expected_left for row in closed) if found else mean
    return Update(
        method=method,
        effective=kept.effective,
        found=found,
        left=left,
        expected=(float(terms.base) + found + left) * expected_factor(terms.factors),
        p50=law.p50,
        p80=law.p80,
        p90=law.p90,
        chance_over_pot=over_pot,
        chance_cost_over_limit=over_limit,
        chance_over_limit=over_pot if terms.basis == "firm" else over_limit,
        closed=closed,
    )


def _extents(seen: Evidence) -> tuple[float, float, float, float, float, float]:
    return seen.opened, seen.found, seen.drawn, seen.ordered, seen.declined, seen.left


@dataclass(frozen=True, slots=True)
class _SetUps:
    """Of each component: the set-up that is in the found work, the one that is still to come, and the parts that share it."""

    found: list[float]
    left: list[float]
    group: list[tuple[int, ...]]


def _set_ups(exposures: Sequence[Exposure], evidence: Sequence[Evidence]) -> _SetUps:
    """A set-up is charged once for all parts of a component, whichever is found first.

    One part carries it for those that carry none. Where two parts carry one each, by other repairs, the first has the others.
    """
    carriers: dict[str, int] = {}
    free: dict[str, list[int]] = {}
    for at, part in enumerate(exposures):
        if not part.set_up:
            free.setdefault(part.component, []).append(at)
    result = _SetUps([0.0] * len(exposures), [0.0] * len(exposures), [() for _ in exposures])
    for at, part in enumerate(exposures):
        if part.set_up > 0:
            first = carriers.setdefault(part.component, at) == at
            group = (at, *free.get(part.component, ())) if first else (at,)
            where = result.found if any(evidence[other].repaired > 0 for other in group) else result.left
            where[at] = float(part.set_up)
            result.group[at] = tuple(other for other in group if evidence[other].left > 0)
    return result


def _any_left(group: tuple[int, ...], columns: Sequence[FoundColumn]) -> BoolArray:
    """Where any part of a component that is still closed holds rot."""
    if len(group) == 1:
        return columns[group[0]].found
    anything: BoolArray = np.zeros(columns[0].found.size, dtype=np.bool_)
    for at in group:
        anything = anything | columns[at].found
    return anything


def _term_faults(terms: Terms) -> list[CalculationError]:
    faults = factor_faults(terms.factors) + base_faults(terms.base) + spread_faults("sd_survey", terms.sd_survey)
    if terms.basis not in BASES:
        faults.append(BasisError(f"expected the price basis {' or '.join(BASES)}", field="basis", value=terms.basis))
    for name in ("pot", "limit"):
        amount: Decimal = getattr(terms, name)
        if not (amount.is_finite() and amount >= 0):
            faults.append(AmountError("expected an amount of zero or more", field=name, value=amount))
    return faults
