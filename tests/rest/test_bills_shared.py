"""Bills of several payers, of work by the hour, and in a currency without decimals."""

from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from django.utils import timezone

from quotes.models import Job, LedgerEntry
from tests.rest.billing import found, ordered
from tests.rest.office import office, problem
from tests.rest.quoting import Clock
from tests.rest.test_payers import amount, insurer, put, rule
from tests.rest.working import at_work, book, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db

DONE = ("opening_up", "rebuilding", "testing")
FRAMES = [
    rule("assembly", "backing-frame"), rule("component", "opening_frame"), rule("assembly", "membrane-on"),
]  # fmt: skip


def insured(small: SmallShop) -> Job:
    """The page's job, of which an insurer pays the membrane and the frames less 500.00; found and ordered as the page says."""
    quote = small.draft().json()
    assert put(small, quote["id"], [insurer(deductible=amount("500.00"))], FRAMES).status_code == 200
    answer = small.issue(quote["id"])
    assert answer.status_code == 200, answer.content.decode()
    job = at_work(small, book(small, quote["id"]), *DONE)
    found(small, job)
    ordered(small, job)
    return job


def bill(small: SmallShop, job: Job, **body: Any) -> dict[str, dict[str, Any]]:
    answer = small.office.post(f"jobs/{job.pk}/bills", {"kind": "final", **body})
    assert answer.status_code == 201, answer.content.decode()
    return {one["payer"]: one for one in answer.json()["bills"]}


def test_each_payer_gets_a_bill_and_together_they_are_the_job_s(small: SmallShop) -> None:
    bills = bill(small, insured(small))

    # As worked in tests/calc/test_bill.py: 2,364.91 + 195.11 - 500.00, and the rest of 4,248.00.
    assert {payer: one["total"] for payer, one in bills.items()} == {"owner": "2187.98", "insurer": "2060.02"}
    assert (bills["insurer"]["net"], bills["insurer"]["deductible"]) == ("2364.91", "-500.00")
    assert {one["job_total"] for one in bills.values()} == {"4248.00"}
    assert len({one["number"] for one in bills.values()}) == 2


def test_a_credit_to_one_payer_keeps_the_sum_of_all(small: SmallShop) -> None:
    job = insured(small)
    bills = bill(small, job)
    asked = {"lines": [{"key": "line:7"}], "reason": "another adhesive was used"}
    notes = small.office.post(f"bills/{bills['insurer']['id']}/credit", asked).json()["bills"]

    # The insurer's adhesive, 218.70, was billed without tax: 3,705.53; tax 305.7062; 4,011.24; to the unit 4,011.00.
    assert notes[0]["payer"] == "insurer"
    assert {note["job_total"] for note in notes} == {"4011.00"}
    now = {row["payer"]: row["billed"] for row in small.office.get(f"jobs/{job.pk}/balance").json()["payers"]}
    assert sum(map(Decimal, now.values())) == Decimal("4011.00")
    assert next(line for line in notes[0]["lines"] if line["source"] == "credit")["now"] == "-218.70"
    owner_s = {"lines": [{"key": "line:7"}], "reason": "not his line"}
    assert problem(small.office.post(f"bills/{bills['owner']['id']}/credit", owner_s), 422)["code"] == "bad_credit"


def test_goodwill_to_the_owner_leaves_the_deductible(small: SmallShop) -> None:
    job = insured(small)
    bills = bill(small, job)
    # The owner's own lines are 3,924.23 - 2,364.91 = 1,559.32, and the 500.00 that he bears of the insurer's are none of them.
    for much in ("1559.33", "2187.98"):
        asked = {"goodwill": amount(much), "reason": "the delay"}
        assert problem(small.office.post(f"bills/{bills['owner']['id']}/credit", asked), 422)["code"] == "bad_credit"
    asked = {"goodwill": amount("1559.32"), "reason": "the delay"}
    (note,) = [
        one
        for one in small.office.post(f"bills/{bills['owner']['id']}/credit", asked).json()["bills"]
        if one["payer"] == "owner"
    ]
    assert (note["net"], note["deductible"]) == ("0.00", "500.00")


def test_stages_of_several_payers_add_up_to_the_final_bill(small: SmallShop) -> None:
    job = insured(small)
    for done in ([{"phase": "strip", "share": "1"}], [{"phase": "strip", "share": "1"}, {"phase": "skin", "share": "0.333"}]):
        bill(small, job, kind="stage", done=done)
    last = bill(small, job)
    rows = small.office.get(f"bills?job={job.pk}").json()["results"]
    for payer, one in last.items():
        assert sum(Decimal(row["due"]) for row in rows if row["payer"] == payer) == Decimal(one["total"])
    assert sum(Decimal(row["due"]) for row in rows) == Decimal("4248.00")


def logged(small: SmallShop, job: Job, kind: str, value: str, **columns: Any) -> None:
    with small.office.scope():
        LedgerEntry(
            shop=small.shop, job=job, kind=kind, day=date(2026, 3, 2), rate=Decimal(1), cost=Decimal(1), value=Decimal(value),
            created=timezone.now(), **{"quantity": Decimal(1), "unit": "h", **columns},
        ).save(force_insert=True)  # fmt: skip


class TestByTheHour:
    @pytest.fixture
    def job(self, small: SmallShop) -> Job:
        small.own_edition(
            "rule", "standard", price_basis="open", minimum_charge="0", supplies_share="0.03", supplies_cap="60",
            overhead_share="0.08", tax_mode="parts_and_labour", tax_rates=[{"name": "Sales tax", "rate": "0.0825"}],
            total_step="1",
        )  # fmt: skip
        return at_work(small, booked(small), *DONE)

    def test_what_was_logged_on_agreed_lines_is_billed(self, small: SmallShop, job: Job) -> None:
        logged(small, job, "time", "500.00", line=1, trade="technician", quantity=Decimal(5))
        logged(small, job, "purchase", "218.70", line=7, material="adhesive", unit="pack")
        # Nobody quoted these, so they are not billed until somebody puts them where they belong.
        logged(small, job, "time", "900.00", trade="technician", quantity=Decimal(9))
        one = bill(small, job)["owner"]

        # Supplies 3 % of 500.00 = 15.00; overhead 8 % of 733.70 = 58.70; 792.40; tax 65.37; 857.77; to the unit 858.00.
        assert [(line["key"], line["amount"]) for line in one["lines"]] == [
            ("line:1:technician", "500.00"),
            ("line:7:adhesive", "218.70"),
            ("shop:shop-supplies", "15.00"),
            ("shop:overhead", "58.70"),
        ]
        assert (one["net"], one["tax"], one["total"]) == ("792.40", "65.37", "858.00")

    def test_what_passes_the_limit_is_cut_and_the_cut_shows(self, small: SmallShop, job: Job) -> None:
        logged(small, job, "time", "9000.00", line=1, trade="technician", quantity=Decimal(90))
        now = small.office.get(f"jobs/{job.pk}/bill").json()

        assert now["steps"][1]["text"] == "Above the limit, not billed"
        # 9,000.00 + 60.00 + 724.80 were logged; the limit is what the job says.
        assert Decimal(now["net"]) == Decimal("9784.80") + Decimal(now["steps"][1]["amount"])
        with small.office.scope():
            held = Job.objects.for_shop(small.shop).get(pk=job.pk)
        assert Decimal(now["net"]) <= held.authorised
        assert Decimal(now["total"]) == held.authorised_with_tax


def test_a_currency_without_decimals_is_billed_in_whole_units(db: None, clock: Clock) -> None:
    small = SmallShop(office(currency="JPY"))
    job = at_work(small, booked(small), *DONE)
    (first,) = bill(small, job, kind="stage", done=[{"phase": "strip", "share": "0.5"}]).values()
    (last,) = bill(small, job).values()

    # Skin off 935; half of it 468 (467.5 up); of 3,174 with a phase it is 0.1474...: supplies 9 of 60, overhead 38 of 259.
    assert [(line["key"], line["amount"]) for line in first["lines"]] == [
        ("line:1", "468"), ("line:10", "9"), ("line:11", "38"),
    ]  # fmt: skip
    assert int(first["due"]) + int(last["due"]) == int(last["total"])
    with small.office.scope():
        assert Job.objects.for_shop(small.shop).get(pk=job.pk).base_with_tax == Decimal(last["total"])
