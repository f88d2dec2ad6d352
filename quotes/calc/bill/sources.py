"""Where do the items of a job's bill come from?

From what was agreed and what happened since: each of these functions turns one kind of row into items, with the payers' parts.
Amounts stand as they were agreed, drawn or consented to; nothing is priced again.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency
from quotes.calc.bill.items import AGREED, COUNTED, DRAW, ORDER, SETTLEMENT, Item, shared, taken_back, whole
from quotes.calc.payers import Whose
from quotes.calc.tax import LABOUR, PARTS


@dataclass(frozen=True, slots=True)
class CountedCredit:
    """What one line is billed less, since less of a counted assembly was done than quoted. `amount` is 0 or more, rounded."""

    position: int
    assembly: str
    amount: Decimal
    words: str


@dataclass(frozen=True, slots=True)
class Draw:
    """One found note: what it drew, rounded, and how much of that is parts; negative in a correction.

    `component` is the position of the hidden component in the job; `corrects` the number of the note that this one takes back,
    0 for none.
    """

    number: int
    component: int
    name: str
    amount: Decimal
    material: Decimal
    quantity: Decimal
    unit: str
    price: Decimal
    corrects: int = 0


@dataclass(frozen=True, slots=True)
class FurtherLine:
    """A line of an accepted change order, or of the settlement of a job that was stopped.

    `document` is its number, `position` the line's in it. `carried` says that it is carried under an overrun policy.
    """

    document: int
    position: int
    name: str
    kind: str
    phase: str
    tax_class: str
    amount: Decimal
    quantity: Decimal
    unit: str
    price: Decimal
    payer: str
    carried: bool = False


def line_key(position: int) -> str:
    """The key of an agreed line."""
    return f"line:{position}"


def agreed_items(whose: Whose) -> tuple[Item, ...]:
    """Every agreed line as an item."""
    return tuple(
        Item(
            key=line_key(charge.position),
            source=AGREED,
            name=charge.name,
            tax_class=charge.tax_class,
            amount=charge.amount,
            parts=tuple((label, part) for label, part in whose.lines[charge.position].items() if part) or whole(charge.amount),
            phase=charge.phase,
            quantity=charge.quantity,
            unit=charge.unit,
            price=charge.amount,
            kind=charge.kind,
            unit_price=charge.unit_price,
        )
        for charge in whose.figures.charges
    )


def counted_items(credits: Iterable[CountedCredit], whose: Whose) -> tuple[Item, ...]:
    """What counted work is settled down by, to who pays for the assembly in that line.

    Raises:
        BillItemError: more than the line is.
    """
    charges = {charge.position: charge for charge in whose.figures.charges}
    left = {position: dict(parts) for position, parts in whose.lines.items()}
    items = []
    for credit in credits:
        if credit.amount == 0:
            continue
        charge, weights = charges[credit.position], whose.of_assembly(credit.position, credit.assembly)
        parts = taken_back(credit.amount, weights, left[credit.position], whose.figures.currency)
        for label, part in parts:
            left[credit.position][label] += part
        items.append(
            Item(
                key=f"counted:{credit.assembly}:{credit.position}",
                source=COUNTED,
                name=charge.name,
                tax_class=charge.tax_class,
                amount=-credit.amount,
                parts=parts,
                phase=charge.phase,
                price=-credit.amount,
                of=line_key(credit.position),
                kind=charge.kind,
                words=credit.words,
            )
        )
    return tuple(items)


def draw_items(draws: Iterable[Draw], whose: Whose) -> tuple[Item, ...]:
    """Every found note as its labour with the set-up, and its parts, by the rule of its component."""
    items = []
    for draw in draws:
        weights = whose.of_component(draw.component)
        for suffix, tax_class, amount in (("", LABOUR, draw.amount - draw.material), (":parts", PARTS, draw.material)):
            if amount:
                items.append(_draw_item(draw, suffix, tax_class, amount, weights, whose.figures.currency))
    return tuple(items)


def _draw_item(
    draw: Draw, suffix: str, tax_class: str, amount: Decimal, weights: Mapping[str, Decimal], currency: Currency
) -> Item:
    return Item(
        key=f"draw:{draw.number}{suffix}",
        source=DRAW,
        name=draw.name,
        tax_class=tax_class,
        amount=amount,
        parts=shared(amount, weights, currency),
        quantity=draw.quantity,
        unit=draw.unit,
        price=draw.price,
        of=f"draw:{draw.corrects}{suffix}" if draw.corrects else "",
    )


def further_items(lines: Iterable[FurtherLine], *, settlement: bool = False) -> tuple[Item, ...]:
    """The lines of accepted change orders, or of a settlement, each whole to the payer whose label the document has."""
    source, word = (SETTLEMENT, "settlement") if settlement else (ORDER, "order")
    return tuple(
        Item(
            key=f"{word}:{line.document}:{line.position}",
            source=source,
            name=line.name,
            tax_class=line.tax_class,
            amount=line.amount,
            parts=whole(line.amount, line.payer),
            phase=line.phase,
            quantity=line.quantity,
            unit=line.unit,
            price=line.price,
            kind=line.kind,
            unit_price=line.price,
            words="carried under the adopted policy" if line.carried else "",
        )
        for line in lines
    )
