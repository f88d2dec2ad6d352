"""Which quotes are listed, and what does the list show of them?"""

import pytest

from tests.rest.office import Office, places
from tests.rest.quoting import Quoting, entry


def test_it_is_filtered(quoting: Quoting) -> None:
    first = quoting.issued()
    survey = quoting.add_survey(quoting.coach, method="told")
    second = quoting.draft(survey=survey, reference="JOB 99").json()

    def found(query: str) -> list[int]:
        answer = quoting.office.get(f"quotes?{query}")
        assert answer.status_code == 200, answer.content
        return [row["id"] for row in answer.json()["results"]]

    assert found("") == [second["id"], first["id"]]
    assert found("state=issued") == [first["id"]]
    assert found("number=Q-2026-2") == [second["id"]]
    assert found("reference=JOB 17") == [first["id"]]
    assert found(f"coach={quoting.coach}") == [second["id"], first["id"]]
    assert found(f"coach={quoting.coach + 1}") == []
    assert found("provisional=true") == [second["id"]]
    assert found("provisional=false&state=issued") == [first["id"]]


def test_it_shows_what_a_quote_begins_with(quoting: Quoting) -> None:
    quote = quoting.draft().json()
    (row,) = quoting.office.get("quotes").json()["results"]
    assert row == {name: quote[name] for name in row}
    assert "lines" not in row
    assert "request" not in row


def test_it_comes_in_pages(quoting: Quoting) -> None:
    made = [quoting.draft(plan="look-first", measures=[entry("look_first_count", 1)]).json()["id"] for _ in range(3)]
    page = quoting.office.get("quotes?limit=2").json()
    rest = quoting.office.get(page["next"]).json()
    assert [row["id"] for row in page["results"] + rest["results"]] == made[::-1]
    assert rest["next"] is None


@pytest.mark.parametrize(
    ("query", "place"),
    [
        ("state=sold", "state"),
        ("coach=abc", "coach"),
        ("coach=1.5", "coach"),
        ("coach=99999999999999999999", "coach"),
        ("provisional=perhaps", "provisional"),
        ("states=draft", "states"),
        ("limit=0", "limit"),
        ("cursor=x", "cursor"),
        ("number=" + "9" * 25, "number"),
    ],
)
def test_a_filter_that_does_not_fit_is_refused(here: Office, query: str, place: str) -> None:
    assert list(places(here.get(f"quotes?{query}"), 400)) == [place]
