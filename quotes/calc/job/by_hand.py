"""Which of a job's moves may somebody make by hand?

A job waits for consent because a change order does, is handed over with its warranty record, settled by settling it, and
stopped by a settlement that was signed: all four follow from what happens elsewhere.
"""

from quotes.calc.job.states import BOOKED, HANDED_OVER, MOVES, REBUILDING, SETTLED, STOPPED, WAITING, JobStateError, check_move

_ELSEWHERE = (WAITING, HANDED_OVER, SETTLED, STOPPED)


def moves_by_hand(state: str, *, opens: bool) -> tuple[str, ...]:
    """The states that a job may be taken to by hand from where it stands; what else a move needs is not looked at.

    Args:
        state: where the job stands.
        opens: whether its plan opens the roof.
    """
    if state == WAITING:
        return ()
    return tuple(to for to in MOVES[state] if to not in _ELSEWHERE and not _unopened(state, to, opens=opens))


def check_move_by_hand(state: str, to: str, *, resumes: str, opens: bool) -> None:
    """Refuses a move that may not be made by hand, by name.

    Args:
        state: where the job stands.
        to: where it shall go.
        resumes: of a job that waits, the state that it came from.
        opens: whether its plan opens the roof.

    Raises:
        JobStateError: the move is not allowed at all, or not by hand, or a roof that is to be opened would be skinned unopened.
    """
    if to == WAITING and to in MOVES[state]:
        raise JobStateError("a job waits for consent while a change order does: send the change order", field="to", value=to)
    check_move(state, to, resumes=resumes)
    if state == WAITING and to != STOPPED:
        words = "a job goes on when no change order waits any more: have it accepted, declined or withdrawn"
        raise JobStateError(words, field="to", value=to)
    if to == HANDED_OVER:
        words = "a job is handed over with its warranty record, after a leak test that passed, not by hand"
        raise JobStateError(words, field="to", value=to)
    if to == SETTLED:
        raise JobStateError("a job is settled with its last bill, not by hand", field="to", value=to)
    if _unopened(state, to, opens=opens):
        words = "the plan of this job opens the roof: expected opening up before rebuilding"
        raise JobStateError(words, field="to", value=to)


def _unopened(state: str, to: str, *, opens: bool) -> bool:
    return opens and (state, to) == (BOOKED, REBUILDING)
