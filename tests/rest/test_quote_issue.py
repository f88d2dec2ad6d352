"""What does issuing a draft do, and what stops it?"""

from datetime import date

import pytest
from django.apps import apps

from api.accounts.roles import ESTIMATOR, MANAGER
from costbase.models import ShopEdition
from quotes.models import Survey
from tests.rest.office import places, problem
from tests.rest.quoting import Body, Clock, Quoting, contents_of


class TestIssue:
    def test_an_issued_quote_keeps_its_prices(self, quoting: Quoting) -> None:
        draft = quoting.draft().json()
        answer = quoting.issue(draft["id"])
        issued = answer.json()
        assert answer["ETag"] == '"v2"'
        assert issued["issued_at"] is not None
        moved = {"state": "draft", "version": 1, "issued_at": None}
        assert {**issued, **moved} == draft
        assert quoting.office.get(f"quotes/{draft['id']}").json() == issued

    def test_it_names_the_version_that_was_read(self, quoting: Quoting) -> None:
        path = f"quotes/{quoting.draft().json()['id']}/issue"
        assert problem(quoting.office.post(path, {}), 428)["code"] == "if_match_missing"
        assert problem(quoting.office.post(path, {}, headers={"If-Match": '"v2"'}), 412)["code"] == "version_mismatch"

    def test_it_locks_its_survey(self, quoting: Quoting) -> None:
        quoting.issued()
        with quoting.office.scope():
            assert Survey.objects.for_shop(quoting.shop).get(pk=quoting.survey).locked_on == date(2026, 3, 2)
        refused = quoting.office.change(f"surveys/{quoting.survey}", {"made_on": "2026-03-01"})
        assert problem(refused, 409)["code"] == "survey_locked"

    def test_a_second_quote_on_a_locked_survey_is_issued_too(self, quoting: Quoting, clock: Clock) -> None:
        quoting.issued()
        clock.turn(days=1)
        assert quoting.issued()["state"] == "issued"
        with quoting.office.scope():
            assert Survey.objects.for_shop(quoting.shop).get(pk=quoting.survey).locked_on == date(2026, 3, 2)

    def test_it_marks_the_shop_s_editions_under_it_as_used(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
        quoting.own_edition("rate", "fabricator", date(2027, 1, 1), billed_per_hour="200.00")
        quoting.own_edition("assembly", "thirty-day-check")
        quoting.issued()
        with quoting.office.scope():
            rows = ShopEdition.objects.for_shop(quoting.shop).values_list("slug", "used")
            assert dict(rows) == {"estimator": True, "fabricator": False, "thirty-day-check": False}

    def test_a_draft_marks_nothing(self, quoting: Quoting) -> None:
        quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
        quoting.draft()
        with quoting.office.scope():
            assert not ShopEdition.objects.for_shop(quoting.shop).get().used

    def test_a_draft_whose_prices_no_longer_hold_is_saved_again_first(self, quoting: Quoting, clock: Clock) -> None:
        draft = quoting.draft().json()
        # Priced on 2 March and valid for 30 days, until 1 April.
        clock.turn(days=31)
        refused = problem(quoting.issue(draft["id"]), 409)
        assert refused["code"] == "quote_state"
        assert "2026-04-01" in refused["detail"]
        clock.turn(days=-1)
        assert quoting.issue(draft["id"]).status_code == 200

    def test_it_is_issued_once(self, quoting: Quoting) -> None:
        issued = quoting.issued()
        assert problem(quoting.issue(issued["id"]), 409)["code"] == "quote_state"

    @pytest.mark.parametrize("method", ["PUT", "DELETE"])
    def test_an_issued_quote_is_neither_edited_nor_deleted(self, quoting: Quoting, method: str) -> None:
        issued = quoting.issued()
        refused = quoting.office.change(f"quotes/{issued['id']}", quoting.body(), method=method)
        assert problem(refused, 409)["code"] == "quote_state"

    @pytest.mark.parametrize("body", [{"confirm_editions": "yes"}, {"confirm": True}])
    def test_a_confirmation_has_a_form(self, quoting: Quoting, body: Body) -> None:
        draft = quoting.draft().json()
        assert list(places(quoting.issue(draft["id"], body))) == [f"#/{next(iter(body))}"]

    def test_every_step_leaves_an_event_with_its_author(self, quoting: Quoting) -> None:
        first = quoting.issued()
        second = quoting.revise(first).json()
        quoting.issue(second["id"], role=ESTIMATOR)
        with quoting.office.scope():
            events = apps.get_model("quotes", "QuoteEvent").objects.for_shop(quoting.shop).order_by("pgh_id")
            seen = [(event.revision, event.pgh_label, event.state, event.pgh_context["role"]) for event in events]
        assert seen == [
            (1, "insert", "draft", MANAGER),
            (1, "update", "issued", MANAGER),
            (2, "insert", "draft", MANAGER),
            (1, "update", "superseded", ESTIMATOR),
            (2, "update", "issued", ESTIMATOR),
        ]


class TestNewerEditions:
    """A draft is not issued unseen when something else is in force than it was priced on."""

    def newer(self, quoting: Quoting, quote_id: int) -> list[Body]:
        refused = problem(quoting.issue(quote_id), 409)
        assert refused["code"] == "newer_editions"
        found: list[Body] = refused["newer"]
        return found

    def test_it_is_listed_until_somebody_confirms(self, quoting: Quoting, clock: Clock) -> None:
        draft = quoting.draft().json()
        clock.turn(days=1)
        quoting.own_edition("rate", "estimator", date(2026, 3, 3), billed_per_hour="200.00")
        newer = [{"kind": "rate", "slug": "estimator", "quoted": "2020-01-01", "in_force": "2026-03-03"}]
        assert self.newer(quoting, draft["id"]) == newer
        assert quoting.office.get(f"quotes/{draft['id']}").json() == draft
        issued = quoting.issue(draft["id"], {"confirm_editions": True}).json()
        assert issued["amounts"] == draft["amounts"]

    def test_saving_the_draft_again_settles_it(self, quoting: Quoting) -> None:
        draft = quoting.draft().json()
        quoting.network_edition("rate", "estimator", billed_per_hour="200.00")
        assert self.newer(quoting, draft["id"])
        quoting.office.change(f"quotes/{draft['id']}", draft["request"], method="PUT")
        assert quoting.issue(draft["id"]).status_code == 200

    def test_one_that_the_quote_never_read_does_not_matter(self, quoting: Quoting) -> None:
        draft = quoting.draft().json()
        quoting.own_edition("assembly", "thirty-day-check", name="Check")
        quoting.own_edition("condition", "hot-roof", factor="1.3")
        assert quoting.issue(draft["id"]).status_code == 200

    def test_one_of_tomorrow_does_not_matter_today(self, quoting: Quoting) -> None:
        draft = quoting.draft().json()
        quoting.own_edition("rate", "estimator", date(2026, 3, 3), billed_per_hour="200.00")
        assert quoting.issue(draft["id"]).status_code == 200

    def test_one_that_was_replaced_on_its_own_day_counts(self, quoting: Quoting) -> None:
        own = quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
        draft = quoting.draft().json()
        with quoting.office.scope():
            own.contents = {**own.contents, "billed_per_hour": "210.00"}
            own.save(update_fields=["contents"])
        newer = [{"kind": "rate", "slug": "estimator", "quoted": "2026-01-01", "in_force": "2026-01-01"}]
        assert self.newer(quoting, draft["id"]) == newer

    def test_one_that_was_withdrawn_counts_and_can_be_confirmed(self, quoting: Quoting) -> None:
        own = quoting.own_edition("rate", "estimator", billed_per_hour="200.00")
        plan = quoting.own_edition("plan", "roof-of-ours", **{**contents_of("plan", "reseal"), "name": "A plan of our own"})
        draft = quoting.draft(plan="roof-of-ours", measures=[]).json()
        with quoting.office.scope():
            for edition in (own, plan):
                edition.withdrawn_on = date(2026, 3, 2)
                edition.save(update_fields=["withdrawn_on"])
        newer = self.newer(quoting, draft["id"])
        # The network's rate is in force again; of the plan nothing is.
        assert {"kind": "rate", "slug": "estimator", "quoted": "2026-01-01", "in_force": "2020-01-01"} in newer
        assert {"kind": "plan", "slug": "roof-of-ours", "quoted": "2026-01-01", "in_force": None} in newer
        issued = quoting.issue(draft["id"], {"confirm_editions": True})
        assert issued.json()["amounts"] == draft["amounts"]

    def test_a_hidden_component_that_came_since_counts(self, quoting: Quoting) -> None:
        draft = quoting.draft(plan="reseal", measures=[]).json()
        another = {**contents_of("component", "wiring"), "column": 14, "name": "Another part"}
        quoting.own_edition("component", "another", **another)
        newer = [{"kind": "component", "slug": "another", "quoted": None, "in_force": "2026-01-01"}]
        assert self.newer(quoting, draft["id"]) == newer
