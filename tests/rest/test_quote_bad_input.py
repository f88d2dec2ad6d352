"""What a request for a quote may not say: each a problem with a code, a place and words; nothing is half written."""

from typing import Any

import pytest

from quotes.models import FrozenCostBase, Quote, QuoteComponent, QuoteCounter, QuoteLine
from tests.rest import bodies
from tests.rest.office import places, problem
from tests.rest.quoting import Body, Quoting, entry

HUGE = "9" * 400


def rows(quoting: Quoting) -> list[int]:
    with quoting.office.scope():
        tables = (Quote, QuoteLine, QuoteComponent, QuoteCounter, FrozenCostBase)
        return [table.objects.for_shop(quoting.shop).count() for table in tables]


def refused(quoting: Quoting, changes: Body) -> dict[str, str]:
    """The faults of a body; a draft and a trial are refused alike and nothing is written."""
    before = rows(quoting)
    tried = places(quoting.office.post("quotes/trial", quoting.body(**changes)))
    assert places(quoting.office.post("quotes", quoting.body(**changes))) == tried
    assert rows(quoting) == before
    return tried


@pytest.mark.parametrize(
    ("changes", "expected"),
    [
        ({"coach": 0}, {"#/coach": "min_value"}),
        ({"coach": "7"}, {"#/coach": "not_whole"}),
        ({"coach": 987654}, {"#/survey": "survey_of_another_coach"}),
        ({"survey": 987654}, {"#/survey": "other_shop"}),
        ({"plan": "Full Rebuild"}, {"#/plan": "bad_slug"}),
        ({"plan": "new-roof"}, {"#/plan": "not_in_force"}),
        ({"skin": "slate"}, {"#/skin": "unknown_choice"}),
        ({"colour": "blue"}, {"#/colour": "unknown_field"}),
        ({"options": "coating"}, {"#/options": "not_a_list"}),
        ({"options": ["no-such-work"]}, {"#/options/0": "plan_refused"}),
        ({"options": ["deck-bond"]}, {"#/options/0": "plan_refused"}),
        ({"options": ["paint-match"]}, {"#/options": "plan_refused"}),
        ({"conditions": [{"condition": "full-moon", "reason": "tonight"}]}, {"#/conditions/0/condition": "condition_conflict"}),
        ({"conditions": [{"condition": "no-bay"}]}, {"#/conditions/0/reason": "required"}),
        ({"measures": [entry("roof_colour", 1)]}, {"#/measures/0/measure": "unknown_measure"}),
        ({"measures": [entry("roof_length", "30 ft")]}, {"#/measures/0/measure": "bad_entry"}),
        ({"measures": [entry("brace_count", 1.5)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", -1)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", 10**9)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("splinter_share", 40)]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("wall_top_rot_length", "6 ft2")]}, {"#/measures/0/value": "wrong_dimension"}),
        ({"measures": [entry("wall_top_rot_length", 6)]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "-6 ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "9**9**9 ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "1e400 ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", "NaN ft")]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", HUGE)]}, {"#/measures/0/value": "bad_quantity"}),
        ({"measures": [entry("wall_top_rot_length", None)]}, {"#/measures/0/value": "null"}),
        ({"measures": [entry("indoor_bay", "yes")]}, {"#/measures/0/value": "bad_measure"}),
        ({"measures": [entry("brace_count", 1, section="attic")]}, {"#/measures/0/section": "bad_entry"}),
        ({"measures": [entry("indoor_bay", True, section="main")]}, {"#/measures/0/section": "bad_entry"}),
        ({"tier": {"tier": "terrible", "reason": "It looks bad to me."}}, {"#/tier/tier": "unknown_choice"}),
        ({"tier": {"tier": "frame", "reason": "bad"}}, {"#/tier/reason": "bad_severity"}),
        ({"days": {"low": 9, "high": 3, "reason": "soon"}}, {"#/days/high": "bad_days"}),
        ({"scope": [{"section": "attic", "start": "0 ft", "end": "9 ft"}]}, {"#/scope/0/section": "bad_scope"}),
        ({"scope": [{"section": "main", "start": "9 ft", "end": "99 ft"}]}, {"#/scope/0/end": "bad_scope"}),
        ({"scope": [{"section": "main", "start": "9 ft", "end": "9 ft"}]}, {"#/scope/0/end": "bad_scope"}),
        ({"scope": [{"section": "main", "start": "9", "end": "12 ft"}]}, {"#/scope/0/start": "bad_quantity"}),
    ],
    ids=str,
)
def test_a_body_that_does_not_fit_is_told_where_and_why(quoting: Quoting, changes: Body, expected: dict[str, str]) -> None:
    assert refused(quoting, changes) == expected


def test_all_faults_are_told_at_once(quoting: Quoting) -> None:
    told = refused(
        quoting,
        {
            "skin": "slate",
            "colour": "blue",
            "measures": [entry("roof_colour", 1), entry("wall_top_rot_length", "6"), entry("brace_count", 0.5)],
            "days": {"low": 0, "high": 3},
        },
    )
    assert set(told) == {
        "#/skin",
        "#/colour",
        "#/measures/0/measure",
        "#/measures/1/value",
        "#/measures/2/value",
        "#/days/low",
        "#/days/reason",
    }


def test_the_same_thing_is_not_said_twice(quoting: Quoting) -> None:
    told = refused(quoting, {"measures": [entry("brace_count", 1), entry("brace_count", 2)], "options": ["coating", "coating"]})
    assert set(told.values()) == {"said_twice"}


def test_a_coating_is_refused_on_a_wet_roof(quoting: Quoting) -> None:
    cells = [bodies.cell("1A", "damp"), bodies.cell("1B", "sound"), bodies.cell("1C", "sound"), bodies.cell("1D", "sound")]
    survey = quoting.add_survey(quoting.coach, cells=cells)
    answer = quoting.office.post("quotes", quoting.body(survey=survey, plan="coat", measures=[entry("coat_area", "280 ft2")]))
    told = problem(answer, 422)
    # A quarter of what was checked is damp and the plan allows a fifth.
    assert (told["code"], told["errors"][0]["pointer"]) == ("plan_refused", "#/plan")
    assert "25%" in told["detail"]


class TestACostBaseThatLacksSomething:
    def test_a_price_is_never_assumed(self, quoting: Quoting) -> None:
        withdraw(quoting, "price", "lauan-sheet-5-2-mm")
        told = problem(quoting.office.post("quotes", quoting.body()), 422)
        assert told["code"] == "no_price"
        assert "lauan-sheet-5-2-mm" in told["detail"]

    def test_a_rate_is_never_assumed(self, quoting: Quoting) -> None:
        withdraw(quoting, "rate", "helper")
        told = problem(quoting.office.post("quotes", quoting.body()), 422)
        assert told["code"] == "no_rate"
        assert "helper" in told["detail"]

    def test_a_material_is_never_assumed(self, quoting: Quoting) -> None:
        withdraw(quoting, "material", "lauan-sheet-5-2-mm")
        assert problem(quoting.office.post("quotes", quoting.body()), 422)["code"] == "no_material"

    def test_an_assembly_of_the_plan_is_in_force(self, quoting: Quoting) -> None:
        withdraw(quoting, "assembly", "leak-test")
        told = problem(quoting.office.post("quotes", quoting.body()), 422)
        assert told["code"] == "plan_refused"
        assert "leak-test" in told["detail"]

    def test_a_formula_that_fails_names_its_assembly(self, quoting: Quoting) -> None:
        quoting.network_edition("assembly", "leak-test", driver="1 / (ac_count - 2)")
        told = problem(quoting.office.post("quotes", quoting.body()), 422)
        assert told["code"] == "assembly_failed"
        assert "leak-test" in told["detail"]

    def test_contents_that_no_longer_read_are_a_problem_and_no_crash(self, quoting: Quoting) -> None:
        quoting.network_edition("assembly", "leak-test", phase="later", crew="many")
        answer = quoting.office.post("quotes", quoting.body())
        assert problem(answer, 422)["errors"]


def withdraw(quoting: Quoting, kind: str, slug: str) -> None:
    from costbase.models import NetworkEdition
    from costbase.scope import network_scope
    from tests import make

    network: Any = quoting.shop.network
    with network_scope(network.pk, make.OPERATOR):
        NetworkEdition.objects.for_network(network).filter(kind=kind, slug=slug).update(withdrawn_on="2026-01-01")
