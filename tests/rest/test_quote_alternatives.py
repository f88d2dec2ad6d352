"""What can an owner choose from? Up to three quotes under one number, issued together."""

from datetime import date
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from api.accounts.roles import ANALYST, ESTIMATOR
from costbase.models import ShopEdition
from quotes.models import Quote, Survey
from tests.rest.office import places, problem
from tests.rest.quoting import Body, Clock, Quoting


def add(quoting: Quoting, quote_id: int, **changes: Any) -> Any:
    """The answer to one more alternative for an offer."""
    return quoting.office.post(f"quotes/{quote_id}/alternatives", quoting.body(**changes))


def three(quoting: Quoting) -> list[Body]:
    """A rebuild in glass laminate, one with a membrane, and a reseal, as they stand when all are there."""
    first = quoting.draft(label="Glass laminate").json()
    for changes in ({"label": "Membrane", "skin": "membrane"}, {"label": "Reseal only", "plan": "reseal", "measures": []}):
        assert add(quoting, first["id"], **changes).status_code == 201
    return offer(quoting, first["id"])


def offer(quoting: Quoting, quote_id: int) -> list[Body]:
    """Every alternative of an offer, as read."""
    quote = quoting.office.get(f"quotes/{quote_id}").json()
    others = [quoting.office.get(f"quotes/{other['id']}").json() for other in quote["alternatives"]]
    return sorted([quote, *others], key=lambda one: int(one["alternative"]))


def set_state(quoting: Quoting, quote_id: int, state: str) -> None:
    """As answering the offer does."""
    with quoting.office.scope():
        Quote.objects.for_shop(quoting.shop).filter(pk=quote_id).update(state=state)


class TestADraft:
    def test_alternatives_share_number_and_revision_and_each_has_its_own_price(self, quoting: Quoting) -> None:
        every = three(quoting)
        assert [(one["number"], one["revision"], one["alternative"]) for one in every] == [
            ("Q-2026-1", 1, 1),
            ("Q-2026-1", 1, 2),
            ("Q-2026-1", 1, 3),
        ]
        assert [one["label"] for one in every] == ["Glass laminate", "Membrane", "Reseal only"]
        # The two rebuilds as published.
        assert [one["amounts"]["base"] for one in every[:2]] == ["29912.27", "27449.25"]
        assert [(one["plan"], one["state"]) for one in every[1:]] == [("full-rebuild", "draft"), ("reseal", "draft")]

    def test_each_shows_what_is_offered_beside_it(self, quoting: Quoting) -> None:
        first, second, third = three(quoting)
        assert second["alternatives"] == [
            {
                "id": one["id"],
                "alternative": one["alternative"],
                "label": one["label"],
                "state": "draft",
                "base_with_tax": one["amounts"]["base_with_tax"],
                "limit_with_tax": one["amounts"]["limit_with_tax"],
                "days": {"low": one["days"]["low"], "high": one["days"]["high"]},
            }
            for one in (first, third)
        ]

    def test_what_is_answered_to_a_new_one_is_what_is_read_again(self, quoting: Quoting) -> None:
        first = quoting.draft().json()
        answer = add(quoting, first["id"], skin="membrane", label="Membrane")
        assert answer["Location"] == quoting.office.url(f"quotes/{answer.json()['id']}")
        read = quoting.office.get(answer["Location"])
        assert (read["ETag"], read.json()) == (answer["ETag"], answer.json())

    def test_a_quote_without_another_is_alternative_one_and_has_no_name(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        assert (quote["alternative"], quote["label"], quote["alternatives"]) == (1, "", [])
        row = quoting.office.get("quotes").json()["results"][0]
        assert (row["alternative"], row["label"]) == (1, "")

    def test_the_fourth_is_refused(self, quoting: Quoting) -> None:
        every = three(quoting)
        refused = problem(add(quoting, every[1]["id"]), 409)
        assert refused["code"] == "too_many_alternatives"
        assert offer(quoting, every[0]["id"]) == every

    def test_a_place_that_was_given_up_is_taken_again(self, quoting: Quoting) -> None:
        first, second, third = three(quoting)
        quoting.office.change(f"quotes/{second['id']}", None, method="DELETE")
        assert [one["alternative"] for one in offer(quoting, third["id"])] == [1, 3]
        assert add(quoting, third["id"]).json()["alternative"] == 2
        assert len(offer(quoting, first["id"])) == 3

    def test_the_first_can_be_deleted_and_the_others_stay(self, quoting: Quoting) -> None:
        first, second, third = three(quoting)
        assert quoting.office.change(f"quotes/{first['id']}", None, method="DELETE").status_code == 204
        kept = offer(quoting, second["id"])
        assert [one["id"] for one in kept] == [second["id"], third["id"]]
        assert [one["amounts"] for one in kept] == [second["amounts"], third["amounts"]]

    def test_another_coach_is_another_offer(self, quoting: Quoting) -> None:
        first = quoting.draft().json()
        body = quoting.framed_body()
        refused = quoting.office.post(f"quotes/{first['id']}/alternatives", body)
        assert places(refused) == {"#/coach": "offer_of_another_coach"}

    def test_one_of_several_stays_with_its_coach_and_one_alone_may_change(self, quoting: Quoting) -> None:
        body = quoting.framed_body()
        alone, first = quoting.draft().json(), quoting.draft().json()
        add(quoting, first["id"])
        refused = quoting.office.change(f"quotes/{first['id']}", body, method="PUT")
        assert places(refused) == {"#/coach": "offer_of_another_coach"}
        assert quoting.office.change(f"quotes/{alone['id']}", body, method="PUT").json()["coach"] == body["coach"]

    def test_another_survey_of_the_coach_is_none(self, quoting: Quoting) -> None:
        first = quoting.draft().json()
        assert add(quoting, first["id"], survey=quoting.add_survey(quoting.coach)).status_code == 201

    def test_what_cannot_be_priced_is_told_and_nothing_is_added(self, quoting: Quoting) -> None:
        first = quoting.draft().json()
        assert places(add(quoting, first["id"], plan="nothing")) == {"#/plan": "not_in_force"}
        assert places(add(quoting, first["id"], label="x" * 101)) == {"#/label": "max_length"}
        assert quoting.office.get(f"quotes/{first['id']}").json() == first

    def test_a_repeated_request_adds_one(self, quoting: Quoting) -> None:
        first = quoting.draft().json()
        path, body = f"quotes/{first['id']}/alternatives", quoting.body(skin="membrane")
        answers = [quoting.office.post(path, body, headers={"Idempotency-Key": "k"}) for _ in range(2)]
        assert answers[0].json() == answers[1].json()
        assert len(offer(quoting, first["id"])) == 2

    def test_the_name_is_changed_with_the_draft(self, quoting: Quoting) -> None:
        quote = quoting.draft(label="One").json()
        saved = quoting.office.change(f"quotes/{quote['id']}", quoting.body(label="Another"), method="PUT")
        assert saved.json()["label"] == "Another"


class TestVersions:
    """Whoever changes or issues one alternative has seen the whole offer as it is."""

    def versions(self, quoting: Quoting, quote_id: int) -> list[int]:
        return [one["version"] for one in offer(quoting, quote_id)]

    def test_a_change_of_one_moves_the_version_of_all(self, quoting: Quoting) -> None:
        first, second, _ = three(quoting)
        # The first has seen two come, the second one.
        assert self.versions(quoting, first["id"]) == [3, 2, 1]
        quoting.office.change(f"quotes/{second['id']}", quoting.body(plan="reseal", measures=[]), method="PUT")
        assert self.versions(quoting, first["id"]) == [4, 3, 2]
        quoting.office.change(f"quotes/{second['id']}", None, method="DELETE")
        assert self.versions(quoting, first["id"]) == [5, 3]

    def test_an_offer_that_has_changed_since_it_was_read_is_not_issued(self, quoting: Quoting) -> None:
        first, second, _ = three(quoting)
        quoting.office.change(f"quotes/{second['id']}", quoting.body(), method="PUT")
        stale = {"If-Match": f'"v{first["version"]}"'}
        refused = quoting.office.post(f"quotes/{first['id']}/issue", {}, headers=stale)
        assert problem(refused, 412)["code"] == "version_mismatch"

    def test_other_offers_keep_theirs(self, quoting: Quoting) -> None:
        alone = quoting.draft(plan="reseal", measures=[]).json()
        three(quoting)
        assert quoting.office.get(f"quotes/{alone['id']}").json() == alone


class TestIssuing:
    def test_all_are_issued_together_at_the_prices_they_show(self, quoting: Quoting) -> None:
        before = three(quoting)
        assert quoting.issue(before[1]["id"]).status_code == 200
        after = offer(quoting, before[0]["id"])
        assert [one["state"] for one in after] == ["issued"] * 3
        assert [one["amounts"] for one in after] == [one["amounts"] for one in before]
        assert len({one["issued_at"] for one in after}) == 1

    def test_the_survey_of_each_is_locked(self, quoting: Quoting) -> None:
        other = quoting.add_survey(quoting.coach)
        first = quoting.draft().json()
        add(quoting, first["id"], survey=other)
        quoting.issue(first["id"])
        with quoting.office.scope():
            locked = Survey.objects.for_shop(quoting.shop).values_list("locked_on", flat=True)
            assert list(locked) == [date(2026, 3, 2)] * 2

    def test_the_shop_s_editions_under_each_are_used(self, quoting: Quoting) -> None:
        quoting.own_edition("price", "paint-match-sublet")
        quoting.own_edition("plan", "reseal")
        first = quoting.draft(plan="look-first", measures=[{"measure": "look_first_count", "value": 1}]).json()
        add(quoting, first["id"], plan="reseal", measures=[])
        quoting.issue(first["id"])
        with quoting.office.scope():
            rows = ShopEdition.objects.for_shop(quoting.shop).values_list("slug", "used")
            assert dict(rows) == {"paint-match-sublet": False, "reseal": True}

    def test_one_look_for_newer_editions_goes_over_all(self, quoting: Quoting, clock: Clock) -> None:
        every = three(quoting)
        clock.turn(days=1)
        quoting.own_edition("rate", "estimator", date(2026, 3, 3), billed_per_hour="200.00")
        quoting.own_edition("plan", "reseal", date(2026, 3, 3), note="Read by the third alone.")
        refused = problem(quoting.issue(every[0]["id"]), 409)
        assert [(newer["kind"], newer["slug"]) for newer in refused["newer"]] == [("rate", "estimator"), ("plan", "reseal")]
        assert quoting.issue(every[0]["id"], {"confirm_editions": True}).json()["state"] == "issued"

    def test_none_is_issued_while_the_prices_of_one_no_longer_hold(self, quoting: Quoting, clock: Clock) -> None:
        first = quoting.draft().json()
        clock.turn(days=10)
        second = add(quoting, first["id"]).json()
        clock.turn(days=21)
        refused = problem(quoting.issue(second["id"]), 409)
        assert refused["code"] == "quote_state"
        assert "2026-04-01" in refused["detail"]
        assert [one["state"] for one in offer(quoting, first["id"])] == ["draft", "draft"]

    def test_an_issued_offer_takes_no_further_alternative(self, quoting: Quoting) -> None:
        issued = quoting.issued()
        assert problem(add(quoting, issued["id"]), 409)["code"] == "quote_state"

    def test_number_place_and_name_stay_whoever_writes(self, quoting: Quoting) -> None:
        issued = quoting.issued(label="As signed")
        for column, value in (("label", "another"), ("alternative", 2)):
            with quoting.office.scope(), pytest.raises(IntegrityError, match="stays as it is"), transaction.atomic():
                Quote.objects.for_shop(quoting.shop).filter(pk=issued["id"]).update(**{column: value})

    @pytest.mark.parametrize("alternative", [0, 4])
    def test_the_database_knows_three_places(self, quoting: Quoting, alternative: int) -> None:
        draft = quoting.draft().json()
        with quoting.office.scope(), pytest.raises(IntegrityError, match="few"), transaction.atomic():
            Quote.objects.for_shop(quoting.shop).filter(pk=draft["id"]).update(alternative=alternative)


class TestRevision:
    def test_it_begins_from_the_one_that_is_revised_and_takes_others_again(self, quoting: Quoting) -> None:
        old = three(quoting)
        quoting.issue(old[0]["id"])
        begun = quoting.revise(old[1], label="Membrane, newly priced").json()
        assert (begun["revision"], begun["alternative"], begun["alternatives"]) == (2, 1, [])
        again = quoting.office.post(f"quotes/{begun['id']}/alternatives", old[2]["request"]).json()
        assert (again["revision"], again["alternative"], again["label"]) == (2, 2, "Reseal only")

    def test_issuing_it_supersedes_every_alternative_of_the_old_one(self, quoting: Quoting) -> None:
        old = three(quoting)
        quoting.issue(old[0]["id"])
        begun = quoting.revise(old[1]).json()
        assert [one["state"] for one in offer(quoting, old[0]["id"])] == ["issued"] * 3
        quoting.issue(begun["id"])
        assert [one["state"] for one in offer(quoting, old[0]["id"])] == ["superseded"] * 3
        assert quoting.office.get(f"quotes/{begun['id']}").json()["state"] == "issued"

    def test_the_others_are_not_revised_beside_it(self, quoting: Quoting) -> None:
        old = three(quoting)
        quoting.issue(old[0]["id"])
        quoting.revise(old[1])
        assert problem(quoting.revise(old[2]), 409)["code"] == "not_newest_revision"

    def test_what_the_owner_did_not_choose_is_no_offer_any_more(self, quoting: Quoting) -> None:
        old = three(quoting)
        quoting.issue(old[0]["id"])
        set_state(quoting, old[0]["id"], "accepted")
        refused = problem(quoting.revise(old[1]), 409)
        assert refused["code"] == "quote_state"
        assert "change orders" in refused["detail"]


class TestWho:
    def test_an_estimator_adds_and_an_analyst_does_not(self, quoting: Quoting) -> None:
        first = quoting.draft().json()
        path = f"quotes/{first['id']}/alternatives"
        assert quoting.office.post(path, quoting.body(), role=ESTIMATOR).status_code == 201
        assert problem(quoting.office.post(path, quoting.body(), role=ANALYST), 403)["code"] == "role_not_allowed"

    def test_what_is_not_there_has_no_alternatives(self, quoting: Quoting) -> None:
        assert problem(add(quoting, 987654), 404)["code"] == "not_found"
