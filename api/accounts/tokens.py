"""Whose token is this, and may it be made?

A token reads ``rq_<prefix>_<secret>``. Only the SHA-256 of the whole text is kept: the secret has 256 random
bits, so a slow hash would protect nothing more, and a look-up by digest is one indexed read that tells a
guesser nothing by its timing.
"""

import hashlib
import re
import secrets
import string
from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import OuterRef, Q, Subquery

from api.accounts.models import Membership, Person, Token
from api.accounts.roles import is_within
from costbase.models import Network, Shop

_PREFIX_LETTERS = string.ascii_lowercase + string.digits
_FORM = re.compile(r"rq_[a-z0-9]{8}_[A-Za-z0-9_-]{43}")
_LONGEST_LIFE = timedelta(days=366)
# A write for every request would cost more than most requests do.
_USE_IS_NOTED_EVERY = timedelta(minutes=1)

_REFUSALS = {
    "missing": "Expected the header 'Authorization: Bearer rq_<prefix>_<secret>'.",
    "malformed": "Expected a token of the form rq_<prefix>_<secret>.",
    "unknown": "There is no such token.",
    "expired": "The token has expired; ask for a new one.",
    "revoked": "The token was revoked, or the person no longer has the role that it was made for.",
}


class TokenRefused(Exception):
    """A request's token does not open anything. `code`: missing, malformed, unknown, expired or revoked."""

    def __init__(self, code: str) -> None:
        super().__init__(_REFUSALS[code])
        self.code = code


class TokenNotIssued(Exception):
    """A token may not be made as asked. `code`: not_a_member, role_above_person, role_above_maker,
    other_place, bad_life.
    """

    def __init__(self, code: str, message: str) -> None:
        super().__init__(message)
        self.code = code


@dataclass(frozen=True, slots=True)
class Identity:
    """Who a request comes from, and for which shop or network: exactly one of `shop_id` and `network_id` is
    set.
    """

    person_id: int
    person_name: str
    token_id: int
    token_prefix: str
    role: str
    shop_id: int | None
    network_id: int | None


def issue(
    *,
    person: Person,
    role: str,
    place: Shop | Network,
    made_by: Identity | None,
    now: datetime,
    life: timedelta,
) -> str:
    """The new token's text, which nobody can read again.

    `made_by` is None for an operator at the console, whom no role bounds.

    Raises:
        TokenNotIssued: the person or the maker may not do there what the role may, or the life is not within
            a year.
    """
    _check_ceilings(person, role, place, made_by)
    if not timedelta(0) < life <= _LONGEST_LIFE:
        raise TokenNotIssued("bad_life", f"expected a life of at most {_LONGEST_LIFE.days} days, got {life}")
    prefix, raw = new_secret("rq")
    Token.objects.create(
        prefix=prefix,
        digest=digest_of(raw),
        person=person,
        shop=place if isinstance(place, Shop) else None,
        network=place if isinstance(place, Network) else None,
        role=role,
        made_by_id=made_by.person_id if made_by else None,
        created=now,
        expires=now + life,
    )
    return raw


def identify(raw: str | None, *, now: datetime) -> Identity:
    """Whose token this is.

    Raises:
        TokenRefused: it is missing, malformed, unknown, expired or revoked. A token whose person has left the
            shop, or holds a lesser role there than the token's, counts as revoked.
    """
    if not raw:
        raise TokenRefused("missing")
    if not _FORM.fullmatch(raw):
        raise TokenRefused("malformed")
    held = Membership.objects.filter(
        Q(shop=OuterRef("shop_id")) | Q(network=OuterRef("network_id")), person=OuterRef("person_id")
    )
    found = (
        Token.objects.filter(digest=digest_of(raw))
        .select_related("person")
        .annotate(held_role=Subquery(held.values("role")[:1]))
        .first()
    )
    if found is None:
        raise TokenRefused("unknown")
    if found.revoked is not None or found.held_role is None or not is_within(found.role, found.held_role):
        raise TokenRefused("revoked")
    if found.is_expired(now):
        raise TokenRefused("expired")
    _note_use(found, now)
    return Identity(
        person_id=found.person_id,
        person_name=found.person.name,
        token_id=found.pk,
        token_prefix=found.prefix,
        role=found.role,
        shop_id=found.shop_id,
        network_id=found.network_id,
    )


def bearer(header: str | None) -> str:
    """The token in an Authorization header.

    Raises:
        TokenRefused: there is no such header, or it is not of the scheme Bearer.
    """
    if not header:
        raise TokenRefused("missing")
    scheme, _, raw = header.partition(" ")
    if scheme.lower() != "bearer" or not raw.strip():
        raise TokenRefused("malformed")
    return raw.strip()


def revoke(token: Token, *, now: datetime) -> None:
    """Ends a token. Revoking it twice keeps the first instant."""
    Token.objects.filter(pk=token.pk, revoked=None).update(revoked=now)


def new_secret(kind: str) -> tuple[str, str]:
    """A prefix for logs and lists, and the whole text: ``<kind>_<prefix>_<secret>``, the secret of 256 random bits."""
    prefix = "".join(secrets.choice(_PREFIX_LETTERS) for _ in range(8))
    return prefix, f"{kind}_{prefix}_{secrets.token_urlsafe(32)}"


def digest_of(raw: str) -> bytes:
    """What is kept of a secret, and looked up by."""
    return hashlib.sha256(raw.encode()).digest()


def _check_ceilings(person: Person, role: str, place: Shop | Network, made_by: Identity | None) -> None:
    """A token never exceeds its person's role in the place, nor its maker's."""
    here = Q(shop=place) if isinstance(place, Shop) else Q(network=place)
    held = Membership.objects.filter(here, person=person).first()
    if held is None:
        raise TokenNotIssued("not_a_member", f"{person} has no role in {place}")
    if not is_within(role, held.role):
        message = f"{person} is {held.role} in {place} and cannot have a token of the role {role}"
        raise TokenNotIssued("role_above_person", message)
    if made_by is None:
        return
    if place.pk != (made_by.shop_id if isinstance(place, Shop) else made_by.network_id):
        raise TokenNotIssued("other_place", f"a token for {place} can only be made with another for {place}")
    if not is_within(role, made_by.role):
        message = f"a token of the role {made_by.role} cannot make one of the role {role}"
        raise TokenNotIssued("role_above_maker", message)


def _note_use(token: Token, now: datetime) -> None:
    if token.last_used is None or token.last_used <= now - _USE_IS_NOTED_EVERY:
        Token.objects.filter(pk=token.pk).update(last_used=now)
