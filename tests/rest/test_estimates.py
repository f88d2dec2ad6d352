"""Another party's estimate beside a quote, over the API."""

from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from quotes.models import EstimateDecision, SecondEstimate, SecondEstimateLine
from tests.rest import bodies
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Quoting, line_of
from tests.rest.test_quote_shapes import faults

RESEAL: Body = {"plan": "reseal", "measures": []}
SKIN_OFF = "labour/skin-off/technician"


def amount(value: str) -> Body:
    return {"amount": value, "currency": "USD"}


def line(value: str = "900.00", *ours: str, **changes: Any) -> Body:
    return {"description": "Remove the old skin", "amount": amount(value), "ours": list(ours), **changes}


def estimate(*lines: Body, **changes: Any) -> Body:
    return {"party": "insurer", "dated_on": "2026-02-20", "reference": "E 12", "lines": list(lines), **changes}


def enter(quoting: Quoting, quote: Body, *lines: Body, **changes: Any) -> Body:
    answer = quoting.office.post(f"quotes/{quote['id']}/estimates", estimate(*lines, **changes))
    assert answer.status_code == 201, answer.content.decode()
    document: Body = answer.json()
    return document


def differences(quoting: Quoting, entered: Body) -> Body:
    answer = quoting.office.get(f"quotes/{entered['quote']}/estimates/{entered['id']}/differences")
    assert answer.status_code == 200, answer.content.decode()
    document: Body = answer.json()
    added = sum((Decimal(each["amount"]) for each in document["differences"]), Decimal(0))
    assert added == Decimal(document["difference"]) == Decimal(document["our_total"]) - Decimal(document["their_total"])
    return document


def of_kind(found: Body, kind: str) -> list[Body]:
    return [each for each in found["differences"] if each["kind"] == kind]


class TestDifferences:
    def test_a_pair_is_taken_apart_into_quantity_and_price(self, quoting: Quoting) -> None:
        # The technician's line of skin off against one hour less at one dollar more than ours.
        quote = quoting.draft().json()
        ours = line_of(quote, "skin-off", "technician")
        hours, rate = Decimal(ours["quantity"]) - 1, Decimal(ours["price"]) + 1
        theirs = (hours * rate).quantize(Decimal("0.01"))
        entered = enter(
            quoting, quote, line(str(theirs), SKIN_OFF, quantity=str(hours), unit="hours", price=amount(str(rate)))
        )  # fmt: skip
        found = differences(quoting, entered)

        (quantity,), (price,) = of_kind(found, "quantity"), of_kind(found, "price")
        assert quantity["amount"] == str(Decimal(ours["price"]).quantize(Decimal("0.01")))
        assert quantity["counted"]["unit"] == "h"
        assert Decimal(quantity["counted"]["theirs"]) == hours
        assert Decimal(quantity["amount"]) + Decimal(price["amount"]) == Decimal(ours["amount"]) - theirs
        assert (found["our_total"], found["their_total"]) == (quote["amounts"]["base"], str(theirs))

    def test_labour_is_compared_by_what_it_covers_too(self, quoting: Quoting) -> None:
        # 9 square yards are 81 square feet, in which our driver is told.
        quote = quoting.draft().json()
        ours = line_of(quote, "skin-off", "technician")
        entered = enter(quoting, quote, line("900.00", SKIN_OFF, quantity="9", unit="sq yd"))
        (quantity,) = of_kind(differences(quoting, entered), "quantity")

        driver, _, unit = ours["details"]["driver"].partition(" ")
        assert (quantity["counted"]["unit"], quantity["counted"]["ours"]) == (unit, driver)
        assert quantity["counted"]["theirs"] == "81.0000"

    def test_packs_are_compared_by_what_is_in_them(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        packed = next(x for x in quote["lines"] if x["kind"] == "material" and x["unit"] != x["details"].get("unit", x["unit"]))
        unit, size = packed["details"]["unit"], Decimal(packed["details"]["pack_size"])
        ref = f"material/{packed['slug']}"
        entered = enter(quoting, quote, line(packed["amount"], ref, quantity="1", unit=unit))
        (quantity,) = of_kind(differences(quoting, entered), "quantity")

        assert quantity["counted"]["unit"] == unit
        assert Decimal(quantity["counted"]["ours"]) == Decimal(packed["quantity"]) * size

    def test_what_nobody_matched_is_in_one_of_them_only(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        found = differences(quoting, enter(quoting, quote, line("75.00", description="Disposal")))

        assert len(of_kind(found, "not-in-theirs")) == len(quote["lines"])
        (extra,) = of_kind(found, "not-in-ours")
        assert (extra["amount"], extra["theirs"], extra["state"]) == ("-75.00", ["1"], "open")

    def test_what_we_set_aside_and_they_charge_is_told_as_that(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        found = differences(quoting, enter(quoting, quote, line("240.00", "component/deck", description="Two deck sheets")))
        assert [each["amount"] for each in of_kind(found, "set-aside-in-ours")] == ["-240.00"]

    def test_taxes_are_compared_where_they_state_some(self, quoting: Quoting) -> None:
        quoting.own_edition(
            "rule", "standard", tax_mode="parts_and_labour", total_step="1", tax_rates=[{"name": "State", "rate": "0.0825"}]
        )
        quote = quoting.draft(**RESEAL).json()
        found = differences(quoting, enter(quoting, quote, line("100.00", tax=amount("8.25"))))

        assert found["with_tax"]
        assert found["our_total"] == quote["amounts"]["base_with_tax"]
        (tax,) = of_kind(found, "tax")
        assert Decimal(tax["amount"]) == Decimal(quote["amounts"]["base_tax"]) - Decimal("8.25")
        assert [each["amount"] for each in of_kind(found, "rounding")] == [quote["amounts"]["base_rounding"]]

    def test_the_estimator_writes_why_and_what_was_agreed(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        decisions = [
            {"difference": "not-in-ours:1", "state": "split", "reason": "Half each.", "kept": amount("-37.50")},
            {"difference": "not-in-ours:9", "state": "agreed-ours", "reason": "Gone."},
        ]
        found = differences(quoting, enter(quoting, quote, line("75.00"), decisions=decisions))

        (extra,) = of_kind(found, "not-in-ours")
        assert (extra["state"], extra["reason"], extra["kept"]) == ("split", "Half each.", "-37.50")
        # Theirs 75.00; -37.50 of the difference stays as ours, so 37.50 is agreed, and we give up 37.50 of it.
        assert (found["agreed"], found["given_up"]) == ("37.50", "-37.50")
        assert Decimal(found["open"]) == Decimal(quote["amounts"]["base"])
        assert found["warnings"] == ["not-in-ours:9 is no difference any more; what was written about it is kept"]

    def test_matches_hold_when_the_draft_is_priced_again_and_are_told_when_they_fit_nothing(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        entered = enter(quoting, quote, line("900.00", SKIN_OFF))
        quoting.office.change(f"quotes/{quote['id']}", quoting.body(**RESEAL), method="PUT")
        found = differences(quoting, entered)

        assert [each["theirs"] for each in of_kind(found, "not-in-ours")] == [["1"]]
        assert found["warnings"][0].startswith(f"their line 1 is matched to {SKIN_OFF}, which is not in this quote")


class TestEstimates:
    def test_it_stands_beside_an_issued_quote_and_changes_nothing_of_it(self, quoting: Quoting) -> None:
        quote = quoting.issued(**RESEAL)
        before = quoting.office.get(f"quotes/{quote['id']}")
        entered = enter(quoting, quote, line())
        quoting.office.change(f"quotes/{quote['id']}/estimates/{entered['id']}", estimate(line("1.00")), method="PUT")

        after = quoting.office.get(f"quotes/{quote['id']}")
        assert (after.json(), after["ETag"]) == (before.json(), before["ETag"])

    def test_matches_are_suggested_and_never_taken(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        hinted, by_words, matched = (
            line(assembly="skin-off"), line(description="Skin removal"), line("1.00", SKIN_OFF),
        )  # fmt: skip
        lines = enter(quoting, quote, hinted, by_words, matched)["lines"]

        assert {"line": SKIN_OFF, "name": "Skin or membrane off", "why": "same assembly", "score": 1.0} in lines[0][
            "suggestions"
        ]
        assert {each["why"] for each in lines[0]["suggestions"]} == {"same assembly"}
        assert all(0.2 <= each["score"] < 1 and each["why"] == "words in common" for each in lines[1]["suggestions"])
        assert lines[1]["suggestions"]
        assert lines[2]["suggestions"] == []
        assert [each["ours"] for each in lines] == [[], [], [SKIN_OFF]]

    def test_what_was_answered_can_be_sent_again(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        first = enter(
            quoting, quote, line(quantity="2.5", unit="h", price=amount("360.00"), number="7a"),
            decisions=[{"difference": "not-in-ours:7a", "state": "open", "reason": "asked"}], stated_total=amount("900.00"),
        )  # fmt: skip
        said = ("party", "customer", "reference", "dated_on", "stated_total", "note", "decisions")
        lines = [{name: value for name, value in each.items() if name != "suggestions"} for each in first["lines"]]
        lines[0]["price"] = amount("360.00")
        body = {**{name: first[name] for name in said}, "lines": lines}
        path = f"quotes/{quote['id']}/estimates/{first['id']}"
        answer = quoting.office.change(path, body, method="PUT")

        assert answer.status_code == 200, answer.content.decode()
        assert answer["ETag"] == '"v2"'
        assert answer.json() == {**first, "version": 2}

    def test_a_page_lists_them_newest_first(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        one = enter(quoting, quote, line("1.00"), line("2.00", tax=amount("0.10")))
        two = enter(quoting, quote, line("5.00"), party="other-shop")
        path = f"quotes/{quote['id']}/estimates"

        rows = quoting.office.get(path).json()["results"]
        assert [(row["id"], row["total"]["amount"], row["tax"]) for row in rows] == [
            (two["id"], "5.00", None), (one["id"], "3.00", amount("0.10")),
        ]  # fmt: skip
        assert [row["id"] for row in quoting.office.get(f"{path}?party=insurer").json()["results"]] == [one["id"]]
        assert places(quoting.office.get(f"{path}?party=bank"), 400) == {"party": "bad_parameter"}

    def test_the_same_request_enters_it_once(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        path, headers = f"quotes/{quote['id']}/estimates", {"Idempotency-Key": "once"}
        answers = [quoting.office.post(path, estimate(line()), headers=headers) for _ in range(2)]

        assert [answer.status_code for answer in answers] == [201, 201]
        assert answers[0].json() == answers[1].json()
        assert len(quoting.office.get(path).json()["results"]) == 1

    def test_a_version_is_compared_and_a_deletion_is_for_good(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        entered = enter(quoting, quote, line(), decisions=[{"difference": "tax", "state": "open"}])
        path = f"quotes/{quote['id']}/estimates/{entered['id']}"

        assert problem(quoting.office.ask("PUT", path, estimate(line())), 428)["code"] == "if_match_missing"
        stale = quoting.office.ask("DELETE", path, headers={"If-Match": '"v9"'})
        assert problem(stale, 412)["code"] == "version_mismatch"
        assert quoting.office.ask("DELETE", path, headers={"If-Match": '"v1"'}).status_code == 204
        problem(quoting.office.get(path), 404)
        with quoting.office.scope():
            for model in (SecondEstimate, SecondEstimateLine, EstimateDecision):
                assert not model.objects.for_shop(quoting.shop).exists()

    def test_a_draft_is_deleted_with_them(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        enter(quoting, quote, line())
        assert quoting.office.change(f"quotes/{quote['id']}", None, method="DELETE").status_code == 204
        with quoting.office.scope():
            assert not SecondEstimateLine.objects.for_shop(quoting.shop).exists()

    def test_the_history_tells_what_changed_and_names_no_reference(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        entered = enter(quoting, quote, line())
        path = f"quotes/{quote['id']}/estimates/{entered['id']}"
        decisions = [{"difference": "not-in-ours:1", "state": "agreed-theirs", "reason": "Right."}]
        quoting.office.change(path, estimate(line(), decisions=decisions), method="PUT")

        with quoting.office.scope():
            models: tuple[Any, ...] = (SecondEstimateLine, EstimateDecision, SecondEstimate)
            lines, decided, heads = (model.pgh_event_models["insert"].objects.for_shop(quoting.shop) for model in models)
            assert [event.pgh_label for event in lines] == ["insert"]
            assert [(event.pgh_label, event.state) for event in decided] == [("insert", "agreed-theirs")]
            assert not hasattr(heads.first(), "reference")


class TestRefusals:
    @pytest.mark.parametrize(
        ("body", "expected"),
        [
            (estimate(line(number="1"), line(number="1")), {"#/lines/1/number": "bad_estimate_line"}),
            (estimate(line(), line(number="1")), {"#/lines/1/number": "bad_estimate_line"}),
            (estimate(line("1.00", "skin-off")), {"#/lines/0/ours": "bad_reference"}),
            (estimate(line(quantity="-1")), {"#/lines/0/quantity": "not_a_quantity"}),
            (estimate(line(quantity="12345678")), {"#/lines/0/quantity": "not_a_quantity"}),
            (estimate(line(price=amount("1000000"))), {"#/lines/0/price": "bad_amount"}),
            (estimate(line("1.005")), {"#/lines/0/amount/amount": "amount_too_fine"}),
            (estimate(line("99999999999.00")), {"#/lines/0/amount": "bad_amount"}),
            (estimate(party="bank"), {"#/party": "unknown_choice"}),
            (estimate(dated_on="soon"), {"#/dated_on": "not_day"}),
            (estimate(name="Invented Owner"), {"#/name": "unknown_field"}),
            (estimate(decisions=[{"difference": "tax", "state": "split"}]), {"#/decisions/0/kept": "bad_decision"}),
            (estimate(decisions=[{"difference": "tax", "state": "open"}] * 2), {"#/decisions/1/difference": "bad_decision"}),
            (estimate(customer=2**63 - 1), {"#/customer": "other_shop"}),
        ],
    )
    def test_what_does_not_fit_is_refused_at_its_place(self, quoting: Quoting, body: Body, expected: dict[str, str]) -> None:
        quote = quoting.draft(**RESEAL).json()
        assert places(quoting.office.post(f"quotes/{quote['id']}/estimates", body)) == expected

    def test_customers_and_quotes_of_another_shop_are_not_there(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = quoting.draft(**RESEAL).json()
        entered = enter(quoting, quote, line())
        stranger = elsewhere.post("customers", bodies.customer()).json()["id"]
        answer = quoting.office.post(f"quotes/{quote['id']}/estimates", estimate(customer=stranger))
        assert places(answer) == {"#/customer": "other_shop"}

        for path in ("", f"/{entered['id']}", f"/{entered['id']}/differences"):
            problem(elsewhere.get(f"quotes/{quote['id']}/estimates{path}"), 404)
        problem(elsewhere.post(f"quotes/{quote['id']}/estimates", estimate()), 404)

    def test_an_estimate_is_found_beside_its_own_quote_only(self, quoting: Quoting) -> None:
        quote, other = quoting.draft(**RESEAL).json(), quoting.draft(**RESEAL).json()
        entered = enter(quoting, quote, line())
        problem(quoting.office.get(f"quotes/{other['id']}/estimates/{entered['id']}"), 404)
        problem(quoting.office.get(f"quotes/{other['id']}/estimates/{entered['id']}/differences"), 404)


class TestRoles:
    def test_estimator_and_manager_write_and_the_analyst_reads(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        path = f"quotes/{quote['id']}/estimates"
        for role in (ESTIMATOR, MANAGER):
            assert quoting.office.post(path, estimate(line()), role=role).status_code == 201
        assert problem(quoting.office.post(path, estimate(), role=ANALYST), 403)["code"] == "role_not_allowed"
        answer = quoting.office.get(path, role=ANALYST)
        assert len(answer.json()["results"]) == 2

    def test_a_networks_manager_is_told_nothing(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        quoting.shop.shares_learning = True
        quoting.shop.save(update_fields=["shares_learning"])
        answer = quoting.office.get(f"quotes/{quote['id']}/estimates", role=NETWORK_MANAGER)
        assert problem(answer, 403)["code"] == "role_not_allowed"


def test_answers_are_what_the_documentation_says(quoting: Quoting) -> None:
    quote, office = quoting.draft().json(), quoting.office
    full = line(
        "900.00", SKIN_OFF, quantity="9", unit="h", price=amount("100.00"), tax=amount("1.00"), phase="strip", note="as told"
    )
    decisions = [{"difference": "tax", "state": "split", "reason": "half", "kept": amount("-0.50")}]
    body = estimate(full, line(), decisions=decisions, stated_total=amount("1801.00"))
    posted = office.post(f"quotes/{quote['id']}/estimates", body)
    number, own = quote["id"], posted.json()["id"]

    assert not faults(posted, "create_estimate")
    assert not faults(office.get(f"quotes/{number}/estimates"), "list_estimates")
    assert not faults(office.get(f"quotes/{number}/estimates/{own}"), "get_estimate")
    assert not faults(office.get(f"quotes/{number}/estimates/{own}/differences"), "get_differences")
    assert not faults(office.change(f"quotes/{number}/estimates/{own}", body, method="PUT"), "save_estimate")
