"""A found note, as an owner's link opens it: told, and never answered. Reading it is evidence of nothing."""

from collections.abc import Sequence
from typing import NoReturn

from django.http import Http404

from api.rest.errors import Problem
from api.rest.owner_kinds import OwnerDocument, OwnerVisit, OwnerYes, ShownDocument, gone
from quotes.actions.consents import Given
from quotes.calc.consent import document_hash
from quotes.models import FoundNote
from quotes.reports.found import taken_back_by
from quotes.reports.found_documents import found_document


def _read(visit: OwnerVisit, options: Sequence[str]) -> ShownDocument:
    if options:
        raise Problem("not_offered", "This document has no options to tick.")
    document, hash_ = _found(visit)
    return ShownDocument(document, hash_, "told")


def _accept(visit: OwnerVisit, yes: OwnerYes) -> NoReturn:
    _found(visit)
    raise _only_told()


def _decline(visit: OwnerVisit, given: Given, reason: str) -> NoReturn:
    _found(visit)
    raise _only_told()


def _found(visit: OwnerVisit) -> tuple[dict[str, object], str]:
    notes = FoundNote.objects.for_shop(visit.shop).select_related("job__quote", "corrects")
    note = notes.filter(pk=visit.link.document_id).first()
    if note is None:
        raise Http404
    back = taken_back_by(visit.shop, note)
    if back is not None:
        raise gone("withdrawn", f"The shop has taken this note back by number {back}; ask it for a link to that.")
    document = found_document(visit.shop, note)
    hash_ = document_hash(document)
    if hash_ != visit.link.document_hash:
        raise gone("changed", "This note reads otherwise than when the link was made; ask the shop for a new link.")
    return document, hash_


def _only_told() -> Problem:
    return Problem("only_told", "What was found is told and asks for no answer; ask the shop where it looks wrong.")


DOCUMENT = OwnerDocument(read=_read, accept=_accept, decline=_decline)
