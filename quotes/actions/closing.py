"""How are the books of a job closed?

Everything that the job is made of is read once, both bridges are worked out, and the facts are written as a row that is never
changed: a late entry or a return under warranty closes the books again, and the newest row holds. One statement writes a row
with its components.
"""

import json
from collections.abc import Sequence
from datetime import date, datetime
from typing import Any

from django.db import connection

from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.priced import ENGINE, shop_day
from quotes.actions.quote_statement import names, recordset
from quotes.calc.variance import CAUSES, STEPS, Bridge, Cause
from quotes.models import ClosedJob, Job
from quotes.reports.review.figures import Facts, facts_of

Row = dict[str, Any]

SETTLED, LATE_ENTRY, WARRANTY_RETURN = "settled", "late_entry", "warranty_return"

_AMOUNTS = (
    "base", "record", "allowance", "contingency", "limit", "limit_with_tax", "p50", "p80", "billed", "billed_with_tax",
    "authorised", "authorised_with_tax", "overrun_with_tax", "planned_cost", "actual_cost", "planned_hours", "actual_hours",
    "planned_margin", "margin", "not_quoted_cost", "standard", "hidden_measured", "hidden_done",
)  # fmt: skip
_CLOSED = {
    "job_id": "bigint", "why": "text", "number": "text", "quote_id": "bigint", "estimator": "bigint", "tier": "text",
    "construction": "text", "plan": "text", "price_basis": "text", "stopped": "boolean", "currency": "text",
    "quoted_on": "date", "closed_on": "date",
    **dict.fromkeys(_AMOUNTS, "numeric"),
    **dict.fromkeys((f"cost_{slug}" for slug in CAUSES), "numeric"),
    **dict.fromkeys((f"bill_{slug}" for slug in STEPS), "numeric"),
    "bridges": "jsonb", "created": "timestamptz", "created_by": "bigint",
}  # fmt: skip
_COMPONENT = {
    "position": "int", "slug": "text", "construction": "text", "tier": "text", "unit": "text", "exposure": "numeric",
    "unit_price": "numeric", "set_up": "numeric", "opened_share": "numeric", "found": "numeric", "repaired": "numeric",
}  # fmt: skip
_CLOSE = f"""
WITH j AS (
    INSERT INTO quotes_closedjob (shop_id, seq, {names(_CLOSED)})
    SELECT %(shop)s,
        1 + (SELECT coalesce(max(seq), 0) FROM quotes_closedjob WHERE shop_id = %(shop)s AND job_id = closed.job_id),
        {names(_CLOSED, "closed.")}
    FROM {recordset(_CLOSED, "closed")}
    RETURNING id
), c AS (
    INSERT INTO quotes_closedcomponent (shop_id, closed_id, {names(_COMPONENT)})
    SELECT %(shop)s, j.id, {names(_COMPONENT, "parts.")} FROM j, {recordset(_COMPONENT, "parts")}
), r AS (
    INSERT INTO quotes_review (shop_id, job_id, state, cause, action, reason, version, created)
    SELECT %(shop)s, closed.job_id, 'open', '', '', '', 1, closed.created FROM {recordset(_CLOSED, "closed")}
    ON CONFLICT (shop_id, job_id) DO NOTHING
)
SELECT id FROM j
"""


def close_books(*, shop: Shop, job: Job, by: Actor, now: datetime, why: str = SETTLED) -> ClosedJob:
    """Writes down what a held job came to, and opens its review; a job that was closed before gets a newer row.

    Args:
        shop: whose it is.
        job: settled, or stopped and settled; with all its columns.
        by: who acts.
        now: when.
        why: "settled", "late_entry" or "warranty_return".

    Raises:
        BridgeError: figures of the job that contradict each other.
    """
    assert_scope(shop.pk)
    facts = facts_of(shop, job, engine=ENGINE)
    row = _row(job, facts, why, job.closed_on or shop_day(shop, now)) | {"created": now, "created_by": by.person_id}
    parts = [
        {name: getattr(part, name) for name in _COMPONENT if name != "position"} | {"position": at}
        for at, part in enumerate(facts.found, 1)
    ]
    values: dict[str, int | str] = {"shop": shop.pk, "closed": _json([row]), "parts": _json(parts)}
    with connection.cursor() as cursor:
        cursor.execute(_CLOSE, values)
        (closed_id,) = cursor.fetchone()
    return ClosedJob.objects.for_shop(shop).get(pk=closed_id)


def close_again(*, shop: Shop, job: Job, by: Actor, now: datetime, why: str) -> ClosedJob | None:
    """Closes the books of a held job again after something came late; None where they were never closed."""
    assert_scope(shop.pk)
    if not ClosedJob.objects.for_shop(shop).filter(job_id=job.pk).exists():
        return None
    return close_books(shop=shop, job=job, by=by, now=now, why=why)


def _row(job: Job, facts: Facts, why: str, closed_on: date) -> Row:
    quote, figures, billed = facts.quote, facts.shop, facts.billed
    costs = {f"cost_{cause.slug}": cause.amount for cause in facts.costs}
    steps = {cause.slug: cause.amount for cause in facts.owner.causes}
    agreed = ("base", "record", "allowance", "contingency", "limit", "limit_with_tax", "authorised", "authorised_with_tax")
    return {
        "job_id": job.pk,
        "why": why,
        "number": job.number,
        "quote_id": quote.pk,
        "estimator": quote.created_by,
        "tier": quote.tier,
        "construction": _construction(facts),
        "plan": quote.plan,
        "price_basis": job.price_basis,
        "stopped": facts.stopped,
        "currency": job.currency,
        "quoted_on": quote.priced_on,
        "closed_on": closed_on,
        **{name: getattr(job, name) for name in (*agreed, "overrun_with_tax")},
        "p50": quote.p50,
        "p80": quote.p80,
        "billed": billed.net,
        "billed_with_tax": billed.total,
        "planned_cost": figures.planned_cost,
        "actual_cost": figures.actual_cost,
        "planned_hours": job.hours,
        "actual_hours": facts.actual_hours,
        "planned_margin": figures.planned_margin,
        "margin": figures.margin,
        "not_quoted_cost": facts.not_quoted_cost,
        "standard": facts.standard,
        "hidden_measured": facts.hidden_measured,
        "hidden_done": facts.hidden_done,
        **costs,
        **{f"bill_{slug}": steps.get(slug, 0) for slug in STEPS},
        "bridges": {"owner": _bridge(facts.owner), "costs": _causes(facts.costs), "margin": _bridge(facts.margin)},
    }


def _construction(facts: Facts) -> str:
    """Of the roof; of several, that of its first section."""
    sections = facts.quote.inputs["roof"]["sections"]
    return str(sections[0]["construction"])


def _bridge(found: Bridge) -> Row:
    return {"start": found.start, "causes": _causes(found.causes), "end": found.end}


def _causes(causes: Sequence[Cause]) -> list[Row]:
    return [
        {
            "slug": cause.slug,
            "name": cause.name,
            "amount": cause.amount,
            "steps": [
                {"words": step.words, "standard": step.standard, "actual": step.actual, "difference": step.amount}
                for step in cause.steps
            ],
        }
        for cause in causes
    ]


def _json(rows: list[Row]) -> str:
    return json.dumps(rows, default=str)
