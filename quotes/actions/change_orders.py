"""How is a change of a job drafted, priced and sent?

The caller holds the job, so that two writers of one job wait for each other. What came of it is `change_order_answers.py`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Max

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.accepting import NoSuchPayerError
from quotes.actions.change_order_prices import PricedWays, WayDetails, price_ways
from quotes.actions.change_order_rows import clear_ways, freeze, write_ways
from quotes.actions.consents import keep_document
from quotes.actions.jobs import move_job
from quotes.actions.priced import shop_day
from quotes.calc.change_order import STOPS_WORK, WISH
from quotes.calc.consent import document_hash
from quotes.calc.job import must_be_in
from quotes.exchange.change_works import work_from_json, work_to_json
from quotes.models import ChangeOrder, Job, QuotePayer
from quotes.reports.change_order_documents import order_document
from quotes.reports.change_orders import lines_of_ways, ways_of

Row = dict[str, Any]

OWNER = "owner"
# Something is open, or can be again.
AT_WORK = ("opening_up", "waiting", "rebuilding", "testing")


class ChangeOrderStateError(CalculationError):
    """Something that the state of this change order does not allow."""

    code = "change_order_state"


@dataclass(frozen=True, slots=True)
class OrderDetails:
    """Everything that is entered of a change order; `body` is the request as it was sent."""

    cause: str
    component: str
    title: str
    reason: str
    payer: str
    covers: tuple[str, ...]
    photographs: tuple[str, ...]
    stops_work: bool | None
    ways: tuple[WayDetails, ...]
    body: Row


def draft_change_order(
    *, shop: Shop, job: Job, details: OrderDetails, client_id: UUID | None, by: Actor, now: datetime
) -> ChangeOrder:
    """Drafts a change of a held job, priced as the job stands; one that a tablet has sent before is the one it was.

    Raises:
        JobStateError, ChangeOrderStateError: the job is not at work, or its quote is not the accepted one.
        NoSuchPayerError: a payer whom the quote does not name.
        CalculationError: ways that cannot be offered or priced.
    """
    assert_scope(shop.pk)
    if client_id is not None:
        known = ChangeOrder.objects.for_shop(shop).filter(client_id=client_id).first()
        if known is not None:
            if known.job_id != job.pk:
                words = "expected a client_id that no order of another job has"
                raise ChangeOrderStateError(words, field="client_id", value=str(client_id))
            return known
    must_be_of_work(job, doing="changed by an order")
    check_payer(shop, job, details.payer)
    last = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk).aggregate(last=Max("number"))["last"]
    order = ChangeOrder(
        shop=shop, job=job, number=(last or 0) + 1, client_id=client_id, created=now, created_by=by.person_id, version=0
    )
    _write_head(order, details)
    priced = _price(shop, job, order, details.ways, now)
    order.covers = sorted({*details.covers, *priced.covers})
    order.cost_base_id = freeze(shop, priced.added) if priced.added else None
    order.version = 1
    order.save(force_insert=True)
    write_ways(shop, order, priced.ways, priced.lines)
    return order


def save_change_order(*, shop: Shop, job: Job, order: ChangeOrder, details: OrderDetails, by: Actor, now: datetime) -> None:
    """Writes a draft again, priced as the job stands. Raises as `draft_change_order`."""
    assert_scope(shop.pk)
    must_be(order, "draft", doing="changed")
    must_be_of_work(job, doing="changed by an order")
    check_payer(shop, job, details.payer)
    _write_head(order, details)
    priced = _price(shop, job, order, details.ways, now)
    order.covers = sorted({*details.covers, *priced.covers})
    order.cost_base_id = freeze(shop, priced.added) if priced.added else None
    save(order, [*_HEAD, "covers", "cost_base", "request"])
    write_ways(shop, order, priced.ways, priced.lines)


def remove_change_order(*, shop: Shop, order: ChangeOrder, by: Actor) -> None:
    """Takes a draft away; what was sent once stays."""
    assert_scope(shop.pk)
    must_be(order, "draft", doing="deleted")
    clear_ways(shop, order)
    order.delete()


def send_change_order(*, shop: Shop, job: Job, order: ChangeOrder, by: Actor, now: datetime) -> None:
    """Prices a held order as the job stands, freezes what is shown with its hash, and has the job wait where the order says so.

    Sent again, it shows the limit that holds then; how long it waits counts from the first sending.

    Raises:
        ChangeOrderStateError, JobStateError: it was answered, or the job is not at work.
        CalculationError: as the pricing.
    """
    assert_scope(shop.pk)
    must_be(order, "draft", "waiting", doing="sent")
    must_be_of_work(job, doing="changed by an order")
    priced = _price(shop, job, order, ways_asked(order), now)
    order.cost_base_id = freeze(shop, priced.added) if priced.added else None
    order.covers = sorted({*order.covers, *priced.covers})
    write_ways(shop, order, priced.ways, priced.lines)
    ways, lines = ways_of(shop, order.pk), lines_of_ways(shop, order.pk)
    sent = now.isoformat(timespec="seconds")
    order.document = order_document(job, order, ways, {way.position: lines.get(way.pk, []) for way in ways}, sent=sent)
    order.document_hash = document_hash(order.document)
    keep_document(shop=shop, document="change_order", contents=order.document, hash_=order.document_hash, now=now)
    order.state, order.sent_at = "waiting", order.sent_at or now
    save(order, ["state", "sent_at", "document", "document_hash", "cost_base", "covers"])
    if order.stops_work and job.state != "waiting":
        move_job(shop=shop, job=job, to="waiting", by=by, reason=f"change order {order.number}")


def ways_asked(order: ChangeOrder) -> tuple[WayDetails, ...]:
    """The ways of an order as they were entered."""
    return tuple(
        WayDetails(
            kind=way["kind"],
            words=way["words"],
            works=tuple(work_from_json(work) for work in way["works"]),
            days=None if way["days"] is None else Decimal(way["days"]),
            days_reason=way["days_reason"],
            promised_on=None if way["promised_on"] is None else date.fromisoformat(way["promised_on"]),
            warranty=way["warranty"],
        )
        for way in order.request["ways"]
    )


_HEAD = ("cause", "component", "title", "reason", "payer", "photographs", "stops_work")


def _write_head(order: ChangeOrder, details: OrderDetails) -> None:
    for name in ("cause", "component", "title", "reason", "payer"):
        setattr(order, name, getattr(details, name))
    order.photographs = list(details.photographs)
    order.stops_work = details.cause in STOPS_WORK if details.stops_work is None else details.stops_work
    if details.cause == WISH and details.component:
        words = "a wish takes nothing of what is set aside for hidden work; leave the component out"
        raise ChangeOrderStateError(words, field="component", value=details.component)
    order.request = {"body": details.body, "ways": [_way_json(way) for way in details.ways]}


def _way_json(way: WayDetails) -> Row:
    return {
        "kind": way.kind,
        "words": way.words,
        "works": [work_to_json(work) for work in way.works],
        "days": None if way.days is None else str(way.days),
        "days_reason": way.days_reason,
        "promised_on": way.promised_on.isoformat() if way.promised_on else None,
        "warranty": way.warranty,
    }


def _price(shop: Shop, job: Job, order: ChangeOrder, ways: Sequence[WayDetails], now: datetime) -> PricedWays:
    day = shop_day(shop, now)
    return price_ways(shop, job, cause=order.cause, component=order.component, ways=ways, day=day)


def reprice(shop: Shop, job: Job, order: ChangeOrder, now: datetime) -> None:
    """Prices the ways of an order anew, as the job stands."""
    priced = _price(shop, job, order, ways_asked(order), now)
    order.cost_base_id = freeze(shop, priced.added) if priced.added else None
    save(order, ["cost_base"])
    write_ways(shop, order, priced.ways, priced.lines)


def must_be(order: ChangeOrder, *states: str, doing: str) -> None:
    """Refuses by name what the state of an order does not allow."""
    if order.state not in states:
        allowed = " or ".join(states)
        words = f"change order {order.number} is {order.state}; only one that is {allowed} can be {doing}"
        raise ChangeOrderStateError(words, field="state", value=order.state)


def must_be_of_work(job: Job, *, doing: str) -> None:
    """Refuses by name a job that is not at work, or whose quote is not the accepted one."""
    must_be_in(job.state, *AT_WORK, doing=doing)
    if job.quote.state != "accepted":
        words = f"{job.quote.number} is {job.quote.state}; only an accepted quote can be changed by an order"
        raise ChangeOrderStateError(words, field="state", value=job.quote.state)


def check_payer(shop: Shop, job: Job, payer: str) -> None:
    """Refuses a payer whom the quote of a job does not name."""
    if payer == OWNER:
        return
    labels = QuotePayer.objects.for_shop(shop).filter(quote_id=job.quote_id).values_list("label", flat=True)
    if payer not in labels:
        raise NoSuchPayerError(f"expected a payer of {job.quote.number}, not '{payer}'", field="payer", value=payer)


def save(order: ChangeOrder, changed: Sequence[str]) -> None:
    """Writes changed columns of a held order and takes its version on by one."""
    order.version += 1
    order.save(update_fields=[*changed, "version"])
