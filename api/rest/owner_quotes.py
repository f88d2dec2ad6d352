"""An offer, as an owner's link opens it."""

from collections.abc import Sequence

from django.http import Http404

from api.rest.owner_kinds import OwnerAnswered, OwnerDocument, OwnerVisit, OwnerYes, ShownDocument, gone
from quotes.actions.accepting import Acceptance, accept_quote, decline_quote
from quotes.actions.consents import Given
from quotes.actions.offers import Offer, standing_offer
from quotes.actions.priced import shop_day
from quotes.models import Quote
from quotes.reports.quotes import held_offer

_WORDS = {
    "superseded": "Another offer has taken the place of this one; ask the shop for a link to that.",
    "withdrawn": "The shop has taken this offer back.",
    "expired": "The prices of this offer hold no longer; ask the shop for a new one.",
}


def _read(visit: OwnerVisit, options: Sequence[str]) -> ShownDocument:
    quote = Quote.objects.for_shop(visit.shop).filter(pk=visit.link.document_id).first()
    if quote is None:
        raise Http404
    bare = _must_stand(visit, quote)
    offer = standing_offer(visit.shop, quote, options) if options else bare
    return ShownDocument(offer.document, offer.hash, quote.state)


def _accept(visit: OwnerVisit, yes: OwnerYes) -> OwnerAnswered:
    quote = _held(visit)
    acceptance = Acceptance(yes.given, yes.options, yes.document_hash, yes.limit_with_tax)
    done = accept_quote(shop=visit.shop, quote=quote, acceptance=acceptance, by=visit.actor)
    return OwnerAnswered("accepted" if done.job else quote.state, done.consent, done.waits_for)


def _decline(visit: OwnerVisit, given: Given, reason: str) -> OwnerAnswered:
    quote = _held(visit)
    consent = decline_quote(shop=visit.shop, quote=quote, given=given, reason=reason, by=visit.actor)
    return OwnerAnswered("declined" if given.payer == "owner" else quote.state, consent)


def _held(visit: OwnerVisit) -> Quote:
    quote = held_offer(visit.shop, visit.link.document_id)
    if quote is None:
        raise Http404
    _must_stand(visit, quote)
    return quote


def _must_stand(visit: OwnerVisit, quote: Quote) -> Offer:
    """The offer without ticks; refused where it is none any more. One that was answered can still be read."""
    over = quote.state == "issued" and quote.valid_until < shop_day(visit.shop, visit.now)
    state = "expired" if over else quote.state
    if state in _WORDS:
        raise gone(state, _WORDS[state])
    # Bound to the document, whatever has become of the words under it since.
    offer = standing_offer(visit.shop, quote, ())
    if offer.hash != visit.link.document_hash:
        raise gone("changed", "This offer reads otherwise than when the link was made; ask the shop for a new link.")
    return offer


DOCUMENT = OwnerDocument(read=_read, accept=_accept, decline=_decline)
