"""Fleets over the API: what is kept, how shares and sums hang together, and what is refused."""

from decimal import Decimal
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR, NETWORK_MANAGER
from costbase import snapshot as cost_base_snapshot
from costbase.models import Shop
from quotes import snapshot as quotes_snapshot
from quotes import tasks
from quotes.actions.priced import ENGINE
from quotes.models import Fleet, Quote, Survey
from quotes.reports.quotes import worked_again
from quotes.reports.recomputed import mismatches, recomputable_quotes
from tests.rest import bodies
from tests.rest.fleets import Fleeting
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Clock, Quoting, contents_of, entry
from tests.rest.test_quote_recomputed import AMOUNTS


@pytest.fixture
def fleeting(quoting: Quoting) -> Fleeting:
    return Fleeting(quoting)


def d(value: str) -> Decimal:
    return Decimal(value)


def names(answer: object) -> set[str]:
    if isinstance(answer, dict):
        return set(answer) | {name for value in answer.values() for name in names(value)}
    return {name for value in answer for name in names(value)} if isinstance(answer, list) else set()


class TestDrafting:
    def test_every_coach_gets_a_quote_of_its_own_in_the_order_asked(self, fleeting: Fleeting) -> None:
        posted = fleeting.posted()
        fleet = posted.json()

        assert [coach["number"] for coach in fleet["coaches"]] == ["Q-2026-1", "Q-2026-2", "Q-2026-3"]
        assert [coach["coach"] for coach in fleet["coaches"]] == [coach["coach"] for coach in fleeting.coaches]
        assert [coach["place"] for coach in fleet["coaches"]] == [1, 2, 3]
        assert (fleet["state"], fleet["coach_count"], fleet["unit_learning"]) == ("draft", 3, 0.95)
        assert posted["Location"].endswith(f"/fleets/{fleet['id']}")
        assert fleeting.office.get(posted["Location"]).json() == fleet
        for quote, coach in zip(fleeting.quotes(fleet), fleet["coaches"], strict=True):
            assert (quote["fleet"], quote["place"], quote["state"]) == (fleet["id"], coach["place"], "draft")
            assert quote["customer"] == fleeting.customer
            assert quote["amounts"]["base"] == coach["base"]
            assert (quote["amounts"]["limit"], quote["limit_with_tax"]) == (coach["limit"], coach["limit_with_tax"])

    def test_the_lines_of_the_quotes_are_shares_that_add_up_to_the_lot_s(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        quotes = fleeting.quotes(fleet)

        for line in fleet["lines"]:
            shares = [other for quote in quotes for other in quote["lines"]]
            same = [other for other in shares if (other["slug"], other["trade"]) == (line["slug"], line["trade"])]
            assert sum(d(share["amount"]) for share in same) == d(line["amount"])
            assert sum(d(share["cost"]) for share in same) == d(line["cost"])
            assert [share["amount"] for share in same] == [share["amount"] for share in line["details"]["shares"]]
            assert {share["details"]["lot"]["lot_amount"] for share in same} == {line["amount"]}
        for name in ("base", "allowance", "base_tax", "labour", "materials", "cost", "margin"):
            assert sum(d(quote["amounts"][name]) for quote in quotes) == d(fleet["amounts"][name]), name
        assert sum(d(quote["hours"]["total"]) for quote in quotes) == d(fleet["hours"]["total"])

    def test_it_is_cheaper_together_and_hidden_work_evens_out(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        alone = fleeting.quoting.posted(_alone(fleeting, 0)).json()

        assert fleet["coaches"][0]["alone_base"] == alone["amounts"]["base"]
        assert d(fleet["amounts"]["base"]) < 3 * d(alone["amounts"]["base"])
        assert d(fleet["together"]["saved"]) == 3 * d(alone["amounts"]["base"]) - d(fleet["amounts"]["base"])
        assert fleet["coaches"][0]["contingency"] == alone["amounts"]["contingency"]
        assert d(fleet["amounts"]["contingency"]) < 3 * d(alone["amounts"]["contingency"])
        assert d(fleet["amounts"]["limit"]) < d(fleet["together"]["limits"])
        assert fleet["notes"] == []

    def test_what_is_said_of_one_coach_holds_against_what_is_said_of_all(self, fleeting: Fleeting) -> None:
        coaches = [dict(coach) for coach in fleeting.coaches]
        coaches[1]["measures"] = [entry("deck_replaced_share", 0.5), entry("brace_count", 3)]

        fleet = fleeting.draft(coaches=coaches)

        first, second, _ = fleeting.quotes(fleet)
        said = {one["measure"]: one["value"] for one in second["request"]["measures"]}
        assert (said["deck_replaced_share"], said["brace_count"], said["splinter_share"]) == (0.5, 3, 0.2)
        assert second["request"].keys() >= {"coach", "survey", "plan", "skin"}
        assert d(second["amounts"]["base"]) > d(first["amounts"]["base"])
        braces = next(line for line in fleet["lines"] if line["slug"] == "bracing-add" and line["trade"])
        assert [share["place"] for share in braces["details"]["shares"]] == [2]

    def test_a_fleet_of_two_constructions_shares_what_both_need(self, fleeting: Fleeting) -> None:
        laminated = fleeting.quoting.add_coach({**bodies.coach(plate="INV 9"), "customer": fleeting.customer})
        mixed = [fleeting.coaches[0], {"coach": laminated, "survey": fleeting.quoting.add_survey(laminated)}]

        fleet = fleeting.draft(coaches=mixed, measures=[])

        shared = [len(line["details"]["shares"]) for line in fleet["lines"]]
        assert set(shared) == {1, 2}
        assert sum(d(quote["amounts"]["base"]) for quote in fleeting.quotes(fleet)) == d(fleet["amounts"]["base"])

    def test_a_trial_keeps_nothing_and_says_the_same(self, fleeting: Fleeting) -> None:
        tried = fleeting.tried()
        kept = fleeting.draft()

        with fleeting.office.scope():
            assert Fleet.objects.for_shop(fleeting.office.shop).count() == 1
        assert (tried["id"], tried["state"], [coach["quote"] for coach in tried["coaches"]]) == (None, "trial", [None] * 3)
        assert (tried["amounts"], tried["lines"]) == (kept["amounts"], kept["lines"])

    def test_the_same_key_makes_one_fleet(self, fleeting: Fleeting) -> None:
        headers = {"Idempotency-Key": "lot-1"}
        first = fleeting.office.post("fleets", fleeting.body(), headers=headers)
        again = fleeting.office.post("fleets", fleeting.body(), headers=headers)

        assert first.json() == again.json()
        assert len(fleeting.office.get("quotes").json()["results"]) == 3

    def test_a_list_is_filtered_and_quotes_are_found_by_their_fleet(self, fleeting: Fleeting) -> None:
        one, other = fleeting.draft(), fleeting.draft(label="Autumn lot", coaches=fleeting.coaches[:2])

        assert [row["id"] for row in fleeting.office.get("fleets").json()["results"]] == [other["id"], one["id"]]
        assert [row["id"] for row in fleeting.office.get("fleets?label=Spring lot").json()["results"]] == [one["id"]]
        assert fleeting.office.get("fleets?state=issued").json()["results"] == []
        found = fleeting.office.get(f"quotes?fleet={other['id']}").json()["results"]
        assert [row["place"] for row in found] == [2, 1]


def _alone(fleeting: Fleeting, place: int) -> Body:
    body = fleeting.body()
    return {**fleeting.coaches[place], **{name: body[name] for name in ("plan", "skin", "measures")}}


class TestSaving:
    def test_all_quotes_are_priced_again_and_keep_their_numbers_in_whatever_place(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        numbers = {coach["coach"]: (coach["quote"], coach["number"]) for coach in fleet["coaches"]}
        fourth = fleeting.add_coach("INV 104")
        first, second, third = fleeting.coaches

        saved = fleeting.saved(fleet["id"], coaches=[third, fourth, first])

        assert saved["version"] == 2
        assert [coach["coach"] for coach in saved["coaches"]] == [third["coach"], fourth["coach"], first["coach"]]
        for coach in (saved["coaches"][0], saved["coaches"][2]):
            assert (coach["quote"], coach["number"]) == numbers[coach["coach"]]
            assert coach["version"] == 2
        assert (saved["coaches"][1]["number"], saved["coaches"][1]["version"]) == ("Q-2026-4", 1)
        gone = numbers[second["coach"]][0]
        assert problem(fleeting.office.get(f"quotes/{gone}"), 404)["code"] == "not_found"
        assert [quote["place"] for quote in fleeting.quotes(saved)] == [1, 2, 3]
        assert fleeting.office.get(f"fleets/{fleet['id']}").json() == saved

    def test_saving_the_same_gives_the_same(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        saved = fleeting.saved(fleet["id"])

        assert {**saved, "version": 1, "coaches": []} == {**fleet, "coaches": []}
        assert [{**coach, "version": 1} for coach in saved["coaches"]] == fleet["coaches"]

    def test_a_stale_version_is_refused(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        fleeting.saved(fleet["id"])

        stale = fleeting.office.ask("PUT", f"fleets/{fleet['id']}", fleeting.body(), headers={"If-Match": '"v1"'})
        assert problem(stale, 412)["code"] == "version_mismatch"
        bare = fleeting.office.ask("PUT", f"fleets/{fleet['id']}", fleeting.body())
        assert problem(bare, 428)["code"] == "if_match_missing"

    def test_a_draft_is_deleted_with_all_its_quotes_and_numbers_are_not_given_again(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()

        deleted = fleeting.office.change(f"fleets/{fleet['id']}", None, method="DELETE")

        assert deleted.status_code == 204
        assert fleeting.office.get("quotes").json()["results"] == []
        assert problem(fleeting.office.get(f"fleets/{fleet['id']}"), 404)["code"] == "not_found"
        assert fleeting.draft()["coaches"][0]["number"] == "Q-2026-4"


class TestMembers:
    def test_a_quote_of_a_fleet_is_not_changed_without_the_others(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        quote = fleet["coaches"][1]["quote"]
        body = {**fleeting.coaches[1], **_alone(fleeting, 1)}
        office, tag = fleeting.office, {"If-Match": '"v1"'}

        answers = [
            office.ask("PUT", f"quotes/{quote}", body, headers=tag),
            office.ask("DELETE", f"quotes/{quote}", headers=tag),
            office.post(f"quotes/{quote}/issue", {}, headers=tag),
            office.post(f"quotes/{quote}/alternatives", body, headers=tag),
        ]

        for answer in answers:
            refused = problem(answer, 409)
            assert refused["code"] == "fleet_member"
            assert f"coach 2 of fleet {fleet['id']}" in refused["detail"]
        assert fleeting.issue(fleet["id"]).status_code == 200
        revised = problem(office.post(f"quotes/{quote}/revisions", body), 409)
        assert revised["code"] == "fleet_member"

    def test_a_quote_of_its_own_is_in_no_fleet(self, fleeting: Fleeting) -> None:
        quote = fleeting.quoting.draft().json()

        assert (quote["fleet"], quote["place"]) == (None, None)


class TestIssuing:
    def test_it_marks_the_fleet_all_its_quotes_and_their_surveys(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        issued = fleeting.issue(fleet["id"])

        assert issued.status_code == 200
        document = issued.json()
        assert (document["state"], document["version"]) == ("issued", 2)
        assert document["amounts"] == fleet["amounts"]
        assert {coach["state"] for coach in document["coaches"]} == {"issued"}
        assert {quote["issued_at"] for quote in fleeting.quotes(fleet)} == {document["issued_at"]}
        with fleeting.office.scope():
            surveys = Survey.objects.for_shop(fleeting.office.shop).exclude(locked_on=None)
            assert set(surveys.values_list("pk", flat=True)) == {coach["survey"] for coach in fleeting.coaches}

    def test_it_stays_as_it_is(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        fleeting.issue(fleet["id"])

        saved = fleeting.office.change(f"fleets/{fleet['id']}", fleeting.body(), method="PUT")
        deleted = fleeting.office.change(f"fleets/{fleet['id']}", None, method="DELETE")
        again = fleeting.issue(fleet["id"])
        for answer in (saved, deleted, again):
            assert problem(answer, 409)["code"] == "quote_state"

    def test_nobody_changes_an_issued_fleet_behind_the_service(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        fleeting.issue(fleet["id"])

        for change in ({"base": 1}, {"state": "draft"}, {"coaches": 2}):
            with pytest.raises(Exception, match="was issued and stays as it is"), fleeting.office.scope():
                Fleet.objects.for_shop(fleeting.office.shop).filter(pk=fleet["id"]).update(**change)
        with pytest.raises(Exception, match="protected foreign keys"), fleeting.office.scope():
            Fleet.objects.for_shop(fleeting.office.shop).filter(pk=fleet["id"]).delete()

    def test_newer_editions_are_listed_unless_confirmed(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        fleeting.quoting.own_edition("rate", "technician", billed_per_hour="500.00")

        refused = problem(fleeting.issue(fleet["id"]), 409)

        assert refused["code"] == "newer_editions"
        assert [(newer["kind"], newer["slug"]) for newer in refused["newer"]] == [("rate", "technician")]
        assert fleeting.issue(fleet["id"], {"confirm_editions": True}).json()["amounts"] == fleet["amounts"]

    def test_prices_that_hold_no_longer_are_not_issued(self, fleeting: Fleeting, clock: Clock) -> None:
        fleet = fleeting.draft()
        clock.turn(days=31)

        assert problem(fleeting.issue(fleet["id"]), 409)["code"] == "quote_state"
        fleeting.saved(fleet["id"])
        assert fleeting.issue(fleet["id"]).status_code == 200


class TestWorkedAgain:
    def test_each_quote_comes_to_the_same_to_the_cent_from_what_was_kept(self, fleeting: Fleeting, clock: Clock) -> None:
        coaches = [dict(coach) for coach in fleeting.coaches]
        coaches[0]["measures"] = [entry("deck_replaced_share", 0.4)]
        fleet = fleeting.draft(coaches=coaches, conditions=[{"condition": "no-bay", "reason": "Full."}])
        fleeting.quoting.own_edition("rate", "technician", billed_per_hour="500.00")
        clock.turn(days=400)
        cost_base_snapshot.forget()
        quotes_snapshot.forget()

        with fleeting.office.scope():
            for coach in fleet["coaches"]:
                quote = Quote.objects.for_shop(fleeting.office.shop).get(pk=coach["quote"])
                again = worked_again(quote).quote
                for name in AMOUNTS:
                    assert getattr(again.totals, name) == getattr(quote, name), name
                assert list(again.set_aside.atoms) == quote.atoms

    def test_every_reason_lands_on_what_is_stored(self, fleeting: Fleeting) -> None:
        fleeting.quoting.own_edition(
            "rule", "standard", overhead_share="0.08", supplies_share="0.03", supplies_cap="60.00", stock_billing="use",
            tax_mode="parts_and_labour", tax_rates=[{"name": "state", "rate": "0.0825"}], total_step="5",
        )  # fmt: skip
        fleeting.quoting.own_edition("price", "tpo-membrane-45-thou", freight="120.00")
        fleet = fleeting.draft()
        quote = fleet["coaches"][1]["quote"]
        whys = fleeting.office.get(f"quotes/{quote}/why").json()
        assert [line["slug"] for line in fleet["lines"] if line["slug"].startswith("freight:")]

        paths = [*whys["lines"], *whys["amounts"], *whys["components"], whys["tier"], whys["allowance"]]
        for path in paths:
            why = fleeting.office.get(path).json()
            assert why["exact"] is True
            assert why["value"] == why["stored"], (path, why)
            assert why["steps"], path

    def test_the_reason_of_a_line_tells_the_lot_s_line_and_the_share(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        quote = fleeting.quotes(fleet)[2]
        line = next(line for line in quote["lines"] if line["kind"] == "labour")

        why = fleeting.office.get(f"quotes/{quote['id']}/lines/{line['position']}/why").json()

        texts = [step["text"] for step in why["steps"]]
        assert any(text.startswith("alone: ") for text in texts)
        assert any(text.startswith("coach 3, unit 3 of this work: 0.9219 of its hours") for text in texts)
        lot = next(step for step in why["steps"] if " h x " in step["text"] and not step["text"].startswith("alone"))
        assert lot["value"] == line["details"]["lot"]["lot_amount"]
        assert texts[-1].startswith("share of coach 3 of 3: ")
        assert why["steps"][-1]["value"] == line["amount"]

    def test_the_reason_of_a_limit_tells_the_lot_s(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        why = fleeting.office.get(f"quotes/{fleet['coaches'][0]['quote']}/amounts/limit/why").json()

        assert why["steps"][0]["value"] == fleet["together"]["limits"]
        assert why["steps"][1]["value"] == fleet["amounts"]["limit"]
        allowance = fleeting.office.get(f"quotes/{fleet['coaches'][0]['quote']}/why-allowance").json()
        assert allowance["steps"][0]["value"] == fleet["amounts"]["allowance"]


class TestElsewhere:
    """What other parts of the service make of the quotes of a fleet."""

    def test_the_night_finds_that_an_issued_fleet_comes_to_the_same(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        fleeting.issue(fleet["id"])
        ids = [coach["quote"] for coach in fleet["coaches"]]

        with fleeting.office.scope(), CaptureQueriesContext(connection) as captured:
            assert recomputable_quotes(fleeting.office.shop, ENGINE) == ids
            assert mismatches(fleeting.office.shop, ids, tasks._rows) == []
        # The ids, quotes, lines and components, the kept base, and the coaches of the fleet once for all its quotes.
        assert len([query for query in captured if query["sql"].startswith("SELECT") and "quotes_" in query["sql"]]) <= 6

    def test_a_trial_of_editions_works_the_whole_fleet_out(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        fleeting.issue(fleet["id"])
        ids = [coach["quote"] for coach in fleet["coaches"]]
        rate = {
            "kind": "rate",
            "slug": "estimator",
            "contents": {**contents_of("rate", "estimator"), "billed_per_hour": "135.00"},
        }

        told = fleeting.office.post("editions/trial", {"editions": [rate], "quotes": {"ids": ids}}).json()

        # Nothing has changed since, and ten more an hour are shared as the hours are.
        hours = sum(d(line["quantity"]) for line in fleet["lines"] if line["trade"] == "estimator")
        assert {one["amounts"]["base"]["stored"] == one["amounts"]["base"]["without"] for one in told["quotes"]} == {True}
        assert hours > 0
        # Every line of the lot is rounded by itself.
        assert sum(d(one["amounts"]["base"]["difference"]) for one in told["quotes"]) == pytest.approx(
            hours * 10, abs=d("0.03")
        )

    def test_who_pays_for_a_coach_goes_with_its_quote(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        payers = {"payers": [{"label": "rentals", "kind": "fleet", "customer": fleeting.customer}], "rules": []}
        for coach in fleet["coaches"]:
            put = fleeting.office.change(f"quotes/{coach['quote']}/payers", payers, method="PUT")
            assert put.status_code == 200, put.content.decode()

        saved = fleeting.saved(fleet["id"], coaches=fleeting.coaches[:2])

        for coach in saved["coaches"]:
            kept = fleeting.office.get(f"quotes/{coach['quote']}/payers").json()
            assert "rentals" in [payer["label"] for payer in kept["payers"]]
        assert fleeting.office.change(f"fleets/{fleet['id']}", None, method="DELETE").status_code == 204


class TestRefused:
    def test_one_coach_and_fifty_one(self, fleeting: Fleeting) -> None:
        for coaches, code in ((fleeting.coaches[:1], "min_length"), (fleeting.coaches * 17, "max_length")):
            refused = fleeting.office.post("fleets", fleeting.body(coaches=coaches))
            assert list(places(refused).values()) == [code]

    def test_coaches_that_do_not_belong_together_all_at_once(self, fleeting: Fleeting, elsewhere: Office) -> None:
        theirs = Quoting(elsewhere)
        other_owner = fleeting.quoting.add_coach({**bodies.coach(plate="INV 7"), "customer": fleeting.add_customer()})
        coaches = [
            fleeting.coaches[0],
            fleeting.coaches[0],
            {"coach": fleeting.coaches[1]["coach"], "survey": fleeting.coaches[2]["survey"]},
            {"coach": theirs.coach, "survey": theirs.survey},
            {"coach": other_owner, "survey": fleeting.quoting.add_survey(other_owner)},
        ]

        for path in ("fleets", "fleets/trial"):
            assert places(fleeting.office.post(path, fleeting.body(coaches=coaches))) == {
                "#/coaches/1/coach": "coach_twice",
                "#/coaches/2/survey": "survey_of_another_coach",
                "#/coaches/3/survey": "other_shop",
                "#/coaches/4/coach": "coach_of_another_customer",
            }

    def test_a_customer_of_another_shop(self, fleeting: Fleeting, elsewhere: Office) -> None:
        theirs = elsewhere.post("customers", bodies.customer()).json()["id"]

        refused = fleeting.office.post("fleets", fleeting.body(customer=theirs))

        assert places(refused)["#/customer"] == "other_shop"

    def test_a_coach_that_is_nobody_s_may_come(self, fleeting: Fleeting) -> None:
        coach = fleeting.quoting.add_coach(bodies.coach(plate="INV 8"))

        fleet = fleeting.draft(
            coaches=[fleeting.coaches[0], {"coach": coach, "survey": fleeting.quoting.add_survey(coach)}], measures=[]
        )

        assert [quote["customer"] for quote in fleeting.quotes(fleet)] == [fleeting.customer] * 2

    def test_faults_point_into_the_request_whichever_coach_found_them(self, fleeting: Fleeting) -> None:
        coaches = [dict(coach) for coach in fleeting.coaches]
        coaches[2]["measures"] = [entry("splinter_share", 0.1), entry("deck_replaced_share", 0.2, section="attic")]
        common = [entry("splinter_share", 0.2), entry("old_bead_length", "80 ft", section="attic")]
        body = fleeting.body(coaches=coaches, measures=common)

        refused = fleeting.office.post("fleets", body)

        # The third coach says one of the common measures itself, so its second entry is its own second one.
        assert places(refused) == {"#/measures/1/section": "bad_entry", "#/coaches/2/measures/1/section": "bad_entry"}

    def test_an_unknown_plan_condition_or_option_is_told_once(self, fleeting: Fleeting) -> None:
        office = fleeting.office
        unknown = office.post("fleets", fleeting.body(conditions=[{"condition": "hail", "reason": "Invented."}]))
        assert places(unknown) == {"#/conditions/0/condition": "condition_conflict"}
        assert places(office.post("fleets", fleeting.body(options=["no-such"]))) == {"#/options/0": "plan_refused"}
        assert problem(office.post("fleets", fleeting.body(plan="no-such")), 422)["code"] == "not_in_force"

    def test_what_is_said_twice_or_not_known(self, fleeting: Fleeting) -> None:
        twice = [entry("splinter_share", 0.2), entry("splinter_share", 0.3)]
        coaches = [{**fleeting.coaches[0], "measures": twice}, fleeting.coaches[1]]

        assert list(places(fleeting.office.post("fleets", fleeting.body(measures=twice))).values()) == ["said_twice"]
        assert list(places(fleeting.office.post("fleets", fleeting.body(coaches=coaches))).values()) == ["said_twice"]
        assert places(fleeting.office.post("fleets", fleeting.body(scope=[]))) == {"#/scope": "unknown_field"}


class TestRoles:
    def test_an_estimator_drafts_saves_and_issues_and_sees_no_cost(self, fleeting: Fleeting) -> None:
        office = fleeting.office
        posted = office.post("fleets", fleeting.body(), role=ESTIMATOR)
        path = posted["Location"]
        answers = [
            posted,
            office.post("fleets/trial", fleeting.body(), role=ESTIMATOR),
            office.get(path, role=ESTIMATOR),
            office.change(path, fleeting.body(), method="PUT", role=ESTIMATOR),
            fleeting.issue(posted.json()["id"], role=ESTIMATOR),
        ]
        for answer in answers:
            assert answer.status_code in (200, 201)
            assert not {"cost", "margin", "pack_price", "markup", "freight"} & names(answer.json())
        assert {"cost", "margin", "pack_price", "markup"} <= names(office.get(path, role=ANALYST).json())

    def test_an_analyst_and_a_network_s_manager_change_nothing(self, fleeting: Fleeting) -> None:
        fleet = fleeting.draft()
        Shop.objects.filter(pk=fleeting.office.shop.pk).update(shares_learning=True)
        path = f"fleets/{fleet['id']}"
        asked: list[tuple[str, str, Any]] = [
            ("POST", "fleets", fleeting.body()),
            ("POST", "fleets/trial", fleeting.body()),
            ("PUT", path, fleeting.body()),
            ("DELETE", path, None),
            ("POST", f"{path}/issue", {}),
        ]
        for role in (ANALYST, NETWORK_MANAGER):
            for method, address, body in asked:
                refused = fleeting.office.ask(method, address, body, role=role, headers={"If-Match": "*"})
                assert problem(refused, 403)["code"] == "role_not_allowed", (role, method, address)
            assert fleeting.office.get(path, role=role).status_code == 200

    def test_another_shop_finds_nothing(self, fleeting: Fleeting, elsewhere: Office) -> None:
        path = f"fleets/{fleeting.draft()['id']}"

        for method, address in (("GET", path), ("PUT", path), ("DELETE", path), ("POST", f"{path}/issue")):
            refused = elsewhere.ask(method, address, fleeting.body(), headers={"If-Match": "*"})
            assert problem(refused, 404)["code"] == "not_found"
        assert elsewhere.get("fleets").json()["results"] == []
