"""Which figures does a kept quote say? Its rows, as `quotes/calc/compared.py` compares them."""

from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Any

from costbase.models import Shop
from quotes.calc.compared import Figures, HiddenFigures, HiddenKey, LineFigures, numbered
from quotes.models import Quote, QuoteComponent, QuoteLine

Row = dict[str, Any]

_COLUMNS = ("base", "record", "allowance", "reserve", "contingency", "limit", "base_with_tax", "limit_with_tax", "cost")
_TOTALS = ("labour", "materials", "base_tax", "limit_tax", "deposit")
_LINE = ("kind", "slug", "trade", *LineFigures._fields)
_HIDDEN = (*HiddenKey._fields, *HiddenFigures._fields)
_WORDS = ("warnings", "exclusions", "cautions")


def stored_figures(shop: Shop, quotes: Sequence[Quote]) -> dict[int, Figures]:
    """The figures of kept quotes by id, with two queries however many they are."""
    if not quotes:
        return {}
    ids = [quote.pk for quote in quotes]
    lines = _by_quote(QuoteLine.objects.for_shop(shop), ids, _LINE)
    hidden = _by_quote(QuoteComponent.objects.for_shop(shop), ids, _HIDDEN)
    return {quote.pk: _figures(quote, lines[quote.pk], hidden[quote.pk]) for quote in quotes}


def _by_quote(rows: Any, ids: list[int], names: tuple[str, ...]) -> dict[int, list[Row]]:
    found: dict[int, list[Row]] = {id_: [] for id_ in ids}
    for row in rows.filter(quote_id__in=ids).order_by("quote_id", "position").values("quote_id", *names):
        found[row.pop("quote_id")].append(row)
    return found


def _figures(quote: Quote, lines: list[Row], hidden: list[Row]) -> Figures:
    totals, told = quote.totals, quote.told
    amounts: dict[str, Decimal] = {name: getattr(quote, name) for name in _COLUMNS}
    amounts |= {name: Decimal(totals[name]) for name in _TOTALS}
    return Figures(
        amounts=amounts | {"margin": amounts["base"] - amounts["cost"]},
        hours=quote.hours,
        days={name: float(told["days"][name]) for name in ("low", "high", "lead")},
        tier=quote.tier,
        lines=numbered(_lines(lines)),
        hidden={HiddenKey(row.pop("slug"), row.pop("construction")): HiddenFigures(**row) for row in hidden},
        words={name: tuple(told[name]) for name in _WORDS},
    )


def _lines(rows: list[Row]) -> Iterator[tuple[tuple[str, str, str], LineFigures]]:
    for row in rows:
        yield (row.pop("kind"), row.pop("slug"), row.pop("trade")), LineFigures(**row)
