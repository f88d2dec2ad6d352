"""A job at work: a quote of the sample coach that was issued, accepted and booked, beside the way over the API."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.utils import timezone

from quotes.actions.agreed import agreed
from quotes.actions.consents import Consenting, Giver, record_consent
from quotes.actions.jobs import book_job, held_job, move_job
from quotes.models import Job, Quote
from tests import make
from tests.rest.quoting import Quoting

HASH = "ab" * 32


def booked(quoting: Quoting, *, options: list[str] | None = None, promised_on: date | None = None, **changes: Any) -> Job:
    """A job that was just booked from a newly issued quote; `changes` are of the quote's request."""
    return book(quoting, quoting.issued(**changes)["id"], options=options, promised_on=promised_on)


def book(quoting: Quoting, quote_id: int, *, options: list[str] | None = None, promised_on: date | None = None) -> Job:
    """The job of an issued quote, as its acceptance would make it."""
    shop = quoting.shop
    with quoting.office.scope():
        quote = Quote.objects.for_shop(shop).select_for_update(of=("self",)).get(pk=quote_id)
        terms = agreed(shop, quote, options or [])
        now = timezone.now()
        limit = Decimal(str(terms.columns["limit_with_tax"]))
        consenting = Consenting(
            chain=quote.number, quote_id=quote.pk, job_id=None, document="quote", document_id=quote.pk, document_hash=HASH,
            payer="owner", outcome="accepted", manner="written", at=now, amount=Decimal(str(terms.columns["limit"])),
            limit_with_tax=limit, promised_on=promised_on, said={"terms": "invented"}, giver=Giver("Invented Owner"),
        )  # fmt: skip
        consent = record_consent(shop=shop, consenting=consenting, by=make.OPERATOR, now=now)
        Quote.objects.for_shop(shop).filter(pk=quote.pk).update(state="accepted", version=quote.version + 1)
        return book_job(
            shop=shop, quote=quote, terms=terms, options=options or [], consent=consent, overrun_with_tax=Decimal(0),
            by=make.OPERATOR, now=now,
        )  # fmt: skip


def at_work(quoting: Quoting, job: Job, *states: str) -> Job:
    """The job after it went through these states."""
    with quoting.office.scope():
        held = held_job(quoting.shop, job.pk)
        assert held is not None
        for state in states:
            move_job(shop=quoting.shop, job=held, to=state, by=make.OPERATOR)
        return held
