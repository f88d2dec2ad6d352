"""How is a consent, or its refusal, written down for good?

Whoever records one holds the offer (before acceptance) or the job (after it), so that two consents of one chain wait for each
other; the chain's own unique key would refuse a fork in any case.
"""

import json
import secrets
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.priced import shop_day
from quotes.calc.consent import FIRST, canonical, record_hash
from quotes.models import Consent, ConsentGiver, ShownDocument
from quotes.reports.consents import hashed_fields, instant_text, words_digest

Row = dict[str, Any]


class ConsentTimeError(CalculationError):
    """A consent that would have been given before its document was there, or after now; or a promised day that is over."""

    code = "bad_consent_time"


@dataclass(frozen=True, slots=True)
class Giver:
    """Who consented: personal data, kept apart. `contact` is what was called, `address` and `agent` are of a browser."""

    name: str
    contact: str = ""
    address: str = ""
    agent: str = ""
    customer_id: int | None = None


@dataclass(frozen=True, slots=True)
class Given:
    """A consent or a refusal as it came in, whatever the document: by which way, when, by whom, for which payer.

    `said` is what goes into the record: texts, whole numbers, yes and no, lists and mappings.
    """

    manner: str
    at: datetime
    giver: Giver
    payer: str
    promised_on: date | None
    said: Row
    link_id: int | None = None


@dataclass(frozen=True, slots=True)
class Consenting:
    """What shall be written down; fields as of `Consent`. `said` holds texts, whole numbers, decimals, lists and mappings."""

    chain: str
    quote_id: int
    job_id: int | None
    document: str
    document_id: int
    document_hash: str
    payer: str
    outcome: str
    manner: str
    at: datetime
    amount: Decimal
    limit_with_tax: Decimal
    promised_on: date | None
    said: Row
    giver: Giver
    link_id: int | None = None


def check_given(given: Given, *, shop: Shop, since: datetime, now: datetime) -> None:
    """Refuses a consent that cannot have been given when it says.

    Args:
        given: as it came in.
        shop: whose day a promised day is compared with.
        since: when the document was issued or sent.
        now: the time.

    Raises:
        ConsentTimeError: before the document was there, after now, or with a promised day before the consent.
    """
    if given.at > now:
        words = f"a consent is given before it is written down; expected a time no later than {instant_text(now)}"
        raise ConsentTimeError(words, field="at", value=instant_text(given.at))
    if given.at < since:
        words = f"the document was there from {instant_text(since)}; expected a time no earlier"
        raise ConsentTimeError(words, field="at", value=instant_text(given.at))
    if given.promised_on is not None and given.promised_on < shop_day(shop, given.at):
        words = f"a day is promised for later; expected {shop_day(shop, given.at)} or a later day"
        raise ConsentTimeError(words, field="promised_on", value=given.promised_on.isoformat())


def keep_document(*, shop: Shop, document: str, contents: Row, hash_: str, now: datetime) -> None:
    """Keeps a document as it is shown, under its hash; kept before, it stands already."""
    assert_scope(shop.pk)
    ShownDocument.objects.for_shop(shop).bulk_create(
        [ShownDocument(shop=shop, document=document, contents=contents, hash=hash_, created=now)], ignore_conflicts=True
    )


def record_consent(*, shop: Shop, consenting: Consenting, by: Actor, now: datetime) -> Consent:
    """Adds a consent to the end of its chain; the caller holds the offer or the job.

    Raises:
        NotCanonicalError: `said` holds something that cannot be hashed.
    """
    assert_scope(shop.pk)
    last = Consent.objects.for_shop(shop).filter(chain=consenting.chain).order_by("-seq").values("seq", "hash").first()
    seq, before = (last["seq"] + 1, last["hash"]) if last else (1, FIRST)
    giver, salt = consenting.giver, secrets.token_bytes(16)
    digest = giver_digest(salt, giver)
    consent = Consent(
        shop=shop,
        chain=consenting.chain,
        seq=seq,
        quote_id=consenting.quote_id,
        job_id=consenting.job_id,
        document=consenting.document,
        document_id=consenting.document_id,
        document_hash=consenting.document_hash,
        payer=consenting.payer,
        outcome=consenting.outcome,
        manner=consenting.manner,
        at=consenting.at,
        received_by=by.person_id,
        link_id=consenting.link_id,
        giver_digest=digest,
        amount=consenting.amount,
        limit_with_tax=consenting.limit_with_tax,
        promised_on=consenting.promised_on,
        said=json.loads(canonical(consenting.said)),
        before=before,
        created=now,
    )
    consent.hash = record_hash(before, hashed_fields(consent))
    consent.save(force_insert=True)
    ConsentGiver(
        shop=shop,
        consent=consent,
        customer_id=giver.customer_id,
        name=giver.name,
        contact=giver.contact,
        address=giver.address,
        agent=giver.agent,
        salt=salt,
    ).save(force_insert=True)
    return consent


def giver_digest(salt: bytes, giver: Giver) -> str:
    """The salted digest that proves who gave a consent, and tells nobody."""
    return words_digest(salt, giver.name, giver.contact, giver.address, giver.agent)
