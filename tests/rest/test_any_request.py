"""Whatever a client sends, is it answered as the description of the API says, and never with a fault of ours?

Requests are made from the description itself: bodies, parameters and headers that fit it, and some that do not. The seed is
fixed, so that a run is like the last one.
"""

from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any, cast

import pytest
import requests
import schemathesis
from django.test import Client, TestCase
from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st
from schemathesis.checks import not_a_server_error
from schemathesis.core.transport import Response
from schemathesis.specs.openapi.checks import (
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
    status_code_conformance,
)

from api.accounts.roles import MANAGER, NETWORK_MANAGER
from tests.rest.conftest import turn_to
from tests.rest.office import ROLES, office
from tests.rest.quoting import Clock, Quoting
from tests.rest.working import at_work, booked

SCHEMA = schemathesis.openapi.from_path(Path(__file__).resolve().parents[2] / "api" / "rest" / "openapi.yaml")
# A description that cannot be read has no `ok`, and fails here.
OPERATIONS: dict[str, Any] = {found.ok().label: found.ok() for found in cast(Iterable[Any], SCHEMA.get_all_operations())}
CHECKS = [
    not_a_server_error,
    status_code_conformance,
    content_type_conformance,
    response_headers_conformance,
    response_schema_conformance,
]
EXAMPLES = 6
# What a shop of these tests has; a parameter of another name is filled as the description says.
Things = Mapping[str, list[Any]]


@pytest.fixture(scope="module")
def quoting(django_db_setup: None, django_db_blocker: Any) -> Iterator[Quoting]:
    """One shop for all requests: each test takes back to here what it did."""
    with django_db_blocker.unblock(), pytest.MonkeyPatch.context() as patch:
        # As a test case does for its tests: a scope may open its transaction inside of such a block only.
        blocks = TestCase._enter_atomics()  # type: ignore[attr-defined]
        try:
            turn_to(Clock(), patch)
            yield Quoting(office())
        finally:
            TestCase._rollback_atomics(blocks)  # type: ignore[attr-defined]


@pytest.fixture(scope="module")
def things(quoting: Quoting, django_db_blocker: Any) -> Things:
    with django_db_blocker.unblock():
        return _things(quoting)


def _things(quoting: Quoting) -> Things:
    job = at_work(quoting, booked(quoting), "rebuilding")
    draft, issued = quoting.draft().json(), quoting.draft().json()
    sent = {"If-Match": "*"}
    assert quoting.office.post(f"quotes/{issued['id']}/issue", {}, headers=sent).status_code == 200
    estimate = {"party": "insurer", "dated_on": "2026-02-20", "lines": []}
    entered = quoting.office.post(f"quotes/{draft['id']}/estimates", estimate)
    link = quoting.office.post(f"quotes/{issued['id']}/links", {"sent_how": "email"}).json()
    return {
        "customer_id": [],
        "coach_id": [quoting.coach],
        "survey_id": [quoting.survey],
        "quote_id": [draft["id"], issued["id"]],
        "estimate_id": [entered.json()["id"]],
        "position": [1, 2],
        "link_id": [link["id"]],
        "hash": [link["document_hash"]],
        "token": [link["token"]],
        "job_id": [job.pk],
    }


@pytest.mark.parametrize("label", OPERATIONS)
def test_whatever_is_sent_is_answered_as_described(label: str, quoting: Quoting, things: Things, db: None) -> None:
    operation = OPERATIONS[label]

    @seed(20260301)
    @settings(max_examples=EXAMPLES, deadline=None, database=None, derandomize=False, suppress_health_check=list(HealthCheck))
    @given(case=operation.as_strategy(), drawn=st.data())
    def ask(case: Any, drawn: st.DataObject) -> None:
        for name in list(case.path_parameters or {}):
            case.path_parameters[name] = drawn.draw(_value(name, case.path_parameters[name], quoting, things))
        role = NETWORK_MANAGER if "network" in (case.path_parameters or {}) else drawn.draw(st.sampled_from([MANAGER, *ROLES]))
        case.headers = {**(case.headers or {}), "Authorization": f"Bearer {quoting.office.tokens[role]}"}
        case.validate_response(_answered(case), checks=CHECKS)

    ask()


def _answered(case: Any) -> Response:
    """The answer of the application in this process, whose database the test rolls back."""
    asked: Any = requests.Request(**case.as_transport_kwargs(base_url="http://testserver")).prepare()
    body = asked.body.encode() if isinstance(asked.body, str) else asked.body or b""
    sent = {name: value for name, value in asked.headers.items() if name.lower() != "content-length"}
    client = Client(raise_request_exception=False)
    answer: Any = client.generic(str(asked.method), asked.path_url, body, sent.get("Content-Type", ""), headers=sent)
    return Response(
        status_code=answer.status_code,
        headers={name.lower(): [value] for name, value in answer.items()},
        content=b"".join(answer.streaming_content) if answer.streaming else answer.content,
        request=asked,
        elapsed=0.0,
        verify=False,
        message=answer.reason_phrase,
        http_version="1.1",
    )


def _value(name: str, made: object, quoting: Quoting, things: Things) -> st.SearchStrategy[Any]:
    """A part of the address: the shop or network that there is, mostly something that there is, else what was made."""
    if name == "shop":
        return st.just(quoting.office.shop.slug)
    if name == "network":
        return st.just(quoting.office.shop.network.slug)
    there = things.get(name, [])
    return st.sampled_from([*there, *there, made])
