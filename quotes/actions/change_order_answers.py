"""How is a change order answered, and what moves when it is accepted?

The caller holds the job. A limit that was shown and does not hold any more, because another order was accepted after this one
was sent, cannot be accepted: it is sent again, with the limit that holds.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from decimal import Decimal

from django.db.models import F

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.accepting import NoSuchPayerError, OtherAmountError, OtherDocumentError
from quotes.actions.change_order_rows import add_packs
from quotes.actions.change_orders import OWNER, ChangeOrderStateError, must_be, must_be_of_work, reprice, save
from quotes.actions.consents import Consenting, Given, check_given, record_consent
from quotes.actions.jobs import authorise, move_job, save_job
from quotes.actions.priced import shop_day
from quotes.calc.change_order import STOP
from quotes.models import ChangeOrder, ChangeOrderWay, Consent, Job, QuotePayer
from quotes.reports.change_orders import agreed_limit, limits_with, lines_of_ways, sums_of_orders, ways_of
from quotes.reports.consents import consent_of_limit
from quotes.reports.policies import NOTHING, policy_on
from quotes.snapshot import frozen_cost_base


class NotCarriedError(CalculationError):
    """An order that no adopted policy lets the shop carry without a consent."""

    code = "not_carried"


@dataclass(frozen=True, slots=True)
class WayAccepted:
    """A yes to one way of an order: how it was given, the hash of the document and the limit with tax that it was given to."""

    given: Given
    way: str
    document_hash: str
    limit_with_tax: Decimal


def accept_change_order(
    *, shop: Shop, job: Job, order: ChangeOrder, accepted: WayAccepted, by: Actor, now: datetime
) -> Consent:
    """Records the consent to one way of a held order and moves what is authorised by it.

    The promised day of the way holds from then on, and the job goes on when nothing waits any more; a stop keeps it waiting for
    its settlement.

    Raises:
        ChangeOrderStateError, JobStateError: it does not wait for an answer, or the job is not at work.
        NoSuchPayerError: the order is for another payer.
        OtherDocumentError, OtherAmountError: what was accepted is not what stands.
        ConsentTimeError: it cannot have been given when it says.
    """
    assert_scope(shop.pk)
    given = accepted.given
    _must_be_answerable(shop, job, order, given, now, doing="accepted")
    way = _way(shop, order, accepted.way)
    if accepted.document_hash != order.document_hash:
        raise OtherDocumentError(
            f"change order {order.number} reads otherwise than what was accepted; read it again before accepting it",
            field="document_hash",
            value=accepted.document_hash,
        )
    _must_hold(shop, job, order, way)
    if accepted.limit_with_tax != way.authorised_with_tax:
        words = f"this way authorises {way.authorised_with_tax.normalize():f} {job.currency} in all; expected that"
        raise OtherAmountError(words, field="limit_with_tax/amount", value=str(accepted.limit_with_tax))
    said = {**given.said, "way": way.kind, "extra_cost": way.amount, "added": _added(shop, way), "warranty": way.warranty}
    consent = _record(shop, job, order, replace(given, said=said), way, by, now)
    authorise(shop=shop, job=job, consent=consent, authorised=way.authorised, authorised_with_tax=way.authorised_with_tax)
    _take(shop, order, way, "accepted", now)
    order.consent = consent
    save(order, ["state", "chosen", "consent", "amount", "authorised", "authorised_with_tax", "decided_at"])
    if way.kind == STOP:
        if job.state != "waiting":
            move_job(shop=shop, job=job, to="waiting", by=by, reason=f"change order {order.number}: stop")
    else:
        _go_on(shop, job, by)
    return consent


def decline_change_order(
    *, shop: Shop, job: Job, order: ChangeOrder, given: Given, reason: str, by: Actor, now: datetime
) -> Consent:
    """Records that a held order was declined, with the reason; what was agreed stays. Raises as `accept_change_order`."""
    assert_scope(shop.pk)
    _must_be_answerable(shop, job, order, given, now, doing="declined")
    consent = _record(shop, job, order, replace(given, said={**given.said, "reason": reason}), None, by, now)
    order.state, order.consent, order.decided_at = "declined", consent, now
    save(order, ["state", "consent", "decided_at"])
    _go_on(shop, job, by)
    return consent


def withdraw_change_order(*, shop: Shop, job: Job, order: ChangeOrder, reason: str, by: Actor, now: datetime) -> None:
    """Takes a held order back that waits for an answer.

    Raises:
        ChangeOrderStateError: it does not wait.
    """
    assert_scope(shop.pk)
    must_be(order, "waiting", doing="withdrawn")
    order.state, order.decided_at = "withdrawn", now
    order.request = {**order.request, "withdrawn": reason}
    save(order, ["state", "decided_at", "request"])
    _go_on(shop, job, by)


def carry_change_order(*, shop: Shop, job: Job, order: ChangeOrder, way_kind: str, by: Actor, now: datetime) -> None:
    """Does one way of a held order without a consent, since it stays within what the adopted policy allows.

    What is authorised stays as it is. The policy's words stand with the order.

    Raises:
        ChangeOrderStateError, JobStateError: it was answered, or the job is not at work.
        NotCarriedError: no policy was adopted, or it allows less than all carried orders come to with tax.
    """
    assert_scope(shop.pk)
    must_be(order, "draft", "waiting", doing="carried")
    must_be_of_work(job, doing="changed by an order")
    reprice(shop, job, order, now)
    way = _way(shop, order, way_kind)
    if way.kind == STOP:
        raise NotCarriedError("work is stopped by a consent only", field="way", value=way.kind)
    # What was adopted when the limit was signed holds for it, and nothing that was adopted since.
    policy = policy_on(shop, shop_day(shop, consent_of_limit(shop, job).at))
    beyond = _beyond(shop, job, way)
    if policy is None or policy.template == NOTHING or beyond > job.overrun_with_tax:
        allowed = f"{job.overrun_with_tax.normalize():f} {job.currency}"
        words = f"with this order {beyond.normalize():f} would be carried without a consent, and {allowed} are allowed; send it"
        raise NotCarriedError(words, field="way", value=str(beyond))
    _take(shop, order, way, "carried", now)
    # What is authorised does not move by it.
    order.authorised, order.authorised_with_tax = job.authorised, job.authorised_with_tax
    order.carried_under = {"template": policy.template, "version": policy.version, "adopted": policy.adopted}
    save(order, ["state", "chosen", "amount", "authorised", "authorised_with_tax", "decided_at", "carried_under"])
    save_job(job, [])
    _go_on(shop, job, by)


def _must_be_answerable(shop: Shop, job: Job, order: ChangeOrder, given: Given, now: datetime, *, doing: str) -> None:
    must_be(order, "waiting", doing=doing)
    must_be_of_work(job, doing="changed by an order")
    if given.payer != order.payer:
        words = f"change order {order.number} is for {order.payer}; expected an answer of that payer"
        raise NoSuchPayerError(words, field="payer", value=given.payer)
    check_given(given, shop=shop, since=order.sent_at or now, now=now)


def _way(shop: Shop, order: ChangeOrder, kind: str) -> ChangeOrderWay:
    ways = ways_of(shop, order.pk)
    found = [way for way in ways if way.kind == kind]
    if not found:
        words = f"expected one of its ways: {', '.join(way.kind for way in ways)}"
        raise ChangeOrderStateError(words, field="way", value=kind)
    return found[0]


def _must_hold(shop: Shop, job: Job, order: ChangeOrder, way: ChangeOrderWay) -> None:
    """Refuses a limit or a day that was shown before something else moved it: the owner signs what holds."""
    base = frozen_cost_base(job.quote)
    mine = {name: Decimal(value) for name, value in way.details["by_class"].items()}
    now = limits_with(agreed_limit(shop, job, base), sums_of_orders(shop, job.pk), [mine], base, job.currency)
    promised = job.promised_on.isoformat() if job.promised_on else None
    if (now.authorised, now.authorised_with_tax, promised) != (
        way.authorised,
        way.authorised_with_tax,
        order.document["promised_on_before"],
    ):
        raise OtherDocumentError(
            f"what is authorised or promised has moved since change order {order.number} was sent; send it again",
            field="document_hash",
            value=order.document_hash,
        )


def _added(shop: Shop, way: ChangeOrderWay) -> list[str]:
    """Parts and labour added, as the record of a consent lists them."""
    lines = lines_of_ways(shop, way.change_order_id).get(way.pk, [])
    return [
        f"{line['name']}: {line['quantity'].normalize():f} {line['unit']}, {line['amount'].normalize():f}" for line in lines
    ]


def _record(
    shop: Shop, job: Job, order: ChangeOrder, given: Given, way: ChangeOrderWay | None, by: Actor, now: datetime
) -> Consent:
    consenting = Consenting(
        chain=job.quote.number,
        quote_id=job.quote_id,
        job_id=job.pk,
        document="change_order",
        document_id=order.pk,
        document_hash=order.document_hash,
        payer=given.payer,
        outcome="declined" if way is None else "accepted",
        manner=given.manner,
        at=given.at,
        amount=Decimal(0) if way is None else way.amount,
        limit_with_tax=job.authorised_with_tax if way is None else way.authorised_with_tax,
        promised_on=None if way is None else way.promised_on,
        said={**given.said, "order": order.number, "title": order.title},
        giver=replace(given.giver, customer_id=customer_of(shop, job, given.payer)),
        link_id=given.link_id,
    )
    return record_consent(shop=shop, consenting=consenting, by=by, now=now)


def customer_of(shop: Shop, job: Job, payer: str) -> int | None:
    """Whose words they are, so that an erasure finds them."""
    rows = QuotePayer.objects.for_shop(shop).filter(quote_id=job.quote_id, label=payer)
    found: int | None = rows.values_list("customer_id", flat=True).first()
    return job.customer_id if found is None and payer == OWNER else found


def _take(shop: Shop, order: ChangeOrder, way: ChangeOrderWay, state: str, now: datetime) -> None:
    order.state, order.chosen, order.decided_at = state, way.position, now
    order.amount, order.authorised, order.authorised_with_tax = way.amount, way.authorised, way.authorised_with_tax
    add_packs(shop, order, way.details["packs"])


def _go_on(shop: Shop, job: Job, by: Actor) -> None:
    """Has a job go on that waits for nothing any more; one that shall stop waits for its settlement."""
    if job.state != "waiting":
        return
    orders = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk)
    if orders.filter(state="waiting", stops_work=True).exists():
        return
    stops = ChangeOrderWay.objects.for_shop(shop).filter(kind=STOP, position=F("change_order__chosen"))
    if stops.filter(change_order__job_id=job.pk, change_order__state="accepted").exists():
        return
    move_job(shop=shop, job=job, to=job.resumes, by=by)


def _beyond(shop: Shop, job: Job, way: ChangeOrderWay) -> Decimal:
    """What all carried orders and this one come to with tax, beyond what is authorised."""
    base = frozen_cost_base(job.quote)
    taken, carried = sums_of_orders(shop, job.pk), sums_of_orders(shop, job.pk, ("carried",))
    mine = {name: Decimal(value) for name, value in way.details["by_class"].items()}
    after = limits_with(agreed_limit(shop, job, base), taken, [carried, mine], base, job.currency)
    return after.authorised_with_tax - job.authorised_with_tax
