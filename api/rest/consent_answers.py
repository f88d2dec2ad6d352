"""How are consents shown, and to whom? Who gave one, estimators and managers see; analysts see the record without it."""

from collections.abc import Sequence
from typing import Any

from api.accounts.roles import ESTIMATOR, MANAGER
from api.rest.quote_answers import fixed
from costbase.calc.money import currency
from costbase.models import Shop
from quotes.actions.accepting import Answered
from quotes.actions.offers import standing_offer
from quotes.models import Consent, ConsentGiver, Fleet, Quote
from quotes.reports.consents import chain_of, latest_answers

Row = dict[str, Any]

GIVER_READERS = frozenset({ESTIMATOR, MANAGER})
_PLAIN = (
    "id", "chain", "seq", "document", "document_id", "document_hash", "payer", "outcome", "manner", "received_by", "said",
    "giver_digest", "before", "hash",
)  # fmt: skip


def consent_shown(consent: Consent, digits: int) -> Row:
    """A record, without who gave it."""
    return {
        **{name: getattr(consent, name) for name in _PLAIN},
        "quote": consent.quote_id,
        "job": consent.job_id,
        "link": consent.link_id,
        "at": consent.at.isoformat(),
        "created": consent.created.isoformat(),
        "amount": fixed(consent.amount, digits),
        "limit_with_tax": fixed(consent.limit_with_tax, digits),
        "promised_on": consent.promised_on.isoformat() if consent.promised_on else None,
    }


def answered(shop: Shop, quote: Quote, done: Answered) -> Row:
    """What an answer to an offer did."""
    state = Quote.objects.for_shop(shop).values_list("state", flat=True).get(pk=quote.pk)
    return _did(state, done, currency(quote.currency).digits)


def fleet_answered(shop: Shop, fleet: Fleet, done: Sequence[tuple[Quote, Answered]]) -> Row:
    """What an answer to the offer of a fleet did, coach by coach."""
    states = dict(Quote.objects.for_shop(shop).filter(fleet_id=fleet.pk).values_list("pk", "state"))
    digits = currency(fleet.currency).digits
    return {
        "fleet": fleet.pk,
        "state": fleet.state,
        "coaches": [
            {"quote": quote.pk, "place": quote.place, **_did(states[quote.pk], one, digits)} for quote, one in done
        ],
    }  # fmt: skip


def _did(state: str, done: Answered, digits: int) -> Row:
    return {
        "state": state,
        "consent": consent_shown(done.consent, digits),
        "job": done.job.pk if done.job else None,
        "waits_for": list(done.waits_for),
    }


def chain_answer(shop: Shop, quote: Quote, role: str) -> Row:
    """Every record under a quote's number, what does not hold of the chain, and whose consent to the quote is asked for."""
    chain, digits = chain_of(shop, quote.number), currency(quote.currency).digits
    return {
        "number": quote.number,
        "state": quote.state,
        "payers": _payers(shop, quote, digits),
        "intact": not chain.broken,
        "broken_links": [{"seq": link.seq, "reason": link.reason} for link in chain.broken],
        "consents": [_with_giver(one, chain.givers.get(one.pk), digits, role) for one in chain.consents],
    }


def _payers(shop: Shop, quote: Quote, digits: int) -> list[Row]:
    """With the options that those who have accepted stand on; with none before that."""
    answers = latest_answers(shop, quote.pk)
    ticked: list[str] = next((one.said.get("options", []) for one in answers.values() if one.outcome == "accepted"), [])
    return [
        {
            "payer": part.payer,
            "limit_with_tax": fixed(part.limit_with_tax, digits),
            "outcome": answers[part.payer].outcome if part.payer in answers else None,
        }
        for part in standing_offer(shop, quote, ticked).asked
    ]


def _with_giver(consent: Consent, giver: ConsentGiver | None, digits: int, role: str) -> Row:
    shown = consent_shown(consent, digits)
    if role in GIVER_READERS:
        shown["giver"] = None if giver is None else _giver(giver)
    return shown


def _giver(giver: ConsentGiver) -> Row:
    return {
        **{name: getattr(giver, name) for name in ("name", "contact", "address", "agent")},
        "erased_at": giver.erased_at.isoformat() if giver.erased_at else None,
    }
