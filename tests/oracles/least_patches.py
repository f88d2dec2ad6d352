"""The least board that covers damage by whole rectangles, by an integer programme: slow and obvious.

What it models: bays between seams; in each, stretches between the edges of the damage. A patch takes whole bays and whole
stretches, fits a sheet either way round, and no two overlap. Every damaged part is covered, sound parts may be. It finds the
least area, and among covers of that area the fewest patches; joints are left out.
"""

from collections.abc import Sequence

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

Box = tuple[float, float, float, float]  # start, near, end, far


def least_cover(damage: Sequence[Box], seams: Sequence[float], sheet: tuple[float, float]) -> tuple[float, int]:
    """Area and number of patches; `seams` hold the deck's two ends, `sheet` its longer side first."""
    offsets = sorted({at for box in damage for at in (box[1], box[3])})
    cells = [(i, j) for i in range(len(seams) - 1) for j in range(len(offsets) - 1)]
    hurt = [any(_meets(box, (seams[i], offsets[j], seams[i + 1], offsets[j + 1])) for box in damage) for i, j in cells]
    patches = [
        (i, j, k, m)
        for i in range(len(seams) - 1)
        for k in range(i + 1, len(seams))
        for j in range(len(offsets) - 1)
        for m in range(j + 1, len(offsets))
        if _fits(seams[k] - seams[i], offsets[m] - offsets[j], sheet)
    ]
    covered = np.array([[float(p[0] <= i < p[2] and p[1] <= j < p[3]) for p in patches] for i, j in cells])
    areas = np.array([(seams[k] - seams[i]) * (offsets[m] - offsets[j]) for i, j, k, m in patches])
    solved = milp(
        # A patch more weighs less than any area that a test can save.
        areas + 1e-4 * areas.min(),
        constraints=LinearConstraint(covered, np.array(hurt, float), np.ones(len(cells))),
        integrality=np.ones(len(patches), dtype=np.int64),
        bounds=Bounds(0.0, 1.0),
    )
    assert solved.success, solved.message
    taken = np.round(solved.x)
    return float(areas @ taken), int(taken.sum())


def _meets(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _fits(length: float, width: float, sheet: tuple[float, float]) -> bool:
    return max(length, width) <= sheet[0] and min(length, width) <= sheet[1]
