"""What does an open roof say about what is still closed, and what will the job come to?

Read in this order: `opened` (what was looked at and found), `weights` (how likely each of the quote's sample points is after
that), `conjugate` (what holds where hardly a point agrees), `update` (the forecast), `steps` (why), and beside them `hours`
(how many are to come).
"""

from quotes.calc.teardown.hours import HoursForecast, LineProgress, ProgressError, hours_to_complete
from quotes.calc.teardown.opened import Opened, OpenedError
from quotes.calc.teardown.update import FEWEST_POINTS, Closed, Terms, Update, update

__all__ = [
    "FEWEST_POINTS",
    "Closed",
    "HoursForecast",
    "LineProgress",
    "Opened",
    "OpenedError",
    "ProgressError",
    "Terms",
    "Update",
    "hours_to_complete",
    "update",
]
