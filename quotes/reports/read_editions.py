"""On which day did an issued quote last read what was in force under a slug?"""

import json
from datetime import date

from django.db import connection
from django.db.models import Max

from costbase.calc.contents import PART_ALONE, PART_BY_SLUG
from costbase.models import Shop
from quotes.models import Quote


def last_read(shop: Shop, kind: str, slug: str, first: date, end: date) -> date | None:
    """The last such day from a first until before an end; None where no quote of these days that left draft has read it.

    Whose edition it was does not matter: it was what held in the shop on that day.
    """
    issued = Quote.objects.for_shop(shop).exclude(state="draft").filter(priced_on__gte=first, priced_on__lt=end)
    if kind in PART_BY_SLUG:
        issued = issued.filter(**{f"cost_base__contents__{PART_BY_SLUG[kind]}__has_key": slug})
    else:
        issued = issued.filter(**{f"cost_base__contents__{PART_ALONE[kind]}__edition__slug": slug})
    found: date | None = issued.aggregate(last=Max("priced_on"))["last"]
    return found


# Editions that stand by slug in a cost base, and those of which it holds one, with the slug beside the contents.
_READ = """
WITH bases AS (
    SELECT f.contents, array_agg(DISTINCT q.priced_on ORDER BY q.priced_on) AS days
    FROM quotes_quote q JOIN quotes_frozencostbase f ON f.shop_id = q.shop_id AND f.id = q.cost_base_id
    WHERE q.shop_id = %(shop)s AND q.state <> 'draft' AND q.priced_on >= %(first)s
    GROUP BY f.id, f.contents
), read AS (
    SELECT p.kind, s.slug, b.days
    FROM bases b, jsonb_to_recordset(%(by_slug)s::jsonb) AS p(kind text, part text),
        jsonb_object_keys(b.contents -> p.part) AS s(slug)
    UNION ALL
    SELECT p.kind, b.contents -> p.part -> 'edition' ->> 'slug', b.days
    FROM bases b, jsonb_to_recordset(%(alone)s::jsonb) AS p(kind text, part text)
)
SELECT kind, slug, array_agg(DISTINCT day ORDER BY day) FROM read, unnest(days) AS day GROUP BY kind, slug
"""


def days_read(shop: Shop, first: date) -> dict[tuple[str, str], list[date]]:
    """On which days from a first on quotes of the shop that left draft read what, by kind and slug; one query."""
    parts = {"by_slug": PART_BY_SLUG, "alone": PART_ALONE}
    told = {name: json.dumps([{"kind": k, "part": p} for k, p in of.items()]) for name, of in parts.items()}
    with connection.cursor() as cursor:
        cursor.execute(_READ, {"shop": shop.pk, "first": first, **told})
        return {(kind, slug): days for kind, slug, days in cursor.fetchall()}
