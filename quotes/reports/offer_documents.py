"""What does an owner see, and sign: the whole offer as one document?

Texts, whole numbers, yes and no only, so that whoever was handed the document can work its hash out again from what was handed
over (`quotes/calc/consent/chain.py`). It names no person: what is signed outlasts an erasure. Of a price that is worked with
ticked options it shows the whole, not differences.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, Protocol

from costbase.calc.money import currency
from costbase.calc.units import show
from costbase.models import Shop
from quotes.calc.consent import TERMS, VERSION
from quotes.models import Fleet, Quote
from quotes.reports.quotes import offered_of

Row = dict[str, Any]

FORM = 1
"""Raised when the document says other things than before; an older one is kept as it was."""
_LINE = ("position", "kind", "name", "trade", "phase", "price_kind", "unit")
_TICKED = ("base", "contingency", "limit", "base_with_tax", "limit_with_tax", "deposit")


class Sold(Protocol):
    """An offer with these options ticked, as rows."""

    @property
    def columns(self) -> Row:
        """Amounts."""

    @property
    def totals(self) -> Row:
        """Taxes and roundings."""

    @property
    def told(self) -> Row:
        """Days, exclusions, cautions."""

    @property
    def lines(self) -> list[Row]:
        """Its lines in their order."""

    @property
    def components(self) -> list[Row]:
        """Its hidden components in their order."""


@dataclass(frozen=True, slots=True)
class Part:
    """What one payer answers for: at most so much, before tax and with it. The parts add up to the limit."""

    payer: str
    kind: str
    limit: Decimal
    limit_with_tax: Decimal


def offer_document(shop: Shop, quote: Quote, sold: Sold, ticked: Sequence[str], parts: Sequence[Part]) -> Row:
    """Everything that the owner sees of an offer, the limit with tax first.

    Args:
        shop: whose it is; stations are shown as it measures.
        quote: with all its columns.
        sold: what is agreed with these options.
        ticked: slugs of the options that are ticked, in the order offered.
        parts: what each payer answers for.
    """
    digits = currency(quote.currency).digits
    return {
        "limit_with_tax": _fixed(sold.columns["limit_with_tax"], digits),
        "currency": quote.currency,
        "kind": "offer",
        "form": FORM,
        **_named(shop, quote),
        "amounts": _amounts(sold, digits),
        "taxes": {name: [_tax(tax, digits) for tax in sold.totals[f"{name}_taxes"]] for name in ("base", "limit")},
        "lines": [_line(line, digits) for line in sold.lines],
        "hidden": [_component(part, digits) for part in sold.components],
        "days": {end: _number(sold.told["days"][end]) for end in ("low", "high")},
        **{name: list(sold.told[name]) for name in ("exclusions", "cautions")},
        "conditions": [{name: str(row[name]) for name in ("condition", "factor", "reason")} for row in sold.told["conditions"]],
        "options": _options(quote, digits),
        "ticked": list(ticked),
        "payers": [
            {"payer": p.payer, "kind": p.kind, "limit_with_tax": _fixed(p.limit_with_tax, digits)} for p in parts
        ],
        "terms": {"version": VERSION, "sentences": list(TERMS[VERSION][quote.price_basis])},
    }  # fmt: skip


def fleet_document(fleet: Fleet, coaches: Sequence[tuple[Quote, str, Sequence[Part]]]) -> Row:
    """What stands over the offers of a fleet: whom it authorises for how much, and each coach's own document by its hash.

    Args:
        fleet: the fleet.
        coaches: in their order, each quote with the hash of its document and each payer's part of it.
    """
    digits = currency(fleet.currency).digits
    sums: dict[tuple[str, str], Decimal] = {}
    for _, _, parts in coaches:
        for part in parts:
            sums[part.payer, part.kind] = sums.get((part.payer, part.kind), Decimal(0)) + part.limit_with_tax
    return {
        "limit_with_tax": _fixed(sum(sums.values(), Decimal(0)), digits),
        "currency": fleet.currency,
        "kind": "fleet",
        "form": FORM,
        "fleet": fleet.pk,
        "label": fleet.label,
        "plan": fleet.plan,
        "issued_at": fleet.issued_at.isoformat() if fleet.issued_at else "",
        "valid_until": str(fleet.valid_until),
        "coaches": [
            {
                "place": at,
                "number": quote.number,
                "coach": quote.coach_id,
                "limit_with_tax": _fixed(quote.limit_with_tax, digits),
                "document_hash": hash_,
            }
            for at, (quote, hash_, _) in enumerate(coaches, 1)
        ],
        "payers": [
            {"payer": payer, "kind": kind, "limit_with_tax": _fixed(limit, digits)} for (payer, kind), limit in sums.items()
        ],
    }


def _named(shop: Shop, quote: Quote) -> Row:
    unit = "ft" if shop.unit_system == "us" else "m"
    return {
        "number": quote.number,
        "revision": quote.revision,
        "alternative": quote.alternative,
        "label": quote.label,
        "reference": quote.reference,
        "coach": quote.coach_id,
        "plan": quote.plan,
        "price_basis": quote.price_basis,
        "provisional": quote.provisional,
        "checked_share": _number(quote.checked_share),
        "issued_at": quote.issued_at.isoformat() if quote.issued_at else "",
        "valid_until": str(quote.valid_until),
        "scope": [
            {"section": span["section"], "start": show(span["start"], unit), "end": show(span["end"], unit)}
            for span in quote.told["scope"]
        ],
    }


def _amounts(sold: Sold, digits: int) -> Row:
    columns, totals = sold.columns, sold.totals
    amounts = {
        **{name: columns[name] for name in ("base", "record", "contingency", "limit", "base_with_tax", "limit_with_tax")},
        **{name: totals[name] for name in ("base_tax", "base_rounding", "limit_tax", "limit_rounding", "deposit")},
    }
    return {name: _fixed(value, digits) for name, value in amounts.items()}


def _tax(tax: Mapping[str, Any], digits: int) -> Row:
    return {
        "name": tax["name"],
        "rate": str(tax["rate"]),
        "base": _fixed(tax["base"], digits),
        "amount": _fixed(tax["amount"], digits),
    }


def _line(line: Mapping[str, Any], digits: int) -> Row:
    return {
        **{name: line[name] for name in _LINE},
        "quantity": _plain(line["quantity"]),
        "price": _plain(line["price"]),
        "amount": _fixed(line["amount"], digits),
    }


def _component(part: Mapping[str, Any], digits: int) -> Row:
    """What a hidden component costs if it is found, in the owner's words; how likely it is, is not signed."""
    return {
        "position": part["position"],
        "words": part["owner_words"],
        "unit": part["unit"],
        "unit_price": _plain(part["unit_price"]),
        "set_up": _fixed(part["set_up"], digits),
        "opened": not part["details"]["no_exposure"],
        "can_close_up": part["details"]["can_close_up"],
    }


def _options(quote: Quote, digits: int) -> list[Row]:
    return [
        {
            "option": option["options"][0],
            "name": option["name"],
            "adds": {name: _fixed(option[name], digits) for name in _TICKED},
            "days": {end: _number(option["days"][end]) for end in ("low", "high")},
        }
        for option in offered_of(quote.totals)["options"]
    ]


def _fixed(amount: object, digits: int) -> str:
    return f"{Decimal(str(amount)):.{digits}f}"


def _plain(number: object) -> str:
    """A number of a column, without the zeros that only the column has."""
    exact = Decimal(str(number))
    return format(exact.normalize(), "f") if exact else "0"


def _number(value: float) -> str:
    return _plain(repr(float(value)))
