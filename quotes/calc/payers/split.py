"""How much does each payer pay, and how much at most?

Tax is split by what is taxed of each payer's part, the owner's rounding stays with the owner, and a deductible moves an amount
from whoever has it to the owner. Each of these is a split of an amount that is rounded already, so the payers together pay what
the quote says, to the last cent, and nobody pays less than nothing.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency, largest_remainder
from quotes.calc.payers.figures import Figures
from quotes.calc.payers.parties import Payer, Rule, check_parties, with_owner
from quotes.calc.payers.shares import Assigner, ChargePart, HiddenShare, charge_parts, hidden_shares
from quotes.calc.tax import LABOUR, PARTS, Tax, taxes_labour


@dataclass(frozen=True, slots=True)
class Due:
    """What one payer comes to, on the visible work or on the limit.

    `net` and the taxes are what falls on the payer's own parts. `deductible` is what moves to the owner: negative for whom it
    moves from, positive for the owner. `total` is the sum of all of them, `rounding` included.
    """

    net: Decimal
    taxes: tuple[Tax, ...]
    deductible: Decimal
    rounding: Decimal
    total: Decimal

    @property
    def tax(self) -> Decimal:
        """All taxes together."""
        return sum((tax.amount for tax in self.taxes), Decimal(0))


@dataclass(frozen=True, slots=True)
class Share:
    """One payer's part of the quote: a paper of its own."""

    payer: Payer
    charges: tuple[ChargePart, ...]
    hidden: tuple[HiddenShare, ...]
    record: Decimal
    contingency: Decimal
    base: Due
    limit: Due

    def by_cause(self) -> dict[str, Decimal]:
        """The visible work by cause, before tax."""
        sums: dict[str, Decimal] = {}
        for part in self.charges:
            sums[part.cause] = sums.get(part.cause, Decimal(0)) + part.amount
        return sums


@dataclass(frozen=True, slots=True)
class Split:
    """A quote split over its payers, the owner first; `warnings` tell of rules that give nothing."""

    figures: Figures
    rules: tuple[Rule, ...]
    shares: tuple[Share, ...]
    warnings: tuple[str, ...]


def split_quote(figures: Figures, payers: Sequence[Payer], rules: Sequence[Rule]) -> Split:
    """Splits a quote over its payers.

    Args:
        figures: the stored amounts of the quote, rounded.
        payers: at most one of each label; the owner need not stand among them.
        rules: the first that fits a portion of a line decides; what none speaks of is the owner's.

    Returns:
        Every amount rounded to the currency by largest remainder; over all payers base, taxes, base with tax, record,
        contingency, limit and limit with tax add up to the quote's, and no total is negative.

    Raises:
        PayerError, CalculationFaults: payers or rules that contradict themselves.

    Source: common practice, none published; the order (lines, tax, deductible, rounding) is this service's own.
    """
    check_parties(payers, rules)
    parties = with_owner(payers)
    assigner = Assigner(rules, [payer.label for payer in parties])
    charges = charge_parts(figures, assigner)
    hidden = hidden_shares(figures, assigner)
    nets = [_sum(part.amount for part in charges if part.payer == payer.label) for payer in parties]
    records = by_weights(figures.record, nets, figures.currency)
    contingencies = _contingencies(figures, parties, hidden, nets)
    taxed = _taxed(figures, parties, charges)
    base = dues(parties, nets, _base_taxes(figures, taxed, nets), figures.base_rounding)
    limits = [_sum(amounts) for amounts in zip(nets, records, contingencies, strict=True)]
    rest = [max(Decimal(0), record + pot) for record, pot in zip(records, contingencies, strict=True)]
    limit_taxes = _limit_taxes(figures, _taxed_in_limit(figures, parties, charges, taxed), rest, limits)
    limit = dues(parties, limits, limit_taxes, figures.limit_rounding)
    shares = tuple(
        Share(
            payer=payer,
            charges=tuple(part for part in charges if part.payer == payer.label),
            hidden=tuple(share for share in hidden if share.payer == payer.label),
            record=records[at],
            contingency=contingencies[at],
            base=base[at],
            limit=limit[at],
        )
        for at, payer in enumerate(parties)
    )
    return Split(figures, tuple(rules), shares, assigner.warnings())


def _contingencies(
    figures: Figures, parties: Sequence[Payer], hidden: Sequence[HiddenShare], nets: Sequence[Decimal]
) -> list[Decimal]:
    """Each payer's part of the contingency; what no component takes follows the visible work."""
    taken = [_sum(share.contingency for share in hidden if share.payer == payer.label) for payer in parties]
    left = by_weights(figures.contingency - _sum(taken), nets, figures.currency)
    return [own + more for own, more in zip(taken, left, strict=True)]


def _taxed(figures: Figures, parties: Sequence[Payer], charges: Sequence[ChargePart]) -> list[Decimal]:
    """What is taxed of each payer's visible work; whether labour is depends on the whole quote, not on one payer's part."""
    if not any(tax.base for tax in figures.base_taxes):
        return [Decimal(0)] * len(parties)
    return _of_classes((LABOUR, PARTS) if taxes_labour(figures.tax_mode) else (PARTS,), parties, charges)


def _taxed_in_limit(
    figures: Figures, parties: Sequence[Payer], charges: Sequence[ChargePart], taxed: Sequence[Decimal]
) -> Sequence[Decimal]:
    """The same for the limit, where hidden work may bring in the part that makes all labour taxable."""
    if figures.tax_mode == "all_with_parts" and figures.limit_taxes and not any(taxed):
        return _of_classes((LABOUR,), parties, charges)
    return taxed


def _of_classes(classes: Sequence[str], parties: Sequence[Payer], charges: Sequence[ChargePart]) -> list[Decimal]:
    return [
        _sum(part.amount for part in charges if part.payer == payer.label and part.charge.tax_class in classes)
        for payer in parties
    ]


def _base_taxes(figures: Figures, taxed: Sequence[Decimal], nets: Sequence[Decimal]) -> list[tuple[Tax, ...]]:
    return _taxes(figures.base_taxes, taxed, nets, figures.currency)


def _limit_taxes(
    figures: Figures, taxed: Sequence[Decimal], rest: Sequence[Decimal], limits: Sequence[Decimal]
) -> list[tuple[Tax, ...]]:
    """The limit's taxes: by what is taxed of the visible work, and by as much of the rest as the quote takes in."""
    if not figures.limit_taxes:
        return [()] * len(limits)
    base = figures.limit_taxes[0].base
    more, whole = base - _sum(taxed), _sum(rest) or Decimal(1)
    weights = [max(Decimal(0), own * whole + more * part) for own, part in zip(taxed, rest, strict=True)]
    bases = by_weights(base, weights, figures.currency, otherwise=limits)
    return _taxes(figures.limit_taxes, bases, limits, figures.currency)


def _taxes(
    taxes: Sequence[Tax], bases: Sequence[Decimal], otherwise: Sequence[Decimal], currency: Currency
) -> list[tuple[Tax, ...]]:
    """Every tax of the quote split by the taxed bases, for each payer in turn."""
    columns = []
    for tax in taxes:
        amounts = by_weights(tax.amount, bases, currency, otherwise=otherwise)
        columns.append([Tax(tax.name, tax.rate, own, amount) for own, amount in zip(bases, amounts, strict=True)])
    return [tuple(column[at] for column in columns) for at in range(len(bases))]


def dues(parties: Sequence[Payer], nets: Sequence[Decimal], taxes: Sequence[tuple[Tax, ...]], rounding: Decimal) -> list[Due]:
    """What each payer comes to: deductibles moved to the owner, then the rounding to whoever can bear it, the owner first.

    Args:
        parties: the owner first.
        nets: each one's part before tax.
        taxes: each one's taxes.
        rounding: of the whole, signed.

    Source: common practice, none published; the order (lines, tax, deductible, rounding) is this service's own.
    """
    gross = [net + _sum(tax.amount for tax in own) for net, own in zip(nets, taxes, strict=True)]
    moved = [-min(payer.deductible, max(Decimal(0), amount)) for payer, amount in zip(parties, gross, strict=True)]
    moved[0] -= _sum(moved)
    before = [amount + moves for amount, moves in zip(gross, moved, strict=True)]
    roundings = _borne(rounding, before)
    return [
        Due(net, own, moves, rounded, amount + rounded)
        for net, own, moves, rounded, amount in zip(nets, taxes, moved, roundings, before, strict=True)
    ]


def _borne(rounding: Decimal, totals: Sequence[Decimal]) -> list[Decimal]:
    """The owner's rounding: his, but where it lowers the total by more than he pays at all, then the next one's."""
    borne = []
    for total in totals:
        part = rounding if rounding >= 0 else max(rounding, min(Decimal(0), -total))
        borne.append(part)
        rounding -= part
    return borne


def by_weights(
    total: Decimal, weights: Sequence[Decimal], currency: Currency, otherwise: Sequence[Decimal] = ()
) -> list[Decimal]:
    """A total by weights, by other weights where those are all 0, and the owner's, who is first, where those are too.

    Args:
        total: rounded to the currency; the parts add up to it (largest remainder).
        weights: one for each payer, none negative.
        currency: of the total.
        otherwise: further weights.
    """
    for parts in (weights, otherwise):
        if any(parts):
            return list(largest_remainder(total, parts, currency))
    return [total, *[Decimal(0)] * (len(weights) - 1)]


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))
