"""Leak tests, hand over, payments, settling and returns of the worked roof over the API."""

import uuid
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import ChangeOrder, ClosedJob, CountedSettlement, Job, OpeningEntry, Payment
from tests.rest.billing import counted, found, ordered
from tests.rest.office import Office, problem
from tests.rest.working import at_work, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db

DONE = ("opening_up", "rebuilding", "testing")
TODAY = "2026-03-02"
HOSE = {"method": "hose", "day": TODAY, "tested_by": "T. 2 (invented)", "passed": True}
PARTS = [{"part": "membrane and its seams", "workmanship_months": 36, "material_terms": "as its maker says, ten years"}]
HANDED = {"day": TODAY, "parts": PARTS, "keys": "two keys to the owner"}


def usd(amount: str) -> dict[str, str]:
    return {"amount": amount, "currency": "USD"}


def paying(value: str, **changes: Any) -> dict[str, Any]:
    sent = {"client_id": str(uuid.uuid4()), "kind": "payment", "day": TODAY, "way": "bank transfer", "amount": usd(value)}
    return {**sent, **changes}


def state(small: SmallShop, job: Job) -> Any:
    return small.office.get(f"jobs/{job.pk}").json()["state"]


def handed_over(small: SmallShop, *, frame: bool = False) -> Job:
    """The page's job, tested and handed over; its counted frame confirmed as quoted."""
    job = at_work(small, booked(small), *DONE)
    if frame:
        found(small, job)
    counted(small, job, [])
    assert small.office.post(f"jobs/{job.pk}/leak-tests", HOSE).status_code == 201
    assert small.office.post(f"jobs/{job.pk}/hand-over", HANDED).status_code == 201
    return job


class TestLeakTests:
    def test_a_roof_that_leaks_goes_back_to_rebuilding(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        leaks = {**HOSE, "passed": False, "places": ["front vent, rear left corner"]}
        answer = small.office.post(f"jobs/{job.pk}/leak-tests", leaks)

        assert answer.status_code == 201, answer.content.decode()
        assert answer.json()["places"] == ["front vent, rear left corner"]
        assert state(small, job) == "rebuilding"
        assert problem(small.office.post(f"jobs/{job.pk}/leak-tests", HOSE), 409)["code"] == "job_state"

    def test_air_is_put_on_a_cured_bond_only_and_never_much(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        air = {**HOSE, "method": "pressurised", "bonds_cured": True, "pressure": {"value": "0.5", "unit": "inch_of_water"}}
        # 250 Pa / 249.08891 is above an inch; 5.2 lb per square foot is an inch of water to a thousandth.
        for wrong in (
            {"bonds_cured": False},
            {"pressure": {"value": "1.1", "unit": "inch_of_water"}},
            {"pressure": {"value": "250", "unit": "pascal"}},
            {"pressure": {"value": "5.21", "unit": "psf"}},
            {"pressure": {"value": "0", "unit": "psf"}},
            {"pressure": None},
            {"method": "hose"},
            {"places": ["somewhere"]},
            {"passed": False},
            {"day": "2026-03-03"},
        ):
            assert problem(small.office.post(f"jobs/{job.pk}/leak-tests", {**air, **wrong}), 422)["code"] == "bad_leak_test"
        for pressure in ({"value": "249", "unit": "pascal"}, {"value": "5.2", "unit": "psf"}):
            assert small.office.post(f"jobs/{job.pk}/leak-tests", {**air, "pressure": pressure}).status_code == 201
        tests = small.office.get(f"jobs/{job.pk}/leak-tests?passed=true").json()["results"]
        assert [test["pressure"]["unit"] for test in tests] == ["psf", "pascal"]
        assert "never more than one inch" in tests[0]["caution"]

    def test_a_test_that_a_tablet_sends_twice_is_one(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        sent = {**HOSE, "client_id": str(uuid.uuid4())}
        first = small.office.post(f"jobs/{job.pk}/leak-tests", sent).json()
        assert small.office.post(f"jobs/{job.pk}/leak-tests", sent).json()["id"] == first["id"]
        other = {**sent, "note": "another"}
        assert problem(small.office.post(f"jobs/{job.pk}/leak-tests", other), 409)["code"] == "said_otherwise"


class TestHandOver:
    def test_no_coach_is_handed_over_untested(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        assert problem(small.office.post(f"jobs/{job.pk}/hand-over", HANDED), 409)["code"] == "leak_test_missing"
        tag = small.office.get(f"jobs/{job.pk}")["ETag"]
        by_hand = small.office.post(f"jobs/{job.pk}/state", {"to": "handed_over"}, headers={"If-Match": tag})
        assert problem(by_hand, 409)["code"] == "job_state"
        leaks = {**HOSE, "passed": False, "places": ["a seam"]}
        assert small.office.post(f"jobs/{job.pk}/leak-tests", leaks).status_code == 201
        at_work(small, job, "testing")
        assert problem(small.office.post(f"jobs/{job.pk}/hand-over", HANDED), 409)["code"] == "leak_test_missing"

    def test_the_warranty_says_what_was_closed_up_and_what_was_there_before(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        ordered(small, job, way_kind="close_up", warranty="What is closed up is under no warranty.")
        with small.office.scope():
            OpeningEntry(
                shop=small.shop, job=job, day=date(2026, 3, 2), marks=[], measured=[],
                findings=[{"what": "ceiling panel stained", "recommendation": "look again in spring"}], created=timezone.now(),
            ).save(force_insert=True)  # fmt: skip
        assert small.office.post(f"jobs/{job.pk}/leak-tests", HOSE).status_code == 201
        said = {**HANDED, "excluded": ["the old awning"], "pre_existing": ["a dent in the left wall"]}
        answer = small.office.post(f"jobs/{job.pk}/hand-over", said)

        assert answer.status_code == 201, answer.content.decode()
        warranty = answer.json()
        assert warranty == small.office.get(f"jobs/{job.pk}/warranty").json()
        assert warranty["excluded"] == [
            {"what": "Patch", "why": "What is closed up is under no warranty.", "change_order": 1},
            {"what": "the old awning", "why": "", "change_order": None},
        ]
        assert [one["what"] for one in warranty["pre_existing"]] == ["ceiling panel stained", "a dent in the left wall"]
        # Thirty days after 2 March.
        assert (warranty["begins_on"], warranty["recheck_on"]) == ("2026-03-02", "2026-04-01")
        assert state(small, job) == "handed_over"
        assert problem(small.office.post(f"jobs/{job.pk}/hand-over", HANDED), 409)["code"] == "job_state"

    def test_a_coach_is_not_handed_over_tomorrow(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        assert small.office.post(f"jobs/{job.pk}/leak-tests", HOSE).status_code == 201
        tomorrow = {**HANDED, "day": "2026-03-03"}
        assert problem(small.office.post(f"jobs/{job.pk}/hand-over", tomorrow), 422)["code"] == "bad_return"
        assert problem(small.office.post(f"jobs/{job.pk}/hand-over", {**HANDED, "parts": []}), 422)["code"] == "invalid_input"

    def test_there_is_no_warranty_before_hand_over(self, small: SmallShop) -> None:
        assert small.office.get(f"jobs/{booked(small).pk}/warranty").status_code == 404


class TestPayments:
    def test_a_deposit_is_held_until_it_is_billed(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        deposit = small.office.post(f"jobs/{job.pk}/payments", paying("1000.00", kind="deposit"), role=ESTIMATOR)

        assert deposit.status_code == 201, deposit.content.decode()
        assert small.office.get(f"jobs/{job.pk}/balance").json()["payers"] == [
            {"payer": "owner", "billed": "0.00", "paid": "1000.00", "open": "-1000.00"}
        ]
        assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
        # The roof without its frame: 3,780.00.
        assert small.office.get(f"jobs/{job.pk}/balance").json()["payers"] == [
            {"payer": "owner", "billed": "3780.00", "paid": "1000.00", "open": "2780.00"}
        ]

    def test_no_more_goes_back_than_came_in(self, small: SmallShop) -> None:
        job = booked(small)
        url = f"jobs/{job.pk}/payments"
        assert small.office.post(url, paying("100.00")).status_code == 201
        assert problem(small.office.post(url, paying("100.01", kind="refund")), 422)["code"] == "bad_payment"
        back = small.office.post(url, paying("40.00", kind="refund")).json()
        assert (back["amount"], back["kind"]) == ("-40.00", "refund")
        shown = small.office.get(f"{url}?kind=refund").json()["results"]
        assert [row["id"] for row in shown] == [back["id"]]

    def test_a_wrong_entry_is_taken_back_by_another(self, small: SmallShop) -> None:
        job = booked(small)
        url = f"jobs/{job.pk}/payments"
        wrong = small.office.post(url, paying("100.00")).json()
        asked = {"client_id": str(uuid.uuid4()), "note": "another job's"}
        back = small.office.post(f"{url}/{wrong['id']}/taken-back", asked)

        assert (back.json()["amount"], back.json()["corrects"]) == ("-100.00", wrong["id"])
        assert small.office.post(f"{url}/{wrong['id']}/taken-back", asked).json()["id"] == back.json()["id"]
        again = {**asked, "client_id": str(uuid.uuid4())}
        for payment in (wrong["id"], back.json()["id"]):
            assert problem(small.office.post(f"{url}/{payment}/taken-back", again), 422)["code"] == "bad_payment"
        assert small.office.get(f"jobs/{job.pk}/balance").json()["payers"][0]["paid"] == "0.00"

    def test_a_payment_sent_twice_is_booked_once(self, small: SmallShop) -> None:
        job = booked(small)
        sent = paying("100.00")
        first = small.office.post(f"jobs/{job.pk}/payments", sent).json()
        assert small.office.post(f"jobs/{job.pk}/payments", sent).json() == first
        otherwise = {**sent, "amount": usd("101.00")}
        assert problem(small.office.post(f"jobs/{job.pk}/payments", otherwise), 409)["code"] == "said_otherwise"
        with small.office.scope():
            assert Payment.objects.for_shop(small.shop).count() == 1

    @pytest.mark.parametrize(
        "changes",
        [
            {"payer": "insurer"},
            {"amount": usd("0.00")},
            {"day": "2026-03-03"},
            {"way": "card 4000 0000 0000 0002"},
            {"note": "account 000123456789012"},
        ],
    )
    def test_a_payment_that_cannot_be_is_refused(self, small: SmallShop, changes: dict[str, Any]) -> None:
        asked = paying("10.00", **changes)
        assert problem(small.office.post(f"jobs/{booked(small).pk}/payments", asked), 422)["code"] == "bad_payment"

    def test_refunds_and_corrections_are_for_managers(self, small: SmallShop) -> None:
        job = booked(small)
        url = f"jobs/{job.pk}/payments"
        payment = small.office.post(url, paying("100.00"), role=ESTIMATOR).json()
        asked = {"client_id": str(uuid.uuid4()), "note": "no"}
        for answer in (
            small.office.post(url, paying("1.00", kind="refund"), role=ESTIMATOR),
            small.office.post(f"{url}/{payment['id']}/taken-back", asked, role=ESTIMATOR),
            small.office.post(url, paying("1.00"), role=ANALYST),
        ):
            assert problem(answer, 403)["code"] == "role_not_allowed"


class TestSettling:
    def test_a_job_is_settled_with_its_books_closed(self, small: SmallShop) -> None:
        job = handed_over(small, frame=True)
        assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
        assert small.office.post(f"jobs/{job.pk}/payments", paying("3000.00")).status_code == 201
        answer = small.office.post(f"jobs/{job.pk}/settling", {})

        assert answer.status_code == 200, answer.content.decode()
        # Everything set aside was found: the limit with tax, 3,929.00.
        assert answer.json()["payers"] == [{"payer": "owner", "billed": "3929.00", "paid": "3000.00", "open": "929.00"}]
        assert (answer.json()["state"], answer.json()["closed_on"]) == ("settled", TODAY)
        with small.office.scope():
            closed = ClosedJob.objects.for_shop(small.shop).get(job=job)
            assert (closed.billed, closed.billed_with_tax) == (Decimal("3629.50"), Decimal(3929))
        assert small.office.post(f"jobs/{job.pk}/payments", paying("929.00")).status_code == 201
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "job_state"

    def test_a_job_that_was_not_billed_is_not_settled(self, small: SmallShop) -> None:
        job = handed_over(small)
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "not_billed"
        assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
        # Afterwards the frame turns out not to have been done.
        counted(small, job, [(5, "labour", "80.00")])
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "not_billed"
        (bill,) = small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).json()["bills"]
        # 3,411.79; tax 281.47; to the unit 3,693.00, 87.00 less than 3,780.00.
        assert (bill["total"], bill["due"]) == ("3693.00", "-87.00")
        assert small.office.post(f"jobs/{job.pk}/settling", {}).status_code == 200

    def test_what_is_counted_is_said_first(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE, "handed_over")
        assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "counted_open"
        with small.office.scope():
            assert not CountedSettlement.objects.for_shop(small.shop).exists()

    def test_no_job_is_settled_while_a_change_order_waits(self, small: SmallShop) -> None:
        job = handed_over(small)
        ordered(small, job, state="waiting")
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "change_order_waits"
        with small.office.scope():
            assert ChangeOrder.objects.for_shop(small.shop).get(job=job).state == "waiting"

    def test_work_at_hand_is_not_settled(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        assert problem(small.office.post(f"jobs/{job.pk}/settling", {}), 409)["code"] == "job_state"


class TestReturns:
    SAID = {"came_on": TODAY, "cause": "workmanship", "covered": True, "findings": "a seam lifts over the door"}

    def test_a_return_stands_with_the_job_that_it_comes_from(self, small: SmallShop) -> None:
        job = handed_over(small)
        assert small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"}).status_code == 201
        assert small.office.post(f"jobs/{job.pk}/settling", {}).status_code == 200
        answer = small.office.post(f"jobs/{job.pk}/returns", self.SAID)

        assert answer.status_code == 201, answer.content.decode()
        assert (answer.json()["number"], answer.json()["covered"]) == (1, True)
        assert [row["number"] for row in small.office.get(f"jobs/{job.pk}/returns").json()["results"]] == [1]
        assert small.office.get(f"jobs/{job.pk}/returns?covered=false").json()["results"] == []
        with small.office.scope():
            closed = ClosedJob.objects.for_shop(small.shop).filter(job=job).order_by("seq")
            assert [row.why for row in closed] == ["settled", "warranty_return"]

    def test_nothing_comes_back_before_it_was_handed_over(self, small: SmallShop) -> None:
        job = at_work(small, booked(small), *DONE)
        assert problem(small.office.post(f"jobs/{job.pk}/returns", self.SAID), 409)["code"] == "job_state"
        job = handed_over(small)
        for day in ("2026-03-01", "2026-03-03"):
            asked = {**self.SAID, "came_on": day}
            assert problem(small.office.post(f"jobs/{job.pk}/returns", asked), 422)["code"] == "bad_return"


def test_another_shop_s_job_is_not_there(small: SmallShop, elsewhere: Office) -> None:
    job = handed_over(small)
    for path in ("payments", "balance", "leak-tests", "warranty", "returns"):
        assert elsewhere.get(f"jobs/{job.pk}/{path}").status_code == 404
    for path, body in (
        ("payments", paying("1.00")),
        ("payments/1/taken-back", {"client_id": str(uuid.uuid4()), "note": "no"}),
        ("leak-tests", HOSE),
        ("hand-over", HANDED),
        ("settling", {}),
        ("returns", TestReturns.SAID),
    ):
        assert elsewhere.post(f"jobs/{job.pk}/{path}", body).status_code == 404


def test_analysts_read_and_write_nothing(small: SmallShop) -> None:
    job = handed_over(small)
    for path in ("payments", "balance", "leak-tests", "warranty", "returns"):
        assert small.office.get(f"jobs/{job.pk}/{path}", role=ANALYST).status_code == 200
    for path, body in (("leak-tests", HOSE), ("hand-over", HANDED), ("settling", {}), ("returns", TestReturns.SAID)):
        assert problem(small.office.post(f"jobs/{job.pk}/{path}", body, role=ANALYST), 403)["code"] == "role_not_allowed"
