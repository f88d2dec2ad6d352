"""Found notes over the API, on the small roof of DEVELOPERS.md section 1: a pot of 137.71, one frame exposed."""

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import ChangeOrder, FoundNote, Job
from tests import make
from tests.rest.office import Office, office, places, problem
from tests.rest.quoting import Clock
from tests.rest.test_idempotency import together
from tests.rest.working import at_work, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
PHOTOGRAPH = {"reference": "frame-17.jpg", "sha256": "ab" * 32, "words": "the frame, black"}


def opened(small: SmallShop) -> Job:
    return at_work(small, booked(small), "opening_up")


def note(small: SmallShop, job: Job, extent: str = "1 each", role: str = ESTIMATOR, **changes: Any) -> Any:
    body = {"component": "opening_frame", "extent": extent, **changes}
    return small.office.post(f"jobs/{job.pk}/found-notes", body, role=role)


def pot(small: SmallShop, job: Job) -> Any:
    return small.office.get(f"jobs/{job.pk}").json()["pot"]


def wait(small: SmallShop, job: Job, *covers: str) -> None:
    with small.office.scope():
        ChangeOrder(
            shop=small.shop, job_id=job.pk, number=1, state="waiting", cause="beyond_pot", title="Invented", covers=[*covers],
            created=make.NOW, sent_at=make.NOW,
        ).save(force_insert=True)  # fmt: skip


class TestDraws:
    def test_the_frame_takes_the_pot_as_on_the_page(self, small: SmallShop) -> None:
        job = opened(small)

        answer = note(small, job, photographs=[PHOTOGRAPH], note="soft all round")

        assert answer.status_code == 201, answer.content.decode()
        made = answer.json()
        assert {name: made[name] for name in ("number", "extent", "unit", "work", "set_up", "amount", "parts", "left")} == {
            "number": 1, "extent": "1.0000", "unit": "each", "work": "87.71", "set_up": "50.00", "amount": "137.71",
            "parts": "7.71", "left": "0.00",
        }  # fmt: skip
        assert made["left_by_component"] == [{"component": "opening_frame", "construction": "framed", "left": "-96.39"}]
        assert (made["photographs"], made["note"]) == ([PHOTOGRAPH], "soft all round")
        assert pot(small, job) == {"contingency": "137.71", "drawn": "137.71", "left": "0.00"}
        (frame,) = small.office.get(f"jobs/{job.pk}").json()["hidden"]
        assert frame["drawn"] == {"extent": "1.0000", "work": "87.71", "set_up": "50.00", "amount": "137.71"}
        assert small.office.get(answer["Location"]).json() == made
        # Visible work 3,491.79 and the draw.
        now = small.office.get(f"jobs/{job.pk}/bill").json()
        draws = {item["tax_class"]: item["amount"] for item in now["items"] if item["source"] == "draw"}
        assert (draws, now["net"]) == ({"labour": "130.00", "parts": "7.71"}, "3629.50")

    def test_the_set_up_comes_once_and_two_halves_pass_the_pot_by_a_cent(self, small: SmallShop) -> None:
        # Half a frame is 43.8556, 43.86; with the set-up 93.86, which leaves 43.85.
        job = opened(small)
        assert note(small, job, "0.5 each").json()["left"] == "43.85"

        refused = problem(note(small, job, "0.5 each"), 409)

        assert (refused["code"], refused["left"], refused["wanted"]) == ("pot_passed", "43.85", "43.86")
        assert "change order" in refused["detail"]
        second = note(small, job, "0.4 each").json()
        # 0.4 x 87.7112 = 35.08448.
        assert (second["work"], second["set_up"], second["left"]) == ("35.08", "0.00", "8.77")

    def test_a_correction_gives_everything_back(self, small: SmallShop) -> None:
        job = opened(small)
        note(small, job)
        path = f"jobs/{job.pk}/found-notes/1/correction"

        back = small.office.post(path, {"reason": "it was the other vent"}, role=ESTIMATOR)

        assert back.status_code == 201, back.content.decode()
        told = back.json()
        assert (told["number"], told["corrects"], told["extent"], told["amount"], told["left"]) == (
            2, 1, "-1.0000", "-137.71", "137.71",
        )  # fmt: skip
        assert small.office.get(back["Location"]).json() == told
        assert problem(small.office.post(path, {"reason": "again"}), 409)["code"] == "corrected_before"
        again = small.office.post(f"jobs/{job.pk}/found-notes/2/correction", {"reason": "again"})
        assert problem(again, 409)["code"] == "corrected_before"
        # The next note is the first again, with the set-up.
        assert note(small, job).json()["amount"] == "137.71"
        listed = small.office.get(f"jobs/{job.pk}/found-notes?component=opening_frame").json()["results"]
        assert [(one["number"], one["corrects"]) for one in listed] == [(3, None), (2, 1), (1, None)]

    def test_why_walks_to_what_is_stored(self, small: SmallShop) -> None:
        job = opened(small)
        note(small, job)
        small.office.post(f"jobs/{job.pk}/found-notes/1/correction", {"reason": "slip"})

        drawn = small.office.get(f"jobs/{job.pk}/found-notes/1/why", role=ESTIMATOR).json()
        back = small.office.get(f"jobs/{job.pk}/found-notes/2/why").json()

        assert (drawn["value"], drawn["stored"], drawn["exact"]) == ("137.71", "137.71", True)
        assert [step["value"] for step in drawn["steps"]] == [
            "1.0000", "87.711200", "87.71", "50.00", "0.087916", "7.71", "137.71",
        ]  # fmt: skip
        assert (back["value"], back["stored"]) == ("-137.71", "-137.71")
        problem(small.office.get(f"jobs/{job.pk}/found-notes/9/why"), 404)


class TestRefusals:
    def test_a_component_without_an_agreed_price_is_a_change_order(self, small: SmallShop) -> None:
        job = opened(small)

        assert places(note(small, job, component="deck", extent="3 ft2")) == {"#/component": "no_agreed_price"}
        assert places(note(small, job, construction="laminated")) == {"#/construction": "no_agreed_price"}

    def test_more_than_was_exposed_is_refused(self, small: SmallShop) -> None:
        refused = problem(note(small, opened(small), "2 each"), 409)

        assert (refused["code"], refused["left"], refused["wanted"]) == ("more_than_exposed", "1.0000", "2.0000")

    @pytest.mark.parametrize(
        ("changes", "place", "code"),
        [
            ({"extent": "3 ft2"}, "#/extent", "wrong_dimension"),
            ({"extent": "0 each"}, "#/extent", "bad_found_extent"),
            ({"counted": "bead"}, "#/counted", "counted_elsewhere"),
            ({"opening": 999_999}, "#/opening", "unknown_opening"),
        ],
    )
    def test_what_names_nothing_is_refused(self, small: SmallShop, changes: dict[str, Any], place: str, code: str) -> None:
        assert places(note(small, opened(small), **changes)) == {place: code}

    def test_a_photograph_has_a_whole_hash_or_none(self, small: SmallShop) -> None:
        refused = note(small, opened(small), photographs=[{"reference": "a.jpg", "sha256": "AB"}])

        assert places(refused) == {"#/photographs/0/sha256": "bad_hash"}

    def test_a_component_under_a_waiting_change_order_is_not_drawn(self, small: SmallShop) -> None:
        job = opened(small)
        wait(small, job, "opening_frame")

        assert problem(note(small, job), 409)["code"] == "covered_work"

    def test_one_that_is_not_covered_is_drawn_while_the_job_waits(self, small: SmallShop) -> None:
        job = at_work(small, opened(small), "waiting")
        wait(small, job, "deck")

        assert note(small, job).status_code == 201

    @pytest.mark.parametrize("states", [(), ("opening_up", "rebuilding", "testing", "handed_over")])
    def test_nothing_is_drawn_before_opening_or_after_handing_over(self, small: SmallShop, states: tuple[str, ...]) -> None:
        job = at_work(small, booked(small), *states)

        assert problem(note(small, job), 409)["code"] == "job_state"


class TestTwice:
    def test_a_tablet_that_sends_again_draws_once(self, small: SmallShop) -> None:
        job = opened(small)
        id_ = str(uuid.uuid4())
        first = note(small, job, client_id=id_)
        at_work(small, job, "rebuilding", "testing", "handed_over")

        again = note(small, job, client_id=id_)

        assert (again.status_code, again.json()) == (201, first.json())
        assert pot(small, job)["drawn"] == "137.71"

    def test_another_body_under_the_same_id_is_refused(self, small: SmallShop) -> None:
        job, id_ = opened(small), str(uuid.uuid4())
        note(small, job, client_id=id_)

        assert problem(note(small, job, "0.5 each", client_id=id_), 409)["code"] == "said_otherwise"
        assert problem(note(small, opened(small), client_id=id_), 409)["code"] == "said_otherwise"

    def test_a_correction_sent_again_is_one(self, small: SmallShop) -> None:
        job = opened(small)
        note(small, job)
        path, body = f"jobs/{job.pk}/found-notes/1/correction", {"reason": "slip", "client_id": str(uuid.uuid4())}

        assert small.office.post(path, body).json() == small.office.post(path, body).json()
        assert pot(small, job)["left"] == "137.71"


class TestWho:
    def test_an_analyst_reads_and_draws_nothing(self, small: SmallShop) -> None:
        job = opened(small)

        problem(note(small, job, role=ANALYST), 403)
        assert small.office.get(f"jobs/{job.pk}/found-notes", role=ANALYST).json()["results"] == []
        problem(small.office.post(f"jobs/{job.pk}/found-notes/1/correction", {"reason": "x"}, role=ANALYST), 403)

    def test_another_shop_finds_nothing(self, small: SmallShop, elsewhere: Office) -> None:
        job = opened(small)
        note(small, job)

        for path in (f"jobs/{job.pk}/found-notes", f"jobs/{job.pk}/found-notes/1"):
            problem(elsewhere.get(path), 404)
        body = {"component": "opening_frame", "extent": "1 each"}
        problem(elsewhere.post(f"jobs/{job.pk}/found-notes", body), 404)
        problem(elsewhere.post(f"jobs/{job.pk}/found-notes/1/correction", {"reason": "x"}), 404)
        problem(small.office.get(f"jobs/{job.pk}/found-notes/7"), 404)


def test_the_tenth_note_costs_as_many_queries_as_the_first(small: SmallShop) -> None:
    job = opened(small)
    counts = []
    for _ in range(10):
        with CaptureQueriesContext(connection) as queries:
            assert note(small, job, "0.05 each").status_code == 201
        counts.append(len(queries))
    # Only the first reads the kept cost base, if at all.
    assert max(counts[1:]) == min(counts[1:]) <= counts[0]


@pytest.mark.django_db(transaction=True)
def test_of_two_notes_at_once_that_fit_one_by_one_only_one_is_drawn(clock: Clock) -> None:
    # Each half fits; together they are a cent more than the pot.
    small = SmallShop(office())
    job = opened(small)

    answers = together(2, lambda _: note(small, job, "0.5 each"))

    assert sorted(answer.status_code for answer in answers) == [201, 409]
    assert [answer.json()["code"] for answer in answers if answer.status_code == 409] == ["pot_passed"]
    assert pot(small, job) == {"contingency": "137.71", "drawn": "93.86", "left": "43.85"}


@pytest.mark.django_db(transaction=True)
def test_twins_of_one_entry_draw_once(clock: Clock) -> None:
    small = SmallShop(office())
    job, id_ = opened(small), str(uuid.uuid4())

    answers = together(4, lambda _: note(small, job, "0.25 each", client_id=id_))

    assert {answer.status_code for answer in answers} == {201}
    assert all(answer.json() == answers[0].json() for answer in answers)
    with small.office.scope():
        assert FoundNote.objects.for_shop(small.shop).filter(job_id=job.pk).count() == 1
