"""Goods and invoices on a job: what they cost, what they are worth, and whether plan, purchase and use agree."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from tests.rest.ledgers import Body, Logging
from tests.rest.office import places, problem
from tests.rest.quoting import Clock, Quoting

pytestmark = pytest.mark.django_db

# fixtures/network: framing strips are stock, 8 ft a pack at 6.80; adhesive is bought for the job, a gallon at 118.00; both are
# marked up by 35 %. The sample job takes 6 packs of strip (36 ft net) and 7 gallons (5.8059 net).
STRIP, ADHESIVE = "framing-strip-2-by-2-in", "laminating-adhesive-polyurethane"
INVOICE = {"supplier": "Invented Supply", "invoice": "A-17"}


@pytest.fixture
def logging(quoting: Quoting, clock: Clock) -> Logging:
    return Logging(quoting, clock)


def usd(amount: str) -> Body:
    return {"amount": amount, "currency": "USD"}


def purchase(logging: Logging, quantity: str, price: str, **changes: Any) -> Body:
    return logging.entry("purchase", quantity=quantity, price=usd(price), **{**INVOICE, **changes})


def figures(entry: Body) -> tuple[str, ...]:
    return tuple(entry[name] for name in ("quantity", "unit", "rate", "cost", "value"))


def material(logging: Logging, slug: str, **kwargs: Any) -> Body:
    answer = logging.office.get(f"jobs/{logging.job.pk}/materials", **kwargs).json()
    (found,) = [each for each in answer["materials"] if each["material"] == slug]
    return dict(found)


def test_goods_of_the_shelf_cost_with_their_issue_at_the_frozen_price(logging: Logging) -> None:
    told = logging.logged(
        logging.entry("issued", material=STRIP, quantity="2"),
        logging.entry("issued", material=STRIP, quantity="4", counted_in="use"),
        logging.entry("returned", material=STRIP, quantity="1"),
        logging.entry("used", material=STRIP, quantity="12", counted_in="use"),
    )
    shown = {entry["kind"] + entry["unit"]: entry for entry in logging.ledger()}

    # 2 x 6.80 = 13.60, x 1.35 = 18.36. A foot is 6.80 / 8 = 0.85, x 1.35 = 1.1475; four of them 3.40 and 4.59.
    assert figures(shown["issuedpack"]) == ("2.0000", "pack", "6.800000", "13.60", "18.36")
    assert figures(shown["issuedft"]) == ("4.0000", "ft", "0.850000", "3.40", "4.59")
    assert figures(shown["returnedpack"]) == ("1.0000", "pack", "6.800000", "-6.80", "-9.18")
    # What is used cost when it was issued.
    assert figures(shown["usedft"]) == ("12.0000", "ft", "0.000000", "0.00", "0.00")
    line = logging.line("material", slug=STRIP)
    assert [entry["line"] for entry in told] == [line.position] * 4
    assert {entry["source"] for entry in shown.values()} == {"stock"}


def test_goods_for_the_job_cost_as_invoiced_and_not_again_when_they_are_issued(logging: Logging) -> None:
    logging.logged(
        purchase(logging, "7", "120.50", material=ADHESIVE, invoice_line=3, returnable=False),
        logging.entry("issued", material=ADHESIVE, quantity="7"),
    )
    shown = {entry["kind"]: entry for entry in logging.ledger()}

    # 7 x 120.50 = 843.50; x 1.35 = 1,138.725, half up.
    assert figures(shown["purchase"]) == ("7.0000", "pack", "120.500000", "843.50", "1138.73")
    assert (shown["purchase"]["invoice"], shown["purchase"]["invoice_line"]) == ("A-17", 3)
    assert (shown["purchase"]["returnable"], shown["issued"]["returnable"]) == (False, None)
    assert figures(shown["issued"]) == ("7.0000", "pack", "0.000000", "0.00", "0.00")
    assert shown["issued"]["source"] == "job"


def test_what_is_no_material_is_passed_on_at_cost_unless_a_class_is_named(logging: Logging) -> None:
    told = logging.logged(
        purchase(logging, "2", "10.00", words="a crate"),
        purchase(logging, "1", "10.00", words="a rope", markup_class="materials"),
        logging.entry("subcontract", words="a welder", amount=usd("200.00"), line=logging.line().position, **INVOICE),
        logging.entry("credit", amount=usd("30.00"), material=ADHESIVE, supplier="Invented Supply", invoice="C-2"),
    )
    shown = {entry["words"] or entry["kind"]: entry for entry in logging.ledger()}

    assert figures(shown["a crate"]) == ("2.0000", "", "10.000000", "20.00", "20.00")
    assert figures(shown["a rope"]) == ("1.0000", "", "10.000000", "10.00", "13.50")
    assert figures(shown["a welder"]) == ("1.0000", "", "200.000000", "200.00", "200.00")
    # A credit takes off: 30 x 1.35 = 40.50. It stands on the line of its material.
    assert figures(shown["credit"]) == ("1.0000", "", "-30.000000", "-30.00", "-40.50")
    assert [entry["quoted"] for entry in told] == [False, False, True, True]


def test_goods_for_the_shelf_have_no_job(logging: Logging) -> None:
    entry = purchase(logging, "10", "6.70", material=STRIP)
    placed = purchase(logging, "1", "6.70", material=STRIP, line=3)

    (told,) = logging.office.post("entries", {"entries": [entry]}).json()["entries"]
    refused = logging.office.post("entries", {"entries": [placed]})

    assert (told["status"], told["quoted"]) == ("added", True)
    assert logging.ledger() == []
    assert places(refused) == {"#/entries/0/line": "entry_member"}


def test_a_material_that_the_job_was_not_sold_on_counts_by_todays_edition_and_says_so(logging: Logging) -> None:
    (told,) = logging.logged(logging.entry("issued", material="contact-adhesive-foam-safe", quantity="1", source="stock"))
    (shown,) = logging.ledger()

    # 72.00 a gallon today.
    assert (figures(shown)[3:], shown["valued_by"], told["quoted"]) == (("72.00", "97.20"), "edition", False)
    assert places(logging.send(logging.entry("used", material="no-such", quantity="1"))) == {
        "#/entries/0/material": "no_material"
    }


def test_every_kind_says_which_members_it_needs_and_takes(logging: Logging) -> None:
    answer = logging.send(
        logging.entry("issued", quantity="1"),
        logging.entry("purchase", quantity="1", price=usd("1.00"), supplier="Invented", material=STRIP, words="too"),
        logging.entry("time", worker=logging.worker, hours="1", supplier="Invented", line=1, component="deck"),
        logging.entry("subcontract", amount=usd("5.00"), worker=logging.worker, **INVOICE),
        logging.entry("other_hours", worker=logging.worker, hours="1", reason="other"),
    )

    assert places(answer) == {
        "#/entries/0/material": "entry_member",
        "#/entries/1/invoice": "entry_member",
        "#/entries/1/material": "entry_member",
        "#/entries/2/supplier": "entry_member",
        "#/entries/2/component": "entry_member",
        "#/entries/3/worker": "entry_member",
        "#/entries/4/note": "entry_member",
    }
    shapes = logging.send(
        logging.entry("issued", hours="1", material=STRIP),
        logging.time("0"),
        logging.time("24.5"),
        purchase(logging, "0", "1.00", material=STRIP),
        logging.entry("credit", amount=usd("0.00"), **INVOICE),
    )
    assert places(shapes) == {
        "#/entries/0/hours": "entry_member",
        "#/entries/1/hours": "not_a_quantity",
        "#/entries/2/hours": "not_a_quantity",
        "#/entries/3/quantity": "not_a_quantity",
        "#/entries/4/amount": "bad_amount",
    }


def test_an_estimator_enters_an_invoice_and_reads_no_price(logging: Logging) -> None:
    logging.logged(purchase(logging, "7", "120.50", material=ADHESIVE), role="estimator")

    seen = material(logging, ADHESIVE, role="estimator")
    known = material(logging, ADHESIVE, role="analyst")

    assert "pack_price" not in seen
    assert "price" not in seen["purchases"][0]
    # Everybody sees that it was dearer than the job was sold on: 118.00.
    assert (seen["flags"], seen["purchases"][0]["dearer"]) == (["price_above"], True)
    assert (known["pack_price"], known["purchases"][0]["price"]) == ("118.00", "120.500000")


def test_planned_bought_and_used_are_compared_in_the_unit_of_use(logging: Logging) -> None:
    before = material(logging, STRIP)
    logging.logged(
        logging.entry("issued", material=STRIP, quantity="5"),
        logging.entry("issued", material=STRIP, quantity="10", counted_in="use"),
        logging.entry("used", material=STRIP, quantity="36", counted_in="use"),
        logging.entry("returned", material=STRIP, quantity="1"),
    )

    found = material(logging, STRIP)

    # Stock is billed in packs by the shipped rule: 6 packs of 8 ft are planned, 36 ft net.
    assert (before["planned_packs"], before["planned_net"], before["planned"], before["flags"]) == ("6", "36", "48", [])
    # Issued 5 x 8 + 10 = 50 ft, back 8, used 36: 6 ft are nowhere. Off the shelf came 50 - 8 = 42 ft, not more than 48.
    assert {name: found[name] for name in ("bought", "issued", "returned", "used", "supplied", "left")} == {
        "bought": "0", "issued": "50", "returned": "8", "used": "36", "supplied": "42", "left": "6",
    }  # fmt: skip
    assert found["flags"] == ["issued_not_used"]


def test_more_than_planned_and_what_nobody_planned_are_flagged(logging: Logging) -> None:
    logging.logged(
        purchase(logging, "8", "118.00", material=ADHESIVE),
        purchase(logging, "1", "72.00", material="contact-adhesive-foam-safe"),
        logging.entry("used", material=ADHESIVE, quantity="7"),
    )

    assert material(logging, ADHESIVE)["flags"] == ["more_than_planned", "used_without_issue"]
    strange = material(logging, "contact-adhesive-foam-safe")
    assert (strange["flags"], strange["frozen"]) == (["not_planned"], False)


def test_a_line_of_an_invoice_that_stands_twice_is_flagged_and_not_refused(logging: Logging) -> None:
    # Two parts of one line may be for two places of the job; whoever entered it twice sees it here.
    logging.logged(
        purchase(logging, "4", "118.00", material=ADHESIVE, invoice_line=1),
        purchase(logging, "3", "118.00", material=ADHESIVE, invoice_line=1),
    )

    assert material(logging, ADHESIVE)["flags"] == ["invoiced_twice"]


def test_a_purchase_that_was_taken_back_is_no_purchase(logging: Logging) -> None:
    (wrong,) = logging.logged(purchase(logging, "8", "130.00", material=ADHESIVE))
    body = {"client_id": "2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10", "note": "another job's"}
    assert logging.office.post(f"entries/{wrong['id']}/correction", body).status_code == 200

    found = material(logging, ADHESIVE)

    assert (found["bought"], found["purchases"], found["flags"]) == ("0", [], [])


def test_a_match_takes_as_many_queries_whatever_was_logged(logging: Logging) -> None:
    path = f"jobs/{logging.job.pk}/materials"

    def queries() -> int:
        logging.office.get(path)
        with CaptureQueriesContext(connection) as seen:
            logging.office.get(path)
        return len(seen)

    before = queries()
    logging.logged(
        *(purchase(logging, "1", "72.00", material="contact-adhesive-foam-safe", invoice_line=at) for at in range(1, 40))
    )

    assert queries() == before


def test_another_shops_job_has_no_materials(logging: Logging) -> None:
    problem(logging.office.get("jobs/999999/materials"), 404)
