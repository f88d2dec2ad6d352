"""How likely is each of the quote's sample points, after what was opened?

At a point a share F of a component is rotten. Rot comes in patches: of n opened patches k are rotten with the likelihood
F^k (1 - F)^(n - k), and a point without any rot is out once some was found. Points share the roof's wetness, so that news about
the deck makes the wet points likelier and so reaches the edges.

Source: Bayes' rule by importance weights; the effective number of points, Kish 1965, from memory; patches, the project's own.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from costbase.calc.errors import raise_faults
from quotes.calc.contingency import CostFactors, Exposure, FoundColumn, SamplePoints, find_scale, found_column
from quotes.calc.contingency.columns import FloatArray, IndexArray
from quotes.calc.contingency.inputs import exposure_faults
from quotes.calc.teardown.opened import Evidence

# No look is sure of a whole component: what is opened stands for the rest as a sample does.
LEAST_SHARE = 1e-4
MOST_SHARE = 0.999

# A point less likely than the likeliest one by more than this, on the log scale, is lost in the last bit of any sum: 4096
# times exp(-60) is 4e-23.
_FORGOTTEN = 60.0


@dataclass(frozen=True, slots=True)
class Reading:
    """A component at each point: what is found of it, and the logs of F and 1 - F as looks weigh them.

    Where nothing is rotten the log of F is minus infinity and that of 1 - F is 0: a sound look rules nothing out there, a find
    rules the point out.
    """

    column: FoundColumn
    log_rotten: FloatArray = field(repr=False)
    log_sound: FloatArray = field(repr=False)


@dataclass(frozen=True, slots=True)
class Weights:
    """Weights of the points that add up to 1, or None while nothing tells them apart; and how many points they are worth.

    `rows` are the points that have a weight worth adding, in their order, and `each` the weights of these. `effective` is
    1 / sum of squares, 0 where no point is left.
    """

    rows: IndexArray | None = field(repr=False)
    each: FloatArray | None = field(repr=False)
    effective: float


# Twelve components of twenty jobs at work; 25 MB at 4096 points.
@lru_cache(maxsize=256)
def reading(points: SamplePoints, part: Exposure, factors: CostFactors) -> Reading:
    """A component at every point, with the shop's find factor on top; kept by its values."""
    column = found_column(points, part, find_scale(points, factors))
    return read_column(column)


@dataclass(frozen=True, slots=True)
class Stack:
    """All components of a job at every point: shares, and 1.0 where any is rotten, of shape (components, points).

    `chances` are those of any rot before anything was opened, 0 for a component without exposure.
    """

    columns: tuple[FoundColumn, ...]
    shares: FloatArray = field(repr=False)
    rotten: FloatArray = field(repr=False)
    chances: tuple[float, ...]


# 800 kB for twelve components; forty jobs at work.
@lru_cache(maxsize=40)
def stacked(points: SamplePoints, exposures: tuple[Exposure, ...], factors: CostFactors) -> Stack:
    """The components of a job, checked and stacked; kept by their values.

    Raises:
        ExposureError: a number of a component that cannot be.
        CalculationFaults: several of these.
    """
    raise_faults(exposure_faults(exposures, points.columns))
    columns = tuple(reading(points, part, factors).column for part in exposures)
    none = np.empty((0, points.count))
    return Stack(
        columns,
        np.stack([column.share for column in columns]) if columns else none,
        np.stack([column.found.astype(np.float64) for column in columns]) if columns else none,
        tuple(column.chance_found if part.exposure > 0 else 0.0 for part, column in zip(exposures, columns, strict=True)),
    )


def read_column(column: FoundColumn) -> Reading:
    """The logs of a column's shares, clipped to 0.0001 and 0.999."""
    clipped = np.minimum(np.maximum(column.share, LEAST_SHARE), MOST_SHARE)
    log_rotten = np.where(column.found, np.log(clipped), -np.inf)
    log_sound = np.where(column.found, np.log1p(-clipped), 0.0)
    log_rotten.flags.writeable = log_sound.flags.writeable = False
    return Reading(column, log_rotten, log_sound)


def log_likelihood(read: Reading, seen: Evidence) -> FloatArray:
    """The log of what the looks at a component weigh at each point: k ln F + (n - k) ln(1 - F)."""
    sound: FloatArray = read.log_sound * (seen.patches - seen.rotten)
    # Zero times minus infinity is no number, so a component without a find leaves the log of F out.
    return sound + read.log_rotten * seen.rotten if seen.rotten > 0 else sound


def informative(exposures: Sequence[Exposure], evidence: Sequence[Evidence]) -> Iterator[int]:
    """The places of the components that looks say something about."""
    return (at for at, (part, seen) in enumerate(zip(exposures, evidence, strict=True)) if part.exposure > 0 < seen.patches)


def point_weights(
    points: SamplePoints, exposures: Sequence[Exposure], factors: CostFactors, evidence: Sequence[Evidence]
) -> Weights:
    """The weights of the points after all looks."""
    total: FloatArray | None = None
    for at in informative(exposures, evidence):
        own = log_likelihood(reading(points, exposures[at], factors), evidence[at])
        total = own if total is None else total + own
    if total is None:
        return Weights(None, None, float(points.count))
    best = total.max()
    if best == -np.inf:
        return Weights(np.empty(0, dtype=np.intp), np.empty(0), 0.0)
    # A find rules about half of the points out: what follows need not carry them.
    rows = np.flatnonzero(total > best - _FORGOTTEN)
    weights = np.exp(total.take(rows) - best)
    weights /= weights.sum()
    return Weights(rows, weights, 1.0 / float(weights @ weights))
