"""How does a request become a quote: worked out, kept as a draft, offered beside others, priced again, revised, deleted?

One path for all of them: take the snapshots, compute, write rows. Trial pricing stops before the rows. Issuing, which prices
nothing, is `issuing.py`.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.db.models import Count, F, Max, Q, QuerySet

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.payers import copy_payers, delete_payers
from quotes.actions.priced import Draft, Priced, price, shop_day
from quotes.actions.quote_rows import component_rows, line_rows, quote_row
from quotes.actions.quote_statement import QuoteRows, insert_further, insert_quote, replace_draft
from quotes.actions.second_estimates import delete_estimates
from quotes.calc.inputs import QuoteInputs
from quotes.models import Quote, QuoteComponent, QuoteLine
from quotes.models.quote import MOST_ALTERNATIVES

Row = dict[str, Any]

_UNWRITTEN = {
    **{"id": None, "number": "", "revision": 0, "alternative": 1, "state": "trial", "version": 0},
    **{"created": None, "issued_at": None},
}


class QuoteStateError(CalculationError):
    """An action that the state of this quote does not allow."""

    code = "quote_state"


class NotNewestRevisionError(CalculationError):
    """A revision of a quote that has been revised already."""

    code = "not_newest_revision"


class TooManyAlternativesError(CalculationError):
    """One more alternative than an offer may have."""

    code = "too_many_alternatives"


class FleetMemberError(CalculationError):
    """A change of the quote of one coach of a fleet, without the others."""

    code = "fleet_member"


class OtherCoachError(CalculationError):
    """An alternative for another coach than the offer is about."""

    code = "offer_of_another_coach"


@dataclass(frozen=True, slots=True)
class Kept:
    """A quote as it was just written: its columns, lines and hidden components."""

    row: Row
    lines: list[Row]
    components: list[Row]


def trial_quote(*, shop: Shop, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """Prices a quote for today and keeps nothing; it has neither id nor number."""
    assert_scope(shop.pk)
    priced = price(shop, inputs, shop_day(shop))
    return Kept(quote_row(shop, draft, priced, by) | _UNWRITTEN, line_rows(priced.worked), component_rows(priced.worked))


def draft_quote(*, shop: Shop, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """Prices a new quote for today and keeps it as a draft."""
    assert_scope(shop.pk)
    day = shop_day(shop)
    rows = _rows(shop, draft, price(shop, inputs, day), by)
    return _kept(rows, insert_quote(shop, rows, year=day.year))


def add_alternative(*, shop: Shop, quote: Quote, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """Another draft under the number and revision of a draft, to be issued with it; the caller has locked the offer.

    Raises:
        QuoteStateError: the offer is no draft.
        OtherCoachError: it is about another coach.
        TooManyAlternativesError: the offer has as many as it may have.
    """
    assert_scope(shop.pk)
    must_be(quote, "draft", doing="given an alternative")
    must_stand_alone(quote)
    _same_coach(quote, draft)
    # Asked for after the lock, so that one that was added meanwhile is counted.
    taken = set(_offer(shop, quote).values_list("alternative", flat=True))
    free = [number for number in range(1, MOST_ALTERNATIVES + 1) if number not in taken]
    if not free:
        words = f"{quote.number} has {MOST_ALTERNATIVES} alternatives, which is the most; change or delete one of them"
        raise TooManyAlternativesError(words, value=len(taken) + 1)
    rows = _rows(shop, draft, price(shop, inputs, shop_day(shop)), by)
    return _kept(rows, insert_further(shop, rows, number=quote.number, revision=quote.revision, alternative=free[0]))


def revise_quote(*, shop: Shop, quote: Quote, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """A new draft revision of an offer that nobody has accepted; it supersedes the old one when it is issued.

    The caller has locked the offer. The new revision has this one alternative; whatever else shall be offered again is added to
    it as alternatives are, so that nothing is offered twice unseen.

    Raises:
        QuoteStateError: it is a draft or superseded, or one of its alternatives was accepted.
        NotNewestRevisionError: there is a newer revision, perhaps a draft.
    """
    assert_scope(shop.pk)
    must_be(quote, "issued", "declined", "expired", "withdrawn", doing="revised")
    must_stand_alone(quote)
    others = Quote.objects.for_shop(shop).filter(number=quote.number)
    found = others.aggregate(newest=Max("revision"), accepted=Count("pk", filter=Q(state="accepted")))
    if found["accepted"]:
        words = f"another alternative of {quote.number} was accepted; from then on only change orders change it"
        raise QuoteStateError(words, value="accepted")
    if found["newest"] != quote.revision:
        words = f"{quote.number} has revision {found['newest']}; expected to revise that one"
        raise NotNewestRevisionError(words, value=quote.revision)
    rows = _rows(shop, draft, price(shop, inputs, shop_day(shop)), by)
    written = insert_further(shop, rows, number=quote.number, revision=quote.revision + 1, alternative=1)
    copy_payers(shop=shop, from_id=quote.pk, to_id=written["id"])
    return _kept(rows, written)


def save_draft(*, shop: Shop, quote: Quote, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """Prices a draft again, for today, from changed inputs; the caller has locked its offer and compared the version.

    Raises:
        QuoteStateError: it is no draft any more.
        OtherCoachError: it is for another coach now, and what is offered beside it is not.
    """
    assert_scope(shop.pk)
    must_be(quote, "draft", doing="edited")
    must_stand_alone(quote)
    if draft.coach_id != quote.coach_id and _offer(shop, quote).exclude(pk=quote.pk).exists():
        _same_coach(quote, draft)
    rows = _rows(shop, draft, price(shop, inputs, shop_day(shop)), by)
    return _kept(rows, replace_draft(shop, rows, id_=quote.pk))


def delete_draft(*, shop: Shop, quote: Quote, by: Actor) -> None:
    """Deletes a draft with its lines; its alternatives stay, anything else is kept for good. Its number is not given again."""
    assert_scope(shop.pk)
    must_be(quote, "draft", doing="deleted")
    must_stand_alone(quote)
    delete_quotes(shop=shop, quote_ids=[quote.pk])
    _offer(shop, quote).update(version=F("version") + 1)


def delete_quotes(*, shop: Shop, quote_ids: Sequence[int]) -> None:
    """Deletes drafts with everything that stands with them; the caller has locked them and seen that they may go."""
    QuoteLine.objects.for_shop(shop).filter(quote_id__in=quote_ids).delete()
    QuoteComponent.objects.for_shop(shop).filter(quote_id__in=quote_ids).delete()
    delete_payers(shop=shop, quote_ids=quote_ids)
    delete_estimates(shop=shop, quote_ids=quote_ids)
    Quote.objects.for_shop(shop).filter(pk__in=quote_ids).delete()


def _same_coach(quote: Quote, draft: Draft) -> None:
    if draft.coach_id != quote.coach_id:
        words = f"{quote.number} is about coach {quote.coach_id}; expected an alternative for the same coach"
        raise OtherCoachError(words, field="coach", value=draft.coach_id)


def _offer(shop: Shop, quote: Quote) -> QuerySet[Quote]:
    """Every alternative of a quote's revision, itself included."""
    return Quote.objects.for_shop(shop).filter(number=quote.number, revision=quote.revision)


def must_be(quote: Quote, *states: str, doing: str) -> None:
    """Refuses an action by name when the quote is in none of these states."""
    if quote.state not in states:
        allowed = " or ".join(states)
        raise QuoteStateError(f"{quote.number} is {quote.state}; only what is {allowed} can be {doing}", value=quote.state)


def must_stand_alone(quote: Quote) -> None:
    """Refuses for the quote of a coach in a fleet what would change it without the others, whose shares hang on it."""
    if quote.fleet_id is not None:
        words = f"{quote.number} is coach {quote.place} of fleet {quote.fleet_id}; save, issue or delete the fleet as a whole"
        raise FleetMemberError(words, value=quote.fleet_id)


def _rows(shop: Shop, draft: Draft, priced: Priced, by: Actor) -> QuoteRows:
    return QuoteRows(
        row=quote_row(shop, draft, priced, by),
        lines=line_rows(priced.worked),
        components=component_rows(priced.worked),
        cost_base=priced.cost_base,
    )


def _kept(rows: QuoteRows, written: Row) -> Kept:
    return Kept(rows.row | written | {"state": "draft", "issued_at": None}, rows.lines, rows.components)
