"""What does an owner see, and sign as it is, when the work was stopped?

Texts, whole numbers, yes and no only. It names no person.
"""

from typing import Any

from costbase.calc.money import currency
from quotes.models import Job, Settlement
from quotes.reports.change_order_documents import fixed

Row = dict[str, Any]

FORM = 1
"""Raised when the document says other things than before; an older one is kept as it was."""

AS_IS = (
    "The work on this coach ends here, before what was agreed is done.",
    "The roof is taken over as it is: what was not finished, and what was found and left, is known and is under no warranty.",
    "With what is due the work that was done is paid; nothing more is asked for it.",
    "What was set aside for hidden work and not found is not billed.",
)
_LINE = ("source", "kind", "name", "order", "quantity", "unit", "price", "share", "tax_class")


def settlement_document(job: Job, settlement: Settlement, *, sent: str) -> Row:
    """Everything that the owner sees of a settlement, what is due first."""
    digits = currency(job.currency).digits
    figures = settlement.figures
    return {
        "due": fixed(settlement.due, digits),
        "currency": job.currency,
        "kind": "settlement",
        "form": FORM,
        "job": job.number,
        "sent": sent,
        "payer": settlement.payer,
        "stopped_on": settlement.stopped_on.isoformat(),
        "reason": settlement.reason,
        "lines": [
            {**{name: line[name] for name in _LINE}, **{name: fixed(line[name], digits) for name in ("of", "amount")}}
            for line in figures["lines"]
        ],
        "amount": fixed(settlement.amount, digits),
        "taxes": [{**tax, **{name: fixed(tax[name], digits) for name in ("base", "amount")}} for tax in figures["taxes"]],
        "rounding": fixed(figures["rounding"], digits),
        "not_billed": fixed(figures["cut"], digits),
        "amount_with_tax": fixed(settlement.amount_with_tax, digits),
        "authorised_with_tax": fixed(job.authorised_with_tax, digits),
        "paid": fixed(settlement.paid, digits),
        "terms": list(AS_IS),
    }
