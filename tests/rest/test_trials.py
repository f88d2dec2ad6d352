"""What would drafts of editions do to coaches and issued quotes? Nothing is saved by asking."""

import tomllib
from datetime import date
from typing import Any

import pytest

from costbase.models import ShopEdition
from quotes.models import Quote
from tests.rest import bodies
from tests.rest.office import FIXTURES, Office, places, problem
from tests.rest.quoting import MEASURES, Body, Clock, Quoting, coach_34, contents_of

EMPTY: Body = {"cells": [], "strips": [], "rings": [], "findings": [], "repairs": []}


def draft(kind: str, slug: str, **changes: Any) -> Body:
    """New contents, as the shipped ones but for the changes."""
    return {"kind": kind, "slug": slug, "contents": {**contents_of(kind, slug), **changes}}


def dearer(rate: str = "135.00") -> Body:
    """The estimator at ten more an hour than the shipped 125.00."""
    return draft("rate", "estimator", billed_per_hour=rate)


def asked(quoting: Quoting, *drafts: Body, status: int = 200, **body: Any) -> Any:
    answer = quoting.office.post("editions/trial", {"editions": list(drafts), **body})
    assert answer.status_code == status, answer.content.decode()
    return answer


def tried(quoting: Quoting, *drafts: Body, **body: Any) -> Body:
    found: Body = asked(quoting, *drafts, **body).json()
    return found


def cells(one: Body, name: str) -> tuple[str, str, str, str]:
    """An amount as it was stored, without and with the drafts, and the difference of the last two."""
    amount = one["amounts"][name]
    return amount["stored"], amount["without"], amount["with"], amount["difference"]


def side(line: Body | None) -> str:
    return line["amount"] if line else "-"


def moved(one: Body) -> dict[tuple[str, str], tuple[str, str, str]]:
    """Amounts of the lines that changed: before, after and the difference, "-" for none."""
    return {
        (line["slug"], line["trade"]): (
            *(side["amount"] if side else "-" for side in (line["before"], line["after"])),
            line["difference"],
        )
        for line in one["change"]["lines"]
    }


class TestARateUpByTen:
    def test_every_line_of_the_trade_moves_by_its_hours(self, quoting: Quoting) -> None:
        (one,) = tried(quoting, dearer(), coaches=[quoting.body()])["coaches"]

        # The estimator's hours: 3 of intake, 1.5 under the open roof, 1.5 at the hand-over; at 125.00 and at 135.00.
        assert moved(one) == {
            ("intake-survey", "estimator"): ("375.00", "405.00", "30.00"),
            ("open-roof-inspection", "estimator"): ("187.50", "202.50", "15.00"),
            ("hand-over", "estimator"): ("187.50", "202.50", "15.00"),
        }
        (intake, _, _) = one["change"]["lines"]
        assert (intake["before"]["quantity"], intake["after"]["price"], intake["after"]["cost"]) == (
            "3.0000",
            "135.000000",
            "180.00",
        )

    def test_amounts_are_told_without_and_with_it(self, quoting: Quoting) -> None:
        (one,) = tried(quoting, dearer(), coaches=[quoting.body()])["coaches"]

        # Published: base 29912.27 and limit 33556.98; six hours at ten more. 30 % are paid down, cost is what it was.
        assert one["amounts"]["base"] == {"stored": None, "without": "29912.27", "with": "29972.27", "difference": "60.00"}
        assert one["amounts"]["limit"] == {"stored": None, "without": "33556.98", "with": "33616.98", "difference": "60.00"}
        assert (one["amounts"]["deposit"]["difference"], one["amounts"]["cost"]["difference"]) == ("18.00", "0.00")
        assert one["amounts"]["margin"]["difference"] == "60.00"
        assert (one["changed"], one["drift"], one["change"]["hidden"]) == (True, None, [])
        assert one["tier"] == {"stored": None, "without": "local", "with": "local"}

    def test_the_summary_adds_up_and_names_what_changes_most(self, quoting: Quoting) -> None:
        plain = quoting.body(plan="look-first", measures=[{"measure": "look_first_count", "value": 1}])
        told = tried(quoting, dearer(), coaches=[plain, quoting.body(), quoting.body()])

        summary = told["summary"]
        assert (summary["tried"], summary["worked_out"], summary["refused"]) == (3, 3, 0)
        assert (summary["changed"], summary["changed_coaches"], summary["changed_quotes"]) == (
            len(summary["changed_coaches"]),
            [at for at, one in enumerate(told["coaches"]) if one["changed"]],
            [],
        )
        assert {1, 2} <= set(summary["changed_coaches"])
        assert summary["base"]["largest"] == {"difference": "60.00", "quote": None, "coach": 1, "sample": None}

    def test_nothing_is_saved(self, quoting: Quoting) -> None:
        quote = quoting.issued()
        tried(quoting, dearer(), quotes={"last_issued": 1}, coaches=[quoting.body()])

        with quoting.office.scope():
            assert ShopEdition.objects.for_shop(quoting.shop).count() == 0
            assert Quote.objects.for_shop(quoting.shop).count() == 1
        assert quoting.office.get(f"quotes/{quote['id']}").json() == quote
        assert quoting.tried()["amounts"]["base"] == "29912.27"


class TestAnIssuedQuote:
    def test_it_is_worked_out_from_its_own_inputs(self, quoting: Quoting) -> None:
        quote = quoting.issued()
        (one,) = tried(quoting, dearer(), quotes={"last_issued": 10})["quotes"]

        assert (one["quote"], one["number"], one["state"], one["coach"]) == (quote["id"], "Q-2026-1", "issued", quoting.coach)
        assert one["amounts"]["base"] == {
            "stored": "29912.27",
            "without": "29912.27",
            "with": "29972.27",
            "difference": "60.00",
        }
        # Stored and worked out again agree to the last figure, so nothing has drifted.
        assert one["drift"]["nothing"]
        assert not one["change"]["nothing"]

    def test_what_newer_editions_did_already_is_told_apart_from_the_draft(self, quoting: Quoting, clock: Clock) -> None:
        quoting.issued()
        quoting.network_edition("rate", "estimator", date(2026, 3, 10), billed_per_hour="130.00")
        clock.turn(days=8)
        (one,) = tried(quoting, dearer("140.00"), quotes={"last_issued": 1})["quotes"]

        # Six hours at 125.00 as issued, at 130.00 on the day, at 140.00 with the draft.
        assert one["amounts"]["base"] == {
            "stored": "29912.27",
            "without": "29942.27",
            "with": "30002.27",
            "difference": "60.00",
        }
        drift = {line["slug"]: line["difference"] for line in one["drift"]["lines"]}
        assert drift == {"intake-survey": "15.00", "open-roof-inspection": "7.50", "hand-over": "7.50"}
        assert one["drift"]["amounts"]["base"] == {"before": "29912.27", "after": "29942.27", "difference": "30.00"}
        assert moved(one)["intake-survey", "estimator"] == ("390.00", "420.00", "30.00")

    def test_the_day_can_be_another_one(self, quoting: Quoting) -> None:
        quoting.issued()
        quoting.network_edition("rate", "estimator", date(2026, 3, 10), billed_per_hour="130.00")
        told = tried(quoting, dearer(), on="2026-03-09", quotes={"last_issued": 1})
        assert (told["on"], told["quotes"][0]["amounts"]["base"]["without"]) == ("2026-03-09", "29912.27")
        later = tried(quoting, dearer(), on="2026-03-10", quotes={"last_issued": 1})
        assert later["quotes"][0]["amounts"]["base"]["without"] == "29942.27"

    def test_the_last_issued_come_first_and_superseded_revisions_not_at_all(self, quoting: Quoting, clock: Clock) -> None:
        first = quoting.issued()
        clock.turn(hours=1)
        second = quoting.issued()
        clock.turn(hours=1)
        revised = quoting.issue(quoting.revise(first).json()["id"]).json()
        draft_only = quoting.draft().json()

        told = tried(quoting, dearer(), quotes={"last_issued": 5})["quotes"]
        assert [one["quote"] for one in told] == [revised["id"], second["id"]]
        (newest,) = tried(quoting, dearer(), quotes={"last_issued": 1})["quotes"]
        assert newest["quote"] == revised["id"]
        both = tried(quoting, dearer(), quotes={"last_issued": 1, "ids": [draft_only["id"], first["id"], revised["id"]]})[
            "quotes"
        ]
        assert [one["quote"] for one in both] == [draft_only["id"], revised["id"], first["id"]]

    def test_a_quote_that_reads_nothing_of_the_drafts_changes_in_nothing(self, quoting: Quoting) -> None:
        quote = quoting.issued()
        told = tried(quoting, draft("material", "silicone-coating", waste_share="0.25"), quotes={"ids": [quote["id"]]})
        assert told["quotes"][0]["change"]["nothing"]
        assert (told["summary"]["changed"], told["summary"]["base"]["largest"]) == (0, None)


class TestAFormulaChanged:
    def test_hours_follow_the_formula_and_a_trade_that_is_left_out_loses_its_line(self, quoting: Quoting) -> None:
        longer = draft("assembly", "hand-over", labour=[{"trade": "estimator", "rate": "2 * hour"}])
        (one,) = tried(quoting, longer, coaches=[quoting.body()])["coaches"]

        # 2 h instead of 1.5 h at 125.00; the helper's 1.5 h at 95.00 are gone.
        assert moved(one) == {
            ("hand-over", "estimator"): ("187.50", "250.00", "62.50"),
            ("hand-over", "helper"): ("142.50", "-", "-142.50"),
        }
        assert one["hours"] == {"stored": None, "without": "175.9849", "with": "174.9849", "difference": "-1.0000"}
        assert one["amounts"]["base"]["difference"] == "-80.00"

    def test_a_likelier_component_moves_what_is_set_aside_and_no_line(self, quoting: Quoting) -> None:
        sure = draft("component", "edge", chance_mid=0.99, table={})
        (one,) = tried(quoting, sure, coaches=[quoting.body()])["coaches"]

        assert one["change"]["lines"] == []
        (component,) = [part for part in one["change"]["hidden"] if part["slug"] == "edge"]
        assert component["after"]["chance"] > component["before"]["chance"]
        assert component["after"]["unit_price"] == component["before"]["unit_price"]
        assert float(one["amounts"]["allowance"]["difference"]) > 0

    def test_severity_rules_are_read_as_surveys_are(self, quoting: Quoting) -> None:
        rules = tomllib.loads((FIXTURES / "network" / "severity.toml").read_text())["severity"]["severity"]
        kind = {"kind": "severity", "slug": "severity"}
        same = tried(quoting, {**kind, "contents": rules}, coaches=[quoting.body()])
        assert (same["editions"][0]["same"], same["summary"]["changed"]) == (True, 0)

        bad = asked(quoting, {**kind, "contents": {**rules, "frame_places": 0}}, coaches=[quoting.body()], status=422)
        assert places(bad) == {"#/editions/0/contents/frame_places": "bad_contents"}


class TestFaults:
    def test_every_fault_of_every_draft_is_told_at_once(self, quoting: Quoting) -> None:
        bad = [
            draft("assembly", "hand-over", driver="roof_area + gutter_length"),
            draft("rate", "estimator", billed_per_hour="ten"),
            draft("rate", "estimator"),
            {"kind": "rate", "slug": "helper", "withdrawn": True},
        ]
        # Contents are read before anything is laid beside anything else.
        assert places(asked(quoting, *bad, coaches=[quoting.body()], status=422)) == {
            "#/editions/1/contents/billed_per_hour": "bad_contents",
            "#/editions/2": "bad_draft",
            "#/editions/3/slug": "no_override",
        }

    def test_drafts_are_checked_beside_all_that_is_in_force(self, quoting: Quoting) -> None:
        bad = [
            draft("assembly", "hand-over", driver="roof_lenght", labour=[{"trade": "juggler", "rate": "1 * hour"}]),
            draft("plan", "reseal", assemblies=["no-such-work"], quantities={}),
        ]
        assert places(asked(quoting, *bad, coaches=[quoting.body()], status=422)) == {
            "#/editions/0/contents/driver": "formula_error",
            "#/editions/0/contents/labour/0/trade": "unknown_reference",
            "#/editions/1/contents/assemblies/0": "unknown_reference",
        }

    def test_what_no_longer_fits_beside_the_drafts_is_named(self, quoting: Quoting) -> None:
        quoting.own_edition(
            "rate", "juggler", name="Juggler", cost_per_hour="1.00", billed_per_hour="2.00", overtime_factor="1"
        )
        quoting.own_edition("assembly", "hand-over", labour=[{"trade": "juggler", "rate": "1 * hour"}])
        answer = asked(quoting, {"kind": "rate", "slug": "juggler", "withdrawn": True}, coaches=[quoting.body()], status=422)

        (fault,) = problem(answer, 422)["errors"]
        assert (fault["pointer"], fault["code"]) == ("#/editions", "unknown_reference")
        assert fault["detail"].startswith("assembly hand-over, in force, no longer fits at labour/0/trade")

    @pytest.mark.parametrize(
        ("said", "pointer", "code"),
        [
            ({"kind": "rate", "slug": "estimator"}, "#/editions/0", "bad_draft"),
            ({**dearer(), "withdrawn": True}, "#/editions/0", "bad_draft"),
            ({"kind": "fee", "slug": "estimator", "withdrawn": True}, "#/editions/0/kind", "unknown_choice"),
            ({"kind": "rate", "slug": "estimator", "contents": []}, "#/editions/0/contents", "not_object"),
            (
                {"kind": "rate", "slug": "Not a slug", "contents": contents_of("rate", "estimator")},
                "#/editions/0/slug",
                "bad_contents",
            ),
        ],
    )
    def test_a_draft_says_one_thing(self, quoting: Quoting, said: Body, pointer: str, code: str) -> None:
        assert places(asked(quoting, said, coaches=[quoting.body()], status=422)) == {pointer: code}

    def test_something_has_to_be_tried(self, quoting: Quoting) -> None:
        assert places(asked(quoting, dearer(), status=422)) == {"#/quotes": "required"}
        assert places(asked(quoting, quotes={"last_issued": 1}, status=422)) == {"#/editions": "min_length"}
        assert places(asked(quoting, dearer(), quotes={"last_issued": 51}, status=422)) == {"#/quotes/last_issued": "max_value"}

    def test_quotes_and_surveys_of_another_shop_are_not_there(self, quoting: Quoting, elsewhere: Office) -> None:
        other = Quoting(elsewhere).issued()
        mine = quoting.issued()

        answer = asked(quoting, dearer(), quotes={"ids": [mine["id"], other["id"] + 1000]}, status=422)
        assert places(answer) == {"#/quotes/ids/1": "other_shop"}
        bad = [quoting.body(), quoting.body(survey=other["survey"] + 1000), quoting.body(coach=quoting.coach + 1000)]
        assert places(asked(quoting, dearer(), coaches=bad, status=422)) == {
            "#/coaches/1/survey": "other_shop",
            "#/coaches/2/survey": "survey_of_another_coach",
        }

    def test_the_very_quote_of_another_shop_is_not_there(self, quoting: Quoting, elsewhere: Office) -> None:
        other = Quoting(elsewhere).issued()
        assert places(asked(quoting, dearer(), quotes={"ids": [other["id"]]}, status=422)) == {"#/quotes/ids/0": "other_shop"}


class TestARefusal:
    def test_what_cannot_be_worked_out_with_the_drafts_is_told_beside_what_can(self, quoting: Quoting) -> None:
        quoting.issued()
        reseal = quoting.body(plan="reseal", measures=[])
        nothing = draft("plan", "reseal", assemblies=["cap-reseal"], quantities={})
        told = tried(quoting, nothing, quotes={"last_issued": 1}, coaches=[reseal])

        (refused,) = told["coaches"]
        assert refused["refusal"]["without"] is None
        assert refused["refusal"]["with"]["code"] == "nothing_to_do"
        assert refused["refusal"]["with"]["errors"][0]["pointer"] == "#/coaches/0/plan"
        assert (refused["change"], refused["changed"], refused["amounts"]["base"]["with"]) == (None, True, None)
        assert told["quotes"][0]["change"]["nothing"]
        summary = told["summary"]
        assert (summary["tried"], summary["worked_out"], summary["refused"], summary["changed"]) == (2, 1, 1, 1)

    def test_a_refusal_without_the_drafts_may_go_with_them(self, quoting: Quoting) -> None:
        fresh = draft("plan", "reseal")
        told = tried(quoting, {**fresh, "slug": "reseal-again"}, coaches=[quoting.body(plan="reseal-again", measures=[])])

        (one,) = told["coaches"]
        assert one["refusal"]["without"]["code"] == "not_in_force"
        assert (one["refusal"]["with"], one["changed"], one["amounts"]["base"]["without"]) == (None, True, None)
        assert told["editions"][0]["in_force"] is None


class TestFollowingAndWithdrawing:
    def test_following_the_network_again_takes_its_rate(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "estimator", billed_per_hour="135.00")
        told = tried(quoting, {"kind": "rate", "slug": "estimator", "follow_network": True}, coaches=[quoting.body()])

        assert told["coaches"][0]["amounts"]["base"]["difference"] == "-60.00"
        (edition,) = told["editions"]
        assert edition["in_force"] == {"owner": "shop", "valid_from": "2026-01-01"}
        assert edition["then"] == {"owner": "network", "valid_from": "2020-01-01"}

    def test_withdrawing_brings_the_shops_earlier_edition_back(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "estimator", date(2025, 1, 1), billed_per_hour="130.00")
        quoting.own_edition("rate", "estimator", billed_per_hour="135.00")
        told = tried(quoting, {"kind": "rate", "slug": "estimator", "withdrawn": True}, coaches=[quoting.body()])

        assert told["coaches"][0]["amounts"]["base"]["difference"] == "-30.00"
        assert told["editions"][0]["then"] == {"owner": "shop", "valid_from": "2025-01-01"}

    def test_an_edition_that_an_issued_quote_used_cannot_be_withdrawn(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "estimator", billed_per_hour="135.00")
        quoting.issued()
        answer = asked(quoting, {"kind": "rate", "slug": "estimator", "withdrawn": True}, quotes={"last_issued": 1}, status=409)
        assert places(answer, 409) == {"#/editions/0/withdrawn": "edition_used"}

    def test_where_the_shop_has_none_of_its_own_nothing_ends(self, quoting: Quoting) -> None:
        for way in ("follow_network", "withdrawn"):
            said = {"kind": "rate", "slug": "estimator", way: True}
            answer = asked(quoting, said, coaches=[quoting.body()], status=409)
            assert places(answer, 409) == {"#/editions/0/slug": "no_override"}

    def test_withdrawing_a_day_of_following_brings_the_shops_own_back(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "estimator", date(2025, 1, 1), billed_per_hour="130.00")
        with quoting.office.scope():
            ShopEdition.objects.for_shop(quoting.shop).create(
                shop=quoting.shop, kind="rate", slug="estimator", valid_from=date(2026, 1, 1), contents={}, follows_network=True
            )
        follow = {"kind": "rate", "slug": "estimator", "follow_network": True}
        there = asked(quoting, follow, coaches=[quoting.body()], status=409)
        assert places(there, 409) == {"#/editions/0/follow_network": "no_override"}
        told = tried(quoting, {"kind": "rate", "slug": "estimator", "withdrawn": True}, coaches=[quoting.body()])
        assert told["coaches"][0]["amounts"]["base"]["difference"] == "30.00"

    def test_what_every_quote_needs_cannot_be_withdrawn(self, quoting: Quoting) -> None:
        with quoting.office.scope():
            ShopEdition.objects.for_shop(quoting.shop).create(
                shop=quoting.shop,
                kind="price",
                slug="juggling-ball",
                valid_from=date(2026, 1, 1),
                contents=contents_of("price", "perimeter-sealant-10-1-oz"),
            )
            goods = {**contents_of("material", "perimeter-sealant-10-1-oz"), "name": "Juggling ball"}
            work = contents_of("assembly", "hand-over")
            for kind, slug, contents in (
                ("material", "juggling-ball", goods),
                ("assembly", "hand-over", {**work, "materials": [{"material": "juggling-ball", "quantity": "1"}]}),
            ):
                ShopEdition.objects.for_shop(quoting.shop).create(
                    shop=quoting.shop, kind=kind, slug=slug, valid_from=date(2026, 1, 1), contents=contents
                )
        gone = {"kind": "price", "slug": "juggling-ball", "withdrawn": True}
        (fault,) = problem(asked(quoting, gone, coaches=[quoting.body()], status=422), 422)["errors"]
        assert (fault["pointer"], fault["code"]) == ("#/editions", "unknown_reference")
        assert "juggling-ball, which has no price in force" in fault["detail"]


class TestASample:
    def test_a_coach_and_a_survey_may_stand_in_the_request(self, quoting: Quoting) -> None:
        sample = {
            "plan": "full-rebuild",
            "skin": "frp",
            "measures": [dict(measure) for measure in MEASURES],
            "roof": coach_34()["roof"],
            "survey": {"method": "walked", "made_on": "2026-03-02", **EMPTY},
        }
        told = tried(quoting, dearer(), samples=[sample], coaches=[quoting.body()])

        (one,), (coach,) = told["samples"], told["coaches"]
        assert {**one, "place": 0} == {**coach, "place": 0}
        assert (one["amounts"]["base"]["without"], told["summary"]["changed_samples"]) == ("29912.27", [0])

    def test_what_is_wrong_with_it_is_told_with_its_place(self, quoting: Quoting) -> None:
        roof = bodies.roof(bodies.section(openings=[bodies.opening("vent 1", station="90 ft")]))
        marks = {"method": "walked", "made_on": "2026-03-02", **EMPTY, "cells": [bodies.cell("99D")]}
        sample = {"plan": "full-rebuild", "skin": "frp", "roof": roof, "survey": {**marks, "cells": []}}
        far = {"plan": "full-rebuild", "skin": "frp", "roof": coach_34()["roof"], "survey": marks}
        off, beyond = tried(quoting, dearer(), samples=[sample, far])["samples"]

        assert off["refusal"]["without"]["errors"][0]["pointer"].startswith("#/samples/0/roof/sections/0/openings/0")
        assert beyond["refusal"]["with"]["errors"][0]["pointer"] == "#/samples/1/survey/cells/0/cell"


class TestWhoMay:
    @pytest.mark.parametrize("role", ["estimator", "analyst", "network_manager"])
    def test_only_a_manager_sees_what_drafts_do(self, quoting: Quoting, role: str) -> None:
        answer = quoting.office.post("editions/trial", {"editions": [dearer()], "coaches": [quoting.body()]}, role=role)
        assert problem(answer, 403 if role != "network_manager" else answer.status_code)["code"] in (
            "role_not_allowed",
            "not_found",
        )
