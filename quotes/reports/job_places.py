"""Where may entries of these jobs belong?"""

import json
from collections.abc import Iterable
from typing import Any

from django.db import connection

from costbase.models import Shop
from quotes.calc.ledger import JobPlaces, Line, Order, Return
from quotes.models import Job

# One statement whatever the number of jobs; a material stands for the assemblies that need it.
_PLACES = """
SELECT job_id, 'line', position, NULL, kind, slug, trade, phase,
    CASE kind WHEN 'labour' THEN jsonb_build_array(slug)
        ELSE coalesce(jsonb_path_query_array(details, '$.parts[*].assembly'), '[]') END
FROM quotes_jobline WHERE shop_id = %(shop)s AND job_id = ANY(%(jobs)s)
UNION ALL
SELECT DISTINCT job_id, 'component', 0, NULL::bigint, '', slug, '', '', '[]'::jsonb
FROM quotes_jobcomponent WHERE shop_id = %(shop)s AND job_id = ANY(%(jobs)s)
UNION ALL
SELECT job_id, 'order', number, id, state, title, '', '', to_jsonb(covers)
FROM quotes_changeorder WHERE shop_id = %(shop)s AND job_id = ANY(%(jobs)s)
UNION ALL
SELECT job_id, 'return', number, id, to_char(came_on, 'YYYY-MM-DD'), '', '', '', '[]'::jsonb
FROM quotes_warrantyreturn WHERE shop_id = %(shop)s AND job_id = ANY(%(jobs)s)
ORDER BY 1, 2, 3
"""


def places_of(shop: Shop, jobs: Iterable[Job]) -> dict[int, JobPlaces]:
    """The lines, hidden components, change orders and returns of each job, in one query."""
    numbers = {job.pk: job.number for job in jobs}
    lines: dict[int, dict[int, Line]] = {job_id: {} for job_id in numbers}
    components: dict[int, set[str]] = {job_id: set() for job_id in numbers}
    orders: dict[int, dict[int, Order]] = {job_id: {} for job_id in numbers}
    returns: dict[int, dict[int, Return]] = {job_id: {} for job_id in numbers}
    if not numbers:
        return {}
    for job_id, what, number, id_, kind, slug, trade, phase, works in _rows(shop, list(numbers)):
        if what == "line":
            lines[job_id][number] = Line(number, kind, slug, trade, phase, tuple(json.loads(works)))
        elif what == "component":
            components[job_id].add(slug)
        elif what == "return":
            returns[job_id][id_] = Return(id_, number, kind)
        else:
            orders[job_id][number] = Order(number, id_, kind, tuple(json.loads(works)), slug)
    return {
        job_id: JobPlaces(number, lines[job_id], frozenset(components[job_id]), orders[job_id], returns[job_id])
        for job_id, number in numbers.items()
    }


def _rows(shop: Shop, job_ids: list[int]) -> list[tuple[Any, ...]]:
    with connection.cursor() as cursor:
        cursor.execute(_PLACES, {"shop": shop.pk, "jobs": job_ids})
        return list(cursor.fetchall())
