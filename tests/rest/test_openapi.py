"""Do the documentation and the service say the same, and does the documentation stay in the house?"""

import re
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest
import yaml
from django.core.management import call_command
from django.test import Client
from jsonschema import Draft202012Validator

from api.rest.codes import CODES
from api.rest.docs import SCHEMA
from tests.rest import bodies
from tests.rest.office import Office, with_severity_rules

REGENERATE = "manage.py spectacular --file api/rest/openapi.yaml --validate --fail-on-warn"


@lru_cache(maxsize=1)
def document() -> dict[str, Any]:
    loaded: dict[str, Any] = yaml.safe_load(SCHEMA.read_text())
    return loaded


def faults(answer: Any, operation: str) -> list[str]:
    """Where an answer differs from what the document says of its operation and status."""
    methods = [method for path in document()["paths"].values() for method in path.values()]
    (described,) = [method for method in methods if method["operationId"] == operation]
    schema = described["responses"][str(answer.status_code)]["content"]["application/json"]["schema"]
    validator = Draft202012Validator({**schema, "components": document()["components"]})
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(answer.json())]


def test_the_file_is_what_the_views_say(tmp_path: Path) -> None:
    made = tmp_path / "openapi.yaml"
    call_command("spectacular", file=str(made), validate=True, fail_on_warn=True)
    assert made.read_text() == SCHEMA.read_text(), f"run: {REGENERATE}"


def test_the_document_is_openapi_3_1_with_bearer_tokens() -> None:
    assert document()["openapi"] == "3.1.0"
    (scheme,) = document()["components"]["securitySchemes"].values()
    assert scheme == {"type": "http", "scheme": "bearer"}
    for address, path in document()["paths"].items():
        for method in path.values():
            # An owner's link is its own key.
            by_link = address.startswith("/api/v1/owner/{token}")
            assert method.get("security", []) == ([] if by_link else [{"token": []}]), address


def test_bodies_say_that_other_members_are_refused() -> None:
    schemas = document()["components"]["schemas"]
    for name in ("CoachInputRequest", "PatchedCoachChangeRequest", "SectionRequest", "CellRequest"):
        assert schemas[name]["additionalProperties"] is False, name
    assert "required" not in schemas["PatchedCoachChangeRequest"]
    assert "length" in schemas["SectionRequest"]["required"]


def test_answers_are_as_the_document_says(here: Office) -> None:
    with_severity_rules(here.shop.network)
    customer = here.post("customers", bodies.customer())
    assert faults(customer, "create_customer") == []
    assert faults(here.get("customers"), "list_customers") == []
    assert faults(here.get(f"customers/{customer.json()['id']}"), "get_customer") == []
    coach = here.post("coaches", bodies.coach(customer=customer.json()["id"]))
    assert faults(coach, "create_coach") == []
    assert faults(here.get("coaches"), "list_coaches") == []
    assert faults(here.change(f"coaches/{coach.json()['id']}", {"year": None}), "change_coach") == []
    survey = here.post("surveys", bodies.survey(coach.json()["id"]))
    assert faults(survey, "create_survey") == []
    assert faults(here.get("surveys"), "list_surveys") == []


def test_the_page_names_no_other_server_and_forbids_the_browser_to_ask_one() -> None:
    client = Client()
    page = client.get("/api/docs")
    assert page.status_code == 200
    assert "default-src 'self'" in page["Content-Security-Policy"]
    asked = re.findall(r'(?:src|href)="([^"]+)"', page.content.decode())
    assert len(asked) == 4
    for address in [*asked, "/api/openapi.yaml"]:
        assert address.startswith("/api/")
        answer = client.get(address)
        assert answer.status_code == 200, address
        assert b"".join(answer) if answer.streaming else answer.content
    assert b"validatorUrl: null" in client.get("/api/docs/start.js").content


@pytest.mark.parametrize("name", ["x.js", "..%2fbase.py", "swagger-ui.css.map", "%00"])
def test_the_page_serves_its_own_files_only(name: str) -> None:
    assert Client().get(f"/api/docs/{name}").status_code == 404


def test_every_code_can_be_looked_up() -> None:
    client = Client()
    listed = {row["code"]: row for row in client.get("/api/problems").json()["results"]}
    for code in ("openings_overlap", "token_expired", "idempotency_mismatch", "internal_error"):
        assert client.get(f"/api/problems/{code}").json() == listed[code]
    assert listed["openings_overlap"]["meaning"] == CODES["openings_overlap"].meaning
    assert "not_decimal" not in listed
    assert client.get("/api/problems/nonsense").status_code == 404
