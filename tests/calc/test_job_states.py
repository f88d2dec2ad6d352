"""Every move of a job that is not allowed is refused by name."""

import itertools

import pytest

from quotes.calc.job import MOVES, STATES, JobStateError, check_move, must_be_in

ALLOWED = {
    ("booked", "opening_up"), ("booked", "rebuilding"), ("booked", "cancelled"),
    ("opening_up", "waiting"), ("opening_up", "rebuilding"), ("opening_up", "stopped"),
    ("rebuilding", "waiting"), ("rebuilding", "testing"), ("rebuilding", "stopped"),
    ("testing", "waiting"), ("testing", "rebuilding"), ("testing", "handed_over"), ("testing", "stopped"),
    ("handed_over", "settled"), ("stopped", "settled"),
}  # fmt: skip


@pytest.mark.parametrize(("state", "to"), itertools.product(STATES, STATES))
def test_a_job_goes_only_where_it_may(state: str, to: str) -> None:
    if state == "waiting":
        return
    if (state, to) in ALLOWED:
        check_move(state, to)
        return
    with pytest.raises(JobStateError, match=state.replace("_", " ")) as refused:
        check_move(state, to)
    assert refused.value.value == to


@pytest.mark.parametrize("came_from", ["opening_up", "rebuilding", "testing"])
def test_a_job_that_waits_goes_back_where_it_came_from(came_from: str) -> None:
    check_move("waiting", came_from, resumes=came_from)
    check_move("waiting", "stopped", resumes=came_from)
    for to in set(STATES) - {came_from, "stopped"}:
        with pytest.raises(JobStateError):
            check_move("waiting", to, resumes=came_from)


def test_every_state_has_its_moves() -> None:
    assert set(MOVES) == set(STATES)


def test_what_a_state_does_not_allow_is_said_with_what_would() -> None:
    with pytest.raises(JobStateError, match="booked cannot be billed; expected one that is rebuilding or testing"):
        must_be_in("booked", "rebuilding", "testing", doing="billed")
