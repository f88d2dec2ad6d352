"""What does a job bring to the pricing of a change, and which change orders has it?"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from typing import Any

from django.db.models import F, OuterRef, QuerySet, Subquery, Sum

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, currency
from costbase.models import Shop
from quotes.calc.change_order import (
    AgreedLimit,
    AgreedRepair,
    Authorised,
    Bought,
    JobTerms,
    authorised_after,
    crew_hours,
    laid_under,
    line_steps,
    lines_by_class,
    repair_cost,
    set_up_cost,
)
from quotes.calc.hidden import HiddenComponent
from quotes.calc.hidden.prices import section_costs
from quotes.calc.tax import Tax
from quotes.calc.why import Context
from quotes.models import (
    ChangeOrder,
    ChangeOrderLine,
    ChangeOrderPacks,
    ChangeOrderWay,
    FoundNote,
    Job,
    JobComponent,
    JobLine,
)
from quotes.reports.quotes import COMPONENT, LINE, worked_again

Row = dict[str, Any]

# Their work is done and billed: by a consent, or under an adopted policy.
TAKEN = ("accepted", "carried")
ORDER_LINE = (
    "position", "kind", "slug", "trade", "name", "phase", "quantity", "unit", "price", "amount", "cost", "tax_class", "details",
)  # fmt: skip
_HEAVY = ("document", "request")


def orders_of(shop: Shop, job_id: int) -> QuerySet[ChangeOrder]:
    """The change orders of a job."""
    return ChangeOrder.objects.for_shop(shop).filter(job_id=job_id)


def brief_orders(shop: Shop) -> QuerySet[ChangeOrder]:
    """Change orders of all jobs without what a list does not show, with the kind of the chosen way and the currency."""
    ways = ChangeOrderWay.objects.for_shop(shop).filter(change_order=OuterRef("pk"), position=OuterRef("chosen"))
    rows = ChangeOrder.objects.for_shop(shop).defer(*_HEAVY)
    return rows.annotate(chosen_kind=Subquery(ways.values("kind")[:1]), currency=F("job__currency"))


def ways_of(shop: Shop, order_id: int) -> list[ChangeOrderWay]:
    """The ways of an order in their order."""
    return list(ChangeOrderWay.objects.for_shop(shop).filter(change_order_id=order_id).order_by("position"))


def lines_of_ways(shop: Shop, order_id: int) -> dict[int, list[Row]]:
    """The lines of all ways of an order, by the id of the way."""
    rows = ChangeOrderLine.objects.for_shop(shop).filter(way__change_order_id=order_id).order_by("way_id", "position")
    found: dict[int, list[Row]] = {}
    for row in rows.values("way_id", *ORDER_LINE):
        found.setdefault(row.pop("way_id"), []).append(row)
    return found


def taken_lines(shop: Shop, job_id: int, states: Sequence[str] = TAKEN) -> QuerySet[ChangeOrderLine]:
    """The lines of the chosen ways of orders in these states."""
    return ChangeOrderLine.objects.for_shop(shop).filter(
        way__change_order__job_id=job_id,
        way__change_order__state__in=states,
        way__position=F("way__change_order__chosen"),
    )


def why_line(shop: Shop, order_id: int, way: str, position: int, money: Currency) -> Row | None:
    """Why a line of a way is what it is; None where there is no such line."""
    rows = ChangeOrderLine.objects.for_shop(shop).filter(way__change_order_id=order_id, way__kind=way, position=position)
    line = rows.values(*ORDER_LINE).first()
    if line is None:
        return None
    steps = [{"text": text, "value": value, "unit": unit} for text, value, unit in line_steps(line, money)]
    return {"of": line["name"], "value": steps[-1]["value"], "steps": steps}


# What is authorised.


def agreed_limit(shop: Shop, job: Job, base: CostBase) -> AgreedLimit:
    """The limit as it was signed, by tax class."""
    lines = JobLine.objects.for_shop(shop).filter(job_id=job.pk).values("kind", "slug", "amount", "details")
    return AgreedLimit(
        by_class=lines_by_class(lines, base.materials),
        record=job.record,
        contingency=job.contingency,
        taxes=tuple(
            Tax(tax["name"], Decimal(tax["rate"]), Decimal(tax["base"]), Decimal(tax["amount"]))
            for tax in job.totals["limit_taxes"]
        ),
    )


def sums_of_orders(shop: Shop, job_id: int, states: Sequence[str] = ("accepted",)) -> dict[str, Decimal]:
    """What orders in these states have added, by tax class."""
    rows = taken_lines(shop, job_id, states).values("tax_class").annotate(added=Sum("amount")).order_by("tax_class")
    return {row["tax_class"]: row["added"] for row in rows}


def limits_with(
    agreed: AgreedLimit, taken: Mapping[str, Decimal], added: Iterable[Mapping[str, Decimal]], base: CostBase, code: str
) -> Authorised:
    """What is authorised with some orders taken and more added."""
    return authorised_after(agreed, [taken, *added], base.rule, currency(code))


# The terms.


def job_terms(shop: Shop, job: Job, frozen: CostBase, today: CostBase | None) -> JobTerms:
    """What a job brings to the pricing of a change, as it stands: agreed, drawn, bought.

    Args:
        shop: whose it is.
        job: with its quote, all columns.
        frozen: the cost base of the quote.
        today: what is in force, for work that the frozen base does not hold; None for none.
    """
    context = worked_again(job.quote)
    base, added = laid_under(frozen, today) if today is not None else (frozen, frozenset())
    lines = list(JobLine.objects.for_shop(shop).filter(job_id=job.pk).order_by("position").values(*LINE))
    taken: list[Row] = [dict(line) for line in taken_lines(shop, job.pk).values("kind", "slug", "amount", "details")]
    quoted = frozenset(line["slug"] for line in lines if line["kind"] == "labour")
    return JobTerms(
        cost_base=base,
        added=added,
        added_on=today.priced_on if today is not None else "",
        sections=context.quote.measured.sections,
        whole=context.quote.measured.whole,
        sizes=context.quote.measured.sizes(),
        multipliers=context.quote.multipliers,
        quoted=quoted,
        carried=quoted | {line["slug"] for line in taken if line["kind"] == "labour"},
        bought=_bought(shop, job, lines),
        labour=_added([*lines, *taken], "labour"),
        supplies=_added([line for line in (*lines, *taken) if line["slug"] == "shop-supplies"], "shop"),
        repairs=_repairs(shop, job, context, drawn_set_ups(shop, job.pk) | ordered_set_ups(shop, job.pk)),
    )


def drawn_set_ups(shop: Shop, job_id: int) -> frozenset[str]:
    """Components whose set-up found notes have charged, corrections taken off."""
    notes = FoundNote.objects.for_shop(shop).filter(job_id=job_id).values("component").annotate(charged=Sum("set_up"))
    return frozenset(row["component"] for row in notes.order_by("component") if row["charged"])


def ordered_set_ups(shop: Shop, job_id: int) -> frozenset[str]:
    """Components whose set-up a change order has charged."""
    lines = taken_lines(shop, job_id).filter(kind="repair", details__part="set_up")
    return frozenset(lines.values_list("slug", flat=True))


def _added(lines: Iterable[Row], kind: str) -> Decimal:
    return sum((line["amount"] for line in lines if line["kind"] == kind), Decimal(0))


def _bought(shop: Shop, job: Job, lines: Sequence[Row]) -> dict[str, Bought]:
    bought = {
        line["slug"]: Bought(Decimal(line["details"]["net"]), line["quantity"])
        for line in lines
        if line["kind"] == "material" and "net" in line["details"]
    }
    more = ChangeOrderPacks.objects.for_shop(shop).filter(job_id=job.pk).values("material")
    for row in more.annotate(more_net=Sum("net"), more_packs=Sum("packs")).order_by("material"):
        before = bought.get(row["material"], Bought(Decimal(0), Decimal(0)))
        bought[row["material"]] = Bought(before.net + row["more_net"], before.billed + row["more_packs"])
    return bought


def _repairs(shop: Shop, job: Job, context: Context, charged: frozenset[str]) -> dict[tuple[str, str], AgreedRepair]:
    rows = JobComponent.objects.for_shop(shop).filter(job_id=job.pk).order_by("position").values(*COMPONENT)
    hidden = {(work.component.slug, work.construction): work for work in context.quote.hidden}
    repairs = {}
    for row in rows:
        key = (row["slug"], row["construction"])
        if key in hidden:
            repairs[key] = _repair(row, hidden[key], context, charged)
    return repairs


def _repair(row: Row, work: HiddenComponent, context: Context, charged: frozenset[str]) -> AgreedRepair:
    base = context.cost_base
    sections = context.quote.measured.sections
    costs = section_costs(work.component, work.sections, work.share, sections, base)
    agreed = AgreedRepair(
        slug=row["slug"],
        construction=row["construction"],
        name=row["name"],
        unit=row["unit"],
        unit_price=row["unit_price"],
        set_up=row["set_up"],
        labour_part=row["labour_part"],
        material_part=row["material_part"],
        can_close_up=row["details"]["can_close_up"],
        cost=repair_cost(costs),
        set_up_cost=Decimal(0),
        crew_hours=crew_hours(costs),
        charged=row["slug"] in charged,
    )
    return replace(agreed, set_up_cost=set_up_cost(costs, base.trades, base.currency)) if agreed.set_up else agreed
