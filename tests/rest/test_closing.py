"""What the closed books of a job say, for jobs whose differences are known beforehand."""

import uuid
from decimal import Decimal

import pytest

from quotes.actions.closing import close_books
from quotes.models import ClosedComponent, ClosedJob, Job
from tests import make
from tests.rest.ledgers import Logging
from tests.rest.quoting import Clock, Quoting
from tests.rest.reviewing import as_planned, bill, closed, component, costs, drawn, logged, opened, ordered
from tests.rest.working import at_work, booked

pytestmark = pytest.mark.django_db
D = Decimal


def test_a_job_that_went_as_planned_differs_by_the_rot_that_was_not_there(quoting: Quoting) -> None:
    job = booked(quoting)
    as_planned(quoting, job)
    row = closed(quoting, job)
    expected = row.planned_cost - job.cost  # the allowance at cost
    assert 0 < expected < job.allowance
    assert row.actual_cost == job.cost
    found = costs(row)
    # Hours are valued in one sum and lines one by one: cents are left of the roundings.
    assert abs(found.pop("cost_other", D(0))) < D("0.10")
    assert abs(found.pop("cost_labour_rate", D(0))) < D("0.10")
    assert found == {"cost_hidden_within": -expected}
    assert row.billed == job.base
    assert row.billed_with_tax == job.base_with_tax
    assert set(bill(row)) <= {"bill_tax", "bill_rounding"}
    assert row.margin == job.base - job.cost
    assert (row.hidden_measured, row.hidden_done, row.actual_hours) == (D(0), D(0), job.hours)


def test_dearer_hours_are_rate_and_nothing_else(quoting: Quoting) -> None:
    job = booked(quoting)
    as_planned(quoting, job, dearer="1.1")
    row = closed(quoting, job)
    found = costs(row)
    assert set(found) <= {"cost_hidden_within", "cost_labour_rate", "cost_other"}
    assert found["cost_labour_rate"] + found.get("cost_other", D(0)) == row.actual_cost - job.cost > 0


def test_a_draw_moves_bill_and_standard(quoting: Quoting) -> None:
    job = booked(quoting)
    as_planned(quoting, job)
    part = component(quoting, job)
    note = drawn(quoting, job, D(2))
    row = closed(quoting, job)
    within = min(note.amount, part.allowance)
    assert bill(row)["bill_within_allowance"] == within
    assert row.billed == job.base + note.amount
    # The hours and goods of the draw were not logged: what they should have taken was saved.
    found = costs(row)
    saved = -(found.get("cost_labour_mix", D(0)) + found["cost_labour_yield"] + found.get("cost_material_usage", D(0)))
    allowance_cost = row.planned_cost - job.cost
    # Standard hours of single trades are rounded to 4 decimals, so a cent may be left.
    assert abs(saved - (found["cost_hidden_within"] + allowance_cost)) <= D("0.05")


def test_orders_and_wishes_stand_apart(quoting: Quoting) -> None:
    job = booked(quoting)
    as_planned(quoting, job)
    ordered(quoting, job, "beyond_pot", hours=4, amount=440, cost=200)
    wish = ordered(quoting, job, "owner_wish", hours=2, amount=220, cost=100)
    logged(quoting, job, kind="time", trade="technician", quantity=D(2), unit="h", cost=D(100), value=D(220), change_order=wish)
    row = closed(quoting, job)
    assert {name: value for name, value in bill(row).items() if name not in ("bill_tax", "bill_rounding")} == {
        "bill_beyond_pot": 440, "bill_owner_wish": 220,
    }  # fmt: skip
    assert (row.cost_owner_changes, row.cost_hidden_beyond) == (D(100), D(200))
    # Agreed lines as logged with the shop's own; the wish is apart.
    assert row.standard == job.base


def test_rot_is_learned_from_measurements_not_from_bills(quoting: Quoting) -> None:
    job = booked(quoting)
    part = component(quoting, job)
    opened(quoting, job, opened="2", found="0.5")
    row = closed(quoting, job)
    with quoting.office.scope():
        found = ClosedComponent.objects.for_shop(quoting.shop).get(closed_id=row.pk, slug=part.slug)
        others = ClosedComponent.objects.for_shop(quoting.shop).filter(closed_id=row.pk).exclude(slug=part.slug)
        assert not any(other.found for other in others)
    assert (found.found, found.repaired) == (D("0.5"), D(0))
    assert found.opened_share == (D(2) / part.exposure).quantize(D("0.000001"))
    # A quarter of what was opened: exposure x 0.25 x unit price, and the set-up.
    whole = (part.exposure * D("0.25")).quantize(D("0.0001"))
    assert row.hidden_measured == (whole * part.unit_price).quantize(D("0.01")) + part.set_up
    assert row.hidden_done == 0


def test_books_may_be_closed_again_and_the_newest_row_holds(quoting: Quoting) -> None:
    job = booked(quoting)
    first = closed(quoting, job)
    logged(quoting, job, kind="subcontract", cost=D("75.00"))
    second = closed(quoting, job, why="late_entry")
    assert (first.seq, second.seq) == (1, 2)
    assert second.cost_subcontract == 75
    assert second.actual_cost - first.actual_cost == 75


def test_goods_that_nobody_quoted_show_as_such(quoting: Quoting) -> None:
    job = booked(quoting)
    logged(quoting, job, cost=D("31.90"))
    row = closed(quoting, job)
    assert row.not_quoted_cost == D("31.90")


def test_books_of_a_stopped_job_say_what_was_not_done(quoting: Quoting) -> None:
    job = at_work(quoting, booked(quoting), "opening_up", "stopped")
    row = closed(quoting, Job(pk=job.pk))
    assert row.stopped


def test_what_comes_late_closes_the_books_again(quoting: Quoting, clock: Clock) -> None:
    logging = Logging(quoting, clock)
    job = logging.moved(logging.job, "testing", "handed_over", "settled")
    closed(quoting, job)
    price = {"amount": "75.00", "currency": "USD"}
    late = logging.entry("subcontract", supplier="Invented", invoice="I-1", words="more", amount=price)
    (told,) = logging.logged(late)
    assert told["late"] is True
    taken_back = {"client_id": str(uuid.uuid4()), "note": "twice"}
    assert logging.office.post(f"entries/{told['id']}/correction", taken_back).status_code == 200
    with quoting.office.scope():
        rows = ClosedJob.objects.for_shop(quoting.shop).filter(job_id=job.pk).order_by("seq")
        assert [(row.seq, row.why, row.cost_subcontract) for row in rows] == [
            (1, "settled", D(0)), (2, "late_entry", D(75)), (3, "late_entry", D(0)),
        ]  # fmt: skip


@pytest.mark.parametrize("more", [0, 6])
def test_the_number_of_queries_does_not_grow(quoting: Quoting, django_assert_num_queries, more: int) -> None:  # type: ignore[no-untyped-def]
    job = booked(quoting)
    as_planned(quoting, job)
    for _ in range(more):
        logged(quoting, job, cost=D(10))
        opened(quoting, job, opened="1", found="0")
        ordered(quoting, job, "other", hours=1, amount=100, cost=50)
    with quoting.office.scope():
        fresh = Job.objects.for_shop(quoting.shop).get(pk=job.pk)
        with django_assert_num_queries(12):
            close_books(shop=quoting.shop, job=fresh, by=make.OPERATOR, now=make.NOW)
