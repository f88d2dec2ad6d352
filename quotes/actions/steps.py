"""How is a step of the work sold on its own: priced, issued, taken back, consented to or declined?

The caller holds the offer of the quote. A step that was consented to begins the job, or goes on with the one that an earlier
step began (`step_jobs.py`).

Source: an estimate and authorisation of its own for teardown, with the price of putting it together again, what it destroys and
whether it may become impossible to restore, as in 16 CCR 3353(c); offered here wherever the shop is.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import F, Max

from costbase import snapshot as cost_base_snapshot
from costbase.calc.cost_base import PricingRule
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, currency
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.accepting import OtherAmountError, OtherDocumentError
from quotes.actions.change_order_rows import line_row
from quotes.actions.consents import Consenting, Given, check_given, keep_document, record_consent
from quotes.actions.priced import ENGINE, shop_day
from quotes.actions.quoting import QuoteStateError, must_be, must_stand_alone
from quotes.actions.step_jobs import begun_job, save_step, take_up_step
from quotes.calc.change_order import (
    Alone,
    AssemblyWork,
    OrderLine,
    price_alone,
    price_way,
    storage_line,
    teardown_lines,
    with_shop_lines,
)
from quotes.calc.consent import document_hash
from quotes.calc.tax import Tax
from quotes.models import Consent, Job, Quote, StepOffer
from quotes.reports.quotes import stored_lines, worked_again
from quotes.reports.steps import OWNER, TERMS_VERSION, WORDS, look_works, step_document, step_terms, steps_of

Row = dict[str, Any]

LOOK, TEARDOWN = "look_first", "teardown"
# Nothing whole is agreed yet, and may still be.
OFFERED = ("draft", "issued")
LOOK_FIRST = "look-first"
_LOOK_COUNT = "look_first_count"


class StepStateError(CalculationError):
    """Something that the state of this step does not allow."""

    code = "step_state"


class StepTermsError(CalculationError):
    """Terms of a step that contradict its kind or its quote."""

    code = "bad_step"


class StepExpiredError(CalculationError):
    """An answer to a step after the last day on which its prices hold."""

    code = "step_expired"


@dataclass(frozen=True, slots=True)
class StepDetails:
    """What is asked for. `looks` are pairs of component and assembly; without `valid_until` it is the quote's last day."""

    kind: str
    looks: tuple[tuple[str, str], ...]
    close_up: tuple[AssemblyWork, ...]
    storage_price: Decimal
    storage_days: int
    destroyed: tuple[str, ...]
    notice: str
    valid_until: date | None
    body: Row


@dataclass(frozen=True, slots=True)
class StepYes:
    """A yes to a step: how it was given, the hash of the document and the limit with tax that it was given to."""

    given: Given
    document_hash: str
    limit_with_tax: Decimal


def draft_step(*, shop: Shop, quote: Quote, details: StepDetails, by: Actor, now: datetime) -> StepOffer:
    """Prices a step of a held quote and keeps it as a draft.

    Raises:
        QuoteStateError, FleetMemberError: the quote is neither a draft nor on offer, is of an older arithmetic, or of a fleet.
        StepTermsError: terms that contradict each other.
        EmptyStepError, WorkError: it comes to no work, or to work that nobody knows here.
        CalculationError: what is needed to price it is not in force.
    """
    assert_scope(shop.pk)
    must_be(quote, *OFFERED, doing="sold by a step")
    must_stand_alone(quote)
    last = steps_of(shop, quote.pk).aggregate(last=Max("number"))["last"]
    step = StepOffer(shop=shop, quote=quote, number=(last or 0) + 1, created=now, created_by=by.person_id)
    _write(shop, quote, step, details, now)
    step.save(force_insert=True)
    return step


def save_draft(*, shop: Shop, quote: Quote, step: StepOffer, details: StepDetails, by: Actor, now: datetime) -> None:
    """Writes a held draft again, priced on what is in force today.

    Raises:
        StepStateError: it is no draft any more.
        CalculationError: as `draft_step`.
    """
    assert_scope(shop.pk)
    must_be_step(step, "draft", doing="changed")
    must_be(quote, *OFFERED, doing="sold by a step")
    _write(shop, quote, step, details, now)
    save_step(step, _WRITTEN)


def issue_step(*, shop: Shop, quote: Quote, step: StepOffer, by: Actor, now: datetime) -> None:
    """Freezes what the owner sees of a draft. One of the same kind that is on offer is superseded.

    Raises:
        StepStateError, QuoteStateError: it is no draft, or its quote is not on offer any more.
        StepExpiredError: its last day is over.
    """
    assert_scope(shop.pk)
    must_be_step(step, "draft", doing="issued")
    must_be(quote, *OFFERED, doing="sold by a step")
    _must_hold(shop, step, now)
    steps_of(shop, quote.pk).filter(kind=step.kind, state="issued").update(
        state="superseded", decided_at=now, version=F("version") + 1
    )
    taxes = [Tax(row["name"], Decimal(row["rate"]), Decimal(row["base"]), Decimal(row["amount"])) for row in step.taxes]
    step.document = step_document(quote, step, taxes, now.isoformat(timespec="seconds"))
    step.document_hash = document_hash(step.document)
    step.state, step.issued_at = "issued", now
    save_step(step, ["document", "document_hash", "state", "issued_at"])
    keep_document(shop=shop, document="step", contents=step.document, hash_=step.document_hash, now=now)


def withdraw_step(*, shop: Shop, step: StepOffer, by: Actor, now: datetime) -> None:
    """Takes a step back that nobody has answered.

    Raises:
        StepStateError: it was answered.
    """
    assert_scope(shop.pk)
    must_be_step(step, "draft", "issued", doing="taken back")
    step.state, step.decided_at = "withdrawn", now
    save_step(step, ["state", "decided_at"])


def accept_step(*, shop: Shop, quote: Quote, step: StepOffer, yes: StepYes, by: Actor, now: datetime) -> tuple[Consent, Job]:
    """Records the owner's consent to an issued step of a held quote; its job is authorised to the limit of the step.

    Raises:
        StepStateError, QuoteStateError, StepExpiredError: it cannot be accepted any more.
        OtherDocumentError, OtherAmountError: something else was accepted than stands.
        ConsentTimeError: it cannot have been given when it says.
    """
    assert_scope(shop.pk)
    must_be_step(step, "issued", doing="accepted")
    must_be(quote, *OFFERED, doing="sold by a step")
    _must_hold(shop, step, now)
    if yes.document_hash != step.document_hash:
        words = "another document was accepted than was shown; read it again before accepting it"
        raise OtherDocumentError(words, field="document_hash", value=yes.document_hash)
    if yes.limit_with_tax != step.limit_with_tax:
        shown = step.document["limit_with_tax"]
        words = f"the document authorises {shown} {quote.currency}; expected an acceptance of that"
        raise OtherAmountError(words, field="limit_with_tax/amount", value=str(yes.limit_with_tax))
    check_given(yes.given, shop=shop, since=step.issued_at or now, now=now)
    job = begun_job(shop, quote.number)
    before = job.authorised_with_tax if job else Decimal(0)
    consent = _record(shop, quote, step, "accepted", yes.given, job, before + step.limit_with_tax, by, now)
    job = take_up_step(shop=shop, quote=quote, step=step, job=job, consent=consent, by=by, now=now)
    step.state, step.consent, step.job_id, step.decided_at = "accepted", consent, job.pk, now
    save_step(step, ["state", "consent", "job_id", "decided_at"])
    return consent, job


def decline_step(*, shop: Shop, quote: Quote, step: StepOffer, given: Given, reason: str, by: Actor, now: datetime) -> Consent:
    """Records the owner's no to an issued step.

    Raises:
        StepStateError, StepExpiredError, ConsentTimeError: as `accept_step`.
    """
    assert_scope(shop.pk)
    must_be_step(step, "issued", doing="declined")
    _must_hold(shop, step, now)
    check_given(given, shop=shop, since=step.issued_at or now, now=now)
    job = begun_job(shop, quote.number)
    before = job.authorised_with_tax if job else Decimal(0)
    told = replace(given, said={**given.said, "reason": reason})
    consent = _record(shop, quote, step, "declined", told, job, before, by, now)
    step.state, step.consent, step.decided_at = "declined", consent, now
    save_step(step, ["state", "consent", "decided_at"])
    return consent


def must_be_step(step: StepOffer, *states: str, doing: str) -> None:
    """Refuses what the state of a step does not allow.

    Raises:
        StepStateError: any other state.
    """
    if step.state not in states:
        words = f"a step that is {step.state} cannot be {doing}; expected one that is {' or '.join(states)}"
        raise StepStateError(words, value=step.state)


def held_step(shop: Shop, quote_id: int, step_id: int) -> StepOffer | None:
    """A step of a quote, held until the scope closes; None where there is none."""
    return steps_of(shop, quote_id).select_for_update(of=("self",)).filter(pk=step_id).first()


def _must_hold(shop: Shop, step: StepOffer, now: datetime) -> None:
    if step.valid_until < shop_day(shop, now):
        raise StepExpiredError(f"the prices of this step held until {step.valid_until}; make a new one", value=step.number)


def _check(shop: Shop, quote: Quote, details: StepDetails, now: datetime) -> None:
    """Refuses terms that contradict the kind of the step or its quote."""
    today = shop_day(shop, now)
    until = details.valid_until
    if until is not None and not today <= until <= quote.valid_until:
        words = f"expected a day from today ({today}) to the last of {quote.number} ({quote.valid_until})"
        raise StepTermsError(words, field="valid_until", value=str(until))
    if details.kind == TEARDOWN and details.looks:
        raise StepTermsError("looks are sold by a look first; leave them out of a teardown", field="looks")
    if details.kind == TEARDOWN and not details.close_up:
        words = "say what closes the coach up if the work ends there, such as 'close-up' with its length"
        raise StepTermsError(words, field="close_up")


@dataclass(frozen=True, slots=True)
class _Work:
    """Priced work, with the rule and currency that it was priced by."""

    lines: tuple[OrderLine, ...]
    rule: PricingRule
    currency: Currency


def _priced_work(shop: Shop, quote: Quote, details: StepDetails, now: datetime) -> tuple[_Work, tuple[OrderLine, ...]]:
    """The work of a step and its closing up, with the shop's lines."""
    context = worked_again(quote)
    rule, money = context.cost_base.rule, context.cost_base.currency
    today = cost_base_snapshot.cost_base(shop, shop_day(shop, now), context.cost_base.plan.slug)
    if details.kind == TEARDOWN:
        base = context.cost_base
        plain: Sequence[OrderLine] = teardown_lines(stored_lines(shop, quote.pk), base.materials, opens=base.plan.opens)
    else:
        looks = look_works(context, details.looks) or [AssemblyWork(LOOK_FIRST, "", {_LOOK_COUNT: 1.0})]
        plain = [line for line in price_way(looks, step_terms(context, today, ())).lines if line.kind != "shop"]
    work = with_shop_lines(plain, rule, money)
    if not details.close_up:
        return _Work(work, rule, money), ()
    try:
        closing = price_way(details.close_up, step_terms(context, today, work)).lines
    except CalculationError as fault:
        raise _of_close_up(fault) from fault
    return _Work(work, rule, money), closing


def _of_close_up(fault: CalculationError) -> CalculationError:
    """The same refusal where the request has it: works are listed under `close_up`."""
    for each in getattr(fault, "faults", (fault,)):
        each.field = each.field.replace("works/", "close_up/", 1)
    return fault


def _storage(quote: Quote, details: StepDetails) -> tuple[OrderLine, ...]:
    if details.storage_price == 0 or details.storage_days == 0:
        return ()
    return (storage_line(details.storage_price, details.storage_days, currency(quote.currency)),)


_WRITTEN = [
    "kind", "request", "counts", "storage_price", "storage_days", "destroyed", "notice", "valid_until", "lines", "amount",
    "close_up", "storage", "limit", "limit_with_tax", "cost", "taxes",
]  # fmt: skip


def _write(shop: Shop, quote: Quote, step: StepOffer, details: StepDetails, now: datetime) -> None:
    """What is asked for and what it comes to."""
    if quote.engine != ENGINE:
        raise QuoteStateError(f"{quote.number} was priced by an older arithmetic; save or revise it first", value=quote.engine)
    _check(shop, quote, details, now)
    work, closing = _priced_work(shop, quote, details, now)
    alone = price_alone(work.lines, closing, _storage(quote, details), work.rule, work.currency)
    step.kind, step.request = details.kind, details.body
    # The lines of a teardown are the quote's own; a look is none of them.
    step.counts = details.kind == TEARDOWN
    step.storage_price, step.storage_days = details.storage_price, details.storage_days
    step.destroyed = list(details.destroyed) or _destroyed(alone, details.kind)
    step.notice = details.notice or WORDS[details.kind]
    step.valid_until = details.valid_until or quote.valid_until
    _write_price(step, alone)


def _write_price(step: StepOffer, alone: Alone) -> None:
    parts = (("work", alone.work), ("close_up", alone.closing), ("storage", alone.storage))
    step.lines = []
    for part, lines in parts:
        step.lines += [{"part": part, **line_row(line, at)} for at, line in enumerate(lines, len(step.lines) + 1)]
    sums = {part: sum((line.amount for line in lines), Decimal(0)) for part, lines in parts}
    step.amount, step.close_up, step.storage = sums["work"], sums["close_up"], sums["storage"]
    step.limit, step.limit_with_tax, step.cost = alone.limit, alone.limit_with_tax, alone.cost
    step.taxes = [
        {"name": tax.name, "rate": str(tax.rate), "base": str(tax.base), "amount": str(tax.amount)} for tax in alone.taxes
    ]


def _destroyed(alone: Alone, kind: str) -> list[str]:
    """What does not survive the work, as far as the quote tells: whatever is torn off, by the names of its assemblies."""
    if kind != TEARDOWN:
        return []
    return list(dict.fromkeys(line.name for line in alone.work if line.kind == "labour" and line.phase == "teardown"))


def _record(
    shop: Shop,
    quote: Quote,
    step: StepOffer,
    outcome: str,
    given: Given,
    job: Job | None,
    authorised: Decimal,
    by: Actor,
    now: datetime,
) -> Consent:
    consenting = Consenting(
        chain=quote.number,
        quote_id=quote.pk,
        job_id=job.pk if job else None,
        document="step",
        document_id=step.pk,
        document_hash=step.document_hash,
        payer=OWNER,
        outcome=outcome,
        manner=given.manner,
        at=given.at,
        amount=step.limit if outcome == "accepted" else Decimal(0),
        limit_with_tax=authorised,
        promised_on=given.promised_on if outcome == "accepted" else None,
        said={**given.said, "terms": TERMS_VERSION, "step": step.kind},
        giver=replace(given.giver, customer_id=quote.customer_id),
        link_id=given.link_id,
    )
    return record_consent(shop=shop, consenting=consenting, by=by, now=now)
