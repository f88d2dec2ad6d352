"""How does an accepted offer become a job, and how does the job go on from state to state?

Whoever changes anything of a job holds its row first (`held_job`). Booking is one statement whatever the number of lines.
"""

import json
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import connection
from django.db.models import F

from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.agreed import Agreed
from quotes.actions.priced import shop_day
from quotes.actions.quote_statement import COMPONENT, LINE, names, recordset
from quotes.calc.job import check_move
from quotes.models import Consent, Job, Quote, StepOffer
from quotes.reports.policies import overrun_allowed

Row = dict[str, Any]

_JOB = {
    "quote_id": "bigint", "coach_id": "bigint", "customer_id": "bigint", "consent_id": "bigint", "cost_base_id": "bigint",
    "returns_to_id": "bigint", "step_id": "bigint", "whole": "boolean", "price_basis": "text", "currency": "text",
    "options": "text[]", "hours": "numeric",
    "cost": "numeric", "base": "numeric", "record": "numeric", "allowance": "numeric", "contingency": "numeric",
    "limit": "numeric", "base_with_tax": "numeric", "limit_with_tax": "numeric", "deposit": "numeric", "totals": "jsonb",
    "authorised": "numeric", "authorised_with_tax": "numeric", "overrun_with_tax": "numeric", "promised_on": "date",
    "created": "timestamptz", "created_by": "bigint",
}  # fmt: skip
_DATED = {"opening_up": "opened_on", "handed_over": "handed_over_on", "settled": "closed_on", "cancelled": "closed_on"}
# The counter's row is locked until the scope closes.
_BOOK = f"""
WITH taken AS (
    INSERT INTO quotes_jobcounter (shop_id, year, last) VALUES (%(shop)s, %(year)s, 1)
    ON CONFLICT (shop_id, year) DO UPDATE SET last = quotes_jobcounter.last + 1 RETURNING last
), j AS (
    INSERT INTO quotes_job (shop_id, number, state, resumes, reason, drawn, version, {names(_JOB)})
    SELECT %(shop)s, 'J-' || %(year)s || '-' || taken.last, 'booked', '', '', 0, 1, {names(_JOB, "job.")}
    FROM taken, {recordset(_JOB, "job")}
    RETURNING id
), l AS (
    INSERT INTO quotes_jobline (shop_id, job_id, {names(LINE)})
    SELECT %(shop)s, j.id, {names(LINE, "lines.")} FROM j, {recordset(LINE, "lines")}
), c AS (
    INSERT INTO quotes_jobcomponent (shop_id, job_id, {names(COMPONENT)})
    SELECT %(shop)s, j.id, {names(COMPONENT, "components.")} FROM j, {recordset(COMPONENT, "components")}
)
SELECT id FROM j
"""


def book_job(
    *,
    shop: Shop,
    quote: Quote,
    terms: Agreed,
    options: list[str],
    consent: Consent,
    overrun_with_tax: Decimal,
    by: Actor,
    now: datetime,
    returns_to: Job | None = None,
    step: StepOffer | None = None,
) -> Job:
    """Makes the job of an offer that was just accepted; the caller holds the offer and has written the consent down.

    Args:
        shop: whose it is.
        quote: that was accepted.
        terms: what was agreed (`agreed`), options included.
        options: that were ticked.
        consent: the record that authorises it; its limit with tax and its promised day hold.
        overrun_with_tax: what the policy that the shop has adopted allows without a new consent; 0 without one.
        by: who acts.
        now: when.
        returns_to: of a return under warranty, the job that it comes from.
        step: that begins it where the whole is not agreed yet; then `terms` are nothing, and its limit is authorised.
    """
    assert_scope(shop.pk)
    row: Row = {
        "quote_id": quote.pk,
        "coach_id": quote.coach_id,
        "customer_id": quote.customer_id,
        "consent_id": consent.pk,
        "cost_base_id": quote.cost_base_id,
        "returns_to_id": returns_to.pk if returns_to else None,
        "step_id": step.pk if step else None,
        "whole": step is None,
        # What a step sells has a price of its own, whatever the basis of the whole.
        "price_basis": quote.price_basis if step is None else "firm",
        "currency": quote.currency,
        "options": options,
        **terms.columns,
        "deposit": terms.totals["deposit"],
        "totals": terms.totals,
        "authorised": terms.columns["limit"] if step is None else step.limit,
        "authorised_with_tax": consent.limit_with_tax,
        "overrun_with_tax": overrun_with_tax,
        "promised_on": consent.promised_on,
        "created": now,
        "created_by": by.person_id,
    }
    values: dict[str, int | str] = {
        "shop": shop.pk,
        "year": shop_day(shop, now).year,
        "job": _json([row]),
        "lines": _json(terms.lines),
        "components": _json(terms.components),
    }
    with connection.cursor() as cursor:
        cursor.execute(_BOOK, values)
        (job_id,) = cursor.fetchone()
    return Job.objects.for_shop(shop).get(pk=job_id)


def held_job(shop: Shop, job_id: int) -> Job | None:
    """The job, held until the scope closes so that two writers wait for each other; None where there is none."""
    assert_scope(shop.pk)
    return Job.objects.for_shop(shop).select_for_update(of=("self",)).filter(pk=job_id).first()


def move_job(*, shop: Shop, job: Job, to: str, by: Actor, reason: str = "", day: date | None = None) -> None:
    """Takes a held job to another state, with the day that the state stands for; its version goes on.

    Raises:
        JobStateError: the move is not allowed from where the job stands.
    """
    assert_scope(shop.pk)
    check_move(job.state, to, resumes=job.resumes)
    job.resumes = job.state if to == "waiting" else ""
    job.state = to
    job.reason = reason
    changed = ["state", "resumes", "reason"]
    dated = _DATED.get(to)
    if dated is not None and (getattr(job, dated) is None or to == "handed_over"):
        setattr(job, dated, day or shop_day(shop))
        changed.append(dated)
    save_job(job, changed)


def overrun_of(
    shop: Shop, consent: Consent, authorised: Decimal, authorised_with_tax: Decimal, coach_year: int | None
) -> Decimal:
    """What the policy of a consent's day allows beyond what is authorised in all after it, with tax; 0 without a policy."""
    return overrun_allowed(shop, shop_day(shop, consent.at), authorised, authorised_with_tax, coach_year)


def authorise(*, shop: Shop, job: Job, consent: Consent, authorised: Decimal, authorised_with_tax: Decimal) -> None:
    """Moves what is authorised of a held job, by a consent that says so; a promised day in the consent holds from now on.

    What may be billed beyond it follows from the policy of the consent's day; where the consent moves no amount, it stays.
    """
    assert_scope(shop.pk)
    changed = ["consent", "authorised", "authorised_with_tax"]
    if authorised_with_tax != job.authorised_with_tax:
        job.overrun_with_tax = overrun_of(shop, consent, authorised, authorised_with_tax, job.coach.year)
        changed.append("overrun_with_tax")
    job.consent = consent
    job.authorised, job.authorised_with_tax = authorised, authorised_with_tax
    if consent.promised_on is not None:
        job.promised_on = consent.promised_on
        changed.append("promised_on")
    save_job(job, changed)


def save_job(job: Job, changed: list[str]) -> None:
    """Writes changed columns of a held job and takes its version on by one."""
    job.version = F("version") + 1
    job.save(update_fields=[*changed, "version"])
    job.refresh_from_db(fields=["version"])


def _json(rows: list[Row]) -> str:
    return json.dumps(rows, default=str)
