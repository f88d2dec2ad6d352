"""Hidden work of a lot as one would simulate it: a wetness for the yard, then a draw for every component of every coach.

Independent draws instead of the model's points, and nothing of the model's own but the law itself. Slow, and meant to be read.
"""

from collections.abc import Sequence
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from quotes.calc.contingency import Exposure

Floats = NDArray[np.float64]
GRID = np.linspace(0, 1, 20001)


def simulated_lot(coaches: Sequence[Sequence[Exposure]], *, draws: int, seed: int) -> Floats:
    """The lot's hidden work in rising order, over this many draws of the yard."""
    dice = np.random.default_rng(seed)
    wetness = dice.standard_normal(draws)
    lot = np.zeros(draws)
    for parts in coaches:
        for part in parts:
            if part.exposure > 0:
                share = _share(part, part.load * wetness + np.sqrt(1 - part.load**2) * dice.standard_normal(draws))
                lot += share * part.exposure * float(part.unit_price) + (share > 0) * float(part.set_up)
    return np.sort(lot)


def _share(part: Exposure, latent: Floats) -> Floats:
    rank = stats.norm.cdf(latent)
    if part.each:
        whole: Floats = np.where(rank > 1 - part.chance * part.share, 1.0, 0.0)
        return whole
    found = (rank - (1 - part.chance)) / part.chance
    share: Floats = np.where(found > 0, np.interp(found, GRID, _inverse_beta(part.share, part.phi)), 0.0)
    return share


@cache
def _inverse_beta(share: float, phi: float) -> Floats:
    """On a fine grid: a million inverses by themselves would take minutes."""
    inverse: Floats = stats.beta(share * phi, (1 - share) * phi).ppf(GRID)
    return inverse


def exact_mean(parts: Sequence[Exposure]) -> float:
    """What the tables promise of one coach: chance x share x exposure x price, and the set-up as often as anything is found."""
    total = 0.0
    for part in parts:
        if part.exposure > 0:
            found = part.chance * part.share if part.each else part.chance
            total += part.chance * part.share * part.exposure * float(part.unit_price) + found * float(part.set_up)
    return total
