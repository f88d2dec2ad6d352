"""Why is a coach's share of the lot what it is?

First the coach by itself, as a single quote is told; then the line of the lot, which every coach's part goes into; then the
share.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from quotes.calc.contingency import CostFactors, SamplePoints
from quotes.calc.fleet.lot import Fleet
from quotes.calc.inputs import QuoteInputs
from quotes.calc.severity import SeverityRules
from quotes.calc.why import (
    Context,
    NothingToExplainError,
    Why,
    WhyStep,
    why_allowance,
    why_freight,
    why_labour,
    why_material,
    why_shop,
)
from quotes.calc.why.steps import FINE_SHOWN, number


@dataclass(frozen=True, slots=True)
class LotContext:
    """A fleet that was worked out again, with everything it was worked from, and the place (from 0) of the coach in
    question.
    """

    coaches: tuple[QuoteInputs, ...]
    cost_base: CostBase
    rules: SeverityRules
    factors: CostFactors
    points: SamplePoints
    fleet: Fleet
    place: int

    @property
    def mine(self) -> Context:
        """The coach with its shares."""
        inputs, quote = self.coaches[self.place], self.fleet.quotes[self.place]
        return Context(inputs, self.cost_base, self.rules, self.factors, self.points, quote)

    @property
    def alone(self) -> Context:
        """The coach as if it came alone."""
        return replace(self.mine, quote=self.fleet.alone[self.place])

    @property
    def lot(self) -> Context:
        """The lot, in the shape of a quote, for its visible work and totals only."""
        fleet = self.fleet
        return replace(
            self.mine, quote=replace(fleet.alone[0], visible=fleet.visible, set_aside=fleet.set_aside, totals=fleet.totals)
        )

    def amount(self, text: str, value: Decimal, source: str = "") -> WhyStep:
        """A step that comes to an amount."""
        return WhyStep(text, self.mine.money(value), self.mine.currency, source)

    @property
    def coach(self) -> str:
        """The coach in words."""
        return f"coach {self.place + 1} of {len(self.coaches)}"


def why_share_of_labour(lot: LotContext, assembly: str, trade: str) -> Why:
    """The steps to a coach's share of a labour line.

    Raises:
        NothingToExplainError: no such line.
    """
    for line in lot.fleet.labour:
        mine = next((share for share in line.shares if share.place == lot.place), None)
        if (line.line.assembly, line.line.trade) != (assembly, trade) or mine is None:
            continue
        rule = lot.cost_base.rule.edition.words()
        together = sum((share.alone.hours for share in line.shares), Decimal(0))
        steps = [
            *_by_itself(lot, why_labour(lot.alone, assembly, trade)),
            *(
                WhyStep(
                    f"coach {share.place + 1}, unit {share.unit} of this work"
                    + (
                        ": all of its hours, set-up included"
                        if share.unit == 1
                        else f": {number(share.learning)} of its hours beyond set-up"
                    ),
                    number(share.worked),
                    "h",
                    rule,
                )
                for share in line.shares
            ),
            WhyStep("hours of the lot, rounded to 4 decimals", number(line.line.hours), "h", ""),
            lot.amount(f"{number(line.line.hours)} h x {number(line.line.rate, FINE_SHOWN)}, rounded", line.line.amount),
            WhyStep("hours that the coaches would take one by one", number(together), "h", ""),
            _share(lot, f"{number(mine.alone.hours)} of {number(together)} h", line.line.amount, mine.line.amount),
        ]
        return Why(f"labour: {mine.line.name}, {trade}", mine.line.amount, tuple(steps))
    raise NothingToExplainError(f"the quote has no labour line of {trade} for {assembly}")


def why_share_of_material(lot: LotContext, slug: str) -> Why:
    """The steps to a coach's share of a material line.

    Raises:
        NothingToExplainError: no such line.
    """
    for goods in lot.fleet.goods:
        mine = next((share for share in goods.shares if share.place == lot.place), None)
        packed = goods.line.packed
        material = packed.material
        if material.slug != slug or mine is None:
            continue
        counted = f"packs of {number(material.pack_size)} {material.unit}" if packed.billed_in == "pack" else material.unit
        steps = [
            *_by_itself(lot, why_material(lot.alone, slug)),
            *(
                WhyStep(f"net need of coach {share.place + 1}", number(share.alone.packed.net), material.unit, "")
                for share in goods.shares
            ),
            WhyStep("net need of the lot", number(packed.net), material.unit, ""),
            WhyStep(
                f"with waste of {number(material.waste_share * 100)} %, once",
                number(packed.gross),
                material.unit,
                material.edition.words(),
            ),
            WhyStep(f"billed for the lot, counted once, in {counted}", number(packed.billed), material.pack_name, ""),
            lot.amount(f"{number(packed.billed)} x {number(goods.line.price, FINE_SHOWN)}, rounded", goods.line.amount),
            _share(
                lot,
                f"{number(mine.alone.packed.net)} of {_together(share.alone.packed.net for share in goods.shares)} "
                f"{material.unit}",
                goods.line.amount,
                mine.line.amount,
            ),
        ]
        return Why(f"material: {material.name}", mine.line.amount, tuple(steps))
    raise NothingToExplainError(f"the quote has no material line for {slug}")


def why_share_of_freight(lot: LotContext, slug: str) -> Why:
    """The steps to a coach's share of what it costs to have a material brought.

    Raises:
        NothingToExplainError: no such line.
    """
    for freight in lot.fleet.freight:
        mine = next((share for share in freight.shares if share.place == lot.place), None)
        if freight.line.slug != slug or mine is None:
            continue
        goods = next(each for each in lot.fleet.goods if each.line.packed.material.slug == freight.line.material.slug)
        need = next(share for share in goods.shares if share.place == lot.place).alone.packed.net
        words = f"{number(need)} of {_together(share.alone.packed.net for share in goods.shares)} {freight.line.material.unit}"
        steps = [
            *(replace(step, text=f"lot: {step.text}") for step in why_freight(lot.lot, slug).steps),
            _share(lot, words, freight.line.amount, mine.line.amount),
        ]
        return Why(freight.line.name, mine.line.amount, tuple(steps))
    raise NothingToExplainError(f"the quote has no line {slug}")


def why_share_of_shop(lot: LotContext, slug: str) -> Why:
    """The steps to a coach's share of one of the shop's lines.

    Raises:
        NothingToExplainError: no such line.
    """
    for line in lot.fleet.shop:
        mine = line.shares[lot.place]
        if line.line.slug != slug or mine.line.amount == 0:
            continue
        direct = sum((share.direct for share in line.shares), Decimal(0))
        steps = [
            *(replace(step, text=f"lot: {step.text}") for step in why_shop(lot.lot, slug).steps),
            lot.amount("labour and materials of all coaches", direct),
            _share(
                lot,
                f"{lot.mine.money(mine.direct)} of {lot.mine.money(direct)}",
                line.line.amount,
                mine.line.amount,
            ),
        ]
        return Why(line.line.name, mine.line.amount, tuple(steps))
    raise NothingToExplainError(f"the quote has no line {slug}")


def why_own_allowance(lot: LotContext) -> Why:
    """The steps to a coach's allowance, which is its own, and what it is part of."""
    why = why_allowance(lot.mine)
    together = lot.amount("allowance of the lot: the sum of its coaches'", lot.fleet.totals.allowance)
    return replace(why, steps=(together, *why.steps))


def _by_itself(lot: LotContext, why: Why) -> Iterable[WhyStep]:
    return (replace(step, text=f"alone: {step.text}") for step in why.steps)


def _share(lot: LotContext, words: str, whole: Decimal, share: Decimal) -> WhyStep:
    text = f"share of {lot.coach}: {words}, of {lot.mine.money(whole)}, so that the shares add up"
    return lot.amount(text, share)


def _together(quantities: Iterable[Decimal]) -> str:
    return number(sum(quantities, Decimal(0)))
