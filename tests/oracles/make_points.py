"""Makes the sample points of the contingency again; run as a script it writes them to `quotes/points.npy`.

Unscrambled, so that no seed is in it: point i of the Sobol sequence plus half a step of the grid of 4096, as
normal scores. Source: I. M. Sobol, 1967; direction numbers of S. Joe and F. Y. Kuo, 2008, as packed in
scipy.
"""

from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtri
from scipy.stats import qmc

COUNT, COLUMNS = 4096, 16
PATH = Path(__file__).parents[2] / "quotes" / "points.npy"


def make_points() -> NDArray[np.float64]:
    """Normal scores of shape (4096, 16)."""
    uniform = qmc.Sobol(COLUMNS, scramble=False).random(COUNT) + 0.5 / COUNT
    scores: NDArray[np.float64] = ndtri(uniform)
    return scores


if __name__ == "__main__":
    np.save(PATH, make_points())
