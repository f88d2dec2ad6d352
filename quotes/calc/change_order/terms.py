"""What does a job bring to the pricing of a change of it, and what work may be asked for?

A change order is priced on the cost base that was frozen with the quote. What that base does not hold (a wish that nobody
offered) comes from the editions in force on the day, laid below it: `laid_under`.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError
from quotes.calc.labour import Multiplier
from quotes.calc.takeoff import Value, Values


class WorkError(CalculationError):
    """Work of a change order that this job or its cost base does not know, or that comes to nothing."""

    code = "bad_work"


@dataclass(frozen=True, slots=True)
class AssemblyWork:
    """An assembly on one section, or on the whole quote (section ""), with the measures that say how much; canonical."""

    assembly: str
    section: str
    measures: Mapping[str, Value]
    reason: str = ""


@dataclass(frozen=True, slots=True)
class RepairWork:
    """More of a hidden component at its agreed unit price; `extent` in the component's unit, four decimals at most."""

    component: str
    construction: str
    extent: Decimal
    reason: str = ""


@dataclass(frozen=True, slots=True)
class GoodsWork:
    """A material by itself: its net need in the unit of use, waste not included, four decimals at most."""

    material: str
    net: Decimal
    reason: str


@dataclass(frozen=True, slots=True)
class HoursWork:
    """Hours of a trade by themselves, four decimals at most."""

    trade: str
    hours: Decimal
    phase: str
    reason: str


@dataclass(frozen=True, slots=True)
class SubcontractWork:
    """Somebody else's work at a stated price; `cost` is what they charge. Both before tax, in the shop's currency."""

    name: str
    price: Decimal
    cost: Decimal
    tax_class: str
    reason: str


Work = AssemblyWork | RepairWork | GoodsWork | HoursWork | SubcontractWork


@dataclass(frozen=True, slots=True)
class Bought:
    """Of one material so far: net need in its unit of use, and what was billed of it (packs, or units of stock by use)."""

    net: Decimal
    billed: Decimal


@dataclass(frozen=True, slots=True)
class AgreedRepair:
    """A hidden component as it was agreed.

    `unit_price` with its parts and `set_up` are the owner's; `cost` is the shop's for one unit and `set_up_cost` for
    the set-up. `crew_hours` are hours of work over the crew, for one unit. `charged` says whether a found note or an earlier
    order has charged the set-up.
    """

    slug: str
    construction: str
    name: str
    unit: str
    unit_price: Decimal
    set_up: Decimal
    labour_part: Decimal
    material_part: Decimal
    can_close_up: bool
    cost: Decimal
    set_up_cost: Decimal
    crew_hours: float
    charged: bool


@dataclass(frozen=True, slots=True)
class JobTerms:
    """Everything of a job that the price of a change rests on.

    `cost_base` is the frozen one with what was laid under it; `added` names what came from there as (kind, slug) and `added_on`
    is its day. `sections` and `whole` are the measures of the quote, `sizes` what is bought in place of planned boards and
    skins. `multipliers` are the conditions of the quote, `quoted` the assemblies whose lines have them, and `carried` these and
    those of accepted orders, for which nothing is set up again. `bought` is of
    agreed lines and accepted orders together, as are `labour` and `supplies`.
    """

    cost_base: CostBase
    added: frozenset[tuple[str, str]]
    added_on: str
    sections: Mapping[str, Values]
    whole: Values
    sizes: Mapping[str, tuple[tuple[str, int], ...]]
    multipliers: tuple[Multiplier, ...]
    quoted: frozenset[str]
    carried: frozenset[str]
    bought: Mapping[str, Bought]
    labour: Decimal
    supplies: Decimal
    repairs: Mapping[tuple[str, str], AgreedRepair]


_KINDS = (("rate", "trades"), ("material", "materials"), ("price", "prices"), ("assembly", "assemblies"))


def laid_under(frozen: CostBase, today: CostBase) -> tuple[CostBase, frozenset[tuple[str, str]]]:
    """The frozen cost base, with what it does not hold taken from another one; and what that is, as (kind, slug).

    The frozen rule holds; only for classes of material that it knows no markup of, the other's markup does.
    """
    merged = replace(
        frozen,
        trades={**today.trades, **frozen.trades},
        materials={**today.materials, **frozen.materials},
        prices={**today.prices, **frozen.prices},
        assemblies={**today.assemblies, **frozen.assemblies},
        rule=replace(frozen.rule, markups={**today.rule.markups, **frozen.rule.markups}),
    )
    added = frozenset(
        (kind, slug) for kind, part in _KINDS for slug in getattr(today, part) if slug not in getattr(frozen, part)
    )
    return merged, added
