"""What each return under warranty took: entries of the ledger name it, and the job that it comes from bears it."""

import uuid
from datetime import timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER
from quotes.models import ClosedJob, Job, LedgerEntry
from tests.rest import working
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Clock
from tests.rest.test_handing_over import TODAY, TestReturns, handed_over
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
Body = dict[str, Any]


@pytest.fixture(autouse=True)
def _booked_before(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    """Jobs of these tests were booked four days before the shop's day."""
    monkeypatch.setattr(working, "timezone", SimpleNamespace(now=lambda: clock.now() - timedelta(days=4)))


def settled(small: SmallShop) -> Job:
    job = handed_over(small)
    assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
    assert small.office.post(f"jobs/{job.pk}/settling", {}).status_code == 200
    return job


def came(small: SmallShop, job: Job, **changes: Any) -> Body:
    answer = small.office.post(f"jobs/{job.pk}/returns", {**TestReturns.SAID, **changes})
    assert answer.status_code == 201, answer.content.decode()
    made: Body = answer.json()
    return made


def worker(small: SmallShop, label: str = "north bay", trade: str = "technician") -> int:
    return int(small.office.post("workers", {"label": label, "trade": trade}).json()["id"])


def entry(kind: str, **said: Any) -> Body:
    return {"client_id": str(uuid.uuid4()), "kind": kind, "day": TODAY, **said}


def log(small: SmallShop, job: Job, *entries: Body, **kwargs: Any) -> Any:
    return small.office.post(f"jobs/{job.pk}/entries", {"entries": list(entries)}, **kwargs)


def logged(small: SmallShop, job: Job, *entries: Body) -> list[Body]:
    answer = log(small, job, *entries)
    assert answer.status_code == 200, answer.content.decode()
    rows: list[Body] = answer.json()["entries"]
    return rows


def bought(small: SmallShop, **said: Any) -> Body:
    price = {"amount": "54.00", "currency": "USD"}
    return entry(
        "purchase", material="adhesive", quantity="1", price=price, supplier="Invented", invoice=str(uuid.uuid4())[:12], **said
    )


def test_each_return_tells_what_it_took_by_itself(small: SmallShop) -> None:
    # The first took 1.5 h of a technician at 40.00, a pack of adhesive at 54.00 and 6 ft of strip off the shelf at 0.85, 5.10;
    # the second 1 h of a helper at 25.00 and a subcontractor of 80.00.
    job = settled(small)
    before = closed(small, job)
    first, second = came(small, job), came(small, job, findings="a vent leaks")
    technician, helper = worker(small), worker(small, "yard", "helper")
    amount = {"currency": "USD"}
    answers = logged(
        small,
        job,
        entry("time", worker=technician, hours="1.5", warranty_return=first["id"]),
        bought(small, warranty_return=first["id"]),
        entry("issued", material="strip", quantity="6", counted_in="use", warranty_return=first["id"]),
        entry("time", worker=helper, hours="1", warranty_return=second["id"]),
        entry(
            "subcontract", supplier="Invented", invoice="S-1", words="a new vent", amount={"amount": "80.00", **amount},
            warranty_return=second["id"],
        ),
    )  # fmt: skip
    assert [(row["quoted"], row["late"], row["line"]) for row in answers] == [(True, True, None)] * 5

    told = small.office.get(f"jobs/{job.pk}/returns/{first['id']}", role=MANAGER).json()
    assert told["took"] == {
        "hours": "1.5000",
        "trades": [{"trade": "technician", "hours": "1.5000", "cost": "60.00"}],
        "goods": [
            {"name": "adhesive", "unit": "pack", "quantity": "1.0000", "cost": "54.00"},
            {"name": "strip", "unit": "ft", "quantity": "6.0000", "cost": "5.10"},
        ],
        "others": "0.00",
        "cost": "119.10",
    }
    newest, oldest = small.office.get(f"jobs/{job.pk}/returns", role=ANALYST).json()["results"]
    assert (newest["took"]["hours"], newest["took"]["others"], newest["took"]["cost"]) == ("1.0000", "80.00", "105.00")
    assert oldest == told
    # The job bears both: 119.10 + 105.00.
    after = closed(small, job)
    assert (str(after.cost_warranty - before.cost_warranty), after.actual_cost - before.actual_cost) == (
        "224.100",
        after.cost_warranty - before.cost_warranty,
    )
    costs = small.office.get(f"jobs/{job.pk}/costs", role=MANAGER).json()
    assert [(row["key"], row["hours"], row["cost"]) for row in costs["by_return"]] == [
        ("1", "1.5000", "119.10"), ("2", "1.0000", "105.00"),
    ]  # fmt: skip
    assert (costs["not_quoted"]["cost"], costs["total"]["cost"]) == ("0.00", "224.10")
    hours = small.office.get(f"jobs/{job.pk}/hours").json()
    assert (hours["returns"], hours["not_quoted"]) == ("2.5000", "0")
    assert small.office.get(f"jobs/{job.pk}/not-quoted").json()["entries"] == []
    listed = small.office.get(f"jobs/{job.pk}/entries?warranty_return={second['id']}").json()["results"]
    assert {(row["kind"], row["warranty_return"]) for row in listed} == {
        ("subcontract", second["id"]), ("time", second["id"]),
    }  # fmt: skip


def closed(small: SmallShop, job: Job) -> ClosedJob:
    with small.office.scope():
        row = ClosedJob.objects.for_shop(small.shop).filter(job_id=job.pk).order_by("-seq").first()
        assert row is not None
        return row


def test_an_estimator_sees_hours_and_goods_and_no_cost(small: SmallShop) -> None:
    job = handed_over(small)
    made = came(small, job)
    assert made["took"] == {"hours": "0", "trades": [], "goods": [], "others": "0.00", "cost": "0.00"}
    logged(small, job, entry("time", worker=worker(small), hours="2", warranty_return=made["id"]), bought(small))
    took = small.office.get(f"jobs/{job.pk}/returns/{made['id']}", role=ESTIMATOR).json()["took"]
    assert took == {"hours": "2.0000", "trades": [{"trade": "technician", "hours": "2.0000"}], "goods": []}


def test_a_return_of_a_job_that_is_not_closed_yet_is_its_warranty_cost_all_the_same(small: SmallShop) -> None:
    # Handed over and not settled: an hour of 40.00 that names the return is no late entry, and still no work of the job.
    job = handed_over(small)
    made = came(small, job)
    (row,) = logged(small, job, entry("time", worker=worker(small), hours="1", warranty_return=made["id"]))
    assert row["late"] is False
    assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
    assert small.office.post(f"jobs/{job.pk}/settling", {}).status_code == 200
    assert str(closed(small, job).cost_warranty) == "40.000"
    assert closed(small, job).actual_hours == 0


def test_what_is_taken_back_is_taken_off_its_return(small: SmallShop) -> None:
    job = settled(small)
    made = came(small, job)
    (wrong,) = logged(small, job, entry("time", worker=worker(small), hours="2", warranty_return=made["id"]))
    right = entry("time", worker=worker(small, "south bay"), hours="1", job=job.pk, warranty_return=made["id"])
    body = {"client_id": str(uuid.uuid4()), "note": "one hour", "entry": right}
    assert small.office.post(f"entries/{wrong['id']}/correction", body).status_code == 200
    took = small.office.get(f"jobs/{job.pk}/returns/{made['id']}").json()["took"]
    assert (took["hours"], took["cost"]) == ("1.0000", "40.00")


def test_a_wrong_return_is_refused_by_name(small: SmallShop) -> None:
    job, other = settled(small), handed_over(small)
    own, foreign = came(small, job), came(small, other)
    of = worker(small)

    def timed(**said: Any) -> Body:
        return entry("time", worker=of, hours="1", **said)

    for id_ in (foreign["id"], 999_999):
        refused = log(small, job, timed(warranty_return=own["id"]), timed(warranty_return=id_))
        assert places(refused) == {"#/entries/1/warranty_return": "unknown_place"}
        assert f"{own['id']} (number 1)" in problem(refused, 422)["errors"][0]["detail"]
    both = log(small, job, timed(warranty_return=own["id"], assembly="bead"))
    assert places(both) == {"#/entries/0/warranty_return": "entry_member"}
    early = log(small, job, {**timed(warranty_return=own["id"]), "day": "2026-03-01"})
    assert places(early) == {"#/entries/0/day": "before_return"}
    stock = {**bought(small, warranty_return=own["id"]), "job": None}
    assert places(small.office.post("entries", {"entries": [stock]})) == {"#/entries/0/warranty_return": "entry_member"}
    unknown = log(small, job, timed(warranty_return=0))
    assert unknown.status_code == 422


def test_an_entry_that_is_sent_again_has_to_name_the_same_return(small: SmallShop) -> None:
    job = settled(small)
    first, second = came(small, job), came(small, job)
    said = entry("time", worker=worker(small), hours="1", job=job.pk, warranty_return=first["id"])

    def send(body: Body) -> Any:
        return small.office.post("entries", {"entries": [body]})

    assert send(said).json()["entries"][0]["status"] == "added"
    again = send(said).json()["entries"][0]
    assert (again["status"], again["quoted"]) == ("there", True)
    assert problem(send({**said, "warranty_return": second["id"]}), 409)["code"] == "said_otherwise"


def test_returns_cost_as_many_queries_however_many_there_are(small: SmallShop) -> None:
    job, of = settled(small), worker(small)
    counts = []
    for _ in range(2):
        for _ in range(3):
            made = came(small, job)
            logged(small, job, entry("time", worker=of, hours="0.5", warranty_return=made["id"]), bought(small))
        with CaptureQueriesContext(connection) as queries:
            small.office.get(f"jobs/{job.pk}/returns")
        counts.append(len(queries))
    assert counts[0] == counts[1]


def test_another_shop_finds_no_return_and_no_row_points_into_another_shop(small: SmallShop, elsewhere: Office) -> None:
    job = settled(small)
    made = came(small, job)
    assert elsewhere.get(f"jobs/{job.pk}/returns/{made['id']}").status_code == 404
    assert small.office.get(f"jobs/{job.pk}/returns/999999").status_code == 404
    (row,) = logged(small, job, entry("time", worker=worker(small), hours="1"))
    with small.office.scope():
        kept = LedgerEntry.objects.for_shop(small.shop).get(pk=row["id"])
        kept.pk, kept.client_id, kept.warranty_return_id = None, uuid.uuid4(), 999_999
        with pytest.raises(IntegrityError), transaction.atomic():
            kept.save(force_insert=True)
