"""Jobs that do not go as most do: torn by a storm, paid by an insurer, of several coaches, in a currency without decimals."""

from decimal import Decimal

import pytest
from django.utils import timezone

from tests.rest import bodies
from tests.rest.consenting import amount
from tests.rest.fleets import Fleeting
from tests.rest.office import Office
from tests.rest.quoting import Body, Quoting
from tests.rest.test_quote_currencies import in_currency
from tests.scenarios.story import Story, story

pytestmark = pytest.mark.django_db

FRONT = [{"section": "main", "start": "0 ft", "end": "17 ft"}]


def insured(quoting: Quoting) -> Story:
    """The front half of the sample roof, torn by a storm; an insurer pays for the skin, less what the owner bears himself."""
    body = bodies.customer(kind="company", name="Invented Mutual", authorisers=[])
    customer = quoting.office.post("customers", body).json()["id"]
    draft = quoting.posted(quoting.body(scope=FRONT)).json()
    payers: Body = {
        "payers": [
            {
                "label": "insurer",
                "kind": "insurer",
                "customer": customer,
                "claim_reference": "C 1",
                "deductible": amount("500.00"),
            }
        ],
        "rules": [{"by": "phase", "of": "skin", "payer": "insurer", "cause": "storm"}],
    }
    changed = quoting.office.change(f"quotes/{draft['id']}/payers", payers, method="PUT")
    assert changed.status_code == 200, changed.content.decode()
    issued = quoting.issue(draft["id"])
    assert issued.status_code == 200, issued.content.decode()
    return Story(quoting, issued.json())


def test_an_insurer_and_an_owner_each_consent_to_and_pay_their_part(quoting: Quoting) -> None:
    job = insured(quoting)
    parts = {each["label"]: each["amounts"] for each in job.get(f"quotes/{job.quote['id']}/payers")["payers"]}

    waits = job.accept("owner")
    assert (waits["job"], waits["waits_for"]) == (None, ["insurer"])
    booked = job.accept("insurer")
    assert (booked["state"], booked["waits_for"]) == ("accepted", [])

    job.move("opening_up")
    job.move("rebuilding")
    job.finish()
    told = {each["payer"]: Decimal(each["total"]) for each in job.bills()}
    assert told == {label: Decimal(amounts["total"]) for label, amounts in parts.items()}
    assert sum(told.values()) == Decimal(job.quote["base_with_tax"])


def test_the_frame_of_an_air_conditioner_is_never_closed_up(quoting: Quoting) -> None:
    job = story(quoting)
    job.accept()
    job.move("opening_up")
    order: Body = {
        "cause": "beyond_pot",
        "component": "ac_frame",
        "title": "The frame of the front air conditioner",
        "ways": [
            {"way": "repair", "words": "A new frame.", "repairs": [{"component": "ac_frame", "extent": "1"}]},
            {"way": "close_up", "words": "The place is closed up as it was found."},
        ],
    }

    refused = job.post(f"jobs/{job.job}/change-orders", order, status=422)

    assert "close_up" in refused["code"] + str(refused.get("errors", ""))


def test_three_coaches_of_a_fleet_are_accepted_together_and_billed_one_by_one(quoting: Quoting) -> None:
    fleeting = Fleeting(quoting)
    fleet = fleeting.draft()
    shop = quoting.office
    issued = shop.post(f"fleets/{fleet['id']}/issue", {}, headers={"If-Match": shop.get(f"fleets/{fleet['id']}")["ETag"]})
    assert issued.status_code == 200, issued.content.decode()
    told = accepted_fleet(shop, fleet["id"])
    quotes = shop.get(f"quotes?fleet={fleet['id']}").json()["results"]

    billed = Decimal(0)
    for quote in quotes:
        job = Story(quoting, quote)
        job.job = shop.get(f"jobs?fleet={fleet['id']}&coach={quote['coach']}").json()["results"][0]["id"]
        job.move("opening_up")
        job.move("rebuilding")
        job.finish()
        bill = job.bill()
        # No tax and no step in the shipped rule: each coach's share of the lot, which add up to it.
        assert bill["total"] == quote["base_with_tax"]
        billed += Decimal(bill["net"])
    assert len(quotes) == 3
    assert billed == Decimal(told["base"])


def accepted_fleet(shop: Office, fleet_id: int) -> Body:
    """The fleet as it was issued, after all of it was accepted."""
    path = f"fleets/{fleet_id}"
    shown = shop.get(f"{path}/document").json()
    body = {
        "manner": "written", "name": "Invented Rentals' yard", "at": timezone.now().isoformat(), "old_parts": "discard",
        "document_hash": shown["document_hash"],
        "limit_with_tax": {"amount": shown["document"]["limit_with_tax"], "currency": "USD"},
    }  # fmt: skip
    answer = shop.post(f"{path}/acceptance", body, headers={"If-Match": shop.get(path)["ETag"]})
    assert answer.status_code == 201, answer.content.decode()
    amounts: Body = shop.get(path).json()["amounts"]
    return amounts


def test_a_job_in_a_currency_without_decimals_has_none_anywhere(db: None) -> None:
    """Overhead, two taxes and tens for the owner: tests/rest/test_quote_currencies.py works the quote, 35,450 with tax."""
    quoting = in_currency("JPY")
    job = Story(quoting, quoting.issued(offered=[]))
    job.accept()
    job.move("opening_up")
    job.move("rebuilding")
    job.finish()
    job.count_as_quoted()

    bill = job.bill()

    assert bill["total"] == job.quote["base_with_tax"]
    for name in ("net", "tax", "rounding", "total"):
        assert "." not in bill[name], (name, bill[name])
    job.pay(bill["total"])
    job.settle()
    assert job.shown()["state"] == "settled"
