"""The cost base of a network over the API, and what its shops make of it."""

import pytest
from django.db import connection

from api.accounts.roles import MANAGER, NETWORK_MANAGER
from costbase.models import NetworkEdition
from costbase.scope import network_scope, shop_scope
from tests import make
from tests.rest.costing import body, entered, for_network, got, listed, of_network
from tests.rest.office import Office, office, places, problem
from tests.rest.quoting import Clock, Quoting, contents_of, line_of
from tests.rest.test_openapi import faults


@pytest.fixture
def home(quoting: Quoting) -> Office:
    """A shop on the default cost base of its network, on 2 March 2026."""
    return quoting.office


def test_what_a_network_enters_holds_in_its_shops_that_have_none_of_their_own(quoting: Quoting) -> None:
    for_network(quoting.office, "rates", body("rate", "estimator", billed_per_hour="128.00"))
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "128.000000"
    entered(quoting.office, "rates", body("rate", "estimator", billed_per_hour="140.00"))
    assert line_of(quoting.tried(), "intake-survey", "estimator")["price"] == "140.000000"
    told = got(quoting.office, of_network(quoting.office, "rates/estimator"), role=NETWORK_MANAGER)
    assert (told["owner"], told["contents"]["billed_per_hour"]) == ("network", "128.00")


def test_a_networks_edition_is_replaced_and_withdrawn_until_it_is_used(quoting: Quoting, clock: Clock) -> None:
    here = quoting.office
    made = for_network(here, "rates", body("rate", "estimator", billed_per_hour="128.00"))
    path = of_network(here, f"rates/estimator/editions/{made['id']}")
    sent = {"contents": {**contents_of("rate", "estimator"), "billed_per_hour": "129.00"}}
    answer = here.ask("PUT", path, sent, role=NETWORK_MANAGER, headers={"If-Match": '"v1"'})
    assert faults(answer, "replace_network_edition") == []
    quoting.issued()
    assert got(here, path, role=NETWORK_MANAGER)["used"]
    for method in ("PUT", "DELETE"):
        refused = here.ask(method, path, sent if method == "PUT" else None, role=NETWORK_MANAGER, headers={"If-Match": '"v2"'})
        assert problem(refused, 409)["code"] == "edition_used"
    clock.turn(days=2)
    # Nothing is put in the place of what quotes were worked from, on days that are over.
    late = body("rate", "estimator", "2026-03-03", note="forgotten", billed_per_hour="131.00")
    assert places(here.post(of_network(here, "rates"), late, role=NETWORK_MANAGER), 409) == {"#/valid_from": "quoted_since"}
    for_network(here, "rates", body("rate", "estimator", "2026-03-04", billed_per_hour="131.00"))


def test_only_what_the_quote_read_is_used_and_the_history_names_no_shop(quoting: Quoting) -> None:
    here = quoting.office
    made = for_network(here, "rates", body("rate", "estimator", billed_per_hour="128.00"))
    idle = for_network(here, "rates", {**body("rate", "estimator"), "slug": "night-watch"})
    quoting.issued()
    for edition, used in ((made, True), (idle, False)):
        path = of_network(here, f"rates/{edition['slug']}/editions/{edition['id']}")
        assert got(here, path, role=NETWORK_MANAGER)["used"] is used
    marked, entered_ = listed(here, of_network(here, "rates/estimator/history"), role=NETWORK_MANAGER)[:2]
    assert (marked["role"], marked["person"], marked["after"]["used"]) == ("system", None, True)
    assert (entered_["role"], entered_["change"]) == (NETWORK_MANAGER, "insert")


def test_the_mark_reaches_no_other_network_and_is_set_in_a_shops_scope_only(home: Office, elsewhere: Office) -> None:
    there = Quoting(elsewhere)
    read = '[{"kind": "rate", "slug": "estimator", "valid_from": "2020-01-01"}]'

    def used(network_id: int) -> bool:
        with network_scope(network_id, make.OPERATOR):
            rows = NetworkEdition.objects.for_network(network_id).filter(kind="rate", slug="estimator")
            return bool(rows.get().used)

    with network_scope(home.shop.network_id, make.OPERATOR), connection.cursor() as cursor:
        cursor.execute("SELECT costbase_use_network_editions(%s::jsonb)", [read])
    assert not used(home.shop.network_id)
    with shop_scope(home.shop.pk, make.OPERATOR), connection.cursor() as cursor:
        cursor.execute("SELECT costbase_use_network_editions(%s::jsonb)", [read])
    assert used(home.shop.network_id)
    assert not used(there.shop.network_id)


def test_a_withdrawal_that_the_networks_own_work_cannot_do_without_is_refused(home: Office) -> None:
    (helper,) = listed(home, of_network(home, "rates?slug=helper"), role=NETWORK_MANAGER)
    path = of_network(home, f"rates/helper/editions/{helper['id']}")
    refused = problem(home.ask("DELETE", path, role=NETWORK_MANAGER, headers={"If-Match": '"v1"'}), 409)
    assert refused["code"] == "edition_needed"
    assert {"kind": "assembly", "slug": "interior-protection", "at": "labour/0/trade"}.items() <= refused["needed_by"][
        0
    ].items()
    assert all(need["detail"] == "no trade helper is in force" for need in refused["needed_by"])


def test_the_only_rule_table_or_severity_rules_cannot_go(home: Office) -> None:
    for path, kind, slug in (
        ("rules", "rule", "standard"),
        ("tiers", "tiers", "standard"),
        ("severity-rules", "severity", "severity"),
    ):
        (row,) = listed(home, of_network(home, path), role=NETWORK_MANAGER)
        address = of_network(home, f"{path}/{slug}/editions/{row['id']}")
        refused = problem(home.ask("DELETE", address, role=NETWORK_MANAGER, headers={"If-Match": '"v1"'}), 409)
        assert [(need["kind"], need["slug"]) for need in refused["needed_by"]] == [(kind, slug)]


def test_a_networks_page_shows_its_own_and_no_shops(home: Office) -> None:
    entered(home, "rates", {**body("rate", "estimator"), "slug": "night-watch"})
    answer = home.get(of_network(home, "rates?limit=200"), role=NETWORK_MANAGER)
    assert faults(answer, "list_network_editions") == []
    rows = answer.json()["results"]
    assert {row["owner"] for row in rows} == {"network"}
    assert "night-watch" not in {row["slug"] for row in rows}
    assert all(row["currency"] is None and row["contents"]["cost_per_hour"] for row in rows)
    sister = office(network=home.shop.network)
    assert problem(sister.get("rates/night-watch"), 404)


def test_nobody_of_a_shop_comes_into_its_network(home: Office) -> None:
    assert problem(home.get(of_network(home, "rates"), role=MANAGER), 404)
    assert problem(home.post(of_network(home, "rates"), body("rate", "estimator"), role=MANAGER), 404)
