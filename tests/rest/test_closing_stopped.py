"""The books of a job that was stopped and signed for: every line that was not done, worked by hand on the small roof."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from quotes.models import ClosedJob, Job
from tests.rest.changing import accepted, opened, wish
from tests.rest.reviewing import bill, closed, costs, logged
from tests.rest.test_settlements import DECLINED, act, shown, signature
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
D = Decimal
NONE = D(0)
Body = dict[str, Any]


def books(small: SmallShop, job: Job, body: Body) -> ClosedJob:
    """The books of a job that was settled as it is, billed and closed."""
    settlement = shown(small, job, body)
    assert act(small, job, settlement, "signing", signature(settlement)).status_code == 201
    assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
    answer = small.office.post(f"jobs/{job.pk}/settling", {})
    assert answer.status_code == 200, answer.content.decode()
    with small.office.scope():
        return ClosedJob.objects.for_shop(small.shop).get(job_id=job.pk)


def steps(row: ClosedJob, bridge: str, cause: str) -> list[tuple[str, Decimal, Decimal]]:
    """From what to what each step of a cause goes."""
    causes = row.bridges[bridge] if bridge == "costs" else row.bridges[bridge]["causes"]
    (found,) = [one for one in causes if one["slug"] == cause]
    return [(step["words"], D(step["standard"]), D(step["actual"])) for step in found["steps"]]


def test_a_roof_that_was_declined_after_teardown(small: SmallShop) -> None:
    job = opened(small)
    # Ten hours at the cost of 40.00 to take the skin off, planned 9.35; three packs of adhesive as planned.
    logged(small, job, kind="time", trade="technician", line=1, quantity=D(10), unit="h", cost=D("400.00"), value=D("1000.00"))
    logged(small, job, material="adhesive", quantity=D(3), unit="pack", cost=D("162.00"), value=D("218.70"))

    row = books(small, job, DECLINED)

    # The settlement pays 935.00, 218.70, 22.25 and 94.08 of 3,491.79: 2,221.76 were not done. It adds 216.00 for the cover and
    # 100.00 of storage, so that the bill is 1,586.03 and with 130.85 of tax and 0.12 of rounding 1,717.00.
    assert bill(row) == {"bill_stopped": D("-1905.76"), "bill_tax": D("130.85"), "bill_rounding": D("0.12")}
    assert (row.base, row.billed, row.billed_with_tax) == (D("3491.79"), D("1586.03"), D("1717.00"))
    assert steps(row, "owner", "stopped") == [
        ("membrane-on", D(1000), NONE), ("membrane-on", D(288), NONE), ("bead", D(168), NONE), ("backing-frame", D(130), NONE),
        ("membrane", D("379.54"), NONE), ("sealant", D("46.19"), NONE), ("strip", D("7.71"), NONE),
        ("Shop supplies", D(60), D("22.25")), ("Overhead", D("258.65"), D("94.08")),
        ("technician", NONE, D(200)), ("Overhead", NONE, D(16)), ("Storage", NONE, D(100)),
    ]  # fmt: skip
    # What was not done would have cost: 10 h x 40, 4.8 h x 25, 1.68 h x 40, 1.3 h x 40; membrane 22.05 x 12.75 = 281.1375,
    # sealant 2.8515 x 12.00 = 34.218, strip 6.72 x 0.85 = 5.712. Together 960.27.
    not_done = [before for _, before, _ in steps(row, "costs", "not_done")]
    assert not_done == [400, 120, D("67.20"), 52, D("281.14"), D("34.22"), D("5.71")]
    # Expected hidden work 41.32, of which 37.712 of 87.7112 is cost: 17.7658 -> 17.77. Visible work 374 + 162 + 960.27.
    assert row.planned_cost == D("1514.04")
    # Of the hours 0.65 x 40.00 more than the skin needs, and nothing of goods.
    assert costs(row) == {
        "cost_hidden_within": D("-17.77"), "cost_not_done": D("-960.27"), "cost_labour_yield": D("26.00"),
    }  # fmt: skip
    assert (row.actual_cost, row.margin) == (D("562.00"), D("1024.03"))
    # 2,019.07 of planned margin - 23.55 of hidden work - 1,261.49 of what was not done + 316.00 billed beside it - 26.00.
    moved = {cause["slug"]: D(cause["amount"]) for cause in row.bridges["margin"]["causes"] if D(cause["amount"])}
    assert moved == {"hidden_within": D("-23.55"), "not_done": D("-1261.49"), "revenue": 316, "labour_yield": -26}


def test_an_order_that_was_half_done_is_half_not_done(small: SmallShop) -> None:
    # The wish: 2 h 200.00 (cost 80.00), a pack 72.90 (54.00), overhead 21.83. Half of the hours and no pack: 100.00, and
    # overhead 21.83 x 100.00 / 272.90 = 7.9993 -> 8.00. Not done are 100.00, 72.90 and 13.83, and all of the visible work.
    job = opened(small)
    accepted(small, job, wish())

    row = books(small, job, {"stopped_on": "2026-03-02", "reason": "x", "orders": [{"number": 1, "share": "0.5"}]})

    assert row.billed == D("108.00")
    assert bill(row)["bill_owner_wish"] == D("294.73")
    assert bill(row)["bill_stopped"] == D("-3678.52")  # 3,491.79 + 186.73
    not_done = [before for _, before, _ in steps(row, "costs", "not_done")]
    # 374.00 + 162.00 + 960.27 of the visible work, and 40.00 + 54.00 of the order.
    assert sum(not_done) == D("1590.27")
    assert not_done[-2:] == [40, 54]
    # Nothing was logged: the hour that was done should have cost 40.00.
    assert costs(row)["cost_labour_yield"] == D("-40.00")


def test_counted_work_is_not_told_twice(small: SmallShop) -> None:
    # The frame turned out sound: 80.00 and 7.71 less. The settlement pays none of it, of which 50.00 of set-up were still owed.
    job = opened(small)
    body = {"client_id": "0d8b6f0e-52a5-4dfc-9ffb-0e0f1a4fb0aa", "assembly": "backing-frame", "done": "0 each"}
    assert small.office.post(f"jobs/{job.pk}/counted", body).status_code == 201

    row = books(small, job, {**DECLINED, "close_up": None, "storage": None})

    assert bill(row)["bill_counted_less"] == D("-87.71")
    assert bill(row)["bill_stopped"] == D("-2134.05")  # 2,221.76 - 87.71
    assert ("backing-frame", D(50), NONE) in steps(row, "owner", "stopped")
    # 52.00 x 80 / 130 = 32.00 of the frame and 5.71 of the strip were counted off; 20.00 of the frame are not done.
    assert costs(row)["cost_counted"] == D("-37.71")
    assert costs(row)["cost_not_done"] == D("-922.56")  # 960.27 - 37.71


def test_books_close_again_with_the_same_settlement(small: SmallShop) -> None:
    job = opened(small)
    first = books(small, job, DECLINED)
    logged(small, job, kind="subcontract", cost=D("75.00"), late=True)
    second = closed(small, job, why="late_entry")
    assert (second.cost_not_done, second.bill_stopped) == (first.cost_not_done, first.bill_stopped)
    assert second.actual_cost - first.actual_cost == 75


def test_a_settlement_costs_the_books_as_many_queries_whatever_it_settles(small: SmallShop) -> None:
    counts = []
    for orders in (0, 2):
        job = opened(small)
        for _ in range(orders):
            accepted(small, job, wish())
        shares = [{"number": number, "share": "0.5"} for number in range(1, orders + 1)]
        books(small, job, {**DECLINED, "orders": shares, "kept": []})
        with CaptureQueriesContext(connection) as queries:
            closed(small, job, why="late_entry")
        counts.append(len(queries))
    assert counts[0] == counts[1]
