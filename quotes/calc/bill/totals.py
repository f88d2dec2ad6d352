"""What is billed, with tax and the owner's rounding, and may it be?

The order is that of a quote: items, tax once per rate on the sum of what is taxed, the owner's rounding after it. Then the
payers: tax by what is taxed of each one's part, deductibles to the owner, the rounding with the owner, each by largest
remainder, so that their bills add up to the job's to the last coin.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from costbase.calc.cost_base import PricingRule
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, to_step
from quotes.calc.bill.items import Item, check_items, net
from quotes.calc.payers import Due, Payer, by_weights, dues, with_owner
from quotes.calc.tax import LABOUR, PARTS, Tax, as_signed, rule_taxes, sum_by_class, taxable, taxes_labour


class BillPassesAuthorisedError(CalculationError):
    """The bill would be more than was authorised. In a firm price nothing that was written down can lead here."""

    code = "bill_passes_authorised"


@dataclass(frozen=True, slots=True)
class Terms:
    """Under which rule a job is billed, and up to what.

    `authorised_with_tax` is what the last consent says; `carried_with_tax` what an adopted policy lets be carried beyond it
    without a new one, 0 where none was adopted. Both in the currency. `tax_apart` is of `quotes.calc.tax.tax_apart`.
    """

    rule: PricingRule
    currency: Currency
    authorised_with_tax: Decimal
    carried_with_tax: Decimal = Decimal(0)
    tax_apart: Mapping[str, Decimal] = field(default_factory=dict)

    @property
    def most(self) -> Decimal:
        """The most that may be billed, with tax."""
        return self.authorised_with_tax + self.carried_with_tax


@dataclass(frozen=True, slots=True)
class Billed:
    """A bill of a job so far: its items, and what they come to. Amounts are rounded; `rounding` is signed.

    `dues` are the payers' parts in the order of `payers`, the owner first; over all of them everything adds up.
    """

    items: tuple[Item, ...]
    by_class: dict[str, Decimal]
    net: Decimal
    taxes: tuple[Tax, ...]
    tax: Decimal
    rounding: Decimal
    total: Decimal
    payers: tuple[Payer, ...]
    dues: tuple[Due, ...]

    def due(self, payer: str) -> Due:
        """What one payer comes to."""
        return next(due for party, due in zip(self.payers, self.dues, strict=True) if party.label == payer)


def billed(items: Sequence[Item], terms: Terms, payers: Sequence[Payer] = ()) -> Billed:
    """What these items come to, for the job and for each payer.

    Args:
        items: everything that is billed so far, and everything that was taken back.
        terms: of the job.
        payers: of the quote; the owner need not stand among them.

    Raises:
        BillItemError: items that are no bill.
        BillPassesAuthorisedError: more than may be billed, which says both amounts.

    Source: EN 16931-1:2017, BR-CO-10 to BR-CO-17, for the sums; the split over payers is this service's own.
    """
    parties = with_owner(payers)
    check_items(items, [party.label for party in parties])
    by_class, taxes, total = with_tax(items, terms)
    if total > terms.most:
        words = f"the bill would come to {total} with tax, and {terms.most} is authorised; a change order has to come first"
        raise BillPassesAuthorisedError(words, field="total", value=total)
    amount, tax = net(items), sum((tax.amount for tax in taxes), Decimal(0))
    rounding = total - amount - tax
    nets = [sum((item.part(party.label) for item in items), Decimal(0)) for party in parties]
    split = _taxes(items, taxes, parties, nets, terms)
    return Billed(
        items=tuple(items),
        by_class=by_class,
        net=amount,
        taxes=taxes,
        tax=tax,
        rounding=rounding,
        total=total,
        payers=parties,
        dues=tuple(dues(parties, nets, split, rounding)),
    )


def with_tax(items: Sequence[Item], terms: Terms) -> tuple[dict[str, Decimal], tuple[Tax, ...], Decimal]:
    """The items by tax class, the taxes on them, and the total to the owner's step."""
    by_class = sum_by_class((item.tax_class, item.amount) for item in items)
    worked = rule_taxes(taxable(by_class, terms.rule.tax_mode), terms.rule, terms.currency)
    taxes = as_signed(worked, terms.tax_apart)
    gross = net(items) + sum((tax.amount for tax in taxes), Decimal(0))
    return by_class, taxes, to_step(gross, terms.rule.total_step, terms.currency)


def _taxes(
    items: Sequence[Item], taxes: Sequence[Tax], parties: Sequence[Payer], nets: Sequence[Decimal], terms: Terms
) -> list[tuple[Tax, ...]]:
    """Every tax split by what is taxed of each payer's part; whether labour is, depends on the whole bill."""
    if not taxes:
        return [()] * len(parties)
    classes = (LABOUR, PARTS) if taxes_labour(terms.rule.tax_mode) else (PARTS,)
    taxed = [
        max(Decimal(0), sum((item.part(party.label) for item in items if item.tax_class in classes), Decimal(0)))
        for party in parties
    ]
    otherwise = [max(Decimal(0), amount) for amount in nets]
    bases = by_weights(taxes[0].base, taxed, terms.currency, otherwise)
    columns = [by_weights(tax.amount, bases, terms.currency) for tax in taxes]
    return [
        tuple(Tax(tax.name, tax.rate, bases[at], column[at]) for tax, column in zip(taxes, columns, strict=True))
        for at in range(len(parties))
    ]
