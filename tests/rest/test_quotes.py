"""Quotes over the API: what is priced, what is kept, and what a draft can still become."""

from datetime import date
from typing import Any

import pytest

from quotes.models import FrozenCostBase, Quote, QuoteComponent, QuoteCounter, QuoteLine
from tests.rest import bodies
from tests.rest.office import places, problem
from tests.rest.quoting import Clock, Quoting, entry, line_of

TABLES = (Quote, QuoteLine, QuoteComponent, FrozenCostBase, QuoteCounter)


def counts(quoting: Quoting) -> list[int]:
    with quoting.office.scope():
        return [table.objects.for_shop(quoting.shop).count() for table in TABLES]


class TestThePublishedExamples:
    def test_the_laminated_coach_is_quoted_to_the_cent(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()

        # Published: base 29912.27, 175.9849 hours, allowance 2038.10, contingency 3644.71, limit 33556.98; the reserve is
        # the difference 3644.71 - 2038.10.
        amounts = quote["amounts"]
        assert (amounts["base"], amounts["allowance"], amounts["reserve"]) == ("29912.27", "2038.10", "1606.61")
        assert (amounts["contingency"], amounts["limit"]) == ("3644.71", "33556.98")
        assert quote["hours"]["total"] == "175.9849"
        assert (quote["roof_tier"], quote["price_basis"], quote["confidence_level"]) == ("local", "firm", 0.8)
        # No tax in the shipped rule, so what the owner signs is the limit; 30 % of the base is paid down, 8973.681.
        assert (amounts["limit_with_tax"], amounts["deposit"]) == ("33556.98", "8973.68")
        # Direct cost as published: 8055.86 labour and 5913.28 material.
        assert amounts["cost"] == "13969.14"
        assert amounts["margin"] == "15943.13"

    def test_the_framed_coach_is_quoted_to_the_cent(self, quoting: Quoting) -> None:
        quote = quoting.posted(quoting.framed_body()).json()

        # Published: base 14153.00, 84.0923 hours, allowance 2259.35, contingency 3857.56, limit 18010.56.
        amounts = quote["amounts"]
        assert (amounts["base"], amounts["allowance"]) == ("14153.00", "2259.35")
        assert (amounts["contingency"], amounts["limit"]) == ("3857.56", "18010.56")
        assert (quote["hours"]["total"], amounts["cost"]) == ("84.0923", "6590.31")

    def test_parts_add_up_to_their_whole(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()

        def total(values: Any) -> int:
            return sum(int(value.replace(".", "")) for value in values)

        assert total(line["amount"] for line in quote["lines"]) == total([quote["amounts"]["base"]])
        assert total(part["allowance"] for part in quote["hidden"]) == total([quote["amounts"]["allowance"]])
        assert total(line["cost"] for line in quote["lines"]) == total([quote["amounts"]["cost"]])
        assert total(quote["hours"]["by_phase"].values()) == total(quote["hours"]["by_trade"].values()) == 1759849
        assert [line["position"] for line in quote["lines"]] == list(range(1, len(quote["lines"]) + 1))


class TestWhatIsKept:
    def test_a_trial_prices_as_a_draft_does_and_keeps_nothing(self, quoting: Quoting) -> None:
        before = counts(quoting)

        tried = quoting.tried()

        assert counts(quoting) == before == [0, 0, 0, 0, 0]
        assert (tried["id"], tried["number"], tried["state"], tried["created"]) == (None, "", "trial", None)
        kept = quoting.draft().json()
        given = {"id", "number", "revision", "state", "version", "created"}
        assert {k: v for k, v in tried.items() if k not in given} == {k: v for k, v in kept.items() if k not in given}

    def test_what_was_posted_is_what_is_read_again(self, quoting: Quoting) -> None:
        posted = quoting.draft()

        read = quoting.office.get(posted["Location"])

        assert read["ETag"] == posted["ETag"] == '"v1"'
        assert read.json() == posted.json()

    def test_a_draft_says_what_it_was_made_from(self, quoting: Quoting) -> None:
        owner = quoting.office.post("customers", bodies.customer()).json()["id"]
        coach = quoting.office.change(f"coaches/{quoting.coach}", {"customer": owner}).json()["id"]

        quote = quoting.draft().json()

        assert (quote["number"], quote["revision"], quote["state"]) == ("Q-2026-1", 1, "draft")
        assert (quote["customer"], quote["coach"], quote["survey"]) == (owner, coach, quoting.survey)
        assert (quote["priced_on"], quote["valid_until"]) == ("2026-03-02", "2026-04-01")
        assert quote["request"] == quoting.body()
        assert quote["reference"] == "JOB 17"

    def test_the_day_is_the_shops(self, quoting: Quoting, clock: Clock) -> None:
        # 15:00 UTC and 14 hours is 05:00 UTC of the next day, 23:00 in Chicago of the same.
        clock.turn(hours=14)
        assert quoting.draft().json()["priced_on"] == "2026-03-02"
        clock.turn(hours=1)
        assert quoting.draft().json()["priced_on"] == "2026-03-03"

    def test_quotes_on_the_same_editions_share_one_cost_base(self, quoting: Quoting) -> None:
        for reference in ("one", "two"):
            quoting.draft(reference=reference)
        assert counts(quoting)[3] == 1
        quoting.draft(plan="reseal", measures=[])
        assert counts(quoting)[3] == 2

    def test_the_kept_cost_base_is_the_part_that_was_read(self, quoting: Quoting) -> None:
        quoting.draft(plan="reseal", measures=[])
        with quoting.office.scope():
            contents = FrozenCostBase.objects.for_shop(quoting.shop).get().contents
        assert contents["plan"]["edition"]["slug"] == "reseal"
        assert "paint-match" not in contents["assemblies"]
        assert "hot-roof" not in contents["conditions"]


class TestADraft:
    def test_it_is_priced_again_when_it_is_saved(self, quoting: Quoting) -> None:
        posted = quoting.draft()
        path = posted["Location"]

        saved = quoting.office.change(path, quoting.body(skin="membrane", reference="JOB 18"), method="PUT")

        # The same coach with a membrane, as published.
        assert saved.json()["amounts"]["base"] == "27449.25"
        assert saved["ETag"] == '"v2"'
        assert quoting.office.get(path).json() == saved.json()
        assert (saved.json()["number"], saved.json()["reference"]) == ("Q-2026-1", "JOB 18")
        back = quoting.office.change(path, quoting.body(), method="PUT").json()
        assert {**back, "version": 1} == posted.json()

    def test_saving_it_takes_the_editions_of_the_day_on_which_it_is_saved(self, quoting: Quoting, clock: Clock) -> None:
        quote = quoting.draft().json()
        quoting.network_edition("rate", "estimator", date(2026, 3, 10), billed_per_hour="225.00")
        clock.turn(days=8)

        saved = quoting.office.change(f"quotes/{quote['id']}", quoting.body(), method="PUT").json()

        # The estimator's hours: 3 of intake, 2.5 of inspection, at 225 instead of 125 an hour.
        assert line_of(saved, "intake-survey", "estimator")["amount"] == "675.00"
        assert (saved["priced_on"], saved["valid_until"]) == ("2026-03-10", "2026-04-09")

    @pytest.mark.parametrize("method", ["PUT", "DELETE"])
    def test_a_change_names_the_version_that_was_read(self, quoting: Quoting, method: str) -> None:
        path = quoting.draft()["Location"]
        body = quoting.body() if method == "PUT" else None

        assert problem(quoting.office.ask(method, path, body), 428)["code"] == "if_match_missing"
        stale = quoting.office.ask(method, path, body, headers={"If-Match": '"v7"'})
        assert problem(stale, 412)["code"] == "version_mismatch"
        assert stale["ETag"] == '"v1"'
        assert quoting.office.get(path)["ETag"] == '"v1"'

    def test_a_refused_save_leaves_it_as_it_was(self, quoting: Quoting) -> None:
        posted = quoting.draft()
        refused = quoting.office.change(posted["Location"], quoting.body(plan="nothing"), method="PUT")
        assert places(refused) == {"#/plan": "not_in_force"}
        assert quoting.office.get(posted["Location"]).json() == posted.json()

    def test_it_is_deleted_with_all_its_rows_and_its_number_is_not_given_again(self, quoting: Quoting) -> None:
        path = quoting.draft()["Location"]
        assert quoting.office.change(path, None, method="DELETE").status_code == 204
        assert counts(quoting)[:3] == [0, 0, 0]
        assert quoting.office.get(path).status_code == 404
        assert quoting.draft().json()["number"] == "Q-2026-2"

    def test_an_unchanged_quote_is_not_sent_again(self, quoting: Quoting) -> None:
        path = quoting.draft()["Location"]
        same = quoting.office.get(path, headers={"If-None-Match": '"v1"'})
        assert (same.status_code, same.content, same["ETag"]) == (304, b"", '"v1"')
        assert quoting.office.get(path, headers={"If-None-Match": '"v2"'}).status_code == 200


class TestTheRequest:
    def test_a_told_or_photographed_roof_gives_a_provisional_quote(self, quoting: Quoting) -> None:
        for method, provisional in [("told", True), ("photographs", True), ("walked", False), ("opened", False)]:
            survey = quoting.add_survey(quoting.coach, method=method)
            assert quoting.draft(survey=survey).json()["provisional"] is provisional, method

    def test_a_sold_option_is_a_line(self, quoting: Quoting) -> None:
        without = quoting.tried()
        paint = entry("paint_job_count", 1)
        quote = quoting.tried(options=["paint-match"], measures=[*quoting.body()["measures"], paint])
        added = {line["slug"] for line in quote["lines"]} - {line["slug"] for line in without["lines"]}
        assert "paint-match" in added
        assert {line["price_kind"] for line in quote["lines"] if line["slug"] == "paint-match"} == {"option"}

    def test_a_condition_multiplies_hours_and_says_why(self, quoting: Quoting) -> None:
        plain = line_of(quoting.tried(), "skin-off", "technician")
        held = [{"condition": "no-bay", "reason": "The bay is taken until May."}]
        worse = line_of(quoting.tried(conditions=held), "skin-off", "technician")
        # 34 ft x 103.634537 in / 12 = 293.6312 sq ft at 0.012 h = 3.523574 h; outdoors x 1.1 = 3.875932 h, at 135 an hour.
        assert (plain["quantity"], worse["quantity"], worse["amount"]) == ("3.5236", "3.8759", "523.25")
        multiplier = {"condition": "no-bay", "factor": "1.1", "reason": "The bay is taken until May."}
        assert worse["details"]["multipliers"] == [multiplier]

    def test_a_part_of_the_roof_is_priced_from_station_to_station(self, quoting: Quoting) -> None:
        span = {"section": "main", "start": "8 ft", "end": "18 ft"}
        quote = quoting.draft(plan="partial-roof", scope=[span], measures=[]).json()
        assert quote["scope"] == [{"section": "main", "start": "8 ft", "end": "18 ft"}]
        whole = quoting.draft(plan="partial-roof", measures=[]).json()
        assert whole["scope"] == [{"section": "main", "start": "0 ft", "end": "34 ft"}]
        assert float(quote["amounts"]["base"]) < float(whole["amounts"]["base"])
        # The skin comes off with the tails in the rails: 10 ft x 103.634537 in / 12 = 86.3621 sq ft.
        assert line_of(quote, "skin-off", "technician")["details"]["driver"] == "86.3621 ft2"

    def test_stations_are_shown_as_the_shop_measures(self, quoting: Quoting) -> None:
        type(quoting.shop).objects.filter(pk=quoting.shop.pk).update(unit_system="metric")
        span = {"section": "main", "start": "8 ft", "end": "6.096 m"}
        quote = quoting.draft(plan="partial-roof", scope=[span], measures=[]).json()
        assert quote["scope"] == [{"section": "main", "start": "2.4384 m", "end": "6.096 m"}]

    def test_a_tier_is_set_against_the_rules_with_a_reason_and_both_are_kept(self, quoting: Quoting) -> None:
        rules = quoting.tried()
        reason = "The owner showed pictures of a soft floor."
        quote = quoting.draft(tier={"tier": "widespread", "reason": reason}).json()
        assert (rules["roof_tier"], rules["tier"]["override_reason"]) == ("local", "")
        assert (quote["roof_tier"], quote["tier"]["tier"], quote["tier"]["tier_by_rules"]) == (
            "widespread",
            "widespread",
            "local",
        )
        assert quote["tier"]["override_reason"] == reason
        assert float(quote["amounts"]["contingency"]) > float(rules["amounts"]["contingency"])
        assert quote["amounts"]["base"] == rules["amounts"]["base"]

    def test_days_are_promised_with_a_reason_and_the_worked_parts_stay(self, quoting: Quoting) -> None:
        worked = quoting.tried()["days"]
        promised = quoting.draft(days={"low": 12, "high": 15, "reason": "A second crew comes in."}).json()["days"]
        assert (promised["low"], promised["high"], promised["reason"]) == (12.0, 15.0, "A second crew comes in.")
        assert worked["reason"] == ""
        assert {name: promised[name] for name in ("working", "drying", "lead")} == {
            name: worked[name] for name in ("working", "drying", "lead")
        }

    def test_marks_of_the_survey_go_into_the_base_and_the_tier(self, quoting: Quoting) -> None:
        marked = quoting.add_survey(quoting.coach, cells=[bodies.cell(f"{row}B", "rotten") for row in range(1, 9)])
        quote = quoting.draft(survey=marked, plan="skin-over-kept-deck", measures=[]).json()
        # All of the little that was checked is rotten, 8 of 17 x 4 cells.
        assert (quote["roof_tier"], quote["tier"]["fired"][0]["tier"]) == ("widespread", "widespread")
        assert quote["checked"]["checked_share"] == pytest.approx(8 / 68)
        # Eight rows of 24 in are 16 ft: four courses of 4 ft, each one sheet; 16 ft x 88.068166 in / 12 = 117.4242 sq ft.
        assert line_of(quote, "deck-off-sheets", "technician")["details"]["driver"] == "117.4242 ft2"
        assert line_of(quote, "lauan-sheet-5-2-mm")["quantity"] == "4.0000"

    def test_several_roof_sections_are_one_quote(self, quoting: Quoting) -> None:
        slide = bodies.section(
            label="slide", kind="slide_room", length="12 ft", body_width="30 in", edge_radius="0 in", crown_rise="0 in",
            openings=[], attachments=[], captive_nuts=0, wiring_runs=0,
        )  # fmt: skip
        coach = quoting.add_coach(bodies.coach(roof=bodies.roof(bodies.section(), slide)))
        survey = quoting.add_survey(coach)
        usual = quoting.draft(coach=coach, survey=survey, measures=[]).json()
        assert [span["section"] for span in usual["scope"]] == ["main"]
        rooms = quoting.draft(coach=coach, survey=survey, measures=[], plan="slide-roof").json()
        assert rooms["scope"] == [{"section": "slide", "start": "0 ft", "end": "12 ft"}]
