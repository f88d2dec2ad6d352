"""Who pays for which part of a quote, over the API."""

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

import pytest
from django.db import IntegrityError, transaction

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from quotes.models import PayerRule, QuotePayer
from tests.rest import bodies
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Quoting, entry, line_of
from tests.rest.test_quote_shapes import faults

RESEAL: Body = {"plan": "reseal", "measures": []}


def company(office: Office, **changes: Any) -> int:
    answer = office.post("customers", bodies.customer(kind="company", name="Invented Mutual", authorisers=[], **changes))
    number: int = answer.json()["id"]
    return number


def insurer(**changes: Any) -> Body:
    return {"label": "insurer", "kind": "insurer", "claim_reference": "C 4711", **changes}


def rule(by: str, of: str, payer: str = "insurer", cause: str = "storm", **changes: Any) -> Body:
    return {"by": by, "of": of, "payer": payer, "cause": cause, **changes}


def amount(value: str) -> Body:
    return {"amount": value, "currency": "USD"}


def put(quoting: Quoting, quote_id: int, payers: list[Body], rules: list[Body], **kwargs: Any) -> Any:
    body = {"payers": payers, "rules": rules}
    return quoting.office.change(f"quotes/{quote_id}/payers", body, method="PUT", **kwargs)


def paper(answer: Body, label: str) -> Body:
    (found,) = [payer for payer in answer["payers"] if payer["label"] == label]
    return dict(found)


def saved(quoting: Quoting, quote_id: int, payers: list[Body], rules: list[Body]) -> Body:
    answer = put(quoting, quote_id, payers, rules)
    assert answer.status_code == 200, answer.content.decode()
    document: Body = answer.json()
    return document


def total(answer: Body, name: str) -> Decimal:
    return sum((Decimal(payer["amounts"][name]) for payer in answer["payers"]), Decimal(0))


def assert_adds_up(answer: Body, quote: Body) -> None:
    """Over the payers, every amount is the quote's."""
    of_quote = {"total": "base_with_tax"}
    for name in ("base", "total", "record", "contingency", "limit", "limit_with_tax"):
        assert total(answer, name) == Decimal(quote["amounts"][of_quote.get(name, name)]), name
        assert answer["together"][name] == quote["amounts"][of_quote.get(name, name)]
    assert total(answer, "tax") == Decimal(quote["amounts"]["base_tax"])
    assert total(answer, "limit_tax") == Decimal(quote["amounts"]["limit_tax"])
    assert all(Decimal(payer["amounts"]["total"]) >= 0 for payer in answer["payers"])


class TestPayers:
    def test_a_quote_is_its_owners_until_somebody_says_otherwise(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        answer = quoting.office.get(f"quotes/{quote['id']}/payers").json()

        (owner,) = answer["payers"]
        assert (owner["label"], owner["amounts"]["total"]) == ("owner", quote["amounts"]["base_with_tax"])
        assert {line["cause"] for line in owner["lines"]} == {"not-said"}
        assert_adds_up(answer, quote)

    def test_an_insurer_pays_for_what_the_rules_give_it_less_the_deductible(self, quoting: Quoting) -> None:
        # The shipped rule has neither tax nor lines of the shop: the insurer's part is the technician's line less 100.00.
        quote = quoting.draft().json()
        customer = company(quoting.office)
        payers = [insurer(customer=customer, deductible=amount("100.00"), terms={"days": 30, "words": "on completion"})]
        answer = saved(
            quoting, quote["id"], payers, [rule("assembly", "skin-off", trade="technician"), rule("component", "edge")]
        )

        found = paper(answer, "insurer")
        labour = line_of(quote, "skin-off", "technician")["amount"]
        assert [(line["slug"], line["amount"], line["cause"]) for line in found["lines"]] == [("skin-off", labour, "storm")]
        assert found["amounts"]["total"] == str(Decimal(labour) - 100)
        assert found["amounts"]["deductible"] == "-100.00"
        assert paper(answer, "owner")["amounts"]["deductible"] == "100.00"
        assert (found["customer"], found["claim_reference"], found["terms"]["days"]) == (customer, "C 4711", 30)
        assert [part["slug"] for part in found["hidden"]] == ["edge"]
        assert Decimal(found["amounts"]["contingency"]) > 0
        assert_adds_up(answer, quote)

    def test_goods_are_split_by_what_each_assembly_needs(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        shared = next(line for line in quote["lines"] if len(line["details"].get("parts", [])) > 1)
        assembly = shared["details"]["parts"][0]["assembly"]
        answer = saved(quoting, quote["id"], [insurer()], [rule("assembly", assembly)])

        (part,) = [line for line in paper(answer, "insurer")["lines"] if line["position"] == shared["position"]]
        nets = [Decimal(part["net"]) for part in shared["details"]["parts"]]
        expected = Decimal(shared["amount"]) * nets[0] / sum(nets)
        assert not part["whole"]
        assert abs(Decimal(part["amount"]) - expected) < Decimal("0.01")
        assert_adds_up(answer, quote)

    def test_a_section_is_split_off_by_the_share_of_the_work_in_it(self, quoting: Quoting) -> None:
        # Two sections of 17 ft each: half of what is worked out by section, and nothing of what belongs to the whole quote.
        halves = [
            bodies.section(label=label, length="17 ft", openings=[], attachments=[]) for label in ("front half", "rear half")
        ]
        coach = quoting.add_coach(bodies.coach(roof={"sections": halves, "joints": []}))
        body = quoting.body(coach=coach, survey=quoting.add_survey(coach), plan="skin-over-kept-deck", measures=[])
        quote = quoting.posted({**body, "skin": "membrane"}).json()
        answer = saved(quoting, quote["id"], [insurer()], [rule("section", "rear half")])

        line = line_of(quote, "skin-off", "technician")
        assert line["details"]["sections"] == [
            {"section": "front half", "share": "0.500000"}, {"section": "rear half", "share": "0.500000"},
        ]  # fmt: skip
        (part,) = [found for found in paper(answer, "insurer")["lines"] if found["position"] == line["position"]]
        assert abs(Decimal(part["quantity"]) * 2 - Decimal(line["quantity"])) <= Decimal("0.0001")
        assert_adds_up(answer, quote)

    def test_with_tax_supplies_and_rounding_it_still_adds_up(self, quoting: Quoting) -> None:
        quoting.own_edition(
            "rule", "standard", supplies_share="0.03", overhead_share="0.08", tax_mode="parts_only", total_step="1",
            tax_rates=[{"name": "State", "rate": "0.0825"}],
        )  # fmt: skip
        quote = quoting.draft().json()
        warranty = {"label": "warranty", "kind": "warranty", "deductible": amount("50.00")}
        rules = [rule("phase", "seal", "warranty", "earlier-repair"), rule("assembly", "skin-off"), rule("component", "deck")]
        answer = saved(quoting, quote["id"], [insurer(deductible=amount("1000.00")), warranty], rules)

        assert {line["slug"] for line in quote["lines"]} >= {"shop-supplies", "overhead"}
        assert all(Decimal(payer["amounts"]["tax"]) > 0 for payer in answer["payers"])
        assert_adds_up(answer, quote)

    def test_freight_is_whose_the_goods_are_that_it_brings(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        shared = next(line for line in quote["lines"] if len(line["details"].get("parts", [])) > 1)
        quoting.own_edition("price", shared["slug"], freight="200.00")
        quote = quoting.draft().json()
        answer = saved(quoting, quote["id"], [insurer()], [rule("assembly", shared["details"]["parts"][0]["assembly"])])

        nets = [Decimal(part["net"]) for part in shared["details"]["parts"]]
        freight = line_of(quote, f"freight:{shared['slug']}")
        (part,) = [line for line in paper(answer, "insurer")["lines"] if line["slug"] == freight["slug"]]
        assert abs(Decimal(part["amount"]) - Decimal(freight["amount"]) * nets[0] / sum(nets)) < Decimal("0.01")
        assert_adds_up(answer, quote)

    def test_rules_hold_when_the_draft_is_priced_again_and_are_told_when_they_speak_of_nothing(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        saved(quoting, quote["id"], [insurer(customer=company(quoting.office))], [rule("assembly", "skin-off")])
        quoting.office.change(f"quotes/{quote['id']}", quoting.body(**RESEAL), method="PUT")
        answer = quoting.office.get(f"quotes/{quote['id']}/payers").json()

        assert [(rule["by"], rule["of"]) for rule in answer["rules"]] == [("assembly", "skin-off")]
        words = "rule 1 (assembly skin-off) speaks of nothing in this quote; it is kept, and gives nothing"
        assert answer["warnings"] == [words]
        assert paper(answer, "insurer")["amounts"]["total"] == "0.00"

    def test_a_payer_without_a_customer_is_told(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        answer = saved(quoting, quote["id"], [insurer()], [rule("everything", "")])
        assert answer["warnings"] == ["payer insurer names no customer yet"]

    def test_what_was_answered_can_be_sent_again(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        first = saved(quoting, quote["id"], [insurer(deductible=amount("5.00"))], [rule("everything", "", note="hail of May")])
        said = ("label", "kind", "customer", "claim_reference", "purchase_order", "terms", "deductible")
        payers = [{name: payer[name] for name in said} for payer in first["payers"]]
        assert saved(quoting, quote["id"], payers, first["rules"]) == first


class TestVersions:
    def test_the_quotes_version_is_compared_and_raised(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        path = f"quotes/{quote['id']}/payers"
        body: Body = {"payers": [], "rules": []}

        assert problem(quoting.office.ask("PUT", path, body), 428)["code"] == "if_match_missing"
        answer = quoting.office.ask("PUT", path, body, headers={"If-Match": '"v1"'})
        assert answer["ETag"] == '"v2"' == quoting.office.get(f"quotes/{quote['id']}")["ETag"]
        assert problem(quoting.office.ask("PUT", path, body, headers={"If-Match": '"v1"'}), 412)["code"] == "version_mismatch"
        assert quoting.office.get(path, headers={"If-None-Match": '"v2"'}).status_code == 304

    def test_an_issued_quote_keeps_its_payers(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        before = saved(quoting, quote["id"], [insurer()], [rule("everything", "")])
        assert quoting.issue(quote["id"]).status_code == 200

        assert problem(put(quoting, quote["id"], [], []), 409)["code"] == "quote_state"
        after = quoting.office.get(f"quotes/{quote['id']}/payers").json()
        assert after == {**before, "state": "issued"}

    @pytest.mark.parametrize("model", [QuotePayer, PayerRule])
    def test_the_database_holds_that(self, quoting: Quoting, model: Any) -> None:
        quote = quoting.draft(**RESEAL).json()
        saved(quoting, quote["id"], [insurer()], [rule("everything", "")])
        quoting.issue(quote["id"])

        def again(rows: Any) -> None:
            row = rows.first()
            row.pk, row.position, row.label = None, 9, "another"
            row.save(force_insert=True)

        for write in (lambda rows: rows.delete(), again):
            with quoting.office.scope(), pytest.raises(IntegrityError, match="stay as they are"), transaction.atomic():
                write(model.objects.for_shop(quoting.shop).filter(quote_id=quote["id"]))

    def test_a_revision_takes_them_over_and_may_change_them(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        saved(quoting, quote["id"], [insurer(purchase_order="PO 9")], [rule("everything", "")])
        issued = quoting.issue(quote["id"]).json()
        revision = quoting.revise(issued).json()

        taken = quoting.office.get(f"quotes/{revision['id']}/payers").json()
        assert (paper(taken, "insurer")["purchase_order"], taken["rules"][0]["by"]) == ("PO 9", "everything")
        saved(quoting, revision["id"], [], [])
        assert len(quoting.office.get(f"quotes/{quote['id']}/payers").json()["payers"]) == 2

    def test_a_draft_is_deleted_with_them(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        saved(quoting, quote["id"], [insurer()], [rule("everything", "")])

        assert quoting.office.change(f"quotes/{quote['id']}", None, method="DELETE").status_code == 204
        with quoting.office.scope():
            assert not QuotePayer.objects.for_shop(quoting.shop).exists()
            assert not PayerRule.objects.for_shop(quoting.shop).exists()


class TestRefusals:
    @pytest.mark.parametrize(
        ("payers", "rules", "faults"),
        [
            ([insurer(), insurer()], [], {"#/payers/1/label": "bad_payer"}),
            ([insurer(label="owner")], [], {"#/payers/0/label": "bad_payer"}),
            ([insurer(kind="fleet", deductible=amount("1.00"))], [], {"#/payers/0/deductible": "bad_payer"}),
            ([insurer(deductible=amount("1.005"))], [], {"#/payers/0/deductible/amount": "amount_too_fine"}),
            ([insurer(kind="bank")], [], {"#/payers/0/kind": "unknown_choice"}),
            ([insurer(terms={"days": 900})], [], {"#/payers/0/terms/days": "max_value"}),
            ([insurer(phone="555 0100")], [], {"#/payers/0/phone": "unknown_field"}),
            ([], [rule("assembly", "skin-off")], {"#/rules/0/payer": "bad_payer"}),
            ([insurer()], [rule("everything", "all")], {"#/rules/0/of": "bad_payer"}),
            ([insurer()], [rule("assembly", "skin-off", cause="moths")], {"#/rules/0/cause": "unknown_choice"}),
            ([insurer()] * 11, [], {"#/payers": "max_length"}),
        ],
    )
    def test_what_does_not_fit_is_refused_at_its_place(
        self, quoting: Quoting, payers: list[Body], rules: list[Body], faults: dict[str, str]
    ) -> None:
        quote = quoting.draft(**RESEAL).json()
        assert places(put(quoting, quote["id"], payers, rules)) == faults

    def test_a_customer_of_another_shop_is_refused(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = quoting.draft(**RESEAL).json()
        for stranger in (company(elsewhere), 2**63 - 1):
            answer = put(quoting, quote["id"], [insurer(customer=stranger)], [])
            assert places(answer) == {"#/payers/0/customer": "other_shop"}

    def test_a_customer_that_is_erased_later_may_stay(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        gone = company(quoting.office)
        saved(quoting, quote["id"], [insurer(customer=gone)], [])
        tag = quoting.office.get(f"customers/{gone}")["ETag"]
        assert quoting.office.post(f"customers/{gone}/erasure", {}, headers={"If-Match": tag}).status_code == 200

        saved(quoting, quote["id"], [insurer(customer=gone)], [rule("everything", "")])
        other = quoting.draft(**RESEAL).json()
        answer = put(quoting, other["id"], [insurer(customer=gone)], [])
        assert places(answer) == {"#/payers/0/customer": "other_shop"}

    def test_a_quote_of_another_shop_is_not_there(self, quoting: Quoting, elsewhere: Office) -> None:
        quote = quoting.draft(**RESEAL).json()
        saved(quoting, quote["id"], [insurer()], [])
        for path in ("payers", "payers/1/why", "payers/1/amounts/total/why"):
            assert problem(elsewhere.get(f"quotes/{quote['id']}/{path}"), 404)["code"] == "not_found"
        answer = elsewhere.ask("PUT", f"quotes/{quote['id']}/payers", {}, headers={"If-Match": "*"})
        assert problem(answer, 404)["code"] == "not_found"


def members(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for name, below in value.items():
            yield name
            yield from members(below)
    elif isinstance(value, list):
        for below in value:
            yield from members(below)


class TestRoles:
    def test_estimator_and_manager_write_and_the_analyst_reads(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        for role in (ESTIMATOR, MANAGER):
            assert put(quoting, quote["id"], [insurer()], [], role=role).status_code == 200
        assert problem(put(quoting, quote["id"], [], [], role=ANALYST), 403)["code"] == "role_not_allowed"
        answers = [
            quoting.office.get(f"quotes/{quote['id']}/{path}", role=role)
            for path in ("payers", "payers/1/why")
            for role in (ESTIMATOR, MANAGER, ANALYST)
        ]
        for answer in answers:
            assert answer.status_code == 200
            assert not {"cost", "margin", "pack_price", "markup", "name_of_customer", "contacts"} & set(members(answer.json()))

    def test_a_networks_manager_is_told_nothing(self, quoting: Quoting) -> None:
        quote = quoting.draft(**RESEAL).json()
        quoting.shop.shares_learning = True
        quoting.shop.save(update_fields=["shares_learning"])
        answer = quoting.office.get(f"quotes/{quote['id']}/payers", role=NETWORK_MANAGER)
        assert problem(answer, 403)["code"] == "role_not_allowed"


class TestWhy:
    def test_the_steps_come_to_what_the_paper_says(self, quoting: Quoting) -> None:
        quote = quoting.draft().json()
        rules = [rule("assembly", "skin-off"), rule("component", "deck")]
        answer = saved(quoting, quote["id"], [insurer(deductible=amount("100.00"))], rules)

        for payer in answer["payers"]:
            below = f"quotes/{quote['id']}/payers/{payer['position']}"
            for path, name in (("why", "total"), ("amounts/limit_with_tax/why", "limit_with_tax")):
                why = quoting.office.get(f"{below}/{path}").json()
                assert why["value"] == payer["amounts"][name]
                adding = [Decimal(step["value"]) for step in why["steps"] if step["adds"]]
                assert sum(adding, Decimal(0)) == Decimal(why["value"])

    @pytest.mark.parametrize("path", ["0/why", "2/why", "1/amounts/cost/why"])
    def test_there_is_no_reason_for_what_is_not_there(self, quoting: Quoting, path: str) -> None:
        quote = quoting.draft(**RESEAL).json()
        problem(quoting.office.get(f"quotes/{quote['id']}/payers/{path}"), 404)


def test_answers_are_what_the_documentation_says(quoting: Quoting) -> None:
    quote = quoting.draft(measures=[entry("dry_days", "3 day")]).json()
    put_answer = put(quoting, quote["id"], [insurer(deductible=amount("9.00"))], [rule("section", "main")])
    number, office = quote["id"], quoting.office
    assert not faults(put_answer, "save_payers")
    assert not faults(office.get(f"quotes/{number}/payers"), "get_payers")
    assert not faults(office.get(f"quotes/{number}/payers/2/why"), "why_payer")
    assert not faults(office.get(f"quotes/{number}/payers/2/amounts/total/why"), "why_payer_amount")
    assert not faults(quoting.office.get(f"quotes/{quote['id']}"), "get_quote")


def test_every_change_is_remembered_without_the_claim_number(quoting: Quoting) -> None:
    quote = quoting.draft(**RESEAL).json()
    saved(quoting, quote["id"], [insurer()], [rule("everything", "")])
    saved(quoting, quote["id"], [], [])

    with quoting.office.scope():
        events = QuotePayer.pgh_event_models["insert"].objects.for_shop(quoting.shop).order_by("pgh_id")  # type: ignore[attr-defined]
        assert [(event.pgh_label, event.kind) for event in events] == [("insert", "insurer"), ("delete", "insurer")]
        assert not hasattr(events[0], "claim_reference")
