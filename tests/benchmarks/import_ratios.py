"""The measurements of `bench_import`: a test, so that it gets the database that tests get.

*Bare*: one INSERT .. SELECT of the same contents from one JSON text, into a table with the same columns and keys but without
history. *Written*: the service's own statement, into the table of editions with its history. The chunks of the run are worked
off in this process, one after the other.
"""

import json
import time
from collections.abc import Callable
from typing import Any

import pytest
from django.db import connection

from api.environment import DatabaseUrl
from costbase.actions.editions import write_editions
from costbase.exchange.csv_tables import read_csv, write_csv
from costbase.exchange.staging import Staged
from quotes.actions import priced
from tests import make
from tests.background.working import work_off
from tests.conftest import log_in
from tests.default_base import staged
from tests.rest.files import DAY, Files
from tests.rest.office import Office, office
from tests.rest.quoting import Clock

ROWS = 5_000
ROUNDS = 5

TABLE = "CREATE TABLE bare_edition (LIKE costbase_shopedition INCLUDING ALL); GRANT ALL ON bare_edition TO roof_app"
BARE = """
INSERT INTO bare_edition (shop_id, kind, slug, valid_from, contents, note, follows_network, version, used, created)
SELECT %s, r.kind, r.slug, %s, r.contents, '', false, 1, false, now()
FROM jsonb_to_recordset(%s::jsonb) AS r(kind text, slug text, contents jsonb)
"""


def materials() -> list[Staged]:
    """The shipped materials over and over, each time under other slugs."""
    shipped = [entry for entry in staged() if entry.kind == "material"]
    numbers = range(ROWS)
    plain = [{**shipped[n % len(shipped)].contents, "in_place_of": None} for n in numbers]
    contents = [{name: value for name, value in of.items() if value is not None} for of in plain]
    return [Staged("material", f"item-{n}", contents[n], "") for n in numbers]


def seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def bare(shop_id: int, entries: list[Staged]) -> float:
    rows = json.dumps([{"kind": e.kind, "slug": e.slug, "contents": e.contents} for e in entries])
    with connection.cursor() as cursor:
        cursor.execute("DELETE FROM bare_edition")
        return seconds(lambda: cursor.execute(BARE, [shop_id, DAY, rows]))


def written(entries: list[Staged]) -> float:
    here = office()
    with here.scope():
        return seconds(lambda: write_editions(here.shop, entries, make.NOW.date(), ""))


def imported(content: bytes) -> dict[str, float]:
    """What each step takes, in a shop of its own."""
    here: Office = office()
    files = Files(here)
    answers: list[Any] = []
    taken = {"sent": seconds(lambda: answers.append(files.send(content, "material")))}
    told = answers[0].json()
    taken["staged"] = seconds(lambda: work_off(told["run"]))
    taken["applied"] = seconds(lambda: answers.append(files.apply(told["id"])))
    assert answers[1].json()["added"] == ROWS, answers[1].content[:500]
    return taken


@pytest.mark.django_db(transaction=True)
def test_ratios_of_an_import(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, owner_login: DatabaseUrl, app_login: DatabaseUrl
) -> None:
    monkeypatch.setattr(priced, "timezone", Clock())
    log_in(owner_login)
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE IF EXISTS bare_edition")
        cursor.execute(TABLE)
    log_in(app_login)
    entries = materials()
    content = write_csv("material", entries)
    shop = make.shop()
    best: dict[str, float] = {}
    for _ in range(ROUNDS):
        measured = {"bare": bare(shop.pk, entries), "written": written(entries), **imported(content)}
        measured["read"] = seconds(lambda: read_csv("materials.csv", "material", content))
        best = {name: min(taken, best.get(name, taken)) for name, taken in measured.items()}
    whole = best["sent"] + best["staged"] + best["applied"]
    with capsys.disabled():
        print()
        print(f"a file of {ROWS:,} staged and applied / one bare insert   {whole / best['bare']:5.2f}")
        for name, words in (("sent", "sent"), ("staged", "staged, chunk by chunk"), ("applied", "applied")):
            print(f"  of it {words:<41} {best[name] / best['bare']:5.2f}")
        print(f"read alone, without a database / bare              {best['read'] / best['bare']:5.2f}")
        print(f"written with history / bare                        {best['written'] / best['bare']:5.2f}")
    log_in(owner_login)
    with connection.cursor() as cursor:
        cursor.execute("DROP TABLE bare_edition")
    log_in(app_login)
