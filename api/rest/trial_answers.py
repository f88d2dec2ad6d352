"""How is a trial of drafts shown? For managers only: amounts with their cost, line by line."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal
from typing import Any

from api.rest.errors import pointer
from api.rest.marks import field_in_body
from api.rest.quote_answers import fixed
from api.rest.quote_requests import ROOF_PARTS, SURVEY_PARTS, member_of
from costbase.actions.drafts import LaidDraft
from costbase.calc.cost_base import EditionRef
from costbase.calc.money import currency
from costbase.models import Shop
from quotes.actions.priced import ENGINE
from quotes.actions.trial_rows import tried_json
from quotes.actions.trials import Trial, Tried, differs
from quotes.calc.compared import Figures
from quotes.models import Quote

Row = dict[str, Any]


def trial_answer(shop: Shop, trial: Trial, *, samples_from: int) -> Row:
    """The whole answer; coaches from place `samples_from` on are the samples of the request."""
    digits = currency(shop.currency).digits
    coaches, samples = trial.coaches[:samples_from], trial.coaches[samples_from:]
    return {
        "on": trial.day.isoformat(),
        "currency": shop.currency,
        "engine": ENGINE,
        "editions": [_draft(laid) for laid in trial.overlay.drafts],
        "doubts": [{"pointer": _pointer("editions", d.field), "detail": d.message} for d in trial.overlay.doubts],
        "summary": summary([*trial.quotes, *trial.coaches], digits, samples_from),
        "quotes": [{**kept_quote(one.quote), **tried_answer(one, digits)} for one in trial.quotes if one.quote],
        "coaches": [{"place": at, **tried_answer(one, digits, ("coaches", at))} for at, one in enumerate(coaches)],
        "samples": [{"place": at, **tried_answer(one, digits, ("samples", at))} for at, one in enumerate(samples)],
    }


def summary(tried: Sequence[Tried], digits: int, samples_from: int) -> Row:
    """How many change and by how much; sums are over those that could be worked out on both sides."""
    moved = [one for one in tried if differs(one)]
    both = [one for one in tried if one.change is not None]
    return {
        "tried": len(tried),
        "worked_out": len(both),
        "refused": sum(1 for one in tried if one.with_drafts.refusal is not None),
        "changed": len(moved),
        "base": _sum(both, "base", digits, samples_from),
        "limit": _sum(both, "limit", digits, samples_from),
        "changed_quotes": [one.quote.pk for one in moved if one.quote is not None],
        "changed_coaches": [p for p in _places(moved) if p < samples_from],
        "changed_samples": [p - samples_from for p in _places(moved) if p >= samples_from],
    }


def _places(tried: Iterable[Tried]) -> Iterator[int]:
    yield from (one.place for one in tried if one.place is not None)


def _sum(both: Sequence[Tried], name: str, digits: int, samples_from: int) -> Row:
    pairs = [(_amount(one.without.figures, name), _amount(one.with_drafts.figures, name), one) for one in both]
    before, after = sum((b for b, _, _ in pairs), Decimal(0)), sum((a for _, a, _ in pairs), Decimal(0))
    largest = max(pairs, key=lambda pair: abs(pair[1] - pair[0]), default=None)
    told = None
    if largest is not None and largest[0] != largest[1]:
        told = {"difference": fixed(largest[1] - largest[0], digits), **_which(largest[2], samples_from)}
    return {
        "without": fixed(before, digits),
        "with": fixed(after, digits),
        "difference": fixed(after - before, digits),
        "largest": told,
    }


def _which(one: Tried, samples_from: int) -> Row:
    place = one.place
    return {
        "quote": one.quote.pk if one.quote else None,
        "coach": place if place is not None and place < samples_from else None,
        "sample": place - samples_from if place is not None and place >= samples_from else None,
    }


def _amount(figures: Figures | None, name: str) -> Decimal:
    return Decimal(0) if figures is None else figures.amounts[name]


def _draft(laid: LaidDraft) -> Row:
    draft = laid.draft
    edition = {"kind": draft.kind, "slug": draft.slug, "way": draft.way, "same": laid.same}
    return {**edition, "in_force": _ref(laid.replaced), "then": None if draft.way == "contents" else _ref(laid.put)}


def _ref(ref: EditionRef | None) -> Row | None:
    return None if ref is None else {"owner": ref.owner, "valid_from": ref.valid_from}


def kept_quote(quote: Quote) -> Row:
    """Which kept quote it is."""
    return {
        "quote": quote.pk,
        "number": quote.number,
        "revision": quote.revision,
        "state": quote.state,
        "reference": quote.reference,
        "coach": quote.coach_id,
        "priced_on": quote.priced_on.isoformat(),
        "issued_at": quote.issued_at.isoformat() if quote.issued_at else None,
        "engine": quote.engine,
    }


def tried_answer(one: Tried, digits: int, place: tuple[str, int] | None = None) -> Row:
    """One coach or quote, without and with the drafts; the places of a coach's faults are those in the request."""
    told = tried_json(one, digits)
    return {**told, "refusal": {side: _placed(refusal, place) for side, refusal in told["refusal"].items()}}


def _placed(refusal: Row | None, place: tuple[str, int] | None) -> Row | None:
    return refusal and {**refusal, "errors": [_fault(fault, place) for fault in refusal["errors"]]}


def _fault(fault: Row, place: tuple[str, int] | None) -> Row:
    told = {"code": fault["code"], "detail": fault["detail"]}
    if place is None:
        # A kept quote has no place in the request but its own.
        return told
    inside = _of_sample(fault["field"]) if place[0] == "samples" else member_of(f"#/{fault['field']}")
    return {"pointer": pointer(*place) + inside[1:], **told}


def _of_sample(field: str) -> str:
    head = field.partition("/")[0]
    if head in ROOF_PARTS:
        return f"#/roof/{field}"
    return f"#/survey/{field_in_body(field)}" if head in SURVEY_PARTS else member_of(f"#/{field}")


def _pointer(*parts: str) -> str:
    return "#/" + "/".join(part for part in parts if part)
