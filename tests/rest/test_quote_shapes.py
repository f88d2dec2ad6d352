"""Is what is answered about quotes what the documentation says, member by member?"""

from functools import cache
from typing import Any

import pytest
import yaml
from jsonschema import Draft202012Validator

from api.accounts.roles import ESTIMATOR, MANAGER
from api.rest.docs import SCHEMA
from tests.rest import bodies
from tests.rest.quoting import Body, Quoting, entry


def closed(schema: Any) -> Any:
    """The schema with every object closed: an answer may hold nothing that the documentation does not name."""
    if isinstance(schema, list):
        return [closed(part) for part in schema]
    if not isinstance(schema, dict):
        return schema
    shut = {name: closed(part) for name, part in schema.items()}
    if schema.get("type") == "object" and "properties" in schema:
        shut.setdefault("additionalProperties", False)
    return shut


@cache
def document() -> Body:
    loaded: Body = yaml.safe_load(SCHEMA.read_text())
    return loaded


def faults(answer: Any, operation: str) -> list[str]:
    """Where an answer differs from what the documentation says of the operation and the status."""
    methods = [method for path in document()["paths"].values() for method in path.values()]
    (described,) = [method for method in methods if method["operationId"] == operation]
    (content,) = described["responses"][str(answer.status_code)]["content"].values()
    components = closed(document()["components"])
    # A problem document may have members of its own kind (RFC 9457, section 3.2).
    del components["schemas"]["ProblemShape"]["additionalProperties"]
    schema = {**closed(content["schema"]), "components": components}
    validator = Draft202012Validator(schema, format_checker=Draft202012Validator.FORMAT_CHECKER)
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(answer.json())]


def full(quoting: Quoting) -> Body:
    """A request with everything in it, on a marked roof."""
    survey = quoting.add_survey(
        quoting.coach,
        cells=[bodies.cell("3D", "rotten"), bodies.cell("4D", "damp"), bodies.cell("1A", "sound")],
        findings=[{"kind": "soft_underfoot", "place": "cell 3D", "section": "main", "extent": "3/16 in"}],
    )
    return quoting.body(
        survey=survey,
        plan="partial-roof",
        scope=[{"section": "main", "start": "2 ft", "end": "30 ft"}],
        label="Part of it",
        options=["paint-match"],
        offered=["solar-prep", "ac-new"],
        conditions=[{"condition": "no-bay", "reason": "The bay is taken."}],
        measures=[
            *(entry(asked, 1) for asked in ("paint_job_count", "solar_prep_count", "new_ac_count")),
            entry("indoor_bay", False),
        ],
        tier={"tier": "widespread", "reason": "The owner showed pictures of it."},
        days={"low": 10, "high": 14, "reason": "A second crew."},
    )


@pytest.mark.parametrize("role", [MANAGER, ESTIMATOR])
def test_quotes_are_answered_as_documented(quoting: Quoting, role: str) -> None:
    office = quoting.office
    for body in (quoting.body(), full(quoting), quoting.framed_body()):
        assert faults(office.post("quotes/trial", body, role=role), "try_quote") == []
        posted = office.post("quotes", body, role=role)
        assert faults(posted, "create_quote") == []
        added = office.post(f"{posted['Location']}/alternatives", body, role=role)
        assert faults(added, "add_alternative") == []
        assert faults(office.get(posted["Location"], role=role), "get_quote") == []
        assert faults(office.change(posted["Location"], body, method="PUT", role=role), "save_quote") == []
        assert faults(quoting.issue(posted.json()["id"], role=role), "issue_quote") == []
        assert faults(office.post(f"{posted['Location']}/revisions", body, role=role), "revise_quote") == []
    assert faults(office.get("quotes?limit=2", role=role), "list_quotes") == []
    assert faults(office.get("quotes?limit=200", role=role), "list_quotes") == []


def test_reasons_are_answered_as_documented(quoting: Quoting) -> None:
    quote = quoting.posted(full(quoting)).json()
    path = f"quotes/{quote['id']}"
    index = quoting.office.get(f"{path}/why")
    assert faults(index, "list_quote_whys") == []
    told = index.json()
    for paths, operation in [
        (told["lines"], "why_line"),
        (told["amounts"], "why_amount"),
        (told["components"], "why_unit_price"),
        (told["counted"], "why_counted"),
        (told["options"][:-1], "why_option"),
        (told["options"][-1:], "why_options"),
        ([told["tier"]], "why_tier"),
        ([told["allowance"]], "why_allowance"),
    ]:
        assert paths
        for one in paths:
            assert faults(quoting.office.get(one), operation) == []


def test_refusals_are_answered_as_documented(quoting: Quoting) -> None:
    refused = quoting.office.post("quotes", quoting.body(skin="slate", plan="?"))
    assert faults(refused, "create_quote") == []
    draft = quoting.draft().json()
    quoting.network_edition("rate", "estimator", billed_per_hour="200.00")
    assert faults(quoting.issue(draft["id"]), "issue_quote") == []


def test_a_request_that_is_taken_is_one_that_the_documentation_allows(quoting: Quoting) -> None:
    schema = {"$ref": "#/components/schemas/QuoteInputRequest", "components": document()["components"]}
    validator = Draft202012Validator(schema)
    for body in (quoting.body(), full(quoting), quoting.framed_body()):
        assert [error.message for error in validator.iter_errors(body)] == []
        quoting.posted(body)
    assert not validator.is_valid(quoting.body(colour="blue"))
    assert not validator.is_valid(quoting.body(skin="slate"))
    assert not validator.is_valid({})
