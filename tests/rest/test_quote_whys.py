"""Why is this number what it is? Every line, amount, unit price, tier and allowance of a quote answers."""

from quotes.calc.why import AMOUNTS
from quotes.models import Quote
from quotes.reports.quotes import worked_again
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


def test_every_line_lands_on_what_is_stored(quoting: Quoting) -> None:
    for quote in (quoting.draft().json(), surveyed(quoting)):
        for line in quote["lines"]:
            told = why(quoting, f"quotes/{quote['id']}/lines/{line['position']}/why")
            assert told["value"] == told["stored"] == line["amount"]


def test_every_amount_lands_on_what_is_stored(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    for name in AMOUNTS:
        told = why(quoting, f"quotes/{quote['id']}/amounts/{name}/why")
        assert told["value"] == told["stored"] == quote["amounts"][name]


def test_every_unit_price_lands_on_what_is_stored(quoting: Quoting) -> None:
    quote = surveyed(quoting)
    for component in quote["hidden"]:
        told = why(quoting, f"quotes/{quote['id']}/components/{component['position']}/why")
        assert told["value"] == told["stored"] == component["unit_price"]


def test_the_tier_and_the_allowance_land_on_what_is_stored(quoting: Quoting) -> None:
    quote = surveyed(quoting)
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
    index = quoting.office.get(f"quotes/{quote['id']}/why").json()
    assert len(index["lines"]) == len(quote["lines"])
    assert len(index["components"]) == len(quote["hidden"])
    assert len(index["amounts"]) == len(AMOUNTS)
    for path in (index["lines"][0], index["amounts"][0], index["components"][0], index["tier"], index["allowance"]):
        assert quoting.office.get(path).status_code == 200


def test_what_is_not_there_is_not_explained(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    for path in ("lines/999/why", "components/999/why", "amounts/profit/why"):
        assert problem(quoting.office.get(f"quotes/{quote['id']}/{path}"), 404)["code"] == "not_found"


def test_an_older_engine_answers_from_what_was_stored_and_says_so(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    with quoting.office.scope():
        Quote.objects.for_shop(quoting.shop).filter(pk=quote["id"]).update(engine=0)
    told = quoting.office.get(f"quotes/{quote['id']}/amounts/limit/why").json()
    assert (told["exact"], told["value"]) == (False, quote["amounts"]["limit"])
    assert "older" in told["steps"][0]["text"]


def test_a_stored_quote_worked_again_gives_the_same_amounts(quoting: Quoting) -> None:
    for posted in (quoting.draft().json(), surveyed(quoting), quoting.posted(quoting.framed_body()).json()):
        with quoting.office.scope():
            quote = Quote.objects.for_shop(quoting.shop).select_related("cost_base").get(pk=posted["id"])
            totals = worked_again(quote).quote.totals
        for name in ("base", "allowance", "contingency", "limit", "base_with_tax", "limit_with_tax"):
            assert f"{getattr(totals, name):.2f}" == posted["amounts"][name]
