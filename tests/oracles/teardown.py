"""What an open roof says about the rest, as one would write it first: a loop over the points.

No arrays, no memo. What each point finds of every component comes from the model (whose own oracle is `contingency.py`); the
rest is plain Python: the weight of a point is the likelihood of the looks at it, amounts are summed point by point, 128 atoms
are cut from the sorted amounts by walking them, and the final cost is a sum of normal chances.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import NormalDist

import numpy as np
from scipy.special import betaincinv

from quotes.calc.contingency import CostFactors

NORMAL = NormalDist()
ATOMS = 128


@dataclass(frozen=True)
class Part:
    """One component: what each point finds of it, how much there is, its prices, its patch."""

    shares: Sequence[float]
    exposure: float
    unit_price: float
    set_up: float
    patch: float
    whole: bool


@dataclass(frozen=True)
class After:
    """What holds after the looks."""

    effective: float
    found: float
    left: float
    over_pot: float
    atoms: list[float]
    chance_left: list[float]
    expected_left: list[float]


def weights_after(parts: Sequence[Part], looks: Sequence[tuple[float, float]]) -> list[float]:
    """How much each point weighs, all together 1; `looks` are opened and found of each part."""
    weights = []
    for point in range(len(parts[0].shares)):
        log_weight = 0.0
        for part, (opened, found) in zip(parts, looks, strict=True):
            share = part.shares[point]
            if opened == 0 or part.exposure == 0:
                continue
            n = opened / part.patch
            k = n if part.whole and found > 0 else found / part.patch
            if share == 0:
                log_weight += -math.inf if found > 0 else 0.0
                continue
            clipped = min(max(share, 0.0001), 0.999)
            log_weight += k * math.log(clipped) + (n - k) * math.log(1 - clipped)
        weights.append(log_weight)
    best = max(weights)
    plain = [math.exp(weight - best) for weight in weights]
    whole = sum(plain)
    return [weight / whole for weight in plain]


def after(parts: Sequence[Part], looks: Sequence[tuple[float, float]], *, pot: float) -> After:
    """What holds after the looks, each component in one part."""
    weights = weights_after(parts, looks)
    found = 0.0
    for part, (_, rotten) in zip(parts, looks, strict=True):
        found += rotten * part.unit_price + (part.set_up if rotten > 0 else 0.0)
    amounts = [0.0] * len(weights)
    chance_left, expected_left = [], []
    for part, (opened, rotten) in zip(parts, looks, strict=True):
        chance = expected = 0.0
        for point, weight in enumerate(weights):
            share = part.shares[point]
            closed = part.exposure - opened
            if share == 0 or closed <= 0:
                continue
            amount = share * closed * part.unit_price + (part.set_up if rotten == 0 else 0.0)
            amounts[point] += amount
            chance += weight
            expected += weight * amount
        chance_left.append(chance)
        expected_left.append(expected)
    totals = [found + amount for amount in amounts]
    return After(
        effective=1 / sum(weight**2 for weight in weights),
        found=found,
        left=sum(expected_left),
        over_pot=sum(weight for weight, total in zip(weights, totals, strict=True) if total > pot),
        atoms=_atoms(totals, weights),
        chance_left=chance_left,
        expected_left=expected_left,
    )


def _atoms(totals: list[float], weights: list[float]) -> list[float]:
    """Means of the amounts in each 1/128 of the weight; a point that straddles an edge counts on both sides."""
    sums = [0.0] * ATOMS
    reached = 0.0
    for total, weight in sorted(zip(totals, weights, strict=True)):
        rest = weight
        while rest > 1e-15:
            at = min(ATOMS - 1, int(reached * ATOMS + 1e-9))
            room = (at + 1) / ATOMS - reached if at < ATOMS - 1 else rest
            step = min(rest, max(room, 1e-15))
            sums[at] += step * total * ATOMS
            reached += step
            rest -= step
    return sums


def cost_over(atoms: Sequence[float], factors: CostFactors, *, base: float, limit: float, sd_survey: float) -> float:
    """Chance that the final cost passes the limit."""
    spread = max(0.03, math.sqrt(factors.sigma**2 + factors.sd_theta**2 + sd_survey**2))
    middle = factors.theta - sd_survey**2 / 2
    chances = [NORMAL.cdf((math.log(limit) - math.log(base + atom) - middle) / spread) for atom in atoms]
    return 1 - sum(chances) / len(chances)


def drawn_shares(chance: np.random.Generator, parts: Sequence[tuple[float, float, float, float]]) -> list[float]:
    """The share rotten of each component of one roof by chance; a part is chance, mean share, concentration, loading."""
    wetness = chance.standard_normal()
    shares = []
    for rotten, mean, phi, load in parts:
        rank = NORMAL.cdf(load * wetness + math.sqrt(1 - load**2) * chance.standard_normal())
        within = (rank - (1 - rotten)) / rotten
        shares.append(float(betaincinv(mean * phi, (1 - mean) * phi, within)) if within > 0 else 0.0)
    return shares
