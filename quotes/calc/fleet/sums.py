"""What do the lot and each of its coaches come to, with tax, limit and the owner's rounding?

Of the lot everything is worked once, as of one quote. Of a coach:

- its part of each tax on the visible work is a share of the lot's, by its own taxable base, so that the coaches' add up to it;
- the tax on its limit is that share, and what the tax on its own limit is more than on its own visible work: the same as long
  as nothing is set aside, and never less;
- in an open lot its expected visible work is a share of the lot's;
- the owner's rounding and the deposit belong to a total that somebody pays. The lot has its own, each coach has its own for the
  case that coaches are billed one by one, and these do not add up. Everything before them does, but for what is set aside:
  hidden work evens out between coaches, so the lot's contingency is less than theirs together.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, largest_remainder, share_of, to_step
from quotes.calc.contingency import SetAside
from quotes.calc.fleet.weights import weights
from quotes.calc.hidden import HiddenComponent
from quotes.calc.pricing import Visible
from quotes.calc.tax import PARTS, Tax, taxable, taxable_limit
from quotes.calc.totals import Totals, amounts_by_class, largest_material_share, total

_BY_PARTS = "all_with_parts"
_BOTH = "parts_and_labour"


def with_expected(asides: Sequence[SetAside], bases: Sequence[Decimal], lot: SetAside, currency: Currency) -> list[SetAside]:
    """What is set aside for each coach, its expected visible work being a share of the lot's by its own visible work.

    Args:
        asides: of each coach by itself.
        bases: visible work of each coach, in the same order.
        lot: what is set aside for the lot.
        currency: of the amounts.
    """
    expected = largest_remainder(lot.base_expected, weights(bases), currency)
    return [
        replace(
            aside,
            base_expected=share,
            record_difference=share - base,
            limit=(base if aside.basis == "firm" else share) + aside.contingency,
        )
        for aside, base, share in zip(asides, bases, expected, strict=True)
    ]


def coach_totals(
    visibles: Sequence[Visible],
    asides: Sequence[SetAside],
    hidden: Sequence[Sequence[HiddenComponent]],
    lot: tuple[Visible, Totals],
    cost_base: CostBase,
) -> tuple[Totals, ...]:
    """The totals of each coach.

    Args:
        visibles: each coach's shares of the lot's lines.
        asides: what is set aside for each, as `with_expected` gives it.
        hidden: the hidden components of each.
        lot: visible work and totals of the lot.
        cost_base: holds the rule.
    """
    base_mode, limit_mode = _modes(*lot, cost_base)
    own_bases = [taxable(amounts_by_class(visible), base_mode) for visible in visibles]
    shares = _tax_shares(lot[1].base_taxes, own_bases, cost_base.currency)
    return tuple(
        _with_taxes(
            total(visible, aside, works, cost_base),
            base=own_base,
            limit=_taxable_limit(visible, aside, works, limit_mode, cost_base),
            shares=shares[place],
            cost_base=cost_base,
        )
        for place, (visible, aside, works, own_base) in enumerate(zip(visibles, asides, hidden, own_bases, strict=True))
    )


def _modes(visible: Visible, totals: Totals, cost_base: CostBase) -> tuple[str, str]:
    """The tax modes of a coach's visible work and of its limit.

    Where one part makes the whole charge taxable, the charge is the lot's: labour on a coach without any part is taxed with it.
    """
    mode = cost_base.rule.tax_mode
    if mode != _BY_PARTS:
        return mode, mode
    taxed = amounts_by_class(visible).get(PARTS, Decimal(0)) > 0
    limit_taxed = any(tax.base > 0 for tax in totals.limit_taxes)
    return (_BOTH if taxed else mode), (_BOTH if limit_taxed else mode)


def _taxable_limit(
    visible: Visible, aside: SetAside, works: Sequence[HiddenComponent], mode: str, cost_base: CostBase
) -> Decimal:
    return taxable_limit(
        amounts_by_class(visible),
        mode,
        contingency=aside.contingency,
        record=Decimal(0) if aside.basis == "firm" else aside.record_difference,
        material_share=largest_material_share(works),
        currency=cost_base.currency,
    )


def _tax_shares(taxes: Sequence[Tax], own: Sequence[Decimal], currency: Currency) -> list[Mapping[str, Decimal]]:
    """Each coach's share of each of the lot's taxes on the visible work, by name."""
    split = {tax.name: largest_remainder(tax.amount, weights(own), currency) for tax in taxes}
    return [{name: shares[place] for name, shares in split.items()} for place in range(len(own))]


def _with_taxes(own: Totals, *, base: Decimal, limit: Decimal, shares: Mapping[str, Decimal], cost_base: CostBase) -> Totals:
    rule, currency = cost_base.rule, cost_base.currency
    base_taxes, limit_taxes = [], []
    for rate in rule.tax_rates:
        share = shares.get(rate.name, Decimal(0))
        more = share_of(limit, rate.rate, currency) - share_of(base, rate.rate, currency)
        if base > 0:
            base_taxes.append(Tax(rate.name, rate.rate, base, share))
        if limit > 0:
            limit_taxes.append(Tax(rate.name, rate.rate, limit, share + more))
    base_tax = sum((tax.amount for tax in base_taxes), Decimal(0))
    limit_tax = sum((tax.amount for tax in limit_taxes), Decimal(0))
    base_with_tax = to_step(own.base + base_tax, rule.total_step, currency)
    limit_with_tax = to_step(own.limit + limit_tax, rule.total_step, currency)
    return replace(
        own,
        base_taxes=tuple(base_taxes),
        base_tax=base_tax,
        base_rounding=base_with_tax - own.base - base_tax,
        base_with_tax=base_with_tax,
        limit_taxes=tuple(limit_taxes),
        limit_tax=limit_tax,
        limit_rounding=limit_with_tax - own.limit - limit_tax,
        limit_with_tax=limit_with_tax,
        deposit=share_of(base_with_tax, rule.deposit_share, currency),
    )
