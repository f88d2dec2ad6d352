"""What waits for somebody: orders without an answer, and rot that was found and not billed?"""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import F, Max, Min, QuerySet

from costbase.calc.money import currency, extend
from costbase.models import Shop
from quotes.models import ChangeOrder, ChangeOrderWay

Row = dict[str, Any]


def waiting_orders(shop: Shop) -> QuerySet[ChangeOrder, ChangeOrder]:
    """Change orders that wait for an answer, with the job's number and the least and most that their ways come to."""
    return (
        ChangeOrder.objects.for_shop(shop)
        .filter(state="waiting", sent_at__isnull=False)
        .annotate(job_number=F("job__number"))
        .defer("document", "request")
    )


def amounts_of_ways(shop: Shop, orders: Sequence[ChangeOrder]) -> dict[int, tuple[Decimal, Decimal]]:
    """The least and the most that the ways of each order come to; one query."""
    ways = ChangeOrderWay.objects.for_shop(shop).filter(change_order_id__in=[order.pk for order in orders])
    sums = ways.order_by().values("change_order_id").annotate(least=Min("amount"), most=Max("amount"))
    return {row["change_order_id"]: (row["least"], row["most"]) for row in sums}


def days_between(start: datetime | None, now: datetime) -> int:
    """Whole days from one moment to another; 0 from none."""
    return max(0, (now - start).days) if start is not None else 0


# Found by opening entries that no other corrects, less what found notes drew; what an order was made for is dealt with there.
# Job by job, the newest first, so that a page adds up the entries of its own jobs only.
_UNBILLED = """
WITH jobs AS (
    SELECT id, number, state FROM quotes_job WHERE shop_id = %(shop)s AND id <= %(job)s AND closed_on IS NULL
    UNION ALL
    SELECT id, number, state FROM quotes_job WHERE shop_id = %(shop)s AND id <= %(job)s AND closed_on >= %(closed_from)s
    ORDER BY id DESC
)
SELECT jobs.id, jobs.number, jobs.state, found.component, found.construction, p.name, p.unit, found.found,
       coalesce(d.drawn, 0) AS drawn, p.unit_price,
       EXISTS (SELECT 1 FROM quotes_changeorder AS w WHERE w.shop_id = %(shop)s AND w.job_id = jobs.id
               AND w.component = found.component AND w.state IN ('draft', 'waiting')) AS waiting
FROM jobs
CROSS JOIN LATERAL (
    SELECT m->>'component' AS component, m->>'construction' AS construction,
           sum((m->>'found')::numeric)::numeric(16, 4) AS found
    FROM quotes_openingentry AS o, LATERAL jsonb_array_elements(o.measured) AS m
    WHERE o.shop_id = %(shop)s AND o.job_id = jobs.id
      AND NOT EXISTS (SELECT 1 FROM quotes_openingentry AS c WHERE c.shop_id = o.shop_id AND c.corrects_id = o.id)
    GROUP BY 1, 2
) AS found
JOIN quotes_jobcomponent AS p ON p.shop_id = %(shop)s AND p.job_id = jobs.id AND p.slug = found.component
     AND p.construction = found.construction
LEFT JOIN LATERAL (SELECT sum(n.extent) AS drawn FROM quotes_foundnote AS n WHERE n.shop_id = %(shop)s
     AND n.job_id = jobs.id AND n.component = found.component AND n.construction = found.construction) AS d ON true
WHERE found.found > coalesce(d.drawn, 0)
  AND (jobs.id, found.component, found.construction) < (%(job)s, %(component)s, %(construction)s)
  AND NOT EXISTS (SELECT 1 FROM quotes_changeorder AS a WHERE a.shop_id = %(shop)s AND a.job_id = jobs.id
                  AND a.component = found.component AND a.state IN ('accepted', 'declined'))
ORDER BY jobs.id DESC, found.component DESC, found.construction DESC
LIMIT %(limit)s
"""
_UNBILLED_COLUMNS = (
    "job", "number", "state", "component", "construction", "name", "unit", "found", "drawn", "unit_price", "waiting",
)  # fmt: skip
LAST_PLACE = (2**63 - 1, "", "")


def unbilled_findings(shop: Shop, *, before: tuple[int, str, str], closed_from: Any, limit: int) -> list[Row]:
    """Rot that was measured and neither drawn, nor in an accepted order, nor declined; by job, the newest first.

    Args:
        shop: whose it is.
        before: place of the last row that was seen, `LAST_PLACE` to begin.
        closed_from: day from which closed jobs count too; open ones always do.
        limit: rows at most.
    """
    job, component, construction = before
    values = {
        "shop": shop.pk, "job": job, "component": component, "construction": construction, "closed_from": closed_from,
        "limit": limit,
    }  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute(_UNBILLED, values)
        rows = [dict(zip(_UNBILLED_COLUMNS, row, strict=True)) for row in cursor.fetchall()]
    for row in rows:
        row["left"] = row["found"] - row["drawn"]
        row["amount"] = extend(row["left"], row["unit_price"], currency(shop.currency))
    return rows
