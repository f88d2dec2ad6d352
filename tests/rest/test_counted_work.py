"""Counted work settled over the API, on the small roof of DEVELOPERS.md section 1: one frame at 80.00 + 7.71 and set-up."""

import uuid
from decimal import Decimal
from typing import Any

import pytest

from api.accounts.roles import ANALYST, ESTIMATOR
from quotes.models import Job
from tests.rest.office import Office, places, problem
from tests.rest.quoting import Quoting, entry
from tests.rest.test_found_notes import note, opened, pot, wait
from tests.rest.working import at_work, booked
from tests.scenarios.small_shop import SmallShop

pytestmark = pytest.mark.django_db


def settle(shop: Quoting, job: Job, done: str, assembly: str = "backing-frame", role: str = ESTIMATOR, **changes: Any) -> Any:
    body = {"assembly": assembly, "done": done, **changes}
    return shop.office.post(f"jobs/{job.pk}/counted", body, role=role)


def credited(small: SmallShop, job: Job) -> tuple[dict[str, str], str]:
    """What counted work is billed less now, by tax class, and what the job comes to before tax."""
    now = small.office.get(f"jobs/{job.pk}/bill").json()
    return {item["tax_class"]: item["amount"] for item in now["items"] if item["source"] == "counted"}, now["net"]


class TestLess:
    def test_a_sound_frame_is_billed_87_71_less(self, small: SmallShop) -> None:
        job = opened(small)

        answer = settle(small, job, "0 each", note="the frame was sound")

        assert answer.status_code == 201, answer.content.decode()
        told = answer.json()
        assert (told["quoted"], told["done"], told["unit"], told["credit"]) == ("1.0000", "0.0000", "each", "87.71")
        assert [(line["slug"], line["tax_class"], line["amount"]) for line in told["lines"]] == [
            ("backing-frame", "labour", "80.00"), ("strip", "parts", "7.71"),
        ]  # fmt: skip
        # 3,491.79 - 87.71: the set-up of 50.00 stays.
        credits, net = credited(small, job)
        assert (credits, net) == ({"labour": "-80.00", "parts": "-7.71"}, "3404.08")

    def test_the_last_settlement_holds(self, small: SmallShop) -> None:
        job = opened(small)
        settle(small, job, "0 each")

        assert settle(small, job, "1 each").json()["credit"] == "0.00"

        assert credited(small, job) == ({}, "3491.79")
        listed = small.office.get(f"jobs/{job.pk}/counted?assembly=backing-frame", role=ANALYST).json()["results"]
        assert [one["done"] for one in listed] == ["1.0000", "0.0000"]

    def test_days_of_drying_are_counted_too(self, quoting: Quoting) -> None:
        job = at_work(quoting, booked(quoting, measures=[entry("dry_days", {"value": "3", "unit": "day"})]), "opening_up")
        quoted = next(
            line for line in quoting.office.get(f"jobs/{job.pk}").json()["lines"] if line["slug"] == "dry-out"
        )["details"]["counted"]  # fmt: skip

        told = settle(quoting, job, "1 day", assembly="dry-out").json()

        assert (told["quoted"], told["done"], told["unit"]) == ("3.0000", "1.0000", "day")
        # Two days at the line's unit price; the first line of it is labour.
        two = Decimal(quoted["unit_price"]) * 2
        assert abs(Decimal(told["lines"][0]["amount"]) - two) <= Decimal("0.005")


class TestMore:
    def test_a_second_frame_is_a_found_note_and_never_a_silent_rise(self, small: SmallShop) -> None:
        job = opened(small)

        refused = problem(settle(small, job, "2 each"), 409)

        assert (refused["code"], refused["excess"], refused["unit"], refused["components"]) == (
            "counted_beyond", "1.0000", "each", ["opening_frame"],
        )  # fmt: skip
        assert "found note" in refused["detail"]
        drawn = note(small, job, counted="backing-frame").json()
        assert (drawn["counted"], drawn["amount"]) == ("backing-frame", "137.71")
        told = settle(small, job, "2 each").json()
        assert (told["done"], told["credit"]) == ("2.0000", "0.00")
        assert pot(small, job)["left"] == "0.00"
        # What is found beyond is not undone by settling less while it stands.
        assert problem(settle(small, job, "0 each"), 409)["code"] == "counted_noted"

    def test_what_passes_the_pot_is_a_change_order(self, small: SmallShop) -> None:
        job = opened(small)
        note(small, job, "0.5 each")

        assert problem(note(small, job, "0.5 each", counted="backing-frame"), 409)["code"] == "pot_passed"

    def test_what_repairs_no_component_is_a_change_order(self, quoting: Quoting) -> None:
        job = at_work(quoting, booked(quoting, measures=[entry("dry_days", {"value": "3", "unit": "day"})]), "opening_up")

        refused = problem(settle(quoting, job, "4 day", assembly="dry-out"), 409)

        assert (refused["code"], refused["excess"], refused["components"]) == ("counted_beyond", "1.0000", [])
        assert "change order" in refused["detail"]


class TestRefusals:
    def test_only_counted_work_is_settled_and_in_its_own_measure(self, small: SmallShop) -> None:
        job = opened(small)

        assert places(settle(small, job, "1 each", assembly="bead")) == {"#/assembly": "not_counted"}
        assert places(settle(small, job, "1 ft")) == {"#/done": "wrong_dimension"}

    def test_a_tablet_that_sends_again_settles_once(self, small: SmallShop) -> None:
        job, id_ = opened(small), str(uuid.uuid4())

        first = settle(small, job, "0 each", client_id=id_)

        assert settle(small, job, "0 each", client_id=id_).json() == first.json()
        assert problem(settle(small, job, "1 each", client_id=id_), 409)["code"] == "said_otherwise"

    def test_nothing_is_settled_before_opening_or_under_a_waiting_change_order(self, small: SmallShop) -> None:
        assert problem(settle(small, booked(small), "0 each"), 409)["code"] == "job_state"
        job = opened(small)
        wait(small, job, "backing-frame")
        assert problem(settle(small, job, "0 each"), 409)["code"] == "covered_work"

    def test_an_analyst_settles_nothing_and_another_shop_finds_nothing(self, small: SmallShop, elsewhere: Office) -> None:
        job = opened(small)

        problem(settle(small, job, "0 each", role=ANALYST), 403)
        problem(elsewhere.get(f"jobs/{job.pk}/counted"), 404)
        problem(elsewhere.post(f"jobs/{job.pk}/counted", {"assembly": "backing-frame", "done": "0 each"}), 404)
