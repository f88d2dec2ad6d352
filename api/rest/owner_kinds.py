"""What does a kind of document have to know to be opened and answered by an owner's link?

A kind is one `OwnerDocument` in a file of its own, named in `owner_documents.py`. Its functions are called with the shop's
scope open and the role "owner"; they hold what they change themselves, and refuse by name what cannot be read
or answered any more.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from api.accounts.models import OwnerLink
from api.rest.errors import Problem
from costbase.models import Shop
from costbase.scope import Actor
from quotes.actions.consents import Given
from quotes.models import Consent

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class OwnerVisit:
    """A link that was opened: its shop, whose scope is open, the author of what it changes, and the time."""

    shop: Shop
    link: OwnerLink
    actor: Actor
    now: datetime


@dataclass(frozen=True, slots=True)
class ShownDocument:
    """A document as a link shows it. `hash` is of `document` (`quotes.calc.consent.document_hash`)."""

    document: Row
    hash: str
    state: str


@dataclass(frozen=True, slots=True)
class OwnerYes:
    """An acceptance by a link: the hash and the limit with tax it was given to, and the options ticked."""

    given: Given
    document_hash: str
    limit_with_tax: Decimal
    options: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class OwnerAnswered:
    """What an answer did: the state of the document after it, its record, and whose consents are missing."""

    state: str
    consent: Consent
    waits_for: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class OwnerDocument:
    """One kind of document.

    `read` is given the options that are ticked for looking; of a kind without options it refuses any. `decline` is given the
    reason.
    """

    read: Callable[[OwnerVisit, Sequence[str]], ShownDocument]
    accept: Callable[[OwnerVisit, OwnerYes], OwnerAnswered]
    decline: Callable[[OwnerVisit, Given, str], OwnerAnswered]


GONE = ("document_superseded", "document_withdrawn", "document_expired", "document_changed")

_GONE: Mapping[str, Callable[[str], Problem]] = {
    "superseded": lambda words: Problem("document_superseded", words),
    "withdrawn": lambda words: Problem("document_withdrawn", words),
    "expired": lambda words: Problem("document_expired", words),
    "changed": lambda words: Problem("document_changed", words),
}


def gone(how: str, words: str) -> Problem:
    """The refusal of a document that can be neither read nor answered by its link any more.

    Args:
        how: "superseded", "withdrawn", "expired" or "changed".
        words: what is told.
    """
    return _GONE[how](words)
