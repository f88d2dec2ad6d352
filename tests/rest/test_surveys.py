"""Which marks lie on which roof, how are they shown, and when does a survey stay as it is?"""

from datetime import date
from typing import Any

import pytest
from django.apps import apps
from django.db import IntegrityError
from pytest_django import DjangoAssertNumQueries

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from quotes.models import Coach, Survey
from tests.rest import bodies
from tests.rest.office import Office, places, problem, with_severity_rules


@pytest.fixture
def coach(here: Office) -> int:
    """The id of a coach, with severity rules in force."""
    with_severity_rules(here.shop.network)
    answer = here.post("coaches", bodies.coach())
    assert answer.status_code == 201, answer.content
    number: int = answer.json()["id"]
    return number


def added(here: Office, coach: int, **changes: Any) -> dict[str, Any]:
    answer = here.post("surveys", bodies.survey(coach, **changes))
    assert answer.status_code == 201, answer.content
    body: dict[str, Any] = answer.json()
    return body


def lock(here: Office, survey_id: int) -> None:
    """As the issue of a quote does."""
    with here.scope():
        Survey.objects.for_shop(here.shop).filter(pk=survey_id).update(locked_on=date(2026, 3, 2))


def test_a_survey_is_added_and_read_again(here: Office, coach: int) -> None:
    answer = here.post("surveys", bodies.survey(coach))
    body = answer.json()
    assert answer.status_code == 201, body
    assert answer["Location"] == here.url(f"surveys/{body['id']}")
    assert answer["ETag"] == '"v1"'
    assert (body["coach"], body["method"], body["made_on"], body["locked_on"]) == (coach, "walked", "2026-03-02", None)
    assert body["cells"] == bodies.survey(coach)["cells"]
    assert body["rings"] == bodies.survey(coach)["rings"]
    assert body["findings"][0]["extent"] == {"value": "0.1875", "unit": "in", "entered": "3/16 in"}
    assert body["repairs"] == [{"kind": "coating", "section": "main", "chemistry": "acrylic", "share": "0.4", "length": None}]
    assert here.get(f"surveys/{body['id']}").json() == body


def test_what_was_answered_can_be_sent_back_and_changes_nothing(here: Office, coach: int) -> None:
    trim = {"kind": "added_trim", "section": "main", "chemistry": "none", "length": "12 ft 3 in"}
    one = added(here, coach, repairs=[*bodies.survey(coach)["repairs"], trim])
    lists = {name: one[name] for name in ("cells", "strips", "rings", "findings", "repairs", "readings")}
    answer = here.change(f"surveys/{one['id']}", lists)
    assert answer.status_code == 200, answer.content
    assert {name: answer.json()[name] for name in lists} == lists


def test_a_cell_is_kept_by_row_and_lane(here: Office, coach: int) -> None:
    added(here, coach, cells=[bodies.cell("17D")])
    with here.scope():
        document = Survey.objects.for_shop(here.shop).get().document
    assert document["cells"] == [{"section": "main", "condition": "soft", "method": "walked", "row": 17, "lane": "D"}]


def test_a_survey_by_telling_has_no_marks(here: Office, coach: int) -> None:
    told = {"coach": coach, "method": "told", "made_on": "2026-03-02"}
    answer = here.post("surveys", told)
    assert answer.status_code == 201
    assert answer.json()["cells"] == []
    refused = here.post("surveys", {**told, "cells": [bodies.cell("1A")]})
    assert places(refused) == {"#/cells": "bad_survey"}


def test_extents_are_lengths_areas_or_counts_as_their_kind_wants(here: Office, coach: int) -> None:
    findings = [
        {"kind": "ceiling_stain", "place": "over the bed", "section": "main", "extent": "2 sq ft"},
        {"kind": "pressure_bubble", "place": "front cap", "section": "main", "extent": {"value": "3", "unit": "each"}},
        {"kind": "borescope", "place": "cell 2B", "section": "main"},
    ]
    one = added(here, coach, findings=findings)
    assert [finding["extent"] for finding in one["findings"]] == [
        {"value": "2", "unit": "ft2", "entered": "2 ft2"},
        {"value": "3", "unit": "each", "entered": "3 each"},
        None,
    ]


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # 34 ft is 408 in, 17 rows of 24 in.
        ({"cells": [bodies.cell("18A")]}, {"#/cells/0/cell": "mark_off_roof"}),
        ({"cells": [bodies.cell("0A")]}, {"#/cells/0/cell": "bad_cell"}),
        ({"cells": [bodies.cell("3E")]}, {"#/cells/0/cell": "bad_cell"}),
        ({"cells": [bodies.cell("D3")]}, {"#/cells/0/cell": "bad_cell"}),
        ({"cells": [bodies.cell("99999A")]}, {"#/cells/0/cell": "max_length"}),
        ({"cells": [{**bodies.cell("1A"), "cell": 3}]}, {"#/cells/0/cell": "not_text"}),
        ({"cells": [bodies.cell("1A", "wet")]}, {"#/cells/0/condition": "unknown_choice"}),
        ({"cells": [bodies.cell("1A", section="attic")]}, {"#/cells/0/section": "unknown_section"}),
        ({"cells": [bodies.cell("1A"), bodies.cell("1A", "rotten")]}, {"#/cells/1/condition": "conflicting_marks"}),
        ({"cells": [{}] * 2001}, {"#/cells": "max_length"}),
        ({"method": "guessed"}, {"#/method": "unknown_choice"}),
        ({"made_on": "2026-02-30"}, {"#/made_on": "not_day"}),
        ({"coach": 0}, {"#/coach": "min_value"}),
        ({"coach": 999_999_999}, {"#/coach": "other_shop"}),
        (
            {"findings": [{"kind": "smell", "place": "bed", "section": "main"}]},
            {"#/findings/0/kind": "unknown_finding"},
        ),
        (
            {"findings": [{"kind": "sag_at_ac", "place": "bed", "section": "main", "extent": "2 sq ft"}]},
            {"#/findings/0/extent": "wrong_dimension"},
        ),
        (
            {"findings": [{"kind": "ceiling_stain", "place": "bed", "section": "main", "extent": "5 ft"}]},
            {"#/findings/0/extent": "wrong_dimension"},
        ),
        (
            {"findings": [{"kind": "ceiling_stain", "place": "bed", "section": "main", "extent": "5 lb"}]},
            {"#/findings/0/extent": "wrong_dimension"},
        ),
        (
            {"findings": [{"kind": "ceiling_stain", "place": "cell Z", "section": "main", "extent": 5}]},
            {"#/findings/0/extent": "bad_quantity"},
        ),
        (
            {"repairs": [{"kind": "coating", "section": "main", "chemistry": "none", "length": "3 ft"}]},
            {
                "#/repairs/0/share": "bad_repair",
                "#/repairs/0/length": "bad_repair",
                "#/repairs/0/chemistry": "bad_repair",
            },
        ),
        (
            {"readings": [{"instrument": "x", "section": "main", "place": "bed", "percent": "18", "over_foil": 0}]},
            {"#/readings/0/percent": "not_number", "#/readings/0/over_foil": "not_flag"},
        ),
        (
            {"readings": [{"instrument": "x", "section": "main", "place": "bed", "percent": 101, "over_foil": False}]},
            {"#/readings/0/percent": "bad_reading", "#/readings/0/instrument": "bad_reading"},
        ),
        (
            {
                "cells": [bodies.cell("18A"), bodies.cell("1A", section="attic")],
                "strips": [{"section": "main", "side": "driver", "index": 18, "condition": "soft", "method": "walked"}],
                "rings": [],
            },
            {
                "#/cells/0/cell": "mark_off_roof",
                "#/cells/1/section": "unknown_section",
                "#/strips/0/index": "mark_off_roof",
            },
        ),
    ],
)
def test_a_survey_that_does_not_fit_is_refused_with_every_place(
    here: Office, coach: int, changes: dict[str, Any], expected: dict[str, str]
) -> None:
    assert places(here.post("surveys", bodies.survey(coach, **changes))) == expected
    with here.scope():
        assert not Survey.objects.for_shop(here.shop).exists()


def test_without_rules_in_force_no_survey_can_be_read(here: Office) -> None:
    coach = here.post("coaches", bodies.coach()).json()["id"]
    assert problem(here.post("surveys", bodies.survey(coach)), 422)["code"] == "not_in_force"


def test_a_shops_own_rules_come_before_its_networks(here: Office, coach: int) -> None:
    from costbase.models import NetworkEdition, ShopEdition

    with here.scope():
        theirs = NetworkEdition.objects.for_network(here.shop.network).get().contents
        own = {**theirs, "evidence": [kind for kind in theirs["evidence"] if kind["code"] != "pressure_bubble"]}
        ShopEdition.objects.for_shop(here.shop).create(
            shop=here.shop, kind="severity", slug="severity", valid_from=date(2021, 1, 1), contents=own
        )
    bubble = {"kind": "pressure_bubble", "place": "front cap", "section": "main"}
    assert places(here.post("surveys", bodies.survey(coach, findings=[bubble]))) == {"#/findings/0/kind": "unknown_finding"}


def test_a_change_replaces_the_lists_that_it_names(here: Office, coach: int) -> None:
    one = added(here, coach)
    answer = here.change(f"surveys/{one['id']}", {"cells": [bodies.cell("2B", "rotten")], "made_on": "2026-03-03"})
    body = answer.json()
    assert answer["ETag"] == '"v2"'
    assert body["cells"] == [bodies.cell("2B", "rotten")]
    assert body["made_on"] == "2026-03-03"
    assert body["strips"] == one["strips"]
    assert places(here.change(f"surveys/{one['id']}", {"coach": coach})) == {"#/coach": "unknown_field"}
    assert places(here.change(f"surveys/{one['id']}", {"cells": [bodies.cell("18A")]})) == {"#/cells/0/cell": "mark_off_roof"}
    assert here.get(f"surveys/{one['id']}").json() == body


def test_a_survey_with_an_issued_quote_stays_as_it_is(here: Office, coach: int) -> None:
    one = added(here, coach)
    lock(here, one["id"])
    path = f"surveys/{one['id']}"
    assert here.get(path).json()["locked_on"] == "2026-03-02"
    assert problem(here.change(path, {"cells": []}), 409)["code"] == "survey_locked"
    assert problem(here.change(path, None, method="DELETE"), 409)["code"] == "survey_locked"


def test_the_database_itself_holds_a_locked_survey(here: Office, coach: int) -> None:
    one = added(here, coach)
    lock(here, one["id"])
    with pytest.raises(IntegrityError, match="has been locked since 2026-03-02"), here.scope():
        Survey.objects.for_shop(here.shop).update(made_on=date(2026, 4, 1))
    with pytest.raises(IntegrityError, match="has been locked since 2026-03-02"), here.scope():
        Survey.objects.for_shop(here.shop).get().delete()


def test_an_open_survey_is_taken_away(here: Office, coach: int) -> None:
    one = added(here, coach)
    assert here.change(f"surveys/{one['id']}", None, method="DELETE").status_code == 204
    assert here.get(f"surveys/{one['id']}").status_code == 404


def test_a_retired_coach_gets_no_new_survey(here: Office, coach: int) -> None:
    here.ask("PUT", f"coaches/{coach}/retirement", {"retired": True}, headers={"If-Match": "*"})
    assert places(here.post("surveys", bodies.survey(coach)), 409) == {"#/coach": "retired"}


def test_every_change_of_a_survey_leaves_an_event_with_its_author(here: Office, coach: int) -> None:
    one = added(here, coach)
    here.change(f"surveys/{one['id']}", {"cells": []}, role=ESTIMATOR)
    with here.scope():
        events = apps.get_model("quotes", "SurveyEvent").objects.for_shop(here.shop).order_by("pgh_id")
        seen = [(event.pgh_label, len(event.document["cells"]), event.pgh_context["role"]) for event in events]
    assert seen == [("insert", 2, MANAGER), ("update", 0, ESTIMATOR)]


def test_roles_read_and_write_as_they_may(here: Office, coach: int) -> None:
    one = added(here, coach)
    path = f"surveys/{one['id']}"
    for role, writes in [(ESTIMATOR, 201), (MANAGER, 201), (ANALYST, 403)]:
        assert here.get("surveys", role=role).status_code == 200
        assert here.get(path, role=role).status_code == 200
        assert here.post("surveys", bodies.survey(coach), role=role).status_code == writes
    for method in ("PATCH", "DELETE"):
        assert here.ask(method, path, {}, role=ANALYST).status_code == 403
    assert here.get(path, role=NETWORK_MANAGER).status_code == 404


def test_another_shops_survey_is_not_found(here: Office, elsewhere: Office, coach: int) -> None:
    path = f"surveys/{added(here, coach)['id']}"
    assert elsewhere.get(path).status_code == 404
    for method in ("PATCH", "DELETE"):
        assert elsewhere.ask(method, path, {}, headers={"If-Match": "*"}).status_code == 404
    with_severity_rules(elsewhere.shop.network)
    assert places(elsewhere.post("surveys", bodies.survey(coach))) == {"#/coach": "other_shop"}
    with here.scope():
        assert Survey.objects.for_shop(here.shop).get().version == 1
        assert Coach.objects.for_shop(here.shop).get().version == 1


def test_lists_are_filtered(here: Office, coach: int) -> None:
    one = added(here, coach)
    two = added(here, coach, made_on="2026-04-01", method="opened")

    def found(query: str) -> list[int]:
        return [row["id"] for row in here.get(f"surveys?{query}").json()["results"]]

    assert found(f"coach={coach}") == [two["id"], one["id"]]
    assert found("method=walked") == [one["id"]]
    assert found("made_from=2026-03-03") == [two["id"]]
    assert found("made_until=2026-03-03") == [one["id"]]
    assert places(here.get("surveys?made_from=yesterday"), 400) == {"made_from": "bad_parameter"}


def test_a_page_of_surveys_takes_the_same_queries_however_long_it_is(
    here: Office, coach: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(3):
        added(here, coach)
    here.get("surveys")
    # Token, shop, savepoint, settings, rows, settings back, savepoint released.
    with django_assert_num_queries(7):
        assert len(here.get("surveys").json()["results"]) == 3
