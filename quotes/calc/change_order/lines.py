"""What does one way of a change order cost, line by line?

Labour and goods by the frozen templates, hidden work at its agreed unit price, hours and goods by themselves, and work of
somebody else at a stated price. Then the shop's lines: supplies up to their cap over the whole job, and the overhead of this
order. No minimum charge: the job has paid it. Supplies and overhead are never worked on hidden work, nor on others' prices.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal

from costbase.calc.money import amount, decimal_quantity, extend, share_down, share_of, unit_price
from costbase.calc.units import in_unit, show
from quotes.calc.change_order.goods import AddedPacks, Need, goods_of, packs_told
from quotes.calc.change_order.takes import takes_of, those
from quotes.calc.change_order.terms import (
    AgreedRepair,
    AssemblyWork,
    GoodsWork,
    HoursWork,
    JobTerms,
    RepairWork,
    SubcontractWork,
    Work,
    WorkError,
)
from quotes.calc.labour import LabourLine, labour_lines, trade_of
from quotes.calc.packing import QUANTITY_PLACES, shared_need
from quotes.calc.pricing import FreightLine, MaterialLine, material_of
from quotes.calc.takeoff import Take
from quotes.calc.tax import LABOUR, PARTS, sum_by_class

DAY_PLACES = 2
# Beyond that nobody changes an order; it is another job.
DAYS_BELOW = Decimal(1000)
_SUPPLIES = "shop-supplies"


@dataclass(frozen=True, slots=True)
class OrderLine:
    """One line of a way. `amount` = quantity x price, rounded once, unless `details` says of what it is a part."""

    kind: str  # "labour", "material", "repair", "subcontract" or "shop"
    slug: str
    trade: str
    name: str
    phase: str
    quantity: Decimal
    unit: str
    price: Decimal
    amount: Decimal
    cost: Decimal
    tax_class: str
    details: dict[str, object]


@dataclass(frozen=True, slots=True)
class PricedWay:
    """A way, priced: its lines, their sum and cost, what it adds of goods, and the days of its work (two decimals)."""

    lines: tuple[OrderLine, ...]
    packs: tuple[AddedPacks, ...]
    amount: Decimal
    cost: Decimal
    days: Decimal

    @property
    def by_class(self) -> dict[str, Decimal]:
        """The lines by tax class."""
        return sum_by_class((line.tax_class, line.amount) for line in self.lines)


def price_way(works: Sequence[Work], terms: JobTerms) -> PricedWay:
    """Prices everything that a way asks for, in the order: labour, goods, hidden work, somebody else's work, the shop's lines.

    Args:
        works: what is asked for; none for a way that does nothing.
        terms: of the job, as it stands.

    Raises:
        WorkError: work that the job does not know, that comes to nothing or to more days than any job has; its field is
            ``works/<place>/...``.
        MoneyError: more than an order can hold.
        NoRateError, NoMaterialError, NoPriceError, NoMarkupError: the cost base lacks something.
        MeasureError, TemplateFailedError: measures that do not fit, or on which a formula fails.
    """
    takes = takes_of(works, terms)
    labour = [*_assembly_labour(takes, terms), *(_hours(work, at, terms) for at, work in those(works, HoursWork))]
    needs = _needs(takes, works, terms)
    packs, lines, freight = goods_of(needs, terms)
    goods = [
        *(_goods_line(added, line, needs[added.material], terms) for added, line in zip(packs, lines, strict=True)),
        *(_freight_line(line) for line in freight),
    ]
    repairs = [line for at, work in those(works, RepairWork) for line in _repair(work, at, works, terms)]
    others = [_subcontract(work, terms) for _, work in those(works, SubcontractWork)]
    shop = _shop_lines(_sum(labour), _sum(goods), terms)
    every = (*labour, *goods, *repairs, *others, *shop)
    return PricedWay(
        lines=every,
        packs=packs,
        # Already rounded: sums that no order can hold are refused here, where they still have a name.
        amount=amount(_sum(every), terms.cost_base.currency),
        cost=amount(sum((line.cost for line in every), Decimal(0)), terms.cost_base.currency),
        days=_days(takes, works, terms),
    )


def _sum(lines: Iterable[OrderLine]) -> Decimal:
    return sum((line.amount for line in lines), Decimal(0))


# Work of assemblies.


def _assembly_labour(takes: Sequence[tuple[AssemblyWork, Take]], terms: JobTerms) -> list[OrderLine]:
    base, lines = terms.cost_base, []
    for work, take in takes:
        # The day's conditions hold for what was quoted under them, and for nothing else.
        multipliers = terms.multipliers if take.assembly.slug in terms.quoted else ()
        priced = labour_lines([take], base.trades, base.conditions, multipliers, base.currency)
        lines += [_labour_line(line, take, work, terms) for line in priced]
    return lines


def _labour_line(line: LabourLine, take: Take, work: AssemblyWork, terms: JobTerms) -> OrderLine:
    details: dict[str, object] = {
        "driver": show(take.driver, take.assembly.driver_unit),
        "section": work.section,
        "template_hours": str(line.template_hours),
        "factor": str(line.factor),
        "multipliers": [{"condition": m.slug, "factor": str(m.factor), "reason": m.reason} for m in line.multipliers],
        "set_up_hours": str(line.set_up_hours),
        "reason": work.reason,
        **_said(terms, ("assembly", line.assembly), ("rate", line.trade)),
    }
    return OrderLine(
        kind="labour",
        slug=line.assembly,
        trade=line.trade,
        name=line.name,
        phase=line.phase,
        quantity=line.hours,
        unit="h",
        price=line.rate,
        amount=line.amount,
        cost=line.cost,
        tax_class=LABOUR,
        details=details,
    )


def _said(terms: JobTerms, *names: tuple[str, str]) -> dict[str, object]:
    """Of which day the editions are where the quote's own cost base does not hold them; nothing where it does."""
    return {"priced_on": terms.added_on} if any(name in terms.added for name in names) else {}


# Hours, goods and other people's work.


def _hours(work: HoursWork, at: int, terms: JobTerms) -> OrderLine:
    base = terms.cost_base
    if work.hours <= 0:
        raise WorkError("expected hours above 0", field=f"works/{at}/hours", value=work.hours)
    trade = trade_of(base.trades, work.trade)
    return OrderLine(
        kind="labour",
        slug=f"hours-{trade.slug}",
        trade=trade.slug,
        name=trade.name,
        phase=work.phase,
        quantity=work.hours,
        unit="h",
        price=trade.billed_per_hour,
        amount=extend(work.hours, trade.billed_per_hour, base.currency),
        cost=extend(work.hours, trade.cost_per_hour, base.currency),
        tax_class=LABOUR,
        details={"reason": work.reason, **_said(terms, ("rate", trade.slug))},
    )


def _needs(takes: Sequence[tuple[AssemblyWork, Take]], works: Sequence[Work], terms: JobTerms) -> dict[str, list[Need]]:
    needs: dict[str, list[Need]] = {}
    for _, take in takes:
        for slug, need in take.needs.items():
            for bought, part in shared_need(take, slug, need, terms.sizes.get(slug, ())):
                material, _, _ = material_of(terms.cost_base, bought)
                net = decimal_quantity(in_unit(part, material.unit), QUANTITY_PLACES)
                needs.setdefault(bought, []).append(Need(take.assembly.slug, take.assembly.phase, net))
    for at, work in those(works, GoodsWork):
        if work.net <= 0:
            raise WorkError("expected a quantity above 0", field=f"works/{at}/net", value=work.net)
        needs.setdefault(work.material, []).append(Need(work.reason, "", work.net))
    return needs


def _goods_line(added: AddedPacks, line: MaterialLine, needs: Sequence[Need], terms: JobTerms) -> OrderLine:
    material = line.packed.material
    return OrderLine(
        kind="material",
        slug=material.slug,
        trade="",
        name=material.name,
        phase=line.phase,
        quantity=line.packed.billed,
        unit=material.pack_name if line.packed.billed_in == "pack" else material.unit,
        price=unit_price(line.price),
        amount=line.amount,
        cost=line.cost,
        tax_class=material.tax_class,
        details={**packs_told(added, needs, line), **_said(terms, ("material", material.slug))},
    )


def _freight_line(line: FreightLine) -> OrderLine:
    return OrderLine(
        kind="material",
        slug=line.slug,
        trade="",
        name=line.name,
        phase=line.phase,
        quantity=Decimal(1),
        unit="order",
        price=unit_price(line.price),
        amount=line.amount,
        cost=line.cost,
        tax_class=line.material.tax_class,
        details={"freight_of": line.material.slug, "freight": str(line.freight), "markup": str(line.markup)},
    )


def _subcontract(work: SubcontractWork, terms: JobTerms) -> OrderLine:
    currency = terms.cost_base.currency
    price = amount(work.price, currency)
    return OrderLine(
        kind="subcontract",
        slug="subcontract",
        trade="",
        name=work.name,
        phase="",
        quantity=Decimal(1),
        unit="job",
        price=unit_price(price),
        amount=price,
        cost=amount(work.cost, currency),
        tax_class=work.tax_class,
        details={"reason": work.reason},
    )


# Hidden work at its agreed price.


def _repair(work: RepairWork, at: int, works: Sequence[Work], terms: JobTerms) -> list[OrderLine]:
    agreed = agreed_repair(terms, work.component, work.construction, field=f"works/{at}")
    if work.extent <= 0:
        raise WorkError(f"expected an extent above 0 in {agreed.unit}", field=f"works/{at}/extent", value=work.extent)
    currency = terms.cost_base.currency
    whole = extend(work.extent, agreed.unit_price, currency)
    parts = share_down(whole, _material_share(agreed), currency)
    cost = extend(work.extent, agreed.cost, currency)
    told: dict[str, object] = {"construction": agreed.construction, "work": str(whole), "reason": work.reason}
    line = OrderLine(
        kind="repair",
        slug=agreed.slug,
        trade="",
        name=agreed.name,
        phase="",
        quantity=work.extent,
        unit=agreed.unit,
        price=agreed.unit_price,
        amount=whole - parts,
        cost=cost,
        tax_class=LABOUR,
        details={**told, "part": "labour"},
    )
    lines = [line]
    if parts:
        lines.append(replace(line, amount=parts, cost=Decimal(0), tax_class=PARTS, details={**told, "part": "parts"}))
    first = all(other.component != work.component for _, other in those(works[:at], RepairWork))
    if agreed.set_up and first and not agreed.charged:
        lines.append(_set_up(line, agreed))
    return lines


def _set_up(line: OrderLine, agreed: AgreedRepair) -> OrderLine:
    return replace(
        line,
        quantity=Decimal(1),
        unit="set-up",
        price=unit_price(agreed.set_up),
        amount=agreed.set_up,
        cost=agreed.set_up_cost,
        details={"construction": agreed.construction, "part": "set_up"},
    )


def _material_share(agreed: AgreedRepair) -> Decimal:
    both = agreed.labour_part + agreed.material_part
    return min(Decimal(1), max(Decimal(0), agreed.material_part / both)) if both > 0 else Decimal(0)


def agreed_repair(terms: JobTerms, component: str, construction: str, *, field: str) -> AgreedRepair:
    """The agreed repair of a hidden component; the construction may be left out where there is one only.

    Raises:
        WorkError: the job has no unit price of it, or several and none was chosen.
    """
    fitting = [
        agreed for key, agreed in terms.repairs.items() if key[0] == component and (not construction or key[1] == construction)
    ]
    if not fitting:
        known = ", ".join(sorted({slug for slug, _ in terms.repairs})) or "none"
        words = f"no unit price of '{component}' was agreed; agreed are: {known}. Price it by its assembly instead"
        raise WorkError(words, field=f"{field}/component", value=component)
    if len(fitting) > 1:
        kinds = ", ".join(agreed.construction for agreed in fitting)
        raise WorkError(f"say on which construction '{component}' is: {kinds}", field=f"{field}/construction")
    return fitting[0]


# The shop's lines and the days.


def _shop_lines(labour: Decimal, goods: Decimal, terms: JobTerms) -> list[OrderLine]:
    """Supplies of all labour up to the cap, less what was charged; and the overhead of this order. What is 0 is left out."""
    rule, currency = terms.cost_base.rule, terms.cost_base.currency
    due = share_of(terms.labour + labour, rule.supplies_share, currency)
    if rule.supplies_cap is not None:
        due = min(due, amount(rule.supplies_cap, currency))
    supplies = max(Decimal(0), due - terms.supplies) if labour else Decimal(0)
    direct = labour + goods + supplies
    overhead = share_of(direct, rule.overhead_share, currency)
    before = {"labour_before": str(terms.labour), "supplies_before": str(terms.supplies)}
    lines = [
        _shop_line(_SUPPLIES, "Shop supplies", supplies, rule.supplies_tax_class, {"worked_on": str(labour), **before}),
        _shop_line("overhead", "Overhead", overhead, rule.overhead_tax_class, {"worked_on": str(direct)}),
    ]
    return [line for line in lines if line.amount > 0]


def _shop_line(slug: str, name: str, value: Decimal, tax_class: str, details: dict[str, object]) -> OrderLine:
    return OrderLine("shop", slug, "", name, "", Decimal(1), "job", unit_price(value), value, Decimal(0), tax_class, details)


def _days(takes: Sequence[tuple[AssemblyWork, Take]], works: Sequence[Work], terms: JobTerms) -> Decimal:
    """Hours over the crew and the hours of a day, one after the other: a plain figure that a person may replace."""
    hours = sum(sum(take.hours.values()) / take.assembly.crew for _, take in takes)
    hours += sum(float(work.hours) for _, work in those(works, HoursWork))
    for at, work in those(works, RepairWork):
        agreed = agreed_repair(terms, work.component, work.construction, field=f"works/{at}")
        hours += float(work.extent) * agreed.crew_hours
    days = decimal_quantity(hours / terms.cost_base.rule.hours_a_day, DAY_PLACES)
    if days >= DAYS_BELOW:
        raise WorkError(f"expected work of fewer than {DAYS_BELOW} days, not of {days}", field="works", value=days)
    return days
