"""Who may change what somebody else may have changed meanwhile?"""

from typing import Any

import pytest

from quotes.models import Coach
from tests.rest import bodies
from tests.rest.office import Office, office, places, problem
from tests.rest.test_idempotency import together


@pytest.fixture
def path(here: Office) -> str:
    return f"coaches/{here.post('coaches', bodies.coach()).json()['id']}"


def rename(here: Office, path: str, tag: str | None, label: str = "New label") -> Any:
    return here.ask("PATCH", path, {"label": label}, headers={} if tag is None else {"If-Match": tag})


def test_a_change_without_if_match_is_refused(here: Office, path: str) -> None:
    assert problem(rename(here, path, None), 428)["code"] == "if_match_missing"
    assert problem(here.ask("DELETE", path), 428)["code"] == "if_match_missing"
    assert here.get(path).json()["label"] == "Invented 34 footer"


@pytest.mark.parametrize("tag", ['"v1"', '"x", "v1"', '"v1","v9"', "*", ' "v1" '])
def test_a_change_of_the_version_that_was_read_is_taken(here: Office, path: str, tag: str) -> None:
    answer = rename(here, path, tag)
    assert answer.status_code == 200
    assert answer["ETag"] == '"v2"'


@pytest.mark.parametrize("tag", ['"v2"', '"v0"', 'W/"v1"', '"V1"', '"v999999999999999999999999"', '""'])
def test_a_change_of_another_version_is_refused(here: Office, path: str, tag: str) -> None:
    refused = rename(here, path, tag)
    assert problem(refused, 412)["code"] == "version_mismatch"
    assert refused["ETag"] == '"v1"'


@pytest.mark.parametrize("tag", ["v1", "1", '"v1', "", '"v1" "v2"', '"v1",', "ü", '"' * 2000])
def test_a_header_that_is_no_list_of_etags_is_refused(here: Office, path: str, tag: str) -> None:
    assert places(rename(here, path, tag), 400) == {"If-Match": "bad_header"}


def test_a_tag_is_used_up_by_a_change(here: Office, path: str) -> None:
    assert rename(here, path, '"v1"').status_code == 200
    assert rename(here, path, '"v1"').status_code == 412
    assert rename(here, path, '"v2"').status_code == 200


def test_a_refused_change_uses_no_version_up(here: Office, path: str) -> None:
    assert rename(here, path, '"v1"', label="").status_code == 422
    assert rename(here, path, '"v1"').status_code == 200


@pytest.mark.parametrize("tag", ['"v1"', 'W/"v1"', '"x", "v1"', "*"])
def test_a_known_version_is_not_sent_again(here: Office, path: str, tag: str) -> None:
    answer = here.get(path, headers={"If-None-Match": tag})
    assert answer.status_code == 304
    assert answer.content == b""
    assert answer["ETag"] == '"v1"'


def test_a_newer_version_is_sent(here: Office, path: str) -> None:
    rename(here, path, '"v1"')
    answer = here.get(path, headers={"If-None-Match": '"v1"'})
    assert answer.status_code == 200
    assert answer["ETag"] == '"v2"'
    assert places(here.get(path, headers={"If-None-Match": "v1"}), 400) == {"If-None-Match": "bad_header"}


@pytest.mark.django_db(transaction=True)
def test_of_parallel_changes_of_one_version_one_is_taken() -> None:
    here = office()
    path = f"coaches/{here.post('coaches', bodies.coach()).json()['id']}"
    answers = together(5, lambda n: rename(here, path, '"v1"', label=f"Label {n}"))
    assert sorted(answer.status_code for answer in answers) == [200, 412, 412, 412, 412]
    with here.scope():
        coach = Coach.objects.for_shop(here.shop).get()
    assert coach.version == 2
    assert coach.label == next(answer.json()["label"] for answer in answers if answer.status_code == 200)
