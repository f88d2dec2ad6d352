"""How is a consent, or its refusal, written down for good?

Whoever records one holds the offer (before acceptance) or the job (after it), so that two consents of one chain wait for each
other; the chain's own unique key would refuse a fork in any case.
"""

import hashlib
import json
import secrets
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from typing import Any

from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.calc.consent import FIRST, canonical, record_hash
from quotes.models import Consent, ConsentGiver

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Giver:
    """Who consented: personal data, kept apart. `contact` is what was called, `address` and `agent` are of a browser."""

    name: str
    contact: str = ""
    address: str = ""
    agent: str = ""
    customer_id: int | None = None


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
    said = canonical([giver.name, giver.contact, giver.address, giver.agent])
    return hashlib.sha256(salt + said.encode()).hexdigest()


def hashed_fields(consent: Consent) -> Row:
    """Everything that a record says, as it is hashed: the same whether it was just made or read again."""
    return {
        **{name: getattr(consent, name) for name in _HASHED},
        "at": _instant(consent.at),
        "created": _instant(consent.created),
        "promised_on": consent.promised_on.isoformat() if consent.promised_on else None,
    }


_HASHED = (
    "shop_id", "chain", "seq", "quote_id", "job_id", "document", "document_id", "document_hash", "payer", "outcome", "manner",
    "received_by", "link_id", "giver_digest", "amount", "limit_with_tax", "said",
)  # fmt: skip


def _instant(moment: datetime) -> str:
    return moment.astimezone(UTC).isoformat(timespec="microseconds")
