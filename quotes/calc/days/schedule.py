"""In which order does one crew do these tasks, and when does each begin and end?

Time counts working days: 1.0 is the evening of the first day and the morning of the second, since nobody works at night. Work
takes as long as it takes; what waits for a cure is ready the next morning or later, what waits for a sealant after so many
hours by the clock, nights among them. The crew does one task at a time and goes on with other work while something cures.

Source: list scheduling, R. L. Graham, 1966; that a night comes for nothing: common practice, none published.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from costbase.calc.errors import CalculationError
from costbase.calc.units import ceil_tolerant, floor_tolerant

HOURS_OF_A_CLOCK = 24.0
# What adding days up loses must not let a task that is free at the same moment come second.
_TOLERANCE = 1e-9


class ScheduleError(CalculationError):
    """Tasks that wait for each other, so that none of them can begin."""

    code = "tasks_in_a_circle"


@dataclass(frozen=True, slots=True)
class Wait:
    """What has to pass after a task before anything that waits for it can begin; all of it runs at once.

    `cure_hours` are by the clock and end on a morning at the earliest, `hold_hours` are by the clock, `days` are whole turns of
    the clock (drying). All are 0 or more.
    """

    cure_hours: float = 0.0
    hold_hours: float = 0.0
    days: float = 0.0


NO_WAIT = Wait()


@dataclass(frozen=True, slots=True)
class Task:
    """One piece of work: `work` days of the crew, after which `wait` passes.

    `after` are the tasks that it waits for, by their place in the list. `ordered` says whether it needs goods that are ordered,
    `goods_day` on the morning of which day they are there, counted from that of the order.
    """

    name: str
    work: float
    wait: Wait
    after: tuple[int, ...]
    goods_day: float = 0.0
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class Schedule:
    """When each task starts and ends, and when what waits for it may begin, in the order of the list.

    All are days from the first morning. `order` is that of the work, `end` when the last task is ready.
    """

    starts: tuple[float, ...]
    ends: tuple[float, ...]
    ready: tuple[float, ...]
    order: tuple[int, ...]
    end: float


def orders(tasks: Sequence[Task], hours_a_day: float) -> tuple[tuple[int, ...], ...]:
    """The orders in which the work may be done: two plain lists, or one where both are the same.

    Of the tasks that could begin first, the first list takes the one with the longest chain of work and waiting behind it, the
    second one that needs no ordered goods, neither itself nor through what it waits for. Ties go by the order of the tasks.
    Both are found as if all goods were there: so goods that come later never end the work earlier.

    Args:
        tasks: in the order of the plan, which breaks ties.
        hours_a_day: hours that a crew works in a day, above 0 and at most 24.

    Raises:
        ScheduleError: tasks that wait for each other.
    """
    length = chains(tasks)
    late = _on_goods(tasks)
    lists = (
        _order(tasks, hours_a_day, lambda at: (False, -length[at], at)),
        _order(tasks, hours_a_day, lambda at: (late[at], -length[at], at)),
    )
    return tuple(dict.fromkeys(lists))


def earliest(
    tasks: Sequence[Task],
    within: Sequence[Sequence[int]],
    hours_a_day: float,
    *,
    work: Sequence[float] | None = None,
    wait_for_goods: bool = False,
) -> Schedule:
    """The schedule that ends first of those that these orders give; the first of them where several end alike.

    Args:
        tasks: as in `orders`.
        within: orders of them, at least one.
        hours_a_day: hours that a crew works in a day, above 0 and at most 24.
        work: days of the crew by task, where they are not those of the tasks.
        wait_for_goods: whether the work begins on the day of the order, so that a task waits for its goods too.
    """
    every = (placed(tasks, order, hours_a_day, work=work, wait_for_goods=wait_for_goods) for order in within)
    return min(every, key=lambda schedule: schedule.end)


def chains(tasks: Sequence[Task]) -> list[float]:
    """Days of the longest chain that begins with each task, with its waits; a night counts as a whole day here.

    Raises:
        ScheduleError: tasks that wait for each other.
    """
    behind: list[float] = [0.0] * len(tasks)
    length: list[float] = [0.0] * len(tasks)
    for at in reversed(_sorted(tasks)):
        task = tasks[at]
        length[at] = task.work + _usual(task.wait) + behind[at]
        for before in task.after:
            behind[before] = max(behind[before], length[at])
    return length


def placed(
    tasks: Sequence[Task],
    order: Sequence[int],
    hours_a_day: float,
    *,
    work: Sequence[float] | None = None,
    wait_for_goods: bool = False,
) -> Schedule:
    """The tasks done one after the other in an order, each as soon as the crew, its goods and what it waits for are there.

    Args:
        tasks: in any order.
        order: every place in `tasks` once, none before what it waits for.
        hours_a_day: hours that a crew works in a day, above 0 and at most 24.
        work: as in `earliest`.
        wait_for_goods: as in `earliest`.
    """
    starts, ends, ready = ([0.0] * len(tasks) for _ in range(3))
    free = 0.0
    for at in order:
        task = tasks[at]
        start = max(free, task.goods_day) if wait_for_goods else free
        for before in task.after:
            start = max(start, ready[before])
        free = start + (task.work if work is None else work[at])
        starts[at], ends[at], ready[at] = start, free, _ready(free, task.wait, hours_a_day)
    return Schedule(tuple(starts), tuple(ends), tuple(ready), tuple(order), max(ready, default=0.0))


def _order(tasks: Sequence[Task], hours_a_day: float, rank: Callable[[int], tuple[bool, float, int]]) -> tuple[int, ...]:
    """Which task comes next: of those that could begin first the one of the lowest rank, goods left aside."""
    followers, waits = _followers(tasks)
    free_at = {at: 0.0 for at, count in enumerate(waits) if count == 0}
    ready: list[float] = [0.0] * len(tasks)
    order: list[int] = []
    free = 0.0
    while free_at:
        first = max(free, min(free_at.values()))
        at = min((at for at, day in free_at.items() if day <= first + _TOLERANCE), key=rank)
        free = max(free, free_at.pop(at)) + tasks[at].work
        ready[at] = _ready(free, tasks[at].wait, hours_a_day)
        order.append(at)
        for behind in followers[at]:
            waits[behind] -= 1
            if waits[behind] == 0:
                free_at[behind] = max(ready[before] for before in tasks[behind].after)
    return tuple(order)


def _followers(tasks: Sequence[Task]) -> tuple[list[list[int]], list[int]]:
    """The tasks that wait for each one, and how many each one waits for."""
    followers: list[list[int]] = [[] for _ in tasks]
    for at, task in enumerate(tasks):
        for before in task.after:
            followers[before].append(at)
    return followers, [len(task.after) for task in tasks]


def _sorted(tasks: Sequence[Task]) -> list[int]:
    """Every place after those that it waits for."""
    followers, waits = _followers(tasks)
    order = [at for at, count in enumerate(waits) if count == 0]
    for at in order:
        for behind in followers[at]:
            waits[behind] -= 1
            if waits[behind] == 0:
                order.append(behind)
    if len(order) < len(tasks):
        names = ", ".join(tasks[at].name for at, count in enumerate(waits) if count > 0)
        raise ScheduleError(f"these tasks wait for each other: {names}; correct their predecessors", field="predecessors")
    return order


def _on_goods(tasks: Sequence[Task]) -> list[bool]:
    """Whether each task needs ordered goods, itself or through what it waits for."""
    late = [task.ordered for task in tasks]
    for at in _sorted(tasks):
        late[at] = late[at] or any(late[before] for before in tasks[at].after)
    return late


def _usual(wait: Wait) -> float:
    """Days that a wait takes about, for comparing chains: a cure at least a night."""
    cure = max(1.0, wait.cure_hours / HOURS_OF_A_CLOCK) if wait.cure_hours > 0 else 0.0
    return max(cure, wait.hold_hours / HOURS_OF_A_CLOCK, wait.days)


def _ready(end: float, wait: Wait, hours_a_day: float) -> float:
    if wait is NO_WAIT:
        return end
    ready = end + wait.days
    if wait.cure_hours > 0:
        ready = max(ready, float(ceil_tolerant(end)), _by_the_clock(end, wait.cure_hours, hours_a_day))
    if wait.hold_hours > 0:
        ready = max(ready, _by_the_clock(end, wait.hold_hours, hours_a_day))
    return ready


def _by_the_clock(end: float, hours: float, hours_a_day: float) -> float:
    """The working time at which so many hours of the clock have passed since a task ended, in the evening of a whole day."""
    day = ceil_tolerant(end) - 1
    clock = day * HOURS_OF_A_CLOCK + (end - day) * hours_a_day + hours
    later = floor_tolerant(clock / HOURS_OF_A_CLOCK)
    into = max(0.0, clock - later * HOURS_OF_A_CLOCK)
    return max(end, later + min(1.0, into / hours_a_day))
