"""How is the day moved that a coach is promised for? By a consent only.

The promised day is part of what was authorised, so another one is put to the owner with its reason and holds once the owner has
consented, over the desk or by a link. The caller holds the job.

Source: notice of, or consent to, late completion, as in 815 ILCS 306, C.R.S. 42-9-105 and Wis. Adm. Code ATCP 132.06(3); asked
for everywhere here, whatever rule applies.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Max, QuerySet

from costbase.calc.errors import CalculationError
from costbase.calc.money import amount, currency
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.accepting import OtherAmountError, OtherDocumentError
from quotes.actions.consents import Consenting, Given, check_given, keep_document, record_consent
from quotes.actions.jobs import authorise
from quotes.actions.offers import OWNER
from quotes.actions.priced import shop_day
from quotes.calc.consent import document_hash
from quotes.calc.job import must_be_in
from quotes.models import Consent, DateProposal, Job

Row = dict[str, Any]

# The owner has not got the coach back yet.
OPEN = ("booked", "opening_up", "waiting", "rebuilding", "testing")
TERMS_VERSION = "date-1"
TERMS = (
    "This moves the day that the coach is promised for, and no amount.",
    "Without a consent to it the day that was promised before stands.",
)


class PromisedDateError(CalculationError):
    """A day that cannot be proposed."""

    code = "bad_promised_date"


class DateProposalStateError(CalculationError):
    """Something that the state of this proposal does not allow."""

    code = "date_proposal_state"


@dataclass(frozen=True, slots=True)
class DateAnswer:
    """An answer to a proposal: how it was given, and the hash of the document; of a link also the limit that it repeats."""

    given: Given
    document_hash: str
    limit_with_tax: Decimal | None = None


def proposals(shop: Shop, job_id: int) -> QuerySet[DateProposal]:
    """The proposals of a job, to be put in order."""
    return DateProposal.objects.for_shop(shop).filter(job_id=job_id)


def propose_date(*, shop: Shop, job: Job, day: date, reason: str, by: Actor, now: datetime) -> DateProposal:
    """Puts another day to the owner of a held job; it takes the place of one that waits.

    Raises:
        JobStateError: the coach was handed over, or the job is over.
        PromisedDateError: a day that is over, or the one that holds.
    """
    assert_scope(shop.pk)
    must_be_in(job.state, *OPEN, doing="promised for another day")
    today = shop_day(shop, now)
    if day < today:
        raise PromisedDateError(f"a day is promised for later; expected {today} or a later day", field="day", value=str(day))
    if day == job.promised_on:
        raise PromisedDateError(f"{day} is promised already; expected another day", field="day", value=str(day))
    rows = proposals(shop, job.pk)
    rows.filter(state="waiting").update(state="superseded", decided_at=now)
    last = rows.aggregate(last=Max("number"))["last"]
    proposal = DateProposal(
        shop=shop,
        job=job,
        number=(last or 0) + 1,
        before=job.promised_on,
        day=day,
        reason=reason,
        created=now,
        created_by=by.person_id,
    )
    proposal.document = _document(job, proposal)
    proposal.document_hash = document_hash(proposal.document)
    proposal.save(force_insert=True)
    keep_document(shop=shop, document="date", contents=proposal.document, hash_=proposal.document_hash, now=now)
    return proposal


def accept_date(*, shop: Shop, job: Job, proposal: DateProposal, answer: DateAnswer, by: Actor, now: datetime) -> Consent:
    """Records the owner's consent to another day of a held job; from now on that day is promised.

    Raises:
        DateProposalStateError: it was answered, taken back or superseded.
        JobStateError: the coach was handed over meanwhile.
        OtherDocumentError, OtherAmountError: something else was accepted than stands.
        ConsentTimeError: it cannot have been given when it says, or the day was over by then.
    """
    assert_scope(shop.pk)
    must_wait(proposal, doing="accepted")
    must_be_in(job.state, *OPEN, doing="promised for another day")
    _must_agree(job, proposal, answer)
    given = replace(answer.given, promised_on=proposal.day)
    check_given(given, shop=shop, since=proposal.created, now=now)
    consent = _record(shop, job, proposal, "accepted", given, by, now)
    authorise(
        shop=shop, job=job, consent=consent, authorised=job.authorised, authorised_with_tax=job.authorised_with_tax
    )  # fmt: skip
    _decide(proposal, "accepted", consent, now)
    return consent


def decline_date(
    *, shop: Shop, job: Job, proposal: DateProposal, given: Given, reason: str, by: Actor, now: datetime
) -> Consent:
    """Records the owner's no; the day that was promised before stands.

    Raises:
        DateProposalStateError, ConsentTimeError: as `accept_date`.
    """
    assert_scope(shop.pk)
    must_wait(proposal, doing="declined")
    check_given(given, shop=shop, since=proposal.created, now=now)
    told = replace(given, promised_on=None, said={**given.said, "reason": reason})
    consent = _record(shop, job, proposal, "declined", told, by, now)
    _decide(proposal, "declined", consent, now)
    return consent


def withdraw_date(*, shop: Shop, proposal: DateProposal, by: Actor, now: datetime) -> None:
    """Takes a proposal back that nobody has answered.

    Raises:
        DateProposalStateError: it was answered or superseded.
    """
    assert_scope(shop.pk)
    must_wait(proposal, doing="taken back")
    proposal.state, proposal.decided_at = "withdrawn", now
    proposal.save(update_fields=["state", "decided_at"])


def must_wait(proposal: DateProposal, *, doing: str) -> None:
    """Refuses what is only done with a proposal that waits for its answer.

    Raises:
        DateProposalStateError: it does not wait any more.
    """
    if proposal.state != "waiting":
        words = f"a proposal that is {proposal.state} cannot be {doing}; expected one that waits"
        raise DateProposalStateError(words, value=proposal.state)


def _must_agree(job: Job, proposal: DateProposal, answer: DateAnswer) -> None:
    if answer.document_hash != proposal.document_hash:
        words = "another document was accepted than was shown; read it again before accepting it"
        raise OtherDocumentError(words, field="document_hash", value=answer.document_hash)
    shown = proposal.document["payers"][0]["limit_with_tax"]
    if answer.limit_with_tax is not None and answer.limit_with_tax != Decimal(shown):
        words = f"the document moves no amount: {shown} {job.currency} stays authorised; expected an acceptance of that"
        raise OtherAmountError(words, field="limit_with_tax/amount", value=str(answer.limit_with_tax))


def _record(shop: Shop, job: Job, proposal: DateProposal, outcome: str, given: Given, by: Actor, now: datetime) -> Consent:
    consenting = Consenting(
        chain=proposal.document["quote"],
        quote_id=job.quote_id,
        job_id=job.pk,
        document="date",
        document_id=proposal.pk,
        document_hash=proposal.document_hash,
        payer=OWNER,
        outcome=outcome,
        manner=given.manner,
        at=given.at,
        amount=Decimal(0),
        limit_with_tax=job.authorised_with_tax,
        promised_on=given.promised_on,
        said={**given.said, "terms": TERMS_VERSION},
        giver=replace(given.giver, customer_id=job.customer_id),
        link_id=given.link_id,
    )
    return record_consent(shop=shop, consenting=consenting, by=by, now=now)


def _decide(proposal: DateProposal, state: str, consent: Consent, now: datetime) -> None:
    proposal.state, proposal.consent, proposal.decided_at = state, consent, now
    proposal.save(update_fields=["state", "consent", "decided_at"])


def _document(job: Job, proposal: DateProposal) -> Mapping[str, Any]:
    """What the owner sees: texts and whole numbers only, and nobody's name."""
    limit = f"{amount(Decimal(str(job.authorised_with_tax)), currency(job.currency)):f}"
    return {
        "kind": "date",
        "form": 1,
        "job": job.number,
        "quote": job.quote.number,
        "number": proposal.number,
        "promised_before": proposal.before.isoformat() if proposal.before else "",
        "promised_on": proposal.day.isoformat(),
        "reason": proposal.reason,
        "currency": job.currency,
        "payers": [{"payer": OWNER, "kind": OWNER, "limit_with_tax": limit}],
        "terms": {"version": TERMS_VERSION, "sentences": list(TERMS)},
    }
