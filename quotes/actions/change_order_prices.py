"""What does each way of a change order come to, as the job stands now?

On the job's own frozen cost base; what that does not hold, on the editions in force today, of which the part that was read is
frozen for the order.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Any

from costbase import snapshot as cost_base_snapshot
from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError, CalculationFaults, raise_faults
from costbase.models import Shop
from quotes.actions.change_order_rows import line_row, packs_row
from quotes.calc.change_order import (
    STOP,
    WARRANTY,
    AssemblyWork,
    Authorised,
    GoodsWork,
    HoursWork,
    JobTerms,
    PricedWay,
    RepairWork,
    Work,
    check_ways,
    price_way,
    whole_days,
)
from quotes.models import Job
from quotes.reports.change_orders import agreed_limit, job_terms, limits_with, sums_of_orders
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class WayDetails:
    """One way as it is asked for. `days` and `promised_on` stand in place of the worked ones; `warranty` "" for the usual."""

    kind: str
    words: str
    works: tuple[Work, ...]
    days: Decimal | None
    days_reason: str
    promised_on: date | None
    warranty: str


@dataclass(frozen=True, slots=True)
class PricedWays:
    """Rows of ways and lines, the slugs that the work covers, and what was read of today's cost base (None: nothing)."""

    ways: list[Row]
    lines: list[Row]
    packs: dict[int, list[Row]]
    covers: tuple[str, ...]
    added: CostBase | None


def price_ways(shop: Shop, job: Job, *, cause: str, component: str, ways: Sequence[WayDetails], day: date) -> PricedWays:
    """Prices every way as the job stands, each with the limit that it would make.

    Args:
        shop: whose it is.
        job: held, with its quote.
        cause: of the order.
        component: the hidden component that the order is about, or "".
        ways: as asked for.
        day: today in the shop.

    Raises:
        WaysError, CannotCloseUpError: ways that cannot be offered together.
        CalculationFaults: work that cannot be priced, below ``ways/<place>/works/<place>``.
    """
    frozen = frozen_cost_base(job.quote)
    today = (
        cost_base_snapshot.cost_base(shop, day, frozen.plan.slug)
        if wants_more([work for way in ways for work in way.works], frozen)
        else None
    )
    terms = job_terms(shop, job, frozen, today)
    check_ways(cause, [(way.kind, way.works) for way in ways], _never_closed(ways, component, terms))
    priced = _priced(ways, terms)
    agreed, taken = agreed_limit(shop, job, frozen), sums_of_orders(shop, job.pk)
    rows, lines, packs = [], [], {}
    for at, (way, worked) in enumerate(zip(ways, priced, strict=True), 1):
        limits = limits_with(agreed, taken, [worked.by_class], frozen, job.currency)
        rows.append(_way_row(at, way, worked, limits, job))
        lines += [{"way": at, **line_row(line, position)} for position, line in enumerate(worked.lines, 1)]
        packs[at] = [packs_row(added) for added in worked.packs]
    return PricedWays(rows, lines, packs, _covers(ways, component, terms), _read(priced, ways, terms, today))


def wants_more(works: Sequence[Work], frozen: CostBase) -> bool:
    """Whether some work asks for what the frozen cost base does not hold."""
    return any(
        (isinstance(work, AssemblyWork) and work.assembly not in frozen.assemblies)
        or (isinstance(work, GoodsWork) and work.material not in frozen.materials)
        or (isinstance(work, HoursWork) and work.trade not in frozen.trades)
        # An assembly that was kept for its hours to wait for has neither trades nor goods of its own in the frozen base.
        or (isinstance(work, AssemblyWork) and not _whole(work.assembly, frozen))
        for work in works
    )


def _whole(slug: str, frozen: CostBase) -> bool:
    assembly = frozen.assemblies[slug]
    return {rate.trade for rate in assembly.labour} <= set(frozen.trades) and {
        need.material for need in assembly.materials
    } <= set(frozen.materials)


def _priced(ways: Sequence[WayDetails], terms: JobTerms) -> list[PricedWay]:
    priced: list[PricedWay] = []
    faults: list[CalculationError] = []
    for at, way in enumerate(ways):
        try:
            priced.append(price_way(way.works, terms))
        except CalculationFaults as several:
            faults += [fault.under(f"ways/{at}") for fault in several.faults]
        except CalculationError as fault:
            faults.append(fault.under(f"ways/{at}"))
    raise_faults(faults)
    return priced


def _never_closed(ways: Sequence[WayDetails], component: str, terms: JobTerms) -> dict[str, str]:
    about = {component} | {work.component for way in ways for work in way.works if isinstance(work, RepairWork)}
    kept = terms.cost_base.components
    return {slug: kept[slug].name for slug in sorted(about) if slug in kept and not kept[slug].can_close_up}


def _covers(ways: Sequence[WayDetails], component: str, terms: JobTerms) -> tuple[str, ...]:
    """The work that waits: hidden components, and assemblies that the agreed lines do not hold already."""
    slugs = {component} - {""}
    for way in ways:
        for work in way.works:
            if isinstance(work, RepairWork):
                slugs.add(work.component)
            elif isinstance(work, AssemblyWork) and work.assembly not in terms.quoted:
                slugs.add(work.assembly)
    return tuple(sorted(slugs))


def _way_row(at: int, way: WayDetails, worked: PricedWay, limits: Authorised, job: Job) -> Row:
    days = worked.days if way.days is None else way.days
    promised = way.promised_on
    if promised is None and job.promised_on is not None and way.kind != STOP:
        # A day that somebody promised at the end of the calendar stays there.
        promised = date.fromordinal(min(job.promised_on.toordinal() + whole_days(days), date.max.toordinal()))
    return {
        "position": at,
        "kind": way.kind,
        "words": way.words,
        "amount": worked.amount,
        "cost": worked.cost,
        "authorised": limits.authorised,
        "authorised_with_tax": limits.authorised_with_tax,
        "days": days,
        "promised_on": promised.isoformat() if promised else None,
        "warranty": way.warranty or WARRANTY[way.kind],
        "details": {
            "taxes": [
                {"name": tax.name, "rate": str(tax.rate), "base": str(tax.base), "amount": str(tax.amount)}
                for tax in limits.taxes
            ],
            "tax": str(limits.tax),
            "rounding": str(limits.rounding),
            "worked_days": str(worked.days),
            "days_reason": way.days_reason,
            "by_class": {name: str(value) for name, value in worked.by_class.items()},
            "packs": [packs_row(added) for added in worked.packs],
        },
    }


def _read(priced: Sequence[PricedWay], ways: Sequence[WayDetails], terms: JobTerms, today: CostBase | None) -> CostBase | None:
    """What the lines read of today's cost base, cut down to it."""
    if today is None:
        return None
    lines = [line for way in priced for line in way.lines]
    read = {
        "trades": {line.trade for line in lines if line.kind == "labour"},
        "materials": {line.slug for line in lines if line.kind == "material"},
        "assemblies": {work.assembly for way in ways for work in way.works if isinstance(work, AssemblyWork)},
    }
    read["prices"] = read["materials"]

    def cut(part: str, kind: str) -> Row:
        whole = getattr(today, part)
        return {slug: each for slug, each in whole.items() if slug in read[part] and (kind, slug) in terms.added}

    return replace(
        today,
        trades=cut("trades", "rate"),
        materials=cut("materials", "material"),
        prices=cut("prices", "price"),
        assemblies=cut("assemblies", "assembly"),
        conditions={},
        components={},
    )
