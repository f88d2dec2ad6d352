"""The least that a deck on a grid can cost in sheets and joints, by an integer programme: slow and obvious.

What it models: decks and sheets whose sides are whole numbers of a step; pieces whose edges lie on the grid of that step, laid
in any way that tiles the decks; every sheet cut from edge to edge into any pieces on its own grid, which may be turned. The
price is that of the sheets and of every joint between two pieces. A step is also the least piece. What it leaves out, so that
it is a bound from below for layouts on the grid: courses, stagger and supports.
"""

from collections import Counter
from collections.abc import Sequence
from functools import cache

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

Size = tuple[int, int]  # in steps, the shorter side first
Pattern = tuple[tuple[Size, int], ...]  # pieces of each size that one sheet is cut into


@cache
def patterns(a: int, b: int) -> frozenset[Pattern]:
    """Every collection of pieces that cuts from edge to edge make of a rectangle, nothing thrown away."""
    found: set[Pattern] = {((_size(a, b), 1),)}
    for at in range(1, a // 2 + 1):
        found |= _both(patterns(at, b), patterns(a - at, b))
    for at in range(1, b // 2 + 1):
        found |= _both(patterns(a, at), patterns(a, b - at))
    return frozenset(found)


def _size(a: int, b: int) -> Size:
    return (a, b) if a <= b else (b, a)


def _both(ones: frozenset[Pattern], others: frozenset[Pattern]) -> set[Pattern]:
    return {tuple(sorted((Counter(dict(one)) + Counter(dict(other))).items())) for one in ones for other in others}


def least_price(decks: Sequence[Size], sheets: Sequence[tuple[Size, float]], joint_price: float) -> float:
    """Price of the cheapest sheets and joints; joints at `joint_price` a step."""
    ways = [(dict(pattern), price) for (a, b), price in sheets for pattern in sorted(patterns(a, b))]
    kinds = sorted({kind for pattern, _ in ways for kind in pattern})
    laid = [(at, x, y, w, h) for at, deck in enumerate(decks) for x, y, w, h in _placements(deck, kinds)]
    cells = {
        cell: row for row, cell in enumerate((at, x, y) for at, (a, b) in enumerate(decks) for x in range(a) for y in range(b))
    }
    columns = len(laid) + len(ways)
    tiled = np.zeros((len(cells), columns))
    supplied = np.zeros((len(kinds), columns))
    price = np.zeros(columns)
    for column, (at, x, y, w, h) in enumerate(laid):
        for cell in ((at, x + i, y + j) for i in range(w) for j in range(h)):
            tiled[cells[cell], column] = 1.0
        supplied[kinds.index(_size(w, h)), column] = -1.0
        price[column] = joint_price * (w + h)
    for column, (pattern, cost) in enumerate(ways, len(laid)):
        for kind, count in pattern.items():
            supplied[kinds.index(kind), column] = count
        price[column] = cost
    upper = np.concatenate([np.ones(len(laid)), np.full(len(ways), float(len(cells)))])
    solved = milp(
        price,
        constraints=[LinearConstraint(tiled, 1.0, 1.0), LinearConstraint(supplied, 0.0, np.inf)],
        integrality=np.ones(columns, dtype=np.int64),
        bounds=Bounds(0.0, upper),
    )
    assert solved.success, solved.message
    return float(solved.fun) - joint_price * sum(a + b for a, b in decks)


def _placements(deck: Size, kinds: Sequence[Size]) -> list[tuple[int, int, int, int]]:
    a, b = deck
    turned = {(w, h) for kind in kinds for w, h in (kind, kind[::-1])}
    return [(x, y, w, h) for w, h in sorted(turned) for x in range(a - w + 1) for y in range(b - h + 1)]
