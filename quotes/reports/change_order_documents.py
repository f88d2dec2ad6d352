"""What does an owner see, and sign, of a change order: its ways, each with price, limit, days and what it does to the warranty?

Texts, whole numbers, yes and no only, so that its hash can be worked out again from what was handed over. It names no person.
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from costbase.calc.money import currency
from quotes.models import ChangeOrder, ChangeOrderWay, Job

Row = dict[str, Any]

FORM = 1
"""Raised when the document says other things than before; an older one is kept as it was."""

CAUSES: Mapping[str, str] = {
    "beyond_pot": "More hidden work was found than is left of what is set aside for it.",
    "no_agreed_price": "Hidden work was found for which no price was agreed.",
    "owner_wish": "A wish of the owner. It takes nothing of what is set aside for hidden work.",
    "counted_beyond": "Counted work came to more than was quoted, and nothing is set aside for it.",
    "stop": "The work shall end here.",
    "other": "A change of the agreed work.",
}
TERMS = (
    "Nothing of this is done before one way is accepted.",
    "The new limit with tax is then the most that is paid without a further consent.",
    "To decline leaves what was agreed as it is.",
)
_LINE = ("position", "kind", "name", "trade", "unit")


def order_document(
    job: Job, order: ChangeOrder, ways: Sequence[ChangeOrderWay], lines: Mapping[int, Sequence[Row]], *, sent: str
) -> Row:
    """Everything that the owner sees of a change order.

    Args:
        job: as it stands.
        order: whose words are shown.
        ways: priced, in their order.
        lines: of each way, by its position.
        sent: the instant at which it is sent, as text.
    """
    digits = currency(job.currency).digits
    return {
        "kind": "change_order",
        "form": FORM,
        "job": job.number,
        "number": order.number,
        "sent": sent,
        "currency": job.currency,
        "payer": order.payer,
        "title": order.title,
        "cause": order.cause,
        "cause_words": CAUSES[order.cause],
        "reason": order.reason,
        "component": order.component,
        "covers": list(order.covers),
        "stops_work": order.stops_work,
        "photographs": list(order.photographs),
        "authorised_before": fixed(job.authorised, digits),
        "authorised_with_tax_before": fixed(job.authorised_with_tax, digits),
        "promised_on_before": job.promised_on.isoformat() if job.promised_on else None,
        "ways": [_way(way, lines.get(way.position, ()), digits) for way in ways],
        "terms": list(TERMS),
    }


def _way(way: ChangeOrderWay, lines: Sequence[Row], digits: int) -> Row:
    return {
        "way": way.kind,
        # What an owner ticks: options are slugs.
        "choice": way.kind.replace("_", "-"),
        "words": way.words,
        "price": fixed(way.amount, digits),
        "limit": fixed(way.authorised, digits),
        "limit_with_tax": fixed(way.authorised_with_tax, digits),
        "taxes": [
            {**tax, "base": fixed(tax["base"], digits), "amount": fixed(tax["amount"], digits)} for tax in way.details["taxes"]
        ],
        "rounding": fixed(way.details["rounding"], digits),
        "days": str(way.days),
        "promised_on": way.promised_on.isoformat() if way.promised_on else None,
        "warranty": way.warranty,
        "lines": [
            {
                **{name: line[name] for name in _LINE},
                "quantity": str(line["quantity"]),
                "price": str(line["price"]),
                "amount": fixed(line["amount"], digits),
                "reason": line["details"].get("reason", ""),
            }
            for line in lines
        ],
    }


def _tax(tax: Row, digits: int) -> Row:
    return {**tax, "base": fixed(tax["base"], digits), "amount": fixed(tax["amount"], digits)}


def fixed(value: Decimal | str, digits: int) -> str:
    """An amount as a document shows it."""
    # Adds or takes zeros only: every amount here was rounded to the currency.
    return f"{Decimal(str(value)):.{digits}f}"
