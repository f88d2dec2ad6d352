"""How is somebody else's estimate entered beside a quote, changed and taken away? No price of ours moves by it."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from django.db import connection

from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.references import customers_missing, other_customer
from quotes.calc.second_estimate import Decision, check_decisions
from quotes.models import EstimateDecision, Quote, SecondEstimate, SecondEstimateLine

Row = dict[str, Any]

_LINE = {
    "position": "int", "number": "text", "description": "text", "phase": "text", "assembly": "text", "quantity": "numeric",
    "unit": "text", "price": "numeric", "amount": "numeric", "tax": "numeric", "ours": "jsonb", "note": "text",
}  # fmt: skip
_DECISION = {"difference": "text", "state": "text", "reason": "text", "kept": "numeric"}
_HEAD = ("party", "customer_id", "reference", "dated_on", "stated_total", "note", "total", "tax")


class EstimateLineError(CalculationError):
    """A line of another party's estimate that cannot be meant so."""

    code = "bad_estimate_line"


@dataclass(frozen=True, slots=True)
class LineDetails:
    """A line as it was entered; see `SecondEstimateLine`. `number` is "" where it shall be called by its position."""

    number: str
    description: str
    phase: str
    assembly: str
    quantity: Decimal | None
    unit: str
    price: Decimal | None
    amount: Decimal
    tax: Decimal | None
    ours: Sequence[str]
    note: str


@dataclass(frozen=True, slots=True)
class EstimateDetails:
    """Everything that is entered of an estimate."""

    party: str
    customer_id: int | None
    reference: str
    dated_on: date
    stated_total: Decimal | None
    note: str
    lines: Sequence[LineDetails]
    decisions: Sequence[Decision]


def add_estimate(*, shop: Shop, quote: Quote, details: EstimateDetails, by: Actor) -> SecondEstimate:
    """Enters another party's estimate beside a quote, whatever its state.

    Raises:
        OtherShopError: a customer who is not in this shop.
        EstimateLineError, DecisionError, CalculationFaults: lines or decisions that contradict themselves.
    """
    assert_scope(shop.pk)
    lines = _checked(shop, details, standing=None)
    estimate = SecondEstimate(shop=shop, quote_id=quote.pk, created_by=by.person_id)
    _write_head(estimate, details)
    estimate.save(force_insert=True)
    _insert(shop, estimate.pk, lines, _decision_rows(details))
    return estimate


def change_estimate(*, shop: Shop, estimate: SecondEstimate, details: EstimateDetails, by: Actor) -> None:
    """Puts other details in the place of an estimate's; the caller has locked it and compared the version.

    Lines and decisions are written again only where they changed, so that the history tells what did.

    Raises:
        As `add_estimate`.
    """
    assert_scope(shop.pk)
    lines = _checked(shop, details, standing=estimate.customer_id)
    decisions = _decision_rows(details)
    _write_head(estimate, details)
    estimate.version += 1
    estimate.save(update_fields=[*(name.removesuffix("_id") for name in _HEAD), "version"])
    stored = SecondEstimateLine.objects.for_shop(shop).filter(estimate_id=estimate.pk).order_by("position")
    same_lines = _same(stored.values(*_LINE), lines)
    if not same_lines:
        stored.delete()
    written = EstimateDecision.objects.for_shop(shop).filter(estimate_id=estimate.pk).order_by("pk")
    same_decisions = _same(written.values(*_DECISION), decisions)
    if not same_decisions:
        written.delete()
    _insert(shop, estimate.pk, [] if same_lines else lines, [] if same_decisions else decisions)


def remove_estimate(*, shop: Shop, estimate: SecondEstimate, by: Actor) -> None:
    """Takes an estimate away, with its lines and decisions; the history keeps what they were."""
    assert_scope(shop.pk)
    _remove(shop, "id", [estimate.pk])


def delete_estimates(*, shop: Shop, quote_ids: Sequence[int]) -> None:
    """Takes every estimate beside drafts away that are going to be deleted."""
    _remove(shop, "quote_id", quote_ids)


def _remove(shop: Shop, which: str, ids: Sequence[int]) -> None:
    chosen = f"SELECT id FROM quotes_secondestimate WHERE shop_id = %(shop)s AND {which} = ANY(%(ids)s)"
    with connection.cursor() as cursor:
        for table, column in (
            ("quotes_secondestimateline", "estimate_id"),
            ("quotes_estimatedecision", "estimate_id"),
            ("quotes_secondestimate", "id"),
        ):
            cursor.execute(
                f"DELETE FROM {table} WHERE shop_id = %(shop)s AND {column} IN ({chosen})", {"shop": shop.pk, "ids": list(ids)}
            )


def _checked(shop: Shop, details: EstimateDetails, standing: int | None) -> list[Row]:
    """The rows of the lines, once nothing speaks against them."""
    check_decisions(details.decisions)
    faults: list[CalculationError] = []
    wanted = details.customer_id
    if wanted is not None and customers_missing(shop, [wanted], [] if standing is None else [standing]):
        faults.append(other_customer(wanted, "customer"))
    rows = [{"position": at, **asdict(line), "number": line.number or str(at)} for at, line in enumerate(details.lines, 1)]
    numbers = [row["number"] for row in rows]
    for at, number in enumerate(numbers):
        if number in numbers[:at]:
            words = f"expected numbers of lines that differ; '{number}' stands twice"
            faults.append(EstimateLineError(words, field=f"lines/{at}/number", value=number))
    raise_faults(faults)
    return rows


def _decision_rows(details: EstimateDetails) -> list[Row]:
    return [asdict(decision) for decision in details.decisions]


def _write_head(estimate: SecondEstimate, details: EstimateDetails) -> None:
    for name in _HEAD[:6]:
        setattr(estimate, name, getattr(details, name))
    estimate.total = sum((line.amount for line in details.lines), Decimal(0))
    taxes = [line.tax for line in details.lines if line.tax is not None]
    estimate.tax = sum(taxes, Decimal(0)) if taxes else None


def _same(stored: Any, rows: Sequence[Row]) -> bool:
    return [dict(row) for row in stored] == [{**row, "ours": list(row["ours"])} if "ours" in row else row for row in rows]


def _insert(shop: Shop, estimate_id: int, lines: Sequence[Row], decisions: Sequence[Row]) -> None:
    with connection.cursor() as cursor:
        for table, columns, rows in (
            ("quotes_secondestimateline", _LINE, lines),
            ("quotes_estimatedecision", _DECISION, decisions),
        ):
            if rows:
                values: dict[str, int | str] = {"shop": shop.pk, "estimate": estimate_id, "rows": json.dumps(rows, default=str)}
                cursor.execute(_insert_statement(table, columns), values)


def _insert_statement(table: str, columns: Mapping[str, str]) -> str:
    names = ", ".join(columns)
    inner = ", ".join(f"{name} {kind}" for name, kind in columns.items())
    return (
        f"INSERT INTO {table} (shop_id, estimate_id, {names}) "
        f"SELECT %(shop)s, %(estimate)s, {names} FROM jsonb_to_recordset(%(rows)s::jsonb) AS rows({inner})"
    )
