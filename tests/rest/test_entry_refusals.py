"""When is an entry refused: by its day, its place, its job's state, or what the owner has not agreed to yet."""

from datetime import datetime, timedelta

import pytest

from quotes.models import LedgerEntry
from tests.rest.changing import accepted, done, found, sent, wish, yes
from tests.rest.ledgers import BOOKED_ON, YESTERDAY, Logging
from tests.rest.office import places, problem
from tests.rest.quoting import Clock, Quoting
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db


@pytest.fixture
def logging(quoting: Quoting, clock: Clock) -> Logging:
    return Logging(quoting, clock)


@pytest.fixture
def at_small(small: SmallShop, clock: Clock) -> Logging:
    """The small roof of DEVELOPERS.md section 1 at work, whose technician costs what its base says."""
    return Logging(small, clock, trade="technician")


def test_a_day_is_of_the_shops_calendar_and_never_to_come_nor_before_the_booking(logging: Logging) -> None:
    before = (datetime.fromisoformat(BOOKED_ON) - timedelta(days=1)).date().isoformat()

    answer = logging.send(logging.time("1", day="2026-03-03"), logging.time("1", day=before), logging.time("1", day=BOOKED_ON))

    assert places(answer) == {"#/entries/0/day": "bad_entry_day", "#/entries/1/day": "bad_entry_day"}
    # Other hours belong to no job, so its booking is nothing to them.
    told = logging.logged(logging.entry("other_hours", worker=logging.worker, hours="8", reason="holiday", day=before))
    assert told[0]["status"] == "added"


def test_a_batch_that_crosses_a_change_of_clocks_has_the_days_of_the_shop(quoting: Quoting, clock: Clock) -> None:
    # In Chicago clocks go forward at 2 o'clock on 8 March 2026: that day begins at 6:00 UTC and ends at 5:00 UTC.
    clock.moment = datetime.fromisoformat("2026-03-09T04:30:00+00:00")
    logging = Logging(quoting, clock)
    entries = [logging.time("10", day="2026-03-07"), logging.time("24", day="2026-03-08")]

    assert [entry["status"] for entry in logging.logged(*entries)] == ["added", "added"]
    assert places(logging.send(logging.time("1", day="2026-03-09"))) == {"#/entries/0/day": "bad_entry_day"}
    clock.turn(hours=1)
    assert logging.logged(logging.time("1", day="2026-03-09"))[0]["status"] == "added"
    # Sent again on the next day, the batch is the same as it was.
    assert [entry["status"] for entry in logging.logged(*entries)] == ["there", "there"]
    assert sum(float(entry["quantity"]) for entry in logging.ledger()) == 35


def test_a_place_that_the_job_has_not_is_refused_by_name(logging: Logging) -> None:
    answer = logging.send(
        logging.time("1", line=900),
        logging.time("1", assembly="no-such"),
        logging.time("1", component="no_such"),
        logging.time("1", change_order=1),
        logging.time("1", worker=999_999),
    )
    assert places(answer) == {"#/entries/4/worker": "other_shop"}

    answer = logging.send(
        logging.time("1", line=900),
        logging.time("1", assembly="no-such"),
        logging.time("1", component="no_such"),
        logging.time("1", change_order=1),
        logging.time("1", trade="no-such"),
    )

    assert places(answer) == {
        "#/entries/0/line": "unknown_place",
        "#/entries/1/assembly": "unknown_place",
        "#/entries/2/component": "unknown_place",
        "#/entries/3/change_order": "unknown_place",
        "#/entries/4/trade": "no_rate",
    }


def test_work_that_a_waiting_order_covers_is_not_logged_and_the_refusal_says_why(at_small: Logging) -> None:
    order = sent(at_small.quoting, at_small.job, found())
    on_it = at_small.time("1", component="opening_frame")

    answer = at_small.send(on_it, at_small.time("1", change_order=order["number"]))

    assert places(answer, 422) == {
        "#/entries/0/component": "covered_work", "#/entries/1/change_order": "covered_work",
    }  # fmt: skip
    detail = problem(at_small.send(on_it), 409)["detail"]
    assert "work on 'opening_frame' waits for the owner's answer to change order 1, 'The rear frame'" in detail
    # Without a place it is work that nobody quoted, and shows as that.
    assert at_small.logged(at_small.time("1"))[0]["quoted"] is False

    assert done(at_small.quoting, at_small.job, order, "acceptance", yes(order)).status_code == 201
    told = at_small.logged(on_it, at_small.time("1", change_order=order["number"]))
    assert [entry["quoted"] for entry in told] == [True, True]


def test_hours_of_an_accepted_order_stand_beside_its_plan(at_small: Logging) -> None:
    order = accepted(at_small.quoting, at_small.job, wish())
    at_small.logged(at_small.time("1.5", change_order=order["number"]))

    hours = at_small.office.get(f"jobs/{at_small.job.pk}/hours").json()
    costs = at_small.office.get(f"jobs/{at_small.job.pk}/costs").json()
    goods = at_small.office.get(f"jobs/{at_small.job.pk}/materials").json()["materials"]

    # Step 12 of the page: 2 hours of a technician and a fourth pack of adhesive.
    assert hours["change_orders"] == [
        {"change_order": 1, "title": "A patch", "planned": "2.0000", "worked": "1.5000", "left": "0.5000"}
    ]
    assert [(each["key"], each["hours"], each["value"]) for each in costs["by_change_order"]] == [("1", "1.5000", "150.00")]
    (adhesive,) = [each for each in goods if each["material"] == "adhesive"]
    assert (adhesive["planned_packs"], adhesive["planned_net"]) == ("4", "2.9")


def test_what_comes_after_the_job_is_closed_is_a_managers_and_marked(logging: Logging) -> None:
    early = logging.time("1", day=YESTERDAY)
    (logged,) = logging.logged(early)
    logging.moved(logging.job, "testing", "handed_over", "settled")
    entry = logging.time("1")
    back = {"client_id": "2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10", "note": "never worked"}

    assert places(logging.send(entry, role="estimator"), 403) == {"#/entries/0/job": "late_entry"}
    assert (
        problem(logging.office.post(f"entries/{logged['id']}/correction", back, role="estimator"), 403)["code"] == "late_entry"
    )
    # What was logged before is there, whoever sends it again.
    assert logging.logged(early, role="estimator")[0]["status"] == "there"
    assert logging.logged(entry)[0]["late"] is True
    assert logging.office.post(f"entries/{logged['id']}/correction", back).json()["entries"][0]["late"] is True
    rows = logging.office.get(f"jobs/{logging.job.pk}/entries?late=true").json()["results"]
    assert [row["quantity"] for row in rows] == ["-1.0000", "1.0000"]


def test_nobody_works_on_a_job_that_was_cancelled_but_its_invoices_still_come(logging: Logging) -> None:
    job = logging.booked("cancelled")
    invoice = logging.entry(
        "credit", amount={"amount": "10.00", "currency": "USD"}, supplier="Invented Supply", invoice="C-1", words="restocked"
    )

    assert places(logging.send(logging.time("1"), job=job), 409) == {"#/entries/0": "job_state"}
    assert logging.logged(invoice, job=job)[0]["late"] is True


def test_entries_are_listed_by_kind_day_and_worker(logging: Logging) -> None:
    second = logging.add_worker()
    logging.logged(
        logging.time("1"),
        logging.time("2", worker=second),
        logging.time("3", day=YESTERDAY),
        logging.entry("used", material="roof-vent-14-in", quantity="3"),
    )

    def listed(query: str) -> list[str]:
        rows = logging.office.get(f"jobs/{logging.job.pk}/entries?{query}").json()["results"]
        return sorted(row["quantity"] for row in rows)

    assert listed("kind=used") == ["3.0000"]
    assert listed(f"day={YESTERDAY}") == ["3.0000"]
    assert listed(f"worker={second}") == ["2.0000"]
    first = logging.office.get(f"jobs/{logging.job.pk}/entries?limit=3").json()
    rest = logging.office.get(first["next"]).json()
    assert (len(first["results"]), len(rest["results"]), rest["next"]) == (3, 1, None)
    assert problem(logging.office.get(f"jobs/{logging.job.pk}/entries?kind=gift"), 400)["code"] == "bad_parameter"


def test_nothing_of_a_refused_batch_is_kept(logging: Logging) -> None:
    problem(logging.send(logging.time("1"), logging.time("1"), logging.time("1", line=900)), 422)
    with logging.office.scope():
        assert not LedgerEntry.objects.for_shop(logging.shop).exists()
