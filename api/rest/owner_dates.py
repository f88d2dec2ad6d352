"""Another promised day, as an owner's link opens it."""

from collections.abc import Sequence

from django.http import Http404

from api.rest.errors import Problem
from api.rest.owner_kinds import OwnerAnswered, OwnerDocument, OwnerVisit, OwnerYes, ShownDocument, gone
from quotes.actions.consents import Given
from quotes.actions.jobs import held_job
from quotes.actions.promises import DateAnswer, accept_date, decline_date
from quotes.models import DateProposal, Job

_WORDS = {
    "superseded": "Another day was proposed since; ask the shop for a link to that.",
    "withdrawn": "The shop has taken this proposal back.",
}


def _read(visit: OwnerVisit, options: Sequence[str]) -> ShownDocument:
    proposal = _found(visit)
    _no_options(options)
    return ShownDocument(proposal.document, proposal.document_hash, proposal.state)


def _accept(visit: OwnerVisit, yes: OwnerYes) -> OwnerAnswered:
    job, proposal = _held(visit)
    _no_options(yes.options)
    answer = DateAnswer(yes.given, yes.document_hash, yes.limit_with_tax)
    consent = accept_date(shop=visit.shop, job=job, proposal=proposal, answer=answer, by=visit.actor, now=visit.now)
    return OwnerAnswered(proposal.state, consent)


def _decline(visit: OwnerVisit, given: Given, reason: str) -> OwnerAnswered:
    job, proposal = _held(visit)
    consent = decline_date(
        shop=visit.shop, job=job, proposal=proposal, given=given, reason=reason, by=visit.actor, now=visit.now
    )  # fmt: skip
    return OwnerAnswered(proposal.state, consent)


def _found(visit: OwnerVisit) -> DateProposal:
    proposal = DateProposal.objects.for_shop(visit.shop).filter(pk=visit.link.document_id).first()
    if proposal is None:
        raise Http404
    if proposal.state in _WORDS:
        raise gone(proposal.state, _WORDS[proposal.state])
    return proposal


def _held(visit: OwnerVisit) -> tuple[Job, DateProposal]:
    job = held_job(visit.shop, _found(visit).job_id)
    if job is None:
        raise Http404
    return job, _found(visit)


def _no_options(options: Sequence[str]) -> None:
    if options:
        raise Problem("not_offered", "This document has no options to tick.")


DOCUMENT = OwnerDocument(read=_read, accept=_accept, decline=_decline)
