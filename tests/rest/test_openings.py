"""The opening record over the API, on the small roof and on the framed sample coach."""

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Job, OpeningEntry
from tests.rest import bodies
from tests.rest.office import Office, office, places, problem
from tests.rest.quoting import Clock, Quoting
from tests.rest.test_found_notes import PHOTOGRAPH, note, opened
from tests.rest.test_idempotency import together
from tests.rest.working import at_work, book, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db
DAY = "2026-03-02"
REAR = [{"section": "main", "opening": "rear vent"}]
FINDING = {
    "kind": "cracked skylight", "section": "main", "place": "skylight", "words": "the dome is cracked", "photographs": [],
    "recommendation": "a new dome within the year",
}  # fmt: skip


def entry(found: list[dict[str, Any]] | None = None, **changes: Any) -> dict[str, Any]:
    return {"day": DAY, "found": found or [], **changes}


def frame(**changes: Any) -> dict[str, Any]:
    return entry(
        [{"component": "opening_frame", "condition": "rotten", "photographs": [PHOTOGRAPH]}], **{"rings": REAR, **changes}
    )


def add(shop: Quoting, job: Job, body: Any, role: str = ESTIMATOR) -> Any:
    return shop.office.post(f"jobs/{job.pk}/openings{'/batch' if 'entries' in body else ''}", body, role=role)


def added(shop: Quoting, job: Job, body: Any) -> Any:
    answer = add(shop, job, body)
    assert answer.status_code == 201, answer.content.decode()
    return answer.json()


def framed(quoting: Quoting) -> Job:
    """The framed coach under a new skin: nothing seen, so that its whole deck, edges and caps are exposed."""
    made = quoting.posted(quoting.framed_body(measures=[])).json()["id"]
    assert quoting.issue(made).status_code == 200
    return at_work(quoting, book(quoting, made), "opening_up")


def cells(*codes: str) -> list[dict[str, str]]:
    return [{"section": "main", "cell": code} for code in codes]


class TestEntries:
    def test_a_rotten_frame_is_one_of_one(self, small: SmallShop) -> None:
        job = opened(small)

        made = added(small, job, frame(note="wet through", findings=[FINDING]))

        assert made["found"] == [
            {
                "component": "opening_frame", "construction": "framed", "unit": "each", "opened": "1.0000", "found": "1.0000",
                "condition": "rotten", "note": "", "photographs": [PHOTOGRAPH],
            }
        ]  # fmt: skip
        assert (made["rings"], made["findings"], made["note"], made["corrects"]) == (REAR, [FINDING], "wet through", None)
        assert small.office.get(f"jobs/{job.pk}/openings", role=ANALYST).json()["results"] == [made]
        # A found note may say where it comes from.
        assert note(small, job, opening=made["id"]).json()["opening"] == made["id"]

    def test_deck_is_measured_by_its_cells_and_counted_components_by_hand(self, quoting: Quoting) -> None:
        # 98 in wide with a radius of 2 in on either side: the crown is at least 94 in, a lane a quarter of it, a row 24 in.
        job = framed(quoting)

        made = added(
            quoting,
            job,
            entry(
                [
                    {"component": "deck", "condition": "soft"},
                    {"component": "edge", "found": "1 ft"},
                    {"component": "fasteners", "opened": "5 each", "found": "2 each", "note": "spun"},
                ],
                cells=cells("3C", "3D"),
                strips=[{"section": "main", "side": "driver", "index": 4}],
            ),
        )

        deck, edge, nuts = made["found"]
        assert deck["opened"] == deck["found"]
        assert 2 * 94 * 24 / 4 / 144 <= float(deck["opened"]) < 2 * 96 * 24 / 4 / 144
        assert (edge["opened"], edge["found"]) == ("2.0000", "1.0000")
        assert (nuts["opened"], nuts["found"], nuts["note"]) == ("5.0000", "2.0000", "spun")

    def test_a_batch_is_kept_whole_or_not_at_all(self, small: SmallShop) -> None:
        job = opened(small)
        front = entry(findings=[FINDING])
        refused = add(small, job, {"entries": [front, frame(), frame()]})

        assert places(refused, 409) == {"#/entries/2/found/0/component": "opened_twice"}
        assert small.office.get(f"jobs/{job.pk}/openings").json()["results"] == []

        kept = added(small, job, {"entries": [front, frame()]})["entries"]
        assert [len(one["found"]) for one in kept] == [0, 1]

    def test_a_batch_costs_as_many_queries_as_one_entry(self, quoting: Quoting) -> None:
        job = framed(quoting)
        counts = []
        for rows in (range(1, 2), range(2, 3), range(3, 13)):
            sound = [{"component": "deck", "condition": "sound"}]
            body = {"entries": [entry(sound, cells=cells(f"{row}A")) for row in rows]}
            with CaptureQueriesContext(connection) as queries:
                added(quoting, job, body)
            counts.append(len(queries))
        assert counts[1] == counts[2] <= counts[0]

    def test_more_than_a_hundred_at_once_are_refused(self, small: SmallShop) -> None:
        body = {"entries": [entry(findings=[FINDING])] * 101}

        assert places(add(small, opened(small), body)) == {"#/entries": "max_length"}


class TestCorrections:
    def test_an_entry_stands_in_place_of_another(self, small: SmallShop) -> None:
        job = opened(small)
        first = added(small, job, frame())
        assert problem(add(small, job, frame()), 409)["code"] == "opened_twice"
        sound = entry([{"component": "opening_frame", "condition": "sound"}], rings=REAR, corrects=first["id"])

        second = added(small, job, sound)

        assert (second["corrects"], second["found"][0]["found"]) == (first["id"], "0.0000")
        assert places(add(small, job, sound), 409) == {"#/corrects": "corrected_before"}
        assert places(add(small, job, {**sound, "corrects": 999_999})) == {"#/corrects": "unknown_opening"}
        report = small.office.get(f"jobs/{job.pk}/condition-report").json()
        assert [(one["opened"], one["found"]) for one in report["opened"]] == [("1.0000", "0.0000")]
        # Taken back without anything in its place.
        added(small, job, entry(corrects=second["id"]))
        added(small, job, frame())


class TestTwice:
    def test_a_tablet_that_sends_again_gets_the_same_answer(self, small: SmallShop) -> None:
        job, id_ = opened(small), str(uuid.uuid4())
        first = added(small, job, frame(client_id=id_))
        at_work(small, job, "rebuilding", "testing")

        assert added(small, job, frame(client_id=id_)) == first
        assert added(small, job, {"entries": [frame(client_id=id_)]}) == {"entries": [first]}
        assert places(add(small, job, frame(client_id=id_, note="x")), 409) == {"#/client_id": "said_otherwise"}
        with small.office.scope():
            assert OpeningEntry.objects.for_shop(small.shop).count() == 1

    def test_a_batch_of_old_and_new_keeps_the_new(self, small: SmallShop) -> None:
        job, id_ = opened(small), str(uuid.uuid4())
        first = added(small, job, frame(client_id=id_))

        kept = added(small, job, {"entries": [entry(findings=[FINDING]), frame(client_id=id_)]})["entries"]

        assert kept[1] == first
        assert kept[0]["id"] > first["id"]
        twice = {"entries": [entry(findings=[FINDING], client_id=(other := str(uuid.uuid4()))), entry(client_id=other)]}
        assert places(add(small, job, twice), 409) == {"#/entries/1/client_id": "said_otherwise"}


class TestRefusals:
    @pytest.mark.parametrize(
        ("body", "place", "code"),
        [
            (frame(day="2026-03-03"), "#/day", "bad_entry_day"),
            (entry(), "#/found", "opening_member"),
            (entry([{"component": "opening_frame", "condition": "sound"}]), "#/found/0/component", "opening_member"),
            (entry([{"component": "deck", "condition": "sound"}]), "#/found/0/component", "unknown_component"),
            (
                entry([{"component": "opening_frame", "found": "2 each"}], rings=REAR),
                "#/found/0/found",
                "found_beyond_opened",
            ),
            (entry([{"component": "opening_frame", "found": "2 ft"}], rings=REAR), "#/found/0/found", "wrong_dimension"),
            (frame(cells=[{"section": "main", "cell": "11A"}]), "#/cells/0/cell", "mark_off_roof"),
            (frame(cells=[{"section": "rear", "cell": "1A"}]), "#/cells/0/section", "unknown_section"),
            (frame(cells=[{"section": "main", "cell": "3E"}]), "#/cells/0/cell", "bad_cell"),
            (frame(rings=[{"section": "main", "opening": "hatch"}]), "#/rings/0/opening", "mark_off_roof"),
        ],
    )
    def test_what_cannot_be_is_refused_at_its_place(self, small: SmallShop, body: Any, place: str, code: str) -> None:
        assert places(add(small, opened(small), body)) == {place: code}

    def test_a_place_that_the_scope_does_not_reach_is_a_finding(self, small: SmallShop) -> None:
        scope = [{"section": "main", "start": "0 ft", "end": "10 ft"}]
        job = at_work(small, booked(small, scope=scope), "opening_up")

        assert problem(add(small, job, frame()), 422)["code"] == "place_out_of_scope"

    def test_nothing_is_opened_before_the_job_is_opening_up_or_while_it_is_tested(self, small: SmallShop) -> None:
        job = booked(small)
        assert problem(add(small, job, frame()), 409)["code"] == "job_state"
        at_work(small, job, "opening_up", "rebuilding", "testing")
        assert problem(add(small, job, frame()), 409)["code"] == "job_state"

    def test_an_analyst_adds_nothing_and_another_shop_finds_nothing(self, small: SmallShop, elsewhere: Office) -> None:
        job = opened(small)

        problem(add(small, job, frame(), role=ANALYST), 403)
        problem(add(small, job, {"entries": [frame()]}, role=ANALYST), 403)
        for path in ("openings", "condition-report"):
            problem(elsewhere.get(f"jobs/{job.pk}/{path}"), 404)
        problem(elsewhere.post(f"jobs/{job.pk}/openings", frame()), 404)
        problem(elsewhere.post(f"jobs/{job.pk}/openings/batch", {"entries": [frame()]}), 404)


def test_the_condition_report_tells_survey_exclusions_and_findings(small: SmallShop) -> None:
    seen = {"kind": "soft_underfoot", "place": "cell 3D", "section": "main", "extent": "3/16 in", "note": "on a board"}
    survey = small.add_survey(small.coach, findings=[seen], cells=[bodies.cell("1A", "sound")])
    job = at_work(small, booked(small, survey=survey), "opening_up")
    first = added(small, job, entry(findings=[FINDING]))
    added(small, job, entry(findings=[{**FINDING, "kind": "stained ceiling"}], corrects=first["id"]))

    report = small.office.get(f"jobs/{job.pk}/condition-report", role=ANALYST).json()

    assert report["job"] == job.number
    assert [(one["kind"], one["place"], one["note"]) for one in report["survey"]] == [
        ("soft_underfoot", "cell 3D", "on a board")
    ]
    quote = small.office.get(f"quotes/{job.quote_id}").json()
    assert report["exclusions"] == quote["exclusions"]
    assert [(one["kind"], one["day"]) for one in report["findings"]] == [("stained ceiling", DAY)]
    # Nothing of it is billed.
    assert small.office.get(f"jobs/{job.pk}").json()["pot"]["drawn"] == "0.00"


@pytest.mark.django_db(transaction=True)
def test_of_two_that_open_one_place_at_once_one_is_kept(clock: Clock) -> None:
    small = SmallShop(office())
    job = opened(small)

    answers = together(2, lambda _: add(small, job, frame()))

    assert sorted(answer.status_code for answer in answers) == [201, 409]
    assert len(small.office.get(f"jobs/{job.pk}/openings").json()["results"]) == 1
