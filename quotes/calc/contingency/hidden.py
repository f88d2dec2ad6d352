"""What does everything hidden cost, at the agreed unit prices, over all sample points?

H = F @ (E u) + (F > 0) @ set-up. Sorted, it gives the firm quote's order statistic at once; averaged in runs
it gives 128 atoms that are stored with the quote, and every later question about the quote needs only those.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from costbase.calc.errors import raise_faults
from quotes.calc.contingency.columns import (
    RUN,
    BoolArray,
    FloatArray,
    FoundColumn,
    IndexArray,
    SamplePoints,
    find_scale,
    found_column,
    paired_column,
)
from quotes.calc.contingency.inputs import CostFactors, Exposure, exposure_faults, factor_faults

ATOMS = 128
_EDGES = np.arange(1, ATOMS) / ATOMS


@dataclass(frozen=True, slots=True)
class HiddenWork:
    """The hidden work of a quote, in the shop's currency, not rounded.

    `ordered` is H at every point in rising order, shape (points,). `means` and `chances` are each
    component's mean amount and the share of points at which it is found, in the order given.
    `chance_nothing` is the share of points with nothing found.
    """

    ordered: FloatArray = field(repr=False)
    mean: float
    means: tuple[float, ...]
    chances: tuple[float, ...]
    chance_nothing: float

    def at_level(self, level: float) -> float:
        """What H does not exceed at a share `level` of the points or more: an order statistic of H."""
        return float(self.ordered[level_rank(level, len(self.ordered)) - 1])

    def share_within(self, amount: float) -> float:
        """The share of the points at which H is at most `amount`."""
        return float(np.searchsorted(self.ordered, amount, side="right")) / len(self.ordered)

    def atoms(self) -> tuple[float, ...]:
        """Means of runs of 32 of the ordered amounts: 128 rising values for 4096 points, mean as H has it."""
        return tuple(self.ordered.reshape(-1, RUN).mean(axis=1).tolist())


def hidden_work(points: SamplePoints, exposures: Sequence[Exposure], factors: CostFactors) -> HiddenWork:
    """The hidden work over all sample points, sorted, with each component's part.

    Args:
        points: the sample points.
        exposures: the hidden components; one with exposure 0 is inert, its set-up included.
        factors: the shop's record; only the find factor and its doubt act here.

    Raises:
        ExposureError: a number of a component that cannot be.
        FactorsError: a find factor that cannot be.
        CalculationFaults: several of these.
    """
    raise_faults(exposure_faults(exposures, points.columns) + factor_faults(factors))
    return add_up(points, exposures, factors)


@dataclass(frozen=True, slots=True)
class AtPoints:
    """The hidden work at every point, in the order of the points, and where anything is found; each of shape (points,)."""

    amounts: FloatArray = field(repr=False)
    found: BoolArray = field(repr=False)
    means: tuple[float, ...]
    chances: tuple[float, ...]


def at_points(
    points: SamplePoints, exposures: Sequence[Exposure], factors: CostFactors, rows: IndexArray | None = None
) -> AtPoints:
    """The hidden work of one roof at every point, for numbers that have been checked.

    Args:
        points: the sample points.
        exposures: its hidden components.
        factors: the shop's record.
        rows: for another coach of a lot, the rows that the components' own scores are taken from (`paired_column`).
    """
    scale = find_scale(points, factors)
    total = np.zeros(points.count)
    anything = np.zeros(points.count, dtype=np.bool_)
    means: list[float] = []
    chances: list[float] = []
    for part in exposures:
        if part.exposure == 0.0:
            means.append(0.0)
            chances.append(0.0)
            continue
        column = found_column(points, part, scale) if rows is None else paired_column(points, part, scale, rows)
        means.append(_add(total, column, part))
        chances.append(column.chance_found)
        anything |= column.found
    return AtPoints(total, anything, tuple(means), tuple(chances))


def add_up(points: SamplePoints, exposures: Sequence[Exposure], factors: CostFactors) -> HiddenWork:
    """The same as `hidden_work` for numbers that have been checked."""
    return in_order(at_points(points, exposures, factors))


def in_order(work: AtPoints) -> HiddenWork:
    """The amounts in rising order, which is all that is asked of them from here on; sorts them where they stand."""
    work.amounts.sort()
    work.amounts.flags.writeable = False
    nothing = 1.0 - np.count_nonzero(work.found) / work.found.size
    return HiddenWork(work.amounts, float(work.amounts.mean()), work.means, work.chances, nothing)


def weighted_atoms(ordered: FloatArray, weights: FloatArray) -> tuple[float, ...]:
    """128 equally likely amounts that stand for weighted ones: the means between each 1/128 of the weight.

    Args:
        ordered: amounts in rising order, zero or more.
        weights: one for each, zero or more, not all zero.
    """
    reached = np.cumsum(weights)
    sums = np.cumsum(ordered * weights)
    edges = _EDGES * reached[-1]
    at = np.searchsorted(reached, edges)
    # The point that straddles an edge counts on both sides of it.
    below = sums.take(at) - (reached.take(at) - edges) * ordered.take(at)
    parts = np.empty(ATOMS)
    parts[0], parts[1:-1], parts[-1] = below[0], below[1:] - below[:-1], sums[-1] - below[-1]
    # A difference of sums may come out a bit below nothing.
    return tuple(np.maximum(parts * (ATOMS / reached[-1]), 0.0).tolist())


def level_rank(level: float, count: int) -> int:
    """The place, from 1, of the first of `count` rising values that has a share `level` of them at or below it.

    For 4096 points the product is exact, so no tolerance is wanted: rank 3277 for level 0.8.
    """
    whole = int(level * count)
    return max(1, whole if whole == level * count else whole + 1)


def _add(total: FloatArray, column: FoundColumn, part: Exposure) -> float:
    """Adds a component's amounts to `total` and returns their mean."""
    whole = part.exposure * float(part.unit_price)
    set_up = float(part.set_up)
    total += column.share * whole
    if set_up:
        total += column.found * set_up
    return column.mean_share * whole + column.chance_found * set_up
