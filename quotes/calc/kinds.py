"""Which part of the visible work is a firm price, which is counted when the roof is open, and which is an option?

Counted work is settled by what is found. What is less than was quoted is billed less, at unit prices that stand in the quote,
line by line, since labour and materials may be taxed otherwise; what is charged once, however little is found, stays. Material
is bought for the whole quote, so each assembly has its share of a material line, as its need is of the whole need.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency, amount, decimal_quantity, extend, largest_remainder, per_unit
from costbase.calc.units import in_unit
from quotes.calc.labour import LabourLine
from quotes.calc.packing import Part
from quotes.calc.pricing import MaterialLine, Visible
from quotes.calc.takeoff import Take

FIRM = "firm"
COUNTED = "counted"
OPTION = "option"
KINDS = (FIRM, COUNTED, OPTION)
# A material line that assemblies of several kinds share.
MIXED = "mixed"

Takes = Mapping[str, Take]
# Needs weigh against each other only; a cartridge for an inch of bead is a small part of a case.
_NEED_PLACES = 12
# What floats lose on the way to hours must not hide that they were raised to their minimum.
_TOLERANCE = 1e-9


@dataclass(frozen=True, slots=True)
class CountedPrice:
    """At what one line of counted work is settled: `unit_price` for each `unit` that is not found, six decimals.

    `quantity` is what was quoted, four decimals, in `unit`. `set_up` stays whatever is found, in the currency. Quantity x unit
    price + set-up is the amount of the line.
    """

    quantity: Decimal
    unit: str
    unit_price: Decimal
    set_up: Decimal


@dataclass(frozen=True, slots=True)
class MaterialShare:
    """What one assembly has of a material line, in the currency; the shares of a line add up to its amount."""

    part: Part
    kind: str
    amount: Decimal
    counted: CountedPrice | None


@dataclass(frozen=True, slots=True)
class CountedWork:
    """One counted assembly with all its lines: what they come to for each unit, once, and together."""

    assembly: str
    name: str
    quantity: Decimal
    unit: str
    unit_price: Decimal
    set_up: Decimal
    amount: Decimal


def by_assembly(takes: Sequence[Take]) -> dict[str, Take]:
    """The take-off of a quote by the slug of the assembly."""
    return {take.assembly.slug: take for take in takes}


def counted_labour(line: LabourLine, take: Take, currency: Currency) -> CountedPrice | None:
    """At what a labour line is settled; None where it is not counted.

    Where the hours were raised to the least hours of the trade, fewer units take no fewer hours: the whole line stays then.

    Args:
        line: priced.
        take: the take-off of its assembly.
        currency: of the quote.
    """
    if line.kind != COUNTED:
        return None
    assembly = take.assembly
    set_up = extend(line.set_up_hours, line.rate, currency)
    if 0 < take.hours[line.trade] <= assembly.minimum_hours * (1.0 + _TOLERANCE):
        set_up = line.amount
    return _counted_price(take, line.amount, min(set_up, line.amount))


def material_shares(line: MaterialLine, takes: Takes, currency: Currency) -> tuple[MaterialShare, ...]:
    """The share of each assembly in a material line, split as their needs (largest remainder), with its price where counted.

    Args:
        line: priced.
        takes: of the quote, by assembly.
        currency: of the quote.
    """
    needs = [decimal_quantity(part.need, _NEED_PLACES) for part in line.parts]
    amounts = largest_remainder(line.amount, needs, currency)
    return tuple(_share(part, takes[part.assembly], share, currency) for part, share in zip(line.parts, amounts, strict=True))


def _share(part: Part, take: Take, share: Decimal, currency: Currency) -> MaterialShare:
    kind = take.assembly.kind
    counted = _counted_price(take, share, amount(Decimal(0), currency)) if kind == COUNTED else None
    return MaterialShare(part, kind, share, counted)


def _counted_price(take: Take, whole: Decimal, set_up: Decimal) -> CountedPrice:
    unit = take.assembly.driver_unit
    quantity = decimal_quantity(in_unit(take.driver, unit))
    if quantity == 0:
        # Less than anybody can count: nothing of it can be missing.
        return CountedPrice(quantity, unit, per_unit(Decimal(0), Decimal(1)), whole)
    return CountedPrice(quantity, unit, per_unit(whole - set_up, quantity), set_up)


def material_kind(line: MaterialLine, takes: Takes) -> str:
    """The kind of the assemblies that need a material, one of `KINDS`, or `MIXED` where they are of several."""
    kinds = {takes[part.assembly].assembly.kind for part in line.parts}
    return kinds.pop() if len(kinds) == 1 else MIXED


def amounts_by_kind(visible: Visible, takes: Takes, currency: Currency) -> dict[str, Decimal]:
    """The visible work by kind, in the currency; the kinds add up to it.

    Freight and the lines of the shop belong to the quote as a whole and are firm.
    """
    sums = dict.fromkeys(KINDS, amount(Decimal(0), currency))
    for labour in visible.labour:
        sums[labour.kind] += labour.amount
    for material in visible.materials:
        for share in material_shares(material, takes, currency):
            sums[share.kind] += share.amount
    whole = [*(line.amount for line in visible.freight), *(line.amount for line in visible.shop)]
    sums[FIRM] += sum(whole, Decimal(0))
    return sums


def counted_work(visible: Visible, takes: Takes, currency: Currency) -> tuple[CountedWork, ...]:
    """Every counted assembly of the quote, in the order of the take-off: the sums over its lines."""
    prices: dict[str, list[tuple[CountedPrice, Decimal]]] = {}
    for labour in visible.labour:
        price = counted_labour(labour, takes[labour.assembly], currency)
        if price is not None:
            prices.setdefault(labour.assembly, []).append((price, labour.amount))
    for material in visible.materials:
        for share in material_shares(material, takes, currency):
            if share.counted is not None:
                prices.setdefault(share.part.assembly, []).append((share.counted, share.amount))
    return tuple(_work(take, prices[slug]) for slug, take in takes.items() if slug in prices)


def _work(take: Take, lines: list[tuple[CountedPrice, Decimal]]) -> CountedWork:
    first = lines[0][0]
    return CountedWork(
        assembly=take.assembly.slug,
        name=take.assembly.name,
        quantity=first.quantity,
        unit=first.unit,
        unit_price=sum((price.unit_price for price, _ in lines), Decimal(0)),
        set_up=sum((price.set_up for price, _ in lines), Decimal(0)),
        amount=sum((amount_ for _, amount_ in lines), Decimal(0)),
    )
