"""How does a fleet with all its quotes, their lines and hidden components get into the tables?

With one statement whatever the number of coaches, as a single quote does.
"""

import json
from collections.abc import Mapping, Sequence
from typing import Any

from django.db import connection

from costbase.models import Shop
from quotes.actions.fleet_rows import FleetRows
from quotes.actions.quote_statement import COMPONENT, FROZEN, LINE, NEW_QUOTE, QUOTE, names, recordset, write_on

Row = dict[str, Any]

# Columns of quotes_fleet that come from the row as they are, with their types.
_FLEET = {
    "label": "text", "customer_id": "bigint", "coaches": "int", "priced_on": "date", "valid_until": "date", "engine": "int",
    "plan": "text", "price_basis": "text", "currency": "text", "level": "float8", "learning": "float8",
    "provisional": "boolean", "hours": "numeric", "cost": "numeric", "base": "numeric", "record": "numeric",
    "allowance": "numeric", "reserve": "numeric", "contingency": "numeric", "limit": "numeric", "base_with_tax": "numeric",
    "limit_with_tax": "numeric", "p50": "numeric", "p80": "numeric", "p90": "numeric", "chance_nothing_found": "float8",
    "atoms": "float8[]", "totals": "jsonb", "told": "jsonb", "request": "jsonb", "factors": "jsonb",
}  # fmt: skip
_NEW_FLEET = {**_FLEET, "created_by": "bigint"}
_CHANGED = {**QUOTE, "place": "int"}
_ADDED = {**NEW_QUOTE, "place": "int"}
# `id` is that of the quote of a coach that stays, `turn` tells the new ones apart, for their numbers.
_QUOTES = {**_ADDED, "id": "bigint", "turn": "int"}
_LINES = {**LINE, "place": "int"}
_COMPONENTS = {**COMPONENT, "place": "int"}
_RETURNED = "id, number, place, revision, alternative, created, version"
_WRITTEN = (
    "fleet", "fleet_version", "fleet_created", "id", "number", "place", "revision", "alternative", "created", "version",
)  # fmt: skip

_INSERT_FLEET = f"""
INSERT INTO quotes_fleet (shop_id, state, version, created, cost_base_id, {names(_NEW_FLEET)})
SELECT %(shop)s, 'draft', 1, now(), f.id, {names(_NEW_FLEET, "fleet.")} FROM f, {recordset(_NEW_FLEET, "fleet")}
RETURNING id, version, created
"""
_UPDATE_FLEET = f"""
UPDATE quotes_fleet SET version = version + 1, cost_base_id = f.id, ({names(_FLEET)}) = ROW({names(_FLEET, "fleet.")})
FROM f, {recordset(_FLEET, "fleet")} WHERE quotes_fleet.shop_id = %(shop)s AND quotes_fleet.id = %(id)s
RETURNING quotes_fleet.id, quotes_fleet.version, quotes_fleet.created
"""


def _statement(fleet: str) -> str:
    # The counter's row is locked until the scope closes; it moves on by as many quotes as are new.
    return f"""
WITH {FROZEN}, t AS ({fleet}), asked AS (SELECT * FROM {recordset(_QUOTES, "quotes")}), taken AS (
    INSERT INTO quotes_quotecounter (shop_id, year, last) SELECT %(shop)s, %(year)s, %(new)s FROM t
    ON CONFLICT (shop_id, year) DO UPDATE SET last = quotes_quotecounter.last + %(new)s RETURNING last
), changed AS (
    UPDATE quotes_quote SET version = quotes_quote.version + 1, cost_base_id = f.id,
        ({names(_CHANGED)}) = ROW({names(_CHANGED, "asked.")})
    FROM f, t, asked WHERE quotes_quote.shop_id = %(shop)s AND quotes_quote.id = asked.id AND quotes_quote.fleet_id = t.id
    RETURNING {", ".join(f"quotes_quote.{name}" for name in _RETURNED.split(", "))}
), added AS (
    INSERT INTO quotes_quote (
        shop_id, state, version, created, number, revision, alternative, cost_base_id, fleet_id, {names(_ADDED)}
    )
    SELECT %(shop)s, 'draft', 1, now(), 'Q-' || %(year)s || '-' || (taken.last - %(new)s + asked.turn), 1, 1, f.id, t.id,
        {names(_ADDED, "asked.")}
    FROM f, t, taken, asked WHERE asked.id IS NULL
    RETURNING {_RETURNED}
), q AS (SELECT * FROM changed UNION ALL SELECT * FROM added), l AS (
    INSERT INTO quotes_quoteline (shop_id, quote_id, {names(LINE)})
    SELECT %(shop)s, q.id, {names(LINE, "lines.")} FROM q JOIN {recordset(_LINES, "lines")} USING (place)
), c AS (
    INSERT INTO quotes_quotecomponent (shop_id, quote_id, {names(COMPONENT)})
    SELECT %(shop)s, q.id, {names(COMPONENT, "components.")} FROM q JOIN {recordset(_COMPONENTS, "components")} USING (place)
)
SELECT t.id, t.version, t.created, {", ".join(f"q.{name}" for name in _RETURNED.split(", "))} FROM t, q ORDER BY q.place
"""


_FIRST = _statement(_INSERT_FLEET)
_AGAIN = _statement(_UPDATE_FLEET)
_CLEAR = """
WITH every AS (SELECT id FROM quotes_quote WHERE shop_id = %(shop)s AND fleet_id = %(id)s), l AS (
    DELETE FROM quotes_quoteline WHERE shop_id = %(shop)s AND quote_id IN (SELECT id FROM every)
)
DELETE FROM quotes_quotecomponent WHERE shop_id = %(shop)s AND quote_id IN (SELECT id FROM every)
"""


def insert_fleet(shop: Shop, rows: FleetRows, *, year: int) -> list[Row]:
    """Writes a new fleet with a new quote for each coach, under the next numbers of the year in the order of the coaches.

    Returns:
        For each coach in their order: id, version and time of the fleet as ``fleet``, ``fleet_version``, ``fleet_created``, and
        id, number, place, revision, alternative, time and version of its quote.
    """
    return _write(_FIRST, shop, rows, [None] * len(rows.quotes), {"year": year})


def replace_fleet(shop: Shop, rows: FleetRows, *, id_: int, kept: Sequence[int | None], year: int) -> list[Row]:
    """Writes a draft again: coaches that stay keep their quote and its number, new ones get new ones.

    Args:
        shop: whose fleet it is.
        rows: as it was priced.
        id_: of the fleet.
        kept: for each coach in their order, the id of the quote that it has in the fleet, None for a new one.
        year: in which new quotes are numbered.

    Returns:
        As `insert_fleet`.
    """
    with connection.cursor() as cursor:
        cursor.execute(_CLEAR, {"shop": shop.pk, "id": id_})
    return _write(_AGAIN, shop, rows, kept, {"year": year, "id": id_})


def _write(statement: str, shop: Shop, rows: FleetRows, kept: Sequence[int | None], where: Mapping[str, int]) -> list[Row]:
    turn = 0
    quotes = []
    for row, quote_id in zip(rows.quotes, kept, strict=True):
        turn += quote_id is None
        quotes.append(row | {"id": quote_id, "turn": turn})
    values: dict[str, int | str] = {
        **where,
        "new": turn,
        "fleet": json.dumps([rows.row]),
        "quotes": json.dumps(quotes),
        "lines": json.dumps(rows.lines),
        "components": json.dumps(rows.components),
    }
    written = write_on(shop, rows.cost_base, statement, values)
    return [dict(zip(_WRITTEN, row, strict=True)) for row in written]
