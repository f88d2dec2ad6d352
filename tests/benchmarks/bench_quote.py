"""How much slower is the core than the same arithmetic in floats? ``python -m tests.benchmarks.bench_quote``

Prints ratios of one run; machines are noisy and absolute times say little. Mark: without contingency 6.4 x the plain version.
What the plain version does is the second line, from measures to priced lines; checks of roof and survey, the tier, unit prices
of hidden work and days come on top and have no counterpart in it. Every round prices another roof, so that no memo by the sizes
of a roof flatters the core; those by edition are warm, as in service.
"""

import time
from collections.abc import Callable
from itertools import cycle

import numpy as np

from quotes.calc.contingency import NO_HISTORY, set_aside, shipped_points
from quotes.calc.labour import labour_lines
from quotes.calc.measured import measure
from quotes.calc.packing import pack_needs
from quotes.calc.pricing import material_lines, visible_work
from quotes.calc.quote import compute_quote, exposures_of
from quotes.calc.severity import SeverityRules
from quotes.calc.takeoff import take_off
from tests.benchmarks.sized_coach import GOODS, MARKUP, POINTS_FILE, RATES, base, inputs
from tests.oracles.plain_quote import Size
from tests.oracles.plain_quote import visible_work as plain_work

ROUNDS = 60


def best(work: Callable[[], object]) -> float:
    """Seconds of processor time of the fastest of a few rounds: the one that the machine disturbed least."""
    times = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    size = Size(408, 96, 1.5, 4, 1.5)
    points = shipped_points(np.load(POINTS_FILE))
    rules = SeverityRules.from_contents(base().severity.contents)
    wanted = inputs(size)
    # Three sixteenths of an inch longer each, from one that is as long.
    others = cycle([inputs(Size(408 + round_ * 3 / 16, 96, 1.5, 4, 1.5)) for round_ in range(ROUNDS)])
    quote = compute_quote(wanted, base(), rules, NO_HISTORY, points)
    exposures = exposures_of(quote.hidden)

    def aside() -> object:
        return set_aside(
            points,
            exposures,
            basis="firm",
            level=0.8,
            base=quote.totals.base,
            factors=NO_HISTORY,
            sd_survey=0.08,
            currency=base().currency,
        )

    def lines() -> object:
        measured = measure(wanted, quote.scope, quote.reading, base())
        plan = [base().assemblies[slug] for slug in base().plan.assemblies]
        takes = take_off(plan, measured.sections, measured.whole, quantities={})
        labour = labour_lines(takes, base().trades, base().conditions, (), base().currency)
        needs = pack_needs(takes, base().materials, stock_by_use=False)
        return visible_work(labour, material_lines(needs, base()), base())

    plain = best(lambda: plain_work(size, RATES, GOODS, MARKUP))
    whole = best(lambda: compute_quote(next(others), base(), rules, NO_HISTORY, points))
    hidden = best(aside)
    alike = best(lines)
    print(f"whole quote / plain floats                     {whole / plain:6.1f}")
    print(f"measures to priced lines / plain floats        {alike / plain:6.1f}")
    print(f"quote less what sets aside / plain floats      {(whole - hidden) / plain:6.1f}")
    print(f"setting aside / whole quote                    {hidden / whole:6.2f}")


if __name__ == "__main__":
    main()
