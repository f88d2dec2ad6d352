"""How many hours were worked, of how many planned, by whom; and what is the payroll of some days?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import F, Sum

from costbase.models import Shop
from quotes.calc.ledger import HOURS, HoursLine, compared_hours, payroll_hours
from quotes.models import JobLine, LedgerEntry, Worker
from quotes.reports.change_orders import taken_lines
from quotes.reports.ledger import WorkedHours, hours_of

Row = Mapping[str, Any]
ZERO = Decimal(0)


@dataclass(frozen=True, slots=True)
class JobHours:
    """Hours of a job: in all, by line, change order, trade and phase beside the plan; by worker and component; of returns, and
    not quoted.
    """

    total: HoursLine
    lines: list[tuple[Row, HoursLine]]
    orders: list[tuple[Row, HoursLine]]
    trades: list[HoursLine]
    phases: list[HoursLine]
    workers: list[tuple[int, str, Decimal]]
    components: list[tuple[str, Decimal]]
    returns: Decimal
    not_quoted: Decimal


def job_hours(shop: Shop, job_id: int) -> JobHours:
    """Hours of a job, planned and worked, in four queries."""
    lines = list(
        JobLine.objects.for_shop(shop)
        .filter(job_id=job_id, kind="labour")
        .order_by("position")
        .values("position", "slug", "name", "trade", "phase", "quantity")
    )
    ordered = _ordered(shop, job_id)
    worked = hours_of(shop, job_id)
    labels = dict(Worker.objects.for_shop(shop).filter(pk__in={each.worker for each in worked}).values_list("pk", "label"))
    plan = [*lines, *ordered]
    by_line = {each.key: each for each in compared_hours(_planned(lines, "position"), _on(worked, "line"))}
    by_order = {each.key: each for each in compared_hours(_planned(ordered, "order"), _on(worked, "change_order"))}
    orders = {row["order"]: {"number": row["number"], "title": row["title"]} for row in ordered}
    (total,) = list(compared_hours([("", ZERO), *_planned(plan, None)], [("", each.hours) for each in worked]))
    return JobHours(
        total=total,
        lines=[(row, by_line[row["position"]]) for row in lines],
        orders=[(orders[key], by_order[key]) for key in orders],
        trades=list(compared_hours(_planned(plan, "trade"), [(each.trade, each.hours) for each in worked])),
        phases=list(compared_hours(_planned(plan, "phase"), [(each.phase, each.hours) for each in worked])),
        workers=_summed(((each.worker, labels[each.worker]), each.hours) for each in worked),
        components=_summed(((each.component,), each.hours) for each in worked if each.component),
        returns=sum((each.hours for each in worked if each.warranty_return is not None), ZERO),
        not_quoted=sum((each.hours for each in worked if _is_not_quoted(each)), ZERO),
    )


def _ordered(shop: Shop, job_id: int) -> list[Row]:
    """Labour of the change orders that were taken, in the ways that were chosen."""
    rows = taken_lines(shop, job_id).filter(kind="labour")
    order = {
        "order": F("way__change_order_id"),
        "number": F("way__change_order__number"),
        "title": F("way__change_order__title"),
    }
    return list(rows.order_by("way__change_order__number", "position").values("trade", "phase", "quantity", **order))


def _planned(rows: Iterable[Row], by: str | None) -> list[tuple[object, Decimal]]:
    return [("" if by is None else row[by], row["quantity"]) for row in rows]


def _on(worked: Iterable[WorkedHours], place: str) -> list[tuple[object, Decimal]]:
    return [(key, each.hours) for each in worked if (key := getattr(each, place)) is not None]


def _summed(parts: Iterable[tuple[tuple[Any, ...], Decimal]]) -> list[Any]:
    """(key, hours) added up by key, in the order of the keys."""
    sums: dict[tuple[Any, ...], Decimal] = {}
    for key, hours in parts:
        sums[key] = sums.get(key, ZERO) + hours
    return [(*key, hours) for key, hours in sorted(sums.items())]


def _is_not_quoted(each: WorkedHours) -> bool:
    placed = each.line is not None or bool(each.component) or each.change_order is not None
    return not placed and each.warranty_return is None


@dataclass(slots=True)
class WorkerPay:
    """Hours of a worker over some days: on jobs, other ones by what they were, and of both those that were overtime."""

    worker: int
    label: str
    on_jobs: Decimal = ZERO
    other: Decimal = ZERO
    overtime: Decimal = ZERO
    by_reason: dict[str, Decimal] = field(default_factory=dict)
    days: dict[date, tuple[Decimal, Decimal]] = field(default_factory=dict)

    @property
    def payroll(self) -> Decimal:
        """Hours to be paid."""
        return self.on_jobs + self.other


def payroll(shop: Shop, first: date, last: date, worker: int | None = None) -> list[WorkerPay]:
    """Each worker's hours of these days, in the order of their labels, in two queries; who has none is not there."""
    rows = LedgerEntry.objects.for_shop(shop).filter(kind__in=HOURS, day__gte=first, day__lte=last).order_by()
    if worker is not None:
        rows = rows.filter(worker_id=worker)
    sums = rows.values("worker_id", "day", "kind", "reason", "overtime").annotate(sum_hours=Sum("quantity"))
    found = [row for row in sums.order_by("day", "reason") if row["sum_hours"]]
    labels = dict(Worker.objects.for_shop(shop).filter(pk__in={row["worker_id"] for row in found}).values_list("pk", "label"))
    pays = {id_: WorkerPay(id_, label) for id_, label in sorted(labels.items(), key=lambda each: (each[1], each[0]))}
    for row in found:
        _add(pays[row["worker_id"]], row)
    return list(pays.values())


def _add(pay: WorkerPay, row: Row) -> None:
    on_jobs, other = payroll_hours([(row["kind"], row["sum_hours"])])
    pay.on_jobs += on_jobs
    pay.other += other
    if row["overtime"]:
        pay.overtime += row["sum_hours"]
    if row["reason"]:
        pay.by_reason[row["reason"]] = pay.by_reason.get(row["reason"], ZERO) + other
    before = pay.days.get(row["day"], (ZERO, ZERO))
    pay.days[row["day"]] = (before[0] + on_jobs, before[1] + other)
