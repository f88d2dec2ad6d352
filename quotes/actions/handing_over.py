"""How is a coach handed back, under which warranty, and what happens when it comes back?

The warranty record says in words what is warranted part by part and what is not: what the owner had closed up or repaired in
part says so by itself, and so do findings that were out of scope. A return has no price; what it takes is logged on the job
that it comes from and is counted into that job's cost.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.closing import WARRANTY_RETURN, close_again
from quotes.actions.jobs import move_job, save_job
from quotes.actions.priced import shop_day
from quotes.actions.sent_twice import NOTHING_SENT, Sent, made_before
from quotes.calc.consent import document_hash
from quotes.calc.job import JobStateError, must_be_in
from quotes.models import ChangeOrderWay, Consent, Job, LeakTest, OpeningEntry, Warranty, WarrantyReturn

Row = dict[str, Any]

RECHECK_DAYS = 30
"""Sealants settle and screws seat: looked at again after a month. Source: common practice, none published."""
LEFT_AS_FOUND = ("close_up", "repair_part")
TAKEN = ("accepted", "carried")


class NotTestedError(CalculationError):
    """A roof is handed over whose last leak test did not pass, or that was never tested."""

    code = "leak_test_missing"


class ReturnError(CalculationError):
    """A return of a coach that was not handed over, before it was, or to come."""

    code = "bad_return"


@dataclass(frozen=True, slots=True)
class WarrantedPart:
    """What is warranted of one part: months of workmanship, and what the maker of the material says, in plain words."""

    part: str
    workmanship_months: int
    material_terms: str


@dataclass(frozen=True, slots=True)
class HandingOver:
    """What is said when a coach is handed over. `excluded` and `pre_existing` come on top of what the job itself says."""

    day: date
    parts: Sequence[WarrantedPart]
    excluded: Sequence[str]
    pre_existing: Sequence[str]
    keys: str


def hand_over(*, shop: Shop, job: Job, handing: HandingOver, by: Actor, now: datetime) -> Warranty:
    """Hands the coach of a held job over, with its warranty record.

    Raises:
        JobStateError: the job is not being tested.
        NotTestedError: its last leak test did not pass, or there is none.
        ReturnError: a day to come.
    """
    assert_scope(shop.pk)
    must_be_in(job.state, "testing", doing="handed over")
    last = LeakTest.objects.for_shop(shop).filter(job=job).order_by("-id").first()
    if last is None or not last.passed:
        words = "its last leak test did not pass" if last else "its roof was not tested for leaks yet"
        raise NotTestedError(f"{job.number} is not handed over: {words}", value=job.number)
    if handing.day > shop_day(shop):
        raise ReturnError(f"expected a day up to today, not {handing.day}", field="day", value=handing.day.isoformat())
    parts = [
        {"part": one.part, "workmanship_months": one.workmanship_months, "material_terms": one.material_terms}
        for one in handing.parts
    ]
    said: Row = {
        "begins_on": handing.day,
        "recheck_on": handing.day + timedelta(days=RECHECK_DAYS),
        "parts": parts,
        "excluded": [
            *left_as_found(shop, job),
            *({"what": what, "why": "", "change_order": None} for what in handing.excluded),
        ],
        "pre_existing": [*out_of_scope(shop, job), *({"what": what} for what in handing.pre_existing)],
        "old_parts": old_parts_chosen(shop, job),
        "keys": handing.keys,
    }
    days = {name: said[name].isoformat() for name in ("begins_on", "recheck_on")}
    document: Row = {**said, **days, "shop": shop.slug, "job": job.number, "leak_test": last.pk}
    warranty = Warranty(
        shop=shop,
        job=job,
        **said,
        document=document,
        document_hash=document_hash(document),
        created=now,
        created_by=by.person_id,
    )
    warranty.save(force_insert=True)
    move_job(shop=shop, job=job, to="handed_over", by=by, day=handing.day)
    return warranty


def left_as_found(shop: Shop, job: Job) -> list[Row]:
    """What the owner had closed up or repaired in part, with what that does to the warranty, by change order."""
    rows = (
        ChangeOrderWay.objects.for_shop(shop)
        .filter(change_order__job=job, change_order__state__in=TAKEN, kind__in=LEFT_AS_FOUND)
        .select_related("change_order")
        .order_by("change_order__number")
    )
    return [
        {"what": way.change_order.title, "why": way.warranty, "change_order": way.change_order.number}
        for way in rows
        if way.position == way.change_order.chosen
    ]


def out_of_scope(shop: Shop, job: Job) -> list[Row]:
    """What was found out of scope while the roof was open; entries that were corrected no longer count."""
    entries = OpeningEntry.objects.for_shop(shop).filter(job=job).order_by("pk")
    corrected = {entry.corrects_id for entry in entries}
    return [finding for entry in entries if entry.pk not in corrected for finding in entry.findings]


def old_parts_chosen(shop: Shop, job: Job) -> str:
    """What the owner chose to have done with parts that come off, in the words of the consent to the quote; "" if nothing."""
    said = (
        Consent.objects.for_shop(shop)
        .filter(quote_id=job.quote_id, document="quote", outcome="accepted", payer="owner")
        .order_by("-seq")
        .values_list("said", flat=True)
        .first()
    )
    return str((said or {}).get("old_parts") or "")


@dataclass(frozen=True, slots=True)
class Returning:
    """A coach that came back: what was found, why, whether the warranty covers it, and what was done."""

    came_on: date
    cause: str
    covered: bool
    findings: str
    done: str
    photographs: list[Any]
    sent: Sent = NOTHING_SENT


def add_return(*, shop: Shop, job: Job, returning: Returning, by: Actor, now: datetime) -> WarrantyReturn:
    """Writes a return under warranty down, on the held job that it comes from; its books, if closed, are closed again.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        JobStateError: the coach was not handed over.
        ReturnError: a day before it was, or to come.
    """
    assert_scope(shop.pk)
    rows = WarrantyReturn.objects.for_shop(shop)
    known = made_before(rows, job.pk, returning.sent)
    if known is not None:
        return known
    must_be_in(job.state, "handed_over", "settled", doing="returned to under warranty")
    if job.handed_over_on is None:
        raise JobStateError(f"{job.number} was stopped and handed over as it was; nothing of it is warranted", value=job.state)
    today = shop_day(shop)
    if not job.handed_over_on <= returning.came_on <= today:
        words = f"expected a day from {job.handed_over_on}, when the coach was handed over, to today, {today}"
        raise ReturnError(words, field="came_on", value=returning.came_on.isoformat())
    last = rows.filter(job=job).order_by("-number").values_list("number", flat=True).first() or 0
    came = WarrantyReturn(
        shop=shop,
        job=job,
        number=last + 1,
        client_id=returning.sent.client_id,
        digest=returning.sent.digest,
        came_on=returning.came_on,
        cause=returning.cause,
        covered=returning.covered,
        findings=returning.findings,
        done=returning.done,
        photographs=returning.photographs,
        created=now,
        created_by=by.person_id,
    )
    came.save(force_insert=True)
    save_job(job, [])
    close_again(shop=shop, job=job, by=by, now=now, why=WARRANTY_RETURN)
    return came
