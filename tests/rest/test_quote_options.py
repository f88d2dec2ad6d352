"""Options that the owner may tick: what each changes stands in the quote, and can be asked about."""

from decimal import Decimal

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, NETWORK_MANAGER
from costbase import snapshot as cost_base_snapshot
from costbase.models import Shop
from quotes import snapshot as quotes_snapshot
from quotes.actions.option_rows import offered_json
from quotes.calc.options import offered
from quotes.models import Quote
from quotes.reports.quotes import worked_again
from tests.rest.office import problem
from tests.rest.quoting import MEASURES, Body, Clock, Quoting, entry

ASKED = [*(dict(one) for one in MEASURES), entry("paint_job_count", 1), entry("solar_prep_count", 2)]


def offering(quoting: Quoting, *slugs: str) -> Body:
    quote: Body = quoting.draft(measures=ASKED, offered=list(slugs)).json()
    return quote


def test_a_quote_says_what_each_option_and_all_of_them_change(quoting: Quoting) -> None:
    quote = offering(quoting, "paint-match", "solar-prep")
    assert quote["amounts"]["base"] == "29912.27"
    paint, solar = quote["offered"]["options"]
    # 1 h at 125 and a match at 650 x 1.35; the deposit is 30 % of 30,914.77 less 30 % of 29,912.27.
    assert {name: paint[name] for name in ("options", "base", "limit", "limit_with_tax", "deposit", "cost")} == {
        "options": ["paint-match"],
        "base": "1002.50",
        "limit": "1002.50",
        "limit_with_tax": "1002.50",
        "deposit": "300.75",
        "cost": "710.00",
    }
    assert (paint["contingency"], paint["record"], paint["base_rounding"]) == ("0.00", "0.00", "0.00")
    assert paint["days"]["low"] == 0.125
    # 705 of labour and 142.56 + 83.70 + 199.80 of goods.
    assert solar["limit_with_tax"] == "1131.06"
    assert solar["cautions"] == ["Electrical work: local codes and licensed practice decide who may connect it."]
    together = quote["offered"]["together"]
    assert (together["options"], together["limit_with_tax"]) == (["paint-match", "solar-prep"], "2133.56")


def test_ticking_comes_to_what_was_said(quoting: Quoting) -> None:
    quote = offering(quoting, "solar-prep")
    sold = quoting.draft(measures=ASKED, options=["solar-prep"]).json()
    (solar,) = quote["offered"]["options"]
    for name in ("base", "limit", "limit_with_tax", "deposit", "cost"):
        assert Decimal(quote["amounts"][name]) + Decimal(solar[name]) == Decimal(sold["amounts"][name])


def test_a_quote_without_any_says_so(quoting: Quoting) -> None:
    assert quoting.draft().json()["offered"] == {"options": [], "together": None}


def test_a_quote_from_before_options_were_offered_says_none(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    with quoting.office.scope():
        row = Quote.objects.for_shop(quoting.shop).get(pk=quote["id"])
        del row.totals["offered"]
        row.save(update_fields=["totals"])
    assert quoting.office.get(f"quotes/{quote['id']}").json() == quote
    assert quoting.office.get(f"quotes/{quote['id']}/why").json()["options"] == []


def test_a_trial_shows_what_a_draft_keeps(quoting: Quoting) -> None:
    tried = quoting.tried(measures=ASKED, offered=["paint-match"])
    posted = quoting.draft(measures=ASKED, offered=["paint-match"])
    assert tried["offered"] == posted.json()["offered"] == quoting.office.get(posted["Location"]).json()["offered"]


def test_it_works_out_again_to_the_cent_from_what_was_kept(quoting: Quoting, clock: Clock) -> None:
    posted = offering(quoting, "paint-match", "solar-prep")
    quoting.own_edition("price", "paint-match-sublet", pack_price="999.00")
    quoting.own_edition("assembly", "solar-prep", name="Another")
    clock.turn(days=400)
    cost_base_snapshot.forget()
    quotes_snapshot.forget()
    with quoting.office.scope():
        quote = Quote.objects.for_shop(quoting.shop).get(pk=posted["id"])
        here = worked_again(quote)
    again = offered(here.inputs, here.cost_base, here.rules, here.factors, here.points, here.quote)
    assert offered_json(again) == quote.totals["offered"]


def test_a_newer_edition_of_an_offered_option_is_told_at_issue(quoting: Quoting) -> None:
    quote = offering(quoting, "paint-match")
    quoting.own_edition("assembly", "paint-match", name="Paint of ours")
    refused = problem(quoting.issue(quote["id"]), 409)
    assert [(newer["kind"], newer["slug"]) for newer in refused["newer"]] == [("assembly", "paint-match")]


class TestWhy:
    def test_every_answer_lands_on_what_is_stored(self, quoting: Quoting) -> None:
        quoting.own_edition(
            "rule",
            "standard",
            price_basis="open",
            overhead_share="0.08",
            supplies_share="0.03",
            tax_mode="separated",
            tax_rates=[{"name": "state", "rate": "0.0625"}, {"name": "city", "rate": "0.02"}],
            total_step="5",
            stock_billing="use",
        )
        quote = offering(quoting, "paint-match", "solar-prep")
        index = quoting.office.get(f"quotes/{quote['id']}/why").json()
        path = quoting.office.url(f"quotes/{quote['id']}/options")
        assert index["options"] == [f"{path}/paint-match/why", f"{path}/solar-prep/why", f"{path}/why"]
        found = [*quote["offered"]["options"], quote["offered"]["together"]]
        for address, ticked in zip(index["options"], found, strict=True):
            told = quoting.office.get(address).json()
            assert told["exact"]
            assert told["value"] == told["stored"] == told["steps"][-1]["value"] == ticked["limit_with_tax"]

    def test_an_option_that_is_not_offered_is_not_explained(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        for path in (f"quotes/{quote['id']}/options/why", f"quotes/{quote['id']}/options/paint-match/why"):
            assert problem(quoting.office.get(path), 404)["code"] == "not_found"

    def test_an_older_engine_answers_from_what_was_stored(self, quoting: Quoting) -> None:
        quote = offering(quoting, "paint-match")
        with quoting.office.scope():
            Quote.objects.for_shop(quoting.shop).filter(pk=quote["id"]).update(engine=0)
        for path in ("options/why", "options/paint-match/why"):
            told = quoting.office.get(f"quotes/{quote['id']}/{path}").json()
            assert (told["exact"], told["value"]) == (False, "1002.50")

    def test_an_estimator_reads_no_purchase_price_in_it(self, quoting: Quoting) -> None:
        quoting.own_edition("price", "paint-match-sublet", pack_price="637.13")
        quote = offering(quoting, "paint-match")
        path = f"quotes/{quote['id']}/options/paint-match/why"
        assert "637.13" in quoting.office.get(path, role=ANALYST).content.decode()
        assert "637.13" not in quoting.office.get(path, role=ESTIMATOR).content.decode()


class TestWho:
    @pytest.mark.parametrize("role", [ESTIMATOR, NETWORK_MANAGER])
    def test_what_an_option_costs_the_shop_is_for_managers_and_analysts(self, quoting: Quoting, role: str) -> None:
        quote = offering(quoting, "paint-match")
        Shop.objects.filter(pk=quoting.shop.pk).update(shares_learning=True)
        for reader in (role, ANALYST):
            shown = quoting.office.get(f"quotes/{quote['id']}", role=reader).json()["offered"]
            for ticked in (*shown["options"], shown["together"]):
                assert ("cost" in ticked) == (reader == ANALYST)
                assert {"cost" in line for line in ticked["lines"]} == {reader == ANALYST}
