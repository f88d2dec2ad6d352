"""How many times a bare `np.sort(F @ a)` does the forecast after an opening entry cost? Run with `python -m`; prints ratios.

Mark to beat: 12, warm. The model of a quote stands beside it in the same run: its own mark of 3.4 is of numpy's plain sort,
which `NPY_DISABLE_CPU_FEATURES=X86_V3` asks for; the vector sort of newer processors makes the unit three times as small.
*One*, *four*: that many components of the model's own example have been opened, and the points are weighed; checks, both laws,
four quantiles and what is left of each component are in it. *Ruin*: rotten throughout, so that hardly a point is left and every
component is worked by itself. *Steps*: the same with what `why` tells.
"""

import sys
from timeit import timeit

from quotes.calc.teardown import Opened, explain_update, update
from tests.benchmarks.bench_contingency import bare, model
from tests.calc.contingency_cases import FRAMED, points
from tests.calc.teardown_cases import TENTHS, terms

ON = terms(TENTHS)
FRAMED_ON = terms(FRAMED)
ONE = (Opened(0, 0.3, 0.05),)
FOUR = (*ONE, Opened(5, 0.2, 0.0), Opened(2, 0.1, 0.02), Opened(3, 0.2, 0.01))
RUIN = (Opened(0, 150.0, 150.0), Opened(4, 40.0, 40.0), Opened(2, 120.0, 120.0))


def ratios() -> dict[str, float]:
    """Best of 60 short rounds each; they take turns, so that a busy machine slows all of them alike."""
    runs = {
        "bare": (bare(), 20),
        "the quote's model": (model, 5),
        "one opened": (lambda: update(points(), TENTHS, ONE, ON), 5),
        "four opened": (lambda: update(points(), TENTHS, FOUR, ON), 5),
        "ten components, one opened": (lambda: update(points(), FRAMED, (Opened(0, 60.0, 12.0),), FRAMED_ON), 5),
        "steps": (lambda: explain_update(points(), TENTHS, FOUR, ON), 5),
        "ruin": (lambda: update(points(), FRAMED, RUIN, FRAMED_ON), 1),
    }
    best = dict.fromkeys(runs, float("inf"))
    for _ in range(60):
        for name, (run, times) in runs.items():
            best[name] = min(best[name], timeit(run, number=times) / times)
    unit = best.pop("bare")
    return {name: seconds / unit for name, seconds in best.items()}


if __name__ == "__main__":
    for name, ratio in ratios().items():
        sys.stdout.write(f"{name}: {ratio:.1f} x np.sort(F @ a)\n")
