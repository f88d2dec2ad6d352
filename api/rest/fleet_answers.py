"""How is a fleet shown, and to whom? As its quotes are: amounts are texts, and cost is for managers and analysts."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from api.rest.quote_answers import fixed, line_shown, sums_shown
from costbase.calc.money import currency as currency_of
from quotes.models import Fleet

Row = dict[str, Any]

_PLAIN = ("id", "label", "state", "version", "plan", "price_basis", "currency", "engine", "provisional")
_OF_COACH = ("base", "allowance", "contingency", "limit", "base_with_tax", "limit_with_tax")


def fleet_answer(role: str, row: Mapping[str, Any], quotes: Iterable[Mapping[str, Any]]) -> Row:
    """The whole fleet.

    Args:
        role: of the reader.
        row: columns of the fleet, from the table or as just written.
        quotes: columns of its quotes, in the order of the coaches.
    """
    digits = currency_of(row["currency"]).digits
    told = row["told"]
    return {
        **brief_fleet(row),
        **sums_shown(row, digits, role),
        "together": _together(row, digits),
        "coaches": [_coach(quote, alone, digits) for quote, alone in zip(quotes, told["alone"], strict=True)],
        "lines": [line_shown(line, digits, role) for line in told["lines"]],
        "notes": told["notes"],
        "request": row["request"],
    }


def brief_fleet(row: Mapping[str, Any]) -> Row:
    """What a list shows of a fleet."""
    digits = currency_of(row["currency"]).digits
    return {
        **{name: row[name] for name in _PLAIN},
        "customer": row["customer_id"],
        "coach_count": row["coaches"],
        "confidence_level": row["level"],
        "unit_learning": row["learning"],
        "priced_on": str(row["priced_on"]),
        "valid_until": str(row["valid_until"]),
        "base_with_tax": fixed(row["base_with_tax"], digits),
        "limit_with_tax": fixed(row["limit_with_tax"], digits),
        "created": row["created"].isoformat() if row["created"] else None,
        "issued_at": row["issued_at"].isoformat() if row["issued_at"] else None,
    }


def fleet_row(fleet: Fleet) -> Row:
    """The columns of a fleet that was read, under the names that `fleet_answer` takes."""
    names = [field.attname for field in fleet._meta.concrete_fields]
    return {name: getattr(fleet, name) for name in names if name in fleet.__dict__}


def _together(row: Mapping[str, Any], digits: int) -> Row:
    alone = sum((Decimal(each["base"]) for each in row["told"]["alone"]), Decimal(0))
    return {
        "alone_base": fixed(alone, digits),
        "saved": fixed(alone - Decimal(str(row["base"])), digits),
        "limits": fixed(row["told"]["limits_together"], digits),
    }


def _coach(quote: Mapping[str, Any], alone: Mapping[str, str], digits: int) -> Row:
    days = quote["told"]["days"]
    return {
        "quote": quote["id"],
        **{name: quote[name] for name in ("place", "number", "state", "version", "provisional")},
        "coach": quote["coach_id"],
        "survey": quote["survey_id"],
        "roof_tier": quote["tier"],
        **{name: fixed(quote[name], digits) for name in _OF_COACH},
        "days_low": days["low"],
        "days_high": days["high"],
        "alone_base": fixed(alone["base"], digits),
        "alone_limit": fixed(alone["limit"], digits),
    }
