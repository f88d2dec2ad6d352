"""How many hours of which trade, and why more than the template says?

A labour line is one assembly and one trade. Conditions on the roof multiply its hours; the factors of one line multiply each
other and stop at a cap. The size of the crew changes how long the work takes, never how many hours are billed.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import Condition, Trade
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, decimal_quantity, extend
from quotes.calc.takeoff import Take

MULTIPLIER_CAP = Decimal(2)  # common practice, none published: beyond it the template itself is wrong
HOUR_PLACES = 4
_ONE = Decimal(1)
REFIT = "refit"
_NO_HOURS = Decimal("0.0000")


class NoRateError(CalculationError):
    """No rate of this trade is in force on the day."""

    code = "no_rate"


class ConditionConflictError(CalculationError):
    """Two conditions that cannot hold at once were both chosen."""

    code = "condition_conflict"


@dataclass(frozen=True, slots=True)
class ChosenCondition:
    """A condition that holds on this job, and why: the words of a person, or of the survey."""

    slug: str
    reason: str


@dataclass(frozen=True, slots=True)
class Multiplier:
    """One factor on a line, with its reason."""

    slug: str
    factor: Decimal
    reason: str


class LabourLine(NamedTuple):
    """Hours of one trade for one assembly, priced.

    `template_hours` are the hours before multipliers (four decimals), `hours` after them (four decimals); `amount` is hours x
    billed rate and `cost` hours x cost rate, each rounded once to the currency. `set_up_hours` are the hours of set-up in
    `hours`, after multipliers (four decimals).
    """

    assembly: str
    name: str
    phase: str
    kind: str
    trade: str
    template_hours: Decimal
    multipliers: tuple[Multiplier, ...]
    factor: Decimal
    hours: Decimal
    rate: Decimal
    amount: Decimal
    cost: Decimal
    off_share: float | None
    set_up_hours: Decimal = Decimal(0)


def chosen(conditions: dict[str, Condition], picks: Sequence[ChosenCondition]) -> tuple[Multiplier, ...]:
    """The multipliers that hold on this job, with their reasons, in the order chosen.

    Raises:
        ConditionConflictError: a condition that is unknown, or two that exclude each other.
    """
    slugs = [pick.slug for pick in picks]
    for at, pick in enumerate(picks):
        condition = conditions.get(pick.slug)
        if condition is None:
            known = ", ".join(sorted(conditions)) or "none"
            raise ConditionConflictError(
                f"no condition '{pick.slug}' is in force; known are: {known}",
                field=f"conditions/{at}/slug",
                value=pick.slug,
            )
        for other in sorted(condition.excludes & set(slugs)):
            raise ConditionConflictError(
                f"'{pick.slug}' and '{other}' cannot both hold",
                field=f"conditions/{at}/slug",
                value=pick.slug,
            )
    return tuple(Multiplier(pick.slug, conditions[pick.slug].factor, pick.reason) for pick in picks)


def acts_on(condition: Condition, assembly: str, phase: str) -> bool:
    """Whether a condition multiplies the hours of this assembly: by name, by phase, or all when it lists neither."""
    if condition.assemblies or condition.phases:
        return assembly in condition.assemblies or phase in condition.phases
    return True


def labour_lines(
    takes: Iterable[Take],
    trades: dict[str, Trade],
    conditions: dict[str, Condition],
    multipliers: Sequence[Multiplier],
    currency: Currency,
) -> tuple[LabourLine, ...]:
    """A priced line for each assembly and trade with hours, in the order of the take-off.

    Raises:
        NoRateError: a trade that an assembly needs has no rate in force.
    """
    lines = []
    for take in takes:
        assembly = take.assembly
        on_it = tuple([m for m in multipliers if acts_on(conditions[m.slug], assembly.slug, assembly.phase)])
        factor = _factor(on_it)
        for slug, hours in take.hours.items():
            if hours > 0:
                lines.append(_line(assembly, trade_of(trades, slug), hours, on_it, factor, currency))
    return tuple(lines)


def _factor(on_it: tuple[Multiplier, ...]) -> Decimal:
    factor = _ONE
    for multiplier in on_it:
        factor *= multiplier.factor
    return min(factor, MULTIPLIER_CAP)


def trade_of(trades: Mapping[str, Trade], slug: str) -> Trade:
    """A trade with the rates in force.

    Raises:
        NoRateError: it has none.
    """
    trade = trades.get(slug)
    if trade is None:
        raise NoRateError(f"no rate for trade '{slug}' is in force on the day; enter one", field=f"rates/{slug}")
    return trade


def _line(
    assembly: Assembly, trade: Trade, hours: float, on_it: tuple[Multiplier, ...], factor: Decimal, currency: Currency
) -> LabourLine:
    template = decimal_quantity(hours, HOUR_PLACES)
    once = hours_of_set_up(assembly, trade.slug)
    billed = decimal_quantity(hours * float(factor), HOUR_PLACES) if on_it else template
    # In the order of the fields: a line names fourteen of them, and names are what costs here.
    return LabourLine(
        assembly.slug,
        assembly.name,
        assembly.phase,
        assembly.kind,
        trade.slug,
        template,
        on_it,
        factor,
        billed,
        trade.billed_per_hour,
        extend(billed, trade.billed_per_hour, currency),
        extend(billed, trade.cost_per_hour, currency),
        assembly.off_share,
        decimal_quantity(once * float(factor), HOUR_PLACES) if once else _NO_HOURS,
    )


def hours_of_set_up(assembly: Assembly, trade: str) -> float:
    """The hours of set-up of an assembly, before multipliers, that this trade works; 0 where another one sets up."""
    return assembly.set_up_hours if assembly.set_up_trade == trade else 0.0


def hours_by_phase(lines: Iterable[LabourLine]) -> dict[str, Decimal]:
    """Hours by phase; of an off-and-refit line its `off_share` falls in its own phase and the rest in phase refit."""
    phases: dict[str, Decimal] = {}
    for line in lines:
        off = line.hours
        if line.off_share is not None:
            off = decimal_quantity(float(line.hours) * line.off_share, HOUR_PLACES)
            phases[REFIT] = phases.get(REFIT, Decimal(0)) + line.hours - off
        phases[line.phase] = phases.get(line.phase, Decimal(0)) + off
    return phases


def hours_by_trade(lines: Iterable[LabourLine]) -> dict[str, Decimal]:
    """Hours by trade over all lines."""
    trades: dict[str, Decimal] = {}
    for line in lines:
        trades[line.trade] = trades.get(line.trade, Decimal(0)) + line.hours
    return trades
