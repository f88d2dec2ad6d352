"""By which moves by hand a job goes on."""

import pytest

from quotes.calc.job import JobStateError, check_move_by_hand, moves_by_hand


def test_a_roof_that_is_opened_is_not_rebuilt_before() -> None:
    assert moves_by_hand("booked", opens=True) == ("opening_up", "cancelled")
    assert moves_by_hand("booked", opens=False) == ("opening_up", "rebuilding", "cancelled")
    with pytest.raises(JobStateError, match="opening up before rebuilding"):
        check_move_by_hand("booked", "rebuilding", resumes="", opens=True)
    check_move_by_hand("booked", "rebuilding", resumes="", opens=False)


@pytest.mark.parametrize(
    ("state", "to", "words"),
    [
        ("opening_up", "waiting", "send the change order"),
        ("waiting", "rebuilding", "accepted, declined or withdrawn"),
        ("testing", "handed_over", "warranty record"),
        ("handed_over", "settled", "last bill"),
        ("stopped", "settled", "last bill"),
        ("booked", "waiting", "does not go to waiting"),
        ("settled", "testing", "expected nothing"),
    ],
)
def test_some_moves_are_not_made_by_hand(state: str, to: str, words: str) -> None:
    with pytest.raises(JobStateError, match=words):
        check_move_by_hand(state, to, resumes="rebuilding" if state == "waiting" else "", opens=True)


def test_a_waiting_job_has_no_move_by_hand_and_may_still_be_stopped() -> None:
    assert moves_by_hand("waiting", opens=True) == ()
    check_move_by_hand("waiting", "stopped", resumes="rebuilding", opens=True)
