"""How is an issued offer answered: accepted, declined, taken back, or left until it is over?

The caller holds every alternative and revision of the number. Acceptance authorises the limit with tax of the document as it
was shown, by its hash. Where several pay, each consents apart to the same document, and the consent that completes them books
the job. Of each payer the latest answer counts; all of them stay in the chain.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import F
from django.utils import timezone

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.consents import Consenting, Given, check_given, keep_document, record_consent
from quotes.actions.jobs import book_job, overrun_of
from quotes.actions.offers import OWNER, Offer, standing_offer
from quotes.actions.priced import shop_day
from quotes.actions.quoting import must_be, must_stand_alone
from quotes.actions.step_jobs import begun_job, go_on_whole
from quotes.models import Consent, Job, Quote, QuotePayer, Withdrawal
from quotes.reports.consents import latest_answers
from quotes.reports.offer_documents import Part

Row = dict[str, Any]

LOOK_FIRST = "look-first"
"""The plan that sells a look and nothing else: what it costs does not hang on what nobody has seen."""

# In the order of ids, as whoever answers an offer holds it, so that the night waits for an answer and never locks up with one.
_EXPIRE = """
WITH over AS (
    SELECT id FROM quotes_quote
    WHERE shop_id = %(shop)s AND state = 'issued' AND valid_until < %(day)s ORDER BY id FOR UPDATE
)
UPDATE quotes_quote SET state = 'expired', version = version + 1
WHERE shop_id = %(shop)s AND id IN (SELECT id FROM over)
"""
_EXPIRE_FLEETS = """
WITH over AS (
    SELECT id FROM quotes_fleet
    WHERE shop_id = %(shop)s AND state = 'issued' AND valid_until < %(day)s ORDER BY id FOR UPDATE
)
UPDATE quotes_fleet SET state = 'expired', version = version + 1
WHERE shop_id = %(shop)s AND id IN (SELECT id FROM over)
"""


class OfferExpiredError(CalculationError):
    """An answer to an offer after the last day on which its prices hold."""

    code = "offer_expired"


class ProvisionalOfferError(CalculationError):
    """An acceptance of a price that was worked from telling or photographs."""

    code = "provisional_offer"


class OtherDocumentError(CalculationError):
    """An answer to another document than the offer as it stands."""

    code = "other_document"


class OtherAmountError(CalculationError):
    """An acceptance of another limit than the document says."""

    code = "other_amount"


class NoSuchPayerError(CalculationError):
    """An answer for somebody who answers for no part of the offer."""

    code = "no_such_payer"


class AlreadyConsentedError(CalculationError):
    """An acceptance by a payer whose acceptance stands."""

    code = "already_consented"


@dataclass(frozen=True, slots=True)
class Acceptance:
    """Somebody's yes: how it was given, the options ticked, the hash of the document and the limit with tax it was given to.

    The limit is the payer's own part where several pay.
    """

    given: Given
    options: tuple[str, ...]
    document_hash: str
    limit_with_tax: Decimal


@dataclass(frozen=True, slots=True)
class Answered:
    """What an answer did: its record, the job where it completed the consents, and whose consents are still missing."""

    consent: Consent
    job: Job | None
    waits_for: tuple[str, ...]


def accept_quote(*, shop: Shop, quote: Quote, acceptance: Acceptance, by: Actor) -> Answered:
    """Records a payer's acceptance of an issued quote, and books the job when everybody who is asked has accepted.

    Raises:
        FleetMemberError: it is accepted with its fleet.
        QuoteStateError: it is not issued, or its options cannot be worked any more.
        OfferExpiredError, ProvisionalOfferError: it cannot be accepted any more, or not for work.
        NotOfferedError: an option that is not offered.
        OtherDocumentError, OtherAmountError: what was accepted is not what stands.
        NoSuchPayerError, AlreadyConsentedError: nobody asks this payer, or the payer has accepted.
        ConsentTimeError: it cannot have been given when it says.
    """
    must_stand_alone(quote)
    return accept_one(shop=shop, quote=quote, acceptance=acceptance, by=by, now=timezone.now())


def accept_one(
    *,
    shop: Shop,
    quote: Quote,
    acceptance: Acceptance,
    by: Actor,
    now: datetime,
    offer: Offer | None = None,
    said: Mapping[str, Any] | None = None,
) -> Answered:
    """As `accept_quote`, of a quote that may belong to a fleet; `said` goes into the record beside the words as given.

    `offer` is the standing one with the options of the acceptance where the caller, who holds the quote, has read it.
    """
    assert_scope(shop.pk)
    given = acceptance.given
    must_be_open(shop, quote, now, doing="accepted")
    _must_be_for_work(quote)
    offer = offer or standing_offer(shop, quote, acceptance.options)
    part = asked_part(quote, offer, given.payer)
    if acceptance.document_hash != offer.hash:
        words = f"{quote.number} with these options is another document than was accepted; read it again before accepting it"
        raise OtherDocumentError(words, field="document_hash", value=acceptance.document_hash)
    if acceptance.limit_with_tax != part.limit_with_tax:
        words = f"the document authorises {offer.shown_limit(part)} {quote.currency}; expected an acceptance of that"
        raise OtherAmountError(words, field="limit_with_tax/amount", value=str(acceptance.limit_with_tax))
    check_given(given, shop=shop, since=quote.issued_at or now, now=now)
    standing = latest_answers(shop, quote.pk)
    _must_agree(quote, offer, given.payer, standing)
    accepted = {payer for payer, one in standing.items() if one.outcome == "accepted"} | {given.payer}
    told = {"options": offer.options, "part_with_tax": part.limit_with_tax, **(said or {})}
    consent = _record(
        shop,
        quote,
        replace(given, promised_on=given.promised_on or _promised(standing), said={**given.said, **told}),
        Consented("accepted", offer, part.limit, _authorised(offer, accepted)),
        by,
        now,
    )
    waits_for = tuple(each.payer for each in offer.asked if each.payer not in accepted)
    job = None if waits_for else _book(shop, quote, offer, consent, by, now)
    return Answered(consent, job, waits_for)


def decline_quote(*, shop: Shop, quote: Quote, given: Given, reason: str, by: Actor) -> Consent:
    """Records that somebody declines an issued quote. The owner's no ends it; another payer's leaves it on offer.

    Raises:
        FleetMemberError, QuoteStateError, OfferExpiredError, NoSuchPayerError, ConsentTimeError: as `accept_quote`.
    """
    must_stand_alone(quote)
    return decline_one(shop=shop, quote=quote, given=given, reason=reason, by=by, now=timezone.now())


def decline_one(
    *, shop: Shop, quote: Quote, given: Given, reason: str, by: Actor, now: datetime, offer: Offer | None = None
) -> Consent:
    """As `decline_quote`, of a quote that may belong to a fleet; `offer` as of `accept_one`, without options."""
    assert_scope(shop.pk)
    must_be_open(shop, quote, now, doing="declined")
    offer = offer or standing_offer(shop, quote, ())
    asked_part(quote, offer, given.payer)
    check_given(given, shop=shop, since=quote.issued_at or now, now=now)
    standing = latest_answers(shop, quote.pk)
    accepted = {payer for payer, one in standing.items() if one.outcome == "accepted"} - {given.payer}
    consented = Consented("declined", offer, Decimal(0), _authorised(offer, accepted))
    consent = _record(shop, quote, replace(given, said={**given.said, "reason": reason}), consented, by, now)
    if given.payer == OWNER:
        # Who looks at another alternative sees that this one is gone.
        _offer_rows(shop, quote).filter(pk=quote.pk).update(state="declined")
        _offer_rows(shop, quote).update(version=F("version") + 1)
    return consent


def withdraw_quote(*, shop: Shop, quote: Quote, reason: str, by: Actor) -> None:
    """Takes an offer back with all its alternatives that are still open, on whatever day.

    Raises:
        FleetMemberError: it is taken back with its fleet.
        QuoteStateError: it is not issued.
    """
    assert_scope(shop.pk)
    must_stand_alone(quote)
    must_be(quote, "issued", doing="withdrawn")
    open_ones = list(_offer_rows(shop, quote).filter(state="issued").only("pk", "shop_id"))
    withdraw_all(shop=shop, quotes=open_ones, reason=reason, by=by, now=timezone.now())
    _offer_rows(shop, quote).exclude(state="withdrawn").update(version=F("version") + 1)


def withdraw_all(*, shop: Shop, quotes: Sequence[Quote], reason: str, by: Actor, now: datetime) -> None:
    """Takes issued quotes back that belong together; the caller holds them and has seen that they may be."""
    assert_scope(shop.pk)
    Withdrawal.objects.for_shop(shop).bulk_create(
        [Withdrawal(shop=shop, quote_id=one.pk, reason=reason, withdrawn_by=by.person_id, created=now) for one in quotes]
    )
    rows = Quote.objects.for_shop(shop).filter(pk__in=[one.pk for one in quotes])
    rows.update(state="withdrawn", version=F("version") + 1)


def expire_offers(*, shop: Shop, day: date, by: Actor) -> int:
    """Ends every issued offer whose prices held until before a day of the shop, with its fleet; how many quotes there were."""
    assert_scope(shop.pk)
    with connection.cursor() as cursor:
        # A fleet before its quotes, as whoever answers it holds them.
        cursor.execute(_EXPIRE_FLEETS, {"shop": shop.pk, "day": day})
        cursor.execute(_EXPIRE, {"shop": shop.pk, "day": day})
        return int(cursor.rowcount)


def must_be_open(shop: Shop, quote: Quote, now: datetime, *, doing: str) -> None:
    """Refuses an answer to what is no offer, or was one until before today.

    Raises:
        QuoteStateError: it is in another state than issued.
        OfferExpiredError: its prices hold no longer.
    """
    must_be(quote, "issued", doing=doing)
    if quote.valid_until < shop_day(shop, now):
        words = f"the prices of {quote.number} held until {quote.valid_until}; revise it to offer it at today's"
        raise OfferExpiredError(words, value=quote.valid_until.isoformat())


def asked_part(quote: Quote, offer: Offer, payer: str) -> Part:
    """The part of a payer whose consent is asked for.

    Raises:
        NoSuchPayerError: nobody asks this payer.
    """
    for part in offer.asked:
        if part.payer == payer:
            return part
    asked = ", ".join(part.payer for part in offer.asked)
    raise NoSuchPayerError(f"of {quote.number} the consent of {asked} is asked for", field="payer", value=payer)


@dataclass(frozen=True, slots=True)
class Consented:
    """What goes into a record besides the words: the outcome, the offer, this document's part ex tax, and all that is
    authorised after it, with tax.
    """

    outcome: str
    offer: Offer
    amount: Decimal
    authorised: Decimal


def _must_be_for_work(quote: Quote) -> None:
    if quote.provisional and quote.plan != LOOK_FIRST:
        words = (
            f"{quote.number} was worked from telling or photographs and cannot be accepted for work; reserve a bay,"
            f" or sell a look first (plan '{LOOK_FIRST}') and quote from what it finds"
        )
        raise ProvisionalOfferError(words, value=quote.number)


def _must_agree(quote: Quote, offer: Offer, payer: str, standing: Mapping[str, Consent]) -> None:
    """Refuses a second acceptance by a payer, and one of another document than others have accepted."""
    mine = standing.get(payer)
    if mine is not None and mine.outcome == "accepted":
        raise AlreadyConsentedError(f"{payer} has accepted {quote.number}; the record is number {mine.seq}", value=payer)
    for other in standing.values():
        if other.outcome == "accepted" and other.document_hash != offer.hash:
            ticked = ", ".join(other.said.get("options", [])) or "none"
            words = f"{other.payer} has accepted {quote.number} with these options: {ticked}; expected the same for {payer}"
            raise OtherDocumentError(words, field="options", value=other.document_hash)


def _promised(standing: Mapping[str, Consent]) -> date | None:
    """The day that the others were promised."""
    days = [one.promised_on for one in standing.values() if one.outcome == "accepted" and one.promised_on is not None]
    return max(days) if days else None


def _authorised(offer: Offer, accepted: set[str]) -> Decimal:
    """What these payers answer for together, with tax; all of them, and it is the limit."""
    asked = {part.payer for part in offer.asked}
    if asked <= accepted:
        return Decimal(str(offer.terms.columns["limit_with_tax"]))
    return sum((part.limit_with_tax for part in offer.parts if part.payer in accepted), Decimal(0))


def _record(shop: Shop, quote: Quote, given: Given, consented: Consented, by: Actor, now: datetime) -> Consent:
    offer = consented.offer
    keep_document(shop=shop, document="quote", contents=offer.document, hash_=offer.hash, now=now)
    giver = replace(given.giver, customer_id=_customer(shop, quote, given.payer))
    consenting = Consenting(
        chain=quote.number,
        quote_id=quote.pk,
        job_id=None,
        document="quote",
        document_id=quote.pk,
        document_hash=offer.hash,
        payer=given.payer,
        outcome=consented.outcome,
        manner=given.manner,
        at=given.at,
        amount=consented.amount,
        limit_with_tax=consented.authorised,
        promised_on=given.promised_on,
        said={**given.said, "terms": offer.document["terms"]["version"]},
        giver=giver,
        link_id=given.link_id,
    )
    return record_consent(shop=shop, consenting=consenting, by=by, now=now)


def _customer(shop: Shop, quote: Quote, payer: str) -> int | None:
    """Whose words they are, so that an erasure finds them."""
    rows = QuotePayer.objects.for_shop(shop).filter(quote_id=quote.pk, label=payer)
    found: int | None = rows.values_list("customer_id", flat=True).first()
    return quote.customer_id if found is None and payer == OWNER else found


def _book(shop: Shop, quote: Quote, offer: Offer, consent: Consent, by: Actor, now: datetime) -> Job:
    rows = _offer_rows(shop, quote)
    rows.filter(state="issued").exclude(pk=quote.pk).update(state="superseded")
    rows.filter(pk=quote.pk).update(state="accepted")
    rows.update(version=F("version") + 1)
    begun = begun_job(shop, quote.number)
    if begun is not None:
        terms, options = offer.terms, offer.options
        return go_on_whole(
            shop=shop, job=begun, quote=quote, terms=terms, options=options, consent=consent, by=by, now=now
        )  # fmt: skip
    limit = Decimal(str(offer.terms.columns["limit"]))
    return book_job(
        shop=shop,
        quote=quote,
        terms=offer.terms,
        options=offer.options,
        consent=consent,
        overrun_with_tax=overrun_of(shop, consent, limit, Decimal(str(consent.limit_with_tax)), quote.coach.year),
        by=by,
        now=now,
    )


def _offer_rows(shop: Shop, quote: Quote) -> Any:
    """Every alternative of the quote's revision."""
    return Quote.objects.for_shop(shop).filter(number=quote.number, revision=quote.revision)
