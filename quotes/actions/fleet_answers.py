"""How is the offer of a fleet answered? All its coaches together, each by a consent and a job of its own.

The caller holds the fleet and every quote of it. What is authorised is each coach's own limit with tax, which adds up to what
the document of the fleet says first; the lot's own rounding is of a bill that nobody gets.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import F
from django.utils import timezone

from costbase.calc.money import currency
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.accepting import (
    Acceptance,
    Answered,
    NoSuchPayerError,
    OtherAmountError,
    OtherDocumentError,
    accept_one,
    decline_one,
    withdraw_all,
)
from quotes.actions.consents import Given, keep_document
from quotes.actions.offers import Offer, standing_offers
from quotes.actions.quoting import QuoteStateError
from quotes.calc.consent import document_hash
from quotes.models import Fleet, Quote
from quotes.reports.offer_documents import fleet_document

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class FleetOffer:
    """The offer of a fleet as it stands: the document with its hash, and each coach's own offer, in their order."""

    document: Row
    hash: str
    offers: tuple[Offer, ...]

    def limit_of(self, payer: str) -> Decimal:
        """What a payer answers for over all coaches, with tax; 0 for somebody of whom nothing is asked."""
        return sum((part.limit_with_tax for offer in self.offers for part in offer.asked if part.payer == payer), Decimal(0))


def fleet_offer(shop: Shop, fleet: Fleet, quotes: Sequence[Quote]) -> FleetOffer:
    """The offer of a fleet; its quotes are given with all their columns, in the order of the coaches."""
    offers = standing_offers(shop, quotes)
    each = [(quote, offer.hash, offer.parts) for quote, offer in zip(quotes, offers, strict=True)]
    document = fleet_document(fleet, each)
    return FleetOffer(document, document_hash(document), offers)


def accept_fleet(
    *, shop: Shop, fleet: Fleet, quotes: Sequence[Quote], acceptance: Acceptance, by: Actor
) -> list[tuple[Quote, Answered]]:
    """Records a payer's acceptance of every coach's quote in which the payer has a part, and books those that are complete.

    Raises:
        QuoteStateError, OtherDocumentError, OtherAmountError, NoSuchPayerError: as of a quote, about the fleet.
        OfferExpiredError, ProvisionalOfferError, AlreadyConsentedError, ConsentTimeError: of any of its quotes.
    """
    assert_scope(shop.pk)
    _must_be_issued(fleet, doing="accepted")
    now, payer = timezone.now(), acceptance.given.payer
    whole = fleet_offer(shop, fleet, quotes)
    asked = _asked(whole, quotes, payer, fleet)
    if acceptance.document_hash != whole.hash:
        words = f"fleet {fleet.pk} is another document than was accepted; read it again before accepting it"
        raise OtherDocumentError(words, field="document_hash", value=acceptance.document_hash)
    if acceptance.limit_with_tax != whole.limit_of(payer):
        digits = currency(fleet.currency)
        words = f"the document authorises {_shown(whole, payer)} {digits.code}; expected an acceptance of that"
        raise OtherAmountError(words, field="limit_with_tax/amount", value=str(acceptance.limit_with_tax))
    keep_document(shop=shop, document="quote", contents=whole.document, hash_=whole.hash, now=now)
    said = {"fleet": fleet.pk, "fleet_document": whole.hash}
    done = []
    for quote, offer in asked:
        (part,) = [part for part in offer.asked if part.payer == payer]
        own = Acceptance(acceptance.given, (), offer.hash, part.limit_with_tax)
        done.append((quote, accept_one(shop=shop, quote=quote, acceptance=own, by=by, now=now, offer=offer, said=said)))
    if not Quote.objects.for_shop(shop).filter(fleet_id=fleet.pk).exclude(state="accepted").exists():
        _move(shop, fleet, "accepted")
    return done


def decline_fleet(
    *, shop: Shop, fleet: Fleet, quotes: Sequence[Quote], given: Given, reason: str, by: Actor
) -> list[tuple[Quote, Answered]]:
    """Records that a payer declines every quote of a fleet in which the payer has a part; the owner's no ends the offer.

    Raises:
        QuoteStateError, NoSuchPayerError: about the fleet.
        OfferExpiredError, ConsentTimeError: of any of its quotes.
    """
    assert_scope(shop.pk)
    _must_be_issued(fleet, doing="declined")
    now = timezone.now()
    whole = fleet_offer(shop, fleet, quotes)
    done = [
        (
            quote,
            Answered(decline_one(shop=shop, quote=quote, given=given, reason=reason, by=by, now=now, offer=offer), None, ()),
        )
        for quote, offer in _asked(whole, quotes, given.payer, fleet)
        # Of a coach that is booked already nothing is left to decline.
        if quote.state == "issued"
    ]
    if given.payer == "owner":
        _move(shop, fleet, "declined")
    return done


def withdraw_fleet(*, shop: Shop, fleet: Fleet, quotes: Sequence[Quote], reason: str, by: Actor) -> None:
    """Takes the offer of a fleet back.

    Raises:
        QuoteStateError: it is not issued, or a coach of it is booked already.
    """
    assert_scope(shop.pk)
    _must_be_issued(fleet, doing="withdrawn")
    booked = [quote.number for quote in quotes if quote.state != "issued"]
    if booked:
        words = f"{booked[0]} of fleet {fleet.pk} is no open offer any more; expected a fleet of which all are issued"
        raise QuoteStateError(words, value=booked[0])
    withdraw_all(shop=shop, quotes=quotes, reason=reason, by=by, now=timezone.now())
    _move(shop, fleet, "withdrawn")


def _asked(whole: FleetOffer, quotes: Sequence[Quote], payer: str, fleet: Fleet) -> list[tuple[Quote, Offer]]:
    asked = [
        (quote, offer)
        for quote, offer in zip(quotes, whole.offers, strict=True)
        if payer in {part.payer for part in offer.asked}
    ]
    if not asked:
        words = f"nobody asks {payer} about fleet {fleet.pk}; expected a payer of one of its coaches"
        raise NoSuchPayerError(words, field="payer", value=payer)
    return asked


def _shown(whole: FleetOffer, payer: str) -> str:
    return next(str(row["limit_with_tax"]) for row in whole.document["payers"] if row["payer"] == payer)


def _must_be_issued(fleet: Fleet, *, doing: str) -> None:
    if fleet.state != "issued":
        raise QuoteStateError(f"fleet {fleet.pk} is {fleet.state}; only one that is issued can be {doing}", value=fleet.state)


def _move(shop: Shop, fleet: Fleet, state: str) -> None:
    Fleet.objects.for_shop(shop).filter(pk=fleet.pk).update(state=state, version=F("version") + 1)
    fleet.state = state
