"""How is a quote shown, and to whom?

One shape for a quote that was just written and for one that is read again. Amounts are texts in the quote's currency. What the
work costs the shop is for managers and analysts; estimators see what is billed.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from api.accounts.roles import ANALYST, MANAGER
from api.rest.quote_requests import station
from costbase.calc.money import currency as currency_of
from costbase.models import Shop
from quotes.calc.options import AMOUNTS as TICKED_AMOUNTS
from quotes.models import Quote
from quotes.reports.quotes import offered_of

Row = dict[str, Any]

COST_READERS = frozenset({MANAGER, ANALYST})
_AMOUNTS = ("base", "record", "allowance", "reserve", "contingency", "limit", "base_with_tax", "limit_with_tax")
_MORE_AMOUNTS = (
    "labour", "materials", "base_tax", "base_rounding", "limit_tax", "limit_rounding", "deposit",
)  # fmt: skip
_PLAIN = (
    "id", "number", "revision", "alternative", "label", "state", "reference", "plan", "price_basis", "currency", "provisional",
    "engine", "version",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Parts:
    """Rows that are shown with a quote: its lines, its hidden components, and the alternatives beside it."""

    lines: Iterable[Row]
    components: Iterable[Row]
    others: Iterable[Row] = ()


def quote_answer(shop: Shop, role: str, row: Mapping[str, Any], parts: Parts) -> Row:
    """The whole quote.

    Args:
        shop: whose it is; its unit system shows stations.
        role: of the reader.
        row: columns of the quote, from the table or as just written.
        parts: the rows of other tables that belong to it.
    """
    digits = currency_of(row["currency"]).digits
    totals, told = row["totals"], row["told"]
    return {
        **brief_answer(row),
        "tier": {name: told[name] for name in ("tier", "tier_by_rules", "override_reason", "fired")},
        "checked": {
            "checked_share": row["checked_share"],
            **{name: told[name] for name in ("weighted_share", "wet_share", "actions")},
        },
        **sums_shown(row, digits, role),
        "offered": _offered(totals, digits, role),
        "days": told["days"],
        "scope": [
            {**span, "start": station(span["start"], shop.unit_system), "end": station(span["end"], shop.unit_system)}
            for span in told["scope"]
        ],
        **{name: told[name] for name in ("conditions", "warnings", "exclusions", "cautions")},
        "lines": [line_shown(_with_lot(line, told), digits, role) for line in parts.lines],
        "hidden": [component_shown(component, digits) for component in parts.components],
        "alternatives": [_alternative(other, digits) for other in parts.others],
        "request": row["request"],
    }


def sums_shown(row: Mapping[str, Any], digits: int, role: str) -> Row:
    """What a quote or a fleet comes to: amounts, taxes, hours, amounts by phase and the forecast.

    Args:
        row: its columns.
        digits: of its currency.
        role: of the reader.
    """
    totals = row["totals"]
    return {
        "amounts": _amounts(row, totals, digits, role),
        "taxes": {
            "base": [_tax(tax, digits) for tax in totals["base_taxes"]],
            "limit": [_tax(tax, digits) for tax in totals["limit_taxes"]],
        },
        "hours": {
            "total": str(row["hours"]),
            "by_phase": totals["hours_by_phase"],
            "by_trade": totals["hours_by_trade"],
        },
        "amounts_by_kind": _by_kind(totals, digits),
        "counted": [_counted(work, digits) for work in totals.get("counted", [])],
        "amounts_by_phase": {phase: fixed(value, digits) for phase, value in totals["amounts_by_phase"].items()},
        "forecast": {
            **{name: fixed(row[name], digits) for name in ("p50", "p80", "p90")},
            "chance_nothing_found": row["chance_nothing_found"],
            "base_expected": fixed(totals["base_expected"], digits),
            "coverage_share": totals["coverage_share"],
        },
    }


def brief_answer(row: Mapping[str, Any]) -> Row:
    """What a list shows of a quote."""
    digits = currency_of(row["currency"]).digits
    return {
        **{name: row[name] for name in _PLAIN},
        "customer": row["customer_id"],
        "fleet": row.get("fleet_id"),
        "place": row.get("place"),
        "coach": row["coach_id"],
        "survey": row["survey_id"],
        "priced_on": str(row["priced_on"]),
        "valid_until": str(row["valid_until"]),
        "confidence_level": row["level"],
        "roof_tier": row["tier"],
        "base_with_tax": fixed(row["base_with_tax"], digits),
        "limit_with_tax": fixed(row["limit_with_tax"], digits),
        "created": row["created"].isoformat() if row["created"] else None,
        "issued_at": row["issued_at"].isoformat() if row["issued_at"] else None,
    }


def row_of(quote: Quote) -> Row:
    """The columns of a quote that was read, under the names that `quote_answer` takes."""
    return {field.attname: getattr(quote, field.attname) for field in quote._meta.concrete_fields if _loaded(quote, field)}


def _loaded(quote: Quote, field: Any) -> bool:
    return field.attname in quote.__dict__


def fixed(value: object, digits: int) -> str:
    """An amount that was rounded before, with the digits of its currency."""
    return f"{Decimal(str(value)):.{digits}f}"


def _amounts(row: Mapping[str, Any], totals: Mapping[str, Any], digits: int, role: str) -> Row:
    amounts = {name: fixed(row[name], digits) for name in _AMOUNTS}
    amounts |= {name: fixed(totals[name], digits) for name in _MORE_AMOUNTS}
    if role in COST_READERS:
        cost, base = Decimal(str(row["cost"])), Decimal(str(row["base"]))
        amounts |= {"cost": fixed(cost, digits), "margin": fixed(base - cost, digits)}
    return amounts


def _by_kind(totals: Mapping[str, Any], digits: int) -> Row | None:
    """None for a quote from before lines were told apart by kind."""
    found = totals.get("amounts_by_kind")
    return {kind: fixed(value, digits) for kind, value in found.items()} if found else None


def _counted(work: Mapping[str, Any], digits: int) -> Row:
    return {**work, **{name: fixed(work[name], digits) for name in ("set_up", "amount")}}


def _offered(totals: Mapping[str, Any], digits: int, role: str) -> Row:
    found = offered_of(totals)
    together = found["together"]
    return {
        "options": [_ticked(ticked, digits, role) for ticked in found["options"]],
        "together": _ticked(together, digits, role) if together else None,
    }


def _ticked(ticked: Mapping[str, Any], digits: int, role: str) -> Row:
    names = [name for name in TICKED_AMOUNTS if name != "cost" or role in COST_READERS]
    lines = [{**line, "amount": fixed(line["amount"], digits), "cost": fixed(line["cost"], digits)} for line in ticked["lines"]]
    if role not in COST_READERS:
        for line in lines:
            del line["cost"]
    kept = {name: value for name, value in ticked.items() if name not in TICKED_AMOUNTS}
    return {**kept, **{name: fixed(ticked[name], digits) for name in names}, "lines": lines}


def _tax(tax: Mapping[str, Any], digits: int) -> Row:
    return {**tax, "base": fixed(tax["base"], digits), "amount": fixed(tax["amount"], digits)}


def _with_lot(line: Mapping[str, Any], told: Mapping[str, Any]) -> Row:
    """The line of a coach in a fleet with what it is a share of."""
    of_lot = told.get("lot", {}).get(str(line["position"]))
    return {**line, "details": {**line["details"], "lot": of_lot}} if of_lot else dict(line)


def line_shown(line: Mapping[str, Any], digits: int, role: str) -> Row:
    """A line of a quote or of a fleet."""
    details = dict(line["details"])
    answer = {**line, "quantity": f"{Decimal(str(line['quantity'])):.4f}", "price": f"{Decimal(str(line['price'])):.6f}"}
    answer |= {"amount": fixed(line["amount"], digits), "details": details}
    if role in COST_READERS:
        answer["cost"] = fixed(line["cost"], digits)
    else:
        # What a pack costs the shop says as much as the cost itself.
        del answer["cost"]
        for name in ("pack_price", "freight", "markup"):
            details.pop(name, None)
    return answer


def _alternative(other: Mapping[str, Any], digits: int) -> Row:
    return {
        **other,
        **{name: fixed(other[name], digits) for name in ("base_with_tax", "limit_with_tax")},
        "days": {name: other["days"][name] for name in ("low", "high")},
    }


def component_shown(component: Mapping[str, Any], digits: int) -> Row:
    """A hidden component of a quote or of a job."""
    return {
        **component,
        "exposure": f"{Decimal(str(component['exposure'])):.4f}",
        **{name: f"{Decimal(str(component[name])):.6f}" for name in ("unit_price", "labour_part", "material_part")},
        **{name: fixed(component[name], digits) for name in ("set_up", "allowance")},
    }
