"""Change orders over the API, on the roof that DEVELOPERS.md section 1 works by hand."""

import pytest

from api.accounts.roles import ESTIMATOR
from quotes.models import ChangeOrderPacks, Consent, Job
from tests.rest.changing import CLOSE_UP, FRAME, PATCH, STOP, accepted, done, drafted, found, no, opened, sent, wish, yes
from tests.rest.office import places, problem
from tests.rest.working import booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db


def job_now(small: SmallShop, job: Job) -> Job:
    with small.office.scope():
        return Job.objects.for_shop(small.shop).get(pk=job.pk)


def test_the_page_s_wish_is_294_73_and_makes_a_limit_of_4248(small: SmallShop) -> None:
    job = opened(small)

    order = drafted(small, job, wish())

    (way,) = order["ways"]
    assert (way["price"], way["limit"], way["limit_with_tax"]) == ("294.73", "3924.23", "4248.00")
    assert (way["tax"], way["rounding"]) == ("323.75", "0.02")
    assert [(line["slug"], line["amount"]) for line in way["lines"]] == [
        ("hours-technician", "200.00"),
        ("adhesive", "72.90"),
        ("overhead", "21.83"),
    ]
    assert (order["state"], order["number"], order["stops_work"], order["covers"]) == ("draft", 1, False, [])


def test_an_accepted_order_moves_the_limit_by_its_consent(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, wish())

    answer = done(small, job, order, "acceptance", yes(order))

    assert answer.status_code == 201, answer.content.decode()
    told = answer.json()
    assert (told["state"], told["authorised"], told["authorised_with_tax"]) == ("accepted", "3924.23", "4248.00")
    assert told["consent"]["amount"] == "294.73"
    assert told["consent"]["said"]["added"] == ["technician: 2 h, 200", "adhesive: 1 pack, 72.9", "Overhead: 1 job, 21.83"]
    now = job_now(small, job)
    with small.office.scope():
        consents = list(Consent.objects.for_shop(small.shop).order_by("seq"))
        packs = list(ChangeOrderPacks.objects.for_shop(small.shop).values_list("material", "net", "packs"))
    assert [each.document for each in consents] == ["quote", "change_order"]
    assert now.consent_id == consents[1].pk
    assert consents[1].document_hash == order["document_hash"]
    assert [(material, float(net), int(count)) for material, net, count in packs] == [("adhesive", 0.9, 1)]
    assert now.drawn == 0  # a wish never draws


def test_a_second_order_buys_beside_what_the_first_bought(small: SmallShop) -> None:
    # 2.9 gal are in 4 packs; 0.7 more make (2.9 + 0.7) x 1.10 = 3.96, still 4.
    job = opened(small)
    accepted(small, job, wish())
    more = {**PATCH, "hours": [], "materials": [{"material": "adhesive", "net": "0.7", "reason": "a seam"}]}

    order = drafted(small, job, wish(more))
    why = small.office.get(f"jobs/{job.pk}/change-orders/{order['id']}/ways/repair/lines/1/why").json()

    assert order["ways"][0]["price"] == "0.00"
    steps = {step["text"]: step["value"] for step in why["steps"]}
    assert (steps["bought before"], steps["comes to in all"], why["value"]) == ("4.0000", "4", "0.00")


def test_what_was_found_stops_the_work_until_it_is_answered(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, found())

    assert (order["state"], order["covers"], order["stops_work"]) == ("waiting", ["opening_frame"], True)
    assert (job_now(small, job).state, job_now(small, job).resumes) == ("waiting", "opening_up")
    # 1 x 87.7112 and the set-up of 50.00; tax 8.25 % of 3,767.21 = 310.79; 4,078.00.
    assert [(way["way"], way["price"], way["limit_with_tax"]) for way in order["ways"]] == [
        ("repair", "137.71", "4078.00"),
        ("stop", "0.00", "3929.00"),
    ]

    assert done(small, job, order, "acceptance", yes(order)).status_code == 201
    assert job_now(small, job).state == "opening_up"


def test_a_declined_order_leaves_everything_as_it_was(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, found())

    told = done(small, job, order, "refusal", no()).json()

    assert (told["state"], told["job_state"], told["authorised_with_tax"]) == ("declined", "opening_up", "3929.00")
    assert (told["consent"]["outcome"], told["consent"]["said"]["reason"]) == ("declined", "Not this year.")


def test_an_order_is_taken_back(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, found())

    told = done(small, job, order, "withdrawal", {"reason": "It was dirt."}).json()

    assert (told["state"], job_now(small, job).state) == ("withdrawn", "opening_up")
    assert problem(done(small, job, order, "acceptance", yes(order)), 409)["code"] == "change_order_state"


def test_a_job_waits_as_long_as_one_order_does(small: SmallShop) -> None:
    job = opened(small)
    first, second = sent(small, job, found()), sent(small, job, found())
    done(small, job, first, "refusal", no())
    assert job_now(small, job).state == "waiting"
    done(small, job, second, "withdrawal", {"reason": "The same frame."})
    assert job_now(small, job).state == "opening_up"


def test_a_limit_that_another_order_moved_cannot_be_accepted_until_it_is_sent_again(small: SmallShop) -> None:
    job = opened(small)
    first, second = sent(small, job, wish()), sent(small, job, wish())
    assert done(small, job, first, "acceptance", yes(first)).status_code == 201

    stale = done(small, job, second, "acceptance", yes(second))
    assert problem(stale, 409)["code"] == "other_document"

    again = done(small, job, second, "sending").json()
    # (2.9 + 0.9) x 1.10 = 4.18: a fifth pack, 294.73 again; 4,218.96 x 8.25 % = 348.06; 4,567.02 to 4,567.00.
    assert again["ways"][0]["limit_with_tax"] == "4567.00"
    assert again["document_hash"] != second["document_hash"]
    assert problem(done(small, job, again, "acceptance", yes(second)), 409)["code"] == "other_document"
    assert done(small, job, again, "acceptance", yes(again)).status_code == 201


def test_another_amount_than_the_way_says_is_refused(small: SmallShop) -> None:
    job = opened(small)
    order = sent(small, job, wish())
    less = {"amount": "4247.98", "currency": "USD"}

    assert problem(done(small, job, order, "acceptance", yes(order, limit_with_tax=less)), 409)["code"] == "other_amount"
    wrong = yes(order, document_hash="0" * 64)
    assert problem(done(small, job, order, "acceptance", wrong), 409)["code"] == "other_document"
    other = yes(order, payer="insurer")
    assert problem(done(small, job, order, "acceptance", other), 422)["code"] == "no_such_payer"
    early = yes(order, at="2020-01-01T00:00:00Z")
    assert problem(done(small, job, order, "acceptance", early), 422)["code"] == "bad_consent_time"


def test_the_promised_day_moves_by_the_days_of_the_way(small: SmallShop) -> None:
    from datetime import date

    job = opened(small, promised_on=date(2026, 4, 1))
    order = sent(small, job, wish())
    assert (order["ways"][0]["days"], order["ways"][0]["promised_on"]) == ("0.25", "2026-04-02")
    done(small, job, order, "acceptance", yes(order))
    assert job_now(small, job).promised_on == date(2026, 4, 2)

    three = {**PATCH, "days": {"days": "2.5", "reason": "the glue cures"}}
    order = drafted(small, job, wish(three))
    assert (order["ways"][0]["days"], order["ways"][0]["worked_days"]) == ("2.50", "0.25")
    assert order["ways"][0]["promised_on"] == "2026-04-05"


def test_ways_are_two_to_four_and_each_of_another_kind(small: SmallShop) -> None:
    job = opened(small)
    path = f"jobs/{job.pk}/change-orders"

    assert places(small.office.post(path, found(FRAME))) == {"#/ways": "bad_ways"}
    assert places(small.office.post(path, found(FRAME, FRAME))) == {"#/ways/1/way": "bad_ways"}
    assert places(small.office.post(path, wish(PATCH, STOP))) == {"#/ways/1/way": "bad_ways"}
    assert places(small.office.post(path, found(FRAME, {**FRAME, "way": "repair_part"}))) == {"#/ways/1": "bad_ways"}
    assert places(small.office.post(path, found(STOP, {**STOP, "way": "repair"}))) == {"#/ways/1": "bad_ways"}
    assert small.office.post(path, found(FRAME, CLOSE_UP, STOP)).status_code == 201


def test_work_that_the_job_does_not_know_points_into_its_list(small: SmallShop) -> None:
    job = opened(small)
    odd = {
        **PATCH,
        "hours": [],
        "assemblies": [
            {"assembly": "nothing"},
            {"assembly": "skin-off", "section": "main", "measures": [{"measure": "brace_count", "value": 1}]},
        ],
    }
    assert places(small.office.post(f"jobs/{job.pk}/change-orders", wish(odd))) == {
        "#/ways/0/assemblies/0/assembly": "bad_work",
        "#/ways/0/assemblies/1/measures/0": "bad_work",
    }
    unknown = {**PATCH, "repairs": [{"component": "rafters", "extent": "1"}]}
    answer = small.office.post(f"jobs/{job.pk}/change-orders", wish(unknown))
    assert problem(answer, 422)["code"] == "bad_work"
    assert places(answer) == {"#/ways/0/repairs/0/component": "bad_work"}


def test_a_draft_is_written_again_and_taken_away_and_what_was_sent_is_not(small: SmallShop) -> None:
    job = opened(small)
    order = drafted(small, job, wish())
    path = f"jobs/{job.pk}/change-orders/{order['id']}"

    again = small.office.change(path, wish(title="A larger patch"), method="PUT")
    assert (again.status_code, again.json()["title"], again.json()["version"]) == (200, "A larger patch", 2)
    assert small.office.ask("PUT", path, wish(), headers={"If-Match": '"v1"'}).status_code == 412
    assert small.office.change(path, None, method="DELETE").status_code == 204
    assert small.office.get(path).status_code == 404

    gone = sent(small, job, wish())
    path = f"jobs/{job.pk}/change-orders/{gone['id']}"
    assert problem(small.office.change(path, wish(), method="PUT"), 409)["code"] == "change_order_state"
    assert problem(small.office.change(path, None, method="DELETE"), 409)["code"] == "change_order_state"


def test_a_job_that_is_not_at_work_takes_no_order(small: SmallShop) -> None:
    job = booked(small)
    assert problem(small.office.post(f"jobs/{job.pk}/change-orders", wish()), 409)["code"] == "job_state"
    assert small.office.post("jobs/999999/change-orders", wish()).status_code == 404


def test_an_order_sent_twice_by_a_tablet_is_one(small: SmallShop) -> None:
    job = opened(small)
    body = wish(client_id="2f1c3f5e-8f0b-4c55-9a64-0d8d4a3f9f10")
    assert drafted(small, job, body)["id"] == drafted(small, job, body)["id"]


def test_estimators_see_prices_and_no_cost(small: SmallShop) -> None:
    job = opened(small)
    order = drafted(small, job, wish(), role=ESTIMATOR)

    (way,) = order["ways"]
    assert "cost" not in way
    assert all("cost" not in line and "pack_price" not in line["details"] for line in way["lines"])
    shown = small.office.get(f"jobs/{job.pk}/change-orders/{order['id']}").json()
    assert shown["ways"][0]["cost"] == "134.00"  # 2 h x 40.00 and a pack at 54.00


def test_orders_are_listed_by_job_and_over_the_shop(small: SmallShop) -> None:
    job = opened(small)
    first, second = drafted(small, job, wish()), sent(small, job, found())

    listed = small.office.get(f"jobs/{job.pk}/change-orders").json()["results"]
    waiting = small.office.get("change-orders?state=waiting").json()["results"]

    assert [row["id"] for row in listed] == [second["id"], first["id"]]
    assert [(row["id"], row["job"], row["sent_at"] is not None) for row in waiting] == [(second["id"], job.pk, True)]


def test_nothing_is_carried_without_an_adopted_policy(small: SmallShop) -> None:
    job = opened(small)
    order = drafted(small, job, wish())

    assert problem(done(small, job, order, "carrying", {"way": "repair"}), 409)["code"] == "not_carried"
