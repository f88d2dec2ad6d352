"""What does a split over payers need to know of a quote?

The amounts come as they are stored, rounded; nothing is priced again, so that an issued quote is split as it was issued,
whatever arithmetic priced it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency
from quotes.calc.tax import Tax


@dataclass(frozen=True, slots=True)
class Portion:
    """The smallest piece of a line that a rule can speak of: what one assembly contributes in one section.

    `section` is "" for work that belongs to the quote as a whole, `assembly` and `phase` are "" for a hidden component.
    `weight` is what the line is split by, 0 or more, in any unit that the line's portions have in common.
    """

    assembly: str
    phase: str
    section: str
    weight: Decimal


@dataclass(frozen=True, slots=True)
class Charge:
    """A line of the quote. The shop's own lines have no portions: they follow the others."""

    position: int
    kind: str
    slug: str
    trade: str
    name: str
    phase: str
    tax_class: str
    quantity: Decimal
    unit: str
    amount: Decimal
    portions: tuple[Portion, ...]
    unit_price: Decimal | None = None  # shown only


@dataclass(frozen=True, slots=True)
class Hidden:
    """A hidden component: its part of the allowance, and what all of it would cost if all were found."""

    position: int
    slug: str
    name: str
    allowance: Decimal
    whole: Decimal
    portions: tuple[Portion, ...]


@dataclass(frozen=True, slots=True)
class Figures:
    """The amounts of a quote that are shared out; every one is rounded to the currency."""

    charges: tuple[Charge, ...]
    hidden: tuple[Hidden, ...]
    tax_mode: str
    base: Decimal
    base_taxes: tuple[Tax, ...]
    base_rounding: Decimal
    base_with_tax: Decimal
    record: Decimal
    contingency: Decimal
    limit: Decimal
    limit_taxes: tuple[Tax, ...]
    limit_rounding: Decimal
    limit_with_tax: Decimal
    currency: Currency


def section_portions(
    assembly: str, phase: str, weight: Decimal, sections: Sequence[tuple[str, Decimal]]
) -> tuple[Portion, ...]:
    """What an assembly contributes to a line, by section.

    Args:
        assembly: its slug.
        phase: its own phase, whatever phase the line stands in.
        weight: its part of the line.
        sections: each section's share of the assembly's driver; empty for work of the whole quote.
    """
    if not sections or not any(share for _, share in sections):
        return (Portion(assembly, phase, "", weight),)
    return tuple(Portion(assembly, phase, label, weight * share) for label, share in sections)
