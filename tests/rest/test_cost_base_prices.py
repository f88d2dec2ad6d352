"""Prices over the API: what a pack costs is for few, what it is billed at for all."""

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR, MANAGER, NETWORK_MANAGER
from tests.rest.costing import body, entered, for_network, got, listed, of_network
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Quoting, line_of
from tests.rest.test_openapi import faults


@pytest.fixture
def office(quoting: Quoting) -> Office:
    """A shop on the default cost base of its network, on 2 March 2026."""
    return quoting.office


def test_a_price_is_shown_as_it_is_billed(office: Office) -> None:
    entered(office, "prices", body("price", "ac-gasket-14-in", pack_price="30.00", freight="5.00"))
    # The markup of its class is 35 %: 30.00 x 1.35 = 40.50, a pack of one piece.
    expected = {"per_pack": "40.500000", "per_unit": "40.500000", "unit": "each", "pack_name": "piece"}
    for role in (ESTIMATOR, MANAGER, ANALYST):
        (row,) = listed(office, "prices?slug=ac-gasket", role=role)
        assert row["billed"] == expected
        assert row["contents"] == ({} if role == ESTIMATOR else {"pack_price": "30.00", "freight": "5.00"})
        answer = office.get("prices/ac-gasket-14-in", role=role)
        assert answer.json()["billed"] == expected
        assert faults(answer, "get_edition_in_force") == []


def test_a_price_of_a_large_pack_is_billed_by_the_unit_too(office: Office) -> None:
    entered(office, "materials", body("material", "ac-gasket-14-in", pack_size="7"))
    entered(office, "prices", body("price", "ac-gasket-14-in", pack_price="30.00"))
    # 40.50 / 7 = 5.785714 285..., rounded half up to 6 decimals.
    assert got(office, "prices/ac-gasket-14-in")["billed"]["per_unit"] == "5.785714"


def test_a_network_has_no_markup_of_its_own_to_show(office: Office) -> None:
    told = got(office, of_network(office, "prices/ac-gasket-14-in"), role=NETWORK_MANAGER)
    assert (told["contents"], told["currency"]) == ({"pack_price": "27.00"}, None)
    assert "billed" not in told


def test_a_price_needs_its_material(office: Office) -> None:
    refused = office.post("prices", {**body("price", "ac-gasket-14-in"), "slug": "no-such-thing"})
    assert places(refused) == {"#/contents/material": "unknown_reference"}


def test_a_price_that_an_assembly_needs_is_not_withdrawn(office: Office) -> None:
    material = {**body("material", "ac-gasket-14-in"), "slug": "odd-gasket"}
    entered(office, "materials", material)
    price = entered(office, "prices", {**body("price", "ac-gasket-14-in"), "slug": "odd-gasket"})
    entered(office, "assemblies", body("assembly", "ac-refit", materials=[{"material": "odd-gasket", "quantity": "ac_count"}]))
    refused = problem(office.change(f"prices/odd-gasket/editions/{price['id']}", None, method="DELETE"), 409)
    assert [(n["kind"], n["slug"], n["at"]) for n in refused["needed_by"]] == [("assembly", "ac-refit", "materials/0/material")]


def test_amounts_are_texts_within_their_range(office: Office) -> None:
    for wrong in (30, "30,00", "-1", "0", "1e3", "1" * 13, "1.1234567", None, ["1"]):
        sent = body("price", "ac-gasket-14-in", pack_price=wrong)
        assert places(office.post("prices", sent)) == {"#/contents/pack_price": "bad_contents"}, wrong


def test_a_price_of_the_network_reaches_its_shops(office: Office, quoting: Quoting) -> None:
    for_network(office, "prices", body("price", "ac-gasket-14-in", pack_price="30.00"))
    # Two air conditioners, two gaskets.
    line = line_of(quoting.tried(), "ac-gasket-14-in")
    assert line["price"] == "40.500000"


def test_freight_is_shown_to_those_who_see_cost_only(office: Office) -> None:
    entered(office, "prices", body("price", "ac-gasket-14-in", freight="5.00"))
    assert "freight" in got(office, "prices/ac-gasket-14-in", role=ANALYST)["contents"]
    assert got(office, "prices/ac-gasket-14-in", role=ESTIMATOR)["contents"] == {}
