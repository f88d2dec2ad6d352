"""What was planned of each material of a job, what was bought, what was used, and where do they differ?"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any, cast

from django.db.models import Sum

from costbase.calc.cost_base import CostBase, Material, Price
from costbase.models import Shop
from costbase.snapshot import OverTime, over_time
from quotes.calc.ledger import GOODS, PACKS, PURCHASE, STOCK, USE, Goods, InvoiceLine, Match, Moved, Planned, match_material
from quotes.models import ChangeOrderPacks, Job, JobLine, LedgerEntry
from quotes.reports.ledger import standing
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]


@dataclass(frozen=True, slots=True)
class MatchedMaterial:
    """A material with its match and the purchases for the job that stand, the oldest first."""

    material: Material
    frozen: bool
    pack_price: Decimal | None
    match: Match
    invoices: tuple[LedgerEntry, ...]


def matched_materials(shop: Shop, job: Job, today: date) -> list[MatchedMaterial]:
    """Every material that was planned, or that an entry names: those of the job's lines first, in their order.

    What returns under warranty took is told with them.
    Five queries, and one for a cost base that this process has not read yet.
    """
    planned = _planned(shop, job)
    moved = _moved(shop, job)
    invoices = _invoices(shop, job)
    slugs = list(dict.fromkeys((*planned, *moved)))
    base = frozen_cost_base(job)
    editions = over_time(shop, [(kind, slug) for slug in slugs for kind in ("material", "price")], today)
    return [
        _matched(slug, base, editions, today, planned.get(slug, []), moved.get(slug, []), invoices.get(slug, []))
        for slug in slugs
    ]


def _matched(
    slug: str,
    base: CostBase,
    editions: OverTime,
    today: date,
    planned: list[Planned],
    moved: list[Moved],
    invoices: list[LedgerEntry],
) -> MatchedMaterial:
    frozen = slug in base.materials
    # A material that was logged has an edition: the ledger refuses others. One that was planned is in the frozen base.
    material = base.materials[slug] if frozen else cast(Material, editions.on("material", slug, today))
    price = base.prices.get(slug) or cast(Price | None, editions.on("price", slug, today))
    pack_price = price.pack_price if price is not None else None
    by_use = material.supply == STOCK and base.rule.stock_billing == USE
    goods = Goods(material.pack_size, material.waste_share, by_use, pack_price)
    lines = [InvoiceLine(entry.pk, _counted_in(entry.unit), entry.rate, _line(entry)) for entry in invoices]
    return MatchedMaterial(material, frozen, pack_price, match_material(goods, planned, moved, lines), tuple(invoices))


def _planned(shop: Shop, job: Job) -> dict[str, list[Planned]]:
    """Packs and net need of each material: its agreed lines, then what change orders added."""
    lines = JobLine.objects.for_shop(shop).filter(job_id=job.pk, kind="material", details__has_key="packs")
    planned: dict[str, list[Planned]] = {}
    for row in lines.order_by("position").values("slug", "details"):
        told: Mapping[str, str] = row["details"]
        planned.setdefault(row["slug"], []).append(Planned(Decimal(told["packs"]), Decimal(told["net"])))
    added = ChangeOrderPacks.objects.for_shop(shop).filter(job_id=job.pk).order_by("change_order_id")
    for material, packs, net in added.values_list("material", "packs", "net"):
        planned.setdefault(material, []).append(Planned(packs, net))
    return planned


def _moved(shop: Shop, job: Job) -> dict[str, list[Moved]]:
    rows = LedgerEntry.objects.for_shop(shop).filter(job_id=job.pk, warranty_return=None)
    rows = rows.filter(kind__in=(*GOODS, PURCHASE)).exclude(material="")
    sums: Iterable[Any] = rows.order_by().values_list("material", "kind", "unit", "source").annotate(Sum("quantity"))
    moved: dict[str, list[Moved]] = {}
    for material, kind, unit, source, quantity in sorted(sums):
        moved.setdefault(material, []).append(Moved(kind, _counted_in(unit), source, quantity))
    return moved


def _invoices(shop: Shop, job: Job) -> dict[str, list[LedgerEntry]]:
    rows = LedgerEntry.objects.for_shop(shop).filter(job_id=job.pk, warranty_return=None)
    rows = rows.filter(kind=PURCHASE).exclude(material="")
    invoices: dict[str, list[LedgerEntry]] = {}
    for entry in standing(shop, rows).order_by("day", "pk"):
        invoices.setdefault(entry.material, []).append(entry)
    return invoices


def _line(entry: LedgerEntry) -> tuple[str, str, int | None]:
    return entry.supplier, entry.invoice, entry.invoice_line


def _counted_in(unit: str) -> str:
    return PACKS if unit == PACKS else USE
