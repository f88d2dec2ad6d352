"""The worked roof of DEVELOPERS.md section 1 from the job to its bills over the API."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Bill, BillLine, Job, Settlement
from tests.rest.billing import counted, found, ordered
from tests.rest.office import Office, problem
from tests.rest.working import HASH, at_work, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db

DONE = ("opening_up", "rebuilding", "testing")


def job_done(small: SmallShop, *, frame: bool = True, order: bool = True) -> Job:
    """The page's job, rebuilt and ready to be billed."""
    job = at_work(small, booked(small), *DONE)
    if frame:
        found(small, job)
    if order:
        ordered(small, job)
    return job


def final(small: SmallShop, job: Job, **kwargs: Any) -> Any:
    return small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}, **kwargs)


def stage(small: SmallShop, job: Job, **done: str) -> Any:
    phases = [{"phase": phase, "share": share} for phase, share in done.items()]
    return small.office.post(f"jobs/{job.pk}/bills", {"kind": "stage", "done": phases})


def total(row: dict[str, Any]) -> tuple[str, ...]:
    return tuple(row[name] for name in ("net", "tax", "rounding", "total"))


def test_what_would_be_billed_is_told_step_by_step(small: SmallShop) -> None:
    answer = small.office.get(f"jobs/{job_done(small).pk}/bill").json()

    assert [(step["text"], step["amount"]) for step in answer["steps"]] == [
        ("The agreed lines", "3491.79"),
        ("Hidden work that was found, at its agreed prices", "137.71"),
        ("Change orders", "294.73"),
        ("Sales tax, once on 3924.23", "323.75"),
        ("The owner's rounding, after tax", "0.02"),
    ]
    assert total(answer) == ("3924.23", "323.75", "0.02", "4248.00")
    assert (answer["authorised_with_tax"], answer["set_aside_not_needed"]) == ("4248.00", "0.00")


def test_the_final_bill_is_the_page_s(small: SmallShop) -> None:
    job = job_done(small)
    (bill,) = final(small, job).json()["bills"]

    assert total(bill) == ("3924.23", "323.75", "0.02", "4248.00")
    assert (bill["number"][:2], bill["kind"], bill["payer"], bill["due"]) == ("B-", "final", "owner", "4248.00")
    assert sum(Decimal(line["amount"]) for line in bill["lines"]) == Decimal("3924.23")
    assert small.office.get(f"bills/{bill['id']}").json() == bill
    assert [row["number"] for row in small.office.get(f"bills?job={job.pk}").json()["results"]] == [bill["number"]]


def test_what_is_set_aside_is_billed_only_if_found(small: SmallShop) -> None:
    job = job_done(small, frame=False)
    now = small.office.get(f"jobs/{job.pk}/bill").json()
    (bill,) = final(small, job).json()["bills"]

    # 3,924.23 - 137.71 = 3,786.52; tax 312.39; to the unit 4,099.00.
    assert total(bill) == ("3786.52", "312.39", "0.09", "4099.00")
    assert now["set_aside_not_needed"] == "137.71"


def test_a_frame_that_was_sound_after_all_is_credited(small: SmallShop) -> None:
    job = job_done(small, frame=False, order=False)
    counted(small, job, [(5, "labour", "80.00"), (9, "parts", "7.71")])
    (bill,) = final(small, job).json()["bills"]

    # 3,491.79 - 87.71 = 3,404.08; tax 280.84; to the unit 3,685.00.
    assert total(bill) == ("3404.08", "280.84", "0.08", "3685.00")


def test_stages_add_up_to_the_final_bill(small: SmallShop) -> None:
    job = job_done(small)
    (first,) = stage(small, job, strip="1").json()["bills"]
    (second,) = stage(small, job, strip="1", skin="0.5").json()["bills"]
    (last,) = final(small, job).json()["bills"]

    # Strip 935.00; of 3,173.14 of labour and material that is 0.294661: supplies 17.68, overhead 76.21; draw 137.71 and change
    # order 294.73. 1,461.33; tax 120.56; to the unit 1,582.00.
    assert total(first) == ("1461.33", "120.56", "0.11", "1582.00")
    assert [bill["billed_before"] for bill in (first, second, last)] == ["0.00", "1582.00", second["total"]]
    assert sum(Decimal(bill["due"]) for bill in (first, second, last)) == Decimal("4248.00") == Decimal(last["total"])
    line = next(line for line in last["lines"] if line["key"] == "line:2")
    assert (line["amount"], line["before"], line["now"]) == ("1000.00", "500.00", "500.00")


def test_nothing_is_billed_twice(small: SmallShop) -> None:
    job = job_done(small)
    assert final(small, job).status_code == 201
    assert problem(final(small, job), 409)["code"] == "nothing_to_bill"
    assert problem(stage(small, job, strip="1"), 409)["code"] == "final_billed"


def test_a_stage_that_goes_back_is_refused(small: SmallShop) -> None:
    job = job_done(small)
    assert stage(small, job, strip="1", skin="1").status_code == 201
    assert problem(stage(small, job, strip="1"), 409)["code"] == "nothing_to_bill"
    assert problem(stage(small, job, paint="1"), 422)["code"] == "bad_stage"


def test_no_final_bill_while_a_change_order_waits(small: SmallShop) -> None:
    job = job_done(small, order=False)
    ordered(small, job, state="waiting")
    assert problem(final(small, job), 409)["code"] == "change_order_waits"


def test_a_final_bill_is_for_work_that_is_done(small: SmallShop) -> None:
    assert problem(final(small, at_work(small, booked(small), "opening_up")), 409)["code"] == "job_state"


def test_a_credit_note_takes_a_line_back(small: SmallShop) -> None:
    job = job_done(small)
    (bill,) = final(small, job).json()["bills"]
    asked = {"lines": [{"key": "line:4"}], "reason": "the bead was left to the owner"}
    (note,) = small.office.post(f"bills/{bill['id']}/credit", asked).json()["bills"]

    # The bead is 168.00: 3,756.23; tax 309.8890; 4,066.12; to the unit 4,066.00, which is 182.00 less than 4,248.00.
    assert (note["kind"], note["credit_of"], note["total"], note["due"]) == ("credit", bill["id"], "4066.00", "-182.00")
    again = small.office.post(f"bills/{bill['id']}/credit", asked)
    assert problem(again, 422)["code"] == "bad_credit"
    # A new final bill keeps what was taken back.
    assert problem(final(small, job), 409)["code"] == "nothing_to_bill"


def test_a_credit_of_everything_leaves_nothing(small: SmallShop) -> None:
    (bill,) = final(small, job_done(small)).json()["bills"]
    lines = [{"key": line["key"]} for line in bill["lines"]]
    (note,) = small.office.post(f"bills/{bill['id']}/credit", {"lines": lines, "reason": "all of it"}).json()["bills"]
    assert total(note) == ("0.00", "0.00", "0.00", "0.00")
    assert note["due"] == "-4248.00"


def test_goodwill_needs_a_reason_and_is_shown_as_such(small: SmallShop) -> None:
    (bill,) = final(small, job_done(small)).json()["bills"]
    money = {"amount": "100.00", "currency": "USD"}
    (note,) = small.office.post(f"bills/{bill['id']}/credit", {"goodwill": money, "reason": "a week late"}).json()["bills"]

    # 3,824.23; tax 315.4990 -> 315.50; 4,139.73; to the unit 4,140.00.
    assert total(note) == ("3824.23", "315.50", "0.27", "4140.00")
    assert sorted((line["name"], line["words"]) for line in note["lines"] if line["source"] == "goodwill") == [
        ("Goodwill", "a week late"),
        ("Goodwill", "a week late"),
    ]
    much = {"goodwill": {"amount": "3824.24", "currency": "USD"}, "reason": "more"}
    assert problem(small.office.post(f"bills/{bill['id']}/credit", much), 422)["code"] == "bad_credit"


def test_a_bill_under_a_key_is_issued_once(small: SmallShop) -> None:
    job = job_done(small)
    first = final(small, job, headers={"Idempotency-Key": "one"})
    again = final(small, job, headers={"Idempotency-Key": "one"})
    assert (again.status_code, again.json()) == (201, first.json())
    with small.office.scope():
        assert Bill.objects.for_shop(small.shop).count() == 1


def test_who_bills_and_who_credits(small: SmallShop) -> None:
    job = job_done(small)
    assert problem(final(small, job, role=ANALYST), 403)["code"] == "role_not_allowed"
    (bill,) = final(small, job, role=ESTIMATOR).json()["bills"]
    asked = {"lines": [{"key": "line:4"}], "reason": "no"}
    assert problem(small.office.post(f"bills/{bill['id']}/credit", asked, role=ESTIMATOR), 403)["code"] == "role_not_allowed"
    for role in (ESTIMATOR, ANALYST):
        assert small.office.get("bills", role=role).status_code == 200
        assert small.office.get(f"bills/{bill['id']}", role=role).status_code == 200
        assert small.office.get(f"jobs/{job.pk}/bill", role=role).status_code == 200


def test_another_shop_s_bill_is_not_there(small: SmallShop, elsewhere: Office) -> None:
    job = job_done(small)
    (bill,) = final(small, job).json()["bills"]
    asked = {"lines": [{"key": "line:4"}], "reason": "no"}
    assert elsewhere.get(f"bills/{bill['id']}").status_code == 404
    assert elsewhere.get(f"jobs/{job.pk}/bill").status_code == 404
    assert elsewhere.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 404
    assert elsewhere.post(f"bills/{bill['id']}/credit", asked).status_code == 404


@pytest.mark.parametrize(
    "body",
    [
        {"kind": "first"},
        {"kind": "stage", "done": [{"phase": "strip", "share": "1.5"}]},
        {"kind": "stage", "done": [{"phase": "strip", "share": "1"}, {"phase": "strip", "share": "0.5"}]},
        {"kind": "final", "payer": "owner"},
    ],
)
def test_a_bill_is_asked_for_in_one_way(small: SmallShop, body: dict[str, Any]) -> None:
    assert problem(small.office.post(f"jobs/{job_done(small).pk}/bills", body), 422)["code"] == "invalid_input"


def test_a_bill_never_changes(small: SmallShop) -> None:
    final(small, job_done(small))
    with small.office.scope(), connection.cursor() as cursor:
        for model in (Bill, BillLine):
            cursor.execute(
                "SELECT has_table_privilege('roof_app', %s, 'UPDATE'), has_table_privilege('roof_app', %s, 'DELETE')",
                [model._meta.db_table] * 2,
            )
            assert cursor.fetchone() == (False, False)


def test_billing_takes_as_many_queries_however_long_the_job(small: SmallShop) -> None:
    counts = []
    for order in (False, True):
        job = job_done(small, frame=order, order=order)
        with CaptureQueriesContext(connection) as queries:
            assert final(small, job).status_code == 201
        counts.append(len(queries))
    assert counts[0] == counts[1]


def settled_as_it_is(small: SmallShop, job: Job, amounts: list[tuple[str, str, str]], payer: str = "owner") -> None:
    """A signed settlement of a job that was stopped: name, tax class and amount of each line."""
    with small.office.scope():
        Settlement(
            shop=small.shop, job=job, state="signed", stopped_on=date(2026, 3, 2), payer=payer, consent_id=job.consent_id,
            document_hash=HASH, amount=Decimal(0), amount_with_tax=Decimal(0), paid=Decimal(0), due=Decimal(0),
            figures={
                "lines": [
                    {
                        "source": "agreed", "kind": "labour", "name": name, "order": 0, "quantity": "1", "unit": "h",
                        "price": amount, "of": amount, "share": "1", "amount": amount, "tax_class": tax_class,
                        "position": at,
                    }
                    for at, (name, tax_class, amount) in enumerate(amounts, 1)
                ]
            },
            created=timezone.now(),
        ).save(force_insert=True)  # fmt: skip


class TestStopped:
    def test_nothing_is_billed_before_the_settlement_is_signed(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), "opening_up", "stopped")
        assert problem(final(small, job), 409)["code"] == "settlement_missing"
        assert problem(small.office.get(f"jobs/{job.pk}/bill"), 409)["code"] == "settlement_missing"
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "settlement_missing"

    def test_the_settlement_is_the_final_bill(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), "opening_up")
        (first,) = stage(small, job, strip="0.1").json()["bills"]
        at_work(small, job, "stopped")
        settled_as_it_is(small, job, [("Skin off", "labour", "935.00"), ("Closing up", "labour", "200.00")])
        (bill,) = final(small, job).json()["bills"]

        # 1,135.00; tax 93.6375 -> 93.64; to the unit 1,229.00. What the stage had stands beside it with nothing left.
        assert total(bill) == ("1135.00", "93.64", "0.36", "1229.00")
        assert bill["billed_before"] == first["total"]
        assert {line["key"]: line["amount"] for line in bill["lines"]}["line:1"] == "0.00"
        settled = small.office.post(f"jobs/{job.pk}/settling", {})
        assert settled.status_code == 200, settled.content.decode()
        assert settled.json()["state"] == "settled"
        assert small.office.get(f"jobs/{job.pk}/bill").json()["total"] == "1229.00"

    def test_a_settlement_never_passes_what_was_authorised(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), "opening_up", "stopped")
        settled_as_it_is(small, job, [("Storage", "labour", "4000.00")])
        (bill,) = final(small, job).json()["bills"]

        # Authorised are 3,929.00 with tax.
        assert bill["total"] == "3929.00"
        assert [line["source"] for line in bill["lines"]] == ["settlement", "cut"]
