"""Every kind of edition over the API: the same pattern, its own fields, filters and faults."""

from typing import Any

import pytest

from api.accounts.roles import ESTIMATOR, MANAGER, NETWORK_MANAGER
from api.rest.cost_base import EDITION_KINDS
from tests.rest.costing import body, entered, got, listed, of_network
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Quoting, contents_of
from tests.rest.test_openapi import faults

# A shipped edition of each kind.
SHIPPED = {
    "rates": "estimator",
    "materials": "ac-gasket-14-in",
    "prices": "ac-gasket-14-in",
    "assemblies": "ac-refit",
    "plans": "reseal",
    "conditions": "hot-roof",
    "rules": "standard",
    "components": "edge",
    "tiers": "standard",
    "severity-rules": "severity",
}
EVERY = pytest.mark.parametrize("path", SHIPPED)


@pytest.fixture
def office(quoting: Quoting) -> Office:
    """A shop on the default cost base of its network, on 2 March 2026."""
    return quoting.office


def shipped(office: Office, path: str) -> dict[str, Any]:
    """The body that enters the shipped edition as the shop's own."""
    row = got(office, f"{path}/{SHIPPED[path]}")
    return {"slug": row["slug"], "valid_from": "2026-03-02", "contents": row["contents"]}


def test_every_kind_is_here() -> None:
    assert set(SHIPPED) == set(EDITION_KINDS)


@EVERY
def test_an_edition_of_any_kind_is_entered_read_replaced_and_withdrawn(office: Office, path: str) -> None:
    slug, sent = SHIPPED[path], shipped(office, path)
    answer = office.post(path, sent)
    assert answer.status_code == 201, answer.content.decode()
    assert faults(answer, "enter_edition") == []
    own = answer.json()
    # What is entered is kept in its normal form, in which the shipped contents are but for sizes of the severity rules.
    assert own["contents"] == sent["contents"] or path == "severity-rules"
    assert own["contents"].keys() == sent["contents"].keys()
    assert (own["owner"], own["override"]) == ("shop", True)
    assert faults(office.get(path), "list_editions") == []
    assert faults(office.get(f"{path}/{slug}/editions"), "list_editions_of_slug") == []
    one = f"{path}/{slug}/editions/{own['id']}"
    replaced = office.change(one, {"contents": sent["contents"], "note": "said again"}, method="PUT")
    assert (replaced.status_code, replaced.json()["note"]) == (200, "said again")
    assert office.change(one, None, method="DELETE").status_code == 204
    assert got(office, f"{path}/{slug}")["owner"] == "network"
    assert [event["change"] for event in listed(office, f"{path}/{slug}/history")] == ["update", "update", "insert"]
    again = entered(office, f"{path}/{slug}/editions", {name: sent[name] for name in ("valid_from", "contents")})
    assert again["id"] == own["id"]
    follow = office.post(f"{path}/{slug}/follow-network", {"from": "2026-03-05"})
    assert follow.status_code == 201, follow.content.decode()
    assert got(office, f"{path}/{slug}?on=2026-03-05")["owner"] == "network"


@EVERY
def test_a_network_enters_any_kind(office: Office, path: str) -> None:
    sent = shipped(office, path)
    made = entered(office, of_network(office, path), sent, role=NETWORK_MANAGER)
    assert (made["owner"], made["contents"].keys(), made["currency"]) == ("network", sent["contents"].keys(), None)
    assert got(office, f"{path}/{SHIPPED[path]}")["valid_from"] == "2026-03-02"


HOSTILE: tuple[object, ...] = (
    None, True, -1, 10**30, 1e300, "", " ", "x" * 5000, "=1+1", "\n", "\u2028", "9**9**9", [], [[]], [None], {}, {"": ""},
    {"a": {"b": [1]}}, ["a", "a"], "1" * 400, "-0", "NaN", {"x" * 300: 1}, [{"trade": 1}], [{"name": "a", "rate": "b"}],
)  # fmt: skip


@EVERY
def test_whatever_stands_in_a_field_is_taken_or_refused_at_its_place(office: Office, path: str) -> None:
    sent, names = shipped(office, path), [field.name for field in EDITION_KINDS[path].fields]
    for value in HOSTILE:
        _taken_or_refused(office, path, {**sent, "contents": dict.fromkeys(names, value)})
    for name in names:
        for value in ("zz", {}, None):
            _taken_or_refused(office, path, {**sent, "contents": {**sent["contents"], name: value}})


def _taken_or_refused(office: Office, path: str, sent: dict[str, Any]) -> None:
    answer = office.post(path, sent)
    assert answer.status_code in (201, 422), f"{sent}: {answer.content[:300]!r}"
    if answer.status_code == 422:
        assert all(pointer.startswith("#/contents") for pointer in places(answer)), sent
    else:
        made = answer.json()
        taken_back = office.change(f"{path}/{made['slug']}/editions/{made['id']}", None, method="DELETE")
        assert taken_back.status_code == 204, sent


@EVERY
def test_a_body_of_another_shape_is_refused(office: Office, path: str) -> None:
    sent = shipped(office, path)
    shapes: list[Any] = [None, [], "x", 1, {}]
    shapes += [{**sent, name: value} for name in ("contents", "slug") for value in (None, ["a"])]
    for wrong in shapes:
        answer = office.post(path, wrong)
        assert 400 <= answer.status_code < 500, answer.content
    for slug in ("..", "a b", "é", "x" * 61, "-a", "A"):
        assert places(office.post(path, {**sent, "slug": slug})).keys() == {"#/slug"}, slug


@pytest.mark.parametrize("path", ["rules", "tiers", "severity-rules"])
def test_what_there_is_one_of_has_one_slug(office: Office, path: str) -> None:
    sent = {**shipped(office, path), "slug": "another"}
    assert places(office.post(path, sent)) == {"#/slug": "unknown_choice"}
    del sent["slug"]
    assert places(office.post(f"{path}/another/editions", sent)) == {"#/slug": "unknown_choice"}


def test_markups_of_the_rule_are_for_those_who_see_cost(office: Office) -> None:
    assert "markups" in got(office, "rules/standard", role=MANAGER)["contents"]
    told = got(office, "rules/standard", role=ESTIMATOR)["contents"]
    assert "markups" not in told
    assert told["validity_days"] == 30


@pytest.mark.parametrize(
    ("query", "holds"),
    [
        ("assemblies?phase=seal", lambda c: c["phase"] == "seal"),
        ("assemblies?kind=option", lambda c: c["kind"] == "option"),
        ("assemblies?level=quote", lambda c: c["level"] == "quote"),
        ("assemblies?skin=membrane", lambda c: c.get("skin") == "membrane"),
        ("assemblies?name=GUTTER", lambda c: "gutter" in c["name"].lower()),
        ("materials?supply=stock", lambda c: c["supply"] == "stock"),
        ("materials?markup_class=materials", lambda c: c["markup_class"] == "materials"),
        ("plans?opens=false", lambda c: not c["opens"]),
        ("plans?assembly=ac-refit", lambda c: "ac-refit" in c["assemblies"]),
        ("conditions?follows=over_silicone", lambda c: c.get("follows") == "over_silicone"),
        ("components?scaled_by=cells", lambda c: c.get("scaled_by") == "cells"),
    ],
)
def test_lists_are_narrowed_by_what_their_kind_has(office: Office, query: str, holds: Any) -> None:
    path = query.partition("?")[0]
    everything = [row["slug"] for row in listed(office, path) if holds(row["contents"])]
    found = [row["slug"] for row in listed(office, f"{query}&limit=3")]
    assert found == everything


class TestTogether:
    """What only shows beside the other editions."""

    def test_a_formula_is_told_at_its_place_with_its_span(self, office: Office) -> None:
        sent = body("assembly", "ac-refit", driver="ac_cuont", applies="deck_area", materials=[_need("no-gasket", "1")])
        answer = office.post("assemblies", sent)
        assert places(answer) == {
            "#/contents/applies": "formula_error",
            "#/contents/driver": "formula_error",
            "#/contents/materials/0/material": "unknown_reference",
        }
        details = {fault["pointer"]: fault["detail"] for fault in answer.json()["errors"]}
        assert details["#/contents/driver"] == "0-8: there is no measure ac_cuont: did you mean ac_count?"

    def test_what_may_be_right_is_entered_and_told(self, office: Office) -> None:
        need = _need("ac-gasket-14-in", "ceil(ac_count * plan_area / (plan_area * vent_count))")
        answer = office.post("assemblies", body("assembly", "ac-refit", level="section", materials=[need]))
        assert faults(answer, "enter_edition") == []
        (warning,) = [w for w in answer.json()["warnings"] if w["pointer"] == "#/contents/materials/0/quantity"]
        assert "can be zero" in warning["message"] or "can be 0" in warning["message"]
        assert got(office, "assemblies/ac-refit")["owner"] == "shop"

    def test_what_would_be_wrong_elsewhere_names_the_other_edition(self, office: Office) -> None:
        # Counted in feet, what an assembly needs by the piece no longer fits.
        answer = office.post("materials", body("material", "ac-gasket-14-in", unit="ft", whole=False))
        assert places(answer) == {"#/contents": "formula_error"}
        (fault,) = answer.json()["errors"]
        assert fault["detail"].startswith("assembly ac-refit at materials/0/quantity: ")

    def test_assemblies_do_not_wait_for_each_other(self, office: Office) -> None:
        # roof-access stands before ac-refit already.
        answer = office.post("assemblies", body("assembly", "roof-access", predecessors=["ac-refit"]))
        assert set(places(answer).values()) == {"predecessors_in_a_circle"}

    def test_a_component_keeps_its_column_to_itself(self, office: Office) -> None:
        taken = contents_of("component", "deck")["column"]
        answer = office.post("components", body("component", "edge", column=taken))
        assert "#/contents/column" in places(answer)

    def test_a_later_day_on_which_it_would_not_fit_is_found_too(self, office: Office) -> None:
        watch = {**body("rate", "estimator"), "slug": "night-watch"}
        entered(office, "rates", {**watch, "valid_from": "2026-05-01"})
        work = body("assembly", "intake-survey", "2026-04-01", labour=[{"trade": "night-watch", "rate": "3 * hour"}])
        # In April there is no night watch yet; in May there is.
        assert places(office.post("assemblies", work)) == {"#/contents/labour/0/trade": "unknown_reference"}
        entered(office, "assemblies", {**work, "valid_from": "2026-05-01"})
        # A material that becomes foot ware in June meets the assembly that needs it by the piece from May on.
        for day, unit in (("2026-03-02", "each"), ("2026-06-01", "ft")):
            odd = body("material", "ac-gasket-14-in", day, unit=unit, whole=False)
            entered(office, "materials", odd | _renamed("odd-gasket"))
        need = body("assembly", "ac-refit", "2026-05-01", materials=[_need("odd-gasket", "ac_count")])
        assert places(office.post("assemblies", need)) == {"#/contents/materials/0/quantity": "formula_error"}
        # If another edition of the assembly is in force by then, June is none of its business.
        entered(office, "assemblies", body("assembly", "ac-refit", "2026-06-01"))
        entered(office, "assemblies", need)

    def test_what_is_wrong_already_stands_in_nobodys_way(self, quoting: Quoting) -> None:
        # The network takes a trade away that the shop's own work names: told when it is priced, and not to whom enters a rate.
        quoting.own_edition("assembly", "intake-survey", labour=[{"trade": "gone", "rate": "3 * hour"}])
        entered(quoting.office, "rates", body("rate", "estimator", billed_per_hour="140.00"))
        refused = quoting.office.post(
            "assemblies", body("assembly", "intake-survey", labour=[{"trade": "gone", "rate": "1 * hour"}])
        )
        assert places(refused) == {"#/contents/labour/0/trade": "unknown_reference"}

    def test_a_withdrawal_looks_at_later_days_too(self, office: Office) -> None:
        watch = entered(office, "rates", {**body("rate", "estimator"), "slug": "night-watch"})
        work = body("assembly", "intake-survey", "2026-05-01", labour=[{"trade": "night-watch", "rate": "3 * hour"}])
        entered(office, "assemblies", work)
        path = f"rates/night-watch/editions/{watch['id']}"
        assert problem(office.change(path, None, method="DELETE"), 409)["code"] == "edition_needed"
        # Once another edition takes over before that day, the first one can go.
        entered(office, "rates", {**body("rate", "estimator", "2026-04-01"), "slug": "night-watch"})
        assert office.change(path, None, method="DELETE").status_code == 204

    def test_following_the_network_is_checked_like_an_edition(self, office: Office) -> None:
        entered(office, "materials", body("material", "ac-gasket-14-in", unit="ft", whole=False) | _renamed("odd-gasket"))
        entered(office, "assemblies", body("assembly", "ac-refit", materials=[_need("odd-gasket", "ac_count * foot")]))
        for_june = body("material", "ac-gasket-14-in", "2026-06-01")
        made = entered(office, of_network(office, "materials"), for_june | _renamed("odd-gasket"), role=NETWORK_MANAGER)
        assert made["contents"]["unit"] == "each"
        answer = office.post("materials/odd-gasket/follow-network", {"from": "2026-06-01"})
        assert places(answer) == {"#/contents": "formula_error"}


def _need(material: str, quantity: str) -> dict[str, str]:
    return {"material": material, "quantity": quantity}


def _renamed(slug: str) -> dict[str, str]:
    return {"slug": slug}
