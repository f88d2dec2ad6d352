"""What does an open roof say about what is still closed, and what will the job come to?

Read in this order: `record` (what entries, notes and orders say together), `opened` (what was looked at and found), `weights`
(how likely each of the quote's sample points is after that), `conjugate` (what holds where hardly a point agrees), `update`
(the forecast), `steps` and `why` (why), `warning` (when to say so, and how far that goes), and beside them `hours` (how many
are to come).
"""

from quotes.calc.teardown.hours import HoursForecast, LineProgress, ProgressError, hours_to_complete
from quotes.calc.teardown.opened import Opened, OpenedError
from quotes.calc.teardown.record import Entry, Note, Record, Taken, looks_of
from quotes.calc.teardown.steps import LookSteps, explain_update
from quotes.calc.teardown.update import FEWEST_POINTS, Closed, Terms, Update, update
from quotes.calc.teardown.warning import WARNING_LIMITS, is_warned, likeliest_to_pass
from quotes.calc.teardown.why import why_forecast

__all__ = [
    "FEWEST_POINTS",
    "WARNING_LIMITS",
    "Closed",
    "Entry",
    "HoursForecast",
    "LineProgress",
    "LookSteps",
    "Note",
    "Opened",
    "OpenedError",
    "ProgressError",
    "Record",
    "Taken",
    "Terms",
    "Update",
    "explain_update",
    "hours_to_complete",
    "is_warned",
    "likeliest_to_pass",
    "looks_of",
    "update",
    "why_forecast",
]
