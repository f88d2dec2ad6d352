"""Which part of the cost base did this quote read?

Only that part is kept with the quote: computing the same inputs against it gives the same amounts, and an edition that the
quote never looked at cannot make it look changed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import TypeVar

from costbase.calc.cost_base import CostBase
from quotes.calc.days import handing_on
from quotes.calc.inputs import QuoteInputs
from quotes.calc.quote import Quote

T = TypeVar("T")


def part_read(cost_base: CostBase, inputs: QuoteInputs, quote: Quote) -> CostBase:
    """The cost base cut down to what `quote` needs to be computed again from `inputs`.

    Kept whole are the plan with all its assemblies (which of them apply is part of the computation), the options that are sold
    or offered, the rule, the tiers, the severity rules and the hidden components with their repairs and the looks at them.
    """
    repairs = (slug for component in cost_base.components.values() for r in component.repairs for slug in r.assemblies)
    looks = (look.assembly for component in cost_base.components.values() for look in component.looks)
    sold = (*cost_base.plan.assemblies, *inputs.options, *inputs.offered)
    assemblies = _only(cost_base.assemblies, [*sold, *repairs, *looks])
    trades = [rate.trade for work in assemblies.values() for rate in work.labour]
    trades += [work.set_up_trade for work in assemblies.values() if work.set_up_trade]
    goods = [need.material for work in assemblies.values() for need in work.materials]
    # Another size of a board or skin may be chosen for the same need.
    goods += [slug for slug, material in cost_base.materials.items() if material.in_place_of in set(goods)]
    follows = [slug for slug, condition in cost_base.conditions.items() if condition.follows]
    # What is not there hands on what it waits for; neither its trades nor its goods are read.
    present = [*(take.assembly.slug for take in quote.takes), *inputs.offered]
    waits = _only(cost_base.assemblies, handing_on(present, cost_base.assemblies))
    return replace(
        cost_base,
        trades=_only(cost_base.trades, trades),
        materials=_only(cost_base.materials, goods),
        prices=_only(cost_base.prices, goods),
        assemblies={**assemblies, **waits},
        conditions=_only(cost_base.conditions, [*follows, *(m.slug for m in quote.multipliers)]),
    )


def _only(entries: Mapping[str, T], slugs: Iterable[str]) -> dict[str, T]:
    wanted = set(slugs)
    return {slug: entry for slug, entry in entries.items() if slug in wanted}
