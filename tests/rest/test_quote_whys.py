"""Why is this number what it is? Every line, amount, unit price, tier and allowance of a quote answers."""

from collections.abc import Callable

import pytest

from api.rest.quote_shapes import AmountsShape
from quotes.calc.why import AMOUNTS
from quotes.models import Quote
from tests.rest import bodies
from tests.rest.office import problem
from tests.rest.quoting import Body, Quoting


def why(quoting: Quoting, path: str) -> Body:
    answer = quoting.office.get(path)
    assert answer.status_code == 200, answer.content.decode()
    told: Body = answer.json()
    assert told["exact"]
    assert told["steps"]
    assert all(step["text"] and (step["value"] or step["source"]) for step in told["steps"])
    return told


def surveyed(quoting: Quoting) -> Body:
    marks = {"cells": [bodies.cell("3D", "rotten"), bodies.cell("4D", "damp"), bodies.cell("1A", "sound")]}
    survey = quoting.add_survey(quoting.coach, **marks)
    quote: Body = quoting.draft(survey=survey, plan="skin-over-kept-deck", measures=[]).json()
    return quote


def open_and_taxed(quoting: Quoting) -> Body:
    """Time and materials to a limit, with every line of the shop, taxes and a rounded total."""
    quoting.own_edition(
        "rule",
        "standard",
        price_basis="open",
        overhead_share="0.08",
        supplies_share="0.03",
        supplies_cap="60",
        minimum_charge="90000",
        tax_mode="separated",
        tax_rates=[{"name": "state", "rate": "0.0625"}, {"name": "city", "rate": "0.02"}],
        total_step="5",
        stock_billing="use",
    )
    held = [{"condition": slug, "reason": "It is so."} for slug in ("no-bay", "hot-roof", "first-of-kind")]
    quote: Body = quoting.draft(conditions=held, tier={"tier": "frame", "reason": "Seen from inside."}).json()
    return quote


MAKERS = (lambda quoting: quoting.draft().json(), surveyed, open_and_taxed)


@pytest.mark.parametrize("make", MAKERS)
def test_every_line_lands_on_what_is_stored(quoting: Quoting, make: Callable[[Quoting], Body]) -> None:
    quote = make(quoting)
    for line in quote["lines"]:
        told = why(quoting, f"quotes/{quote['id']}/lines/{line['position']}/why")
        assert told["value"] == told["stored"] == line["amount"]


@pytest.mark.parametrize("make", MAKERS)
def test_every_amount_lands_on_what_is_stored(quoting: Quoting, make: Callable[[Quoting], Body]) -> None:
    quote = make(quoting)
    for name in AMOUNTS:
        told = why(quoting, f"quotes/{quote['id']}/amounts/{name}/why")
        assert told["value"] == told["stored"] == quote["amounts"][name]


def test_every_amount_that_an_owner_is_told_can_be_asked_about() -> None:
    # Set aside is asked about as a whole (why-allowance); what it costs is the shop's own, and stands on every line.
    assert {*AmountsShape().fields} - {*AMOUNTS} == {"allowance", "cost", "margin"}


@pytest.mark.parametrize("make", MAKERS)
def test_every_unit_price_lands_on_what_is_stored(quoting: Quoting, make: Callable[[Quoting], Body]) -> None:
    quote = make(quoting)
    for component in quote["hidden"]:
        told = why(quoting, f"quotes/{quote['id']}/components/{component['position']}/why")
        assert told["value"] == told["stored"] == component["unit_price"]


@pytest.mark.parametrize("make", MAKERS)
def test_the_tier_and_the_allowance_land_on_what_is_stored(quoting: Quoting, make: Callable[[Quoting], Body]) -> None:
    quote = make(quoting)
    tier = why(quoting, f"quotes/{quote['id']}/tier/why")
    assert tier["value"] == tier["stored"] == quote["roof_tier"]
    allowance = why(quoting, f"quotes/{quote['id']}/why-allowance")
    assert allowance["value"] == allowance["stored"] == quote["amounts"]["allowance"]


def test_a_person_can_follow_why_the_deck_is_nine_sheets(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    sheets = next(line for line in quote["lines"] if line["slug"] == "lauan-sheet-5-2-mm")
    steps = why(quoting, f"quotes/{quote['id']}/lines/{sheets['position']}/why")["steps"]
    told = [(step["text"].split(" = ")[0], step["value"], step["unit"]) for step in steps]
    # 34 ft of roof in courses of 4 ft are 9; the arc of 88.07 in takes one sheet of 8 ft across; 1 x 9 = 9.
    assert ("deck_courses", "9", "each") in told
    assert ("sheets_across", "1", "each") in told
    assert ("deck_sheets", "9", "each") in told
    assert any(step["source"] == "price lauan-sheet-5-2-mm, network's edition of 2020-01-01" for step in steps)


def test_the_index_names_every_question(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    path = quoting.office.url(f"quotes/{quote['id']}")
    assert quoting.office.get(f"quotes/{quote['id']}/why").json() == {
        "lines": [f"{path}/lines/{line['position']}/why" for line in quote["lines"]],
        "amounts": [f"{path}/amounts/{name}/why" for name in AMOUNTS],
        "components": [f"{path}/components/{part['position']}/why" for part in quote["hidden"]],
        "counted": [f"{path}/counted/{work['assembly']}/why" for work in quote["counted"]],
        "options": [],
        "tier": f"{path}/tier/why",
        "allowance": f"{path}/why-allowance",
    }


def test_what_is_not_there_is_not_explained(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    for path in ("lines/999/why", "components/999/why", "amounts/profit/why"):
        assert problem(quoting.office.get(f"quotes/{quote['id']}/{path}"), 404)["code"] == "not_found"


def test_an_older_engine_answers_from_what_was_stored_and_says_so(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    with quoting.office.scope():
        Quote.objects.for_shop(quoting.shop).filter(pk=quote["id"]).update(engine=0)
    stored = {
        "lines/1/why": quote["lines"][0]["amount"],
        "amounts/limit/why": quote["amounts"]["limit"],
        "components/1/why": quote["hidden"][0]["unit_price"],
        "tier/why": quote["roof_tier"],
        "why-allowance": quote["amounts"]["allowance"],
    }
    for path, value in stored.items():
        told = quoting.office.get(f"quotes/{quote['id']}/{path}").json()
        assert (told["exact"], told["value"], told["stored"]) == (False, value, value)
        (step,) = told["steps"]
        assert "older" in step["text"]
        assert step["source"] == "engine 0"
