"""Who may see and do what with a quote?"""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from costbase.models import Shop
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Quoting

# What the work costs the shop, under whatever name; `worked_on` and `share` of its own lines are of the billed amounts.
OF_COST = {"cost", "margin", "pack_price", "freight", "markup", "cost_per_hour"}


def members(value: object) -> Iterator[tuple[str, object]]:
    """Every member in a document, however deep, with its name."""
    if isinstance(value, dict):
        for name, below in value.items():
            yield name, below
            yield from members(below)
    elif isinstance(value, list):
        for below in value:
            yield from members(below)


def names(document: object) -> set[str]:
    return {name for name, _ in members(document)}


def paths_of_why(quoting: Quoting, quote_id: int) -> list[str]:
    index = quoting.office.get(f"quotes/{quote_id}/why").json()
    several = ("lines", "amounts", "components", "counted", "options")
    return [*(path for name in several for path in index[name]), index["tier"], index["allowance"]]


class TestReading:
    def test_managers_and_analysts_read_what_it_costs(self, quoting: Quoting) -> None:
        path = quoting.draft()["Location"]
        for role in (MANAGER, ANALYST):
            quote = quoting.office.get(path, role=role).json()
            assert {"cost", "margin"} <= set(quote["amounts"])
            assert all("cost" in line for line in quote["lines"])
            assert {"pack_price", "markup"} <= names(quote["lines"])

    def test_an_estimator_reads_no_cost_margin_purchase_price_or_markup_anywhere(self, quoting: Quoting) -> None:
        body = quoting.body()
        posted = quoting.office.post("quotes", body, role=ESTIMATOR)
        path = posted["Location"]
        answers = [
            posted,
            quoting.office.post("quotes/trial", body, role=ESTIMATOR),
            quoting.office.get(path, role=ESTIMATOR),
            quoting.office.get("quotes", role=ESTIMATOR),
            quoting.office.change(path, body, method="PUT", role=ESTIMATOR),
            quoting.issue(posted.json()["id"], role=ESTIMATOR),
            quoting.office.post(f"{path}/revisions", body, role=ESTIMATOR),
        ]
        for answer in answers:
            assert answer.status_code in (200, 201)
            assert not OF_COST & names(answer.json())

    def test_the_reasons_keep_purchase_prices_and_markups_from_an_estimator(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        kept = 0
        for path in paths_of_why(quoting, quote["id"]):
            known = quoting.office.get(path, role=ANALYST).json()["steps"]
            told = quoting.office.get(path, role=ESTIMATOR).json()["steps"]
            assert [step["text"] for step in told] == [step["text"] for step in known]
            for step, full in zip(told, known, strict=True):
                if step["value"] == "for managers and analysts":
                    kept += 1
                elif step["text"].startswith(("markup", "purchase")):
                    pytest.fail(f"{path} tells an estimator {full}")
        assert kept >= 2 * sum(line["kind"] == "material" for line in quote["lines"])

    def test_no_step_that_an_estimator_reads_shows_a_price_that_the_shop_pays(self, quoting: Quoting) -> None:
        # Purchase prices that are nothing else by chance: 137.13 a pack of this skin, 61.17 an hour of this trade.
        quoting.own_edition("price", "lauan-sheet-5-2-mm", pack_price="137.13")
        quoting.own_edition("rate", "helper", cost_per_hour="61.17")
        quote = quoting.draft().json()
        told = [quoting.office.get(f"quotes/{quote['id']}", role=ESTIMATOR).content.decode()]
        told += [quoting.office.get(path, role=ESTIMATOR).content.decode() for path in paths_of_why(quoting, quote["id"])]
        for text in told:
            assert "137.13" not in text
            assert "61.17" not in text
        assert "137.13" in quoting.office.get(f"quotes/{quote['id']}", role=ANALYST).content.decode()

    def test_what_it_costs_is_the_sum_of_its_lines_and_the_margin_the_rest(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        cost = sum(Decimal(line["cost"]) for line in quote["lines"])
        assert Decimal(quote["amounts"]["cost"]) == cost
        assert Decimal(quote["amounts"]["margin"]) == Decimal(quote["amounts"]["base"]) - cost


class TestANetworksManager:
    def share(self, quoting: Quoting) -> None:
        Shop.objects.filter(pk=quoting.shop.pk).update(shares_learning=True)

    def test_nothing_is_found_where_the_shop_did_not_opt_in(self, quoting: Quoting) -> None:
        path = quoting.draft()["Location"]
        for asked in (path, "quotes", f"{path}/why"):
            assert problem(quoting.office.get(asked, role=NETWORK_MANAGER), 404)["code"] == "not_found"

    def test_where_it_did_quotes_are_read_without_what_they_cost(self, quoting: Quoting) -> None:
        posted = quoting.draft()
        self.share(quoting)
        quote = quoting.office.get(posted["Location"], role=NETWORK_MANAGER).json()
        assert quote["amounts"]["base"] == "29912.27"
        rows = quoting.office.get("quotes", role=NETWORK_MANAGER).json()
        line = quoting.office.get(f"{posted['Location']}/lines/1/why", role=NETWORK_MANAGER)
        assert line.status_code == 200
        assert not OF_COST & (names(quote) | names(rows))

    def test_nothing_is_priced_changed_or_issued_by_it(self, quoting: Quoting) -> None:
        path = quoting.draft()["Location"]
        self.share(quoting)
        asked: list[tuple[str, str, Body]] = [
            ("POST", "quotes", quoting.body()),
            ("POST", "quotes/trial", quoting.body()),
            ("PUT", path, quoting.body()),
            ("DELETE", path, {}),
            ("POST", f"{path}/issue", {}),
            ("POST", f"{path}/alternatives", quoting.body()),
            ("POST", f"{path}/revisions", quoting.body()),
        ]
        for method, address, body in asked:
            refused = quoting.office.ask(method, address, body, role=NETWORK_MANAGER, headers={"If-Match": "*"})
            assert problem(refused, 403)["code"] == "role_not_allowed", (method, address)

    def test_another_networks_manager_finds_nothing(self, quoting: Quoting, elsewhere: Office) -> None:
        path = quoting.draft()["Location"]
        self.share(quoting)
        refused = quoting.office.get(path, token=elsewhere.tokens[NETWORK_MANAGER])
        assert problem(refused, 404)["code"] == "not_found"


class TestAnotherShop:
    def test_its_quotes_are_not_found(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = quoting.issued()
        below = f"quotes/{quote['id']}"
        asked: list[tuple[str, str, Body | None]] = [
            ("GET", below, None),
            ("PUT", below, quoting.body()),
            ("DELETE", below, None),
            ("POST", f"{below}/issue", {}),
            ("POST", f"{below}/alternatives", quoting.body()),
            ("POST", f"{below}/revisions", quoting.body()),
            ("GET", f"{below}/why", None),
            ("GET", f"{below}/lines/1/why", None),
            ("GET", f"{below}/amounts/limit/why", None),
            ("GET", f"{below}/components/1/why", None),
            ("GET", f"{below}/counted/bracing-add/why", None),
            ("GET", f"{below}/options/why", None),
            ("GET", f"{below}/options/paint-match/why", None),
            ("GET", f"{below}/tier/why", None),
            ("GET", f"{below}/why-allowance", None),
        ]
        for method, path, body in asked:
            refused = elsewhere.ask(method, path, body, headers={"If-Match": "*"})
            assert problem(refused, 404)["code"] == "not_found", (method, path)
        assert elsewhere.get("quotes").json()["results"] == []
        assert quoting.office.get(below).json() == quote

    def test_its_coach_and_survey_cannot_be_quoted(self, quoting: Quoting, elsewhere: Office) -> None:
        theirs = Quoting(elsewhere)
        mixed = [
            ({"survey": theirs.survey}, {"#/survey": "other_shop"}),
            ({"coach": theirs.coach}, {"#/survey": "survey_of_another_coach"}),
            ({"coach": theirs.coach, "survey": theirs.survey}, {"#/survey": "other_shop"}),
        ]
        for changes, expected in mixed:
            assert places(quoting.office.post("quotes", quoting.body(**changes))) == expected
            assert places(quoting.office.post("quotes/trial", quoting.body(**changes))) == expected

    def test_both_shops_number_their_quotes_for_themselves(self, quoting: Quoting, elsewhere: Office) -> None:
        theirs = Quoting(elsewhere)
        numbers = [made.draft(plan="reseal", measures=[]).json()["number"] for made in (quoting, theirs, quoting, theirs)]
        assert numbers == ["Q-2026-1", "Q-2026-1", "Q-2026-2", "Q-2026-2"]


class TestChanging:
    def test_an_analyst_prices_and_issues_nothing(self, quoting: Quoting) -> None:
        path = quoting.draft()["Location"]
        tag = {"If-Match": '"v1"'}
        refused: list[Any] = [
            quoting.office.post("quotes", quoting.body(), role=ANALYST),
            quoting.office.post("quotes/trial", quoting.body(), role=ANALYST),
            quoting.office.ask("PUT", path, quoting.body(), role=ANALYST, headers=tag),
            quoting.office.ask("DELETE", path, role=ANALYST, headers=tag),
            quoting.office.post(f"{path}/issue", {}, role=ANALYST, headers=tag),
            quoting.office.post(f"{path}/revisions", quoting.body(), role=ANALYST),
        ]
        assert {problem(answer, 403)["code"] for answer in refused} == {"role_not_allowed"}

    def test_an_estimator_drafts_saves_issues_and_revises(self, quoting: Quoting) -> None:
        office, role = quoting.office, ESTIMATOR
        draft = office.post("quotes", quoting.body(), role=role)
        assert draft.status_code == 201
        assert office.change(draft["Location"], quoting.body(), method="PUT", role=role).status_code == 200
        issued = quoting.issue(draft.json()["id"], role=role)
        assert issued.status_code == 200
        assert office.post(f"{draft['Location']}/revisions", quoting.body(), role=role).status_code == 201
