"""Rates over the API: what is in force, editions, overrides and their end."""

from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from tests.rest.costing import body, entered, for_network, got, listed, of_network
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Clock, Quoting, line_of
from tests.rest.test_openapi import faults


@pytest.fixture
def office(quoting: Quoting) -> Office:
    """A shop on the default cost base of its network, on 2 March 2026."""
    return quoting.office


def rate(slug: str = "estimator", valid_from: str = "2026-03-02", **changes: Any) -> dict[str, Any]:
    return body("rate", slug, valid_from, **changes)


def test_the_list_says_what_is_in_force_and_whose_it_is(office: Office) -> None:
    entered(office, "rates", rate(billed_per_hour="140.00"))
    answer = office.get("rates")
    assert faults(answer, "list_editions") == []
    rates = {row["slug"]: row for row in answer.json()["results"]}
    assert {"estimator", "helper", "technician"} < set(rates)
    own, other = rates["estimator"], rates["technician"]
    assert (own["owner"], own["override"], own["contents"]["billed_per_hour"]) == ("shop", True, "140.00")
    assert (other["owner"], other["override"], other["contents"]["billed_per_hour"]) == ("network", False, "135.00")
    assert list(rates) == sorted(rates)


def test_what_is_in_force_depends_on_the_day(office: Office) -> None:
    entered(office, "rates", rate(valid_from="2026-04-01", billed_per_hour="140.00"))
    assert got(office, "rates/estimator")["contents"]["billed_per_hour"] == "125.00"
    assert got(office, "rates/estimator?on=2026-03-31")["owner"] == "network"
    assert got(office, "rates/estimator?on=2026-04-01")["contents"]["billed_per_hour"] == "140.00"
    assert problem(office.get("rates/estimator?on=2019-12-31"), 404)
    assert [row["slug"] for row in listed(office, "rates?on=2019-12-31")] == []


def test_pages_and_filters(office: Office) -> None:
    entered(office, "rates", rate(billed_per_hour="140.00"))
    everything = [row["slug"] for row in listed(office, "rates")]
    assert [row["slug"] for row in listed(office, "rates?limit=2")] == everything
    assert [row["slug"] for row in listed(office, "rates?owner=shop")] == ["estimator"]
    assert [row["slug"] for row in listed(office, "rates?slug=estim")] == ["estimator"]
    assert [row["slug"] for row in listed(office, "rates?name=INSPECTOR")] == ["estimator"]
    assert places(office.get("rates?phase=seal"), 400) == {"phase": "unknown_parameter"}
    assert places(office.get("rates?on=2.3.2026"), 400) == {"on": "bad_parameter"}
    assert places(office.get("rates?owner=me"), 400) == {"owner": "bad_parameter"}
    assert places(office.get("rates/estimator?limit=1"), 400) == {"limit": "unknown_parameter"}
    assert places(office.get("rates?cursor=bm90aGluZw"), 400) == {"cursor": "bad_cursor"}


def test_an_override_remembers_where_it_came_from_and_is_told_of_a_newer_one(office: Office) -> None:
    own = entered(office, "rates", rate(billed_per_hour="140.00"))
    assert own["override"]
    assert own["came_from"]["valid_from"] == "2020-01-01"
    assert own["newer_in_network"] is None
    newer = for_network(office, "rates", rate(billed_per_hour="128.00"))
    (row,) = listed(office, "rates?slug=estimator")
    # It changes nothing for the shop, and is shown.
    assert row["contents"]["billed_per_hour"] == "140.00"
    assert row["newer_in_network"] == {"id": newer["id"], "valid_from": "2026-03-02"}
    assert row["came_from"]["valid_from"] == "2020-01-01"


def test_a_slug_of_the_shops_own_is_no_override(office: Office) -> None:
    own = entered(office, "rates", {**rate(), "slug": "night-watch"})
    assert (own["override"], own["came_from"], own["newer_in_network"]) == (False, None, None)
    assert problem(office.post("rates/night-watch/follow-network", {"from": "2026-03-03"}), 409)["code"] == "no_override"


def test_following_the_network_ends_the_override_from_a_day_on(office: Office, quoting: Quoting, clock: Clock) -> None:
    entered(office, "rates", rate(billed_per_hour="140.00"))
    answer = office.post("rates/estimator/follow-network", {"from": "2026-03-03", "note": "the network is right"})
    assert answer.status_code == 201
    assert faults(answer, "follow_network") == []
    told = answer.json()
    assert (told["follows_network"], told["contents"], told["valid_from"]) == (True, {}, "2026-03-03")
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "140.000000"
    clock.turn(days=1)
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "125.000000"
    assert got(office, "rates/estimator")["owner"] == "network"
    # Twice is no override to end; and a later edition of the shop's own is an override again.
    assert problem(office.post("rates/estimator/follow-network", {"from": "2026-03-04"}), 409)["code"] == "no_override"
    entered(office, "rates", rate(valid_from="2026-03-04", billed_per_hour="150.00"))
    clock.turn(days=1)
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "150.000000"


def test_taking_back_to_follow_the_network_brings_the_override_back(office: Office) -> None:
    entered(office, "rates", rate(billed_per_hour="140.00"))
    told = office.post("rates/estimator/follow-network", {"from": "2026-03-03"}).json()
    path = f"rates/estimator/editions/{told['id']}"
    assert problem(office.change(path, {"contents": rate()["contents"]}, method="PUT"), 409)["code"] == "follows_network"
    assert office.change(path, None, method="DELETE").status_code == 204
    assert got(office, "rates/estimator?on=2026-03-03")["contents"]["billed_per_hour"] == "140.00"


def test_editions_are_listed_whether_past_future_or_withdrawn(office: Office) -> None:
    first = entered(office, "rates/estimator/editions", _without_slug(rate(valid_from="2026-04-01")))
    second = entered(office, "rates/estimator/editions", _without_slug(rate(valid_from="2026-05-01", name="Inspector")))
    assert office.change(f"rates/estimator/editions/{first['id']}", None, method="DELETE").status_code == 204
    answer = office.get("rates/estimator/editions")
    assert faults(answer, "list_editions_of_slug") == []
    rows = [(row["owner"], row["valid_from"], row["in_force"], row["withdrawn_on"]) for row in answer.json()["results"]]
    assert rows == [
        ("shop", "2026-05-01", False, None),
        ("shop", "2026-04-01", False, "2026-03-02"),
        ("network", "2020-01-01", True, None),
    ]
    assert listed(office, "rates/estimator/editions?limit=1") == answer.json()["results"]
    assert got(office, f"rates/estimator/editions/{second['id']}")["contents"]["name"] == "Inspector"
    assert problem(office.get(f"rates/helper/editions/{second['id']}"), 404)


def _without_slug(sent: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in sent.items() if name != "slug"}


def test_a_day_has_one_edition_and_a_withdrawn_one_is_entered_anew(office: Office) -> None:
    first = entered(office, "rates", rate(billed_per_hour="140.00"))
    assert places(office.post("rates", rate(billed_per_hour="150.00")), 409) == {"#/valid_from": "already_there"}
    assert office.change(f"rates/estimator/editions/{first['id']}", None, method="DELETE").status_code == 204
    assert problem(
        office.change(f"rates/estimator/editions/{first['id']}", {"contents": rate()["contents"]}, method="PUT"), 409
    )
    again = entered(office, "rates", rate(billed_per_hour="150.00"))
    assert (again["id"], again["version"], again["withdrawn_on"]) == (first["id"], 3, None)


def test_a_change_needs_the_version_that_was_read(office: Office) -> None:
    own = entered(office, "rates", rate(billed_per_hour="140.00"))
    path, sent = f"rates/estimator/editions/{own['id']}", {"contents": rate(billed_per_hour="150.00")["contents"]}
    assert problem(office.ask("PUT", path, sent), 428)
    assert problem(office.ask("DELETE", path), 428)
    assert problem(office.ask("PUT", path, sent, headers={"If-Match": '"v2"'}), 412)
    changed = office.ask("PUT", path, sent, headers={"If-Match": '"v1"'})
    assert faults(changed, "replace_edition") == []
    assert (changed.json()["contents"]["billed_per_hour"], changed["ETag"]) == ("150.00", '"v2"')
    assert problem(office.ask("DELETE", path, headers={"If-Match": '"v1"'}), 412)


def test_the_answer_in_force_is_spared_while_it_says_the_same(office: Office) -> None:
    tag = office.get("rates/estimator")["ETag"]
    assert office.get("rates/estimator", headers={"If-None-Match": tag}).status_code == 304
    entered(office, "rates", rate(billed_per_hour="140.00"))
    assert office.get("rates/estimator", headers={"If-None-Match": tag}).status_code == 200


def test_every_fault_of_a_body_is_told_at_once_with_its_place(office: Office) -> None:
    sent = {"slug": "No Slug", "valid_from": "soon", "more": 1, "contents": {"name": "", "cost_per_hour": 5, "extra": 1}}
    assert places(office.post("rates", sent)) == {
        "#/slug": "bad_contents",
        "#/valid_from": "not_day",
        "#/more": "unknown_field",
        "#/contents/name": "bad_contents",
        "#/contents/cost_per_hour": "bad_contents",
        "#/contents/extra": "bad_contents",
        "#/contents/billed_per_hour": "bad_contents",
        "#/contents/overtime_factor": "bad_contents",
    }
    assert places(office.post("rates", {})) == {
        "#/slug": "required", "#/valid_from": "required", "#/contents": "required",
    }  # fmt: skip
    assert places(office.post("rates", {**rate(), "contents": []})) == {"#/contents": "not_object"}


def test_back_dating_needs_a_note(office: Office) -> None:
    assert places(office.post("rates", rate(valid_from="2026-03-01"))) == {"#/note": "note_missing"}
    told = entered(office, "rates", rate(valid_from="2026-03-01", note="forgotten last week", billed_per_hour="140.00"))
    assert told["note"] == "forgotten last week"
    assert got(office, "rates/estimator")["contents"]["billed_per_hour"] == "140.00"


def test_back_dating_never_reaches_a_day_on_which_an_issued_quote_read_it(quoting: Quoting, clock: Clock) -> None:
    office = quoting.office
    quoting.issued()  # on 2 March
    quoting.draft()  # A draft stops nothing.
    clock.turn(days=3)
    refused = office.post("rates", rate(valid_from="2026-03-02", note="forgotten"))
    assert places(refused, 409) == {"#/valid_from": "quoted_since"}
    assert "2026-03-03 or later" in refused.json()["detail"]
    # Over before the quote's day because another edition begins on it: nothing that the quote read would be other.
    entered(office, "rates", rate(valid_from="2026-03-03", note="forgotten", billed_per_hour="140.00"))
    follow = office.post("rates/estimator/follow-network", {"from": "2026-03-02", "note": "x"})
    assert problem(follow, 409)["code"] == "no_override"
    # What no quote has read may reach back.
    entered(office, "rates", {**rate(valid_from="2026-03-01", note="forgotten"), "slug": "night-watch"})


def test_an_edition_that_an_issued_quote_used_can_only_be_followed(quoting: Quoting) -> None:
    office = quoting.office
    own = entered(office, "rates", rate(billed_per_hour="140.00"))
    quoting.issued()
    path = f"rates/estimator/editions/{own['id']}"
    assert got(office, path)["used"]
    assert problem(office.change(path, {"contents": rate()["contents"]}, method="PUT"), 409)["code"] == "edition_used"
    assert problem(office.change(path, None, method="DELETE"), 409)["code"] == "edition_used"
    assert problem(office.post("rates", rate(billed_per_hour="150.00")), 409)["code"] == "edition_used"
    assert problem(office.post("rates/estimator/follow-network", {"from": "2026-03-02"}), 409)["code"] == "edition_used"
    entered(office, "rates", rate(valid_from="2026-03-03", billed_per_hour="150.00"))


def test_a_rate_that_others_need_is_not_withdrawn(office: Office) -> None:
    watch = entered(office, "rates", {**rate(), "slug": "night-watch"})
    work = body("assembly", "intake-survey", labour=[{"trade": "night-watch", "rate": "3 * hour"}])
    entered(office, "assemblies", work)
    path = f"rates/night-watch/editions/{watch['id']}"
    refused = problem(office.change(path, None, method="DELETE"), 409)
    assert refused["code"] == "edition_needed"
    assert refused["needed_by"] == [
        {
            "kind": "assembly",
            "slug": "intake-survey",
            "at": "labour/0/trade",
            "code": "unknown_reference",
            "detail": "no trade night-watch is in force",
        }
    ]
    assert got(office, path)["withdrawn_on"] is None


def test_a_key_answers_again_and_does_nothing(office: Office) -> None:
    headers = {"Idempotency-Key": "rate-of-march"}
    first = office.post("rates", rate(billed_per_hour="140.00"), headers=headers)
    again = office.post("rates", rate(billed_per_hour="140.00"), headers=headers)
    assert (again.status_code, again["Idempotency-Replayed"], again.json()) == (201, "true", first.json())
    assert again["Location"] == first["Location"] == office.url(f"rates/estimator/editions/{first.json()['id']}")
    assert problem(office.post("rates", rate(billed_per_hour="1.00"), headers=headers), 422)["code"] == "idempotency_mismatch"


def test_a_key_of_a_network_answers_again_and_does_nothing(office: Office) -> None:
    path, headers = of_network(office, "rates"), {"Idempotency-Key": "rate-of-march"}
    first = office.post(path, rate(billed_per_hour="140.00"), role=NETWORK_MANAGER, headers=headers)
    again = office.post(path, rate(billed_per_hour="140.00"), role=NETWORK_MANAGER, headers=headers)
    assert (first.status_code, again["Idempotency-Replayed"], again.json()) == (201, "true", first.json())


def test_the_history_says_who_did_what(office: Office) -> None:
    own = entered(office, "rates", rate(billed_per_hour="140.00"))
    path = f"rates/estimator/editions/{own['id']}"
    office.change(path, {"contents": rate(billed_per_hour="150.00")["contents"], "note": "asked for"}, method="PUT")
    office.change(path, None, method="DELETE")
    answer = office.get("rates/estimator/history")
    assert faults(answer, "list_edition_changes") == []
    withdrawn, changed, made = answer.json()["results"]
    assert [event["change"] for event in (made, changed, withdrawn)] == ["insert", "update", "update"]
    assert {event["role"] for event in (made, changed, withdrawn)} == {MANAGER}
    assert made["person"] == withdrawn["person"]
    assert made["before"] is None
    assert changed["before"] == made["after"]
    assert changed["after"]["contents"]["billed_per_hour"] == "150.00"
    assert changed["after"]["note"] == "asked for"
    assert (changed["after"]["withdrawn_on"], withdrawn["after"]["withdrawn_on"]) == (None, "2026-03-02")
    assert listed(office, "rates/estimator/history?limit=1") == answer.json()["results"]
    assert problem(office.get("rates/estimator/history?cursor=WyI5OTk5OTk5OTk5OTk5OTk5OTk5OTkiXQ"), 400)["code"] == "bad_cursor"
    assert got(office, "rates/nobody/history")["results"] == []


def test_who_may_not_see_cost_sees_what_is_billed(office: Office) -> None:
    for role, sees in ((ESTIMATOR, False), (MANAGER, True), (ANALYST, True)):
        for row in (got(office, "rates/estimator", role=role), listed(office, "rates?slug=estimator", role=role)[0]):
            assert row["contents"]["billed_per_hour"] == "125.00"
            assert ("cost_per_hour" in row["contents"], "note" in row) == (sees, sees)
        answer = office.get("rates/estimator", role=role)
        assert faults(answer, "get_edition_in_force") == []
    for role in (ESTIMATOR, ANALYST):
        assert problem(office.post("rates", rate(), role=role), 403)["code"] == "role_not_allowed"
    assert problem(office.get("rates/estimator/editions", role=ESTIMATOR), 403)
    assert problem(office.get("rates/estimator/history", role=ESTIMATOR), 403)


def test_a_networks_manager_reads_a_shop_that_opted_in_and_never_its_cost(office: Office) -> None:
    assert problem(office.get("rates", role=NETWORK_MANAGER), 404)
    office.shop.shares_learning = True
    office.shop.save(update_fields=["shares_learning"])
    assert "cost_per_hour" not in got(office, "rates/estimator", role=NETWORK_MANAGER)["contents"]
    assert problem(office.post("rates", rate(), role=NETWORK_MANAGER), 403)
    assert "cost_per_hour" in got(office, of_network(office, "rates/estimator"), role=NETWORK_MANAGER)["contents"]


def test_another_shop_finds_nothing(office: Office, elsewhere: Office) -> None:
    own = entered(office, "rates", rate(billed_per_hour="140.00"))
    stranger = elsewhere.tokens[MANAGER]
    for path in ("rates", "rates/estimator", f"rates/estimator/editions/{own['id']}", "rates/estimator/history"):
        assert problem(office.get(path, token=stranger), 404)
        assert problem(office.get(of_network(office, path), token=elsewhere.tokens[NETWORK_MANAGER]), 404)
    # Under its own address the number is nothing either.
    assert problem(elsewhere.get(f"rates/estimator/editions/{own['id']}"), 404)
