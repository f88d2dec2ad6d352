"""Which roofs are taken, how are they shown, and what may change under surveys and quotes?"""

import uuid
from typing import Any

import pytest
from pytest_django import DjangoAssertNumQueries

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from costbase.scope import shop_scope
from quotes.models import Coach
from tests import make
from tests.rest import bodies
from tests.rest.office import Office, office, places, problem, with_severity_rules


def added(here: Office, **changes: Any) -> dict[str, Any]:
    answer = here.post("coaches", bodies.coach(**changes))
    assert answer.status_code == 201, answer.content
    body: dict[str, Any] = answer.json()
    return body


def faults_of_section(here: Office, **changes: Any) -> dict[str, str]:
    refused = here.post("coaches", bodies.coach(roof=bodies.roof(bodies.section(**changes))))
    return {place.removeprefix("#/roof/sections/0/"): code for place, code in places(refused).items()}


def test_a_coach_is_added_and_read_again_as_it_was_entered(here: Office) -> None:
    answer = here.post("coaches", bodies.coach())
    body = answer.json()
    assert answer.status_code == 201, body
    assert answer["Location"] == here.url(f"coaches/{body['id']}")
    assert answer["ETag"] == '"v1"'
    section = body["roof"]["sections"][0]
    assert section["length"] == {"value": "34", "unit": "ft", "entered": "34 ft"}
    assert section["crown_rise"] == {"value": "1.5", "unit": "in", "entered": "1 1/2 in"}
    assert section["openings"][1]["station"] == {"value": "180", "unit": "in", "entered": "15 ft"}
    # Nothing stands on a vent.
    assert section["openings"][1]["mass"] == {"value": "0", "unit": "lb", "entered": "0 lb"}
    assert body["gross_weight_rating"] == {"value": "22000", "unit": "lb", "entered": "22000 lb"}
    assert body["warnings"] == []
    assert here.get(f"coaches/{body['id']}").json() == body


def test_a_measure_is_kept_as_entered_and_canonical(here: Office) -> None:
    added(here, roof=bodies.roof(bodies.section(length={"value": "10.2", "unit": "m"})))
    with here.scope():
        kept = Coach.objects.for_shop(here.shop).get().roof["sections"][0]["length"]
    # 10.2 m in tenths of a millimetre.
    assert kept == {"entered": "10.2 m", "canonical": 102000.0, "dimension": "length"}


def test_a_metric_shop_reads_metres_and_millimetres(db: None) -> None:
    there = office(unit_system="metric")
    section = added(there)["roof"]["sections"][0]
    # 34 x 0.3048 m; 96 x 25.4 mm.
    assert section["length"] == {"value": "10.3632", "unit": "m", "entered": "34 ft"}
    assert section["body_width"] == {"value": "2438.4", "unit": "mm", "entered": "96 in"}


def test_what_was_answered_can_be_sent_back_and_changes_nothing(here: Office) -> None:
    one = added(here, roof=bodies.roof(bodies.section(body_width="8 ft 1/3 in")))
    answer = here.change(f"coaches/{one['id']}", {"roof": one["roof"]})
    assert answer.status_code == 200, answer.content
    assert answer.json()["roof"] == one["roof"]


def test_an_unusual_roof_is_taken_with_warnings(here: Office) -> None:
    one = added(here, roof=bodies.roof(bodies.section(body_width="104 in")))
    assert len(one["warnings"]) == 1
    assert "wider than 102 in" in one["warnings"][0]


def test_sections_are_joined_once(here: Office) -> None:
    lower = bodies.section(label="cab", kind="over_cab", length="6 ft", openings=[], attachments=[])
    joint = {"kind": "step", "front": "cab", "rear": "main"}
    one = added(here, roof=bodies.roof(lower, bodies.section(), joints=[joint]))
    assert one["roof"]["joints"] == [joint]
    wrong = {"kind": "step", "front": "main", "rear": "attic"}
    refused = here.post("coaches", bodies.coach(roof=bodies.roof(lower, bodies.section(), joints=[joint, wrong])))
    assert places(refused) == {"#/roof/joints/1/rear": "bad_joint"}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"length": "5 ft"}, {"length": "out_of_range"}),
        ({"length": "200 ft"}, {"length": "out_of_range"}),
        ({"length": "0 ft"}, {"length": "out_of_range"}),
        ({"length": "-34 ft"}, {"length": "bad_quantity"}),
        ({"length": "34"}, {"length": "bad_quantity"}),
        ({"length": 34}, {"length": "bad_quantity"}),
        ({"length": "34 lb"}, {"length": "wrong_dimension"}),
        ({"length": "9**9**9 ft"}, {"length": "bad_quantity"}),
        ({"length": {"value": "34"}}, {"length/unit": "required"}),
        ({"length": {"value": "1e9", "unit": "ft"}}, {"length/value": "bad_quantity"}),
        ({"length": None}, {"length": "null"}),
        ({"edge_sweep": "90 in"}, {"edge_sweep": "wrong_dimension"}),
        ({"edge_radius": "50 in"}, {"edge_radius": "out_of_range"}),
        ({"core_thickness": "0 in"}, {"core_thickness": "impossible_shape"}),
        ({"captive_nuts": -1}, {"captive_nuts": "min_value"}),
        ({"captive_nuts": 5000}, {"captive_nuts": "out_of_range"}),
        ({"captive_nuts": 10**30}, {"captive_nuts": "max_value"}),
        ({"captive_nuts": "24"}, {"captive_nuts": "not_whole"}),
        ({"label": ""}, {"label": "blank"}),
        ({"label": "x" * 61}, {"label": "out_of_range"}),
        ({"kind": "attic"}, {"kind": "unknown_choice"}),
        ({"openings": {}}, {"openings": "not_a_list"}),
        ({"openings": ["vent"]}, {"openings/0": "not_object"}),
        ({"openings": [{}] * 201}, {"openings": "max_length"}),
        ({"openings": [bodies.opening("v", station="-1 in")]}, {"openings/0/station": "bad_quantity"}),
        ({"openings": [bodies.opening("v", station="35 ft")]}, {"openings/0/station": "opening_off_roof"}),
        ({"openings": [bodies.opening("v", offset="2 in")]}, {"openings/0/offset": "opening_off_roof"}),
        ({"openings": [bodies.opening("v"), bodies.opening("w")]}, {"openings/1/station": "openings_overlap"}),
        (
            {"openings": [bodies.opening("v"), bodies.opening("v", station="10 ft")]},
            {"openings/1/label": "duplicate_label"},
        ),
        (
            {"openings": [bodies.opening("a", "air_conditioner", length="14 in", width="14 in")]},
            {"openings/0/mass": "required"},
        ),
        (
            {"attachments": [{"kind": "antenna", "count": 0, "station": "50 ft"}]},
            {"attachments/0/count": "out_of_range", "attachments/0/station": "opening_off_roof"},
        ),
        (
            {"lenght": "34 ft", "deck": "oak", "tuck": "x", "openings": [{"label": "v"}]},
            {
                "lenght": "unknown_field",
                "deck": "unknown_choice",
                "tuck": "bad_quantity",
                **{f"openings/0/{name}": "required" for name in ("kind", "station", "offset", "length", "width")},
            },
        ),
        (
            {"length": "200 ft", "captive_nuts": 5000, "openings": [bodies.opening("v", width="900 in")]},
            {"length": "out_of_range", "captive_nuts": "out_of_range", "openings/0/width": "out_of_range"},
        ),
    ],
)
def test_a_roof_that_cannot_be_is_refused_with_every_place(
    here: Office, changes: dict[str, Any], expected: dict[str, str]
) -> None:
    assert faults_of_section(here, **changes) == expected
    with here.scope():
        assert not Coach.objects.for_shop(here.shop).exists()


@pytest.mark.parametrize(
    ("roof", "expected"),
    [
        ({}, {"#/roof/sections": "required"}),
        ({"sections": []}, {"#/roof/sections": "bad_geometry"}),
        ([], {"#/roof": "not_object"}),
        (None, {"#/roof": "null"}),
        ({"sections": [bodies.section(), bodies.section()]}, {"#/roof/sections/1/label": "duplicate_label"}),
    ],
)
def test_a_roof_has_sections(here: Office, roof: Any, expected: dict[str, str]) -> None:
    assert places(here.post("coaches", bodies.coach(roof=roof))) == expected


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"label": " "}, {"#/label": "blank"}),
        ({"year": 1949}, {"#/year": "min_value"}),
        ({"year": "2004"}, {"#/year": "not_whole"}),
        ({"customer": 0}, {"#/customer": "min_value"}),
        ({"customer": 2**63}, {"#/customer": "max_value"}),
        ({"customer": 2**63 - 1}, {"#/customer": "other_shop"}),
        ({"gross_weight_rating": "11 ft"}, {"#/gross_weight_rating": "wrong_dimension"}),
        ({"plate": "x" * 21}, {"#/plate": "max_length"}),
        ({"retired_on": "2026-01-01"}, {"#/retired_on": "unknown_field"}),
        (
            {"customer": 5, "roof": bodies.roof(bodies.section(length="5 ft"))},
            {"#/customer": "other_shop", "#/roof/sections/0/length": "out_of_range"},
        ),
    ],
)
def test_a_coach_that_does_not_fit_is_refused(here: Office, changes: dict[str, Any], expected: dict[str, str]) -> None:
    assert places(here.post("coaches", bodies.coach(**changes))) == expected


def test_a_coach_belongs_to_a_customer_of_the_same_shop(here: Office, elsewhere: Office) -> None:
    theirs = elsewhere.post("customers", bodies.customer()).json()["id"]
    assert places(here.post("coaches", bodies.coach(customer=theirs))) == {"#/customer": "other_shop"}
    ours = here.post("customers", bodies.customer()).json()["id"]
    one = added(here, customer=ours)
    assert one["customer"] == ours
    assert here.change(f"coaches/{one['id']}", {"customer": None}).json()["customer"] is None


def test_an_erased_customer_stays_with_the_coach_and_gets_no_other(here: Office) -> None:
    ours = here.post("customers", bodies.customer()).json()["id"]
    one = added(here, customer=ours)
    here.ask("POST", f"customers/{ours}/erasure", headers={"If-Match": "*"})
    assert here.change(f"coaches/{one['id']}", {"label": "New label"}).json()["customer"] == ours
    assert places(here.post("coaches", bodies.coach(customer=ours))) == {"#/customer": "other_shop"}


def test_a_coach_is_retired_and_taken_back(here: Office) -> None:
    path = f"coaches/{added(here)['id']}"
    etag = here.get(path)["ETag"]
    retired = here.ask("PUT", f"{path}/retirement", {"retired": True}, headers={"If-Match": etag})
    assert retired.status_code == 200
    assert retired.json()["retired_on"] is not None
    assert [row["id"] for row in here.get("coaches?retired=false").json()["results"]] == []
    assert len(here.get("coaches?retired=true").json()["results"]) == 1
    back = here.ask("PUT", f"{path}/retirement", {"retired": False}, headers={"If-Match": retired["ETag"]})
    assert back.json()["retired_on"] is None
    refused = here.ask("PUT", f"{path}/retirement", {"retired": "no"}, headers={"If-Match": "*"})
    assert places(refused) == {"#/retired": "not_flag"}


def test_a_coach_is_taken_away_only_while_nothing_refers_to_it(here: Office) -> None:
    with_severity_rules(here.shop.network)
    used, unused = added(here), added(here)
    assert here.post("surveys", bodies.survey(used["id"])).status_code == 201
    assert here.change(f"coaches/{unused['id']}", None, method="DELETE").status_code == 204
    assert here.get(f"coaches/{unused['id']}").status_code == 404
    assert problem(here.change(f"coaches/{used['id']}", None, method="DELETE"), 409)["code"] == "in_use"


def test_a_roof_keeps_the_ground_under_its_surveys(here: Office) -> None:
    with_severity_rules(here.shop.network)
    one = added(here)
    survey = here.post("surveys", bodies.survey(one["id"])).json()
    without_vent = bodies.roof(bodies.section(openings=[]))
    refused = here.change(f"coaches/{one['id']}", {"roof": without_vent})
    assert places(refused, 409) == {"#/roof": "survey_no_longer_fits"}
    assert f"survey {survey['id']}" in refused.json()["detail"]
    longer = bodies.roof(bodies.section(length="35 ft"))
    assert here.change(f"coaches/{one['id']}", {"roof": longer}).status_code == 200
    # An issued quote keeps the roof that it was worked out on, so its survey holds nothing up.
    lock(here, survey["id"])
    assert here.change(f"coaches/{one['id']}", {"roof": without_vent}).status_code == 200


def lock(here: Office, survey_id: int) -> None:
    from datetime import date

    from quotes.models import Survey

    with here.scope():
        Survey.objects.for_shop(here.shop).filter(pk=survey_id).update(locked_on=date(2026, 3, 2))


def test_every_change_of_a_coach_leaves_an_event_with_its_author(here: Office) -> None:
    one = added(here)
    here.change(f"coaches/{one['id']}", {"label": "New label"}, role=ESTIMATOR)
    here.change(f"coaches/{one['id']}", None, method="DELETE")
    from django.apps import apps

    with here.scope():
        events = apps.get_model("quotes", "CoachEvent").objects.for_shop(here.shop).order_by("pgh_id")
        seen = [(event.pgh_label, event.label, event.pgh_context["role"]) for event in events]
    assert seen == [
        ("insert", "Invented 34 footer", MANAGER),
        ("update", "New label", ESTIMATOR),
        ("delete", "New label", MANAGER),
    ]


def test_roles_read_and_write_as_they_may(here: Office) -> None:
    one = added(here)
    path = f"coaches/{one['id']}"
    for role, reads, writes in [(ESTIMATOR, 200, 201), (MANAGER, 200, 201), (ANALYST, 200, 403)]:
        assert here.get("coaches", role=role).status_code == reads
        assert here.get(path, role=role).status_code == reads
        assert here.post("coaches", bodies.coach(), role=role).status_code == writes
    for method in ("PATCH", "DELETE"):
        assert here.ask(method, path, {}, role=ANALYST).status_code == 403
    assert here.ask("PUT", f"{path}/retirement", {}, role=ANALYST).status_code == 403
    # A shop that keeps its learning to itself does not exist for its network's manager.
    assert here.get(path, role=NETWORK_MANAGER).status_code == 404


def test_another_shops_coach_is_not_found(here: Office, elsewhere: Office) -> None:
    path = f"coaches/{added(elsewhere)['id']}"
    assert here.get(path).status_code == 404
    for method, below in [("PATCH", ""), ("DELETE", ""), ("PUT", "/retirement")]:
        assert here.ask(method, path + below, {}, headers={"If-Match": "*"}).status_code == 404
    assert here.get("coaches").json()["results"] == []
    with elsewhere.scope():
        assert Coach.objects.for_shop(elsewhere.shop).get().version == 1


def test_no_coach_can_point_into_another_shop_whatever_the_application_says(here: Office, elsewhere: Office) -> None:
    from django.db import IntegrityError

    theirs = elsewhere.post("customers", bodies.customer()).json()["id"]
    added(here)
    with pytest.raises(IntegrityError, match="quotes_coach_customer_in_shop"), shop_scope(here.shop.pk, make.OPERATOR):
        Coach.objects.for_shop(here.shop).update(customer_id=theirs)


def test_lists_are_filtered(here: Office) -> None:
    ours = here.post("customers", bodies.customer()).json()["id"]
    one = added(here, customer=ours, label="Blue one", plate="ab 12")
    two = added(here, label="Green one")

    def found(query: str) -> list[int]:
        return [row["id"] for row in here.get(f"coaches?{query}").json()["results"]]

    assert found(f"customer={ours}") == [one["id"]]
    assert found("label=one") == [two["id"], one["id"]]
    assert found("plate=AB%2012") == [one["id"]]
    assert places(here.get("coaches?customer=x&retired=maybe"), 400) == {
        "customer": "bad_parameter",
        "retired": "bad_parameter",
    }
    assert places(here.get("coaches?colour=blue"), 400) == {"colour": "unknown_parameter"}
    assert places(here.get("coaches?customer=99999999999999999999999"), 400) == {"customer": "bad_parameter"}


def test_a_page_of_coaches_takes_the_same_queries_however_long_it_is(
    here: Office, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for _ in range(3):
        added(here)
    here.get("coaches")
    # Token, shop, savepoint, settings, rows, settings back, savepoint released.
    with django_assert_num_queries(7):
        assert len(here.get("coaches").json()["results"]) == 3


def test_a_list_shows_no_roofs(here: Office) -> None:
    added(here)
    assert "roof" not in here.get("coaches").json()["results"][0]


def test_a_client_id_is_taken_once(here: Office) -> None:
    made = {"client_id": str(uuid.UUID(int=7))}
    added(here, **made)
    assert places(here.post("coaches", bodies.coach(**made)), 409) == {"#/client_id": "already_there"}
