"""What is paid when the work stops before it is done?

Finished lines at the prices of the quote, started ones by the share of what was done of their driver, goods that were bought
for this coach and cannot go back, what is drawn and ordered so far, closing up, and days of storage. Tax once per rate on the
sum, as the bill has it, the owner's rounding, and never more than is authorised with tax. Where everything was done and all
goods stay, it is the bill.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from costbase.calc.cost_base import PricingRule
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, decimal_quantity, extend, share_of, to_step
from quotes.calc.tax import LABOUR, PARTS, Tax, as_signed, rule_taxes, sum_by_class, taxable

SHARE_PLACES = 6


class SettlementError(CalculationError):
    """Something that cannot be settled so: more done than was quoted, or more goods than were sold."""

    code = "bad_settlement"


@dataclass(frozen=True, slots=True)
class Sold:
    """A line that was agreed or ordered.

    `kind` is "labour", "material", "repair", "subcontract" or "shop"; `order` is the number of its change order, 0 for a line
    of the quote, and `position` its place in that. `counted_price` and `counted_set_up` are of counted labour, at which it is
    settled whatever share was done.
    """

    kind: str
    slug: str
    name: str
    order: int
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal
    tax_class: str
    counted_price: Decimal | None = None
    counted_set_up: Decimal = Decimal(0)
    position: int = 0


@dataclass(frozen=True, slots=True)
class Done:
    """Of one assembly: how much of its driver was quoted and how much is done, in the driver's unit."""

    quoted: Decimal
    done: Decimal


@dataclass(frozen=True, slots=True)
class Storage:
    """Days on which the coach stood here after the work had stopped, at a rate a day before tax."""

    days: Decimal
    rate: Decimal
    tax_class: str


@dataclass(frozen=True, slots=True)
class Further:
    """A line that the settlement adds: of closing up."""

    kind: str
    name: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal
    tax_class: str


@dataclass(frozen=True, slots=True)
class Stopped:
    """Everything that is settled.

    `done` is by assembly, `orders` the share of every taken change order by number (0 to 1), `kept` what of each material
    cannot go back, in what it is billed in. `drawn` is what found notes took, `drawn_parts` of it parts for tax. `tax_apart` is
    of `quotes.calc.tax.tax_apart`.
    """

    sold: tuple[Sold, ...]
    done: Mapping[str, Done]
    orders: Mapping[int, Decimal]
    kept: Mapping[str, Decimal]
    drawn: Decimal
    drawn_parts: Decimal
    close_up: tuple[Further, ...]
    storage: Storage | None
    paid: Decimal
    most: Decimal
    tax_apart: Mapping[str, Decimal] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SettledLine:
    """One line of the settlement; `share` is what of a started line was done (six decimals), `of` its amount when sold.

    `position` is its place among the lines of the quote or of its `order`, 0 for what was not sold before.
    """

    source: str  # "agreed", "order", "draw", "close_up", "storage"
    kind: str
    name: str
    order: int
    quantity: Decimal
    unit: str
    price: Decimal
    of: Decimal
    share: Decimal
    amount: Decimal
    tax_class: str
    position: int = 0


@dataclass(frozen=True, slots=True)
class Settled:
    """The settlement, all rounded to the currency; `cut` is what passes the authorised total and is not billed."""

    lines: tuple[SettledLine, ...]
    amount: Decimal
    by_class: Mapping[str, Decimal]
    taxes: tuple[Tax, ...]
    tax: Decimal
    rounding: Decimal
    cut: Decimal
    with_tax: Decimal
    paid: Decimal
    due: Decimal


_NONE = Decimal(0)
_ONE = Decimal(1)


def settle(stopped: Stopped, rule: PricingRule, currency: Currency) -> Settled:
    """Settles a job that was stopped.

    Args:
        stopped: what was sold and done of it; `most` is the most that may be asked for, with tax.
        rule: of the job's frozen cost base.
        currency: of all amounts.

    Returns:
        Started lines half up to the currency, each once; the total with tax to the rule's step and at most `most`.

    Raises:
        SettlementError: more was done than quoted, or more goods stay than were sold.
    """
    _check(stopped)
    lines = [line for order in _orders(stopped) for line in _of_order(stopped, order, currency)]
    lines += _draws(stopped)
    lines += [_further(line) for line in stopped.close_up]
    if stopped.storage is not None and stopped.storage.days > 0:
        lines.append(_storage(stopped.storage, currency))
    kept = tuple(line for line in lines if line.amount)
    amount = sum((line.amount for line in kept), _NONE)
    by_class = sum_by_class((line.tax_class, line.amount) for line in kept)
    taxes = as_signed(rule_taxes(taxable(by_class, rule.tax_mode), rule, currency), stopped.tax_apart)
    tax = sum((each.amount for each in taxes), _NONE)
    stepped = to_step(amount + tax, rule.total_step, currency)
    with_tax = min(stepped, stopped.most)
    return Settled(
        lines=kept,
        amount=amount,
        by_class=by_class,
        taxes=taxes,
        tax=tax,
        rounding=stepped - amount - tax,
        cut=stepped - with_tax,
        with_tax=with_tax,
        paid=stopped.paid,
        due=with_tax - stopped.paid,
    )


def _check(stopped: Stopped) -> None:
    for slug, work in stopped.done.items():
        if not _NONE <= work.done <= work.quoted:
            words = f"expected of '{slug}' from 0 to the {work.quoted} that were quoted, not {work.done}"
            raise SettlementError(words, field=f"done/{slug}", value=work.done)
    for number, share in stopped.orders.items():
        if not _NONE <= share <= _ONE:
            words = f"expected a share from 0 to 1 of change order {number}, not {share}"
            raise SettlementError(words, field=f"orders/{number}", value=share)
    sold: dict[str, Decimal] = {}
    for line in stopped.sold:
        if line.kind == "material":
            sold[line.slug] = sold.get(line.slug, _NONE) + line.quantity
    for slug, quantity in stopped.kept.items():
        if not _NONE <= quantity <= sold.get(slug, _NONE):
            words = f"expected of '{slug}' from 0 to the {sold.get(slug, _NONE)} that were sold, not {quantity}"
            raise SettlementError(words, field=f"kept/{slug}", value=quantity)


def _orders(stopped: Stopped) -> list[int]:
    return sorted({line.order for line in stopped.sold})


def _of_order(stopped: Stopped, order: int, currency: Currency) -> list[SettledLine]:
    """The lines of the quote (order 0) or of a change order; the shop's own follow the lines that they are on."""
    sold = [line for line in stopped.sold if line.order == order]
    work = [line for line in sold if line.kind not in ("material", "shop")]
    shares = {id(line): _share(stopped, line) for line in work}
    settled = [_done(line, shares[id(line)], currency) for line in work]
    goods = _goods(stopped, [line for line in sold if line.kind == "material"], order, currency)
    labour = _part(settled, work, "labour")
    lines = [*settled, *goods]
    supplies = [_shop(line, labour, currency) for line in sold if line.slug == "shop-supplies"]
    direct = [line for line in sold if line.kind in ("labour", "material") or line.slug == "shop-supplies"]
    whole = _ratio(
        sum((line.amount for line in (*settled, *goods, *supplies) if line.kind in ("labour", "material", "shop")), _NONE),
        sum((line.amount for line in direct), _NONE),
    )
    return [*lines, *supplies, *(_shop(line, whole, currency) for line in sold if _other_shop(line))]


def _other_shop(line: Sold) -> bool:
    return line.kind == "shop" and line.slug != "shop-supplies"


def _share(stopped: Stopped, line: Sold) -> Decimal:
    if line.order:
        return stopped.orders.get(line.order, _NONE)
    work = stopped.done.get(line.slug)
    return _NONE if work is None else _ratio(work.done, work.quoted)


def _ratio(part: Decimal, whole: Decimal) -> Decimal:
    return min(_ONE, part / whole) if whole > 0 else _NONE


def _done(line: Sold, share: Decimal, currency: Currency) -> SettledLine:
    amount = line.amount if share == _ONE else share_of(line.amount, share, currency)
    if line.counted_price is not None and _NONE < share < _ONE:
        # Counted work is settled at its stored price, whatever its share: its set-up stays.
        done = _ratio_of(line, share)
        amount = min(line.amount, line.counted_set_up + extend(done, line.counted_price, currency))
    return _line("order" if line.order else "agreed", line, share, amount)


def _ratio_of(line: Sold, share: Decimal) -> Decimal:
    """How much of a counted line was done, in its driver's unit: amount less set-up over the price of one, times the share."""
    assert line.counted_price is not None
    if line.counted_price == 0:
        return _NONE
    return (line.amount - line.counted_set_up) / line.counted_price * share


def _goods(stopped: Stopped, goods: Sequence[Sold], order: int, currency: Currency) -> list[SettledLine]:
    """Goods that stay, counted off the quote first and then off each order; freight stays where any of its goods do."""
    lines = []
    for line in goods:
        of = line.slug.removeprefix("freight:")
        if of != line.slug:
            some = stopped.kept.get(of, _NONE) > _before(stopped, of, order)
            lines.append(_line("order" if order else "agreed", line, _ONE if some else _NONE, line.amount if some else _NONE))
            continue
        stays = min(line.quantity, max(_NONE, stopped.kept.get(line.slug, _NONE) - _before(stopped, line.slug, order)))
        amount = line.amount if stays == line.quantity else min(line.amount, extend(stays, line.price, currency))
        lines.append(_line("order" if order else "agreed", line, _ratio(stays, line.quantity), amount))
    return lines


def _before(stopped: Stopped, slug: str, order: int) -> Decimal:
    return sum((line.quantity for line in stopped.sold if line.slug == slug and line.order < order), _NONE)


def _part(settled: Iterable[SettledLine], sold: Iterable[Sold], kind: str) -> Decimal:
    return _ratio(
        sum((line.amount for line in settled if line.kind == kind), _NONE),
        sum((line.amount for line in sold if line.kind == kind), _NONE),
    )


def _shop(line: Sold, share: Decimal, currency: Currency) -> SettledLine:
    amount = line.amount if share == _ONE else share_of(line.amount, share, currency)
    return _line("order" if line.order else "agreed", line, share, amount)


def _line(source: str, line: Sold, share: Decimal, amount: Decimal) -> SettledLine:
    return SettledLine(
        source=source,
        kind=line.kind,
        name=line.name,
        order=line.order,
        quantity=line.quantity,
        unit=line.unit,
        price=line.price,
        of=line.amount,
        # Told, not worked with: the amount comes of the exact share.
        share=decimal_quantity(float(share), SHARE_PLACES),
        amount=amount,
        tax_class=line.tax_class,
        position=line.position,
    )


def _draws(stopped: Stopped) -> list[SettledLine]:
    parts = ((LABOUR, stopped.drawn - stopped.drawn_parts), (PARTS, stopped.drawn_parts))
    return [
        SettledLine("draw", "repair", "Hidden work found", 0, _ONE, "job", amount, amount, _ONE, amount, tax_class)
        for tax_class, amount in parts
    ]


def _further(line: Further) -> SettledLine:
    return SettledLine(
        "close_up",
        line.kind,
        line.name,
        0,
        line.quantity,
        line.unit,
        line.price,
        line.amount,
        _ONE,
        line.amount,
        line.tax_class,
    )


def _storage(storage: Storage, currency: Currency) -> SettledLine:
    amount = extend(storage.days, storage.rate, currency)
    return SettledLine(
        "storage", "storage", "Storage", 0, storage.days, "day", storage.rate, amount, _ONE, amount, storage.tax_class
    )
