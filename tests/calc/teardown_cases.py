"""Jobs whose roof is being opened, for the tests of the forecast; all figures are invented."""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal

from quotes.calc.contingency import NO_HISTORY, CostFactors, Exposure
from quotes.calc.teardown import Opened, Terms, Update, update
from tests.calc.contingency_cases import GOLDEN, points, quoted

D = Decimal

# The model's own example with a tenth of each component to a patch: all of it opened is ten patches.
TENTHS = [replace(part, patch=0.1) for part in GOLDEN]


def terms(
    parts: Sequence[Exposure],
    *,
    basis: str = "firm",
    base: str = "12500",
    factors: CostFactors = NO_HISTORY,
    sd_survey: float = 0.0,
) -> Terms:
    """What a job stands on whose quote set aside what these components ask for."""
    aside = quoted(list(parts), basis=basis, base=base, factors=factors, sd_survey=sd_survey)
    return Terms(basis, D(base), aside.contingency, aside.limit, factors, sd_survey, 0.005)


def after(parts: Sequence[Exposure], *looks: Opened, on: Terms | None = None) -> Update:
    """The forecast after these looks."""
    return update(points(), parts, looks, on or terms(parts))
