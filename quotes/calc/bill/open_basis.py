"""What is billed of work by time and materials, up to the limit?

Hours at the billed rates that were frozen with the quote, goods at its marked-up prices, as the ledger values every entry, and
the shop's lines by its pricing rule on these; then draws and change orders at their agreed prices. What passes the limit is not
billed: it is cut, by a line that shows.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency, largest_remainder
from quotes.calc.bill.items import CUT, LOGGED, Item, net, shared
from quotes.calc.bill.totals import Terms, with_tax
from quotes.calc.pricing import shop_lines
from quotes.calc.tax import TAX_CLASSES


@dataclass(frozen=True, slots=True)
class Logged:
    """Hours of one trade, or one material, as they were logged on an agreed line, corrections taken off.

    `amount` is the sum of the entries' values, each rounded when it was logged: hours at the billed rate of the trade, goods at
    the marked-up price. `weights` says whose the line is, by payer.
    """

    key: str
    kind: str  # "labour" or "material"
    name: str
    phase: str
    tax_class: str
    quantity: Decimal
    unit: str
    amount: Decimal
    weights: Mapping[str, Decimal]


def open_items(logged: Iterable[Logged], others: Sequence[Item], terms: Terms, authorised: Decimal) -> tuple[Item, ...]:
    """The items of a bill in open basis, the cut last.

    Args:
        logged: what was logged on agreed lines; hours and goods that nobody quoted are no part of it.
        others: draws and change orders. Credits come after the cut, which would otherwise be the less for them.
        terms: of the job, with the pricing rule that was frozen with its quote.
        authorised: the limit without tax.

    Returns:
        Items that come to no more than `authorised` without tax and `terms.most` with it.

    Source: common practice, none published.
    """
    cur = terms.currency
    work = [_item(line, cur) for line in logged]
    items = [*(item for item in work if item.amount), *_shop(work, terms), *others]
    return (*items, *cut_items(items, terms, authorised))


def _item(line: Logged, currency: Currency) -> Item:
    return Item(
        key=line.key,
        source=LOGGED,
        name=line.name,
        tax_class=line.tax_class,
        amount=line.amount,
        parts=shared(line.amount, line.weights, currency),
        phase=line.phase,
        quantity=line.quantity,
        unit=line.unit,
        price=line.amount,
        kind=line.kind,
    )


def _shop(work: Sequence[Item], terms: Terms) -> list[Item]:
    labour = net(item for item in work if item.kind == "labour")
    goods = net(item for item in work if item.kind != "labour")
    weights = payer_weights(work)
    return [
        Item(
            key=f"shop:{line.slug}",
            source=LOGGED,
            name=line.name,
            tax_class=line.tax_class,
            amount=line.amount,
            parts=shared(line.amount, weights, terms.currency),
            price=line.amount,
            kind="shop",
        )
        for line in shop_lines(labour, goods, terms.rule, terms.currency)
        if line.amount > 0
    ]


def payer_weights(items: Iterable[Item]) -> dict[str, Decimal]:
    """What falls on each payer, 0 where it is negative."""
    sums: dict[str, Decimal] = {}
    for item in items:
        for label, part in item.parts:
            sums[label] = sums.get(label, Decimal(0)) + part
    return {label: max(Decimal(0), amount) for label, amount in sums.items()}


def cut_items(items: Sequence[Item], terms: Terms, authorised: Decimal) -> tuple[Item, ...]:
    """The least cut, in whole coins, under which neither limit is passed; nothing where none is.

    Args:
        items: of the bill, without credits.
        terms: of the job; `most` is the limit with tax.
        authorised: the limit without tax.

    A cut lowers every class by its share, so that the tax goes down with it; which one is enough is found by halving, since tax
    and rounding go by steps.
    """
    coin = Decimal(1).scaleb(-terms.currency.digits)
    coins = int(net(items).scaleb(terms.currency.digits))
    low, high = max(0, coins - int(authorised.scaleb(terms.currency.digits))), coins
    if low == 0 and with_tax(items, terms)[2] <= terms.most:
        return ()
    while low < high:
        middle = (low + high) // 2
        cut = _lines(items, coin * middle, terms.currency)
        if with_tax([*items, *cut], terms)[2] <= terms.most:
            high = middle
        else:
            low = middle + 1
    return _lines(items, coin * high, terms.currency)


def _lines(items: Sequence[Item], amount: Decimal, currency: Currency) -> tuple[Item, ...]:
    """A cut as one line for each tax class, of each in proportion."""
    sums = {name: net(item for item in items if item.tax_class == name) for name in TAX_CLASSES}
    of_classes = [max(Decimal(0), value) for value in sums.values()]
    weights = payer_weights(items)
    return tuple(
        Item(
            key=f"cut:{name}",
            source=CUT,
            name="Above the limit, not billed",
            tax_class=name,
            amount=-part,
            parts=shared(-part, weights, currency),
            price=-part,
            words="what was logged beyond the limit is not billed",
        )
        for name, part in zip(sums, largest_remainder(amount, of_classes, currency), strict=True)
        if part
    )
