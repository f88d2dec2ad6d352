"""How long will the coach stand in the shop?

`network` makes the tasks of a quote out of its assemblies and says what each waits for, `schedule` puts them one after the
other, `worked` tells the days.
"""

from quotes.calc.days.network import handing_on, network
from quotes.calc.days.schedule import NO_WAIT, Schedule, ScheduleError, Task, Wait, chains, earliest, orders, placed
from quotes.calc.days.worked import Days, TaskDays, crew_days, days

__all__ = [
    "NO_WAIT",
    "Days",
    "Schedule",
    "ScheduleError",
    "Task",
    "TaskDays",
    "Wait",
    "chains",
    "crew_days",
    "days",
    "earliest",
    "handing_on",
    "network",
    "orders",
    "placed",
]
