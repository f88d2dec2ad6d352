"""How is a change order shown, and to whom? What its work costs the shop is for managers and analysts."""

from collections.abc import Mapping, Sequence
from typing import Any

from api.rest.consent_answers import consent_shown
from api.rest.quote_answers import COST_READERS, fixed, line_shown
from costbase.calc.money import currency as currency_of
from costbase.models import Shop
from quotes.models import ChangeOrder, ChangeOrderWay, Consent, Job
from quotes.reports.change_orders import lines_of_ways, ways_of

Row = dict[str, Any]

_PLAIN = (
    "id", "number", "state", "cause", "component", "title", "payer", "covers", "stops_work", "version",
)  # fmt: skip
_AMOUNTS = ("amount", "authorised", "authorised_with_tax")
_MORE = ("reason", "photographs", "carried_under", "document", "document_hash")


def brief_order(order: ChangeOrder, chosen: str | None, digits: int) -> Row:
    """What a list shows of a change order; `chosen` is the kind of the way that was taken."""
    return {
        **{name: getattr(order, name) for name in _PLAIN},
        "job": order.job_id,
        "client_id": None if order.client_id is None else str(order.client_id),
        "chosen": chosen,
        **{name: None if (value := getattr(order, name)) is None else fixed(value, digits) for name in _AMOUNTS},
        "sent_at": order.sent_at.isoformat() if order.sent_at else None,
        "decided_at": order.decided_at.isoformat() if order.decided_at else None,
        "created": order.created.isoformat(),
    }


def order_answer(shop: Shop, job: Job, order: ChangeOrder, role: str) -> Row:
    """The whole change order with its ways and their lines, in two queries."""
    digits = currency_of(job.currency).digits
    ways, lines = ways_of(shop, order.pk), lines_of_ways(shop, order.pk)
    chosen = next((way.kind for way in ways if way.position == order.chosen), None)
    said = [line["details"].get("priced_on") for rows in lines.values() for line in rows]
    return {
        **brief_order(order, chosen, digits),
        **{name: getattr(order, name) for name in _MORE},
        "consent": order.consent_id,
        "priced_today": next(filter(None, said), None),
        "ways": [_way(way, lines.get(way.pk, []), digits, role) for way in ways],
        "request": order.request["body"],
    }


def _way(way: ChangeOrderWay, lines: Sequence[Mapping[str, Any]], digits: int, role: str) -> Row:
    details = way.details
    answer = {
        "position": way.position,
        "way": way.kind,
        "words": way.words,
        "price": fixed(way.amount, digits),
        "limit": fixed(way.authorised, digits),
        "limit_with_tax": fixed(way.authorised_with_tax, digits),
        "tax": fixed(details["tax"], digits),
        "rounding": fixed(details["rounding"], digits),
        "days": str(way.days),
        "worked_days": details["worked_days"],
        "days_reason": details["days_reason"],
        "promised_on": way.promised_on.isoformat() if way.promised_on else None,
        "warranty": way.warranty,
        "lines": [line_shown(line, digits, role) for line in lines],
    }
    return {**answer, "cost": fixed(way.cost, digits)} if role in COST_READERS else answer


def answered_order(job: Job, order: ChangeOrder, consent: Consent) -> Row:
    """What an answer to a change order did."""
    digits = currency_of(job.currency).digits
    return {
        "state": order.state,
        "job_state": job.state,
        **{name: fixed(getattr(job, name), digits) for name in ("authorised", "authorised_with_tax")},
        "promised_on": job.promised_on.isoformat() if job.promised_on else None,
        "consent": consent_shown(consent, digits),
    }
