"""By which way does a page or a report find its rows? Its statements are asked for again with EXPLAIN."""

import json
from collections.abc import Iterator, Sequence
from typing import Any

from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.rest.office import Office

Plan = dict[str, Any]


def plans(shop: Office, path: str, tables: Sequence[str]) -> list[Plan]:
    """The plans of the statements that a request sends to any of these tables, with what they read."""
    with CaptureQueriesContext(connection) as seen:
        assert shop.get(path).status_code == 200
    found = []
    with shop.scope(), connection.cursor() as cursor:
        for query in seen.captured_queries:
            if query["sql"].lstrip().startswith(("SELECT", "WITH")) and any(table in query["sql"] for table in tables):
                cursor.execute("EXPLAIN (ANALYZE, FORMAT JSON) " + query["sql"].replace("%", "%%"), [])
                (told,) = cursor.fetchone()
                found.append((json.loads(told) if isinstance(told, str) else told)[0]["Plan"])
    assert found, path
    return found


def nodes(plan: Plan) -> Iterator[Plan]:
    yield plan
    for below in plan.get("Plans", []):
        yield from nodes(below)


def reads(found: Sequence[Plan]) -> list[Plan]:
    """What of the plans reads a table or an index."""
    return [node for plan in found for node in nodes(plan) if "Relation Name" in node or "Index Name" in node]


def checked_indexes(found: Sequence[Plan], tables: Sequence[str]) -> list[str]:
    """By which indexes the plans read.

    Refuses a plan that reads one of these tables whole, or by an index whose first column is not bound to the shop.
    """
    used = set()
    for node in reads(found):
        if node.get("Relation Name") in tables:
            assert "Seq Scan" not in node["Node Type"], f"reads a table whole: {node}"
        if "Index Name" in node:
            assert "shop_id = " in node.get("Index Cond", ""), f"reads an index whole: {node}"
            used.add(node["Index Name"])
    return sorted(used)
