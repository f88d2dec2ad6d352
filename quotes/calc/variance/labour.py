"""Did the hours cost more than they should, were there more of them, or were they the hours of dearer people?

Rate is (actual rate - standard rate) x actual hours, efficiency (actual hours - standard hours) x standard rate. With several
trades efficiency splits into mix (the hours of dearer or cheaper trades than the standard shares them out) and yield (more or
fewer hours than the standard at the standard's own shares). Adverse is positive.

What makes them add exactly: the actual cost is a sum of rounded amounts, every product with hours is rounded once by
`money.extend`, and each variance is a difference of two such amounts. Hours at the standard's shares are split by largest
remainder to 4 decimals, so that they add up to the actual hours.

Source: the usual variances of standard costing, as in OpenStax, Principles of Managerial Accounting, chapter 8; mix and yield
by the same products, common practice.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency, extend, split_quantity
from quotes.calc.variance.steps import Cause, Step, added

LABOUR_RATE, LABOUR_MIX, LABOUR_YIELD = "labour_rate", "labour_mix", "labour_yield"


@dataclass(frozen=True, slots=True)
class Grade:
    """The hours of one trade. `standard_hours` and `standard_cost` are for the work that was actually required.

    `rate` is the standard cost of an hour; hours have 4 decimals at most.
    """

    trade: str
    rate: Decimal
    standard_hours: Decimal
    standard_cost: Decimal
    actual_hours: Decimal
    actual_cost: Decimal


@dataclass(frozen=True, slots=True)
class LabourVariances:
    """Rate + mix + yield = actual cost - standard cost of all hours, exactly."""

    rate: Cause
    mix: Cause
    yield_: Cause

    @property
    def efficiency(self) -> Decimal:
        """Mix and yield together: (actual hours - standard hours) x standard rate."""
        return self.mix.amount + self.yield_.amount


def labour_variances(grades: Sequence[Grade], currency: Currency) -> LabourVariances:
    """Takes the labour of a job apart, a step for each trade.

    Without any standard hours there are no shares to compare with: mix is 0 and all of efficiency is yield.

    Args:
        grades: one a trade.
        currency: of all amounts.

    Raises:
        MoneyError: a number is no finite Decimal, or hours have more than 4 decimals.
    """
    rate, mix, yield_ = [], [], []
    for grade, at_shares in zip(grades, _at_standard_shares(grades), strict=True):
        worth = extend(grade.actual_hours, grade.rate, currency)
        usual = extend(at_shares, grade.rate, currency)
        hours = f"{grade.actual_hours} h of {grade.trade}"
        rate.append(Step(f"{hours} at {grade.rate} and at what they cost", worth, grade.actual_cost))
        mix.append(Step(f"{hours} in place of {at_shares} h by the standard's shares", usual, worth))
        said = f"{at_shares} h of {grade.trade} in place of {grade.standard_hours} h for the work that was required"
        yield_.append(Step(said, grade.standard_cost, usual))
    return LabourVariances(
        Cause(LABOUR_RATE, "Labour rate", tuple(rate)),
        Cause(LABOUR_MIX, "Mix of trades", tuple(mix)),
        Cause(LABOUR_YIELD, "Labour hours", tuple(yield_)),
    )


def _at_standard_shares(grades: Sequence[Grade]) -> tuple[Decimal, ...]:
    """The actual hours of all, shared out as the standard shares its own."""
    standard = [max(Decimal(0), grade.standard_hours) for grade in grades]
    if not any(standard):
        return tuple(grade.actual_hours for grade in grades)
    return split_quantity(added(grade.actual_hours for grade in grades), standard)
