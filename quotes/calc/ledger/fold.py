"""What do the entries of a ledger come to?

The ledger is only ever added to, so the sum of what it says is what holds: a correction has the figures that it takes back with
the other sign. `fold` is the one meaning of these sums; the reports group in the database and fold the groups.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import NamedTuple

from quotes.calc.ledger.said import HOURS, TIME

ZERO = Decimal(0)


class Entry(NamedTuple):
    """One entry, or several with all but the figures the same: what was logged, where it belongs, and its figures."""

    kind: str
    line: int | None
    component: str
    change_order: int | None  # the order's id
    quantity: Decimal
    cost: Decimal
    value: Decimal
    warranty_return: int | None = None


@dataclass(frozen=True, slots=True)
class Sum:
    """Hours of work on the job, and cost and value of everything, in the job's currency."""

    hours: Decimal = ZERO
    cost: Decimal = ZERO
    value: Decimal = ZERO

    def plus(self, entry: Entry) -> "Sum":
        """The sum with one more entry; only hours of work count as hours."""
        hours = entry.quantity if entry.kind == TIME else ZERO
        return Sum(self.hours + hours, self.cost + entry.cost, self.value + entry.value)


@dataclass(frozen=True, slots=True)
class JobCosts:
    """What a job took: in all, by kind of entry, and by where it belongs. Parts by place add up to the total."""

    total: Sum = Sum()
    by_kind: Mapping[str, Sum] = field(default_factory=dict)
    by_line: Mapping[int, Sum] = field(default_factory=dict)
    by_component: Mapping[str, Sum] = field(default_factory=dict)
    by_order: Mapping[int, Sum] = field(default_factory=dict)  # by the change order's id
    not_quoted: Sum = Sum()
    by_return: Mapping[int, Sum] = field(default_factory=dict)  # by the return's id


def fold(entries: Iterable[Entry]) -> JobCosts:
    """The sums of a job's entries, in whatever order they come.

    Source: common practice, none published.
    """
    total, not_quoted = Sum(), Sum()
    by_kind: dict[str, Sum] = {}
    by_line: dict[int, Sum] = {}
    by_component: dict[str, Sum] = {}
    by_order: dict[int, Sum] = {}
    by_return: dict[int, Sum] = {}
    for entry in entries:
        total = total.plus(entry)
        by_kind[entry.kind] = by_kind.get(entry.kind, Sum()).plus(entry)
        if entry.change_order is not None:
            by_order[entry.change_order] = by_order.get(entry.change_order, Sum()).plus(entry)
        elif entry.line is not None:
            by_line[entry.line] = by_line.get(entry.line, Sum()).plus(entry)
        elif entry.component:
            by_component[entry.component] = by_component.get(entry.component, Sum()).plus(entry)
        elif entry.warranty_return is not None:
            by_return[entry.warranty_return] = by_return.get(entry.warranty_return, Sum()).plus(entry)
        else:
            not_quoted = not_quoted.plus(entry)
    return JobCosts(total, by_kind, by_line, by_component, by_order, not_quoted, by_return)


def payroll_hours(entries: Iterable[tuple[str, Decimal]]) -> tuple[Decimal, Decimal]:
    """Hours on jobs and other hours of (kind, hours); together they are what is paid.

    Source: common practice, none published.
    """
    on_jobs, other = ZERO, ZERO
    for kind, hours in entries:
        if kind == TIME:
            on_jobs += hours
        elif kind in HOURS:
            other += hours
    return on_jobs, other
