"""How many times a bare `np.sort(F @ a)` does the contingency of one quote cost? Run with `python -m`; prints ratios only.

Marks to beat: warm 3.4, cold 9.6. *Model*: validation, hidden work, atoms, and four quantiles of the final cost, in floats.
*Amounts*: the whole of `set_aside`, which rounds to Decimals and shares the allowance out. *Cold*: the first quote of a
tier, its columns still to be worked out from tables of the inverse Beta that the process has; *first*: no memo holds anything.
"""

import sys
from collections.abc import Callable
from decimal import Decimal
from timeit import timeit

import numpy as np

from quotes.calc.contingency import NO_HISTORY, component_column, forget_columns, set_aside
from quotes.calc.contingency.amounts import Terms, work_out
from tests.calc.contingency_cases import GOLDEN, USD, points

BASE = Decimal(12500)
TERMS = Terms("firm", 0.8, BASE, NO_HISTORY, 0.0, None)


def bare() -> Callable[[], object]:
    shares = [
        component_column(
            points(), row.column, chance=row.chance, share=row.share, phi=row.phi, load=row.load, each=row.each
        ).share
        for row in GOLDEN
    ]
    matrix = np.column_stack(shares)
    prices = np.array([float(row.unit_price) for row in GOLDEN])
    return lambda: np.sort(matrix @ prices)


def model() -> object:
    return work_out(points(), GOLDEN, TERMS)


def amounts() -> object:
    return set_aside(
        points(),
        GOLDEN,
        basis="firm",
        level=0.8,
        base=BASE,
        factors=NO_HISTORY,
        sd_survey=0.0,
        currency=USD,
    )


def cold() -> object:
    forget_columns(tables_too=False)
    return model()


def first() -> object:
    forget_columns()
    return model()


def ratios() -> dict[str, float]:
    """Best of 15 rounds each; the rounds take turns, so that a busy machine slows all of them alike."""
    runs = {
        "bare": (bare(), 100),
        "model warm": (model, 50),
        "amounts warm": (amounts, 50),
        "model cold": (cold, 30),
        "model first": (first, 5),
    }
    best = dict.fromkeys(runs, float("inf"))
    for _ in range(15):
        for name, (run, times) in runs.items():
            best[name] = min(best[name], timeit(run, number=times) / times)
    unit = best.pop("bare")
    return {name: seconds / unit for name, seconds in best.items()}


if __name__ == "__main__":
    for name, ratio in ratios().items():
        sys.stdout.write(f"{name}: {ratio:.1f} x np.sort(F @ a)\n")
