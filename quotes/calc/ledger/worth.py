"""What did hours or goods cost the shop, and what are they worth at the quote's prices?

Cost is what the shop pays: an hour at its trade's cost on the day, goods of the shelf at the frozen purchase price, goods that
were bought for the job as invoiced. Value is the same hours and goods at the billed rates and markups that the job was sold on.
"""

from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.cost_base import Material, Trade
from costbase.calc.money import Currency, extend, marked_up, unit_price
from quotes.calc.ledger.said import PACKS

NO_MARKUP = Decimal(0)


@dataclass(frozen=True, slots=True)
class Worth:
    """Cost of one unit (6 decimals), and cost and value of all of them, each rounded once to the currency."""

    rate: Decimal
    cost: Decimal
    value: Decimal


def hours_worth(hours: Decimal, trade: Trade, billed_per_hour: Decimal, currency: Currency, *, overtime: bool) -> Worth:
    """What hours of a trade cost and are worth.

    Args:
        hours: four decimals.
        trade: its rates on the day of the work; cost with the overtime factor where it was overtime.
        billed_per_hour: the rate that the job was sold on. The owner pays no more for an hour that was overtime.
        currency: of both rates.
        overtime: whether the worker was paid overtime for them.

    Source: common practice, none published.
    """
    # Cost x factor is cost with a markup of factor - 1; exact, rounded with the hours.
    rate = marked_up(trade.cost_per_hour, trade.overtime_factor - 1) if overtime else trade.cost_per_hour
    return Worth(unit_price(rate), extend(hours, rate, currency), extend(hours, billed_per_hour, currency))


def goods_worth(
    quantity: Decimal, material: Material, pack_price: Decimal, markup: Decimal, currency: Currency, *, counted_in: str
) -> Worth:
    """What packs, or units of use, of a material cost and are worth.

    Args:
        quantity: four decimals.
        material: its pack size turns the price of a pack into that of a unit of use.
        pack_price: purchase price of one pack.
        markup: of the material's class, as a share.
        currency: of the price.
        counted_in: "pack" or "use".

    Source: common practice, none published.
    """
    sale, cost = marked_up(pack_price, markup), pack_price
    if counted_in != PACKS:
        # Divided after the markup, as on the quote's own lines.
        sale, cost = sale / material.pack_size, cost / material.pack_size
    return Worth(unit_price(cost), extend(quantity, cost, currency), extend(quantity, sale, currency))


def invoiced_worth(quantity: Decimal, price: Decimal, markup: Decimal, currency: Currency) -> Worth:
    """What a line of an invoice costs, and is worth with a markup.

    Args:
        quantity: four decimals.
        price: the invoice's, for one, up to six decimals; negative in a credit note.
        markup: as a share; 0 for what the shop passes on at cost.
        currency: of the price.

    Source: common practice, none published.
    """
    return Worth(unit_price(price), extend(quantity, price, currency), extend(quantity, marked_up(price, markup), currency))
