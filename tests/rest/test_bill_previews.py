"""What a bill would say before it is issued, and quantity and unit price on its lines: the page's roof."""

from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Bill, Job
from tests.rest.office import Office, places, problem
from tests.rest.test_bills import final, job_done, stage, total
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db


def preview(small: SmallShop, job: Job, kind: str = "stage", role: str = ESTIMATOR, **done: str) -> Any:
    phases = [{"phase": phase, "share": share} for phase, share in done.items()]
    return small.office.post(f"jobs/{job.pk}/bills/preview", {"kind": kind, "done": phases}, role=role)


def test_a_stage_is_told_as_it_is_billed_afterwards_and_nothing_is_kept(small: SmallShop) -> None:
    job = job_done(small)
    before = small.office.get(f"jobs/{job.pk}")["ETag"]

    answer = preview(small, job, strip="1")

    assert answer.status_code == 200, answer.content.decode()
    told = answer.json()
    # As a stage bill is worked in test_bills.py: 1,461.33; tax 8.25 % = 120.56; to the unit 1,582.00.
    assert total(told) == ("1461.33", "120.56", "0.11", "1582.00")
    assert (told["kind"], told["authorised_with_tax"], told["final_billed"]) == ("stage", "4248.00", False)
    (payer,) = told["payers"]
    assert (payer["payer"], payer["total"], payer["billed_before"], payer["due"]) == ("owner", "1582.00", "0.00", "1582.00")
    assert told["taxes"] == [{"name": "Sales tax", "rate": told["taxes"][0]["rate"], "base": "1461.33", "amount": "120.56"}]
    with small.office.scope():
        assert not Bill.objects.for_shop(small.shop).exists()
    assert small.office.get(f"jobs/{job.pk}")["ETag"] == before
    (bill,) = stage(small, job, strip="1").json()["bills"]
    (document,) = told["documents"]
    assert bill["lines"] == document["lines"]
    assert bill["number"].endswith("-1")


def test_what_was_billed_before_and_credited_is_taken_off(small: SmallShop) -> None:
    job = job_done(small)
    (first,) = stage(small, job, strip="1").json()["bills"]
    credit = {"lines": [{"key": "line:1", "amount": {"amount": "35.00", "currency": "USD"}}], "reason": "Agreed."}
    assert small.office.post(f"bills/{first['id']}/credit", credit).status_code == 201

    told = preview(small, job, "final").json()

    # 3,924.23 less 35.00 is 3,889.23; tax 320.86; 4,210.09, to the unit 4,210.00. Billed 1,582.00, and of that
    # 1,426.33 with tax 117.67, 1,544.00, stands.
    assert total(told) == ("3889.23", "320.86", "-0.09", "4210.00")
    (payer,) = told["payers"]
    assert (payer["billed_before"], payer["due"]) == ("1544.00", "2666.00")
    (bill,) = final(small, job).json()["bills"]
    assert (bill["total"], bill["due"]) == ("4210.00", "2666.00")


def test_it_is_refused_as_the_bill_would_be(small: SmallShop) -> None:
    job = job_done(small)
    assert problem(preview(small, job, paint="1"), 422)["code"] == "bad_stage"
    assert places(preview(small, job, "half")) == {"#/kind": "unknown_choice"}
    assert final(small, job).status_code == 201
    assert problem(preview(small, job, strip="1"), 409)["code"] == "final_billed"
    assert problem(preview(small, job, "final"), 409)["code"] == "nothing_to_bill"


def test_who_bills_may_look_and_another_shop_finds_nothing(small: SmallShop, elsewhere: Office) -> None:
    job = job_done(small)
    assert problem(preview(small, job, role=ANALYST, strip="1"), 403)["code"] == "role_not_allowed"
    assert problem(elsewhere.post(f"jobs/{job.pk}/bills/preview", {"kind": "final"}), 404)["code"] == "not_found"


def test_lines_show_quantity_and_unit_price_where_they_have_them(small: SmallShop) -> None:
    job = job_done(small)
    stage(small, job, strip="1", skin="0.5")
    (bill,) = final(small, job).json()["bills"]
    lines = {line["key"]: line for line in bill["lines"]}

    def shown(key: str) -> tuple[Any, ...]:
        line = lines[key]
        return line["quantity"], line["unit"], line["unit_price"], line["amount"]

    # Skin off 9.35 h at 100.00; of the order of step 12 the patch, 2 h at 100.00.
    assert shown("line:1") == ("9.3500", "h", "100.000000", "935.00")
    assert shown("draw:1")[0] == "1.0000"
    assert shown("draw:1")[2] is None
    (supplies,) = [line for line in bill["lines"] if line["amount"] == "60.00"]
    assert (supplies["quantity"], supplies["unit"], supplies["unit_price"]) == (None, "", None)
    assert small.office.get(f"bills/{bill['id']}").json()["lines"] == bill["lines"]
    with small.office.scope():
        document = Bill.objects.for_shop(small.shop).get(pk=bill["id"]).document
    assert Decimal(document["lines"][0]["unit_price"]) == Decimal("100")
    now = small.office.get(f"jobs/{job.pk}/bill").json()["items"]
    assert (now[0]["quantity"], now[0]["unit_price"]) == ("9.3500", "100.000000")
