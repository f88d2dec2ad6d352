"""The settlement of a job that stops, over the API: a roof that was declined after teardown, worked by hand."""

from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST
from quotes.models import ChangeOrder, Consent, Job, Settlement
from tests.rest.changing import AT, accepted, done, found, no, opened, sent, wish, yes
from tests.rest.consenting import by_link
from tests.rest.office import places, problem
from tests.rest.working import at_work, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db

Body = dict[str, Any]

DECLINED: Body = {
    "stopped_on": "2026-03-02",
    "reason": "The owner does not want the frame repaired.",
    "done": [{"assembly": "skin-off", "extent": "160"}],
    "kept": [{"material": "adhesive", "quantity": "3"}],
    "close_up": {"hours": [{"trade": "technician", "hours": "2", "reason": "a cover over the open roof"}]},
    "storage": {"days": 5, "rate": {"amount": "20.00", "currency": "USD"}, "tax_class": "labour"},
}


def settled(small: SmallShop, job: Job, body: Body | None = None) -> Body:
    answer = small.office.post(f"jobs/{job.pk}/settlements", body or DECLINED)
    assert answer.status_code == 201, answer.content.decode()
    settlement: Body = answer.json()
    return settlement


def act(small: SmallShop, job: Job, settlement: Body, what: str, body: Body | None = None) -> Any:
    path = f"jobs/{job.pk}/settlements/{settlement['id']}"
    tag = small.office.get(path)["ETag"]
    return small.office.post(f"{path}/{what}", body or {}, headers={"If-Match": tag})


def shown(small: SmallShop, job: Job, body: Body | None = None) -> Body:
    """A settlement that was sent."""
    answer = act(small, job, settled(small, job, body), "sending")
    assert answer.status_code == 200, answer.content.decode()
    settlement: Body = answer.json()
    return settlement


def signature(settlement: Body, **changes: Any) -> Body:
    return {
        "manner": "written",
        "name": "Invented Owner",
        "at": AT,
        "document_hash": settlement["document_hash"],
        "amount_with_tax": {"amount": settlement["amount_with_tax"], "currency": "USD"},
        **changes,
    }


def test_a_roof_that_was_declined_after_teardown(small: SmallShop) -> None:
    # As worked by hand in tests/calc/test_settlement.py, with the overhead of the cover, 8 % of 200.00: 1,570.03 + 16.00 =
    # 1,586.03; tax 8.25 % = 130.85; 1,716.88 to 1,717.00.
    settlement = settled(small, opened(small))

    assert [(line["source"], line["name"], line["amount"]) for line in settlement["lines"]] == [
        ("agreed", "skin-off", "935.00"),
        ("agreed", "adhesive", "218.70"),
        ("agreed", "Shop supplies", "22.25"),
        ("agreed", "Overhead", "94.08"),
        ("close_up", "technician", "200.00"),
        ("close_up", "Overhead", "16.00"),
        ("storage", "Storage", "100.00"),
    ]
    assert (settlement["amount"], settlement["tax"], settlement["rounding"]) == ("1586.03", "130.85", "0.12")
    assert (settlement["amount_with_tax"], settlement["paid"], settlement["due"]) == ("1717.00", "0.00", "1717.00")


def test_signing_as_it_is_stops_the_job_and_takes_waiting_orders_back(small: SmallShop) -> None:
    job = opened(small)
    waiting = sent(small, job, found())
    settlement = shown(small, job)
    assert "under no warranty" in " ".join(settlement["document"]["terms"])

    answer = act(small, job, settlement, "signing", signature(settlement))

    assert answer.status_code == 201, answer.content.decode()
    assert (answer.json()["state"], answer.json()["job_state"]) == ("signed", "stopped")
    with small.office.scope():
        consent = Consent.objects.for_shop(small.shop).get(document="settlement")
        order = ChangeOrder.objects.for_shop(small.shop).get(pk=waiting["id"])
    assert consent.document_hash == settlement["document_hash"]
    assert len(consent.said["as_is"]) == 4
    assert order.state == "withdrawn"
    with small.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
        Settlement.objects.for_shop(small.shop).filter(pk=settlement["id"]).update(amount=1)


def test_a_stopped_job_is_billed_what_was_signed_and_nothing_else(small: SmallShop) -> None:
    job = opened(small)
    settlement = shown(small, job)
    act(small, job, settlement, "signing", signature(settlement))

    answer = small.office.post(f"jobs/{job.pk}/bills", {"kind": "final"})

    assert answer.status_code == 201, answer.content.decode()
    (bill,) = answer.json()["bills"]
    assert bill["total"] == "1717.00"


def test_a_stop_that_was_accepted_waits_for_its_settlement(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, found())

    assert done(small, job, order, "acceptance", yes(order, "stop")).json()["job_state"] == "waiting"
    settlement = shown(small, job)
    assert act(small, job, settlement, "signing", signature(settlement)).json()["job_state"] == "stopped"


def test_what_was_ordered_is_settled_by_its_share(small: SmallShop) -> None:
    # Half of the patch: 100.00, its pack 72.90, and 21.83 x 172.90 / 272.90 = 13.83.
    job = opened(small)
    accepted(small, job, wish())
    body = {
        "stopped_on": "2026-03-02",
        "reason": "x",
        "orders": [{"number": 1, "share": "0.5"}],
        "kept": [{"material": "adhesive", "quantity": "4"}],
    }

    settlement = settled(small, job, body)

    assert [line["amount"] for line in settlement["lines"] if line["order"] == 1] == ["100.00", "72.90", "13.83"]


def test_a_settlement_that_does_not_hold_any_more_is_sent_again(small: SmallShop) -> None:
    job = opened(small)
    settlement = shown(small, job)
    accepted(small, job, wish())

    assert problem(act(small, job, settlement, "signing", signature(settlement)), 409)["code"] == "other_document"
    again = act(small, job, settlement, "sending").json()
    less = {"amount": "1.00", "currency": "USD"}
    assert problem(act(small, job, again, "signing", signature(again, amount_with_tax=less)), 409)["code"] == "other_amount"
    assert act(small, job, again, "signing", signature(again)).status_code == 201


def test_a_settlement_that_is_refused_is_worked_out_anew(small: SmallShop) -> None:
    job = opened(small)
    settlement = shown(small, job)

    told = act(small, job, settlement, "refusal", no()).json()

    assert (told["state"], told["job_state"], told["consent"]["outcome"]) == ("draft", "opening_up", "declined")
    path = f"jobs/{job.pk}/settlements/{settlement['id']}"
    again = small.office.change(path, {**DECLINED, "storage": None}, method="PUT").json()
    assert again["amount"] == "1486.03"


def test_a_job_has_one_settlement_and_it_can_be_taken_back(small: SmallShop) -> None:
    job = opened(small)
    first = settled(small, job)
    assert problem(small.office.post(f"jobs/{job.pk}/settlements", DECLINED), 409)["code"] == "settlement_state"
    assert act(small, job, first, "withdrawal").json()["state"] == "withdrawn"
    second = settled(small, job)
    listed = small.office.get(f"jobs/{job.pk}/settlements", role=ANALYST).json()["results"]
    assert [row["id"] for row in listed] == [second["id"], first["id"]]
    assert problem(act(small, job, first, "sending"), 409)["code"] == "settlement_state"


def test_more_than_was_sold_points_to_its_place(small: SmallShop) -> None:
    job = opened(small)
    path = f"jobs/{job.pk}/settlements"
    odd = {**DECLINED, "done": [{"assembly": "bead", "extent": "1"}, {"assembly": "skin-off", "extent": "161"}]}
    assert places(small.office.post(path, odd)) == {"#/done/1/extent": "bad_settlement"}
    unknown = {**DECLINED, "kept": [{"material": "nails", "quantity": "1"}]}
    assert places(small.office.post(path, unknown)) == {"#/kept/0/quantity": "bad_settlement"}
    twice = {**DECLINED, "done": [DECLINED["done"][0]] * 2}
    assert places(small.office.post(path, twice)) == {"#/done": "bad_settlement"}
    cover = {**DECLINED, "close_up": {"hours": [{"trade": "technician", "hours": "0", "reason": "x"}]}}
    assert places(small.office.post(path, cover)) == {"#/close_up/hours/0/hours": "bad_work"}


def test_records_propose_and_nobody_takes_them_by_themselves(small: SmallShop) -> None:
    job = opened(small)

    proposal = small.office.get(f"jobs/{job.pk}/settlement-proposal").json()

    by_name = {row["assembly"]: row for row in proposal["done"]}
    assert (by_name["skin-off"]["quoted"], by_name["skin-off"]["unit"], by_name["skin-off"]["done"]) == ("160", "ft2", "0.0000")
    assert (by_name["skin-off"]["hours_quoted"], by_name["skin-off"]["by"]) == ("9.3500", "hours logged")
    assert proposal["opened"] == []
    assert (proposal["drawn"], proposal["paid"], proposal["most"]) == ("0.00", "0.00", "3929.00")


STAIN = {"kind": "stain", "section": "main", "place": "the skin", "words": "rust", "recommendation": "to be looked at"}


def open_up(small: SmallShop, job: Job, *codes: str, **changes: Any) -> Body:
    body = {"day": "2026-03-02", "cells": [{"section": "main", "cell": code} for code in codes], "findings": [STAIN], **changes}
    answer = small.office.post(f"jobs/{job.pk}/openings", body)
    assert answer.status_code == 201, answer.content.decode()
    made: Body = answer.json()
    return made


def test_what_took_the_roof_off_is_proposed_by_the_places_on_record(small: SmallShop) -> None:
    # 40 cells of 4 sq ft. Three entries: cells 1A to 1D with the rear ring, 1A and 2A of which only 2A is new, and one with two
    # of row 3 that is taken back. Five cells stand, 20 of 160 sq ft = 0.125: 20 of the 160 sq ft of skin. All else is by hours.
    job = opened(small)
    open_up(small, job, "1A", "1B", "1C", "1D", rings=[{"section": "main", "opening": "rear vent"}])
    open_up(small, job, "1A", "2A")
    open_up(small, job, corrects=open_up(small, job, "3A", "3B")["id"])

    proposal = small.office.get(f"jobs/{job.pk}/settlement-proposal").json()

    assert proposal["opened"] == [
        {"places": "cells", "unit": "ft2", "opened": "20.0000", "of": "160.0000", "share": "0.125000"},
        {"places": "rings", "unit": "each", "opened": "1.0000", "of": "2.0000", "share": "0.500000"},
    ]
    by_name = {row["assembly"]: row for row in proposal["done"]}
    assert {name: (row["done"], row["by"]) for name, row in by_name.items()} == {
        "skin-off": ("20.0000", "cells opened"),
        "membrane-on": ("0.0000", "hours logged"),
        "bead": ("0.0000", "hours logged"),
        "backing-frame": ("0.0000", "hours logged"),
    }
    assert (by_name["skin-off"]["hours_logged"], by_name["skin-off"]["hours_quoted"]) == ("0", "9.3500")


def test_a_proposal_costs_as_many_queries_however_much_was_opened(small: SmallShop) -> None:
    job = opened(small)
    counts = []
    for rows in ("1", "2", "3456"):
        for row in rows:
            open_up(small, job, f"{row}A", f"{row}B")
        with CaptureQueriesContext(connection) as queries:
            assert small.office.get(f"jobs/{job.pk}/settlement-proposal").status_code == 200
        counts.append(len(queries))

    assert counts[1] == counts[2] <= counts[0]


def test_a_job_is_not_stopped_without_a_settlement(small: SmallShop) -> None:
    job = opened(small)
    tag = small.office.get(f"jobs/{job.pk}")["ETag"]
    answer = small.office.post(f"jobs/{job.pk}/state", {"to": "stopped", "reason": "x"}, headers={"If-Match": tag})

    assert problem(answer, 409)["code"] == "settlement_missing"


def test_only_a_job_at_work_is_settled_so(small: SmallShop) -> None:
    job = booked(small)
    assert problem(small.office.post(f"jobs/{job.pk}/settlements", DECLINED), 409)["code"] == "job_state"
    gone = at_work(small, booked(small), "opening_up", "rebuilding", "testing", "handed_over")
    assert problem(small.office.post(f"jobs/{gone.pk}/settlements", DECLINED), 409)["code"] == "job_state"


def test_an_owner_signs_by_a_link(small: SmallShop) -> None:
    job = opened(small)
    settlement = shown(small, job)
    path = f"jobs/{job.pk}/settlements/{settlement['id']}/links"
    token = small.office.post(path, {"sent_how": "email"}).json()["token"]
    assert problem(small.office.post(path, {"sent_how": "email", "payer": "insurer"}), 422)["code"] == "no_such_payer"
    assert len(small.office.get(path).json()["results"]) == 1

    paper = by_link(token).json()
    answer = by_link(
        token,
        "/acceptance",
        {
            "name": "Invented Owner",
            "document_hash": paper["document_hash"],
            "limit_with_tax": {"amount": paper["document"]["amount_with_tax"], "currency": "USD"},
            "affirmed": True,
            "reviewed": True,
        },
    )

    assert (answer.status_code, answer.json()["state"]) == (201, "signed")
    assert small.office.get(f"jobs/{job.pk}").json()["state"] == "stopped"


def test_an_owner_who_does_not_sign_sends_it_back_by_a_link(small: SmallShop) -> None:
    job = opened(small)
    settlement = shown(small, job)
    path = f"jobs/{job.pk}/settlements/{settlement['id']}/links"
    token = small.office.post(path, {"sent_how": "email"}).json()["token"]

    answer = by_link(token, "/refusal", {"name": "Invented Owner", "reason": "The cover is too dear."})

    assert (answer.status_code, answer.json()["state"]) == (201, "declined")
    act(small, job, settlement, "withdrawal")
    assert problem(by_link(token), 410)["code"] == "document_withdrawn"
