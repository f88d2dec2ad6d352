"""What becomes of the job that a step began: it goes on with the whole, or the coach is closed up and nothing more is billed?

A job that began with a step is not whole: it has no agreed lines, no hidden components and no pot. What the step sold stands in
an accepted change order, so that hours, bills and payments are the job's from the first day on. When the whole is agreed (this
quote, an alternative or a revision of it), the same job takes up its lines, components, pot and limit; a second order takes the
step's work back, which is in the price of the whole, to the cent and in every tax class. What was billed before counts.
"""

import json
from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import Max

from costbase.calc.errors import CalculationError
from costbase.calc.money import currency
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.agreed import COLUMNS, Agreed
from quotes.actions.change_order_rows import add_packs, line_row, write_ways
from quotes.actions.jobs import authorise, book_job, move_job, overrun_of, save_job
from quotes.actions.quote_statement import COMPONENT, LINE, names, recordset
from quotes.calc.change_order import OrderLine, added, storage_line, taken_back
from quotes.calc.job import must_be_in
from quotes.models import ChangeOrder, Consent, Job, Quote, StepOffer
from quotes.reports.change_orders import agreed_limit, limits_with, sums_of_orders
from quotes.reports.steps import lines_of, zeroed
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]

# The work of a step is not over, and nothing of the whole has begun.
BEGUN = ("booked", "opening_up")
_TITLES = {"look_first": "A look first, sold on its own", "teardown": "Teardown, sold on its own"}
_TAKE_UP = f"""
WITH l AS (
    INSERT INTO quotes_jobline (shop_id, job_id, {names(LINE)})
    SELECT %(shop)s, %(job)s, {names(LINE, "lines.")} FROM {recordset(LINE, "lines")}
)
INSERT INTO quotes_jobcomponent (shop_id, job_id, {names(COMPONENT)})
SELECT %(shop)s, %(job)s, {names(COMPONENT, "components.")} FROM {recordset(COMPONENT, "components")}
"""


class StorageDaysError(CalculationError):
    """More days of storage than the owner has consented to."""

    code = "bad_storage_days"


class NotAStepError(CalculationError):
    """A closing up of a step that no job was begun by, or whose job has gone on."""

    code = "step_not_open"


def begun_job(shop: Shop, number: str) -> Job | None:
    """The job that a step under a quote's number began and that waits for the whole, held; None where there is none."""
    assert_scope(shop.pk)
    rows = Job.objects.for_shop(shop).select_for_update(of=("self",))
    return rows.filter(quote__number=number, whole=False, state__in=BEGUN).order_by("id").first()


def take_up_step(
    *, shop: Shop, quote: Quote, step: StepOffer, job: Job | None, consent: Consent, by: Actor, now: datetime
) -> Job:
    """Begins a job with a step that was consented to, or goes on with a held one; authorised to the limit of all its steps."""
    assert_scope(shop.pk)
    if job is None:
        job = _begin(shop, quote, step, consent, by, now)
    else:
        authorised, with_tax = job.authorised + step.limit, job.authorised_with_tax + step.limit_with_tax
        authorise(shop=shop, job=job, consent=consent, authorised=authorised, authorised_with_tax=with_tax)
    _order(shop, job, consent, lines_of(step, "work"), title=_TITLES[step.kind], kind="repair_part", now=now)
    return job


def go_on_whole(
    *, shop: Shop, job: Job, quote: Quote, terms: Agreed, options: list[str], consent: Consent, by: Actor, now: datetime
) -> Job:
    """The held job of a step, gone on with the whole that was just agreed under the same number.

    Args:
        shop: whose it is.
        job: that a step began.
        quote: that was accepted.
        terms: what was agreed, options included.
        options: that were ticked.
        consent: the record that authorises the whole.
        by: who acts.
        now: when.
    """
    assert_scope(shop.pk)
    beside = Decimal(0)
    for step in StepOffer.objects.for_shop(shop).filter(job_id=job.pk, state="accepted").order_by("id"):
        if step.counts:
            lines = taken_back(lines_of(step, "work"))
            _order(shop, job, consent, lines, title="In the price of the whole", kind="repair_part", now=now)
        else:
            beside += step.limit_with_tax
    values: Row = {
        "shop": shop.pk,
        "job": job.pk,
        "lines": json.dumps(terms.lines, default=str),
        "components": json.dumps(terms.components, default=str),
    }
    with connection.cursor() as cursor:
        cursor.execute(_TAKE_UP, values)
    changed = _agree(job, quote, terms, options)
    _authorise_whole(shop, job, consent, beside)
    save_job(job, [*changed, "consent", "authorised", "authorised_with_tax", "overrun_with_tax", "promised_on"])
    return job


def save_step(step: StepOffer, changed: list[str]) -> None:
    """Writes changed columns of a held step and takes its version on by one."""
    step.version += 1
    step.save(update_fields=[*changed, "version"])


def close_up_step(*, shop: Shop, job: Job, step: StepOffer, days: int, reason: str, by: Actor, now: datetime) -> None:
    """Ends the held job of an accepted step with the closing up that the owner consented to with it; nothing more is billed.

    Args:
        shop: whose it is.
        job: that the step began or went on with.
        step: held; its closing up and its price of a day count.
        days: that the coach stood in the shop's care.
        reason: why it ends there.
        by: who acts.
        now: when.

    Raises:
        NotAStepError: the step was not accepted, was closed up, or the whole was agreed meanwhile.
        JobStateError: the roof is not open.
        StorageDaysError: more days than were consented to.
    """
    assert_scope(shop.pk)
    if step.state != "accepted" or step.closed_up_at is not None or job.whole:
        words = "expected a step that was accepted, is not closed up, and whose job has not gone on with the whole"
        raise NotAStepError(words, value=step.state)
    must_be_in(job.state, *(BEGUN if step.kind == "look_first" else ("opening_up",)), doing="closed up")
    if days > step.storage_days:
        words = f"at most {step.storage_days} days were consented to; more need a consent of their own"
        raise StorageDaysError(words, field="storage_days", value=days)
    lines = lines_of(step, "close_up")
    if days and step.storage_price:
        lines.append(storage_line(step.storage_price, days, currency(job.currency)))
    if lines and step.consent is not None:
        _order(shop, job, step.consent, lines, title="Closed up", kind="close_up", now=now)
    step.closed_up_at = now
    save_step(step, ["closed_up_at"])
    if job.state == "booked":
        move_job(shop=shop, job=job, to="opening_up", by=by)
    move_job(shop=shop, job=job, to="stopped", by=by, reason=reason)


def _begin(shop: Shop, quote: Quote, step: StepOffer, consent: Consent, by: Actor, now: datetime) -> Job:
    nothing: Row = dict.fromkeys(COLUMNS, Decimal(0))
    terms = Agreed(nothing, zeroed(quote.totals), [], [], {})
    overrun = overrun_of(shop, consent, step.limit, step.limit_with_tax, quote.coach.year)
    return book_job(
        shop=shop, quote=quote, terms=terms, options=[], consent=consent, overrun_with_tax=overrun, by=by, now=now, step=step
    )  # fmt: skip


def _agree(job: Job, quote: Quote, terms: Agreed, options: list[str]) -> list[str]:
    """Writes onto the job, not yet into its row, what is agreed with the whole; the names of what differs."""
    job.quote, job.cost_base_id, job.customer_id = quote, quote.cost_base_id, quote.customer_id
    job.price_basis, job.options, job.whole = quote.price_basis, options, True
    for name in COLUMNS:
        setattr(job, name, Decimal(str(terms.columns[name])))
    job.deposit, job.totals = Decimal(str(terms.totals["deposit"])), terms.totals
    return ["quote", "cost_base", "customer", "price_basis", "options", "whole", *COLUMNS, "deposit", "totals"]


def _authorise_whole(shop: Shop, job: Job, consent: Consent, beside: Decimal) -> None:
    """Writes onto the job what is authorised with the whole: its limit, and the looks that are paid beside it."""
    base = frozen_cost_base(job.quote)
    limits = limits_with(agreed_limit(shop, job, base), sums_of_orders(shop, job.pk), [], base, job.currency)
    signed = Decimal(str(consent.limit_with_tax)) + beside
    with_tax = min(limits.authorised_with_tax, signed) if beside else signed
    job.overrun_with_tax = overrun_of(shop, consent, limits.authorised, with_tax, job.coach.year)
    job.consent, job.authorised, job.authorised_with_tax = consent, limits.authorised, with_tax
    if consent.promised_on is not None:
        job.promised_on = consent.promised_on


def _order(shop: Shop, job: Job, consent: Consent, lines: Sequence[OrderLine], *, title: str, kind: str, now: datetime) -> None:
    """An accepted change order of the job with one way, of these lines, by a consent that covers it."""
    last = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk).aggregate(last=Max("number"))["last"]
    order = ChangeOrder(
        shop=shop,
        job=job,
        number=(last or 0) + 1,
        cause="stop" if kind == "close_up" else "other",
        title=title,
        stops_work=False,
        document_hash=consent.document_hash,
        created=now,
        created_by=consent.received_by,
        sent_at=now,
    )
    order.save(force_insert=True)
    amount = added(lines)
    way = {
        "position": 1,
        "kind": kind,
        "words": title,
        "amount": str(amount),
        "cost": str(sum((line.cost for line in lines), Decimal(0))),
        "authorised": str(job.authorised),
        "authorised_with_tax": str(job.authorised_with_tax),
        "days": "0",
        "promised_on": None,
        "warranty": "",
        "details": {"by_class": _by_class(lines), "packs": []},
    }
    write_ways(shop, order, [way], [{"way": 1, **line_row(line, at)} for at, line in enumerate(lines, 1)])
    add_packs(shop, order, _packs(lines))
    order.state, order.chosen, order.consent, order.decided_at = "accepted", 1, consent, now
    order.amount, order.authorised, order.authorised_with_tax = amount, job.authorised, job.authorised_with_tax
    order.save(update_fields=["state", "chosen", "consent", "decided_at", "amount", "authorised", "authorised_with_tax"])


def _by_class(lines: Sequence[OrderLine]) -> dict[str, str]:
    sums: dict[str, Decimal] = {}
    for line in lines:
        sums[line.tax_class] = sums.get(line.tax_class, Decimal(0)) + line.amount
    return {name: str(value) for name, value in sums.items()}


def _packs(lines: Sequence[OrderLine]) -> list[Row]:
    """What the lines buy, so that packs are counted once over the life of the job; what is taken back is counted back."""
    goods = [line for line in lines if line.kind == "material" and "net" in line.details]
    sign = {line.slug: -1 if line.quantity < 0 else 1 for line in goods}
    return [
        {"material": line.slug, "net": str(sign[line.slug] * Decimal(str(line.details["net"]))), "packs": str(line.quantity)}
        for line in goods
    ]
