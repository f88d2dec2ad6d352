"""Which state may a job go to next?

Booked, opening up, waiting for consent, rebuilding, testing, handed over, settled; cancelled before the roof is touched,
stopped after that, until it is handed over. A job waits from opening up, rebuilding or testing and goes back to where it came
from. A leak test that fails sends the job back to rebuilding.
"""

from collections.abc import Mapping
from types import MappingProxyType

from costbase.calc.errors import CalculationError

BOOKED, OPENING, WAITING, REBUILDING = "booked", "opening_up", "waiting", "rebuilding"
TESTING, HANDED_OVER, SETTLED = "testing", "handed_over", "settled"
CANCELLED, STOPPED = "cancelled", "stopped"
STATES = (BOOKED, OPENING, WAITING, REBUILDING, TESTING, HANDED_OVER, SETTLED, CANCELLED, STOPPED)
# Nothing of these is open any more. A stopped job is closed once its settlement is billed (`closed_on`).
CLOSED = (SETTLED, CANCELLED)

MOVES: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        BOOKED: (OPENING, REBUILDING, CANCELLED),
        OPENING: (WAITING, REBUILDING, STOPPED),
        WAITING: (OPENING, REBUILDING, TESTING, STOPPED),
        REBUILDING: (WAITING, TESTING, STOPPED),
        TESTING: (WAITING, REBUILDING, HANDED_OVER, STOPPED),
        HANDED_OVER: (SETTLED,),
        SETTLED: (),
        CANCELLED: (),
        STOPPED: (SETTLED,),
    }
)
"""State -> the states that may follow it. A plan that opens nothing goes from booked to rebuilding."""


class JobStateError(CalculationError):
    """Something that the state of this job does not allow; the words say which it does."""

    code = "job_state"


def check_move(state: str, to: str, *, resumes: str = "") -> None:
    """Refuses a move that is not allowed, by name.

    Args:
        state: where the job stands.
        to: where it shall go.
        resumes: of a job that waits, the state that it came from; it goes back there or is stopped.

    Raises:
        JobStateError: the move is not in `MOVES`, or a waiting job would go elsewhere than it came from.
    """
    allowed = (resumes, STOPPED) if state == WAITING else MOVES[state]
    if to not in allowed:
        after = " or ".join(_words(name) for name in allowed) or "nothing"
        raise JobStateError(
            f"a job that is {_words(state)} does not go to {_words(to)}; expected {after}", field="state", value=to
        )


def must_be_in(state: str, *allowed: str, doing: str) -> None:
    """Refuses something that a job's state does not allow.

    Args:
        state: where the job stands.
        allowed: the states in which it may be done.
        doing: what is refused, as in "cannot be <doing>".

    Raises:
        JobStateError: any other state.
    """
    if state not in allowed:
        named = " or ".join(_words(name) for name in allowed)
        raise JobStateError(f"a job that is {_words(state)} cannot be {doing}; expected one that is {named}", value=state)


def _words(state: str) -> str:
    return state.replace("_", " ")
