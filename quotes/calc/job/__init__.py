"""Which states has a job, which come after which, and what may be done in each?"""

from quotes.calc.job.by_hand import check_move_by_hand, moves_by_hand
from quotes.calc.job.states import CLOSED, MOVES, STATES, JobStateError, check_move, must_be_in

__all__ = ["CLOSED", "MOVES", "STATES", "JobStateError", "check_move", "check_move_by_hand", "moves_by_hand", "must_be_in"]
