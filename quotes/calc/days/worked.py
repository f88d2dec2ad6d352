"""How many days, from when to when, and what does the coach wait for?

It is told as a range: without hidden work, and with as much of it as the contingency pays for, in the phases in which it would
be found. Days follow each other without a day of rest; which days the shop closes is for its calendar.

Source: common practice, none published.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.cost_base import CostBase
from quotes.calc.days.network import Work, elapsed_days, network
from quotes.calc.days.schedule import Schedule, earliest, orders
from quotes.calc.hidden import HiddenComponent
from quotes.calc.labour import LabourLine
from quotes.calc.measured import Measured
from quotes.calc.pricing import MaterialLine, Visible
from quotes.calc.takeoff import Take


@dataclass(frozen=True, slots=True)
class TaskDays:
    """A task of the schedule without hidden work: days from the morning on which the coach comes in.

    What waits for it may begin at `ready`. `waits_for` names tasks; `lead` are the lead days of its goods.
    """

    task: str
    assembly: str
    name: str
    phase: str
    start: float
    end: float
    ready: float
    waits_for: tuple[str, ...]
    lead: int


@dataclass(frozen=True, slots=True)
class Days:
    """Days in the shop, from `low` (no hidden work) to `high` (the contingency used up), if the goods are there.

    `working` are the crew's days of the visible work, `waiting` those on which it has nothing to do on this coach, so that both
    are `low`. `drying`, `cures` and `sealant` count what there is to wait for, whether or not other work goes on beside it.
    `hidden` are the crew's days of hidden work. `lead` is the longest lead time of a material that is ordered, that of
    `lead_material`. `goods_after` is how many days after the order the coach may come in without waiting for goods, `at_once`
    how long it stands in the shop if it comes in on the day of the order. Days, not rounded.
    """

    working: float
    waiting: float
    drying: float
    cures: int
    sealant: int
    hidden: float
    low: float
    high: float
    lead: int
    lead_material: str
    goods_after: float
    at_once: float
    tasks: tuple[TaskDays, ...]


def crew_days(lines: Iterable[LabourLine], takes: Sequence[Take], hours_a_day: float) -> dict[str, float]:
    """Days that the crews work, by assembly: its hours over its crew and the hours of a day.

    Args:
        lines: priced lines of labour.
        takes: the take-off they came from, which knows the crews.
        hours_a_day: hours that a crew works in a day, above 0.
    """
    crews = {take.assembly.slug: take.assembly.crew for take in takes}
    work: dict[str, float] = {}
    for line in lines:
        work[line.assembly] = work.get(line.assembly, 0.0) + float(line.hours) / (crews[line.assembly] * hours_a_day)
    return work


def days(
    visible: Visible,
    takes: Sequence[Take],
    measured: Measured,
    hidden: Sequence[HiddenComponent],
    contingency: Decimal,
    cost_base: CostBase,
) -> Days:
    """The range of days and the schedule, from the lines and what their assemblies wait for.

    Args:
        visible: priced lines.
        takes: the take-off the lines came from.
        measured: measures of sections and quote, for the elapsed times.
        hidden: the hidden components, whose repairs say in which phases hidden work arises.
        contingency: what is set aside for hidden work; the days it pays for are as its share of the visible work.
        cost_base: its rule holds the hours of a working day; an assembly that is not there hands on what it waits for.

    Raises:
        TemplateFailedError: the elapsed time of an assembly fails on this roof.
        ScheduleError: assemblies that wait for each other.
    """
    hours_a_day = cost_base.rule.hours_a_day
    own = crew_days(visible.labour, takes, hours_a_day)
    ordered = [line for line in visible.materials if line.packed.material.supply == "job"]
    works = network(takes, own, _leads(ordered), measured, cost_base.assemblies)
    tasks = [work.task for work in works]
    within = orders(tasks, hours_a_day)
    plain = earliest(tasks, within, hours_a_day)
    working = sum(own.values())
    more = working * float(contingency / visible.base) if visible.base > 0 else 0.0
    slowest = max(ordered, key=_lead, default=None)
    return Days(
        working=working,
        waiting=plain.end - working,
        drying=sum(elapsed_days(take, measured) for take in takes),
        cures=sum(1 for take in takes if take.assembly.cure_hours > 0),
        sealant=1 if any(take.assembly.rain_hold_hours > 0 for take in takes) else 0,
        hidden=more,
        low=plain.end,
        high=earliest(tasks, within, hours_a_day, work=_with_hidden(works, more, hidden, cost_base)).end,
        lead=_lead(slowest) if slowest is not None else 0,
        lead_material=slowest.packed.material.name if slowest is not None else "",
        goods_after=max(0.0, *(task.goods_day - start for task, start in zip(tasks, plain.starts, strict=True))),
        at_once=earliest(tasks, within, hours_a_day, wait_for_goods=True).end,
        tasks=_told(works, plain),
    )


def _lead(line: MaterialLine) -> int:
    return line.packed.material.lead_days


def _leads(ordered: Sequence[MaterialLine]) -> dict[str, int]:
    """The longest lead time of what each assembly needs; stock lies on the shelf."""
    leads: dict[str, int] = {}
    for line in ordered:
        for part in line.parts:
            leads[part.assembly] = max(leads.get(part.assembly, 0), _lead(line))
    return leads


def _with_hidden(works: Sequence[Work], more: float, hidden: Sequence[HiddenComponent], cost_base: CostBase) -> list[float]:
    """Days of the crew by task with those of hidden work, spread by the tasks' own days over the phases of its repairs.

    Where nothing of this price is done in those phases they are spread over all tasks.
    """
    repairs = {slug for work in hidden if work.exposure > 0 for slug in work.cost.assemblies}
    phases = {cost_base.assemblies[slug].phase for slug in repairs}
    own = [work.task.work for work in works]
    shares = [work.task.work if work.phase in phases else 0.0 for work in works]
    if sum(shares) <= 0:
        shares = own
    factor = more / sum(shares) if sum(shares) > 0 else 0.0
    return [days + factor * share for days, share in zip(own, shares, strict=True)]


def _told(works: Sequence[Work], schedule: Schedule) -> tuple[TaskDays, ...]:
    """The tasks in the order in which they are done."""
    return tuple(
        TaskDays(
            task=works[at].task.name,
            assembly=works[at].assembly,
            name=works[at].name,
            phase=works[at].phase,
            start=schedule.starts[at],
            end=schedule.ends[at],
            ready=schedule.ready[at],
            waits_for=tuple(works[before].task.name for before in works[at].task.after),
            lead=int(works[at].task.goods_day),
        )
        for at in schedule.order
    )
