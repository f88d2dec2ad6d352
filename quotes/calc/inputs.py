"""What did the estimator ask for?

The frozen inputs of one quote. A quote keeps them, and computing them again against the same cost base gives the same amounts.
"""

from dataclasses import dataclass

from quotes.calc.geometry import Roof, Scope
from quotes.calc.labour import ChosenCondition
from quotes.calc.survey import Survey

Value = float | bool | str


@dataclass(frozen=True, slots=True)
class Entered:
    """A measure that the estimator says, in place of what coach, survey or plan would give.

    `value` is canonical, `text` is what was typed, `section` is "" for a measure of the whole quote.
    """

    slug: str
    section: str
    value: Value
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class TierOverride:
    """A severity tier that the estimator sets against the rules, with the reason in writing."""

    tier: str
    reason: str


@dataclass(frozen=True, slots=True)
class DaysOverride:
    """Days in the shop that the estimator promises in place of the computed range, with the reason."""

    low: float
    high: float
    reason: str


@dataclass(frozen=True, slots=True)
class QuoteInputs:
    """Everything about the coach and the wish; rates and rules are in the cost base.

    `scope` is empty for the usual scope of the plan: every section that is no slide room, or the slide rooms where the plan is
    about them. `options` are assemblies of kind option that are sold with this price, `offered` those that the owner may tick
    beside it.
    """

    roof: Roof
    survey: Survey
    scope: Scope
    plan: str
    skin: str
    options: tuple[str, ...]
    conditions: tuple[ChosenCondition, ...]
    entered: tuple[Entered, ...]
    override: TierOverride | None
    days: DaysOverride | None
    offered: tuple[str, ...] = ()
