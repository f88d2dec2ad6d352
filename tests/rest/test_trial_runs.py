"""Drafts tried on many issued quotes, in the background: what is begun, what is kept, who may look."""

from datetime import timedelta
from decimal import Decimal
from typing import Any

import celery
import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from costbase.models import Run
from quotes import tasks
from quotes.actions import trial_runs
from quotes.actions.trial_runs import forget_trials
from quotes.models import TriedQuote
from tests import make
from tests.background.working import work_off
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Body, Clock, Quoting, contents_of

DEARER = {"kind": "rate", "slug": "estimator", "contents": {**contents_of("rate", "estimator"), "billed_per_hour": "135.00"}}


@pytest.fixture(autouse=True)
def unpublished(monkeypatch: pytest.MonkeyPatch) -> None:
    """No worker is asked; the tests work the chunks off themselves, two quotes in each."""
    assert tasks.trial_chunk.name == trial_runs.TRIAL_TASK
    monkeypatch.setattr(celery.current_app, "send_task", lambda name, args: None)
    monkeypatch.setattr(trial_runs, "QUOTES_A_CHUNK", 2)


def begun(quoting: Quoting, *drafts: Body, last_issued: int = 500, **kwargs: Any) -> Any:
    body = {"editions": list(drafts) or [DEARER], "last_issued": last_issued}
    answer = quoting.office.post("editions/trials", body, **kwargs)
    assert answer.status_code == 201, answer.content.decode()
    return answer


@pytest.fixture
def three(quoting: Quoting, clock: Clock) -> list[Body]:
    """Three issued quotes: a rebuild, a reseal and a rebuild again."""
    issued = []
    for changes in ({}, {"plan": "reseal", "measures": []}, {}):
        issued.append(quoting.issued(**changes))
        clock.turn(hours=1)
    return issued


def test_a_trial_is_begun_and_worked_off_chunk_by_chunk(quoting: Quoting, three: list[Body]) -> None:
    answer = begun(quoting)
    assert answer["Location"].endswith(f"/editions/trials/{answer.json()['run']['id']}")
    first = answer.json()
    assert (first["run"]["kind"], first["run"]["state"], first["run"]["total"]) == ("trial", "waiting", 2)
    assert first["summary"]["tried"] == 0
    assert first["editions"] == [{"kind": "rate", "slug": "estimator", "way": "contents"}]

    run = work_off(first["run"]["id"])

    assert (run.state, run.result["tried"], run.result["refused"]) == ("done", 3, 0)
    done = quoting.office.get(answer["Location"]).json()
    assert (done["run"]["state"], done["on"], done["currency"]) == ("done", "2026-03-02", "USD")
    # Six hours of the estimator at ten more in each of the two rebuilds, published at 29912.27.
    summary = done["summary"]
    assert (summary["tried"], summary["worked_out"], summary["changed"]) == (3, 3, run.result["changed"])
    reseal = Decimal(three[1]["amounts"]["base"])
    assert Decimal(summary["base"]["without"]) == 2 * Decimal("29912.27") + reseal
    assert summary["base"]["largest"] == {"difference": "60.00", "quote": three[2]["id"]}


def test_every_quote_is_told_as_a_request_tells_it(quoting: Quoting, three: list[Body]) -> None:
    run = work_off(begun(quoting).json()["run"]["id"])

    page = quoting.office.get(f"editions/trials/{run.pk}/quotes").json()

    asked = quoting.office.post("editions/trial", {"editions": [DEARER], "quotes": {"last_issued": 3}}).json()
    assert page["results"] == asked["quotes"]
    assert [row["quote"] for row in page["results"]] == [quote["id"] for quote in reversed(three)]
    changed = quoting.office.get(f"editions/trials/{run.pk}/quotes?changed=false").json()["results"]
    assert [row["quote"] for row in changed] == [row["quote"] for row in page["results"] if not row["changed"]]
    assert quoting.office.get(f"editions/trials/{run.pk}/quotes?refused=true").json()["results"] == []


def test_pages_follow_each_other_and_take_one_statement(quoting: Quoting, three: list[Body]) -> None:
    run = work_off(begun(quoting).json()["run"]["id"])
    path = f"editions/trials/{run.pk}/quotes"
    counts = []
    for limit in (1, 3):
        with CaptureQueriesContext(connection) as captured:
            page = quoting.office.get(f"{path}?limit={limit}").json()
        counts.append(len(captured))
        assert len(page["results"]) == limit
    assert counts[0] == counts[1]
    first = quoting.office.get(f"{path}?limit=2").json()
    second = quoting.office.get(first["next"]).json()
    assert [row["quote"] for row in (*first["results"], *second["results"])] == [quote["id"] for quote in reversed(three)]


def test_only_so_many_of_the_last_are_tried(quoting: Quoting, three: list[Body]) -> None:
    run = work_off(begun(quoting, last_issued=1).json()["run"]["id"])
    assert (run.total, run.result["tried"]) == (1, 1)
    with quoting.office.scope():
        assert [row.quote_id for row in TriedQuote.objects.for_shop(quoting.shop)] == [three[2]["id"]]


def test_a_shop_that_issued_nothing_has_a_trial_that_is_done_at_once(quoting: Quoting) -> None:
    told = begun(quoting).json()
    assert (told["run"]["state"], told["summary"]["tried"], told["summary"]["base"]["largest"]) == ("done", 0, None)


def test_a_quote_that_is_refused_with_the_drafts_is_counted_and_kept_with_its_reason(quoting: Quoting) -> None:
    quoting.issued(plan="reseal", measures=[])
    plan = {**contents_of("plan", "reseal"), "assemblies": ["cap-reseal"], "quantities": {}}
    run = work_off(begun(quoting, {"kind": "plan", "slug": "reseal", "contents": plan}).json()["run"]["id"])

    assert (run.result["tried"], run.result["refused"], run.result["changed"]) == (1, 1, 1)
    (row,) = quoting.office.get(f"editions/trials/{run.pk}/quotes?refused=true").json()["results"]
    assert (row["refusal"]["with"]["code"], row["refusal"]["without"]) == ("nothing_to_do", None)
    told = quoting.office.get(f"editions/trials/{run.pk}").json()["summary"]
    assert (told["worked_out"], told["base"]["difference"]) == (0, "0.00")


def test_drafts_are_checked_before_anything_begins(quoting: Quoting) -> None:
    bad = {**DEARER, "contents": {**DEARER["contents"], "billed_per_hour": "ten"}}  # type: ignore[dict-item]
    answer = quoting.office.post("editions/trials", {"editions": [bad], "last_issued": 10})
    assert places(answer) == {"#/editions/0/contents/billed_per_hour": "bad_contents"}
    assert not Run.objects.for_shop(quoting.shop).exists()
    many = quoting.office.post("editions/trials", {"editions": [DEARER], "last_issued": 501})
    assert places(many) == {"#/last_issued": "max_value"}
    (fault,) = problem(quoting.office.post("editions/trial", {"editions": [DEARER], "quotes": {"last_issued": 51}}), 422)[
        "errors"
    ]
    assert "editions/trials" in fault["detail"]


def test_drafts_that_no_longer_fit_end_the_run(quoting: Quoting, three: list[Body]) -> None:
    juggler = {**contents_of("rate", "estimator"), "name": "Juggler"}
    quoting.own_edition("rate", "juggler", **juggler)
    work = {**contents_of("assembly", "hand-over"), "labour": [{"trade": "juggler", "rate": "1 * hour"}]}
    run_id = begun(quoting, {"kind": "assembly", "slug": "hand-over", "contents": work}).json()["run"]["id"]
    with quoting.office.scope():
        Run.objects.get(pk=run_id)
        quoting.shop.refresh_from_db()
    withdrawn = quoting.office.get("rates/juggler/editions").json()["results"][0]
    path = f"rates/juggler/editions/{withdrawn['id']}"
    assert quoting.office.change(path, None, method="DELETE").status_code == 204

    run = work_off(run_id)

    assert run.state == "failed"
    assert "no trade juggler is in force" in run.reason
    with quoting.office.scope():
        assert not TriedQuote.objects.for_shop(quoting.shop).exists()


def test_the_same_request_again_begins_nothing_new(quoting: Quoting, three: list[Body]) -> None:
    answers = [begun(quoting, headers={"Idempotency-Key": "once"}) for _ in range(2)]
    assert answers[0].json() == answers[1].json()
    assert Run.objects.for_shop(quoting.shop).count() == 1


def test_another_run_is_no_trial_and_another_shops_trial_is_not_there(quoting: Quoting, elsewhere: Office) -> None:
    run_id = begun(quoting).json()["run"]["id"]
    for path in (f"editions/trials/{run_id}", f"editions/trials/{run_id}/quotes"):
        assert quoting.office.get(path).status_code == 200
        assert problem(elsewhere.get(path), 404)["code"] == "not_found"
        assert problem(quoting.office.get(path, role="estimator"), 403)["code"] == "role_not_allowed"
        Run.objects.filter(pk=run_id).update(kind="nightly")
        assert problem(quoting.office.get(path), 404)["code"] == "not_found"
        Run.objects.filter(pk=run_id).update(kind="trial")


def test_what_was_found_is_forgotten_with_its_age(quoting: Quoting, three: list[Body]) -> None:
    work_off(begun(quoting).json()["run"]["id"])
    with quoting.office.scope():
        rows = TriedQuote.objects.for_shop(quoting.shop)
        oldest = rows.order_by("pk").values_list("pk", flat=True)[0]
        rows.filter(pk=oldest).update(created=make.NOW - timedelta(days=91))
        assert forget_trials(by=make.OPERATOR, shop=quoting.shop, before=make.NOW - timedelta(days=90)) == 1
        assert rows.count() == 2
