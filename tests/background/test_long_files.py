"""A file of thousands of rows is staged in the background, chunk by chunk, and is then the same as a short one."""

from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.celery import app
from costbase.models import Run, RunChunk, ShopEdition, ShopImportRow
from quotes.actions import priced
from tests.background.working import next_published, work_off
from tests.rest.files import Files
from tests.rest.office import Office, office, problem
from tests.rest.quoting import Clock

RATES = "slug,name,cost_per_hour,billed_per_hour,overtime_factor\n"
TRADE = '[rate.{slug}]\nname = "Trade"\ncost_per_hour = "30.00"\nbilled_per_hour = "80.00"\novertime_factor = "1.5"\n'


@pytest.fixture
def here(db: None, monkeypatch: pytest.MonkeyPatch) -> Office:
    monkeypatch.setattr(priced, "timezone", Clock())
    return office()


@pytest.fixture
def files(here: Office) -> Files:
    return Files(here)


def rows(count: int) -> str:
    return RATES + "".join(f"trade-{n},Trade {n},30.00,80.00,1.5\n" for n in range(count))


def sent(files: Files, content: str, kind: str = "rate") -> dict[str, Any]:
    """A long file, as answered: a run is to stage it."""
    answer = files.send(content, kind)
    assert answer.status_code == 202, answer.content.decode()
    document: dict[str, Any] = answer.json()
    assert document["state"] == "staging"
    assert document["run"] is not None
    return document


def test_five_hundred_rows_are_staged_at_once_and_one_more_by_a_run(files: Files) -> None:
    assert files.staged(rows(500), "rate")["added"] == 500
    told = sent(files, rows(501))

    assert files.get(f"runs/{told['run']}").json()["total"] == 3
    assert files.get(f"imports/{told['id']}").json()["state"] == "staging"


def test_a_long_table_is_staged_in_chunks_and_applied_whole(files: Files, here: Office) -> None:
    told = sent(files, rows(1_300))
    with CaptureQueriesContext(connection) as queries:
        run = work_off(told["run"])

    assert (run.state, run.total, run.result) == ("done", 4, {"rows": 1_300, "faulty": 0})
    # Some twenty for each chunk, whatever its rows.
    assert len(queries) < 120
    staged = files.get(f"imports/{told['id']}").json()
    assert (staged["state"], staged["added"], len(staged["difference"]["added"])) == ("staged", 1_300, 100)
    assert files.apply(told["id"]).status_code == 200
    with here.scope():
        assert ShopEdition.objects.for_shop(here.shop).count() == 1_300


def test_a_long_toml_file_is_staged_likewise(files: Files) -> None:
    told = sent(files, "".join(TRADE.format(slug=f"trade-{n}") for n in range(700)), "")
    run = work_off(told["run"])

    assert (run.total, run.result) == (3, {"rows": 700, "faulty": 0})
    assert files.get(f"imports/{told['id']}").json()["added"] == 700


def test_faults_of_every_chunk_are_told_with_their_rows(files: Files) -> None:
    content = rows(1_100).replace("trade-7,Trade 7,", "trade-7,,").replace("trade-1050,Trade 1050,30.00", "trade-1050,Cook,-1")
    # The same slug in two chunks.
    told = sent(files, content + "trade-3,Again,30.00,80.00,1.5\n")
    run = work_off(told["run"])

    faults = files.get(f"imports/{told['id']}").json()["faults"]
    assert run.result["faulty"] == 3
    assert [(fault["place"], fault["column"]) for fault in faults] == [
        ("row 9", "name"),
        ("row 1052", "cost_per_hour"),
        ("row 1102", "slug"),
    ]
    assert faults[2]["reason"] == "trade-3 is there already: row 5"


def test_a_long_file_that_is_no_toml_is_told_once(files: Files) -> None:
    told = sent(files, "[a]\n" * 1_200, "")
    run = work_off(told["run"])

    assert run.state == "done"
    (fault,) = files.get(f"imports/{told['id']}").json()["faults"]
    assert "line 2" in fault["reason"]


def test_a_chunk_that_is_done_is_not_done_again_when_its_worker_is_lost(files: Files, here: Office) -> None:
    told = sent(files, rows(1_300))
    n = next_published(told["run"])
    assert n is not None
    app.tasks[Run.objects.get(pk=told["run"]).task](told["run"], n)
    # The second chunk was begun by a worker that is no more.
    RunChunk.objects.filter(run_id=told["run"], n=2).update(attempts=1)

    run = work_off(told["run"])

    assert (run.state, run.result["rows"]) == ("done", 1_300)
    with here.scope():
        assert ShopImportRow.objects.for_shop(here.shop).count() == 1_300


def test_an_import_that_is_still_staged_is_not_applied(files: Files) -> None:
    told = sent(files, rows(600))

    refused = problem(files.apply(told["id"]), 409)
    assert refused["code"] == "import_state"
    assert "wait for its run" in refused["detail"]


def test_to_discard_it_ends_its_run(files: Files) -> None:
    told = sent(files, rows(600))

    assert files.discard(told["id"]).status_code == 204
    assert work_off(told["run"]).state == "cancelled"
    problem(files.get(f"imports/{told['id']}"), 404)


def test_a_networks_long_file_is_staged_in_its_scope(here: Office) -> None:
    files = Files(here, network=True)
    told = sent(files, rows(600))

    assert work_off(told["run"]).state == "done"
    assert files.apply(told["id"]).json()["added"] == 600
