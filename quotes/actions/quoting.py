"""How does a request become a quote: worked out, kept as a draft, priced again, revised, deleted?

One path for all of them: take the snapshots, compute, write rows. Trial pricing stops before the rows. Issuing, which prices
nothing, is `issuing.py`.
"""

from dataclasses import dataclass
from typing import Any

from django.db.models import Max

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.priced import Draft, Priced, price, shop_day
from quotes.actions.quote_rows import component_rows, line_rows, quote_row
from quotes.actions.quote_statement import QuoteRows, insert_quote, insert_revision, replace_draft
from quotes.calc.inputs import QuoteInputs
from quotes.models import Quote, QuoteComponent, QuoteLine

Row = dict[str, Any]

_UNWRITTEN = {"id": None, "number": "", "revision": 0, "state": "trial", "version": 0, "created": None, "issued_at": None}


class QuoteStateError(CalculationError):
    """An action that the state of this quote does not allow."""

    code = "quote_state"


class NotNewestRevisionError(CalculationError):
    """A revision of a quote that has been revised already."""

    code = "not_newest_revision"


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


def revise_quote(*, shop: Shop, quote: Quote, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """A new draft revision of an offer that nobody has accepted; it supersedes the old one when it is issued.

    Raises:
        QuoteStateError: it is a draft, accepted, or superseded.
        NotNewestRevisionError: there is a newer revision, perhaps a draft.
    """
    assert_scope(shop.pk)
    must_be(quote, "issued", "declined", "expired", "withdrawn", doing="revised")
    newest = Quote.objects.for_shop(shop).filter(number=quote.number).aggregate(Max("revision"))["revision__max"]
    if newest != quote.revision:
        raise NotNewestRevisionError(f"{quote.number} has revision {newest}; expected to revise that one", value=quote.revision)
    rows = _rows(shop, draft, price(shop, inputs, shop_day(shop)), by)
    return _kept(rows, insert_revision(shop, rows, number=quote.number, revision=quote.revision + 1))


def save_draft(*, shop: Shop, quote: Quote, draft: Draft, inputs: QuoteInputs, by: Actor) -> Kept:
    """Prices a draft again, for today, from changed inputs; the caller has locked it and compared the version."""
    assert_scope(shop.pk)
    must_be(quote, "draft", doing="edited")
    rows = _rows(shop, draft, price(shop, inputs, shop_day(shop)), by)
    return _kept(rows, replace_draft(shop, rows, id_=quote.pk))


def delete_draft(*, shop: Shop, quote: Quote, by: Actor) -> None:
    """Deletes a draft with its lines; anything else is kept for good. Its number is not given again."""
    assert_scope(shop.pk)
    must_be(quote, "draft", doing="deleted")
    QuoteLine.objects.for_shop(shop).filter(quote_id=quote.pk).delete()
    QuoteComponent.objects.for_shop(shop).filter(quote_id=quote.pk).delete()
    Quote.objects.for_shop(shop).filter(pk=quote.pk).delete()


def must_be(quote: Quote, *states: str, doing: str) -> None:
    """Refuses an action by name when the quote is in none of these states."""
    if quote.state not in states:
        allowed = " or ".join(states)
        raise QuoteStateError(f"{quote.number} is {quote.state}; only what is {allowed} can be {doing}", value=quote.state)


def _rows(shop: Shop, draft: Draft, priced: Priced, by: Actor) -> QuoteRows:
    return QuoteRows(
        row=quote_row(shop, draft, priced, by),
        lines=line_rows(priced.worked),
        components=component_rows(priced.worked),
        cost_base=priced.cost_base,
    )


def _kept(rows: QuoteRows, written: Row) -> Kept:
    return Kept(rows.row | written | {"state": "draft", "issued_at": None}, rows.lines, rows.components)
