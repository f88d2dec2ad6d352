"""How is an offer revised, and when is it no longer?"""

import pytest

from quotes.models import Quote
from tests.rest import bodies
from tests.rest.office import places, problem
from tests.rest.quoting import Quoting


def set_state(quoting: Quoting, quote_id: int, state: str) -> None:
    """As answering the offer does."""
    with quoting.office.scope():
        Quote.objects.for_shop(quoting.shop).filter(pk=quote_id).update(state=state)


class TestRevision:
    def test_a_revision_supersedes_the_old_one_when_it_is_issued(self, quoting: Quoting) -> None:
        first = quoting.issued()
        answer = quoting.revise(first, skin="membrane")
        second = answer.json()
        assert (second["number"], second["revision"], second["state"]) == (first["number"], 2, "draft")
        assert answer["Location"] == quoting.office.url(f"quotes/{second['id']}")
        assert second["amounts"]["base"] == "27449.25"
        assert quoting.office.get(f"quotes/{first['id']}").json() == first
        assert quoting.issue(second["id"]).json()["state"] == "issued"
        old = quoting.office.get(f"quotes/{first['id']}").json()
        assert (old["state"], old["version"]) == ("superseded", 3)
        assert {**old, "state": "issued", "version": 2} == first

    @pytest.mark.parametrize("state", ["declined", "expired", "withdrawn"])
    def test_an_offer_that_nobody_took_is_revised_and_stays_what_it_became(self, quoting: Quoting, state: str) -> None:
        first = quoting.issued()
        set_state(quoting, first["id"], state)
        second = quoting.revise(first).json()
        quoting.issue(second["id"])
        assert quoting.office.get(f"quotes/{first['id']}").json()["state"] == state

    @pytest.mark.parametrize("state", ["accepted", "superseded"])
    def test_what_was_accepted_or_superseded_is_not_revised(self, quoting: Quoting, state: str) -> None:
        first = quoting.issued()
        set_state(quoting, first["id"], state)
        assert problem(quoting.revise(first), 409)["code"] == "quote_state"

    def test_a_revision_is_not_issued_once_the_old_one_was_accepted(self, quoting: Quoting) -> None:
        first = quoting.issued()
        second = quoting.revise(first).json()
        set_state(quoting, first["id"], "accepted")
        refused = problem(quoting.issue(second["id"]), 409)
        assert refused["code"] == "quote_state"
        assert "change orders" in refused["detail"]
        assert quoting.office.get(f"quotes/{first['id']}").json()["state"] == "accepted"

    def test_a_draft_is_edited_and_not_revised(self, quoting: Quoting) -> None:
        assert problem(quoting.revise(quoting.draft().json()), 409)["code"] == "quote_state"

    def test_only_the_newest_revision_is_revised(self, quoting: Quoting) -> None:
        first = quoting.issued()
        second = quoting.revise(first).json()
        assert problem(quoting.revise(first), 409)["code"] == "not_newest_revision"
        quoting.office.change(f"quotes/{second['id']}", None, method="DELETE")
        assert quoting.revise(first).json()["revision"] == 2

    def test_a_survey_that_no_longer_lies_on_the_roof_is_told(self, quoting: Quoting) -> None:
        survey = quoting.add_survey(quoting.coach, cells=[bodies.cell("17D", "rotten")])
        first = quoting.issued(survey=survey)
        # 17 rows of 24 in are 34 ft; the corrected one is 24 ft, 12 rows.
        shorter = bodies.roof(bodies.section(length="24 ft"))
        corrected = quoting.office.change(f"coaches/{quoting.coach}", {"roof": shorter})
        # The first survey of the office is open and empty, so it fits; the other one is locked.
        assert corrected.status_code == 200, corrected.content
        assert places(quoting.revise(first)) == {"#/survey": "mark_off_roof"}

    def test_a_number_finds_all_revisions(self, quoting: Quoting) -> None:
        first = quoting.issued()
        quoting.revise(first)
        rows = quoting.office.get(f"quotes?number={first['number']}").json()["results"]
        assert [(row["revision"], row["state"]) for row in rows] == [(2, "draft"), (1, "issued")]


class TestARetiredCoach:
    def test_nothing_new_is_quoted_and_what_is_there_stays(self, quoting: Quoting) -> None:
        issued = quoting.issued()
        path = f"coaches/{quoting.coach}/retirement"
        tag = quoting.office.get(f"coaches/{quoting.coach}")["ETag"]
        assert quoting.office.ask("PUT", path, {"retired": True}, headers={"If-Match": tag}).status_code == 200
        for refused in (quoting.office.post("quotes", quoting.body()), quoting.revise(issued)):
            assert places(refused, 409) == {"#/coach": "retired"}
        assert quoting.office.get(f"quotes/{issued['id']}").json() == issued
