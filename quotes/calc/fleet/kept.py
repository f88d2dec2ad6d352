"""Which part of the cost base did this fleet read?

One part for all its quotes, since none of them can be worked out again without the others.
"""

from collections.abc import Sequence
from dataclasses import replace

from costbase.calc.cost_base import CostBase
from quotes.calc.fleet.lot import Fleet
from quotes.calc.frozen_base import part_read
from quotes.calc.inputs import QuoteInputs


def fleet_part_read(cost_base: CostBase, coaches: Sequence[QuoteInputs], fleet: Fleet) -> CostBase:
    """The cost base cut down to what the fleet needs to be computed again from its coaches.

    Args:
        cost_base: everything in force on the day.
        coaches: what was asked for each coach, in their order.
        fleet: as it was worked out from these.
    """
    parts = [part_read(cost_base, inputs, quote) for inputs, quote in zip(coaches, fleet.alone, strict=True)]
    return replace(
        parts[0],
        trades={slug: trade for part in parts for slug, trade in part.trades.items()},
        materials={slug: material for part in parts for slug, material in part.materials.items()},
        prices={slug: price for part in parts for slug, price in part.prices.items()},
        assemblies={slug: assembly for part in parts for slug, assembly in part.assemblies.items()},
        conditions={slug: condition for part in parts for slug, condition in part.conditions.items()},
    )
