"""How do a change order's ways, lines and packs get into the tables? With one statement, whatever their number."""

import json
from collections.abc import Iterable, Sequence
from typing import Any

from django.db import connection

from costbase.calc.contents import bundle_json, fingerprint_of
from costbase.calc.cost_base import CostBase
from costbase.models import Shop
from quotes.actions.quote_statement import names, recordset
from quotes.calc.change_order import AddedPacks, OrderLine
from quotes.models import ChangeOrder, FrozenCostBase

Row = dict[str, Any]

WAY = {
    "position": "int", "kind": "text", "words": "text", "amount": "numeric", "cost": "numeric", "authorised": "numeric",
    "authorised_with_tax": "numeric", "days": "numeric", "promised_on": "date", "warranty": "text", "details": "jsonb",
}  # fmt: skip
LINE = {
    "position": "int", "kind": "text", "slug": "text", "trade": "text", "name": "text", "phase": "text", "quantity": "numeric",
    "unit": "text", "price": "numeric", "amount": "numeric", "cost": "numeric", "tax_class": "text", "details": "jsonb",
}  # fmt: skip
_PACKS = {"material": "text", "net": "numeric", "packs": "numeric"}
_CLEAR = """
WITH l AS (
    DELETE FROM quotes_changeorderline AS line USING quotes_changeorderway AS way
    WHERE line.shop_id = %(shop)s AND way.shop_id = %(shop)s AND way.id = line.way_id AND way.change_order_id = %(order)s
)
DELETE FROM quotes_changeorderway WHERE shop_id = %(shop)s AND change_order_id = %(order)s
"""
_WRITE = f"""
WITH w AS (
    INSERT INTO quotes_changeorderway (shop_id, change_order_id, {names(WAY)})
    SELECT %(shop)s, %(order)s, {names(WAY, "ways.")} FROM {recordset(WAY, "ways")}
    RETURNING id, position
)
INSERT INTO quotes_changeorderline (shop_id, way_id, {names(LINE)})
SELECT %(shop)s, w.id, {names(LINE, "lines.")}
FROM {recordset({"way": "int", **LINE}, "lines")} JOIN w ON w.position = lines.way
"""
_ADD_PACKS = f"""
INSERT INTO quotes_changeorderpacks (shop_id, job_id, change_order_id, {names(_PACKS)})
SELECT %(shop)s, %(job)s, %(order)s, {names(_PACKS, "packs.")} FROM {recordset(_PACKS, "packs")}
"""
_FREEZE = """
INSERT INTO quotes_frozencostbase (shop_id, fingerprint, contents) VALUES (%s, %s, %s)
ON CONFLICT (shop_id, fingerprint) DO NOTHING
"""


def line_row(line: OrderLine, position: int) -> Row:
    """A priced line as a row; numbers as JSON strings."""
    return {
        "position": position,
        **{name: getattr(line, name) for name in ("kind", "slug", "trade", "name", "phase", "unit", "tax_class", "details")},
        **{name: str(getattr(line, name)) for name in ("quantity", "price", "amount", "cost")},
    }


def packs_row(added: AddedPacks) -> Row:
    """What an order adds of a material, as a row."""
    return {"material": added.material, "net": str(added.net), "packs": str(added.billed)}


def write_ways(shop: Shop, order: ChangeOrder, ways: Sequence[Row], lines: Sequence[Row]) -> None:
    """Writes the ways of an order in place of those it had; lines name the position of their way."""
    values: dict[str, int | str] = {
        "shop": shop.pk,
        "order": order.pk,
        "ways": json.dumps(ways, default=str),
        "lines": json.dumps(lines, default=str),
    }
    with connection.cursor() as cursor:
        cursor.execute(_CLEAR, values)
        cursor.execute(_WRITE, values)


def clear_ways(shop: Shop, order: ChangeOrder) -> None:
    """Takes the ways of an order away."""
    with connection.cursor() as cursor:
        cursor.execute(_CLEAR, {"shop": shop.pk, "order": order.pk})


def add_packs(shop: Shop, order: ChangeOrder, packs: Iterable[Row]) -> None:
    """Keeps what the chosen way buys, so that packs are counted once over the life of the job."""
    values: dict[str, int | str] = {"shop": shop.pk, "job": order.job_id, "order": order.pk}
    values["packs"] = json.dumps(list(packs), default=str)
    with connection.cursor() as cursor:
        cursor.execute(_ADD_PACKS, values)


def freeze(shop: Shop, base: CostBase) -> int:
    """The id of a frozen cost base with these contents; kept once."""
    bundle = bundle_json(base)
    digest = fingerprint_of(bundle)
    with connection.cursor() as cursor:
        cursor.execute(_FREEZE, [shop.pk, digest, bundle])
    found: int = FrozenCostBase.objects.for_shop(shop).values_list("pk", flat=True).get(fingerprint=digest)
    return found
