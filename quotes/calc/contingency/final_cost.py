"""What will the job have cost when it is closed?

Final cost = (visible work + hidden work) x productivity, where productivity is log-normal around the shop's
own cost factor. Hidden work stands in 128 atoms, so the law of the final cost is a mixture of 128
log-normals: productivity is integrated exactly instead of being sampled. The way of surveying adds spread
with mean 1: it never moves an expected amount.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

import numpy as np
from scipy.special import ndtr, ndtri

from costbase.calc.errors import raise_faults
from quotes.calc.contingency.columns import FloatArray
from quotes.calc.contingency.inputs import (
    AmountError,
    CostFactors,
    LevelError,
    base_faults,
    factor_faults,
    spread_faults,
)

# No shop's record makes a single job surer than this. Source: common practice, none published.
SMALLEST_SPREAD = 0.03
TOLERANCE = 1e-10
MOST_STEPS = 200


@dataclass(frozen=True, slots=True)
class Forecast:
    """What the final cost stays within at 50, 80 and 90 jobs in 100; in the shop's currency, not rounded."""

    p50: float
    p80: float
    p90: float


@dataclass(frozen=True, slots=True)
class _Law:
    """The mixture: logs of the middles of its 128 parts, and their common spread."""

    logs: FloatArray
    spread: float


def expected_factor(factors: CostFactors) -> float:
    """Expected actual over standard cost: exp(theta + (sigma^2 + sd_theta^2) / 2), the mean of a log-normal.

    The survey's spread is left out on purpose: how a roof was looked at says nothing about what the work
    costs on average.
    """
    return math.exp(factors.theta + (factors.sigma**2 + factors.sd_theta**2) / 2)


def forecast(atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float) -> Forecast:
    """The 50, 80 and 90 % points of the final cost. Arguments and errors as for `quantiles`."""
    return Forecast(*quantiles(atoms, base, factors, sd_survey, (0.5, 0.8, 0.9)))


def quantile(atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float, level: float) -> float:
    """The amount that the final cost stays within with chance `level`.

    Arguments and errors as for `quantiles`.
    """
    return quantiles(atoms, base, factors, sd_survey, (level,))[0]


def quantiles(
    atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float, levels: Sequence[float]
) -> tuple[float, ...]:
    """The amounts that the final cost stays within, for several chances at once.

    Newton steps on the normal score of the chance, which is nearly a straight line in the log of the amount,
    inside a bracket that is known beforehand: a quantile of a mixture lies between those of its lowest and
    highest part.

    Args:
        atoms: hidden work, equally likely amounts in the shop's currency, zero or more.
        base: visible work, above zero.
        factors: the shop's record.
        sd_survey: spread that the way of surveying adds, log scale.
        levels: chances, each above 0 and below 1.

    Returns:
        One amount for each level, not rounded; the normal score of its chance is within 1e-10 of that of the
        level.

    Raises:
        LevelError: a level outside (0, 1).
        AmountError: base or atoms are no usable amounts.
        FactorsError: a factor or spread that cannot be.
    """
    return _quantiles(_law(atoms, base, factors, sd_survey), levels)


def forecast_and_chance_over(
    atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float, amount: Decimal
) -> tuple[Forecast, float]:
    """Both `forecast` and `chance_over` of one law. Arguments and errors as for these."""
    law = _law(atoms, base, factors, sd_survey)
    return Forecast(*_quantiles(law, (0.5, 0.8, 0.9))), _tail(law, amount, -1.0)


def _quantiles(law: _Law, levels: Sequence[float]) -> tuple[float, ...]:
    if not all(0 < level < 1 for level in levels):
        raise LevelError("expected chances above 0 and below 1", field="levels", value=tuple(levels))
    wanted = np.asarray(levels, dtype=np.float64)
    # Chances near 1 lose their digits, so the upper half is worked from its own tail.
    side = np.where(wanted > 0.5, -1.0, 1.0)
    target: FloatArray = side * ndtri(np.minimum(wanted, 1.0 - wanted))
    # Where the law is flat a slope is 0 or beyond the doubles; the step then halves the bracket instead.
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        return tuple(np.exp(_solved(law, side, target)).tolist())


def chance_within(atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float, amount: Decimal) -> float:
    """Chance that the final cost is at most `amount`; of a job's actual cost, its forecast score.

    Args:
        atoms: hidden work, equally likely amounts in the shop's currency, zero or more.
        base: visible work, above zero.
        factors: the shop's record.
        sd_survey: spread that the way of surveying adds, log scale.
        amount: in the shop's currency; nothing costs zero or less, so the answer is 0 there.

    Raises:
        AmountError: base, atoms or amount are no usable amounts.
        FactorsError: a factor or spread that cannot be.
    """
    return _tail(_law(atoms, base, factors, sd_survey), amount, 1.0)


def chance_over(atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float, amount: Decimal) -> float:
    """Chance that the final cost is above `amount`. Arguments and errors as for `chance_within`."""
    return _tail(_law(atoms, base, factors, sd_survey), amount, -1.0)


def _tail(law: _Law, amount: Decimal, side: float) -> float:
    if not amount.is_finite():
        raise AmountError("expected a finite amount", field="amount", value=amount)
    if amount <= 0:
        return 0.0 if side > 0 else 1.0
    return float(ndtr(side * (math.log(amount) - law.logs) / law.spread).mean())


def _law(atoms: Sequence[float], base: Decimal, factors: CostFactors, sd_survey: float) -> _Law:
    raise_faults(base_faults(base) + factor_faults(factors) + spread_faults("sd_survey", sd_survey))
    hidden = np.sort(np.asarray(atoms, dtype=np.float64))
    if hidden.ndim != 1 or hidden.size == 0 or not (hidden[0] >= 0 and hidden[-1] < math.inf):
        raise AmountError("expected atoms of zero or more, one at least", field="atoms")
    spread = max(SMALLEST_SPREAD, math.hypot(factors.sigma, factors.sd_theta, sd_survey))
    # Less half the variance that the survey adds: its factor then has mean 1.
    return _Law(np.log(float(base) + hidden) + (factors.theta - sd_survey**2 / 2), spread)


def _solved(law: _Law, side: FloatArray, target: FloatArray) -> FloatArray:
    """Logs of the amounts whose chance has the normal score `target`."""
    low = law.logs[0] + law.spread * target
    high = law.logs[-1] + law.spread * target
    logs = _start(law, target, low, high)
    for _ in range(MOST_STEPS):
        gap, slope = _gap(law, logs, side, target)
        done = np.abs(gap) <= TOLERANCE
        if done.all():
            break
        short = gap < 0
        low, high = np.where(short, logs, low), np.where(short, high, logs)
        newton = logs - gap / slope
        # One that is there stays: its next step is none, which does not lie inside its bracket, and halving would throw it out.
        logs = np.where(done, logs, np.where((newton > low) & (newton < high), newton, (low + high) / 2))
    return logs


def _start(law: _Law, target: FloatArray, low: FloatArray, high: FloatArray) -> FloatArray:
    # As if productivity and hidden work were both normal on the log scale: a matter of fewer steps only.
    middle = law.logs.sum() / law.logs.size
    away = law.logs - middle
    width = math.hypot(law.spread, math.sqrt(away @ away / law.logs.size))
    start: FloatArray = np.minimum(np.maximum(middle + width * target, low), high)
    return start


def _gap(law: _Law, logs: FloatArray, side: FloatArray, target: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Normal score reached less that wanted, and its slope in the log of the amount."""
    scores = (logs[:, None] - law.logs) / law.spread
    parts = law.logs.size
    reached: FloatArray = side * ndtri(ndtr(side[:, None] * scores).sum(axis=1) / parts)
    # The ratio of the two normal densities: the constant of both cancels.
    slope: FloatArray = np.exp((reached[:, None] ** 2 - scores**2) / 2).sum(axis=1) / (parts * law.spread)
    return reached - target, slope
