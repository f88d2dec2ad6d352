"""The worked roof of DEVELOPERS.md section 1 from quote to settled job, over the API alone; every amount is the page's."""

from decimal import Decimal

import pytest

from tests.scenarios.small_shop import SmallShop
from tests.scenarios.story import Body, story

pytestmark = pytest.mark.django_db

PATCH: Body = {
    "cause": "owner_wish",
    "title": "A patch of 72 sq ft",
    "ways": [
        {
            "way": "repair",
            "words": "A patch of 72 sq ft is glued on top.",
            "hours": [{"trade": "technician", "hours": "2", "phase": "skin", "reason": "the patch"}],
            "materials": [{"material": "adhesive", "net": "0.9", "reason": "the patch"}],
        }
    ],
}


def test_the_roof_of_the_page_is_quoted_opened_changed_billed_and_settled(small: SmallShop) -> None:
    job = story(small)
    booked = job.accept()
    assert (booked["state"], booked["consent"]["limit_with_tax"]) == ("accepted", "3929.00")
    job.move("opening_up")

    # Step 11: the other frame is rotten. 1 x 87.711200 and the set-up once.
    rear = [{"section": "main", "opening": "rear vent"}]
    job.open(rings=rear, found=[{"component": "opening_frame", "condition": "rotten"}])
    note = job.note("opening_frame", "1 each")
    assert (note["amount"], note["left"]) == ("137.71", "0.00")
    assert job.shown()["authorised_with_tax"] == "3929.00"

    # Step 12: the owner wishes a patch.
    order = job.order(PATCH)
    changed = job.answer_order(order, "repair")
    assert (changed["authorised"], changed["authorised_with_tax"]) == ("3924.23", "4248.00")

    # What it takes: a technician at 40.00 an hour of cost (tests/scenarios/small_roof.py).
    job.move("rebuilding")
    worker = job.worker("north bay", "technician")
    job.log({"kind": "time", "worker": worker, "hours": "8", "assembly": "membrane-on"})
    job.finish()

    # Step 13: the counted frame was done as quoted.
    job.count("backing-frame", "1 each")
    bill = job.bill()
    assert (bill["net"], bill["tax"], bill["rounding"], bill["total"]) == ("3924.23", "323.75", "0.02", "4248.00")
    job.pay("4248.00")
    job.settle()

    done = job.shown()
    assert done["state"] == "settled"
    review = job.get(f"jobs/{job.job}/review", role="analyst")
    assert (review["bill"]["start"], review["bill"]["end"]) == ("3491.79", "4248.00")
    # 8 h of membrane instead of 10 h and no others logged: what was not worked is below plan, and nothing is over.
    assert Decimal(review["facts"]["actual_cost"]) < Decimal(review["facts"]["planned_cost"])
    assert job.get("reports/over-limit", role="analyst")["results"] == []
    assert job.get("reports/over-budget", role="analyst")["results"] == []
    chain = job.get(f"quotes/{job.quote['id']}/consents")
    assert (chain["intact"], [each["document"] for each in chain["consents"]]) == (True, ["quote", "change_order"])


def test_a_sound_frame_is_not_billed_and_nothing_is_drawn(small: SmallShop) -> None:
    """The counted frame was sound: 87.71 less. 3,404.08 + 8.25 % = 280.84 make 3,684.92, rounded 3,685.00."""
    job = story(small)
    job.accept()
    job.move("opening_up")
    job.open(rings=[{"section": "main", "opening": "rear vent"}], found=[{"component": "opening_frame", "condition": "sound"}])
    job.move("rebuilding")
    assert job.count("backing-frame", "0 each")["credit"] == "87.71"
    job.finish()

    bill = job.bill()

    assert (bill["net"], bill["tax"], bill["total"]) == ("3404.08", "280.84", "3685.00")
    assert Decimal(bill["total"]) < Decimal(job.shown()["authorised_with_tax"])
