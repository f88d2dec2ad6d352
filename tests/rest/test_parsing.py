"""Which bodies are taken, and how is every other one refused?"""

import time

import pytest

from api.rest.errors import Problem
from api.rest.parsing import LARGEST_BODY, read_json


def refusal(body: bytes) -> dict[str, object]:
    with pytest.raises(Problem) as caught:
        read_json(body)
    return caught.value.document()


def fault_list(body: bytes) -> list[tuple[str, str]]:
    errors = refusal(body)["errors"]
    assert isinstance(errors, list)
    return [(error["pointer"], error["code"]) for error in errors]


def test_plain_json_comes_through_as_it_is() -> None:
    body = '{"label": "Möwe ½", "count": 3, "share": 0.08, "none": null, "list": [true, "\\u00e9"]}'
    assert read_json(body.encode()) == {
        "label": "Möwe ½", "count": 3, "share": 0.08, "none": None, "list": [True, "é"],
    }  # fmt: skip


def test_one_byte_order_mark_is_passed_over() -> None:
    assert read_json(b'\xef\xbb\xbf{"a": 1}') == {"a": 1}


def test_an_escaped_pair_of_surrogates_is_one_character() -> None:
    assert read_json(b'["\\ud83d\\ude90"]') == ["\U0001f690"]


def test_a_text_that_speaks_about_escapes_is_no_escape() -> None:
    assert read_json(b'["\\\\u0000", "\\\\ud800"]') == ["\\u0000", "\\ud800"]


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        (b'{"a": NaN}', [("#/a", "bad_number")]),
        (b'{"a": [1, Infinity, -Infinity]}', [("#/a/1", "bad_number"), ("#/a/2", "bad_number")]),
        (b'{"a": 1e400}', [("#/a", "bad_number")]),
        (b'{"a": -1e400}', [("#/a", "bad_number")]),
        (b'{"a": 1e-400}', [("#/a", "bad_number")]),
        (b'{"a": ' + b"9" * 41 + b"}", [("#/a", "bad_number")]),
        (b'{"a": ' + b"9" * 5000 + b"}", [("#/a", "bad_number")]),
        (b'{"a": 1' + b"0" * 400 + b".5}", [("#/a", "bad_number")]),
        (b'{"a": "x\\u0000y"}', [("#/a", "bad_text")]),
        (b'{"a": "\\ud800"}', [("#/a", "bad_text")]),
        (b'{"a": "\\udfffx"}', [("#/a", "bad_text")]),
        (b'{"a": {"\\uDEAD": 1}}', [("#/a", "bad_text")]),
        (b'{"a": 1, "a": 2}', [("#/a", "duplicate_key")]),
        (b'{"a/b": {"~": NaN}}', [("#/a~1b/~0", "bad_number")]),
        (b'{"b": [{"a": 1, "a": 2}, NaN, "\\u0000"]}',
         [("#/b/0/a", "duplicate_key"), ("#/b/1", "bad_number"), ("#/b/2", "bad_text")]),
        (b'{"a": "x\x00y"}', [("#", "bad_syntax")]),
        (b"\xff\xfe{\x00}\x00", [("#", "not_utf8")]),
        (b'{"a": "\xc3\x28"}', [("#", "not_utf8")]),
        (b'{"a": "\xed\xa0\x80"}', [("#", "not_utf8")]),
        (b"{'a': 1}", [("#", "bad_syntax")]),
        (b'{"a": 1,}', [("#", "bad_syntax")]),
        (b'{"a": 01}', [("#", "bad_syntax")]),
        (b'{"a": 1} x', [("#", "bad_syntax")]),
        (b"", [("#", "bad_syntax")]),
        (b"\xef\xbb\xbf\xef\xbb\xbf{}", [("#", "bad_syntax")]),
        (b"[" * 51 + b"]" * 51, [("#", "too_deep")]),
        (b'{"a":' * 51 + b"1" + b"}" * 51, [("#", "too_deep")]),
    ],
)  # fmt: skip
def test_what_is_not_taken_is_refused_with_its_place(body: bytes, expected: list[tuple[str, str]]) -> None:
    assert fault_list(body) == expected
    assert refusal(body)["status"] == 400
    assert refusal(body)["code"] == "invalid_json"


def test_fifty_levels_are_taken() -> None:
    assert read_json(b"[" * 50 + b"]" * 50) is not None


def test_brackets_inside_texts_do_not_nest() -> None:
    assert read_json(b'["' + b"[" * 1000 + b'\\"[[["]') == ["[" * 1000 + '"[[[']


@pytest.mark.parametrize(
    "body",
    [
        b"[" * 100_000,
        b"[" * 100_000 + b"]" * 100_000,
        b'{"a":' * 100_000,
        b'\\"' * (LARGEST_BODY // 2 - 30) + b"[" * 60,
        b'"' + b'\\"' * (LARGEST_BODY // 2 - 40) + b"[" * 60,
        b'"' * (LARGEST_BODY - 60) + b"[" * 60,
        b"[]" * (LARGEST_BODY // 2),
        b'{"a' + b"[" * (LARGEST_BODY - 10),
    ],
)
def test_a_hostile_megabyte_is_answered_fast(body: bytes) -> None:
    started = time.process_time()
    assert refusal(body)["code"] == "invalid_json"
    # Linear work of a few passes; one that looked at texts twice would take minutes.
    assert time.process_time() - started < 2


def test_of_very_many_faults_the_first_hundred_are_told_and_the_rest_counted() -> None:
    document = refusal(b"[" + b"NaN," * 249 + b"NaN]")
    errors = document["errors"]
    assert isinstance(errors, list)
    assert len(errors) == 100
    assert document["errors_left_out"] == 150
