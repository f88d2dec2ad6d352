"""The contingency as one would write it first: a loop over the points, the inverse Beta itself, a search by halving.

No memo, no arrays, no atoms in the firm quote; the inverse Beta itself, or straight lines between its 513
nodes where the model's own table is to be met digit for digit. Slow on purpose, and meant to be read beside
the model's description.
"""

import math
from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from quotes.calc.contingency import CostFactors, Exposure

NORMAL = NormalDist()
Inverse = Callable[[float], float]
WETNESS, FIND = 0, 7


@dataclass(frozen=True)
class FirmQuote:
    allowance: float
    contingency: float
    limit: float
    chance_nothing_found: float


@dataclass(frozen=True)
class OpenQuote:
    base_expected: float
    allowance: float
    contingency: float


def inverse_beta(part: Exposure) -> Inverse:
    law = stats.beta(part.share * part.phi, (1 - part.share) * part.phi)
    return lambda rank: float(law.ppf(rank))


def inverse_beta_by_nodes(part: Exposure) -> Inverse:
    law = stats.beta(part.share * part.phi, (1 - part.share) * part.phi)
    ranks = [1e-9, *(i / 512 for i in range(1, 512)), 1 - 1e-7]
    values = [float(law.ppf(rank)) for rank in ranks]

    def interpolated(rank: float) -> float:
        if rank <= ranks[0] or rank >= ranks[-1]:
            return values[0] if rank <= ranks[0] else values[-1]
        above = bisect_right(ranks, rank)
        across = (rank - ranks[above - 1]) / (ranks[above] - ranks[above - 1])
        return values[above - 1] + across * (values[above] - values[above - 1])

    return interpolated


def shares_found(
    scores: NDArray[np.float64],
    part: Exposure,
    factors: CostFactors,
    inverse: Callable[[Exposure], Inverse] = inverse_beta,
) -> list[float]:
    own = math.sqrt(1 - part.load**2)
    uniform = [NORMAL.cdf(part.load * z[WETNESS] + own * z[part.column]) for z in scores.tolist()]
    if part.each:
        shares = [1.0 if u > 1 - part.chance * part.share else 0.0 for u in uniform]
    elif part.chance == 0 or part.share == 0:
        shares = [0.0 for _ in uniform]
    else:
        ranks = [(u - (1 - part.chance)) / part.chance for u in uniform]
        share_at = inverse(part)
        shares = [share_at(rank) if rank > 0 else 0.0 for rank in ranks]
    doubts = [factors.sd_find * z[FIND] - factors.sd_find**2 / 2 for z in scores.tolist()]
    return [min(1.0, share * factors.find_factor * math.exp(doubt)) for share, doubt in zip(shares, doubts, strict=True)]


def hidden_amounts(
    scores: NDArray[np.float64],
    parts: Sequence[Exposure],
    factors: CostFactors,
    inverse: Callable[[Exposure], Inverse] = inverse_beta,
) -> list[float]:
    amounts = [0.0 for _ in range(len(scores))]
    for part in parts:
        if part.exposure == 0:
            continue
        for index, share in enumerate(shares_found(scores, part, factors, inverse)):
            if share > 0:
                amounts[index] += share * part.exposure * float(part.unit_price) + float(part.set_up)
    return amounts


def firm_quote(
    scores: NDArray[np.float64],
    parts: Sequence[Exposure],
    factors: CostFactors,
    *,
    base: float,
    level: float,
) -> FirmQuote:
    amounts = sorted(hidden_amounts(scores, parts, factors))
    mean = sum(amounts) / len(amounts)
    contingency = max(mean, amounts[math.ceil(level * len(amounts)) - 1])
    nothing = sum(1 for amount in amounts if amount == 0) / len(amounts)
    return FirmQuote(mean, contingency, base + contingency, nothing)


def open_quote(atoms: Sequence[float], factors: CostFactors, *, base: float, level: float, sd_survey: float) -> OpenQuote:
    expected = math.exp(factors.theta + (factors.sigma**2 + factors.sd_theta**2) / 2)
    allowance = sum(atoms) / len(atoms) * expected
    quantile = final_cost_quantile(atoms, factors, base=base, level=level, sd_survey=sd_survey)
    return OpenQuote(base * expected, allowance, max(allowance, quantile - base * expected))


def chance_within(atoms: Sequence[float], factors: CostFactors, *, base: float, amount: float, sd_survey: float) -> float:
    spread = max(0.03, math.sqrt(factors.sigma**2 + factors.sd_theta**2 + sd_survey**2))
    middle = factors.theta - sd_survey**2 / 2
    scores = [(math.log(amount) - math.log(base + atom) - middle) / spread for atom in atoms]
    return sum(NORMAL.cdf(score) for score in scores) / len(scores)


def final_cost_quantile(atoms: Sequence[float], factors: CostFactors, *, base: float, level: float, sd_survey: float) -> float:
    low, high = base / 1000, (base + max(atoms)) * 1000
    for _ in range(200):
        middle = math.sqrt(low * high)
        if chance_within(atoms, factors, base=base, amount=middle, sd_survey=sd_survey) < level:
            low = middle
        else:
            high = middle
    return low


def pinball(level: float, forecast: float, outcome: float) -> float:
    """What a forecast of the `level` point costs: the miss, times level when too low, times 1 - level when too high."""
    return (outcome - forecast) * (level if outcome >= forecast else level - 1)
