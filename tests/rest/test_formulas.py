"""What would a formula mean, before it is saved?"""

from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, NETWORK_MANAGER
from tests.rest.office import Office, places, problem
from tests.rest.test_openapi import faults


def checked(office: Office, text: str, level: str = "section", expects: str = "", **kwargs: Any) -> dict[str, Any]:
    answer = office.post("formulas/check", {"text": text, "level": level, "expects": expects}, **kwargs)
    assert answer.status_code == 200, answer.content.decode()
    assert faults(answer, "check_formula") == []
    told: dict[str, Any] = answer.json()
    assert told["means_something"] is (told["errors"] == [])
    return told


def test_a_formula_is_told_with_kind_unit_range_and_what_it_reads(here: Office) -> None:
    told = checked(here, "0.04 * hour / foot * perimeter", expects="h")
    assert told["value"] == {"kind": "number", "unit": "h", "low": 0.0, "high": None, "options": []}
    (read,) = told["inputs"]
    assert (read["slug"], read["unit"], read["level"]) == ("perimeter", "ft", "section")
    assert read["definition"]
    assert told["warnings"] == []


def test_every_error_is_told_with_its_span_and_what_to_write_instead(here: Office) -> None:
    told = checked(here, "deck_aera * 2 + perimeter + perimeter_x")
    assert told["value"] is None
    first, *others = told["errors"]
    # The first nine characters are the name.
    assert (first["start"], first["end"], first["suggestion"]) == (0, 9, "deck_area")
    assert first["reason"] == "there is no measure deck_aera: did you mean deck_area?"
    assert [error["suggestion"] for error in others] == ["perimeter"]


def test_a_unit_in_a_suggestion_can_be_written_as_it_stands(here: Office) -> None:
    (error,) = checked(here, "perimeter + 2")["errors"]
    assert (error["start"], error["end"], error["suggestion"]) == (12, 13, "2 * foot")


def test_what_the_place_wants_is_held_against_it(here: Office) -> None:
    assert checked(here, "perimeter", expects="ft")["errors"] == []
    assert checked(here, "0.05 * hour / foot", expects="h/ft")["errors"] == []
    assert checked(here, "vent_count", expects="count")["errors"] == []
    assert checked(here, "vent_count > 2", expects="yes/no")["value"]["kind"] == "yes/no"
    (wrong,) = checked(here, "perimeter", expects="ft2")["errors"]
    assert wrong["reason"] == "an area is wanted here, and this is a length"
    (part,) = checked(here, "vent_count / 2", expects="count")["errors"]
    assert "whole number" in part["reason"]
    answer = here.post("formulas/check", {"text": "1", "level": "quote", "expects": "furlong"})
    assert places(answer) == {"#/expects": "unknown_choice"}


def test_a_division_that_can_be_by_zero_is_a_warning(here: Office) -> None:
    told = checked(here, "perimeter / vent_count")
    assert [(w["code"], w["start"], w["end"]) for w in told["warnings"]] == [("division_can_be_zero", 12, 22)]
    assert told["means_something"]


def test_spaces_at_the_ends_move_no_span(here: Office) -> None:
    (error,) = checked(here, "  nothing_such  ")["errors"]
    assert (error["start"], error["end"]) == (2, 14)


def test_a_width_is_out_of_sight_of_a_quote(here: Office) -> None:
    assert checked(here, "body_width", "section")["errors"] == []
    assert checked(here, "body_width", "quote")["errors"]


HOSTILE = (
    "", " ", "(" * 900, "1" * 1000, "1" * 20_000, "9**9**9", "x" * 999, "é", "\u202e1", "lambda: 1", "__import__('os')",
    "1e999", "1e-999", "1/0", "perimeter / 0", "[1, 2]", "'a' 'b'", "1 if 2 else", "not " * 100 + "True", "-" * 500 + "1",
    "a.b", "a[0]", "f'{1}'", "0x10", "1_000", "True + True", "'", "\n", "# nothing", ";", "\\", "sqrt(-1)", "min()",
    "*".join(["deck_area**4"] * 45), "/".join(["deck_area**4"] * 45), "*".join(["9e9"] * 60), "1<2<3<4<5" * 10,
)  # fmt: skip


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_any_text_is_answered(here: Office, text: str) -> None:
    for level, expects in (("section", ""), ("quote", "h"), ("section", "count"), ("quote", "yes/no")):
        told = checked(here, text, level, expects)
        for error in told["errors"]:
            assert 0 <= error["start"] <= error["end"] <= max(len(text), 1)


def test_bodies_that_are_none_are_refused_with_every_place(here: Office) -> None:
    answer = here.post("formulas/check", {"text": 7, "level": "roof", "expects": ["ft"], "more": 1})
    assert places(answer) == {
        "#/text": "not_text", "#/level": "unknown_choice", "#/expects": "not_text", "#/more": "unknown_field",
    }  # fmt: skip
    assert places(here.post("formulas/check", {})) == {"#/text": "required", "#/level": "required"}


def test_people_of_the_shop_check_in_the_shop_and_those_of_the_network_in_the_network(here: Office) -> None:
    for role in (ESTIMATOR, ANALYST):
        assert checked(here, "perimeter", role=role)["means_something"]
    network = f"/api/v1/networks/{here.shop.network.slug}"
    body = {"text": "perimeter", "level": "section"}
    assert here.post(f"{network}/formulas/check", body, role=NETWORK_MANAGER).json()["means_something"]
    assert problem(here.post(f"{network}/formulas/check", body), 404)
    measures = here.get(f"{network}/measures?limit=1", role=NETWORK_MANAGER)
    assert faults(measures, "list_network_measures") == []


def test_measures_are_listed_in_pages_with_their_definitions(here: Office) -> None:
    answer = here.get("measures?limit=200")
    assert faults(answer, "list_measures") == []
    everything = answer.json()["results"]
    slugs = [measure["slug"] for measure in everything]
    assert slugs == sorted(slugs)
    assert {"deck_area", "vent_count", "roof_kind", "indoor_bay"} <= set(slugs)
    seen: list[str] = []
    path = "measures?limit=40"
    while path:
        page = here.get(path).json()
        seen += [measure["slug"] for measure in page["results"]]
        path = page["next"]
    assert seen == slugs


def test_measures_of_a_quote_are_those_that_sections_make_one_of(here: Office) -> None:
    of_quote = {m["slug"]: m for m in here.get("measures?level=quote&limit=200").json()["results"]}
    assert "body_width" not in of_quote
    assert of_quote["deck_area"]["combined"] == "sum"
    (roof,) = here.get("measures?slug=roof_kind").json()["results"]
    assert (roof["kind"], roof["options"]) == ("choice", ["framed", "laminated", "metal"])
    assert problem(here.get("measures?level=roof"), 400)["code"] == "bad_parameter"
    assert problem(here.get("measures?limit=0"), 400)["code"] == "bad_parameter"
    assert problem(here.get("measures?cursor=WzFd"), 400)["code"] == "bad_cursor"
