"""How does another party's estimate stand beside the stored quote?"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from costbase.calc.money import currency, decimal_quantity, per_unit
from costbase.models import Shop
from quotes.calc.second_estimate import (
    COMPONENT,
    Comparison,
    Decision,
    Measure,
    OurLine,
    Settled,
    Side,
    TheirLine,
    compare,
    settle,
)
from quotes.models import EstimateDecision, Quote, SecondEstimate, SecondEstimateLine
from quotes.reports.quotes import stored_components, stored_lines

Row = dict[str, Any]

_LINE = (
    "number", "description", "phase", "assembly", "quantity", "unit", "price", "amount", "tax", "ours", "note",
)  # fmt: skip


def estimates_of(shop: Shop, quote_id: int) -> QuerySet[SecondEstimate]:
    """The estimates beside a quote."""
    return SecondEstimate.objects.for_shop(shop).filter(quote_id=quote_id)


def their_lines(shop: Shop, estimate_id: int) -> list[Row]:
    """The lines of an estimate in their order."""
    rows = SecondEstimateLine.objects.for_shop(shop).filter(estimate_id=estimate_id).order_by("position")
    return list(rows.values(*_LINE))


def decisions_of(shop: Shop, estimate_id: int) -> list[Decision]:
    """What was written about its differences."""
    rows = EstimateDecision.objects.for_shop(shop).filter(estimate_id=estimate_id).order_by("pk")
    return [Decision(**row) for row in rows.values("difference", "state", "reason", "kept")]


def our_lines(shop: Shop, quote_id: int) -> list[OurLine]:
    """The lines and hidden components of the quote, as they are compared."""
    lines = [_our_line(row) for row in stored_lines(shop, quote_id)]
    # A component of two constructions is one thing to whoever estimates.
    hidden = {row["slug"]: row["name"] for row in stored_components(shop, quote_id)}
    return [*lines, *(OurLine(f"{COMPONENT}/{slug}", name, "", (), (), Decimal(0)) for slug, name in hidden.items())]


def their_line(row: Mapping[str, Any]) -> TheirLine:
    """A stored line of theirs, as it is compared."""
    return TheirLine(**{name: row[name] for name in _LINE if name not in ("ours", "note")}, ours=tuple(row["ours"]))


def beside(shop: Shop, quote: Quote, estimate: SecondEstimate) -> tuple[Comparison, Settled, list[OurLine]]:
    """The differences of an estimate from the quote, what was agreed about them, and our lines."""
    ours = our_lines(shop, quote.pk)
    theirs = [their_line(row) for row in their_lines(shop, estimate.pk)]
    base = quote.base
    tax, rounding = (Decimal(quote.totals[name]) for name in ("base_tax", "base_rounding"))
    comparison = compare(ours, theirs, Side(base, tax, rounding), estimate.stated_total, currency(quote.currency))
    return comparison, settle(comparison, decisions_of(shop, estimate.pk)), ours


def _our_line(row: Row) -> OurLine:
    details = row["details"]
    parts = [row["kind"], row["slug"], *([row["trade"]] if row["trade"] else [])]
    needed_by = tuple(part["assembly"] for part in details.get("parts", ()))
    return OurLine(
        ref="/".join(parts),
        name=row["name"],
        phase=row["phase"],
        assemblies=(row["slug"],) if row["kind"] == "labour" else needed_by,
        measures=tuple(_measures(row)),
        amount=row["amount"],
    )


def _measures(row: Row) -> Sequence[Measure]:
    """Ways to count a line: as it is billed; labour also by its driver, and packs by what is in them."""
    details = row["details"]
    found = [Measure(row["quantity"], row["unit"], row["price"])]
    if "driver" in details:
        number, _, unit = details["driver"].partition(" ")
        driver = Decimal(number)
        if driver > 0:
            found.append(Measure(driver, unit, per_unit(row["amount"], driver)))
    size = Decimal(details.get("pack_size", 1))
    if details.get("unit", row["unit"]) != row["unit"]:
        in_use = decimal_quantity(float(row["quantity"] * size))
        found.append(Measure(in_use, details["unit"], per_unit(row["price"], size)))
    return found
