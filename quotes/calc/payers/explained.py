"""Why does this payer pay this much?

The steps add up to the payer's total: parts of lines with the rule that gave each, taxes, deductible, rounding. They are made
here and nowhere else.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError
from quotes.calc.payers.parties import CAUSES, NOT_SAID
from quotes.calc.payers.shares import ChargePart, HiddenShare
from quotes.calc.payers.split import Due, Share, Split

# What can be asked of a payer: what is paid for the visible work, and what is paid at most; both with tax.
TOTALS = ("total", "limit_with_tax")


class NoSuchPayerError(CalculationError):
    """The quote has no payer at this position."""

    code = "nothing_to_explain"


@dataclass(frozen=True, slots=True)
class PayerStep:
    """One step: what it is, the amount that it adds, and where that comes from. `adds` is False for sums of the steps above."""

    text: str
    amount: Decimal
    source: str
    adds: bool = True


@dataclass(frozen=True, slots=True)
class PayerWhy:
    """The steps to one total of a payer; those that add come to `value` exactly."""

    of: str
    value: Decimal
    steps: tuple[PayerStep, ...]


def why_payer(split: Split, position: int, total: str = "total") -> PayerWhy:
    """The steps to what a payer pays.

    Args:
        split: the quote, split.
        position: the payer's, from 1; the owner is 1.
        total: one of `TOTALS`.

    Raises:
        NoSuchPayerError: no such payer, or no such total.
    """
    if not 1 <= position <= len(split.shares) or total not in TOTALS:
        words = f"expected a payer from 1 to {len(split.shares)} and one of {', '.join(TOTALS)}"
        raise NoSuchPayerError(words, value=(position, total))
    share = split.shares[position - 1]
    steps = [*_charge_steps(split, share)]
    due = share.base
    if total == "limit_with_tax":
        due = share.limit
        steps += _limit_steps(split, share)
    steps += _due_steps(split, share, due, "tax on it" if due is share.base else "the most tax that can fall on it")
    return PayerWhy(f"{total.replace('_', ' ')} of {share.payer.label}", due.total, tuple(steps))


def _charge_steps(split: Split, share: Share) -> Iterator[PayerStep]:
    for part in share.charges:
        words = f"{part.charge.kind}: {part.charge.name}{f', {part.charge.trade}' if part.charge.trade else ''}"
        if not part.whole:
            words += (
                f": {part.quantity} of {part.charge.quantity} {part.charge.unit}, part of {_money(split, part.charge.amount)}"
            )
        yield PayerStep(words, part.amount, _source(split, part))
    yield PayerStep("visible work: the sum of the parts of lines", share.base.net, "", adds=False)


def _limit_steps(split: Split, share: Share) -> Iterator[PayerStep]:
    figures = split.figures
    if figures.record:
        yield PayerStep(
            f"part of this shop's record on such work, {_money(split, figures.record)}", share.record, "by visible work"
        )
    taken = Decimal(0)
    for part in share.hidden:
        taken += part.contingency
        words = f"set aside for {part.hidden.name}: part of {_money(split, figures.contingency)}"
        yield PayerStep(words, part.contingency, f"{_source(split, part)}; by allowance, {_money(split, part.allowance)}")
    if share.contingency != taken:
        yield PayerStep("set aside for no component", share.contingency - taken, "by visible work")
    yield PayerStep("limit before tax", share.limit.net, "", adds=False)


def _due_steps(split: Split, share: Share, due: Due, words: str) -> Iterator[PayerStep]:
    whole = split.figures.base_taxes if due is share.base else split.figures.limit_taxes
    for tax, of_quote in zip(due.taxes, whole, strict=True):
        source = f"by what is taxed: {_money(split, tax.base)} of {_money(split, of_quote.base)}"
        yield PayerStep(f"{words}, {tax.name}: part of {_money(split, of_quote.amount)}", tax.amount, source)
    if due.deductible:
        owner = share.payer.deductible == 0
        text = "deductibles that the owner bears" if owner else "less the deductible, at most what stands above"
        yield PayerStep(text, due.deductible, "said with the payer")
    if due.rounding:
        yield PayerStep("rounding of the owner's total", due.rounding, "pricing rule of the quote")
    yield PayerStep("sum", due.total, "", adds=False)


def _source(split: Split, part: ChargePart | HiddenShare) -> str:
    cause = "" if part.cause == NOT_SAID else f"; {CAUSES[part.cause]}"
    if part.rules:
        words = ", ".join(f"rule {at} ({split.rules[at - 1].words()})" for at in part.rules)
        return f"{words}{cause}"
    if isinstance(part, ChargePart) and not part.charge.portions:
        return f"shared by the payers' parts of labour and material{cause}"
    return "no rule speaks of it, so it is the owner's"


def _money(split: Split, amount: Decimal) -> str:
    return f"{amount:.{split.figures.currency.digits}f}"
