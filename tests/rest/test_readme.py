"""The README's requests, an estimator's, a manager's and a job's, sent as they are printed, to the shop that the demo loads."""

import json
import re
from dataclasses import dataclass
from pathlib import Path
from string import Template
from typing import Any

import pytest
from django.test import Client

from api.accounts.roles import ESTIMATOR, MANAGER
from api.management import demo_shop
from tests.rest.office import FIXTURES, Office
from tests.rest.quoting import Clock

README = Path(__file__).parents[2] / "README.md"
PAIR = re.compile(r"```sh\n(.*?)```\n\nExcerpt of the answer, (\d+)[^`]*(?:`\w+`[^`]*)*```json\n(.*?)```", re.DOTALL)
CURL = re.compile(
    r'curl (?:-X (?P<method>\w+) )?"?\$SHOP/(?P<path>[^" ]+)"? -H "Authorization: Bearer \$(?P<token>\w+)"(?P<rest>.*)'
)
HEADER = re.compile(r"""-H (["'])([\w-]+): (.*?)\1""")
BODY = re.compile(r"<<END\n(.*)\nEND\n", re.DOTALL)
NAMES = {"customers": "CUSTOMER", "coaches": "COACH", "surveys": "SURVEY", "quotes": "QUOTE"}
GIVEN = {"document_hash": "HASH", "job": "JOB"}
STAGED = "imports?kind=price&valid_from=$TODAY&file=prices.csv"
JOBS = [
    "quotes/$QUOTE/issue", "quotes/$QUOTE/document", "quotes/$QUOTE/acceptance", "jobs/$JOB/state", "jobs/$JOB/found-notes",
    "jobs/$JOB/bill",
]  # fmt: skip
MANAGERS = ["editions/trial", "rates", STAGED, "imports/$IMPORT/application"]


@dataclass(frozen=True)
class Example:
    """A printed request with the excerpt of its answer."""

    method: str
    path: str
    role: str
    headers: dict[str, str]
    body: str
    status: int
    excerpt: dict[str, Any]


def examples() -> list[Example]:
    return [_example(*match.groups()) for match in PAIR.finditer(README.read_text(encoding="utf-8"))]


def _example(request: str, status: str, excerpt: str) -> Example:
    curl, body = CURL.search(request), BODY.search(request)
    assert curl, f"expected a curl to $SHOP with $TOKEN or $MANAGER: {request}"
    headers = {name: value for _, name, value in HEADER.findall(curl["rest"])}
    role = {"TOKEN": ESTIMATOR, "MANAGER": MANAGER}[curl["token"]]
    return Example(
        curl["method"] or "GET", curl["path"], role, headers, body[1] if body else "", int(status), json.loads(excerpt)
    )


def differences(shown: Any, real: Any, place: str = "") -> list[str]:
    """Where what is shown is not what was answered. Of an object only the members that are shown count."""
    if isinstance(shown, dict) and isinstance(real, dict):
        return [at for name in shown for at in differences(shown[name], real.get(name, "no such member"), f"{place}/{name}")]
    if isinstance(shown, list) and isinstance(real, list) and len(shown) == len(real):
        pairs = enumerate(zip(shown, real, strict=True))
        return [at for index, (left, right) in pairs for at in differences(left, right, f"{place}/{index}")]
    return [] if type(shown) is type(real) and shown == real else [f"{place}: {shown!r} is printed, {real!r} was answered"]


@pytest.mark.django_db
def test_the_requests_are_answered_as_printed(clock: Clock) -> None:
    office = Office(demo_shop.load(FIXTURES).shop)
    shown = examples()
    assert [example.path for example in shown] == [*NAMES, "quotes/$QUOTE/lines/1/why", *MANAGERS, *JOBS]
    ids: dict[str, Any] = {"TODAY": clock.moment.date().isoformat(), "NOW": clock.moment.isoformat()}

    for example in shown:
        path = Template(example.path).substitute(ids)
        answer = asked(office, example, path, Template(example.body).substitute(ids))

        assert answer.status_code == example.status, answer.content.decode()
        real = answer.json()
        # Ids are the database's: those printed are a fresh demo's.
        placeholders = {name for name in ("id", "customer", "coach", "job") if name in example.excerpt}
        # The demo itself imports past this address, and books no job.
        first = 1 if "imports" in example.path or "job" in {*example.excerpt, example.path[:3]} else 2
        assert differences({k: v for k, v in example.excerpt.items() if k not in placeholders}, real) == []
        assert {example.excerpt[name] for name in placeholders} <= {first}
        assert {real[name] for name in placeholders - {"id", "job"}} <= set(ids.values())
        if example.path in NAMES:
            ids[NAMES[example.path]] = real["id"]
        if example.path == STAGED:
            ids["IMPORT"] = real["id"]
        ids |= {known: real[name] for name, known in GIVEN.items() if name in real}


def asked(office: Office, example: Example, path: str, body: str) -> Any:
    """The answer to a printed request, as a client without any library of ours sends it."""
    sent = {"Authorization": f"Bearer {office.tokens[example.role]}", **example.headers}
    kind = example.headers.get("Content-Type", "application/json" if body else "")
    client = Client(raise_request_exception=False)
    return client.generic(example.method, office.url(path), body, kind, headers=sent)


def test_the_requests_print_the_ids_that_their_answers_give() -> None:
    printed = dict(re.findall(r"^([A-Z]+)=(\d+)$", README.read_text(encoding="utf-8"), re.MULTILINE))

    given = {NAMES[example.path]: str(example.excerpt["id"]) for example in examples() if example.path in NAMES}
    given["JOB"] = next(str(example.excerpt["job"]) for example in examples() if "job" in example.excerpt)
    given["IMPORT"] = next(str(example.excerpt["id"]) for example in examples() if example.path == STAGED)
    assert printed == given
