"""How is another party's estimate shown, and how are its differences from the quote?"""

from collections.abc import Sequence
from dataclasses import asdict
from decimal import Decimal
from typing import Any

from api.rest.quote_answers import fixed
from costbase.calc.money import currency as currency_of
from costbase.models import Shop
from quotes.calc.second_estimate import KINDS, Comparison, Decision, Difference, OurLine, Settled, suggestions
from quotes.models import SecondEstimate
from quotes.reports.second_estimates import decisions_of, our_lines, their_line, their_lines

Row = dict[str, Any]


def brief_estimate(shop: Shop, estimate: SecondEstimate) -> Row:
    """What a list shows of an estimate."""
    return {
        "id": estimate.pk,
        "quote": estimate.quote_id,
        "party": estimate.party,
        "customer": estimate.customer_id,
        "reference": estimate.reference,
        "dated_on": estimate.dated_on.isoformat(),
        **{name: _amount(shop, getattr(estimate, name)) for name in ("stated_total", "total", "tax")},
        "version": estimate.version,
        "created": estimate.created.isoformat(),
    }


def estimate_answer(shop: Shop, estimate: SecondEstimate) -> Row:
    """An estimate with its lines, suggestions for those that are matched to nothing, and what was agreed."""
    ours = our_lines(shop, estimate.quote_id)
    return {
        **brief_estimate(shop, estimate),
        "note": estimate.note,
        "lines": [_line(shop, row, ours) for row in their_lines(shop, estimate.pk)],
        "decisions": [
            {**asdict(decision), "kept": _amount(shop, decision.kept)} for decision in decisions_of(shop, estimate.pk)
        ],
    }


def _line(shop: Shop, row: Row, ours: Sequence[OurLine]) -> Row:
    names = {line.ref: line.name for line in ours}
    found = () if row["ours"] else suggestions(their_line(row), ours)
    price, money = row["price"], shop.currency
    return {
        **row,
        "quantity": None if row["quantity"] is None else str(row["quantity"]),
        "price": None if price is None else {"amount": str(price), "currency": money},
        "amount": _amount(shop, row["amount"]),
        "tax": _amount(shop, row["tax"]),
        "suggestions": [{"line": each.ref, "name": names[each.ref], "why": each.why, "score": each.score} for each in found],
    }


def _amount(shop: Shop, value: Decimal | None) -> Row | None:
    if value is None:
        return None
    money = shop.currency
    return {"amount": fixed(value, currency_of(money).digits), "currency": money}


def _difference(difference: Difference, decision: Decision, digits: int) -> Row:
    counted = difference.compared
    return {
        "difference": difference.key,
        "kind": difference.kind,
        "meaning": KINDS[difference.kind],
        "words": difference.words,
        "ours": list(difference.ours),
        "theirs": list(difference.theirs),
        **{name: fixed(getattr(difference, name), digits) for name in ("our_amount", "their_amount", "amount")},
        "counted": None
        if counted is None
        else {
            "unit": counted.unit,
            "ours": str(counted.ours),
            "theirs": str(counted.theirs),
            "our_price": str(counted.our_price),
            "their_price": None if counted.their_price is None else str(counted.their_price),
        },
        "state": decision.state,
        "reason": decision.reason,
        "kept": None if decision.kept is None else fixed(decision.kept, digits),
    }


def differences_answer(currency: str, comparison: Comparison, settled: Settled) -> Row:
    """The differences of an estimate from the quote, each with what was written about it."""
    digits = currency_of(currency).digits
    pairs = zip(comparison.differences, settled.decisions, strict=True)
    return {
        "currency": currency,
        "with_tax": comparison.with_tax,
        "our_total": fixed(comparison.our_total, digits),
        "their_total": fixed(comparison.their_total, digits),
        "difference": fixed(comparison.our_total - comparison.their_total, digits),
        "alike": comparison.alike,
        "differences": [_difference(difference, decision, digits) for difference, decision in pairs],
        "agreed": fixed(settled.agreed, digits),
        "open": fixed(settled.still_open, digits),
        "given_up": fixed(settled.given_up, digits),
        "warnings": [*comparison.warnings, *settled.warnings],
    }
