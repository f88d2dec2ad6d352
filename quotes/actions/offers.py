"""What stands on the table when an offer is answered: the document with these options ticked, and who answers for which part?

What was shown is kept under its hash, once, so that it can be shown again as it was however the service changes.
"""

import copy
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costbase.models import Shop
from quotes.actions.agreed import COLUMNS, Agreed, agreed, as_quoted
from quotes.calc.consent import document_hash
from quotes.models import Quote
from quotes.reports.offer_documents import Part, offer_document
from quotes.reports.payers import figures_of, payers_of_quotes, split_over, stored_payers, stored_rules
from quotes.reports.quotes import parts_of_quotes

Row = dict[str, Any]

OWNER = "owner"


@dataclass(frozen=True, slots=True)
class Offer:
    """An offer as it stands: what is agreed, the options in the order offered, the document, its hash, each payer's part."""

    terms: Agreed
    options: list[str]
    document: Row
    hash: str
    parts: tuple[Part, ...]

    @property
    def asked(self) -> tuple[Part, ...]:
        """Whose consent is needed: the owner's, and that of every payer with a part above zero."""
        return tuple(part for part in self.parts if part.payer == OWNER or part.limit_with_tax > 0)

    def shown_limit(self, part: Part) -> str:
        """A payer's part as the document shows it."""
        return next(str(row["limit_with_tax"]) for row in self.document["payers"] if row["payer"] == part.payer)


def standing_offer(shop: Shop, quote: Quote, options: Sequence[str]) -> Offer:
    """The offer as it stands with these options ticked.

    Args:
        shop: whose it is.
        quote: with all its columns.
        options: slugs of ticked options, each once.

    Raises:
        NotOfferedError, QuoteStateError: as `agreed`.
    """
    terms = agreed(shop, quote, options)
    ticked = [slug for slug in quote.inputs.get("offered", []) if slug in set(options)]
    payers = stored_payers(shop, quote.pk)
    return _offer(shop, quote, terms, ticked, payers, stored_rules(shop, quote.pk) if payers else [])


def standing_offers(shop: Shop, quotes: Sequence[Quote]) -> tuple[Offer, ...]:
    """The offers of several quotes without options, in as many queries for two as for fifty."""
    ids = [quote.pk for quote in quotes]
    parts, paying = parts_of_quotes(shop, ids), payers_of_quotes(shop, ids)
    return tuple(_offer(shop, quote, as_quoted(quote, *parts[quote.pk]), [], *paying[quote.pk]) for quote in quotes)


def _offer(shop: Shop, quote: Quote, terms: Agreed, ticked: list[str], payers: Sequence[Row], rules: Sequence[Row]) -> Offer:
    parts = _parts(quote, terms, payers, rules)
    document = offer_document(shop, quote, terms, ticked, parts)
    return Offer(terms, ticked, document, document_hash(document), parts)


def _parts(quote: Quote, terms: Agreed, payers: Sequence[Row], rules: Sequence[Row]) -> tuple[Part, ...]:
    """What falls on each payer of what is agreed, the owner first."""
    if not payers:
        columns = terms.columns
        return (Part(OWNER, OWNER, Decimal(str(columns["limit"])), Decimal(str(columns["limit_with_tax"]))),)
    # Never saved: the quote with the amounts of the ticked options, which the split reads.
    sold = copy.copy(quote)
    for name in COLUMNS:
        setattr(sold, name, Decimal(str(terms.columns[name])))
    sold.totals = terms.totals
    lines = [{**line, **_decimals(line, "quantity", "amount")} for line in terms.lines]
    components = [{**part, **_decimals(part, "exposure", "unit_price", "allowance")} for part in terms.components]
    split = split_over(figures_of(sold, lines, components), payers, rules)
    return tuple(Part(share.payer.label, share.payer.kind, share.limit.net, share.limit.total) for share in split.shares)


def _decimals(row: Row, *names: str) -> Row:
    return {name: Decimal(str(row[name])) for name in names}
