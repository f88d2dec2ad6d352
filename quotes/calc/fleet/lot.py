"""What does a lot of coaches cost, line by line, and what is each coach's share of it?

Each coach is worked out as if it came alone: its take-off, its tier, its hidden components and their unit prices are its own.
Then the lines of all of them are made into the lot's, each is shared out again, and what is set aside is worked out for each
coach and for the lot.

Coaches need not be of one construction. They are quoted on one plan with one skin, so the same list of work stands over all of
them; what only some of them have is learned and shared among those. A lot of one coach is the quote of that coach.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError, CalculationFaults, raise_faults
from costbase.calc.money import Currency
from quotes.calc.contingency import MOST_COACHES, CostFactors, SamplePoints, SetAside, lot_set_aside, set_aside
from quotes.calc.days import days
from quotes.calc.fleet.goods import LotFreight, LotGoods, lot_freight, lot_goods
from quotes.calc.fleet.labour import LotLabour, lot_labour
from quotes.calc.fleet.shop import LotShop, coach_visible, lot_shop, with_shop
from quotes.calc.fleet.sums import coach_totals, with_expected
from quotes.calc.inputs import QuoteInputs
from quotes.calc.labour import LabourLine
from quotes.calc.pricing import Visible, visible_work
from quotes.calc.quote import Quote, compute_quote, exposures_of
from quotes.calc.severity import SeverityRules
from quotes.calc.takeoff import Take
from quotes.calc.totals import Totals, total


class FleetError(CalculationError):
    """A fleet without a coach, with too many, or whose coaches are not quoted on the same work."""

    code = "bad_fleet"


@dataclass(frozen=True, slots=True)
class Fleet:
    """A worked lot.

    `alone` is each coach's quote as if it came alone, `quotes` the same with its shares of the lot, its own limit and its days,
    both in the order in which the coaches are done. `labour`, `goods`, `freight` and `shop` are the lot's lines with their
    shares; `visible`, `set_aside` and `totals` are the lot's.
    """

    currency: Currency
    alone: tuple[Quote, ...]
    quotes: tuple[Quote, ...]
    labour: tuple[LotLabour, ...]
    goods: tuple[LotGoods, ...]
    freight: tuple[LotFreight, ...]
    shop: tuple[LotShop, ...]
    takes: tuple[Take, ...]
    visible: Visible
    set_aside: SetAside
    totals: Totals
    provisional: bool


def compute_fleet(
    coaches: Sequence[QuoteInputs], cost_base: CostBase, rules: SeverityRules, factors: CostFactors, points: SamplePoints
) -> Fleet:
    """Works a lot out: every amount rounded where `costbase.calc.money.ROUNDED_WHERE` says, in the shop's currency.

    Args:
        coaches: what is asked for each coach, in the order in which they are done, 1 to 50; one plan, skin and list of options.
        cost_base: everything the shop charges and buys on the day.
        rules: severity rules in force on the day.
        factors: the shop's record; NO_HISTORY where there is none.
        points: the fixed sample points.

    Raises:
        FleetError: no coach, too many, or coaches that are not quoted on the same work.
        CalculationError: as `compute_quote`, for every coach at once, with its field below ``coaches/<index>``.
    """
    _check(coaches)
    alone = _alone(coaches, cost_base, rules, factors, points)
    order = [*cost_base.plan.assemblies, *coaches[0].options]
    labour = lot_labour(alone, order, cost_base.trades, cost_base.rule.unit_learning, cost_base.currency)
    goods = lot_goods(alone, order, cost_base)
    visible = visible_work(tuple(lot.line for lot in labour), tuple(lot.line for lot in goods), cost_base)
    freight = lot_freight(visible.freight, goods, cost_base.currency)
    own = [coach_visible(place, quote.visible, labour, goods, freight) for place, quote in enumerate(alone)]
    shop = lot_shop(visible, [each.base for each in own], cost_base.currency)
    shares = [with_shop(each, place, shop) for place, each in enumerate(own)]
    lot, asides = _set_aside(coaches, alone, visible, shares, cost_base, rules, factors, points)
    totals = total(visible, lot, [work for quote in alone for work in quote.hidden], cost_base)
    each_total = coach_totals(shares, asides, [quote.hidden for quote in alone], (visible, totals), cost_base)
    quotes = tuple(
        replace(
            quote,
            visible=shares[place],
            set_aside=asides[place],
            totals=each_total[place],
            days=days(
                replace(shares[place], labour=worked_lines(labour, place)),
                quote.takes,
                quote.measured,
                quote.hidden,
                asides[place].contingency,
                cost_base,
            ),
        )
        for place, quote in enumerate(alone)
    )
    provisional = any(quote.provisional for quote in quotes)
    return Fleet(
        cost_base.currency,
        alone,
        quotes,
        labour,
        goods,
        freight,
        shop,
        lot_takes(alone, order),
        visible,
        lot,
        totals,
        provisional,
    )


def lot_takes(quotes: Sequence[Quote], order: Sequence[str]) -> tuple[Take, ...]:
    """What every assembly comes to over all coaches: its driver, without hours and needs, which stand in the lines.

    Args:
        quotes: each coach as it would be alone.
        order: slugs of the assemblies, in the order of the plan and its options.
    """
    found: dict[str, list[Take]] = {}
    for quote in quotes:
        for take in quote.takes:
            found.setdefault(take.assembly.slug, []).append(take)
    return tuple(_together(found[slug]) for slug in order if slug in found)


def _together(takes: Sequence[Take]) -> Take:
    hours = {trade: sum(take.hours.get(trade, 0.0) for take in takes) for take in takes for trade in take.hours}
    return takes[0]._replace(driver=sum(take.driver for take in takes), by_section=(), hours=hours, needs={})


def worked_lines(labour: Sequence[LotLabour], place: int) -> tuple[LabourLine, ...]:
    """The labour lines of a coach with the hours that it takes in its turn, for its days in the shop; no amount is in them.

    Args:
        labour: lines of the lot.
        place: of the coach, from 0.
    """
    return tuple(share.alone._replace(hours=share.worked) for lot in labour for share in lot.shares if share.place == place)


def _check(coaches: Sequence[QuoteInputs]) -> None:
    if not 1 <= len(coaches) <= MOST_COACHES:
        raise FleetError(f"expected 1 to {MOST_COACHES} coaches", field="coaches", value=len(coaches))
    for place, inputs in enumerate(coaches):
        if (inputs.plan, inputs.skin, inputs.options) != (coaches[0].plan, coaches[0].skin, coaches[0].options):
            words = "expected every coach of a lot on the same plan, skin and options"
            raise FleetError(words, field=f"coaches/{place}", value=inputs.plan)


def _alone(
    coaches: Sequence[QuoteInputs], cost_base: CostBase, rules: SeverityRules, factors: CostFactors, points: SamplePoints
) -> tuple[Quote, ...]:
    quotes: list[Quote] = []
    faults: list[CalculationError] = []
    for place, inputs in enumerate(coaches):
        try:
            quotes.append(compute_quote(inputs, cost_base, rules, factors, points))
        except CalculationFaults as several:
            faults += [fault.under(f"coaches/{place}") for fault in several.faults]
        except CalculationError as fault:
            faults.append(fault.under(f"coaches/{place}"))
    raise_faults(faults)
    return tuple(quotes)


def _set_aside(
    coaches: Sequence[QuoteInputs],
    alone: Sequence[Quote],
    visible: Visible,
    shares: Sequence[Visible],
    cost_base: CostBase,
    rules: SeverityRules,
    factors: CostFactors,
    points: SamplePoints,
) -> tuple[SetAside, list[SetAside]]:
    """What is set aside for the lot, and for each coach by itself."""
    rule, currency = cost_base.rule, cost_base.currency
    spreads = [rules.survey_spread[inputs.survey.method] for inputs in coaches]
    exposures = [exposures_of(quote.hidden) for quote in alone]
    asides = [
        set_aside(
            points,
            exposures[place],
            basis=rule.price_basis,
            level=rule.confidence_level,
            base=shares[place].base,
            factors=factors,
            sd_survey=spreads[place],
            currency=currency,
        )
        for place in range(len(coaches))
    ]
    lot = lot_set_aside(
        points,
        exposures,
        asides,
        basis=rule.price_basis,
        level=rule.confidence_level,
        base=visible.base,
        factors=factors,
        # The spread is about all of them together; the coach that is known least decides.
        sd_survey=max(spreads),
        currency=currency,
    )
    bases: list[Decimal] = [share.base for share in shares]
    return lot, with_expected(asides, bases, lot, currency)
