"""What if editions in force lack something, fail on the roof, or are damaged? A problem that names them, never a guess."""

from typing import Any

import pytest

from costbase.models import NetworkEdition
from costbase.scope import network_scope
from quotes.models import FrozenCostBase, Quote
from tests import make
from tests.rest.office import problem
from tests.rest.quoting import Body, Quoting, contents_of, line_of


def refused(quoting: Quoting, body: Body | None = None) -> Body:
    """The problem of a quote, which is refused as a trial too and leaves no row."""
    asked = body or quoting.body()
    told = problem(quoting.office.post("quotes", asked), 422)
    assert problem(quoting.office.post("quotes/trial", asked), 422) == told
    # What is wrong stands in no member of the request.
    assert {fault["pointer"] for fault in told["errors"]} <= {"#", "#/plan"}
    with quoting.office.scope():
        assert not Quote.objects.for_shop(quoting.shop).exists()
        assert not FrozenCostBase.objects.for_shop(quoting.shop).exists()
    return told


def withdraw(quoting: Quoting, kind: str, slug: str) -> None:
    network = quoting.shop.network
    with network_scope(network.pk, make.OPERATOR):
        NetworkEdition.objects.for_network(network).filter(kind=kind, slug=slug).update(withdrawn_on="2026-01-01")


@pytest.mark.parametrize(
    ("kind", "slug", "code"),
    [
        ("rate", "helper", "no_rate"),
        ("price", "lauan-sheet-5-2-mm", "no_price"),
        ("material", "lauan-sheet-5-2-mm", "no_material"),
        ("assembly", "leak-test", "plan_refused"),
        ("plan", "full-rebuild", "not_in_force"),
        ("rule", "standard", "not_in_force"),
        ("tiers", "standard", "not_in_force"),
        ("severity", "severity", "not_in_force"),
    ],
)
def test_what_is_not_in_force_is_never_assumed(quoting: Quoting, kind: str, slug: str, code: str) -> None:
    withdraw(quoting, kind, slug)
    told = refused(quoting)
    assert told["code"] == code
    assert slug in told["detail"]


def test_a_repair_of_hidden_work_is_never_assumed(quoting: Quoting) -> None:
    # The plan takes the deck off, which shows the core, and nothing in force puts a core right.
    plan = contents_of("plan", "full-rebuild")
    quoting.own_edition("plan", "full-rebuild", assemblies=[slug for slug in plan["assemblies"] if slug != "foam-replace"])
    withdraw(quoting, "assembly", "foam-replace")
    told = refused(quoting)
    assert told["code"] == "no_repair"
    assert "foam-replace" in told["detail"]
    # Where nothing is opened, nothing has to be put right.
    assert quoting.draft(plan="reseal", measures=[]).status_code == 201


def test_a_markup_is_never_assumed(quoting: Quoting) -> None:
    quoting.own_edition("material", "lauan-sheet-5-2-mm", markup_class="boards")
    told = refused(quoting)
    assert told["code"] == "no_markup"
    assert "boards" in told["detail"]


class TestFormulasThatFail:
    """The sample coach has two air conditioners."""

    @pytest.mark.parametrize(
        ("changes", "place"),
        [
            ({"driver": "1 / (ac_count - 2)"}, "driver"),
            ({"applies": "1 / (ac_count - 2) > 1"}, "applies"),
            ({"labour": [{"trade": "technician", "rate": "1 * hour / (ac_count - 2)"}]}, "rate"),
            ({"elapsed": "1 * day / (ac_count - 2)"}, "elapsed"),
            ({"driver": "sqrt(1 - ac_count)"}, "driver"),
        ],
    )
    def test_the_assembly_and_its_formula_are_named(self, quoting: Quoting, changes: Body, place: str) -> None:
        quoting.network_edition("assembly", "leak-test", **changes)
        told = refused(quoting)
        assert told["code"] == "assembly_failed"
        assert "leak-test" in told["detail"]
        assert place in told["detail"]

    def test_one_of_another_plan_stops_nobody(self, quoting: Quoting) -> None:
        quoting.network_edition("assembly", "coating", driver="1 / (ac_count - 2)")
        assert quoting.draft().status_code == 201

    def test_a_hidden_component_is_named_too(self, quoting: Quoting) -> None:
        quoting.network_edition("component", "deck", exposure="1 * square_foot / (ac_count - 2)")
        told = refused(quoting)
        assert told["code"] == "assembly_failed"
        assert "deck" in told["detail"]

    def test_an_amount_that_no_quote_can_hold_is_refused(self, quoting: Quoting) -> None:
        quoting.network_edition("assembly", "leak-test", driver="10**4 * 10**4 * 10**4 * 10**4")
        assert refused(quoting)["code"] == "bad_amount"


DAMAGED: tuple[tuple[str, str, Body], ...] = (
    ("assembly", "leak-test", {"phase": "later", "crew": "many"}),
    ("assembly", "leak-test", {"driver": "1 +"}),
    ("assembly", "leak-test", {"driver": "roof_lenght"}),
    ("assembly", "leak-test", {"elapsed": "__import__('os')"}),
    ("assembly", "leak-test", {"labour": [{"trade": "technician", "rate": "9**9**9 * hour"}]}),
    ("component", "deck", {"exposure": "deck_area -"}),
    ("component", "deck", {"repairs": []}),
    ("rate", "helper", {"billed_per_hour": 95.0}),
    ("rate", "helper", {"cost_per_hour": "-1"}),
    ("price", "lauan-sheet-5-2-mm", {"pack_price": "0"}),
    ("material", "lauan-sheet-5-2-mm", {"unit": "furlong"}),
    ("plan", "full-rebuild", {"sets": {"roof_colour": 1.0}}),
    ("rule", "standard", {"tax_mode": "some"}),
    ("rule", "standard", {"confidence_level": 2}),
    ("tiers", "standard", {"chance_logit": {}}),
    ("condition", "no-bay", {"factor": "0"}),
    ("severity", "severity", {}),
    ("colour", "blue", {"shade": "dark"}),
)


@pytest.mark.parametrize(("kind", "slug", "changes"), DAMAGED, ids=str)
def test_a_damaged_edition_is_named(quoting: Quoting, kind: str, slug: str, changes: Body) -> None:
    quoting.own_edition(kind, slug, **changes)
    told = refused(quoting)
    assert told["code"] == "edition_unreadable"
    assert f"{kind} {slug}, shop's edition of 2026-01-01" in told["detail"]


@pytest.mark.parametrize("contents", [[], "text", 7, {}])
def test_contents_that_are_no_table_are_a_damaged_edition(quoting: Quoting, contents: Any) -> None:
    own = quoting.own_edition("rate", "helper")
    with quoting.office.scope():
        own.contents = contents
        own.save(update_fields=["contents"])
    assert refused(quoting)["code"] == "edition_unreadable"


def test_an_edition_that_is_corrected_is_used_at_once(quoting: Quoting) -> None:
    own = quoting.own_edition("rate", "estimator", billed_per_hour="a lot")
    refused(quoting)
    with quoting.office.scope():
        own.contents = {**own.contents, "billed_per_hour": "200.00"}
        own.save(update_fields=["contents"])
    assert line_of(quoting.draft().json(), "intake-survey", "estimator")["price"] == "200.000000"


@pytest.mark.parametrize(
    ("kind", "slug", "changes"),
    [
        ("material", "lauan-sheet-5-2-mm", {"pack_name": "sheet as it comes from the invented mill"}),
        ("material", "lauan-sheet-5-2-mm", {"pack_size": "0.000001"}),
        ("price", "lauan-sheet-5-2-mm", {"pack_price": "999999999.999999"}),
        ("rate", "helper", {"billed_per_hour": "999999999.999999"}),
        ("rule", "standard", {"markups": {"materials": "10"}, "overhead_share": "5", "minimum_charge": "1000000000"}),
        ("rule", "standard", {"price_basis": "open", "confidence_level": 0.99}),
        ("tiers", "standard", {"chance_logit": dict.fromkeys(("skin-deep", "local", "widespread", "frame"), 10)}),
        ("condition", "no-bay", {"follows": "wall_top_rot_length", "name": "x" * 120}),
        ("assembly", "leak-test", {"name": "x" * 120}),
    ],
    ids=str,
)
def test_whatever_an_edition_may_say_fits_into_the_tables(quoting: Quoting, kind: str, slug: str, changes: Body) -> None:
    quoting.own_edition(kind, slug, **changes)
    posted = quoting.draft()
    assert quoting.office.get(posted["Location"]).json() == posted.json()


def test_a_price_after_markup_that_the_tables_cannot_hold_is_refused(quoting: Quoting) -> None:
    # 999,999,999.999999 a pack and 1000 % on it is above the 10,000,000,000 that a price stays below.
    quoting.own_edition("rule", "standard", markups={"materials": "10"})
    quoting.own_edition("price", "lauan-sheet-5-2-mm", pack_price="999999999.999999")
    assert refused(quoting)["code"] == "bad_amount"
