"""A settlement, as an owner's link opens it: signed as it is, or not."""

from collections.abc import Sequence

from django.http import Http404

from api.rest.errors import Problem
from api.rest.owner_kinds import OwnerAnswered, OwnerDocument, OwnerVisit, OwnerYes, ShownDocument, gone
from quotes.actions.consents import Given
from quotes.actions.jobs import held_job
from quotes.actions.settlements import SettlementSigned, refuse_settlement, sign_settlement
from quotes.models import Job, Settlement


def _read(visit: OwnerVisit, options: Sequence[str]) -> ShownDocument:
    settlement = _found(visit)
    _no_options(options)
    return ShownDocument(settlement.document, settlement.document_hash, settlement.state)


def _accept(visit: OwnerVisit, yes: OwnerYes) -> OwnerAnswered:
    job, settlement = _held(visit)
    _no_options(yes.options)
    signed = SettlementSigned(yes.given, yes.document_hash, yes.limit_with_tax)
    consent = sign_settlement(
        shop=visit.shop, job=job, settlement=settlement, signed=signed, by=visit.actor, now=visit.now
    )  # fmt: skip
    return OwnerAnswered(settlement.state, consent)


def _decline(visit: OwnerVisit, given: Given, reason: str) -> OwnerAnswered:
    job, settlement = _held(visit)
    consent = refuse_settlement(
        shop=visit.shop, job=job, settlement=settlement, given=given, reason=reason, by=visit.actor, now=visit.now
    )  # fmt: skip
    return OwnerAnswered("declined", consent)


def _found(visit: OwnerVisit) -> Settlement:
    settlement = Settlement.objects.for_shop(visit.shop).filter(pk=visit.link.document_id).first()
    if settlement is None:
        raise Http404
    if settlement.state == "withdrawn":
        raise gone("withdrawn", "The shop has taken this settlement back.")
    if settlement.document_hash != visit.link.document_hash:
        raise gone("changed", "This settlement was sent again since; ask the shop for a link to that.")
    return settlement


def _held(visit: OwnerVisit) -> tuple[Job, Settlement]:
    job = held_job(visit.shop, _found(visit).job_id)
    if job is None:
        raise Http404
    return job, _found(visit)


def _no_options(options: Sequence[str]) -> None:
    if options:
        raise Problem("not_offered", "This document has no options to tick.")


DOCUMENT = OwnerDocument(read=_read, accept=_accept, decline=_decline)
