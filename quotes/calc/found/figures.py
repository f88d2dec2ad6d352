"""What does a job come to so far, by tax class?

Amounts here were rounded when they came about; they are only added. Tax is worked elsewhere, once per rate on these sums.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from quotes.calc.tax import LABOUR, PARTS, sum_by_class

Sums = Mapping[str, Decimal]


@dataclass(frozen=True, slots=True)
class JobFigures:
    """A job's amounts by tax class, in its currency, before tax and the owner's rounding.

    Attributes:
        agreed: the agreed lines, options included: the visible work.
        draws: what found notes have taken of the pot: parts as far as they are material, the rest and set-ups labour.
        credits: what counted work is settled down by, 0 or more.
        orders: the lines of change orders that the owner accepted. Those carried under a policy authorise nothing and are not
            among them.
        record: what the shop's record adds to an open quote's limit.
        contingency: the pot.
        material_share: the largest share of parts in a draw of any exposed component, as `taxable_limit` wants it.
    """

    agreed: Sums
    draws: Sums
    credits: Sums
    orders: Sums
    record: Decimal
    contingency: Decimal
    material_share: Decimal

    @property
    def base(self) -> Decimal:
        """The visible work as agreed."""
        return _added(self.agreed)

    @property
    def drawn(self) -> Decimal:
        """What was taken of the pot."""
        return _added(self.draws)

    @property
    def left(self) -> Decimal:
        """What the pot still holds."""
        return self.contingency - self.drawn

    @property
    def credited(self) -> Decimal:
        """What counted work is billed less."""
        return _added(self.credits)

    @property
    def ordered(self) -> Decimal:
        """What accepted change orders add."""
        return _added(self.orders)

    @property
    def by_class(self) -> dict[str, Decimal]:
        """What is billed of a firm price, by tax class: agreed less credits, with draws and accepted change orders."""
        return {
            name: self.agreed.get(name, _NONE)
            - self.credits.get(name, _NONE)
            + self.draws.get(name, _NONE)
            + self.orders.get(name, _NONE)
            for name in dict.fromkeys([*self.agreed, *self.credits, *self.draws, *self.orders])
        }

    @property
    def total(self) -> Decimal:
        """What is billed of a firm price in all, before tax."""
        return self.base - self.credited + self.drawn + self.ordered

    @property
    def authorised_by_class(self) -> dict[str, Decimal]:
        """What is authorised of visible work by tax class: the agreed lines and the accepted change orders."""
        return {
            name: self.agreed.get(name, _NONE) + self.orders.get(name, _NONE)
            for name in dict.fromkeys([*self.agreed, *self.orders])
        }

    @property
    def limit(self) -> Decimal:
        """What is authorised before tax: visible work, record, pot and accepted change orders."""
        return self.base + self.record + self.contingency + self.ordered


_NONE = Decimal(0)


def figures_of(
    *,
    lines: Iterable[tuple[str, Decimal]],
    drawn: Decimal,
    drawn_parts: Decimal,
    credits: Iterable[tuple[str, Decimal]],
    orders: Iterable[tuple[str, Decimal]],
    record: Decimal,
    contingency: Decimal,
    material_share: Decimal,
) -> JobFigures:
    """A job's figures from its rows, all amounts rounded before.

    Args:
        lines: tax class and amount of each agreed line.
        drawn: sum of the found notes' amounts.
        drawn_parts: what of it is parts for tax.
        credits: tax class and credit of each line of counted work, as settled last.
        orders: tax class and amount of the lines of accepted change orders.
        record: of the job.
        contingency: of the job.
        material_share: as `largest_share_of_parts` gives it.

    Raises:
        TaxModeError: a class that does not exist.
    """
    return JobFigures(
        agreed=sum_by_class(lines),
        draws={LABOUR: drawn - drawn_parts, PARTS: drawn_parts},
        credits=sum_by_class(credits),
        orders=sum_by_class(orders),
        record=record,
        contingency=contingency,
        material_share=material_share,
    )


def largest_share_of_parts(components: Iterable[tuple[Decimal, Decimal, Decimal]]) -> Decimal:
    """The largest share of parts in the unit price of any exposed component; 0 when nothing is exposed.

    Args:
        components: exposure, labour part and material part of each.
    """
    shares = [
        material / (labour + material) for exposure, labour, material in components if exposure > 0 and labour + material > 0
    ]
    return min(Decimal(1), max(shares, default=_NONE))


def _added(sums: Sums) -> Decimal:
    return sum(sums.values(), _NONE)
