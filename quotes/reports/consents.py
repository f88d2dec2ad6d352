"""Who has consented to what under one number, and does the chain of records still hold together?"""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from costbase.models import Shop
from quotes.calc.consent import BrokenLink, broken_links, canonical
from quotes.models import Consent, ConsentGiver, Job

Row = dict[str, Any]

_HASHED = (
    "shop_id", "chain", "seq", "quote_id", "job_id", "document", "document_id", "document_hash", "payer", "outcome", "manner",
    "received_by", "link_id", "giver_digest", "amount", "limit_with_tax", "said",
)  # fmt: skip


_MOVE_LIMITS = ("quote", "step", "change_order")


@dataclass(frozen=True, slots=True)
class Chain:
    """Every record of a number in order, who gave each (by id of the record), and what does not hold."""

    consents: Sequence[Consent]
    givers: dict[int, ConsentGiver]
    broken: tuple[BrokenLink, ...]


def latest_answers(shop: Shop, quote_id: int) -> dict[str, Consent]:
    """The latest answer of each payer to a quote as offered."""
    rows = Consent.objects.for_shop(shop).filter(document="quote", document_id=quote_id).order_by("seq")
    return {one.payer: one for one in rows}


def answers_by(shop: Shop, document: str, document_id: int, payer: str) -> list[Consent]:
    """What one payer has answered to a document, the earliest first."""
    rows = Consent.objects.for_shop(shop).filter(document=document, document_id=document_id, payer=payer)
    return list(rows.order_by("seq"))


def consent_of_limit(shop: Shop, job: Job) -> Consent:
    """The consent that moved what is authorised of a job last: what may be carried beyond it follows from that one's day.

    A later one that moves no amount, such as that to another promised day, is not it.
    """
    rows = Consent.objects.for_shop(shop).filter(
        chain=job.quote.number, outcome="accepted", document__in=_MOVE_LIMITS, seq__lte=job.consent.seq
    )
    found, limit = job.consent, None
    for one in rows.order_by("seq"):
        if one.limit_with_tax != limit:
            found, limit = one, one.limit_with_tax
    return found


def chain_of(shop: Shop, number: str) -> Chain:
    """Every consent under a quote's number, with what broken links say, in two queries.

    A giver whose words are not those that were hashed breaks the chain too; one that was erased has no words to compare.
    """
    consents = list(Consent.objects.for_shop(shop).filter(chain=number).order_by("seq"))
    rows = ConsentGiver.objects.for_shop(shop).filter(consent_id__in=[one.pk for one in consents])
    givers = {row.consent_id: row for row in rows}
    broken = broken_links([(one.seq, one.before, one.hash, hashed_fields(one)) for one in consents])
    return Chain(consents, givers, (*broken, *(link for one in consents for link in _other_giver(one, givers.get(one.pk)))))


def hashed_fields(consent: Consent) -> Row:
    """Everything that a record says, as it is hashed: the same whether it was just made or read again."""
    return {
        **{name: getattr(consent, name) for name in _HASHED},
        "at": instant_text(consent.at),
        "created": instant_text(consent.created),
        "promised_on": consent.promised_on.isoformat() if consent.promised_on else None,
    }


def words_digest(salt: bytes | memoryview, name: str, contact: str, address: str, agent: str) -> str:
    """The salted digest of who gave a consent."""
    return hashlib.sha256(bytes(salt) + canonical([name, contact, address, agent]).encode()).hexdigest()


def instant_text(moment: datetime) -> str:
    """An instant as the one text that is hashed."""
    return moment.astimezone(UTC).isoformat(timespec="microseconds")


def _other_giver(consent: Consent, giver: ConsentGiver | None) -> tuple[BrokenLink, ...]:
    if giver is None:
        return (BrokenLink(consent.seq, "has lost who gave it"),)
    if giver.erased_at is not None:
        return ()
    if words_digest(giver.salt, giver.name, giver.contact, giver.address, giver.agent) != consent.giver_digest:
        return (BrokenLink(consent.seq, "was given by somebody else than is written now"),)
    return ()
