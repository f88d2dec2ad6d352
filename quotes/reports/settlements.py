"""What has a stopped job to be settled from, and what would its records propose?"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import F, QuerySet, Sum

from costbase.calc.cost_base import CostBase
from costbase.calc.money import currency, decimal_quantity
from costbase.models import Shop
from quotes.calc.change_order import Sold, line_tax_class
from quotes.calc.found import OpenedShare, taken_off
from quotes.calc.ledger import STOCK, TIME, USE
from quotes.calc.tax import tax_apart
from quotes.models import CountedSettlement, FoundNote, Job, JobLine, LedgerEntry, Payment, Settlement
from quotes.reports.change_orders import agreed_limit, limits_with, sums_of_orders, taken_lines
from quotes.reports.job_goods import matched_materials
from quotes.reports.openings import shares_opened
from quotes.reports.payers import agreed_taxes
from quotes.reports.quotes import LINE

Row = dict[str, Any]


class Quoted(NamedTuple):
    """How much of an assembly was quoted: its driver, in its unit."""

    quantity: Decimal
    unit: str
    name: str
    phase: str


@dataclass(frozen=True, slots=True)
class ToSettle:
    """What was sold of a job, how much of each assembly was quoted, and what happened since."""

    sold: tuple[Sold, ...]
    quoted: Mapping[str, Quoted]
    orders: Mapping[int, int]  # number -> id
    drawn: Decimal
    drawn_parts: Decimal
    paid: Decimal
    most: Decimal
    tax_apart: Mapping[str, Decimal]


def settlements_of(shop: Shop, job_id: int) -> QuerySet[Settlement]:
    """The settlements of a job; all but one were taken back."""
    return Settlement.objects.for_shop(shop).filter(job_id=job_id)


def signed_settlement(shop: Shop, job_id: int) -> Settlement | None:
    """The settlement that was signed; None while there is none."""
    return settlements_of(shop, job_id).filter(state="signed").first()


def to_settle(shop: Shop, job: Job, base: CostBase) -> ToSettle:
    """What a job is settled from, in six queries."""
    lines = list(JobLine.objects.for_shop(shop).filter(job_id=job.pk).order_by("position").values(*LINE))
    ordered = _ordered(shop, job)
    notes = FoundNote.objects.for_shop(shop).filter(job_id=job.pk).aggregate(amount=Sum("amount"), parts=Sum("material"))
    paid = Payment.objects.for_shop(shop).filter(job_id=job.pk).aggregate(paid=Sum("amount"))["paid"]
    return ToSettle(
        sold=(
            *(_sold(line, 0, line_tax_class(line, base.materials)) for line in lines),
            *(_sold(dict(line), line["order"], line["tax_class"]) for line in ordered),
        ),
        quoted={line["slug"]: _quoted(line) for line in lines if line["kind"] == "labour"},
        orders={line["order"]: line["order_id"] for line in ordered},
        drawn=notes["amount"] or Decimal(0),
        drawn_parts=notes["parts"] or Decimal(0),
        paid=paid or Decimal(0),
        most=job.authorised_with_tax + _carried(shop, job, base),
        tax_apart=tax_apart(agreed_taxes(job), currency(job.currency)),
    )


def _ordered(shop: Shop, job: Job) -> list[Any]:
    lines = taken_lines(shop, job.pk).annotate(order=F("way__change_order__number"), order_id=F("way__change_order_id"))
    names = (
        "kind",
        "slug",
        "name",
        "quantity",
        "unit",
        "price",
        "amount",
        "tax_class",
        "details",
        "order",
        "order_id",
        "position",
    )
    return list(lines.order_by("order", "position").values(*names))


def _carried(shop: Shop, job: Job, base: CostBase) -> Decimal:
    """What carried orders come to with tax beyond what is authorised."""
    carried = sums_of_orders(shop, job.pk, ("carried",))
    if not carried:
        return Decimal(0)
    after = limits_with(agreed_limit(shop, job, base), sums_of_orders(shop, job.pk), [carried], base, job.currency)
    return after.authorised_with_tax - job.authorised_with_tax


def _sold(line: Row, order: int, tax_class: str) -> Sold:
    counted = line["details"].get("counted") if line["kind"] == "labour" else None
    return Sold(
        kind=line["kind"],
        slug=line["slug"],
        name=line["name"],
        order=order,
        quantity=line["quantity"],
        unit=line["unit"],
        price=line["price"],
        amount=line["amount"],
        tax_class=tax_class,
        counted_price=Decimal(counted["unit_price"]) if counted else None,
        counted_set_up=Decimal(counted["set_up"]) if counted else Decimal(0),
        position=line["position"],
    )


def _quoted(line: Row) -> Quoted:
    number, _, unit = str(line["details"]["driver"]).rpartition(" ")
    return Quoted(Decimal(number.replace(",", "")), unit, line["name"], line["phase"])


# What the records propose.


def proposed(shop: Shop, job: Job, base: CostBase, day: date) -> Row:
    """What the job's records say of every line: counted work as it was settled, goods as supplied, other work as follows.

    Work that takes the roof off is done by the share of the places that the opening record has, where it has any of the kind
    that the work is measured in; all other work by the hours logged on it over its hours. Never more than was quoted, and
    nothing of it is taken by itself.
    """
    known = to_settle(shop, job, base)
    counted = dict(
        CountedSettlement.objects.for_shop(shop).filter(job_id=job.pk).order_by("id").values_list("assembly", "done")
    )
    logged = _logged(shop, job)
    opened = shares_opened(shop, job)
    works = []
    for slug, quoted in known.quoted.items():
        hours = logged.get(slug, (Decimal(0), Decimal(0)))
        off = taken_off(quoted.quantity, quoted.unit, quoted.phase, base.assemblies[slug].off_share, opened)
        works.append(_proposed_work(slug, quoted, counted.get(slug), off, hours))
    return {
        "done": works,
        "opened": [_opened(share) for share in opened],
        "kept": _proposed_goods(shop, job, known, base, day),
        "orders": [{"number": number, "share": "0"} for number in known.orders],
        "drawn": known.drawn,
        "paid": known.paid,
        "most": known.most,
    }


def _opened(share: OpenedShare) -> Row:
    return {
        "places": share.places,
        "unit": share.unit,
        "opened": str(share.opened),
        "of": str(share.of),
        "share": str(share.share),
    }


def _logged(shop: Shop, job: Job) -> dict[str, tuple[Decimal, Decimal]]:
    """Hours logged and hours quoted, by assembly."""
    rows = JobLine.objects.for_shop(shop).filter(job_id=job.pk, kind="labour").values("position", "slug", "quantity")
    lines = {row["position"]: row for row in rows}
    entries = LedgerEntry.objects.for_shop(shop).filter(job_id=job.pk, kind=TIME, line__isnull=False).order_by()
    hours = {row["line"]: row["hours"] for row in entries.values("line").annotate(hours=Sum("quantity"))}
    found: dict[str, tuple[Decimal, Decimal]] = {}
    for position, line in lines.items():
        done, quoted = found.get(line["slug"], (Decimal(0), Decimal(0)))
        found[line["slug"]] = (done + hours.get(position, Decimal(0)), quoted + line["quantity"])
    return found


def _proposed_work(
    slug: str,
    quoted: Quoted,
    counted: Decimal | None,
    off: tuple[Decimal, OpenedShare] | None,
    hours: tuple[Decimal, Decimal],
) -> Row:
    logged, planned = hours
    if counted is not None:
        done, by = counted, "counted"
    elif off is not None:
        done, by = off[0], f"{off[1].places} opened"
    else:
        share = min(Decimal(1), max(Decimal(0), logged / planned)) if planned > 0 else Decimal(0)
        done, by = decimal_quantity(float(quoted.quantity * share)), "hours logged"
    return {
        "assembly": slug,
        "name": quoted.name,
        "unit": quoted.unit,
        "quoted": str(quoted.quantity),
        "done": str(min(quoted.quantity, done)),
        "by": by,
        "hours_logged": str(logged),
        "hours_quoted": str(planned),
    }


def _proposed_goods(shop: Shop, job: Job, known: ToSettle, base: CostBase, day: date) -> list[Row]:
    """What was supplied for this coach of every material that was sold, in what it is billed in, at most all of it."""
    sold: dict[str, Decimal] = {}
    names: dict[str, str] = {}
    for line in known.sold:
        if line.kind == "material" and not line.slug.startswith("freight:"):
            sold[line.slug] = sold.get(line.slug, Decimal(0)) + line.quantity
            names[line.slug] = line.unit
    rows = []
    for matched in matched_materials(shop, job, day):
        material = matched.material
        if material.slug in sold:
            by_use = material.supply == STOCK and base.rule.stock_billing == USE
            supplied = matched.match.supplied if by_use else matched.match.supplied / material.pack_size
            stays = decimal_quantity(float(min(sold[material.slug], max(Decimal(0), supplied))))
            unit = names[material.slug]
            rows.append({"material": material.slug, "unit": unit, "sold": str(sold[material.slug]), "kept": str(stays)})
    return rows
