"""What does it come to when the owner ticks an option that is offered beside the price?

Each offered option is worked by the whole recipe with the option sold, and told as what that changes: differences of totals
that are rounded already, so that price and option add up to the total that is signed when it is ticked. Options share packs,
the cap of supplies, the minimum charge and the owner's rounding, so what all of them come to together is worked once more and
is not the sum of each.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError, CalculationFaults, raise_faults
from costbase.calc.money import decimal_quantity
from quotes.calc.contingency import CostFactors, SamplePoints
from quotes.calc.inputs import QuoteInputs
from quotes.calc.pricing import Visible
from quotes.calc.quote import PlanError, Quote, compute_quote
from quotes.calc.severity import SeverityRules

AMOUNTS = (
    "base", "record", "contingency", "limit", "base_tax", "base_rounding", "base_with_tax", "limit_tax", "limit_rounding",
    "limit_with_tax", "deposit", "cost",
)  # fmt: skip
# More than a page holds helps nobody to choose. Source: common practice, none published.
MOST_OFFERED = 12


@dataclass(frozen=True, slots=True)
class ChangedLine:
    """A line of the price that ticking brings in, adds to or lessens: by how much of its quantity, amount and cost."""

    kind: str  # "labour", "material" or "shop"
    slug: str
    trade: str
    name: str
    unit: str
    quantity: Decimal
    amount: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class Ticked:
    """What ticking these options changes; every amount is a total with them less the total without.

    `base` is the sum of the amounts of `lines`. `low` and `high` are days, half up to 4 decimals. `cautions` and `warnings` are
    those that the price without them does not have.
    """

    options: tuple[str, ...]
    name: str
    lines: tuple[ChangedLine, ...]
    base: Decimal
    record: Decimal
    contingency: Decimal
    limit: Decimal
    base_tax: Decimal
    base_rounding: Decimal
    base_with_tax: Decimal
    limit_tax: Decimal
    limit_rounding: Decimal
    limit_with_tax: Decimal
    deposit: Decimal
    cost: Decimal
    low: Decimal
    high: Decimal
    cautions: tuple[str, ...]
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Offered:
    """Every offered option by itself, in the order offered, and all of them together; None where nothing is offered."""

    each: tuple[Ticked, ...]
    together: Ticked | None


def offered(
    inputs: QuoteInputs,
    cost_base: CostBase,
    rules: SeverityRules,
    factors: CostFactors,
    points: SamplePoints,
    quote: Quote,
) -> Offered:
    """What each of `inputs.offered` changes in a worked quote, and what all of them change together.

    Args:
        inputs: of the quote; `offered` are slugs of assemblies of kind option that are not in the price.
        cost_base: that the quote was priced on; it holds the offered assemblies with their trades and goods.
        rules: severity rules, as for the quote.
        factors: the shop's record, as for the quote.
        points: the sample points, as for the quote.
        quote: worked from these inputs, without the offered options.

    Raises:
        CalculationFaults: every option that is unknown, no option, sold already, comes to nothing or cannot be priced, below
            ``offered/<place>``.
    """
    if not inputs.offered:
        return Offered((), None)
    faults: list[CalculationError] = []
    each = []
    for at, slug in enumerate(inputs.offered):
        try:
            _must_be_offered(slug, inputs, cost_base)
            ticked = with_options(inputs, (slug,), cost_base, rules, factors, points)
            each.append(difference(quote, ticked, (slug,), cost_base.assemblies[slug].name))
        except CalculationFaults as several:
            faults += [_placed(fault, at) for fault in several.faults]
        except CalculationError as fault:
            faults.append(_placed(fault, at))
    raise_faults(faults)
    if len(each) == 1:
        return Offered(tuple(each), each[0])
    ticked = with_options(inputs, inputs.offered, cost_base, rules, factors, points)
    return Offered(tuple(each), difference(quote, ticked, inputs.offered, "all options that are offered"))


def with_options(
    inputs: QuoteInputs,
    slugs: tuple[str, ...],
    cost_base: CostBase,
    rules: SeverityRules,
    factors: CostFactors,
    points: SamplePoints,
) -> Quote:
    """The quote as it is when these options are sold with it; arguments and errors as in `compute_quote`."""
    return compute_quote(replace(inputs, options=(*inputs.options, *slugs)), cost_base, rules, factors, points)


def difference(before: Quote, after: Quote, slugs: tuple[str, ...], name: str) -> Ticked:
    """What changes from one worked quote to another, in amounts of their currency."""
    one, other = before.totals, after.totals
    return Ticked(
        options=slugs,
        name=name,
        lines=_changed_lines(before.visible, after.visible),
        base=other.base - one.base,
        record=other.record - one.record,
        contingency=other.contingency - one.contingency,
        limit=other.limit - one.limit,
        base_tax=other.base_tax - one.base_tax,
        base_rounding=other.base_rounding - one.base_rounding,
        base_with_tax=other.base_with_tax - one.base_with_tax,
        limit_tax=other.limit_tax - one.limit_tax,
        limit_rounding=other.limit_rounding - one.limit_rounding,
        limit_with_tax=other.limit_with_tax - one.limit_with_tax,
        deposit=other.deposit - one.deposit,
        cost=other.cost - one.cost,
        low=decimal_quantity(after.days.low - before.days.low),
        high=decimal_quantity(after.days.high - before.days.high),
        cautions=_new(before.cautions, after.cautions),
        warnings=_new(before.warnings, after.warnings),
    )


def ticked_amounts(ticked: Ticked) -> dict[str, Decimal]:
    """Every amount of a change by its name, in the order in which they are worked."""
    return {name: getattr(ticked, name) for name in AMOUNTS}


def _must_be_offered(slug: str, inputs: QuoteInputs, cost_base: CostBase) -> None:
    """Refuses what cannot be ticked; that it is in force and an option, the recipe asks."""
    if slug in inputs.options:
        raise PlanError(f"'{slug}' is sold with this price; take it out of one of the two lists", value=slug)
    if slug in cost_base.plan.assemblies:
        raise PlanError(f"'{slug}' is part of plan '{cost_base.plan.slug}'; expected an option beside it", value=slug)


def _placed(fault: CalculationError, at: int) -> CalculationError:
    """A fault of working an option out, at the place of the option: without it the quote has none."""
    fault.field = f"offered/{at}"
    return fault


def _changed_lines(before: Visible, after: Visible) -> tuple[ChangedLine, ...]:
    """Every line that differs, in the order of the quote with the options; what fell away comes last."""
    old = {(line.kind, line.slug, line.trade): line for line in _lines(before)}
    new = {(line.kind, line.slug, line.trade): line for line in _lines(after)}
    changed = [_less(line, old.get(key)) for key, line in new.items()]
    changed += [
        replace(line, quantity=-line.quantity, amount=-line.amount, cost=-line.cost)
        for key, line in old.items()
        if key not in new
    ]
    return tuple(line for line in changed if line.quantity or line.amount or line.cost)


def _less(line: ChangedLine, before: ChangedLine | None) -> ChangedLine:
    if before is None:
        return line
    return replace(
        line,
        quantity=line.quantity - before.quantity,
        amount=line.amount - before.amount,
        cost=line.cost - before.cost,
    )


def _lines(visible: Visible) -> Iterator[ChangedLine]:
    """Lines of a quote as changes from nothing. A line of the shop has no quantity."""
    for labour in visible.labour:
        yield ChangedLine("labour", labour.assembly, labour.trade, labour.name, "h", labour.hours, labour.amount, labour.cost)
    for goods in visible.materials:
        material = goods.packed.material
        unit = material.pack_name if goods.packed.billed_in == "pack" else material.unit
        yield ChangedLine("material", material.slug, "", material.name, unit, goods.packed.billed, goods.amount, goods.cost)
    for freight in visible.freight:
        yield ChangedLine("material", freight.slug, "", freight.name, "order", Decimal(1), freight.amount, freight.cost)
    for shop in visible.shop:
        yield ChangedLine("shop", shop.slug, "", shop.name, "", Decimal(0), shop.amount, Decimal(0))


def _new(before: tuple[str, ...], after: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(text for text in after if text not in before)
