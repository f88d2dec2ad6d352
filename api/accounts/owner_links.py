"""Which document does an owner's link open, and is it good?

A link reads ``ow_<prefix>_<secret>``. As of a token (`tokens.py`) only the SHA-256 of the whole text is kept; it is looked up
by that, in one indexed read that tells a guesser nothing by its timing, and nobody guesses 256 bits.
"""

import re
from dataclasses import dataclass
from datetime import datetime

from django.db.models import F, QuerySet

from api.accounts.models import OwnerLink
from api.accounts.tokens import digest_of, new_secret
from costbase.models import Shop

_FORM = re.compile(r"ow_[a-z0-9]{8}_[A-Za-z0-9_-]{43}")


class LinkRefused(Exception):
    """A link opens nothing; the words say why."""

    code: str


class LinkUnknown(LinkRefused):
    """There is no such link."""

    code = "not_found"


class LinkRevoked(LinkRefused):
    """The shop has taken it back."""

    code = "link_revoked"


class LinkExpired(LinkRefused):
    """Its time is over."""

    code = "link_expired"


@dataclass(frozen=True, slots=True)
class Linked:
    """What a new link shall open: the document of this kind and id at this revision, as it stands now, for one payer."""

    document: str
    document_id: int
    revision: int
    document_hash: str
    payer: str


def make_link(
    *, shop: Shop, linked: Linked, sent_how: str, made_by: int | None, now: datetime, expires: datetime
) -> tuple[OwnerLink, str]:
    """A new link, and its text, which nobody can read again."""
    prefix, raw = new_secret("ow")
    link = OwnerLink.objects.create(
        prefix=prefix,
        digest=digest_of(raw),
        shop=shop,
        document=linked.document,
        document_id=linked.document_id,
        revision=linked.revision,
        document_hash=linked.document_hash,
        payer=linked.payer,
        sent_how=sent_how,
        made_by_id=made_by,
        created=now,
        expires=expires,
    )
    return link, raw


def find_link(raw: str, *, now: datetime) -> OwnerLink:
    """The link with this text, with its shop.

    Raises:
        LinkUnknown, LinkRevoked, LinkExpired: there is none, or it is over. The time of the answer does not tell which.
    """
    known = OwnerLink.objects.select_related("shop__network")
    found = known.filter(digest=digest_of(raw)).first() if _FORM.fullmatch(raw) else None
    if found is None:
        raise LinkUnknown("There is no such link.")
    _must_be_good(found, now)
    return found


def hold_link(link: OwnerLink, *, now: datetime) -> None:
    """Holds a link until the transaction ends, so that what comes by it comes one after the other.

    Raises:
        LinkRevoked: it was taken back meanwhile.
    """
    _must_be_good(OwnerLink.objects.select_for_update(no_key=True).only("revoked", "expires").get(pk=link.pk), now)


def _must_be_good(link: OwnerLink, now: datetime) -> None:
    if link.revoked is not None:
        raise LinkRevoked("The shop has taken this link back; ask it for a new one.")
    if link.expires <= now:
        raise LinkExpired("The time of this link is over; ask the shop for a new one.")


def note_read(link: OwnerLink, *, now: datetime) -> None:
    """Counts a read. It is shown to the shop, and is no evidence: a mail program opens links too."""
    OwnerLink.objects.filter(pk=link.pk).update(reads=F("reads") + 1, last_read=now)


def links_of(shop: Shop, document: str, document_id: int) -> QuerySet[OwnerLink]:
    """The links to a document."""
    return OwnerLink.objects.filter(shop=shop, document=document, document_id=document_id)


def revoke_link(link: OwnerLink, *, now: datetime) -> None:
    """Ends a link. Ending it twice keeps the first instant."""
    OwnerLink.objects.filter(pk=link.pk, revoked=None).update(revoked=now)
    link.refresh_from_db(fields=["revoked"])
