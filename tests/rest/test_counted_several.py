"""Several pieces of counted work settled in one request, and the rest as quoted."""

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import CountedSettlement, Job
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Quoting
from tests.rest.test_counted_work import settle
from tests.rest.test_found_notes import note, opened, wait
from tests.rest.working import at_work, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
FRAME = "backing-frame"


def several(shop: Quoting, job: Job, *works: Any, role: str = ESTIMATOR, headers: Any = None, **changes: Any) -> Any:
    body = {"works": list(works), **changes}
    return shop.office.post(f"jobs/{job.pk}/counted/several", body, role=role, headers=headers or {})


def work(assembly: str, done: str | None = None, **changes: Any) -> Any:
    return {"assembly": assembly, **({} if done is None else {"done": done}), **changes}


@pytest.fixture
def job(quoting: Quoting) -> Job:
    """A job of the shipped cost base with a dozen pieces of counted work."""
    return at_work(quoting, booked(quoting), "opening_up")


def quoted(quoting: Quoting, job: Job) -> dict[str, str]:
    """What was quoted of each piece of counted work of the job, in the order of its labour lines."""
    lines = quoting.office.get(f"jobs/{job.pk}").json()["lines"]
    return {
        line["slug"]: f"{line['details']['counted']['quantity']} {line['details']['counted']['unit']}"
        for line in lines
        if line["kind"] == "labour" and "counted" in line["details"]
    }


def kept(shop: Quoting) -> int:
    with shop.office.scope():
        return CountedSettlement.objects.for_shop(shop.shop).count()


class TestTogether:
    def test_a_sound_frame_is_billed_87_71_less_as_alone(self, small: SmallShop) -> None:
        job = opened(small)

        answer = several(small, job, work(FRAME, "0 each", note="sound"))

        assert answer.status_code == 201, answer.content.decode()
        (told,) = answer.json()["settled"]
        # 80.00 of labour and 7.71 of the strip; the set-up stays.
        assert (told["done"], told["credit"], told["note"]) == ("0.0000", "87.71", "sound")
        assert [line["amount"] for line in told["lines"]] == ["80.00", "7.71"]

    def test_what_is_named_without_a_quantity_and_all_the_rest_was_done_as_quoted(self, quoting: Quoting, job: Job) -> None:
        every = quoted(quoting, job)
        assert len(every) >= 5

        answer = several(
            quoting, job, work("wiring-repair"), work("dry-out", "1 day"), rest_as_quoted=True, note="looked at all"
        )

        told = answer.json()["settled"]
        assert [one["assembly"] for one in told[:2]] == ["wiring-repair", "dry-out"]
        assert {one["assembly"] for one in told} == set(every)
        assert [one["assembly"] for one in told if one["credit"] != "0.00"] == ["dry-out"]
        assert all(one["done"] == one["quoted"] for one in told if one["assembly"] != "dry-out")
        assert {one["note"] for one in told[2:]} == {"looked at all"}
        assert quoting.office.get(f"jobs/{job.pk}/counted").json()["results"][0]["assembly"] == told[-1]["assembly"]

    def test_the_rest_leaves_alone_what_was_settled_before(self, quoting: Quoting, job: Job) -> None:
        assert settle(quoting, job, "1 day", assembly="dry-out").status_code == 201

        told = several(quoting, job, rest_as_quoted=True).json()["settled"]

        assert "dry-out" not in {one["assembly"] for one in told}
        assert several(quoting, job, rest_as_quoted=True).json() == {"settled": []}

    def test_as_quoted_is_with_what_found_notes_drew_beyond(self, small: SmallShop) -> None:
        job = opened(small)
        assert note(small, job, counted=FRAME).status_code == 201

        (told,) = several(small, job, rest_as_quoted=True).json()["settled"]

        # One frame quoted, one drawn beyond it.
        assert (told["quoted"], told["done"], told["credit"]) == ("1.0000", "2.0000", "0.00")

    def test_it_takes_as_many_statements_for_two_as_for_all(self, quoting: Quoting, job: Job) -> None:
        every = list(quoted(quoting, job))
        several(quoting, job, rest_as_quoted=True)  # reads what is read once a process
        counts = {}
        for works in (every[:2], every):
            with CaptureQueriesContext(connection) as queries:
                answer = several(quoting, job, *(work(slug) for slug in works), rest_as_quoted=True)
            assert len(answer.json()["settled"]) == len(works)
            counts[len(works)] = len(queries)
        assert len(set(counts.values())) == 1 < len(counts), counts


class TestAllOrNone:
    def test_every_fault_points_at_its_row(self, quoting: Quoting, job: Job) -> None:
        answer = several(
            quoting,
            job,
            work("dry-out", "4 day"),
            work("wiring-repair", "1 each"),
            work("bead", "1 each"),
            work("cap-crack-laminate", "1 day"),
            rest_as_quoted=True,
        )

        assert problem(answer, 422)["code"] == "several_faults"
        assert places(answer) == {
            "#/works/0/done": "counted_beyond",
            "#/works/2/assembly": "not_counted",
            "#/works/3/done": "wrong_dimension",
        }
        assert kept(quoting) == 0

    def test_one_that_was_more_says_of_which_component_it_is_a_found_note(self, small: SmallShop) -> None:
        refused = several(small, opened(small), work(FRAME, "2 each"))

        told = problem(refused, 409)
        assert (told["code"], told["excess"], told["components"]) == ("counted_beyond", "1.0000", ["opening_frame"])
        assert places(refused, 409) == {"#/works/0/done": "counted_beyond"}

    def test_what_a_waiting_order_covers_is_not_settled_with_the_rest(self, small: SmallShop) -> None:
        job = opened(small)
        wait(small, job, FRAME)

        assert places(several(small, job, rest_as_quoted=True), 409) == {"#/rest_as_quoted": "covered_work"}
        assert places(several(small, job, work(FRAME)), 409) == {"#/works/0/component": "covered_work"}
        assert kept(small) == 0

    def test_what_does_not_fit_is_refused_at_its_place(self, small: SmallShop) -> None:
        job, id_ = opened(small), str(uuid.uuid4())

        assert places(several(small, job)) == {"#/works": "required"}
        assert places(several(small, job, work(FRAME), work(FRAME, "0 each"))) == {"#/works/1": "said_twice"}
        twice = several(small, job, work(FRAME, client_id=id_), work("bead", client_id=id_))
        assert places(twice) == {"#/works/1": "said_twice"}
        assert places(several(small, job, work(FRAME, "lots"))).keys() == {"#/works/0/done"}
        assert problem(several(small, booked(small), work(FRAME)), 409)["code"] == "job_state"


class TestSentTwice:
    def test_each_work_is_answered_as_the_first_time(self, quoting: Quoting, job: Job) -> None:
        one, two = str(uuid.uuid4()), str(uuid.uuid4())
        first = several(quoting, job, work("dry-out", "1 day", client_id=one)).json()["settled"]

        again = several(
            quoting, job, work("dry-out", "1 day", client_id=one), work("wiring-repair", client_id=two)
        ).json()["settled"]  # fmt: skip

        assert again[0] == first[0]
        assert (again[1]["assembly"], kept(quoting)) == ("wiring-repair", 2)
        other = several(quoting, job, work("wiring-repair"), work("dry-out", "2 day", client_id=one))
        assert places(other, 409) == {"#/works/1/client_id": "said_otherwise"}

    def test_with_a_key_the_rest_is_answered_again_too(self, small: SmallShop) -> None:
        job = opened(small)
        first, again = (several(small, job, rest_as_quoted=True, headers={"Idempotency-Key": "k"}) for _ in range(2))
        assert again.content == first.content
        assert (again["Idempotency-Replayed"], kept(small)) == ("true", 1)


def test_an_analyst_settles_nothing_and_another_shop_finds_nothing(small: SmallShop, elsewhere: Office) -> None:
    job = opened(small)

    problem(several(small, job, work(FRAME), role=ANALYST), 403)
    problem(elsewhere.post(f"jobs/{job.pk}/counted/several", {"rest_as_quoted": True}), 404)
