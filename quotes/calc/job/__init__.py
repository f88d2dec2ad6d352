"""Which states has a job, which come after which, and what may be done in each?"""

from quotes.calc.job.by_hand import check_move_by_hand, moves_by_hand
from quotes.calc.job.leak_tests import CAUTION, METHODS, UNITS, LeakTestError, check_leak_test
from quotes.calc.job.states import CLOSED, MOVES, STATES, JobStateError, check_move, must_be_in

__all__ = [
    "CAUTION",
    "CLOSED",
    "METHODS",
    "MOVES",
    "STATES",
    "UNITS",
    "JobStateError",
    "LeakTestError",
    "check_leak_test",
    "check_move",
    "check_move_by_hand",
    "moves_by_hand",
    "must_be_in",
]
