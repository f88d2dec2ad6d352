"""How is a leak test written down, and what follows from it?"""

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.jobs import move_job, save_job
from quotes.actions.priced import shop_day
from quotes.actions.sent_twice import NOTHING_SENT, Sent, made_before
from quotes.calc.job import LeakTestError, check_leak_test, must_be_in
from quotes.models import Job, LeakTest


@dataclass(frozen=True, slots=True)
class Testing:
    """One leak test. `pressure` is a value with its unit, of a pressurised test only."""

    method: str
    pressure: tuple[Decimal, str] | None
    bonds_cured: bool
    day: date
    tested_by: str
    passed: bool
    places: list[str]
    photographs: list[Any]
    note: str = ""
    sent: Sent = NOTHING_SENT


def add_leak_test(*, shop: Shop, job: Job, testing: Testing, by: Actor, now: datetime) -> LeakTest:
    """Writes a leak test of a held job down; one that failed sends the job back to rebuilding.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        JobStateError: the job is not being tested.
        LeakTestError: a test that contradicts itself or is not safe, or of a day to come.
    """
    assert_scope(shop.pk)
    known = made_before(LeakTest.objects.for_shop(shop), job.pk, testing.sent)
    if known is not None:
        return known
    must_be_in(job.state, "testing", doing="tested for leaks")
    check_leak_test(
        testing.method, testing.pressure, bonds_cured=testing.bonds_cured, passed=testing.passed, places=testing.places
    )
    today = shop_day(shop)
    if testing.day > today:
        raise LeakTestError(f"expected a day up to today, {today}, not {testing.day}", field="day")
    value, unit = testing.pressure or (None, "")
    test = LeakTest(
        shop=shop,
        job=job,
        client_id=testing.sent.client_id,
        digest=testing.sent.digest,
        method=testing.method,
        pressure={} if value is None else {"value": str(value), "unit": unit},
        day=testing.day,
        tested_by=testing.tested_by,
        passed=testing.passed,
        places=testing.places,
        photographs=testing.photographs,
        note=testing.note,
        created=now,
        created_by=by.person_id,
    )
    test.save(force_insert=True)
    if testing.passed:
        save_job(job, [])
    else:
        move_job(shop=shop, job=job, to="rebuilding", by=by, reason="the roof leaked when it was tested")
    return test
