"""What a request for a quote may not say: each a problem with a code, a place and words; nothing is half written."""

import json
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import transaction
from pytest_django import DjangoDbBlocker
from rest_framework.test import APIClient

from api.accounts.roles import MANAGER
from api.rest.codes import CODES
from quotes.models import FrozenCostBase, IdempotencyKey, Quote, QuoteComponent, QuoteCounter, QuoteLine
from tests.rest import bodies
from tests.rest.office import office, places, problem
from tests.rest.quoting import Body, Quoting, entry

pytestmark = pytest.mark.django_db

HUGE = "9" * 400


@pytest.fixture(scope="module")
def shop(django_db_setup: None, django_db_blocker: DjangoDbBlocker) -> Iterator[Quoting]:
    """One shop for all of these requests: none of them may leave anything behind."""
    with django_db_blocker.unblock():
        atomic = transaction.atomic()
        atomic._from_testcase = True  # type: ignore[attr-defined]  # A scope accepts no other transaction around it.
        with atomic:
            yield Quoting(office())
            transaction.set_rollback(True)


def rows(shop: Quoting) -> list[int]:
    with shop.office.scope():
        tables = (Quote, QuoteLine, QuoteComponent, QuoteCounter, FrozenCostBase, IdempotencyKey)
        return [table.objects.for_shop(shop.shop).count() for table in tables]


def refused(shop: Quoting, body: Body) -> dict[str, str]:
    """The faults of a body; a draft, with a key or without, and a trial are refused alike, and nothing is written."""
    before = rows(shop)
    tried = shop.office.post("quotes/trial", body)
    told = places(tried)
    assert places(shop.office.post("quotes", body)) == told
    assert places(shop.office.post("quotes", body, headers={"Idempotency-Key": "k"})) == told
    assert rows(shop) == before == [0] * 6
    for fault in tried.json()["errors"]:
        assert CODES[fault["code"]].status in (409, 422)
        assert len(fault["detail"]) > 10, fault
    return told


def span(start: object = "0 ft", end: object = "9 ft", section: object = "main") -> Body:
    return {"section": section, "start": start, "end": end}


def condition(slug: object, reason: object = "It is so.") -> Body:
    return {"condition": slug, "reason": reason}


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        # Whose coach, whose survey.
        ({"coach": 0}, {"#/coach": "min_value"}),
        ({"coach": "7"}, {"#/coach": "not_whole"}),
        ({"coach": 7.0}, {"#/coach": "not_whole"}),
        ({"coach": True}, {"#/coach": "not_whole"}),
        ({"coach": None}, {"#/coach": "null"}),
        ({"coach": 2**63}, {"#/coach": "max_value"}),
        ({"coach": 987654}, {"#/survey": "survey_of_another_coach"}),
        ({"survey": 987654}, {"#/survey": "other_shop"}),
        ({"survey": [1]}, {"#/survey": "not_whole"}),
        # Plan, skin, reference.
        ({"plan": "Full Rebuild"}, {"#/plan": "bad_slug"}),
        ({"plan": 3}, {"#/plan": "not_text"}),
        ({"plan": ""}, {"#/plan": "blank"}),
        ({"plan": "new-roof"}, {"#/plan": "not_in_force"}),
        ({"plan": "slide-roof", "measures": []}, {"#/plan": "plan_refused"}),
        ({"skin": "slate"}, {"#/skin": "unknown_choice"}),
        ({"skin": ["frp"]}, {"#/skin": "unknown_choice"}),
        ({"colour": "blue"}, {"#/colour": "unknown_field"}),
        ({"referense": "JOB 1"}, {"#/referense": "unknown_field"}),
        ({"reference": "x" * 101}, {"#/reference": "max_length"}),
        ({"reference": 17}, {"#/reference": "not_text"}),
        # Options.
        ({"options": "coating"}, {"#/options": "not_a_list"}),
        ({"options": {"0": "coating"}}, {"#/options": "not_a_list"}),
        ({"options": [3, "coating", None]}, {"#/options/0": "not_text", "#/options/2": "null"}),
        ({"options": ["paint-match"] * 201}, {"#/options": "max_length"}),
        ({"options": ["no-such-work"]}, {"#/options/0": "plan_refused"}),
        ({"options": ["coating", "deck-bond"]}, {"#/options/1": "plan_refused"}),
        ({"options": ["paint-match"]}, {"#/options": "plan_refused"}),
        # Options that are offered.
        ({"offered": "paint-match"}, {"#/offered": "not_a_list"}),
        ({"offered": ["paint-match"] * 13}, {"#/offered": "max_length"}),
        ({"offered": [3, "Paint Match"]}, {"#/offered/0": "not_text", "#/offered/1": "bad_slug"}),
        ({"offered": ["paint-match", "paint-match"]}, {"#/offered/1": "said_twice"}),
        ({"offered": ["paint-match"]}, {"#/offered/0": "plan_refused"}),
        ({"offered": ["deck-bond"]}, {"#/offered/0": "plan_refused"}),
        (
            {"offered": ["no-such-work", "paint-match"], "measures": [entry("paint_job_count", 1)]},
            {"#/offered/0": "plan_refused"},
        ),
        (
            {"offered": ["no-such-work", "disposal", "coating"]},
            {"#/offered/0": "plan_refused", "#/offered/1": "plan_refused", "#/offered/2": "plan_refused"},
        ),
        (
            {"options": ["paint-match"], "offered": ["paint-match"], "measures": [entry("paint_job_count", 1)]},
            {"#/offered/0": "plan_refused"},
        ),
        # Conditions.
        ({"conditions": [condition("full-moon")]}, {"#/conditions/0/condition": "condition_conflict"}),
        ({"conditions": [condition("no-bay", "")]}, {"#/conditions/0/reason": "blank"}),
        ({"conditions": [condition("no-bay", "x" * 401)]}, {"#/conditions/0/reason": "max_length"}),
        ({"conditions": [{"condition": "no-bay"}]}, {"#/conditions/0/reason": "required"}),
        ({"conditions": ["no-bay"]}, {"#/conditions/0": "not_object"}),
        ({"conditions": [condition("hot-roof"), condition("cold-roof")]}, {"#/conditions/0/condition": "condition_conflict"}),
        ({"conditions": [condition("no-bay"), condition("no-bay")]}, {"#/conditions/1": "said_twice"}),
        # Measures.
        ({"measures": [entry("roof_colour", 1)]}, {"#/measures/0/measure": "unknown_measure"}),
        ({"measures": [entry("roof_length", "30 ft")]}, {"#/measures/0/measure": "bad_entry"}),
        ({"measures": [entry("skin_area", "30 ft2")]}, {"#/measures/0/measure": "bad_entry"}),
        ({"measures": [{"measure": "brace_count"}]}, {"#/measures/0/value": "required"}),
        ({"measures": [entry("brace_count", 1.5)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", -1)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", 10**9)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", 10**39)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", True)]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("brace_count", [2])]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("splinter_share", 40)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("splinter_share", -0.1)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("splinter_share", "40 %")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "6 ft2")]}, {"#/measures/0/value": "wrong_dimension"}),
        ({"measures": [entry("wall_top_rot_length", "6 furlongs")]}, {"#/measures/0/value": "unknown_unit"}),
        ({"measures": [entry("wall_top_rot_length", 6)]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "6")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "-6 ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "10,2 m")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "9**9**9 ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "1e400 ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "NaN ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", HUGE)]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "9" * 9 + " ft")]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("wall_top_rot_length", None)]}, {"#/measures/0/value": "null"}),
        ({"measures": [entry("wall_top_rot_length", {"value": "6"})]}, {"#/measures/0/value/unit": "required"}),
        (
            {"measures": [entry("wall_top_rot_length", {"value": 6, "unit": "ft"})]},
            {"#/measures/0/value/value": "bad_quantity"},
        ),
        ({"measures": [entry("indoor_bay", "yes")]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("indoor_bay", 1)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", 1, section="attic")]}, {"#/measures/0/section": "bad_entry"}),
        ({"measures": [entry("indoor_bay", True, section="main")]}, {"#/measures/0/section": "bad_entry"}),
        ({"measures": [entry("brace_count", 1, reason=5)]}, {"#/measures/0/reason": "not_text"}),
        ({"measures": [entry("brace_count", 1)] * 201}, {"#/measures": "max_length"}),
        ({"measures": [entry("brace_count", 1), entry("brace_count", 2)]}, {"#/measures/1": "said_twice"}),
        ({"measures": {"brace_count": 1}}, {"#/measures": "not_a_list"}),
        # Tier and days.
        ({"tier": "frame"}, {"#/tier": "not_object"}),
        ({"tier": {"tier": "terrible", "reason": "It looks bad to me."}}, {"#/tier/tier": "unknown_choice"}),
        ({"tier": {"tier": "frame", "reason": "bad"}}, {"#/tier/reason": "bad_severity"}),
        ({"tier": {"tier": "frame", "reason": " " * 40}}, {"#/tier/reason": "blank"}),
        ({"tier": {"tier": "frame"}}, {"#/tier/reason": "required"}),
        ({"days": {"low": 9, "high": 3, "reason": "soon"}}, {"#/days/high": "bad_days"}),
        ({"days": {"low": 0, "high": 366, "reason": "soon"}}, {"#/days/low": "min_value", "#/days/high": "max_value"}),
        (
            {"days": {"low": 1.5, "high": "3", "reason": ""}},
            {"#/days/low": "not_whole", "#/days/high": "not_whole", "#/days/reason": "blank"},
        ),
        ({"days": [3, 9]}, {"#/days": "not_object"}),
        # Scope.
        ({"scope": [span(section="attic")]}, {"#/scope/0/section": "bad_scope"}),
        ({"scope": [span("9 ft", "99 ft")]}, {"#/scope/0/end": "bad_scope"}),
        ({"scope": [span("99 ft", "9 ft")]}, {"#/scope/0/start": "bad_scope"}),
        ({"scope": [span("12 ft", "9 ft")]}, {"#/scope/0/end": "bad_scope"}),
        ({"scope": [span("9 ft", "9 ft")]}, {"#/scope/0/end": "bad_scope"}),
        ({"scope": [span("9", "12 lb")]}, {"#/scope/0/start": "bad_quantity", "#/scope/0/end": "wrong_dimension"}),
        ({"scope": [span(), span("10 ft", "12 ft")]}, {"#/scope/1/section": "bad_scope"}),
        ({"scope": [span(section=4)]}, {"#/scope/0/section": "not_text"}),
        ({"scope": [{"section": "main"}]}, {"#/scope/0/start": "required", "#/scope/0/end": "required"}),
        ({"scope": [span()] * 31}, {"#/scope": "max_length"}),
        ({"scope": span()}, {"#/scope": "not_a_list"}),
        ({"scope": [span(), None]}, {"#/scope/1": "null"}),
    ],
    ids=lambda value: json.dumps(value)[:60],
)
def test_a_body_that_does_not_fit_is_told_where_and_why(shop: Quoting, changes: Body, expected: dict[str, str]) -> None:
    assert refused(shop, shop.body(**changes)) == expected


@pytest.mark.parametrize("missing", ["coach", "survey", "plan", "skin"])
def test_what_a_quote_cannot_do_without_has_to_be_said(shop: Quoting, missing: str) -> None:
    body = shop.body()
    del body[missing]
    assert refused(shop, body) == {f"#/{missing}": "required"}


def test_all_faults_of_the_form_are_told_at_once(shop: Quoting) -> None:
    told = refused(
        shop,
        {
            "skin": "slate",
            "colour": "blue",
            "measures": [entry("roof_colour", 1), entry("wall_top_rot_length", "6"), entry("brace_count", 0.5)],
            "days": {"low": 0, "high": 3},
            "coach": "one",
        },
    )
    assert set(told) == {
        "#/coach", "#/survey", "#/plan", "#/skin", "#/colour", "#/measures/0/measure", "#/measures/1/value",
        "#/measures/2/value", "#/days/low", "#/days/reason",
    }  # fmt: skip


def test_all_faults_of_the_entries_are_told_at_once(shop: Quoting) -> None:
    of_the_whole = entry("indoor_bay", True, section="main")
    measures = [entry("brace_count", 1, section="attic"), of_the_whole, entry("roof_length", "1 ft")]
    assert refused(shop, shop.body(measures=measures)) == {
        "#/measures/0/section": "bad_entry",
        "#/measures/1/section": "bad_entry",
        "#/measures/2/measure": "bad_entry",
    }


def test_all_faults_of_the_scope_are_told_at_once(shop: Quoting) -> None:
    scope = [span("40 ft", "50 ft"), span(section="attic"), span("1 ft", "2 ft")]
    assert set(refused(shop, shop.body(scope=scope))) == {
        "#/scope/0/start", "#/scope/0/end", "#/scope/1/section", "#/scope/2/section",
    }  # fmt: skip


def test_a_measure_of_one_of_several_sections_says_of_which(shop: Quoting) -> None:
    raised = bodies.section(label="raised", kind="raised", length="8 ft", openings=[], attachments=[])
    coach = shop.add_coach(bodies.coach(plate="INV 2", roof=bodies.roof(bodies.section(), raised)))
    body = shop.body(coach=coach, survey=shop.add_survey(coach), measures=[entry("brace_count", 2)])
    assert refused(shop, body) == {"#/measures/0/section": "bad_entry"}
    taken = shop.office.post("quotes/trial", {**body, "measures": [entry("brace_count", 2, section="raised")]})
    assert taken.status_code == 200, taken.content


def test_a_coating_is_refused_on_a_wet_roof(shop: Quoting) -> None:
    cells = [bodies.cell("1A", "damp"), bodies.cell("1B", "sound"), bodies.cell("1C", "sound"), bodies.cell("1D", "sound")]
    body = shop.body(survey=shop.add_survey(shop.coach, cells=cells), plan="coat", measures=[entry("coat_area", "280 ft2")])
    assert refused(shop, body) == {"#/plan": "plan_refused"}
    # A quarter of what was checked is damp and the plan allows a fifth.
    detail = problem(shop.office.post("quotes", body), 422)["detail"]
    assert "25%" in detail
    assert "20%" in detail


def test_a_plan_that_comes_to_nothing_is_refused(shop: Quoting) -> None:
    assert refused(shop, shop.body(plan="look-first", measures=[])) == {"#/plan": "nothing_to_do"}


WEIRD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1.5, 10**39, "", "x", "9**9**9 ft", "\u2028", "x" * 5_000, [], [[]], [None], {}, {"a": {"b": []}},
)  # fmt: skip


def filled(shop: Quoting) -> Body:
    """A request with everything in it, that is taken."""
    return shop.body(
        plan="partial-roof",
        scope=[span("2 ft", "30 ft")],
        options=["paint-match"],
        conditions=[condition("no-bay")],
        measures=[entry("paint_job_count", 1, section="")],
        tier={"tier": "widespread", "reason": "The owner showed pictures."},
        days={"low": 10, "high": 14, "reason": "A second crew."},
    )


def paths(value: Any, above: tuple[str | int, ...] = ()) -> Iterator[tuple[str | int, ...]]:
    """The place of every value in a document."""
    if above:
        yield above
    inside = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for name, below in inside:
        yield from paths(below, (*above, name))


def put(document: Any, path: tuple[str | int, ...], value: object) -> Any:
    """A copy of the document with another value in one place."""
    copy = json.loads(json.dumps(document))
    place = copy
    for name in path[:-1]:
        place = place[name]
    place[path[-1]] = value
    return copy


def test_no_value_in_any_place_makes_a_request_stumble(shop: Quoting) -> None:
    body = filled(shop)
    assert shop.office.post("quotes/trial", body).status_code == 200
    for path in paths(body):
        for value in WEIRD:
            answer = shop.office.post("quotes/trial", put(body, path, value))
            assert answer.status_code in (200, 422), (path, value, answer.content[:300])
            if answer.status_code == 422:
                here = "#/" + "/".join(map(str, path))
                told = places(answer)
                # At the place, below or above it; or at what depended on it: an option on its measure, a survey on its coach.
                depends = ("#/options", "#/survey")
                assert all(at.startswith((here, *depends)) or here.startswith(at) for at in told), (path, value, told)


@pytest.mark.parametrize("path", ["quotes", "quotes/trial"])
@pytest.mark.parametrize(
    ("content", "status", "code"),
    [
        (b"", 400, "body_missing"),
        (b"[]", 400, "not_an_object"),
        (b'"frp"', 400, "not_an_object"),
        (b'{"coach": 1,', 400, "invalid_json"),
        (b'{"coach": NaN}', 400, "invalid_json"),
        (b'{"coach": -Infinity}', 400, "invalid_json"),
        (b'{"coach": 1e400}', 400, "invalid_json"),
        (b'{"coach": ' + b"9" * 41 + b"}", 400, "invalid_json"),
        (b'{"coach": 1, "coach": 2}', 400, "invalid_json"),
        (b'{"reference": "\\u0000"}', 400, "invalid_json"),
        (b'{"reference": "\\ud800"}', 400, "invalid_json"),
        (b'{"reference": "\xff"}', 400, "invalid_json"),
        (b'{"scope": ' + b"[" * 60 + b"]" * 60 + b"}", 400, "invalid_json"),
        (b'{"reference": "' + b"x" * 1_000_000 + b'"}', 413, "body_too_large"),
    ],
    ids=lambda value: str(value)[:40],
)
def test_a_body_that_cannot_be_read_is_refused_before_anything_is_priced(
    shop: Quoting, path: str, content: bytes, status: int, code: str
) -> None:
    client = APIClient(raise_request_exception=False)
    answer = client.generic(
        "POST",
        shop.office.url(path),
        content,  # type: ignore[arg-type]  # what is no UTF-8 is no text either
        "application/json",
        headers={"Authorization": f"Bearer {shop.office.tokens[MANAGER]}"},
    )
    assert problem(answer, status)["code"] == code
    assert rows(shop) == [0] * 6
