"""How is a job settled that stops before it is done: drafted, sent, signed as it is, and stopped by that?

The caller holds the job. A signed settlement stays; it is what stops a job.
"""

from dataclasses import asdict, dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import F

from costbase import snapshot as cost_base_snapshot
from costbase.calc.errors import CalculationError
from costbase.calc.money import currency
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.accepting import NoSuchPayerError, OtherAmountError, OtherDocumentError
from quotes.actions.change_order_answers import customer_of
from quotes.actions.change_order_prices import wants_more
from quotes.actions.change_orders import AT_WORK, check_payer
from quotes.actions.consents import Consenting, Given, check_given, keep_document, record_consent
from quotes.actions.jobs import move_job
from quotes.actions.priced import shop_day
from quotes.calc.change_order import (
    Done,
    Further,
    Settled,
    SettlementError,
    Stopped,
    Storage,
    Work,
    price_way,
    settle,
)
from quotes.calc.consent import document_hash
from quotes.calc.job import must_be_in
from quotes.exchange.change_works import work_from_json, work_to_json
from quotes.models import ChangeOrder, Consent, Job, Settlement
from quotes.reports.change_orders import job_terms
from quotes.reports.settlement_documents import settlement_document
from quotes.reports.settlements import settlements_of, to_settle
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]


class SettlementStateError(CalculationError):
    """Something that the state of this settlement does not allow."""

    code = "settlement_state"


@dataclass(frozen=True, slots=True)
class SettlementDetails:
    """What is entered of a settlement: what was done, what stays, closing up, storage; `body` is the request as sent."""

    stopped_on: date
    reason: str
    payer: str
    done: dict[str, Decimal]
    orders: dict[int, Decimal]
    kept: dict[str, Decimal]
    close_up: tuple[Work, ...]
    storage: Storage | None
    body: Row


def draft_settlement(*, shop: Shop, job: Job, details: SettlementDetails, by: Actor, now: datetime) -> Settlement:
    """Drafts the settlement of a held job.

    Raises:
        SettlementStateError: the job has one.
        JobStateError: nothing of the job was opened, or it is over.
        NoSuchPayerError, SettlementError, CalculationError: what was entered does not fit.
    """
    assert_scope(shop.pk)
    if settlements_of(shop, job.pk).exclude(state="withdrawn").exists():
        raise SettlementStateError(f"{job.number} has a settlement; change or withdraw that one", field="job", value=job.number)
    settlement = Settlement(shop=shop, job=job, created=now, created_by=by.person_id, version=0)
    _write(shop, job, settlement, details, now)
    settlement.version = 1
    settlement.save(force_insert=True)
    return settlement


def save_settlement(
    *, shop: Shop, job: Job, settlement: Settlement, details: SettlementDetails, by: Actor, now: datetime
) -> None:
    """Writes a draft again. Raises as `draft_settlement`."""
    assert_scope(shop.pk)
    must_be(settlement, "draft", doing="changed")
    _write(shop, job, settlement, details, now)
    _save(settlement, [*_WORKED, "stopped_on", "reason", "payer", "request"])


def send_settlement(*, shop: Shop, job: Job, settlement: Settlement, by: Actor, now: datetime) -> None:
    """Works a held settlement out as the job stands, and freezes what is shown with its hash; it can be sent again.

    Raises:
        SettlementStateError, JobStateError, CalculationError: as `draft_settlement`.
    """
    assert_scope(shop.pk)
    must_be(settlement, "draft", "sent", doing="sent")
    _write(shop, job, settlement, details_asked(settlement), now)
    settlement.document = settlement_document(job, settlement, sent=now.isoformat(timespec="seconds"))
    settlement.document_hash = document_hash(settlement.document)
    settlement.state, settlement.sent_at = "sent", settlement.sent_at or now
    keep_document(shop=shop, document="settlement", contents=settlement.document, hash_=settlement.document_hash, now=now)
    _save(settlement, [*_WORKED, "document", "document_hash", "state", "sent_at"])


@dataclass(frozen=True, slots=True)
class SettlementSigned:
    """A yes to a settlement: how it was given, the hash of the document, and the amount with tax that it was given to."""

    given: Given
    document_hash: str
    amount_with_tax: Decimal


def sign_settlement(
    *, shop: Shop, job: Job, settlement: Settlement, signed: SettlementSigned, by: Actor, now: datetime
) -> Consent:
    """Records that a settlement was signed as it is, and stops the job by it; orders that wait are taken back.

    Raises:
        SettlementStateError, JobStateError: it was not sent, or the job is over.
        NoSuchPayerError: it is for another payer.
        OtherDocumentError, OtherAmountError: what was signed is not what stands, or the job has moved since it was sent.
        ConsentTimeError: it cannot have been given when it says.
    """
    assert_scope(shop.pk)
    _must_be_answerable(shop, job, settlement, signed.given, now)
    _must_hold(shop, job, settlement, signed, now)
    consent = _record(shop, job, settlement, signed.given, "accepted", by, now)
    settlement.state, settlement.consent, settlement.signed_at = "signed", consent, now
    _save(settlement, ["state", "consent", "signed_at"])
    waiting = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk, state="waiting")
    waiting.update(state="withdrawn", decided_at=now, version=F("version") + 1)
    move_job(shop=shop, job=job, to="stopped", by=by, reason=settlement.reason[:400], day=settlement.stopped_on)
    return consent


def refuse_settlement(
    *, shop: Shop, job: Job, settlement: Settlement, given: Given, reason: str, by: Actor, now: datetime
) -> Consent:
    """Records that a settlement was not signed, with the reason; it can be worked out anew. Raises as `sign_settlement`."""
    assert_scope(shop.pk)
    _must_be_answerable(shop, job, settlement, given, now)
    told = replace(given, said={**given.said, "reason": reason})
    consent = _record(shop, job, settlement, told, "declined", by, now)
    settlement.state = "draft"
    _save(settlement, ["state"])
    return consent


def withdraw_settlement(*, shop: Shop, settlement: Settlement, by: Actor) -> None:
    """Takes a settlement back that was not signed.

    Raises:
        SettlementStateError: it was signed or taken back.
    """
    assert_scope(shop.pk)
    must_be(settlement, "draft", "sent", doing="withdrawn")
    settlement.state = "withdrawn"
    _save(settlement, ["state"])


def must_be(settlement: Settlement, *states: str, doing: str) -> None:
    """Refuses by name what the state of a settlement does not allow."""
    if settlement.state not in states:
        allowed = " or ".join(states)
        words = f"the settlement is {settlement.state}; only one that is {allowed} can be {doing}"
        raise SettlementStateError(words, field="state", value=settlement.state)


def details_asked(settlement: Settlement) -> SettlementDetails:
    """What was entered of a settlement."""
    kept = settlement.request
    storage = kept["storage"]
    return SettlementDetails(
        stopped_on=settlement.stopped_on,
        reason=settlement.reason,
        payer=settlement.payer,
        done={slug: Decimal(value) for slug, value in kept["done"].items()},
        orders={int(number): Decimal(value) for number, value in kept["orders"].items()},
        kept={slug: Decimal(value) for slug, value in kept["kept"].items()},
        close_up=tuple(work_from_json(work) for work in kept["close_up"]),
        storage=None if storage is None else Storage(Decimal(storage["days"]), Decimal(storage["rate"]), storage["tax_class"]),
        body=kept["body"],
    )


_WORKED = ("orders", "figures", "amount", "amount_with_tax", "paid", "due")


def _write(shop: Shop, job: Job, settlement: Settlement, details: SettlementDetails, now: datetime) -> None:
    must_be_in(job.state, *AT_WORK, doing="settled as it is")
    check_payer(shop, job, details.payer)
    settled, orders = _settled(shop, job, details, now)
    settlement.stopped_on, settlement.reason, settlement.payer = details.stopped_on, details.reason, details.payer
    storage = details.storage
    settlement.request = {
        "body": details.body,
        "done": {slug: str(value) for slug, value in details.done.items()},
        "orders": {str(number): str(value) for number, value in details.orders.items()},
        "kept": {slug: str(value) for slug, value in details.kept.items()},
        "close_up": [work_to_json(work) for work in details.close_up],
        "storage": None if storage is None else {name: str(value) for name, value in asdict(storage).items()},
    }
    settlement.orders = orders
    settlement.figures = _figures(settled)
    settlement.amount, settlement.amount_with_tax = settled.amount, settled.with_tax
    settlement.paid, settlement.due = settled.paid, settled.due


def _settled(shop: Shop, job: Job, details: SettlementDetails, now: datetime) -> tuple[Settled, list[int]]:
    base = frozen_cost_base(job.quote)
    known = to_settle(shop, job, base)
    for slug in details.done:
        if slug not in known.quoted:
            words = f"expected an assembly of the job: {', '.join(known.quoted)}"
            raise SettlementError(words, field=f"done/{slug}", value=slug)
    for number in details.orders:
        if number not in known.orders:
            words = f"expected the number of an order that was taken: {', '.join(map(str, known.orders)) or 'none was'}"
            raise SettlementError(words, field=f"orders/{number}", value=number)
    stopped = Stopped(
        sold=known.sold,
        done={slug: Done(known.quoted[slug].quantity, done) for slug, done in details.done.items()},
        orders=details.orders,
        kept=details.kept,
        drawn=known.drawn,
        drawn_parts=known.drawn_parts,
        close_up=_close_up(shop, job, details.close_up, shop_day(shop, now)) if details.close_up else (),
        storage=details.storage,
        paid=known.paid,
        most=known.most,
        tax_apart=known.tax_apart,
    )
    return settle(stopped, base.rule, currency(job.currency)), list(known.orders.values())


def _close_up(shop: Shop, job: Job, works: tuple[Work, ...], day: date) -> tuple[Further, ...]:
    """Closing up, priced as a way of a change order would be."""
    frozen = frozen_cost_base(job.quote)
    today = cost_base_snapshot.cost_base(shop, day, frozen.plan.slug) if wants_more(works, frozen) else None
    try:
        priced = price_way(works, job_terms(shop, job, frozen, today))
    except CalculationError as fault:
        raise fault.under("close_up") from None
    return tuple(
        Further(line.kind, line.name, line.quantity, line.unit, line.price, line.amount, line.tax_class)
        for line in priced.lines
    )


def _figures(settled: Settled) -> Row:
    return {
        "lines": [
            {name: value if isinstance(value, str | int) else str(value) for name, value in asdict(line).items()}
            for line in settled.lines
        ],
        "by_class": {name: str(value) for name, value in settled.by_class.items()},
        "taxes": [{name: str(value) for name, value in asdict(tax).items()} for tax in settled.taxes],
        "tax": str(settled.tax),
        "rounding": str(settled.rounding),
        "cut": str(settled.cut),
    }


def _must_be_answerable(shop: Shop, job: Job, settlement: Settlement, given: Given, now: datetime) -> None:
    must_be(settlement, "sent", doing="answered")
    must_be_in(job.state, *AT_WORK, doing="settled as it is")
    if given.payer != settlement.payer:
        words = f"the settlement is for {settlement.payer}; expected an answer of that payer"
        raise NoSuchPayerError(words, field="payer", value=given.payer)
    check_given(given, shop=shop, since=settlement.sent_at or now, now=now)


def _must_hold(shop: Shop, job: Job, settlement: Settlement, signed: SettlementSigned, now: datetime) -> None:
    settled, orders = _settled(shop, job, details_asked(settlement), now)
    moved = (settled.with_tax, settled.due, orders) != (settlement.amount_with_tax, settlement.due, settlement.orders)
    if moved or signed.document_hash != settlement.document_hash:
        words = "the settlement reads otherwise, or the job has moved since it was sent; send it again before it is signed"
        raise OtherDocumentError(words, field="document_hash", value=signed.document_hash)
    if signed.amount_with_tax != settlement.amount_with_tax:
        words = f"the settlement comes to {settlement.amount_with_tax.normalize():f} {job.currency} with tax; expected that"
        raise OtherAmountError(words, field="limit_with_tax/amount", value=str(signed.amount_with_tax))


def _record(shop: Shop, job: Job, settlement: Settlement, given: Given, outcome: str, by: Actor, now: datetime) -> Consent:
    consenting = Consenting(
        chain=job.quote.number,
        quote_id=job.quote_id,
        job_id=job.pk,
        document="settlement",
        document_id=settlement.pk,
        document_hash=settlement.document_hash,
        payer=given.payer,
        outcome=outcome,
        manner=given.manner,
        at=given.at,
        amount=Decimal(0),
        limit_with_tax=job.authorised_with_tax,
        promised_on=None,
        said={**given.said, "as_is": settlement.document["terms"], "due": settlement.due},
        giver=replace(given.giver, customer_id=customer_of(shop, job, given.payer)),
        link_id=given.link_id,
    )
    return record_consent(shop=shop, consenting=consenting, by=by, now=now)


def _save(settlement: Settlement, changed: list[str]) -> None:
    settlement.version += 1
    settlement.save(update_fields=[*changed, "version"])
