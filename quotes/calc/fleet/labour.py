"""How many hours does the lot take, and how many of them are each coach's?

A line of the lot is one assembly and one trade. Set-up is done once, on the first coach that has the line; what else the work
takes is learned from coach to coach, counted over the coaches that have it: nobody gets faster at what is not done. Each coach
keeps its own conditions.

A coach pays for the share of the line that its own hours are of all, worked out as if each were alone. So two like coaches pay
the same whichever comes first, and none pays more than it would alone.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.cost_base import Trade
from costbase.calc.money import Currency, decimal_quantity, extend, largest_remainder, split_quantity
from quotes.calc.fleet.learning import learned
from quotes.calc.fleet.weights import weights
from quotes.calc.labour import HOUR_PLACES, LabourLine, hours_of_set_up, trade_of
from quotes.calc.quote import Quote
from quotes.calc.takeoff import Take

Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class LabourShare:
    """One coach's share of a labour line.

    `place` is the coach's, from 0; `unit` which of the coaches that have the line it is, from 1. `alone` is the line that it
    would have by itself, `worked` the hours that it will take in its turn (4 decimals), `line` what it pays: `alone` with its
    share of the lot's hours, amount and cost.
    """

    place: int
    unit: int
    learning: float
    alone: LabourLine
    worked: Decimal
    line: LabourLine


@dataclass(frozen=True, slots=True)
class LotLabour:
    """A labour line of the lot, with the share of each coach that has it, in their order.

    Of `line`, `template_hours` are those before conditions and after learning; `set_up_hours` are those of the first coach, and
    `factor` is that of all coaches, or the mean where their conditions differ.
    """

    line: LabourLine
    shares: tuple[LabourShare, ...]


@dataclass(frozen=True, slots=True)
class _Turn:
    """One coach's turn at a line: hours of the template as learned, and the same with its conditions, not rounded."""

    place: int
    unit: int
    learning: float
    alone: LabourLine
    template: float
    worked: float


def lot_labour(
    quotes: Sequence[Quote], order: Sequence[str], trades: Mapping[str, Trade], rate: float, currency: Currency
) -> tuple[LotLabour, ...]:
    """The labour lines of the lot, in the order of the plan.

    Args:
        quotes: each coach as it would be alone, in the order in which they are done.
        order: slugs of the assemblies, in the order of the plan and its options.
        trades: those in force.
        rate: share that hours beyond set-up come down to on each doubling of the units, 0.6 to 1.
        currency: of the amounts.

    Returns:
        Hours rounded half up to 4 decimals, once before conditions and once after; hours x billed rate rounded once. Shares by
        largest remainder, so that hours, amounts and costs of the coaches add up to the line's.
    """
    lines = []
    for key, places in _keys(quotes, order):
        turns = [_turn(quotes[place], place, unit, key, rate) for unit, place in enumerate(places, 1)]
        lines.append(_line(turns, trade_of(trades, key[1]), currency))
    return tuple(lines)


def _keys(quotes: Sequence[Quote], order: Sequence[str]) -> list[tuple[Key, list[int]]]:
    """Every assembly and trade with the places of the coaches that have it."""
    places: dict[Key, list[int]] = {}
    for place, quote in enumerate(quotes):
        for line in quote.visible.labour:
            places.setdefault((line.assembly, line.trade), []).append(place)
    rank = {slug: at for at, slug in enumerate(order)}
    # Stable: the trades of an assembly stay in the order of its template.
    return sorted(places.items(), key=lambda entry: rank[entry[0][0]])


def _turn(quote: Quote, place: int, unit: int, key: Key, rate: float) -> _Turn:
    (alone,) = (line for line in quote.visible.labour if (line.assembly, line.trade) == key)
    hours = _take(quote, key[0]).hours[key[1]]
    learning = learned(unit, rate)
    # The first one is worked out as a single quote is; the next find everything set up.
    template = hours if unit == 1 else (hours - _set_up(quote, key)) * learning
    return _Turn(place, unit, learning, alone, template, template * float(alone.factor))


def _take(quote: Quote, assembly: str) -> Take:
    return next(take for take in quote.takes if take.assembly.slug == assembly)


def _set_up(quote: Quote, key: Key) -> float:
    """Hours of set-up that are in the hours of this assembly and trade, before conditions."""
    return hours_of_set_up(_take(quote, key[0]).assembly, key[1])


def _line(turns: Sequence[_Turn], trade: Trade, currency: Currency) -> LotLabour:
    first = turns[0].alone
    alike = all(turn.alone.multipliers == first.multipliers for turn in turns)
    template = decimal_quantity(sum(turn.template for turn in turns), HOUR_PLACES)
    hours = decimal_quantity(sum(turn.worked for turn in turns), HOUR_PLACES)
    line = first._replace(
        template_hours=template,
        multipliers=first.multipliers if alike else (),
        factor=first.factor if alike else decimal_quantity(float(hours) / float(template), HOUR_PLACES),
        hours=hours,
        amount=extend(hours, trade.billed_per_hour, currency),
        cost=extend(hours, trade.cost_per_hour, currency),
    )
    return LotLabour(line, _shares(line, turns, currency))


def _shares(line: LabourLine, turns: Sequence[_Turn], currency: Currency) -> tuple[LabourShare, ...]:
    own = weights([turn.alone.hours for turn in turns])
    hours = split_quantity(line.hours, own, HOUR_PLACES)
    amounts = largest_remainder(line.amount, own, currency)
    costs = largest_remainder(line.cost, own, currency)
    set_up = split_quantity(line.set_up_hours, own, HOUR_PLACES)
    return tuple(
        LabourShare(
            place=turn.place,
            unit=turn.unit,
            learning=turn.learning,
            alone=turn.alone,
            worked=decimal_quantity(turn.worked, HOUR_PLACES),
            line=turn.alone._replace(hours=hours[at], set_up_hours=set_up[at], amount=amounts[at], cost=costs[at]),
        )
        for at, turn in enumerate(turns)
    )
