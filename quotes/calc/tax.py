"""Which part of a price is taxed, and how much tax falls on it?

Modes are shapes, not statutes: a shop chooses the one its adviser names, with its own rates. Tax is worked once per rate on the
summed base and rounded once (EN 16931, BR-CO-17), never line by line.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.cost_base import PricingRule, TaxRate
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, share_of

LABOUR = "labour"
PARTS = "parts"
UNTAXED = "untaxed"
TAX_CLASSES = (LABOUR, PARTS, UNTAXED)

# Source of the shapes: parts taxed and labour not, Cal. Code Regs. tit. 18 s. 1546; separated contract, 34 Tex. Admin. Code
# s. 3.290; all once any part is supplied, Fla. Admin. Code 12A-1.006; parts and labour, N.Y. TB-ST-40; lump sum, Tex. Tax Code
# s. 151.060.
#
# Some texts tax parts only where they are stated apart or come to more than a share of the charge (a tenth, in the first of
# these). A quote states every part on a line of its own, so `parts_only` taxes them whatever they come to. Whether a small job
# is charged in one sum instead, with the tax on its parts paid by the shop, is for the shop to say: with a rule of mode
# `lump_sum`.
TAX_MODES = ("none", "parts_only", "separated", "all_with_parts", "parts_and_labour", "lump_sum")
_TAXES_LABOUR = frozenset({"all_with_parts", "parts_and_labour"})
_TAXES_NOTHING = frozenset({"none", "lump_sum"})


class TaxModeError(CalculationError):
    """A pricing rule names a tax mode or class that does not exist."""

    code = "unknown_tax_mode"


@dataclass(frozen=True, slots=True)
class Tax:
    """One tax: the summed base, the rate as a share, and the amount rounded once."""

    name: str
    rate: Decimal
    base: Decimal
    amount: Decimal


def sum_by_class(amounts: Iterable[tuple[str, Decimal]]) -> dict[str, Decimal]:
    """Adds rounded amounts by tax class.

    Raises:
        TaxModeError: a class that does not exist.
    """
    sums: dict[str, Decimal] = {}
    for tax_class, amount in amounts:
        if tax_class not in TAX_CLASSES:
            raise TaxModeError(f"tax class must be one of {', '.join(TAX_CLASSES)}", value=tax_class)
        sums[tax_class] = sums.get(tax_class, Decimal(0)) + amount
    return sums


def taxes_labour(mode: str) -> bool:
    """Whether the mode can tax labour, so that hidden work counts whole in the limit's tax."""
    return mode in _TAXES_LABOUR


def taxable(by_class: Mapping[str, Decimal], mode: str) -> Decimal:
    """The part of the amounts that the mode taxes.

    Args:
        by_class: rounded amounts, as `sum_by_class` adds them.
        mode: one of `TAX_MODES`.

    Raises:
        TaxModeError: any other mode.
    """
    if mode not in TAX_MODES:
        raise TaxModeError(f"tax mode must be one of {', '.join(TAX_MODES)}", field="rule/tax_mode", value=mode)
    labour, parts = by_class.get(LABOUR, Decimal(0)), by_class.get(PARTS, Decimal(0))
    if mode in _TAXES_NOTHING:
        return Decimal(0)
    if mode == "parts_and_labour" or (mode == "all_with_parts" and parts > 0):
        return labour + parts
    if mode == "all_with_parts":
        return Decimal(0)
    return parts


def taxable_limit(
    by_class: Mapping[str, Decimal],
    mode: str,
    *,
    contingency: Decimal,
    record: Decimal,
    material_share: Decimal,
    currency: Currency,
) -> Decimal:
    """The most of the limit that can be taxed, so that the limit with tax is never too low.

    The contingency counts whole where the mode taxes labour, not at all where no tax is charged, and in the parts-only modes as
    far as its largest material share. Where one part makes the whole charge taxable, hidden work may bring that part in.

    Args:
        by_class: the visible work, as `sum_by_class` adds it.
        mode: one of `TAX_MODES`.
        contingency: set aside for hidden work, 0 or more.
        record: what this shop's record adds to the visible work of an open quote; may be negative. Nobody can tell beforehand
            how much of it is material, so what lowers the price lowers no tax on parts.
        material_share: largest share of material in the unit price of any exposed component, 0 to 1.
        currency: of all amounts; the material share of the contingency is rounded to it.

    Raises:
        TaxModeError: an unknown mode.
    """
    base = taxable(by_class, mode)
    if mode in _TAXES_NOTHING:
        return base
    if mode not in _TAXES_LABOUR:
        return base + share_of(contingency + max(Decimal(0), record), material_share, currency)
    if mode == "all_with_parts" and base == 0:
        if contingency == 0 or material_share == 0:
            return base
        base = by_class.get(LABOUR, Decimal(0))
    return base + record + contingency


def work_tax(base: Decimal, rates: Iterable[TaxRate], currency: Currency) -> tuple[Tax, ...]:
    """Every tax on a summed base, each rounded once."""
    return tuple(Tax(rate.name, rate.rate, base, share_of(base, rate.rate, currency)) for rate in rates)


def rule_taxes(base: Decimal, rule: PricingRule, currency: Currency) -> tuple[Tax, ...]:
    """The taxes of a pricing rule on a base; none where nothing is taxable."""
    return work_tax(base, rule.tax_rates, currency) if base > 0 else ()


def tax_apart(agreed: Iterable[Tax], currency: Currency) -> dict[str, Decimal]:
    """By what each agreed tax differs from its rate on its base, by its name; 0 but for a coach of a fleet.

    A coach of a fleet has its share of the tax of the lot, which is worked once, so its own may be a coin apart.

    Args:
        agreed: the taxes of the visible work as they were signed.
        currency: of all amounts.
    """
    return {tax.name: tax.amount - share_of(tax.base, tax.rate, currency) for tax in agreed}


def as_signed(taxes: Iterable[Tax], apart: Mapping[str, Decimal]) -> tuple[Tax, ...]:
    """Taxes of a job that is billed or settled, each with what the signed one is apart, never below 0.

    Args:
        taxes: each worked on its base; none where nothing is taxed.
        apart: of `tax_apart`, for the job.
    """
    return tuple(replace(tax, amount=max(Decimal(0), tax.amount + apart.get(tax.name, Decimal(0)))) for tax in taxes)
