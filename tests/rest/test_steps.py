"""A look first or a teardown sold before the whole, and what becomes of its job. Worked by hand on the small roof.

Teardown: skin off 935.00; supplies 3 % = 28.05; overhead 8 % of 963.05 = 77.04: 1,040.09.
Closing up 20 ft: technician 2 h + 20 x 0.12 = 4.4 h, 440.00, helper 2.4 h, 144.00; supplies 3 % of 1,519.00 = 45.57 less
28.05 = 17.52; overhead 8 % of 601.52 = 48.12: 649.64. Storage: ten days at 15.00 at most, 150.00.
Limit 1,839.73; tax 8.25 % = 151.78; 1,991.51, to whole units 1,992.00.
"""

from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from quotes.models import ChangeOrder, Job, StepOffer
from tests.rest.consenting import AT, amount, by_link, consents, yes
from tests.rest.consenting import accept as accept_quote
from tests.rest.office import problem
from tests.rest.quoting import Body, Clock, Quoting
from tests.rest.working import at_work
from tests.scenarios.small_shop import SmallShop

CLOSE_UP = [{"assembly": "close-up", "measures": [{"measure": "close_up_length", "value": "20 ft"}]}]
STORAGE = {"price": amount("15.00"), "most_days": 10}


@pytest.fixture(autouse=True)
def today(clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.rest.steps.timezone", clock)


@pytest.fixture
def shop(small: SmallShop) -> SmallShop:
    """The small shop with an assembly that closes a coach up."""
    small.own_edition("assembly", "close-up", materials=[], predecessors=[])
    return small


def draft(shop: Quoting, quote: Body, **changes: Any) -> Any:
    body = {"kind": "teardown", "close_up": CLOSE_UP, "storage": STORAGE, **changes}
    return shop.office.post(f"quotes/{quote['id']}/steps", body)


def drafted(shop: Quoting, quote: Body, **changes: Any) -> Body:
    answer = draft(shop, quote, **changes)
    assert answer.status_code == 201, answer.content.decode()
    step: Body = answer.json()
    return step


WAYS = {
    "issue": "quotes/{quote}/steps/{id}/issue",
    "withdrawal": "quotes/{quote}/steps/{id}/withdrawal",
    "acceptance": "quotes/{quote}/steps/{id}/acceptance",
    "refusal": "quotes/{quote}/steps/{id}/refusal",
    "close-up": "quotes/{quote}/steps/{id}/close-up",
    "links": "quotes/{quote}/steps/{id}/links",
}


def act(shop: Quoting, step: Body, way: str, body: Body | None = None, **kwargs: Any) -> Any:
    return shop.office.post(WAYS[way].format(**step), body or {}, **kwargs)


def issued(shop: Quoting, quote: Body, **changes: Any) -> Body:
    answer = act(shop, drafted(shop, quote, **changes), "issue")
    assert answer.status_code == 201, answer.content.decode()
    step: Body = answer.json()
    return step


def said(**changes: Any) -> Body:
    return {"manner": "written", "name": "Invented Owner", "at": AT, **changes}


def accept(shop: Quoting, step: Body, **changes: Any) -> Any:
    body = said(document_hash=step["document_hash"], limit_with_tax=amount(step["limit_with_tax"]), **changes)
    return act(shop, step, "acceptance", body)


def sold(shop: Quoting, quote: Body, **changes: Any) -> Body:
    answer = accept(shop, issued(shop, quote, **changes))
    assert answer.status_code == 201, answer.content.decode()
    step: Body = answer.json()
    return step


def job_of(shop: Quoting, step: Body) -> Body:
    answer = shop.office.get(f"jobs/{step['job']}")
    assert answer.status_code == 200, answer.content.decode()
    found: Body = answer.json()
    return found


def billable(shop: Quoting, step: Body) -> Decimal:
    """What the job comes to so far, before tax, as every bill reads it."""
    answer = shop.office.get(f"jobs/{step['job']}/bill")
    assert answer.status_code == 200, answer.content.decode()
    return Decimal(answer.json()["net"])


def authorised(shop: Quoting, step: Body) -> tuple[Decimal, Decimal]:
    with shop.office.scope():
        job = Job.objects.for_shop(shop.shop).get(pk=step["job"])
        return job.authorised, job.authorised_with_tax


def test_a_teardown_is_priced_with_its_closing_up_and_storage(shop: SmallShop) -> None:
    step = drafted(shop, shop.issued())
    assert (step["amount"], step["close_up"], step["storage"], step["limit"], step["limit_with_tax"]) == (
        "1040.09", "649.64", "150.00", "1839.73", "1992.00",
    )  # fmt: skip
    assert {(line["part"], line["slug"], line["trade"]): line["amount"] for line in step["lines"]} == {
        ("work", "skin-off", "technician"): "935.00",
        ("work", "shop-supplies", ""): "28.05",
        ("work", "overhead", ""): "77.04",
        ("close_up", "close-up", "technician"): "440.00",
        ("close_up", "close-up", "helper"): "144.00",
        ("close_up", "shop-supplies", ""): "17.52",
        ("close_up", "overhead", ""): "48.12",
        ("storage", "storage", ""): "150.00",
    }
    assert (step["state"], step["document"], step["counts"]) == ("draft", None, True)


def test_the_document_says_what_teardown_destroys_and_that_the_coach_may_not_go_back(shop: SmallShop) -> None:
    step = issued(shop, shop.issued(), destroyed=["the old membrane", "the corner trim"])
    document = step["document"]
    assert document["destroyed"] == ["the old membrane", "the corner trim"]
    assert "may not go back together as it was" in document["notice"]
    assert document["amounts"] == {"amount": "1040.09", "close_up": "649.64", "storage": "150.00", "limit": "1839.73"}
    assert document["storage"] == {"price_a_day": "15.00", "most_days": 10}
    assert document["limit_with_tax"] == "1992.00"
    assert "not paid twice" in document["terms"]["sentences"][-1]


def test_teardown_sold_opened_and_the_rebuild_declined_bills_the_closing_up_and_nothing_more(shop: SmallShop) -> None:
    quote = shop.issued()
    step = sold(shop, quote)
    job = job_of(shop, step)
    assert (job["state"], job["limit_with_tax"], job["authorised_with_tax"]) == ("booked", "0.00", "1992.00")
    assert (job["step"], job["whole"]) == (step["id"], False)
    assert authorised(shop, step) == (Decimal("1839.73"), Decimal("1992.00"))
    assert billable(shop, step) == Decimal("1040.09")
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "opening_up")
    declined = shop.office.post(
        f"quotes/{quote['id']}/refusal", said(reason="Too much rot for this coach."), headers={"If-Match": "*"}
    )
    assert declined.status_code == 201, declined.content.decode()
    closed = act(shop, step, "close-up", {"storage_days": 4, "reason": "The owner does not want the rebuild."})
    assert closed.status_code == 201, closed.content.decode()
    assert closed.json()["closed_up_at"]
    # 1,040.09 + 649.64 + 4 x 15.00 = 1,749.73, below the 1,839.73 that were consented to.
    assert billable(shop, step) == Decimal("1749.73")
    assert authorised(shop, step) == (Decimal("1839.73"), Decimal("1992.00"))
    assert job_of(shop, step)["state"] == "stopped"
    chain = consents(shop, quote["id"])
    assert chain["intact"]
    assert [(one["document"], one["outcome"], one["limit_with_tax"]) for one in chain["consents"]] == [
        ("step", "accepted", "1992.00"), ("quote", "declined", "0.00"),
    ]  # fmt: skip
    again = problem(act(shop, step, "close-up", {"reason": "twice"}), 409)
    assert again["code"] == "step_not_open"


def test_the_bill_of_a_coach_that_was_closed_up_is_the_last_and_settles_the_job(shop: SmallShop) -> None:
    step = sold(shop, shop.issued())
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "opening_up")
    assert act(shop, step, "close-up", {"storage_days": 4, "reason": "not this year"}).status_code == 201
    answer = shop.office.post(f"jobs/{step['job']}/bills", {"kind": "final"})
    assert answer.status_code == 201, answer.content.decode()
    (bill,) = answer.json()["bills"]
    # 1,749.73; tax 8.25 % = 144.3527 -> 144.35; 1,894.08, to whole units 1,894.00, below the 1,992.00 consented to.
    assert tuple(bill[name] for name in ("net", "tax", "rounding", "total")) == ("1749.73", "144.35", "-0.08", "1894.00")
    tag = shop.office.get(f"jobs/{step['job']}")["ETag"]
    settled = shop.office.post(f"jobs/{step['job']}/settling", {}, headers={"If-Match": tag})
    assert settled.status_code in (200, 201), settled.content.decode()
    assert job_of(shop, step)["state"] == "settled"


def test_what_was_billed_of_the_teardown_counts_toward_the_whole(shop: SmallShop) -> None:
    quote = shop.issued()
    step = sold(shop, quote)
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "opening_up")
    answer = shop.office.post(f"jobs/{step['job']}/bills", {"kind": "stage", "done": []})
    assert answer.status_code == 201, answer.content.decode()
    (stage,) = answer.json()["bills"]
    # 1,040.09; tax 85.8074 -> 85.81; 1,125.90, to whole units 1,126.00.
    assert (stage["net"], stage["total"], stage["due"]) == ("1040.09", "1126.00", "1126.00")
    assert accept_quote(shop, quote["id"]).status_code == 201
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "rebuilding", "testing")
    (final,) = shop.office.post(f"jobs/{step['job']}/bills", {"kind": "final"}).json()["bills"]
    # The page's 3,780.00 in all, of which 1,126.00 were billed.
    assert (final["net"], final["total"], final["due"]) == ("3491.79", "3780.00", "2654.00")


def test_the_same_job_goes_on_with_the_whole_and_the_teardown_is_not_charged_twice(shop: SmallShop) -> None:
    quote = shop.issued()
    step = sold(shop, quote)
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "opening_up")
    answer = accept_quote(shop, quote["id"])
    assert answer.status_code == 201, answer.content.decode()
    assert answer.json()["job"] == step["job"]
    job = job_of(shop, step)
    assert (job["state"], job["limit_with_tax"], job["authorised_with_tax"]) == ("opening_up", "3929.00", "3929.00")
    assert (job["step"], job["whole"]) == (step["id"], True)
    assert authorised(shop, step) == (Decimal("3629.50"), Decimal("3929.00"))
    # The visible work of the page: the teardown is in it, and is taken back where it was sold on its own.
    assert billable(shop, step) == Decimal("3491.79")
    assert (job["pot"]["contingency"], len(job["lines"])) == ("137.71", len(quote["lines"]))
    with shop.office.scope():
        orders = ChangeOrder.objects.for_shop(shop.shop).filter(job_id=step["job"]).order_by("number")
        assert [order.amount for order in orders] == [Decimal("1040.09"), Decimal("-1040.09")]
    assert problem(act(shop, step, "close-up", {"reason": "too late"}), 409)["code"] == "step_not_open"


def test_a_revision_after_teardown_is_taken_up_by_the_same_job(shop: SmallShop) -> None:
    quote = shop.issued()
    step = sold(shop, quote)
    revised = shop.revise(quote, reference="AFTER TEARDOWN")
    assert revised.status_code == 201, revised.content.decode()
    number = revised.json()["id"]
    assert shop.issue(number).status_code == 200
    answer = accept_quote(shop, number)
    assert answer.status_code == 201, answer.content.decode()
    assert (answer.json()["job"], job_of(shop, step)["quote"]) == (step["job"], number)
    assert billable(shop, step) == Decimal("3491.79")


def test_after_the_closing_up_the_whole_is_a_job_of_its_own(shop: SmallShop) -> None:
    quote = shop.issued()
    step = sold(shop, quote)
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "opening_up")
    assert act(shop, step, "close-up", {"reason": "not this year"}).status_code == 201
    answer = accept_quote(shop, quote["id"])
    assert answer.status_code == 201, answer.content.decode()
    assert answer.json()["job"] != step["job"]
    assert billable(shop, step) == Decimal("1689.73")  # 1,040.09 + 649.64


def test_a_step_is_accepted_by_a_link(shop: SmallShop) -> None:
    step = issued(shop, shop.issued())
    link = act(shop, step, "links", {"sent_how": "email"}).json()
    shown = by_link(link["token"]).json()
    assert (shown["kind"], shown["state"], shown["document_hash"]) == ("step", "issued", step["document_hash"])
    assert shop.office.get("jobs").json()["results"] == []
    answer = by_link(link["token"], "/acceptance", yes(shown))
    assert answer.status_code == 201, answer.content.decode()
    assert answer.json()["state"] == "accepted"
    path = f"quotes/{step['quote']}/steps/{step['id']}"
    assert shop.office.get(f"{path}/links").json()["results"][0]["reads"] == 1
    assert shop.office.get(path).json()["job"] == shop.office.get("jobs").json()["results"][0]["id"]


def test_a_step_is_declined_over_the_desk_and_by_a_link(shop: SmallShop) -> None:
    quote = shop.issued()
    first = issued(shop, quote)
    assert act(shop, first, "refusal", said(reason="No.")).json()["state"] == "declined"
    second = issued(shop, quote)
    link = act(shop, second, "links", {"sent_how": "email"}).json()
    answer = by_link(link["token"], "/refusal", {"name": "Invented Owner", "reason": "No."})
    assert (answer.status_code, answer.json()["state"]) == (201, "declined")
    assert problem(accept(shop, second), 409)["code"] == "step_state"


def test_a_newer_step_of_a_kind_takes_the_place_of_the_one_on_offer(shop: SmallShop) -> None:
    quote = shop.issued()
    first = issued(shop, quote)
    link = act(shop, first, "links", {"sent_how": "email"}).json()
    second = issued(shop, quote, storage=None)
    assert (second["number"], second["storage"]) == (2, "0.00")
    assert problem(by_link(link["token"]), 410)["code"] == "document_superseded"
    assert problem(accept(shop, first), 409)["code"] == "step_state"
    listed = shop.office.get(f"quotes/{quote['id']}/steps").json()["results"]
    assert [(row["number"], row["state"]) for row in listed] == [(2, "issued"), (1, "superseded")]


def test_a_step_is_taken_back(shop: SmallShop) -> None:
    step = issued(shop, shop.issued())
    assert act(shop, step, "withdrawal").json()["state"] == "withdrawn"
    assert problem(accept(shop, step), 409)["code"] == "step_state"


def test_a_step_of_a_draft_and_of_a_provisional_quote_can_be_sold(shop: SmallShop) -> None:
    survey = shop.add_survey(shop.coach, method="told")
    quote = shop.draft(survey=survey).json()
    assert quote["provisional"]
    assert sold(shop, quote)["state"] == "accepted"


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"close_up": []}, "bad_step"),
        ({"looks": [{"component": "opening_frame", "assembly": "look-trim-off"}]}, "bad_step"),
        ({"valid_until": "2026-03-01"}, "bad_step"),
        ({"valid_until": "2099-01-01"}, "bad_step"),
        ({"close_up": [{"assembly": "nothing-here"}]}, "bad_work"),
        ({"kind": "look_first", "close_up": [], "looks": [{"component": "deck", "assembly": "look-trim-off"}]}, "bad_work"),
    ],
)
def test_terms_that_contradict_each_other_are_refused_by_name(shop: SmallShop, changes: Body, code: str) -> None:
    assert problem(draft(shop, shop.issued(), **changes), 422)["code"] == code


def test_another_document_or_amount_is_not_what_was_accepted(shop: SmallShop) -> None:
    step = issued(shop, shop.issued())
    assert problem(accept(shop, {**step, "document_hash": "0" * 64}), 409)["code"] == "other_document"
    assert problem(accept(shop, {**step, "limit_with_tax": "1991.00"}), 409)["code"] == "other_amount"


def test_a_step_holds_until_its_last_day(shop: SmallShop, clock: Clock) -> None:
    step = issued(shop, shop.issued(), valid_until="2026-03-03")
    clock.turn(days=3)
    assert problem(accept(shop, step, at=clock.moment.isoformat()), 409)["code"] == "step_expired"


def test_a_step_of_a_quote_that_is_sold_is_not_sold_any_more(shop: SmallShop) -> None:
    quote = shop.issued()
    step = issued(shop, quote)
    assert accept_quote(shop, quote["id"]).status_code == 201
    assert problem(accept(shop, step), 409)["code"] == "quote_state"
    assert problem(draft(shop, quote), 409)["code"] == "quote_state"


def test_more_storage_than_was_consented_to_needs_a_consent(shop: SmallShop) -> None:
    step = sold(shop, shop.issued())
    with shop.office.scope():
        at_work(shop, Job.objects.for_shop(shop.shop).get(pk=step["job"]), "opening_up")
    refused = act(shop, step, "close-up", {"storage_days": 11, "reason": "late"})
    assert problem(refused, 422)["code"] == "bad_storage_days"


def test_a_roof_that_is_not_open_is_not_closed_up(shop: SmallShop) -> None:
    step = sold(shop, shop.issued())
    assert problem(act(shop, step, "close-up", {"reason": "not begun"}), 409)["code"] == "job_state"


def test_the_job_of_a_step_does_not_rebuild(shop: SmallShop) -> None:
    step = sold(shop, shop.issued())
    path = f"jobs/{step['job']}/state"
    moved = shop.office.post(path, {"to": "opening_up"}, headers={"If-Match": "*"})
    assert moved.status_code == 200, moved.content.decode()
    assert problem(shop.office.post(path, {"to": "rebuilding"}, headers={"If-Match": "*"}), 409)["code"] == "job_state"


def test_what_was_agreed_is_taken_up_by_a_consent_only_and_an_issued_step_stays(shop: SmallShop) -> None:
    step = sold(shop, shop.issued())
    for change in ({"whole": True}, {"limit": Decimal(1), "base": Decimal(1)}):
        with shop.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
            Job.objects.for_shop(shop.shop).filter(pk=step["job"]).update(**change)
    with shop.office.scope(), pytest.raises(IntegrityError), transaction.atomic():
        StepOffer.objects.for_shop(shop.shop).filter(pk=step["id"]).update(limit_with_tax=Decimal(1))


def test_estimators_see_no_cost_and_analysts_sell_nothing(shop: SmallShop) -> None:
    quote = shop.issued()
    step = drafted(shop, quote)
    path = f"quotes/{quote['id']}/steps/{step['id']}"
    # Skin off 9.35 h x 40.00 = 374.00; closing up 4.4 h x 40.00 + 2.4 h x 25.00 = 236.00.
    assert step["cost"] == "610.00"
    seen = shop.office.get(path, role="estimator").json()
    assert "cost" not in seen
    assert not any("cost" in line for line in seen["lines"])
    assert problem(act(shop, step, "issue", role="analyst"), 403)["code"] == "role_not_allowed"


def test_a_look_first_is_paid_beside_the_whole(quoting: Quoting) -> None:
    quote = quoting.issued()
    look = drafted(quoting, quote, kind="look_first", close_up=[], storage=None)
    # Lead technician 2 h and helper 1.5 h stand in the shipped assembly; nothing of it is a line of the quote.
    assert {line["slug"] for line in look["lines"]} >= {"look-first", "butyl-tape-1-in"}
    assert (look["counts"], look["close_up"]) == (False, "0.00")
    act(quoting, look, "issue")
    step = quoting.office.get(f"quotes/{quote['id']}/steps/{look['id']}").json()
    step = accept(quoting, step).json()
    answer = accept_quote(quoting, quote["id"])
    assert answer.status_code == 201, answer.content.decode()
    assert answer.json()["job"] == step["job"]
    beside = Decimal(look["amount"])
    assert billable(quoting, step) == Decimal(quote["amounts"]["base"]) + beside
    ex, with_tax = authorised(quoting, step)
    assert ex == Decimal(quote["amounts"]["limit"]) + beside
    assert with_tax <= Decimal(quote["limit_with_tax"]) + Decimal(step["limit_with_tax"])


def test_the_looks_that_a_quote_offers_can_be_sold(quoting: Quoting) -> None:
    quote = quoting.issued()
    offered = quoting.office.get(f"quotes/{quote['id']}/next-looks").json()["looks"][0]
    looks = [{"component": offered["component"], "assembly": offered["assembly"]}]
    step = drafted(quoting, quote, kind="look_first", looks=looks, close_up=[], storage=None)
    assert offered["assembly"] in {line["slug"] for line in step["lines"]}


def test_a_look_and_then_the_teardown_go_on_with_one_job(quoting: Quoting) -> None:
    quote = quoting.issued()
    look = sold(quoting, quote, kind="look_first", close_up=[], storage=None)
    teardown = sold(quoting, quote)
    assert teardown["job"] == look["job"]
    ex, with_tax = authorised(quoting, teardown)
    assert ex == Decimal(look["limit"]) + Decimal(teardown["limit"])
    assert with_tax == Decimal(look["limit_with_tax"]) + Decimal(teardown["limit_with_tax"])
    assert {"skin-off", "deck-off-sheets", "open-roof-inspection"} <= {line["slug"] for line in teardown["lines"]}
    assert teardown["destroyed"]
