"""What is counted when the roof is open: told apart in the quote, with the price at which it is settled."""

from decimal import Decimal

from quotes.models import Quote
from tests.rest.office import problem
from tests.rest.quoting import MEASURES, Body, Quoting, entry, line_of


def work_of(quote: Body, slug: str) -> Body:
    (found,) = [work for work in quote["counted"] if work["assembly"] == slug]
    return dict(found)


def test_its_lines_keep_the_price_at_which_they_are_settled(quoting: Quoting) -> None:
    quote = quoting.office.get(quoting.draft()["Location"]).json()
    # Two braces: 1 h of set-up and 3 h of a fabricator at 150; 10 of 30 ft of flat bar for 213.84.
    labour = line_of(quote, "bracing-add", "fabricator")
    assert (labour["price_kind"], labour["amount"]) == ("counted", "600.00")
    assert labour["details"]["counted"] == {
        "quantity": "2.0000",
        "unit": "each",
        "unit_price": "225.000000",
        "set_up": "150.00",
    }
    bar = line_of(quote, "flat-bar-3-in")
    (brace, _) = bar["details"]["parts"]
    assert {name: value for name, value in brace.items() if name != "sections"} == {
        "assembly": "bracing-add",
        "net": "10.0000",
        "kind": "counted",
        "amount": "71.28",
        "counted": {"quantity": "2.0000", "unit": "each", "unit_price": "35.640000", "set_up": "0.00"},
    }
    assert "counted" not in line_of(quote, "skin-off", "helper")["details"]


def test_a_quote_says_what_each_counted_work_comes_to(quoting: Quoting) -> None:
    assert work_of(quoting.draft().json(), "bracing-add") == {
        "assembly": "bracing-add",
        "name": "Brace and frame a roof A/C opening",
        "quantity": "2.0000",
        "unit": "each",
        "unit_price": "529.230000",
        "set_up": "150.00",
        "amount": "1208.46",
    }


def test_firm_counted_and_options_are_summed(quoting: Quoting) -> None:
    asked = [*(dict(one) for one in MEASURES), entry("paint_job_count", 1)]
    quote = quoting.draft(measures=asked, options=["paint-match"]).json()
    kinds = quote["amounts_by_kind"]
    assert kinds["option"] == "1002.50"
    assert sum(map(Decimal, kinds.values())) == Decimal(quote["amounts"]["base"]) == Decimal("30914.77")
    assert sum(Decimal(work["amount"]) for work in quote["counted"]) == Decimal(kinds["counted"])
    by_line = {kind: {line["slug"] for line in quote["lines"] if line["price_kind"] == kind} for kind in ("option", "mixed")}
    assert by_line["option"] == {"paint-match", "paint-match-sublet"}
    assert "flat-bar-3-in" not in by_line["mixed"]


def test_every_unit_price_can_be_asked_about(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    paths = quoting.office.get(f"quotes/{quote['id']}/why").json()["counted"]
    below = quoting.office.url(f"quotes/{quote['id']}")
    assert paths == [f"{below}/counted/{work['assembly']}/why" for work in quote["counted"]]
    for path, work in zip(paths, quote["counted"], strict=True):
        told = quoting.office.get(path).json()
        assert told["exact"]
        assert told["value"] == told["stored"] == told["steps"][-1]["value"] == work["unit_price"]


def test_work_that_is_not_counted_is_not_explained_so(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    for slug in ("skin-off", "re-crown"):
        refused = quoting.office.get(f"quotes/{quote['id']}/counted/{slug}/why")
        assert problem(refused, 404)["code"] == "not_found"


def test_a_quote_from_before_says_nothing_of_kinds(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    with quoting.office.scope():
        row = Quote.objects.for_shop(quoting.shop).get(pk=quote["id"])
        del row.totals["amounts_by_kind"], row.totals["counted"]
        row.save(update_fields=["totals"])
    read = quoting.office.get(f"quotes/{quote['id']}").json()
    assert (read["amounts_by_kind"], read["counted"]) == (None, [])
    assert quoting.office.get(f"quotes/{quote['id']}/why").json()["counted"] == []
