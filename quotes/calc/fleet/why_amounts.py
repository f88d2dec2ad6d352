"""Why is a sum of one coach of a fleet what it is, and what is it beside the lot's?"""

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal

from quotes.calc.fleet.why import LotContext
from quotes.calc.tax import Tax
from quotes.calc.why import Why, WhyStep, why_amount
from quotes.calc.why.steps import number

# What is said of the lot before the coach's own amount is told.
_OF_THE_LOT = {
    "labour": "labour lines of the lot, of which every coach has its shares",
    "materials": "material lines of the lot, of which every coach has its shares",
    "base": "visible work of the lot, of which every coach has its shares",
    "contingency": "contingency of the lot: hidden work of its coaches evens out, as far as they do not share their wetness",
    "reserve": "reserve of the lot",
    "limit": "limit of the lot: the most that is paid for all its coaches together",
    "base_with_tax": "visible work of the lot with tax; rounding is each total's own",
    "limit_with_tax": "limit of the lot with tax; rounding is each total's own",
}
_TOGETHER = ("contingency", "limit")


def why_coach_amount(lot: LotContext, name: str) -> Why:
    """The steps to one of the amounts of a coach, after what it is for the lot.

    Args:
        lot: the fleet, worked out again, with the coach.
        name: one of `quotes.calc.why.AMOUNTS`.

    Raises:
        NothingToExplainError: any other name.
    """
    if name in _WORKERS:
        return Why(name, *_WORKERS[name](lot))
    why = why_amount(lot.mine, name)
    return replace(why, steps=(*_before(lot, name), *why.steps))


def _before(lot: LotContext, name: str) -> list[WhyStep]:
    if name not in _OF_THE_LOT:
        return []
    visible = {"labour": lot.fleet.visible.labour_total, "materials": lot.fleet.visible.material_total}
    value = visible[name] if name in visible else getattr(lot.fleet.totals, name)
    steps = [lot.amount(_OF_THE_LOT[name], value)]
    if name in _TOGETHER:
        together = sum((getattr(quote.totals, name) for quote in lot.fleet.quotes), Decimal(0))
        steps.insert(0, lot.amount(f"{name} of every coach by itself, together", together))
    return steps


def _record(lot: LotContext) -> tuple[Decimal, tuple[WhyStep, ...]]:
    why = why_amount(lot.mine, "record")
    value = lot.fleet.totals.record
    words = "this shop's record on the lot, of which every coach has a share by its visible work"
    return lot.mine.quote.totals.record, (lot.amount(words, value), *why.steps)


def _base_tax(lot: LotContext) -> tuple[Decimal, tuple[WhyStep, ...]]:
    totals, rule = lot.mine.quote.totals, lot.cost_base.rule
    steps = [lot.amount("taxable visible work of the lot", _base_of(lot.fleet.totals.base_taxes), rule.edition.words())]
    steps += [_worked(lot, tax) for tax in lot.fleet.totals.base_taxes]
    steps.append(lot.amount(f"taxable visible work of {lot.coach}", _base_of(totals.base_taxes), rule.edition.words()))
    steps += [_shared(lot, tax) for tax in totals.base_taxes]
    return totals.base_tax, (*steps, lot.amount("tax", totals.base_tax))


def _limit_tax(lot: LotContext) -> tuple[Decimal, tuple[WhyStep, ...]]:
    totals, rule = lot.mine.quote.totals, lot.cost_base.rule
    steps = [
        lot.amount("share of the lot's tax on visible work", totals.base_tax, "why: base_tax"),
        lot.amount(f"taxable limit of {lot.coach}", _base_of(totals.limit_taxes), rule.edition.words()),
        lot.amount("taxable visible work in it", _base_of(totals.base_taxes)),
    ]
    shares = {tax.name: tax.amount for tax in totals.base_taxes}
    steps += [
        lot.amount(
            f"{tax.name}: {number(tax.rate * 100)} % of the limit less the same of visible work, each rounded",
            tax.amount - shares.get(tax.name, Decimal(0)),
            rule.edition.words(),
        )
        for tax in totals.limit_taxes
    ]
    return totals.limit_tax, (*steps, lot.amount("tax: the share, and what the limit adds", totals.limit_tax))


def _base_of(taxes: tuple[Tax, ...]) -> Decimal:
    return taxes[0].base if taxes else Decimal(0)


def _worked(lot: LotContext, tax: Tax) -> WhyStep:
    text = f"{tax.name}: {number(tax.rate * 100)} % of it for the lot, rounded once"
    return lot.amount(text, tax.amount, lot.cost_base.rule.edition.words())


def _shared(lot: LotContext, tax: Tax) -> WhyStep:
    return lot.amount(f"{tax.name}: share of the lot's by taxable visible work, so that the shares add up", tax.amount)


_WORKERS: dict[str, Callable[[LotContext], tuple[Decimal, tuple[WhyStep, ...]]]] = {
    "record": _record,
    "base_tax": _base_tax,
    "limit_tax": _limit_tax,
}
