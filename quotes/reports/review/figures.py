"""Everything of one job that its closed books are made of: both bridges, the standard of learning, and what was found.

A constant number of queries; the quote is worked out again once for the standards of its hidden components.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import Case, Count, F, Q, Subquery, Sum, Value, When

from costbase.calc.cost_base import CostBase
from costbase.calc.money import share_of
from costbase.models import Shop
from quotes.calc.variance import (
    Bridge,
    Cause,
    Drawn,
    NotDone,
    Ordered,
    OwnerFigures,
    ShopFigures,
    Sides,
    added,
    cost_causes,
    margin_bridge,
    owner_bridge,
)
from quotes.models import (
    ChangeOrderLine,
    ClosedJob,
    CountedSettlement,
    FoundNote,
    Job,
    JobComponent,
    JobLine,
    LedgerEntry,
    OpeningEntry,
    Quote,
    WarrantyReturn,
)
from quotes.reports.bills import TAKEN
from quotes.reports.quotes import COMPONENT, LINE
from quotes.reports.review.billed import Billed, billed_of
from quotes.reports.review.found import FoundPart, found_parts
from quotes.reports.review.settled import LeftUndone, borne_out, cost_of, done_of, left_undone, take_off
from quotes.reports.review.standards import Key, UnitStandard, unit_standards
from quotes.reports.review.worked import BESIDE, ZERO, Work, counted_off, drawn_work, goods, grades
from quotes.reports.settlements import signed_settlement
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]
BEYOND = ("beyond_pot", "no_agreed_price", "counted_beyond")


@dataclass(frozen=True, slots=True)
class Facts:
    """A job as its closed books say it; amounts as in `ClosedJob`."""

    quote: Quote
    shop: ShopFigures
    owner: Bridge
    costs: tuple[Cause, ...]
    margin: Bridge
    billed: Billed
    found: tuple[FoundPart, ...]
    actual_hours: Decimal
    not_quoted_cost: Decimal
    standard: Decimal
    stopped: bool
    hidden_measured: Decimal
    hidden_done: Decimal


@dataclass(frozen=True, slots=True)
class _Read:
    """The rows of a job."""

    job: Job
    quote: Quote
    stopped: bool
    base: CostBase
    lines: list[Row]
    components: list[Row]
    drawn: dict[Key, Row]
    counted: list[Row]
    orders: list[Row]
    ledger: list[Row]
    returns_cost: Decimal
    billed: Billed
    openings: list[Row]
    left: LeftUndone | None


def facts_of(shop: Shop, job: Job, *, engine: int) -> Facts:
    """The facts of a job as it stands.

    Args:
        shop: whose it is.
        job: with all its columns.
        engine: the arithmetic of today.

    Raises:
        BridgeError: figures that contradict each other.
    """
    read = _read(shop, job)
    standards = unit_standards(job, read.quote, read.components, read.base, engine)
    billed = read.billed
    figures = _shop_figures(read, standards, billed)
    found = found_parts(read.components, read.openings, _repaired(read))
    currency = read.base.currency
    return Facts(
        quote=read.quote,
        shop=figures,
        owner=owner_bridge(_owner_figures(read, billed)),
        costs=cost_causes(figures, currency),
        margin=margin_bridge(figures, currency),
        billed=billed,
        found=found,
        actual_hours=added(row["quantity"] for row in read.ledger if row["kind"] == "time"),
        not_quoted_cost=added(row["loose"] for row in read.ledger),
        standard=_standard(read, billed),
        stopped=read.stopped,
        hidden_measured=added(part.measured(currency) for part in found),
        hidden_done=added(part.done(currency) for part in found),
    )


def _read(shop: Shop, job: Job) -> _Read:
    quote = Quote.objects.for_shop(shop).get(pk=job.quote_id)
    notes = FoundNote.objects.for_shop(shop).filter(job_id=job.pk).values("component", "construction").order_by()
    drawn = {
        (row["component"], row["construction"]): {
            "extent": row["extents"],
            "amount": row["amounts"],
            "set_ups": row["first"] - row["gone"],
        }
        for row in notes.annotate(
            extents=Sum("extent"),
            amounts=Sum("amount"),
            first=Count("id", filter=Q(set_up__gt=0)),
            gone=Count("id", filter=Q(set_up__lt=0)),
        )
    }
    counted = CountedSettlement.objects.for_shop(shop).filter(job_id=job.pk).order_by("assembly", "-id").distinct("assembly")
    components = JobComponent.objects.for_shop(shop).filter(job_id=job.pk).order_by("position")
    ledger, returns_cost = _ledger(shop, job)
    # Settling takes that state away; books that were closed before still say it.
    stopped = job.state == "stopped" or ClosedJob.objects.for_shop(shop).filter(job_id=job.pk, stopped=True).exists()
    signed = signed_settlement(shop, job.pk) if stopped else None
    base, orders = frozen_cost_base(quote), _orders(shop, job)
    lines = [dict(row) for row in JobLine.objects.for_shop(shop).filter(job_id=job.pk).order_by("position").values(*LINE)]
    settled = [dict(row) for row in counted.values("assembly", "credit", "lines")]
    left = None
    if signed is not None:
        taken = added(row["amount"] for row in drawn.values())
        left = left_undone(signed, lines, orders, settled, taken, job.record, base)
    for line in (*lines, *orders):
        line["undone"] = None if left is None else left.of((line.get("number", 0), line["position"]))
    return _Read(
        job=job,
        quote=quote,
        stopped=stopped,
        base=base,
        lines=lines,
        components=list(components.values(*COMPONENT)),
        drawn=drawn,
        counted=settled if left is None else borne_out(settled, left),
        orders=orders,
        ledger=ledger,
        returns_cost=returns_cost,
        billed=billed_of(shop, job),
        openings=[
            dict(row)
            for row in OpeningEntry.objects.for_shop(shop)
            .filter(job_id=job.pk)
            .order_by("id")
            .values("id", "corrects_id", "measured")
        ],
        left=left,
    )


def _orders(shop: Shop, job: Job) -> list[Row]:
    """The lines of the ways that were accepted, with the order that they belong to."""
    lines = ChangeOrderLine.objects.for_shop(shop).filter(
        way__change_order__job_id=job.pk,
        way__change_order__state__in=TAKEN,
        way__position=F("way__change_order__chosen"),
    )
    rows = (
        lines.order_by("way__change_order__number", "position").values(
            "kind", "slug", "trade", "name", "quantity", "unit", "amount", "cost", "details", "position",
            number=F("way__change_order__number"),
            order=F("way__change_order_id"), cause=F("way__change_order__cause"), title=F("way__change_order__title"),
        )
    )  # fmt: skip
    return [dict(row) for row in rows]


def _ledger(shop: Shop, job: Job) -> tuple[list[Row], Decimal]:
    """What the ledger has of the job, corrections taken off, by kind, trade, material and order; and what returns have cost.

    A return under warranty has no price. What it took names it; what comes late and names none counts to the returns from the
    day of the first on, since nobody can tell otherwise.
    """
    came = WarrantyReturn.objects.for_shop(shop).filter(job_id=job.pk).order_by("came_on").values("came_on")[:1]
    returned = Q(warranty_return__isnull=False) | Q(late=True, day__gte=Subquery(came)) | Q(job__returns_to_id=job.pk)
    rows = LedgerEntry.objects.for_shop(shop).filter(Q(job_id=job.pk) | Q(job__returns_to_id=job.pk)).order_by()
    # Goods of the job's own purchases cost nothing once more when they are issued.
    sums = (
        rows.exclude(rate=0, cost=0)
        .annotate(returned=Case(When(returned, then=Value(True)), default=Value(False)))
        .values("returned", "kind", "trade", "material", "unit", "change_order_id")
    )
    split = sums.annotate(
        quantities=Sum("quantity"),
        costs=Sum("cost"),
        valued=Sum("value"),
        loose=Sum("cost", filter=Q(line=None, component="", change_order=None)),
    )
    found = [
        {
            "kind": row["kind"],
            "trade": row["trade"],
            "material": row["material"],
            "unit": row["unit"],
            "order": row["change_order_id"],
            "quantity": row["quantities"],
            "cost": row["costs"],
            "value": row["valued"],
            "loose": row["loose"] or ZERO,
            "returned": row["returned"],
        }
        for row in split
    ]
    return [row for row in found if not row["returned"]], added(row["cost"] for row in found if row["returned"])


def _by_cause(orders: Sequence[Row], *causes: str) -> Sides:
    mine = [row for row in orders if row["cause"] in causes]
    return Sides(added(row["amount"] for row in mine), added(row["cost"] for row in mine))


def _shop_figures(read: _Read, standards: Mapping[Key, UnitStandard], billed: Billed) -> ShopFigures:
    job, base = read.job, read.base
    lines = {line["position"]: line for line in read.lines}
    off = counted_off(read.counted, lines, base)
    drawn, drawn_cost = drawn_work(read.drawn, standards, base)
    within = Sides(added(row["amount"] for row in read.drawn.values()), drawn_cost)
    beyond = _by_cause(read.orders, *BEYOND)
    wishes = _by_cause(read.orders, "owner_wish")
    others = _by_cause(read.orders, "other", "stop")
    counted = Sides(added(row["credit"] for row in read.counted), added(line["cost_part"] for line, _ in off))
    visible = Sides(job.base + job.record, job.cost)
    not_done: tuple[NotDone, ...] = ()
    if read.left is not None:
        not_done = read.left.not_done()
    elif read.stopped:
        agreed = visible.price - counted.price + within.price + beyond.price + wishes.price + others.price
        gone = max(ZERO, agreed - billed.net)
        cost = share_of(job.cost, gone / visible.price, base.currency) if visible.price else ZERO
        not_done = (NotDone("the work of a step that was closed up", gone, cost),)
    standard, less, actual = drawn, Work(), _actual(read.ledger)
    for line in (*read.lines, *read.orders):
        standard.add_line(line)
    for key, (extent, set_ups) in _ordered_repairs(read).items():
        standard.add_repair(standards[key], extent, base, set_ups)
    for line, part in off:
        less.add_line(line, part)
    if read.left is not None:
        take_off(less, (*read.lines, *read.orders))
    subcontract = added(row["cost"] for row in read.ledger if row["kind"] == "subcontract")
    return ShopFigures(
        visible=visible,
        allowance=Sides(job.allowance, _allowance_cost(read.components, standards, base)),
        counted=counted,
        within=within,
        beyond=beyond,
        wishes=wishes,
        others=others,
        not_done=not_done,
        grades=grades(standard, less, actual, base),
        goods=goods(standard, less, actual, base),
        subcontract_planned=added(cost_of(row) for row in read.orders if row["kind"] == "subcontract"),
        subcontract_actual=subcontract,
        returns_cost=read.returns_cost,
        actual_cost=added(row["cost"] for row in read.ledger) + read.returns_cost,
        billed=billed.net,
    )


def _allowance_cost(components: Sequence[Row], standards: Mapping[Key, UnitStandard], base: CostBase) -> Decimal:
    """The expected hidden work at cost: each component's allowance x the share that cost has in its unit price, rounded."""
    return added(
        share_of(
            row["allowance"], standards[row["slug"], row["construction"]].cost_share(row["unit_price"], base), base.currency
        )
        for row in components
    )


def _actual(ledger: Sequence[Row]) -> Work:
    work = Work()
    for row in ledger:
        if row["kind"] == "time":
            work.add_hours(row["trade"], row["quantity"], row["cost"])
        elif row["material"] or row["kind"] == "purchase":
            # A credit note lowers what goods cost, and brings none back.
            sign = {"returned": -1, "credit": 0}.get(row["kind"], 1)
            work.add_goods(
                row["material"] or BESIDE, row["unit"] if row["material"] else "", sign * row["quantity"], row["cost"]
            )
    return work


def _owner_figures(read: _Read, billed: Billed) -> OwnerFigures:
    job = read.job
    names = {(row["slug"], row["construction"]): row for row in read.components}
    drawn = [Drawn(names[key]["name"], names[key]["allowance"], row["amount"]) for key, row in read.drawn.items()]
    titles = {row["order"]: (row["cause"], row["title"]) for row in read.orders}
    orders = [
        Ordered(cause, title, added(row["amount"] for row in read.orders if row["order"] == order))
        for order, (cause, title) in titles.items()
    ]
    return OwnerFigures(
        visible=job.base + job.record,
        counted=added(row["credit"] for row in read.counted),
        drawn=tuple(drawn),
        orders=tuple(orders),
        credits=billed.credits,
        billed=billed.net,
        tax=billed.tax,
        rounding=billed.rounding,
        billed_with_tax=billed.total,
        basis=job.price_basis,
        stopped=read.stopped,
        cut=billed.cut,
        settled=None if read.left is None else read.left.steps,
    )


def _ordered_repairs(read: _Read) -> dict[Key, tuple[Decimal, int]]:
    """What accepted orders put right of hidden components: extent and set-ups, by component and construction."""
    found: dict[Key, tuple[Decimal, int]] = {}
    for row in read.orders:
        if row["kind"] != "repair":
            continue
        key = row["slug"], row["details"]["construction"]
        extent, set_ups = found.get(key, (ZERO, 0))
        # One repair stands in up to three lines: labour and parts, which are taxed apart, and its set-up.
        part, done = row["details"]["part"], done_of(row)
        found[key] = (extent + (done if part == "labour" else ZERO), set_ups + (part == "set_up" and done > 0))
    return found


def _repaired(read: _Read) -> dict[Key, Decimal]:
    """Extents that were put right, by draws and by orders."""
    found = {key: row["extent"] for key, row in read.drawn.items()}
    for key, (extent, _) in _ordered_repairs(read).items():
        found[key] = found.get(key, ZERO) + extent
    return found


def _standard(read: _Read, billed: Billed) -> Decimal:
    """Actual hours and goods at the quote's rates and markups, with the shop's lines as quoted, the owner's wishes apart.

    What a wish took is what was logged on its order; where nothing was, its amount x all that was logged / all that was billed.
    """
    shop_lines = added(line["amount"] for line in read.lines if line["kind"] == "shop")
    logged = added(row["value"] for row in read.ledger)
    wishes = {row["order"] for row in read.orders if row["cause"] == "owner_wish"}
    on_order = {order: added(row["value"] for row in read.ledger if row["order"] == order) for order in wishes}
    apart = added(on_order.values())
    for order in (order for order in wishes if not on_order[order] and billed.net):
        amount = added(row["amount"] for row in read.orders if row["order"] == order)
        apart += share_of(amount, logged / billed.net, read.base.currency)
    return logged + shop_lines - apart
