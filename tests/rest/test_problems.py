"""Is every bad input told what was expected, where, under a stable code, and is nothing half written? And never a 500?"""

import json
import time
from typing import Any

import pytest
from django.test import Client
from django.test.client import FakePayload
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from api.rest.errors import calculation_faults, problem_of
from costbase.calc.errors import CalculationError, CalculationFaults
from quotes.models import Coach, Customer, IdempotencyKey
from tests.rest import bodies
from tests.rest.office import Office, places, problem


def send(here: Office, body: bytes, *, path: str = "coaches", **headers: Any) -> Any:
    """A POST of raw bytes."""
    headers = {"Authorization": f"Bearer {here.tokens['manager']}", **headers}
    kind = headers.pop("Content-Type", "application/json")
    client = Client(raise_request_exception=False)
    return client.post(here.url(path), data=body, content_type=kind, headers=headers)


def nothing_was_written(here: Office) -> bool:
    with here.scope():
        kinds = (Coach, Customer, IdempotencyKey)
        return not any(kind.objects.for_shop(here.shop).exists() for kind in kinds)


def with_roof(**changes: Any) -> bytes:
    return json.dumps(bodies.coach(roof=bodies.roof(bodies.section(**changes)))).encode()


ROOF = "#/roof/sections/0/"


@pytest.mark.parametrize(
    ("body", "status", "expected"),
    [
        (b"", 400, {}),
        (b"{", 400, {"#": "bad_syntax"}),
        (b"nonsense", 400, {"#": "bad_syntax"}),
        (b"[]", 400, {"#": "not_an_object"}),
        (b"null", 400, {"#": "not_an_object"}),
        (b'"text"', 400, {"#": "not_an_object"}),
        (b"3", 400, {"#": "not_an_object"}),
        (b"[" * 100_000, 400, {"#": "too_deep"}),
        (b'{"roof":' * 100_000, 400, {"#": "too_deep"}),
        (b'{"label": "\xff"}', 400, {"#": "not_utf8"}),
        ('{"label": "x"}'.encode("utf-16"), 400, {"#": "not_utf8"}),
        (b'{"label": "a\\u0000b"}', 400, {"#/label": "bad_text"}),
        (b'{"label": "\\ud800"}', 400, {"#/label": "bad_text"}),
        (b'{"year": 1e400, "plate": NaN}', 400, {"#/year": "bad_number", "#/plate": "bad_number"}),
        (b'{"label": "a", "label": "b"}', 400, {"#/label": "duplicate_key"}),
        (b'{"year": ' + b"9" * 5000 + b"}", 400, {"#/year": "bad_number"}),
        (b"{}", 422, {"#/label": "required", "#/roof": "required"}),
        (b'{"label": "x", "roof": {"sections": [null, 1, "x", []]}}', 422,
         {f"#/roof/sections/{index}": code for index, code in enumerate(["null", *["not_object"] * 3])}),
        (with_roof(length="5 ft"), 422, {ROOF + "length": "out_of_range"}),
        (with_roof(length="200 ft"), 422, {ROOF + "length": "out_of_range"}),
        (with_roof(length="9**9**9 ft"), 422, {ROOF + "length": "bad_quantity"}),
        (with_roof(length="10,2 m"), 422, {ROOF + "length": "bad_quantity"}),
        (with_roof(length="34 kg", tuck="-1 in"), 422,
         {ROOF + "length": "wrong_dimension", ROOF + "tuck": "bad_quantity"}),
        (with_roof(openings=[bodies.opening("a", station="50 ft"), bodies.opening("b"), bodies.opening("c")]), 422,
         {ROOF + "openings/0/station": "opening_off_roof", ROOF + "openings/2/station": "openings_overlap"}),
        (json.dumps({**bodies.coach(), "custmer": 1, "~/": 2, "year": -4}).encode(), 422,
         {"#/custmer": "unknown_field", "#/~0~1": "unknown_field", "#/year": "min_value"}),
    ],
)  # fmt: skip
def test_bad_bodies_are_told_every_place_and_write_nothing(
    here: Office, body: bytes, status: int, expected: dict[str, str]
) -> None:
    answer = send(here, body, **{"Idempotency-Key": "k-1"})
    if expected:
        assert places(answer, status) == expected
    else:
        assert problem(answer, status)["code"] == "body_missing"
    assert nothing_was_written(here)


def test_a_refusal_says_what_was_expected(here: Office) -> None:
    answer = send(here, with_roof(length="200 ft", body_width="wide"))
    (fault,) = answer.json()["errors"]
    assert fault["pointer"] == ROOF + "body_width"
    assert fault["detail"].startswith("Expected a length such as 33' 6\", 33 ft 6 in, 8-1/2 in or 10.2 m, not 'wide'")
    answer = send(here, with_roof(length="200 ft"))
    assert answer.json()["detail"] == "expected a length from 8 ft to 60 ft, not 200 ft"
    assert answer.json()["title"] == "Unprocessable Entity"


@pytest.mark.parametrize("key", [{}, {"Idempotency-Key": "k-1"}])
def test_a_body_of_20_megabytes_is_refused_by_its_header_without_being_read(here: Office, key: dict[str, str]) -> None:
    class Untouched(FakePayload):
        def read(self, *args: Any, **kwargs: Any) -> bytes:
            raise AssertionError("the body was read")

    answer = Client(raise_request_exception=True).generic(
        "POST",
        here.url("coaches"),
        b"",
        headers={"Authorization": f"Bearer {here.tokens['manager']}", **key},
        **{"CONTENT_TYPE": "application/json", "CONTENT_LENGTH": "20000000", "wsgi.input": Untouched(b"")},  # type: ignore[arg-type]
    )
    assert problem(answer, 413)["code"] == "body_too_large"


def test_a_body_of_20_megabytes_is_refused_fast(here: Office) -> None:
    started = time.process_time()
    answer = send(here, b'{"label": "' + b"x" * 20_000_000 + b'"}')
    assert problem(answer, 413)["code"] == "body_too_large"
    assert time.process_time() - started < 2


def test_a_body_longer_than_its_header_is_cut_at_the_header_and_is_no_json(here: Office) -> None:
    client = Client(raise_request_exception=False)
    answer = client.post(
        here.url("coaches"),
        data=json.dumps(bodies.coach()),
        content_type="application/json",
        headers={"Authorization": f"Bearer {here.tokens['manager']}"},
        CONTENT_LENGTH="20",
    )
    assert places(answer, 400) == {"#": "bad_syntax"}


@pytest.mark.parametrize(
    ("headers", "status", "code"),
    [
        ({"CONTENT_LENGTH": ""}, 400, "body_missing"),
        ({"CONTENT_LENGTH": "", "HTTP_TRANSFER_ENCODING": "chunked"}, 411, "length_required"),
        ({"CONTENT_LENGTH": "-5"}, 400, "bad_header"),
        ({"CONTENT_LENGTH": "five"}, 400, "bad_header"),
    ],
)
def test_a_body_needs_its_length(here: Office, headers: dict[str, str], status: int, code: str) -> None:
    client = Client(raise_request_exception=False)
    answer = client.post(
        here.url("coaches"),
        data=b"{}",
        content_type="application/json",
        headers={"Authorization": f"Bearer {here.tokens['manager']}"},
        **headers,  # type: ignore[arg-type]
    )
    assert problem(answer, status)["code"] == code


@pytest.mark.parametrize(
    "kind",
    [
        "text/plain",
        "application/x-www-form-urlencoded",
        "multipart/form-data; boundary=x",
        "application/xml",
        "application/json; charset=latin-1",
        "application/json; charset=utf-16",
        "nonsense",
    ],
)
def test_another_content_type_is_refused(here: Office, kind: str) -> None:
    answer = send(here, json.dumps(bodies.coach()).encode(), **{"Content-Type": kind})
    assert problem(answer, 415)["code"] == "unsupported_media_type"
    assert nothing_was_written(here)


@pytest.mark.parametrize("kind", ["application/json; charset=utf-8", 'application/json;charset="UTF-8"'])
def test_json_may_say_that_it_is_utf_8(here: Office, kind: str) -> None:
    body = json.dumps(bodies.coach(label="Möwe"), ensure_ascii=False).encode()
    answer = send(here, body, **{"Content-Type": kind})
    assert answer.status_code == 201
    assert answer.json()["label"] == "Möwe"


def test_only_json_is_answered(here: Office) -> None:
    answer = here.get("coaches", headers={"Accept": "application/xml"})
    assert problem(answer, 406)["code"] == "not_acceptable"


@pytest.mark.parametrize("method", ["PUT", "DELETE", "OPTIONS", "TRACE"])
def test_a_method_that_a_resource_does_not_know_is_refused(here: Office, method: str) -> None:
    client = Client(raise_request_exception=False)
    headers = {"Authorization": f"Bearer {here.tokens['manager']}"}
    answer = client.generic(method, here.url("coaches"), headers=headers)
    assert problem(answer, 405)["code"] == "method_not_allowed"
    assert "GET" in answer["Allow"]


@pytest.mark.parametrize(
    "path", ["coaches/x", "coaches/-1", "coaches/0", "coaches/" + "9" * 40, "coaches/%00", "coaches/1/", "%ff", "nothing"]
)
def test_an_address_that_leads_nowhere_is_not_found(here: Office, path: str) -> None:
    assert problem(here.get(path), 404)["code"] == "not_found"


@pytest.mark.parametrize("slug", ["nowhere", "x" * 500, "%00", "NO", "..", "%F0%9F%9A%90"])
def test_a_shop_that_is_not_there_is_not_found(here: Office, slug: str) -> None:
    assert problem(here.get(f"/api/v1/shops/{slug}/coaches"), 404)["code"] == "not_found"


def test_a_refusal_shows_nothing_of_the_inside(here: Office, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise RuntimeError("secret of the house")

    monkeypatch.setattr("api.rest.coaches.add_coach", broken)
    answer = here.post("coaches", bodies.coach())
    assert problem(answer, 500)["code"] == "internal_error"
    assert b"secret" not in answer.content
    assert b"Traceback" not in answer.content
    assert nothing_was_written(here)


def test_a_fault_of_ours_is_not_blamed_on_the_client() -> None:
    class OursError(CalculationError):
        code = "not_decimal"

    assert problem_of(OursError("a float reached the money")) is None
    assert problem_of(RuntimeError("x")) is None


def test_faults_of_the_core_keep_code_words_and_place() -> None:
    class LongError(CalculationError):
        code = "out_of_range"

    one = LongError("expected less", field="length").under("sections/0")
    two = LongError("expected more", field="width")
    both = CalculationFaults([one, two]).under("roof")
    assert [(fault.pointer, fault.code, fault.detail) for fault in calculation_faults(both)] == [
        ("#/roof/sections/0/length", "out_of_range", "expected less"),
        ("#/roof/width", "out_of_range", "expected more"),
    ]
    several = problem_of(both)
    single = problem_of(one)
    assert several is not None
    assert single is not None
    assert (several.status_code, several.code) == (422, "several_faults")
    assert (single.status_code, single.code, single.words) == (422, "out_of_range", "expected less")


_VALUES = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text(max_size=20)
    | st.sampled_from(["34 ft", "2 in", "main", "vent", "frp", "3D", "2026-03-02", "walked"]),
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3),
    max_leaves=6,
)


@settings(max_examples=120, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_no_value_anywhere_in_a_coach_makes_the_service_stumble(here: Office, data: st.DataObject) -> None:
    body = bodies.coach()
    target: Any = body
    for _ in range(data.draw(st.integers(0, 5), label="depth")):
        keys = list(target) if isinstance(target, dict) else list(range(len(target)))
        key = data.draw(st.sampled_from(keys), label="key") if keys else None
        if key is None or not isinstance(target[key], dict | list) or not target[key]:
            break
        target = target[key]
    if isinstance(target, dict):
        target[data.draw(st.sampled_from(sorted(target)) | st.text(max_size=8), label="member")] = data.draw(_VALUES)
    else:
        target[data.draw(st.integers(0, len(target) - 1))] = data.draw(_VALUES)
    answer = send(here, json.dumps(body).encode("utf-8", "surrogatepass"))
    if answer.status_code != 201:
        assert answer.status_code in (400, 422), answer.content
        assert problem(answer, answer.status_code)["errors"]
