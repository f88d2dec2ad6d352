"""What stands in our quote and in somebody else's estimate, in a form that can be compared?

A line of ours is called by what it is about, ``labour/skin-off/technician`` or ``material/lap-sealant``, never by its position:
a draft that is priced again keeps its matches. A hidden component is ``component/deck``; it stands in no sum of visible work.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from costbase.calc.money import Currency, MoneyError, decimal_quantity, extend, per_unit
from costbase.calc.unit_table import unit_written

COMPONENT = "component"


@dataclass(frozen=True, slots=True)
class Measure:
    """One way to count a line of ours: so many of a unit, and the price of one of it with at most six decimals."""

    quantity: Decimal
    unit: str
    price: Decimal


@dataclass(frozen=True, slots=True)
class OurLine:
    """A line of the quote, or a hidden component, whose `amount` is 0: what may be found is set aside, not charged.

    `assemblies` are those that the line is about: one for labour, those that need it for a material.
    """

    ref: str
    name: str
    phase: str
    assemblies: tuple[str, ...]
    measures: tuple[Measure, ...]
    amount: Decimal

    @property
    def is_hidden(self) -> bool:
        """Whether it is a hidden component."""
        return self.ref.startswith(f"{COMPONENT}/")


@dataclass(frozen=True, slots=True)
class TheirLine:
    """A line of the other estimate as it was entered.

    `number` is what their paper calls it, unique. `phase` and `assembly` are the estimator's hints, "" where there is none.
    `quantity`, `price` and `tax` are None where their paper says none; `amount` is before tax and may be negative. `ours` are
    the lines of ours that it is matched to.
    """

    number: str
    description: str
    phase: str
    assembly: str
    quantity: Decimal | None
    unit: str
    price: Decimal | None
    amount: Decimal
    tax: Decimal | None
    ours: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """Both sides of one pair counted in one unit: quantities, and prices of one of it; `their_price` None where none is said.

    `by_quantity` is what the differing quantity comes to at our price, `by_price` what the differing price comes to on their
    quantity; 0 where they do not differ, or where no price of theirs is said.
    """

    unit: str
    ours: Decimal
    theirs: Decimal
    our_price: Decimal
    their_price: Decimal | None
    by_quantity: Decimal
    by_price: Decimal


def counted_alike(our: OurLine, their: TheirLine, currency: Currency) -> Compared | None:
    """A pair counted in one unit: the first measure of ours into which their quantity can be turned; None where none is.

    Units of one dimension turn exactly, and the quantity is then half up to four decimals. What is no unit of measure, such as
    what a pack is called, must be the same word.

    Args:
        our: a line of ours.
        their: the line of theirs that it is matched to.
        currency: of both.
    """
    if their.quantity is None:
        return None
    for measure in our.measures:
        in_one = _in_one(their.unit, measure.unit)
        if in_one is not None:
            try:
                return _compared(measure, their.quantity, their.price, in_one, currency)
            except MoneyError:
                # Figures that no quote can hold: nothing is said about them but that the amounts differ.
                return None
    return None


def _compared(measure: Measure, quantity: Decimal, price: Decimal | None, in_one: Fraction, currency: Currency) -> Compared:
    theirs = decimal_quantity(float(Fraction(quantity) * in_one))
    each = None if price is None else per_unit(price, Decimal(in_one.numerator) / in_one.denominator)
    return Compared(
        unit=measure.unit,
        ours=measure.quantity,
        theirs=theirs,
        our_price=measure.price,
        their_price=each,
        by_quantity=extend(measure.quantity - theirs, measure.price, currency),
        by_price=Decimal(0) if each is None else extend(theirs, measure.price - each, currency),
    )


def _in_one(theirs: str, ours: str) -> Fraction | None:
    """How many of our unit are in one of theirs; None where they do not measure the same."""
    if theirs.strip().casefold() == ours.strip().casefold():
        return Fraction(1)
    their_unit, our_unit = unit_written(theirs.strip()), unit_written(ours.strip())
    if their_unit is None or our_unit is None or their_unit.dimension != our_unit.dimension:
        return None
    return Fraction(their_unit.factor) / Fraction(our_unit.factor)


def arithmetic_warnings(lines: Sequence[TheirLine], stated: Decimal | None, currency: Currency) -> tuple[str, ...]:
    """Where their own figures do not add up: quantity x price of a line, or the lines and the total that their paper states.

    Args:
        lines: theirs.
        stated: the total that their paper states, with whatever tax its lines state; None where it states none.
        currency: of all amounts.
    """
    words = []
    for line in lines:
        if line.quantity is not None and line.price is not None:
            worked = extend(line.quantity, line.price, currency)
            if worked != line.amount:
                sides = f"{line.quantity.normalize():f} x {line.price.normalize():f}"
                words.append(f"their line {line.number}: {sides} is {worked}, and their paper says {line.amount}")
    total = sum((line.amount + (line.tax or Decimal(0)) for line in lines), Decimal(0))
    if stated is not None and stated != total:
        words.append(f"their lines come to {total}, and their paper states a total of {stated}")
    return tuple(words)
