"""What of a job's hidden and counted work was agreed, and what was found and settled of it so far?"""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet, Sum

from costbase.calc.money import amount, currency, decimal_quantity
from costbase.calc.units import BY_SYMBOL, from_value, in_unit
from costbase.models import Shop
from quotes.calc.found import AgreedComponent, CountedLine, Drawn, Pot
from quotes.models import CountedSettlement, FoundNote, Job, JobLine
from quotes.reports.change_orders import ordered_set_ups
from quotes.reports.jobs import drawn_by_component, job_components
from quotes.reports.quotes import tax_class_of
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]


def agreed_components(shop: Shop, job: Job) -> list[AgreedComponent]:
    """The hidden components of a job as they were agreed, in their order."""
    money = currency(job.currency)
    return [
        AgreedComponent(
            slug=row["slug"],
            construction=row["construction"],
            unit=row["unit"],
            exposure=row["exposure"],
            unit_price=row["unit_price"],
            set_up=amount(row["set_up"], money),
            labour_part=row["labour_part"],
            material_part=row["material_part"],
            allowance=amount(row["allowance"], money),
            assemblies=tuple(row["details"]["assemblies"]),
        )
        for row in job_components(shop, job.pk)
    ]


def pot_of(shop: Shop, job: Job) -> Pot:
    """The pot of a job with what was drawn of it."""
    money = currency(job.currency)
    drawn = drawn_by_component(shop, job.pk)
    return Pot(
        amount(Decimal(str(job.contingency)), money),
        {key: Drawn(own["extent"], amount(own["set_up"], money), amount(own["amount"], money)) for key, own in drawn.items()},
        ordered_set_ups(shop, job.pk),
    )


def counted_lines(shop: Shop, job: Job) -> dict[str, list[CountedLine]]:
    """Every line of a job that is settled when the work is counted, by assembly: labour lines, and parts of materials."""
    base = frozen_cost_base(job)
    found: dict[str, list[CountedLine]] = {}
    rows = JobLine.objects.for_shop(shop).filter(job_id=job.pk).order_by("position")
    for row in rows.values("position", "kind", "slug", "trade", "name", "details"):
        for assembly, counted in _counted_of(row):
            line = CountedLine(
                position=row["position"],
                kind=row["kind"],
                slug=row["slug"],
                trade=row["trade"],
                name=row["name"],
                tax_class=tax_class_of(row["kind"], row["slug"], row["details"].get("tax_class"), base),
                quoted=Decimal(counted["quantity"]),
                unit=counted["unit"],
                unit_price=Decimal(counted["unit_price"]),
            )
            found.setdefault(assembly, []).append(line)
    return found


def _counted_of(row: Any) -> Sequence[tuple[str, Row]]:
    details = row["details"]
    if "counted" in details:
        return [(row["slug"], details["counted"])]
    return [(part["assembly"], part["counted"]) for part in details.get("parts", ()) if "counted" in part]


def noted_beyond(shop: Shop, job_id: int) -> dict[str, dict[str, Decimal]]:
    """How much beyond its quoted quantity found notes have drawn for counted work: assembly -> unit -> extent, corrections
    counted.
    """
    found: dict[str, dict[str, Decimal]] = {}
    notes = FoundNote.objects.for_shop(shop).filter(job_id=job_id).exclude(counted="").values("counted", "unit")
    for row in notes.annotate(all=Sum("extent")):
        found.setdefault(row["counted"], {})[row["unit"]] = row["all"]
    return found


def measured_alike(unit: str, other: str) -> bool:
    """Whether two units measure the same."""
    return BY_SYMBOL[unit].dimension == BY_SYMBOL[other].dimension


def converted(quantity: Decimal, unit: str, to: str) -> Decimal:
    """A quantity of 0 or more in another unit that measures the same, half up to four decimals."""
    if unit == to:
        return quantity
    return decimal_quantity(in_unit(from_value(f"{quantity:f}", unit, BY_SYMBOL[unit].dimension).canonical, to))


def found_notes(shop: Shop, job_id: int) -> "QuerySet[FoundNote, FoundNote]":
    """The found notes of a job, corrections among them."""
    return FoundNote.objects.for_shop(shop).filter(job_id=job_id)


def taken_back_by(shop: Shop, note: FoundNote) -> int | None:
    """The number of the note that takes a note back; None while it stands."""
    number: int | None = found_notes(shop, note.job_id).filter(corrects_id=note.pk).values_list("number", flat=True).first()
    return number


def settlements(shop: Shop, job_id: int) -> "QuerySet[CountedSettlement, CountedSettlement]":
    """Every time that counted work of a job was settled; the last of an assembly holds."""
    return CountedSettlement.objects.for_shop(shop).filter(job_id=job_id)
