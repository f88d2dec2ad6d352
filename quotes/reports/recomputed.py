"""Do stored quotes, worked out again from what was kept with them, still come to the same amounts?

Everything that was stored is compared, to the cent and the last decimal: amounts, taxes, lines, hidden components, atoms. It is
exact only for quotes of the engine that works them out. Nothing is changed.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from quotes.calc.fleet import LotContext
from quotes.calc.why import Context
from quotes.models import Quote, QuoteComponent, QuoteLine
from quotes.reports.quotes import COMPONENT, LINE, Row, worked_again

Mismatch = dict[str, str | int]

# The first few places tell a person where to look; a quote that is worked in another way differs nearly everywhere.
MOST_PLACES = 5


@dataclass(frozen=True, slots=True)
class Rows:
    """A worked quote as it stands in rows, made by the functions that wrote the stored ones."""

    amounts: Row
    totals: Row
    lines: list[Row]
    components: list[Row]


def recomputable_quotes(shop: Shop, engine: int) -> list[int]:
    """The ids of all quotes of the shop that were ever issued and priced by this engine."""
    rows = Quote.objects.for_shop(shop).filter(engine=engine).exclude(state="draft")
    return list(rows.order_by("id").values_list("id", flat=True))


def mismatches(shop: Shop, quote_ids: Sequence[int], rows_of: Callable[[Context], Rows]) -> list[Mismatch]:
    """Where these quotes differ from what they come to today, with the first few places of each.

    Three queries, and one more for every fleet and for every cost base that this process has not read yet.
    """
    quotes = list(Quote.objects.for_shop(shop).filter(pk__in=quote_ids).order_by("id"))
    lines = _by_quote(QuoteLine.objects.for_shop(shop).filter(quote_id__in=quote_ids), LINE)
    components = _by_quote(QuoteComponent.objects.for_shop(shop).filter(quote_id__in=quote_ids), COMPONENT)
    found: list[Mismatch] = []
    fleets: dict[int, LotContext] = {}
    for quote in quotes:
        places = _differences(quote, lines.get(quote.pk, []), components.get(quote.pk, []), rows_of, fleets)
        told = [place for place, _ in zip(places, range(MOST_PLACES), strict=False)]
        found += [{"quote": quote.pk, "number": quote.number, "revision": quote.revision, **place} for place in told]
    return found


def _by_quote(rows: Any, columns: Sequence[str]) -> dict[int, list[Row]]:
    grouped: dict[int, list[Row]] = {}
    for row in rows.order_by("quote_id", "position").values("quote_id", *columns):
        grouped.setdefault(row.pop("quote_id"), []).append(row)
    return grouped


def _differences(
    quote: Quote,
    lines: list[Row],
    components: list[Row],
    rows_of: Callable[[Context], Rows],
    fleets: dict[int, LotContext],
) -> Iterator[dict[str, str]]:
    try:
        context = worked_again(quote, fleets)
        again = rows_of(context)
    except CalculationError as fault:
        yield {"place": "quote", "stored": "worked out", "again": f"refused: {fault.message}"}
        return
    yield from _of_row("amounts", {name: getattr(quote, name) for name in again.amounts}, again.amounts)
    yield from _of_row("totals", quote.totals, again.totals)
    if list(context.quote.set_aside.atoms) != list(quote.atoms):
        yield {"place": "atoms", "stored": "other amounts", "again": "other amounts"}
    yield from _of_rows("lines", lines, again.lines)
    yield from _of_rows("components", components, again.components)


def _of_rows(name: str, stored: list[Row], again: list[Row]) -> Iterator[dict[str, str]]:
    if len(stored) != len(again):
        yield {"place": name, "stored": f"{len(stored)} rows", "again": f"{len(again)} rows"}
        return
    for one, other in zip(stored, again, strict=True):
        yield from _of_row(f"{name}/{one['position']}", one, other)


def _of_row(place: str, stored: Mapping[str, Any], again: Mapping[str, Any]) -> Iterator[dict[str, str]]:
    for name in sorted(stored):
        one, other = stored.get(name), again.get(name)
        if not _same(one, other):
            yield {"place": f"{place}/{name}", "stored": _words(one), "again": _words(other)}


def _same(stored: object, again: object) -> bool:
    """Whether what was stored still comes about.

    A column holds a decimal where the worked row has its text: 1 and 1.000 are the same amount. What is told today besides what
    was stored then differs from nothing.
    """
    if isinstance(stored, Mapping) and isinstance(again, Mapping):
        return all(name in again and _same(value, again[name]) for name, value in stored.items())
    if isinstance(stored, list) and isinstance(again, list):
        return len(stored) == len(again) and all(_same(one, other) for one, other in zip(stored, again, strict=True))
    if isinstance(stored, Decimal) and isinstance(again, str | Decimal):
        return stored == Decimal(again)
    return stored == again


def _words(value: object) -> str:
    return str(value)[:100]
