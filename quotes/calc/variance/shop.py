"""Why did the job cost more than planned, and what did that do to the margin?

Planned cost is the visible work as agreed, at cost, and the hidden work that was expected (the allowance), at cost. Every
order, draw and credit moves the standard: what the work that was actually required should have cost. What it did cost beyond
that is rate, hours, prices, usage, subcontractors and the rest. All causes add to actual cost - planned cost, exactly; "the
rest" is by subtraction. The bridge of margins sets the revenue of each change of scope against its standard cost.

Adverse is positive in `cost_causes`; in the bridge of margins what costs more is negative.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency
from quotes.calc.variance.goods import MATERIAL_PRICE, MATERIAL_USAGE, Goods, goods_variances
from quotes.calc.variance.labour import LABOUR_MIX, LABOUR_RATE, LABOUR_YIELD, Grade, labour_variances
from quotes.calc.variance.steps import Bridge, Cause, Step, added, bridge

OWNER_CHANGES, HIDDEN_WITHIN, HIDDEN_BEYOND = "owner_changes", "hidden_within", "hidden_beyond"
COUNTED, OTHER_CHANGES, NOT_DONE = "counted", "other_changes", "not_done"
SUBCONTRACT, WARRANTY, OTHER, REVENUE = "subcontract", "warranty", "other", "revenue"

CAUSES = {
    OWNER_CHANGES: "what the owner wished",
    HIDDEN_WITHIN: "hidden work within what was set aside, less what was expected",
    HIDDEN_BEYOND: "hidden work beyond what was set aside, or without an agreed price",
    COUNTED: "counted work that came to less than quoted",
    OTHER_CHANGES: "other changes of the work",
    NOT_DONE: "work of a stopped job that was not done",
    LABOUR_RATE: "dearer hours",
    LABOUR_MIX: "hours of dearer trades",
    LABOUR_YIELD: "more hours than the work needs",
    MATERIAL_PRICE: "dearer goods",
    MATERIAL_USAGE: "more goods than the work needs",
    SUBCONTRACT: "subcontractors",
    WARRANTY: "returns under warranty",
    OTHER: "the rest: freight, credits and roundings of lines",
}
"""Every cause of a difference from planned cost, in the order of the bridge, with what it means."""


@dataclass(frozen=True, slots=True)
class Sides:
    """A piece of work: what the owner pays for it at quote prices, and what it should cost the shop."""

    price: Decimal
    cost: Decimal


NOTHING = Sides(Decimal(0), Decimal(0))


@dataclass(frozen=True, slots=True)
class NotDone:
    """A line of a stopped job, as far as it was not done: what it would have been at quote prices, and at standard cost."""

    name: str
    price: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class ShopFigures:
    """What the shop's side of a job is made of, ex tax.

    `visible` is the agreed visible work with the record of an open quote; `allowance` the hidden work that was expected;
    `counted` and `not_done` what was taken off (positive), the latter line by line; `within` the draws; `beyond`, `wishes` and
    `others` the accepted orders. `grades`, `goods` and `subcontract_planned` are the standard of the work that was actually
    required, beside what was. `billed` is ex tax.
    """

    visible: Sides
    allowance: Sides
    counted: Sides
    within: Sides
    beyond: Sides
    wishes: Sides
    others: Sides
    not_done: tuple[NotDone, ...]
    grades: tuple[Grade, ...]
    goods: tuple[Goods, ...]
    subcontract_planned: Decimal
    subcontract_actual: Decimal
    returns_cost: Decimal
    actual_cost: Decimal
    billed: Decimal

    @property
    def planned_cost(self) -> Decimal:
        """Visible work as agreed and expected hidden work, at cost."""
        return self.visible.cost + self.allowance.cost

    @property
    def planned_margin(self) -> Decimal:
        """Price less cost of what was planned."""
        return self.visible.price + self.allowance.price - self.planned_cost

    @property
    def standard_cost(self) -> Decimal:
        """What the work that was actually required should have cost."""
        more = added(part.cost for part in (self.within, self.beyond, self.wishes, self.others))
        return self.visible.cost + more - self.counted.cost - added(line.cost for line in self.not_done)

    @property
    def margin(self) -> Decimal:
        """What was billed, less what it cost."""
        return self.billed - self.actual_cost


def cost_causes(figures: ShopFigures, currency: Currency) -> tuple[Cause, ...]:
    """Every cause of `CAUSES`, in that order; they add to actual cost - planned cost exactly. Adverse is positive.

    Args:
        figures: both sides of the job.
        currency: of all amounts.

    Raises:
        MoneyError: a number is no finite Decimal, or hours have more than 4 decimals.

    Source: owner changes and hidden work at standard, then the usual variances of standard costing against the standard of the
    work actually required (flexible budget); common practice.
    """
    scope = [cause for cause, _ in _scope(figures)]
    work = _work(figures, currency)
    known = figures.standard_cost + added(cause.amount for cause in work)
    rest = Cause(
        OTHER, CAUSES[OTHER], (Step("what the causes above explain, and what the job cost", known, figures.actual_cost),)
    )
    return (*scope, *work, rest)


def margin_bridge(figures: ShopFigures, currency: Currency) -> Bridge:
    """From the planned margin to the margin at cost, cause by cause; adds exactly.

    Args:
        figures: both sides of the job.
        currency: of all amounts.

    Raises:
        MoneyError: a number is no finite Decimal, or hours have more than 4 decimals.
    """
    scope = [Cause(cause.slug, cause.name, (*_turned(cause), Step(words, before, after)))
             for cause, (words, before, after) in _scope(figures)]  # fmt: skip
    priced = figures.visible.price + figures.within.price + figures.beyond.price + figures.wishes.price + figures.others.price
    agreed = priced - figures.counted.price - added(line.price for line in figures.not_done)
    revenue = Cause(
        REVENUE, "billed beside what was agreed", (Step("work at quote prices, and what was billed", agreed, figures.billed),)
    )
    costs = cost_causes(figures, currency)[len(scope) :]
    turned = [Cause(cause.slug, cause.name, _turned(cause)) for cause in costs]
    return bridge(figures.planned_margin, [*scope, revenue, *turned], figures.margin)


def _turned(cause: Cause) -> tuple[Step, ...]:
    """The steps of a cost as they move a margin."""
    return tuple(Step(step.words, step.actual, step.standard) for step in cause.steps)


_Revenue = tuple[str, Decimal, Decimal]


def _scope(figures: ShopFigures) -> tuple[tuple[Cause, _Revenue], ...]:
    """The causes that change what had to be done, at standard cost, each with what it does to the price."""
    return (
        _more(OWNER_CHANGES, "orders of the owner's wish", figures.wishes),
        _more(HIDDEN_WITHIN, "hidden work expected, and drawn", figures.within, figures.allowance),
        _more(HIDDEN_BEYOND, "orders for hidden work", figures.beyond),
        _less(COUNTED, "counted work that was not needed", figures.counted),
        _more(OTHER_CHANGES, "other orders", figures.others),
        _undone(figures.not_done),
    )


def _more(slug: str, words: str, work: Sides, expected: Sides = NOTHING) -> tuple[Cause, _Revenue]:
    cost = Step(f"{words}, at standard cost", expected.cost, work.cost)
    return Cause(slug, CAUSES[slug], (cost,)), (f"{words}, at quote prices", expected.price, work.price)


def _less(slug: str, words: str, work: Sides) -> tuple[Cause, _Revenue]:
    cost = Step(f"{words}, at standard cost", work.cost, Decimal(0))
    return Cause(slug, CAUSES[slug], (cost,)), (f"{words}, at quote prices", work.price, Decimal(0))


def _undone(lines: Sequence[NotDone]) -> tuple[Cause, _Revenue]:
    """A step of cost for each line that a stopped job left undone, and what all of them would have been paid."""
    steps = tuple(Step(f"{line.name}, not done, at standard cost", line.cost, Decimal(0)) for line in lines if line.cost)
    price = added(line.price for line in lines)
    return Cause(NOT_DONE, CAUSES[NOT_DONE], steps), ("work not done when the job stopped, at quote prices", price, Decimal(0))


def _work(figures: ShopFigures, currency: Currency) -> Sequence[Cause]:
    """The causes that are about how the work was done."""
    labour = labour_variances(figures.grades, currency)
    goods = goods_variances(figures.goods, currency)
    words = "subcontractors as planned, and as they came"
    subcontract = Step(words, figures.subcontract_planned, figures.subcontract_actual)
    returns = Step("what jobs that came back have cost", Decimal(0), figures.returns_cost)
    return (
        labour.rate,
        labour.mix,
        labour.yield_,
        goods.price,
        goods.usage,
        Cause(SUBCONTRACT, CAUSES[SUBCONTRACT], (subcontract,)),
        Cause(WARRANTY, CAUSES[WARRANTY], (returns,)),
    )
