"""A step of the work, as an owner's link opens it."""

from collections.abc import Sequence

from django.http import Http404

from api.rest.errors import Problem
from api.rest.owner_kinds import OwnerAnswered, OwnerDocument, OwnerVisit, OwnerYes, ShownDocument, gone
from quotes.actions.consents import Given
from quotes.actions.priced import shop_day
from quotes.actions.steps import StepYes, accept_step, decline_step, held_step
from quotes.models import Quote, StepOffer
from quotes.reports.quotes import held_offer

_WORDS = {
    "superseded": "Another step was offered in place of this one; ask the shop for a link to that.",
    "withdrawn": "The shop has taken this step back.",
    "expired": "The prices of this step hold no longer; ask the shop for a new one.",
}


def _read(visit: OwnerVisit, options: Sequence[str]) -> ShownDocument:
    step = _found(visit)
    _no_options(options)
    return ShownDocument(step.document, step.document_hash, step.state)


def _accept(visit: OwnerVisit, yes: OwnerYes) -> OwnerAnswered:
    quote, step = _held(visit)
    _no_options(yes.options)
    answer = StepYes(yes.given, yes.document_hash, yes.limit_with_tax)
    consent, _ = accept_step(shop=visit.shop, quote=quote, step=step, yes=answer, by=visit.actor, now=visit.now)
    return OwnerAnswered(step.state, consent)


def _decline(visit: OwnerVisit, given: Given, reason: str) -> OwnerAnswered:
    quote, step = _held(visit)
    consent = decline_step(
        shop=visit.shop, quote=quote, step=step, given=given, reason=reason, by=visit.actor, now=visit.now
    )  # fmt: skip
    return OwnerAnswered(step.state, consent)


def _found(visit: OwnerVisit) -> StepOffer:
    step = StepOffer.objects.for_shop(visit.shop).filter(pk=visit.link.document_id).first()
    if step is None:
        raise Http404
    over = step.state == "issued" and step.valid_until < shop_day(visit.shop, visit.now)
    state = "expired" if over else step.state
    if state in _WORDS:
        raise gone(state, _WORDS[state])
    return step


def _held(visit: OwnerVisit) -> tuple[Quote, StepOffer]:
    known = _found(visit)
    quote = held_offer(visit.shop, known.quote_id)
    step = held_step(visit.shop, known.quote_id, known.pk)
    if quote is None or step is None:
        raise Http404
    return quote, step


def _no_options(options: Sequence[str]) -> None:
    if options:
        raise Problem("not_offered", "This document has no options to tick.")


DOCUMENT = OwnerDocument(read=_read, accept=_accept, decline=_decline)
