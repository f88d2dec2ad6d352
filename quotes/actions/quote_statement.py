"""How do a quote, its lines and its hidden components get into the tables?

With one statement whatever their number: bulk rows travel as one JSON text, since COPY is refused under row security.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.db import connection

from costbase.calc.contents import bundle_json, fingerprint_of
from costbase.calc.cost_base import CostBase
from costbase.models import Shop

Row = dict[str, Any]

# Columns of quotes_quote that come from the row as they are, with their types.
QUOTE = {
    "label": "text", "reference": "text", "customer_id": "bigint", "coach_id": "bigint", "survey_id": "bigint",
    "priced_on": "date", "valid_until": "date", "engine": "int", "plan": "text", "price_basis": "text", "currency": "text",
    "level": "float8", "tier": "text", "provisional": "boolean", "checked_share": "float8", "hours": "numeric",
    "cost": "numeric", "base": "numeric", "record": "numeric", "allowance": "numeric", "reserve": "numeric",
    "contingency": "numeric", "limit": "numeric", "base_with_tax": "numeric", "limit_with_tax": "numeric",
    "p50": "numeric", "p80": "numeric", "p90": "numeric", "chance_nothing_found": "float8", "atoms": "float8[]",
    "totals": "jsonb", "told": "jsonb", "request": "jsonb", "inputs": "jsonb", "factors": "jsonb",
}  # fmt: skip
NEW_QUOTE = {**QUOTE, "created_by": "bigint"}
LINE = {
    "position": "int", "kind": "text", "slug": "text", "trade": "text", "name": "text", "phase": "text",
    "price_kind": "text", "quantity": "numeric", "unit": "text", "price": "numeric", "amount": "numeric",
    "cost": "numeric", "details": "jsonb",
}  # fmt: skip
COMPONENT = {
    "position": "int", "slug": "text", "construction": "text", "name": "text", "owner_words": "text", "unit": "text",
    "tier": "text", "exposure": "numeric", "chance": "float8", "share": "float8", "unit_price": "numeric",
    "set_up": "numeric", "labour_part": "numeric", "material_part": "numeric", "allowance": "numeric", "details": "jsonb",
}  # fmt: skip


def names(columns: Mapping[str, str], prefix: str = "") -> str:
    """Columns for a statement, with commas between."""
    return ", ".join(f'{prefix}"{name}"' for name in columns)


def recordset(columns: Mapping[str, str], alias: str) -> str:
    """Rows of these columns from the JSON parameter of that name."""
    inner = ", ".join(f'"{name}" {kind}' for name, kind in columns.items())
    return f"jsonb_to_recordset(%({alias})s::jsonb) AS {alias}({inner})"


# A change of one alternative is a change of the offer: whoever read another one has read an offer that is no more.
_PARTS = f"""
o AS (
    UPDATE quotes_quote AS other SET version = other.version + 1 FROM q
    WHERE other.shop_id = %(shop)s AND (other.number, other.revision) = (q.number, q.revision) AND other.id <> q.id
), l AS (
    INSERT INTO quotes_quoteline (shop_id, quote_id, {names(LINE)})
    SELECT %(shop)s, q.id, {names(LINE, "lines.")} FROM q, {recordset(LINE, "lines")}
), c AS (
    INSERT INTO quotes_quotecomponent (shop_id, quote_id, {names(COMPONENT)})
    SELECT %(shop)s, q.id, {names(COMPONENT, "components.")} FROM q, {recordset(COMPONENT, "components")}
)
SELECT id, number, revision, alternative, created, version FROM q
"""
_WRITTEN = ("id", "number", "revision", "alternative", "created", "version")
FROZEN = "f AS (SELECT id FROM quotes_frozencostbase WHERE shop_id = %(shop)s AND fingerprint = %(fingerprint)s)"
_INSERT = f"""
INSERT INTO quotes_quote (shop_id, state, version, created, number, revision, alternative, cost_base_id, {names(NEW_QUOTE)})
SELECT %(shop)s, 'draft', 1, now(), n.number, n.revision, n.alternative, f.id, {names(NEW_QUOTE, "quote.")}
FROM f, n, {recordset(NEW_QUOTE, "quote")}
RETURNING id, number, revision, alternative, created, version
"""
# The counter's row is locked until the scope closes. Without a frozen base no number is taken: the statement comes again.
_FIRST = f"""
WITH {FROZEN}, taken AS (
    INSERT INTO quotes_quotecounter (shop_id, year, last) SELECT %(shop)s, %(year)s, 1 FROM f
    ON CONFLICT (shop_id, year) DO UPDATE SET last = quotes_quotecounter.last + 1 RETURNING last
), n AS (
    SELECT 'Q-' || %(year)s || '-' || taken.last AS number, 1 AS revision, 1 AS alternative FROM taken
), q AS ({_INSERT}), {_PARTS}
"""
_FURTHER = f"""
WITH {FROZEN}, n AS (
    SELECT %(number)s AS number, %(revision)s AS revision, %(alternative)s AS alternative
), q AS ({_INSERT}), {_PARTS}
"""
_DRAFT = f"""
WITH {FROZEN}, q AS (
    UPDATE quotes_quote SET version = version + 1, cost_base_id = f.id, ({names(QUOTE)}) = ROW({names(QUOTE, "quote.")})
    FROM f, {recordset(QUOTE, "quote")}
    WHERE quotes_quote.shop_id = %(shop)s AND quotes_quote.id = %(id)s
    RETURNING quotes_quote.id, number, revision, alternative, created, version
), {_PARTS}
"""
_CLEAR = """
WITH l AS (DELETE FROM quotes_quoteline WHERE shop_id = %(shop)s AND quote_id = %(id)s)
DELETE FROM quotes_quotecomponent WHERE shop_id = %(shop)s AND quote_id = %(id)s
"""


@dataclass(frozen=True, slots=True)
class QuoteRows:
    """A priced quote on its way into the tables: the columns of its row, lines, components, and what it was priced on."""

    row: Row
    lines: list[Row]
    components: list[Row]
    cost_base: CostBase


def insert_quote(shop: Shop, rows: QuoteRows, *, year: int) -> Row:
    """Writes a new quote under the next number of the year, ``Q-2026-17``.

    Returns:
        id, number, revision, alternative, created, version.
    """
    return _write(_FIRST, shop, rows, {"year": year})


def insert_further(shop: Shop, rows: QuoteRows, *, number: str, revision: int, alternative: int) -> Row:
    """Writes a new revision, or another alternative, of a number that was given; returns the same."""
    return _write(_FURTHER, shop, rows, {"number": number, "revision": revision, "alternative": alternative})


def replace_draft(shop: Shop, rows: QuoteRows, *, id_: int) -> Row:
    """Writes a draft again: its columns, and new lines and components for the old ones; returns the same."""
    with connection.cursor() as cursor:
        cursor.execute(_CLEAR, {"shop": shop.pk, "id": id_})
    return _write(_DRAFT, shop, rows, {"id": id_})


def _write(statement: str, shop: Shop, rows: QuoteRows, where: Mapping[str, int | str]) -> Row:
    values = {
        **where,
        "quote": json.dumps([rows.row]),
        "lines": json.dumps(rows.lines),
        "components": json.dumps(rows.components),
    }
    (written,) = write_on(shop, rows.cost_base, statement, values)
    return dict(zip(_WRITTEN, written, strict=True))


def write_on(shop: Shop, cost_base: CostBase, statement: str, values: Mapping[str, int | str]) -> list[tuple[Any, ...]]:
    """The rows that a statement returns which writes something that was priced on a cost base.

    The statement finds the base as `FROZEN` does and writes nothing without one.
    """
    bundle = bundle_json(cost_base)
    digest = fingerprint_of(bundle)
    known = {**values, "shop": shop.pk, "fingerprint": digest}
    with connection.cursor() as cursor:
        cursor.execute(statement, known)
        written = cursor.fetchall()
        if not written:
            # The first quote on this cost base: keep the base, then write again. A twin at the same moment keeps it once.
            cursor.execute(
                "INSERT INTO quotes_frozencostbase (shop_id, fingerprint, contents) VALUES (%s, %s, %s) "
                "ON CONFLICT (shop_id, fingerprint) DO NOTHING",
                [shop.pk, digest, bundle],
            )
            cursor.execute(statement, known)
            written = cursor.fetchall()
    return [tuple(row) for row in written]
