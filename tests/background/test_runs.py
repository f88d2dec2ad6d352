"""What becomes of a run: chunk after chunk, whatever each of them does."""

from collections.abc import Callable, Iterator
from datetime import timedelta

import celery
import pytest
from celery import shared_task
from celery.exceptions import SoftTimeLimitExceeded
from django.db import IntegrityError, transaction

from costbase.actions import runs
from costbase.actions.runs import Chunk, Json, begin_chunk, fail_chunk, republish_lost_chunks, together
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.models import Network, Run, RunChunk, Shop, ShopEdition
from costbase.scope import assert_network_scope, assert_scope, shop_scope
from costbase.tasks import work_chunk
from tests import make
from tests.background.working import next_published, started, work_off

TASK = "tests.background.chunk"
_effects: list[Callable[[Chunk], Json]] = []


@shared_task(name=TASK)
def chunk_task(run_id: int, n: int) -> None:
    work_chunk(run_id, n, _effects[-1])


@pytest.fixture
def effect() -> Iterator[Callable[[Callable[[Chunk], Json]], None]]:
    """Says what the chunks of this test do."""
    yield _effects.append
    _effects.clear()


@pytest.fixture
def published(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, tuple[int, int]]]:
    """What was given to the broker, which is not asked."""
    sent: list[tuple[str, tuple[int, int]]] = []
    monkeypatch.setattr(celery.current_app, "send_task", lambda name, args: sent.append((name, args)))
    return sent


@pytest.fixture
def shop(db: None) -> Shop:
    return make.shop()


def add_edition(chunk: Chunk) -> Json:
    """Writes a row of the shop: it is there if and only if the chunk is done."""
    assert chunk.shop_id is not None
    assert_scope(chunk.shop_id)
    ShopEdition.objects.for_shop(chunk.shop_id).create(
        shop_id=chunk.shop_id, kind="rate", slug=f"chunk-{chunk.n}", valid_from=make.NOW.date(), contents={}
    )
    return {"written": 1, "numbers": [chunk.n]}


def written(shop: Shop) -> list[str]:
    with shop_scope(shop.pk, make.OPERATOR):
        return list(ShopEdition.objects.for_shop(shop).order_by("id").values_list("slug", flat=True))


class TestStarting:
    def test_only_the_first_few_chunks_are_published_and_only_when_the_scope_commits(
        self, shop: Shop, published: list[object], django_capture_on_commit_callbacks: Callable[..., object]
    ) -> None:
        with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
            run = started(shop, TASK, [{}] * 20)
            assert published == []

        assert published == [(TASK, (run.pk, n)) for n in range(1, 9)]

    def test_a_broker_that_is_away_is_no_fault_of_what_was_committed(
        self,
        shop: Shop,
        monkeypatch: pytest.MonkeyPatch,
        django_capture_on_commit_callbacks: Callable[..., object],
    ) -> None:
        def refused(name: str, args: object) -> None:
            raise ConnectionError

        monkeypatch.setattr(celery.current_app, "send_task", refused)
        with django_capture_on_commit_callbacks(execute=True):  # type: ignore[attr-defined]
            run = started(shop, TASK, [{}])

        assert Run.objects.get(pk=run.pk).state == "waiting"

    def test_a_run_without_chunks_is_done_at_once(self, shop: Shop) -> None:
        run = started(shop, TASK, [])

        assert (run.state, run.total, run.finished) == ("done", 0, make.NOW)

    def test_a_key_makes_it_the_only_one_of_its_kind(self, shop: Shop) -> None:
        def once_a_night() -> Run:
            return runs.start_run(by=make.OPERATOR, owner=shop, kind="test", task=TASK, chunks=[{}], key="a", now=make.NOW)

        with shop_scope(shop.pk, make.OPERATOR):
            once_a_night()
            with pytest.raises(IntegrityError), transaction.atomic():
                once_a_night()

    def test_it_needs_the_scope_of_its_owner(self, shop: Shop) -> None:
        other = make.shop()
        with shop_scope(other.pk, make.OPERATOR), pytest.raises(RuntimeError):
            runs.start_run(by=make.OPERATOR, owner=shop, kind="test", task=TASK, chunks=[{}], now=make.NOW)


@pytest.mark.usefixtures("published")
class TestWorking:
    def test_every_chunk_is_done_once_and_their_findings_are_put_together(
        self, shop: Shop, effect: Callable[..., None]
    ) -> None:
        effect(add_edition)
        run = work_off(started(shop, TASK, [{"part": n} for n in range(20)]).pk)

        assert (run.state, run.done, run.failed) == ("done", 20, 0)
        assert run.result == {"written": 20, "numbers": list(range(1, 21))}
        assert written(shop) == [f"chunk-{n}" for n in range(1, 21)]

    def test_the_closing_chunk_begins_when_all_others_are_done(self, shop: Shop, effect: Callable[..., None]) -> None:
        seen: list[Json] = []
        effect(lambda chunk: seen.append(chunk.params) or {})  # type: ignore[func-returns-value]

        run = work_off(started(shop, TASK, [{"n": n} for n in range(10)], closing={"last": True}).pk)

        assert run.state == "done"
        assert seen == [*({"n": n} for n in range(10)), {"last": True}]

    def test_a_chunk_that_is_delivered_twice_is_done_once(self, shop: Shop, effect: Callable[..., None]) -> None:
        effect(add_edition)
        run = started(shop, TASK, [{}, {}])
        chunk_task(run.pk, 1)
        chunk_task(run.pk, 1)

        assert Run.objects.get(pk=run.pk).done == 1
        assert written(shop) == ["chunk-1"]
        assert next_published(run.pk) == 2

    def test_a_networks_chunk_works_in_the_networks_scope(self, db: None, effect: Callable[..., None]) -> None:
        network: Network = make.network()
        effect(lambda chunk: {"scope": assert_network_scope(network.pk).actor.request_id})

        run = work_off(started(network, TASK, [{}]).pk)

        assert run.result == {"scope": f"run-{run.pk}"}

    def test_chunks_know_who_asked_for_the_run(self, shop: Shop, effect: Callable[..., None]) -> None:
        effect(lambda chunk: {"asked_by": f"{chunk.actor.person_id} as {chunk.actor.role}"})
        run = started(shop, TASK, [{}])
        Run.objects.filter(pk=run.pk).update(asked_by=17)

        assert work_off(run.pk).result == {"asked_by": "17 as system"}


def test_results_add_up_and_long_lists_are_cut() -> None:
    first = together({}, {"count": 2, "list": [0] * 150, "word": "a"})
    second = together(first, {"count": 3, "list": [1] * 150, "word": "b", "flag": True})
    third = together(second, {"list": [2]})

    assert second == {"count": 5, "list": [0] * 150 + [1] * 50, "list_left_out": 100, "word": "b", "flag": True}
    assert third["list_left_out"] == 101


def refuse(chunk: Chunk) -> Json:
    add_edition(chunk)
    raise CalculationError("expected another edition", field="rate/helper")


def refuse_often(chunk: Chunk) -> Json:
    raise CalculationFaults([CalculationError("expected a", field="x"), CalculationError("expected b", field="y")])


def break_down(chunk: Chunk) -> Json:
    add_edition(chunk)
    raise ZeroDivisionError("with somebody's name in it")


def take_too_long(chunk: Chunk) -> Json:
    raise SoftTimeLimitExceeded


@pytest.mark.usefixtures("published")
class TestFailing:
    @pytest.mark.parametrize(
        ("fails", "attempts", "reason"),
        [
            (refuse, 1, "part 2 of 3: rate/helper: expected another edition"),
            (refuse_often, 1, "part 2 of 3: x: expected a; 2 faults in all"),
            (break_down, 3, "part 2 of 3: ZeroDivisionError; the log says more"),
            (take_too_long, 3, "part 2 of 3: took longer than a part may take"),
        ],
    )
    def test_a_chunk_that_goes_on_failing_ends_the_run_and_says_why(
        self, shop: Shop, effect: Callable[..., None], fails: Callable[[Chunk], Json], attempts: int, reason: str
    ) -> None:
        effect(lambda chunk: fails(chunk) if chunk.n == 2 else add_edition(chunk))

        run = work_off(started(shop, TASK, [{}, {}, {}]).pk)

        assert (run.state, run.failed, run.reason) == ("failed", attempts, reason)
        assert run.finished is not None
        assert "chunk-2" not in written(shop)

    def test_a_chunk_that_fails_once_is_tried_again(self, shop: Shop, effect: Callable[..., None]) -> None:
        effect(lambda chunk: break_down(chunk) if chunk.attempt == 1 else add_edition(chunk))

        run = work_off(started(shop, TASK, [{}]).pk)

        assert (run.state, run.done, run.failed, run.reason) == ("done", 1, 1, "")
        assert written(shop) == ["chunk-1"]

    def test_a_chunk_that_loses_its_worker_every_time_is_not_begun_for_ever(self, shop: Shop) -> None:
        run = started(shop, TASK, [{}])
        # A worker that dies leaves nothing but the count of its attempt.
        begun = [begin_chunk(run.pk, 1, now=make.NOW) for _ in range(4)]

        run.refresh_from_db()
        assert [chunk.attempt if chunk else None for chunk in begun] == [1, 2, 3, None]
        assert run.state == "failed"
        assert run.reason == "part 1 of 1: begun 3 times, and each time the worker was lost before it ended"

    def test_a_failure_that_comes_after_the_end_changes_nothing(self, shop: Shop) -> None:
        run = started(shop, TASK, [{}, {}])
        late = begin_chunk(run.pk, 1, now=make.NOW)
        other = begin_chunk(run.pk, 2, now=make.NOW)
        assert late is not None
        assert other is not None
        fail_chunk(other, "for a reason", final=True, now=make.NOW)
        fail_chunk(late, "for another", final=True, now=make.NOW)

        run.refresh_from_db()
        assert (run.failed, run.reason) == (1, "part 2 of 2: for a reason")


class TestLosing:
    @pytest.fixture(autouse=True)
    def _sent(self, published: list[tuple[str, tuple[int, int]]], shop: Shop) -> None:
        self.sent, self.shop = published, shop

    def found(self, minutes: float, capture: Callable[..., object]) -> list[int]:
        """The numbers of the chunks that are published again so long after the start."""
        self.sent.clear()
        with capture(execute=True):  # type: ignore[attr-defined]
            count = republish_lost_chunks(now=make.NOW + timedelta(minutes=minutes))
        assert count == len(self.sent)
        return [n for _, (_, n) in self.sent]

    def test_what_was_published_long_ago_and_is_not_done_is_published_again(
        self, django_capture_on_commit_callbacks: Callable[..., object]
    ) -> None:
        run = started(self.shop, TASK, [{}] * 10)
        RunChunk.objects.filter(run=run, n=3).update(state="done")
        # Begun a minute later: it may still be at work.
        begin_chunk(run.pk, 4, now=make.NOW + timedelta(minutes=1))

        assert self.found(1.9, django_capture_on_commit_callbacks) == []
        assert self.found(2.1, django_capture_on_commit_callbacks) == [1, 2, 5, 6, 7, 8]
        assert self.found(3.1, django_capture_on_commit_callbacks) == [4]
        assert self.found(4.2, django_capture_on_commit_callbacks) == [1, 2, 5, 6, 7, 8]

    def test_nothing_of_a_run_that_is_over_is_published_again(
        self, django_capture_on_commit_callbacks: Callable[..., object]
    ) -> None:
        run = started(self.shop, TASK, [{}])
        Run.objects.filter(pk=run.pk).update(state="failed", finished=make.NOW)

        assert self.found(60, django_capture_on_commit_callbacks) == []


def test_runs_that_are_long_over_are_forgotten_with_their_chunks(shop: Shop) -> None:
    old, newer, open_ = (started(shop, TASK, [{}]) for _ in range(3))
    Run.objects.filter(pk=old.pk).update(state="cancelled", finished=make.NOW)
    Run.objects.filter(pk=newer.pk).update(state="cancelled", finished=make.NOW + timedelta(days=2))

    assert runs.forget_runs(before=make.NOW + timedelta(days=1)) == 1
    assert set(Run.objects.values_list("pk", flat=True)) == {newer.pk, open_.pk}
    assert set(RunChunk.objects.values_list("run_id", flat=True)) == {newer.pk, open_.pk}
