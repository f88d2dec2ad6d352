"""What would putting one unit of a hidden component right cost?

The variable priced cost of the repairing assemblies at the mean find, divided by the find. Set-up is a price of its own,
charged once when anything is found. Both are frozen when the quote is issued and bind every later draw, so neither supplies,
overhead and minimum nor the conditions of the day are in them.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple, cast

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import Component, CostBase, Material, Repair, Trade
from costbase.calc.errors import CalculationError
from costbase.calc.formula import FormulaError, compile_rows
from costbase.calc.money import amount, decimal_quantity, per_unit
from costbase.calc.same import by_identity
from costbase.calc.units import BY_SYMBOL, in_unit
from quotes.calc.boards import sheet_of
from quotes.calc.hidden.exposures import EXPOSURE_PLACES, SectionExposure
from quotes.calc.labour import trade_of
from quotes.calc.pricing import material_of
from quotes.calc.sheets import lay_piece
from quotes.calc.takeoff import HOUR, Values, belongs, compile_assembly, named, value_of

# Hours and goods of one unit of a find are fractions of a minute and of a sheet; the price keeps six decimals of them.
FINE_PLACES = 12


class NoRepairError(CalculationError):
    """No assembly in force puts this component right on this construction."""

    code = "no_repair"


@dataclass(frozen=True, slots=True)
class UnitCost:
    """The agreed price of one unit of a hidden repair.

    `price` has six decimals and is `labour` + `material` (each unrounded, in the shop's currency); `set_up` is rounded to the
    currency. `priced_at` is the find, in the component's unit, at which it was worked out.
    """

    price: Decimal
    set_up: Decimal
    labour: Decimal
    material: Decimal
    priced_at: float
    assemblies: tuple[str, ...]


class LabourPart(NamedTuple):
    """Hours of one trade for one unit of a find, set-up and minimum left aside."""

    trade: Trade
    hours: Decimal

    @property
    def amount(self) -> Decimal:
        """What the owner pays for them, not rounded."""
        return self.hours * self.trade.billed_per_hour


class MaterialPart(NamedTuple):
    """Net need of one material for one unit of a find, in its unit of use; packs left aside."""

    material: Material
    net: Decimal
    pack_price: Decimal
    markup: Decimal

    @property
    def amount(self) -> Decimal:
        """What the owner pays for it with waste, not rounded."""
        each = self.pack_price * (1 + self.markup) / self.material.pack_size
        return self.net * (1 + self.material.waste_share) * each


class RepairPart(NamedTuple):
    """One assembly's part in a unit price; `sign` is -1 for work that the find saves. `set_up` is not rounded."""

    assembly: Assembly
    sign: int
    labour: tuple[LabourPart, ...]
    materials: tuple[MaterialPart, ...]
    set_up: Decimal


@dataclass(frozen=True, slots=True)
class SectionCost:
    """What one unit costs in one section: `find` is the extent it was worked at, `weight` the section's exposure (or 1)."""

    section: str
    find: float
    weight: Decimal
    repairs: tuple[RepairPart, ...]

    @property
    def labour(self) -> Decimal:
        """Labour of one unit, not rounded."""
        return _sum(repair.sign * part.amount for repair in self.repairs for part in repair.labour)

    @property
    def material(self) -> Decimal:
        """Material of one unit, not rounded."""
        return _sum(repair.sign * part.amount for repair in self.repairs for part in repair.materials)

    @property
    def set_up(self) -> Decimal:
        """Set-up of every repair, not rounded; saved work saves none, since its own set-up is in the visible work."""
        return _sum(repair.set_up for repair in self.repairs if repair.sign > 0)


def unit_cost(
    component: Component,
    found: tuple[SectionExposure, ...],
    share: float,
    sections: Mapping[str, Values],
    cost_base: CostBase,
) -> UnitCost:
    """Prices one unit of a component's repair: the mean over the sections that expose it, weighted by exposure.

    With no exposure anywhere it is the price of one unit in the first section that has the component, and no set-up.

    Args:
        component: the hidden component.
        found: its exposures by section.
        share: mean share found, of its tier and construction.
        sections: measures by section label.
        cost_base: rates, materials, prices, markups and assemblies in force.

    Raises:
        NoRepairError, NoRateError, NoMaterialError, NoPriceError, NoMarkupError: what the repair needs is not in force.
        TemplateFailedError: a formula of a repairing assembly fails on this roof.
    """
    costs = section_costs(component, found, share, sections, cost_base)
    extent = _sum(cost.weight for cost in costs)
    labour = _sum(cost.weight * cost.labour for cost in costs)
    material = _sum(cost.weight * cost.material for cost in costs)
    exposed = any(part.exposure > 0 for part in found)
    # Set-up is charged once for the quote, so it is that of the section where it is dearest.
    set_up = max(cost.set_up for cost in costs) if exposed else Decimal(0)
    return UnitCost(
        price=per_unit(labour + material, extent),
        set_up=amount(set_up, cost_base.currency),
        labour=labour / extent,
        material=material / extent,
        priced_at=costs[0].find,
        assemblies=tuple(dict.fromkeys(repair.assembly.slug for cost in costs for repair in cost.repairs)),
    )


def section_costs(
    component: Component,
    found: tuple[SectionExposure, ...],
    share: float,
    sections: Mapping[str, Values],
    cost_base: CostBase,
) -> tuple[SectionCost, ...]:
    """What `unit_cost` averages, repair by repair; arguments and errors as there."""
    exposed = [part for part in found if part.exposure > 0] or list(found[:1])
    costs = []
    for part in exposed:
        values = sections[part.section]
        find = _find(component, part, share, values)
        weight = decimal_quantity(part.exposure, EXPOSURE_PLACES) or Decimal(1)
        costs.append(SectionCost(part.section, find, weight, tuple(_repairs(component, find, values, cost_base))))
    return tuple(costs)


def can_be_repaired(component: Component, values: Values, cost_base: CostBase) -> bool:
    """Whether assemblies in force put this component right on a section of this construction."""
    return all(repair.sign < 0 or _repairing(repair, values, cost_base) is not None for repair in component.repairs)


def _find(component: Component, part: SectionExposure, share: float, values: Values) -> float:
    """The extent at which the repair is priced, in the component's unit, above 0."""
    if component.priced_share is not None:
        find = component.priced_share * in_unit(cast(float, values["deck_area"]), component.unit)
    else:
        find = share * part.exposure
    return find if find > 0 else 1.0


def _repairs(component: Component, find: float, values: Values, cost_base: CostBase) -> Iterator[RepairPart]:
    extent = find * float(BY_SYMBOL[component.unit].factor)
    measures = {**values, component.measure: extent, **_deck_layout(component, extent, values, cost_base)}
    for repair in component.repairs:
        assembly = _repairing(repair, values, cost_base)
        if assembly is not None:
            own = {**measures, **repair.sets} if repair.sets else measures
            yield repair_part(assembly, repair.sign, own, find, cost_base)
        elif repair.sign > 0:
            raise NoRepairError(
                f"no assembly of {', '.join(repair.assemblies)} is in force for a {values['roof_kind']} roof, "
                f"so hidden work on '{component.slug}' cannot be priced",
                field=f"components/{component.slug}",
            )


def _repairing(repair: Repair, values: Values, cost_base: CostBase) -> Assembly | None:
    for slug in repair.assemblies:
        assembly = cost_base.assemblies.get(slug)
        if assembly is not None and belongs(assembly, values):
            return assembly
    return None


def _deck_layout(component: Component, extent: float, values: Values, cost_base: CostBase) -> dict[str, float]:
    """Sheets and joints of the hidden piece of deck: courses of the layout, not rounded up, since a find is no whole course."""
    if component.measure != "deck_replaced_area":
        return {}
    repairing = filter(None, (_repairing(repair, values, cost_base) for repair in component.repairs))
    sheet = sheet_of(repairing, cost_base)
    length, arc = cast(float, values["roof_length"]), cast(float, values["crown_arc"])
    if length * arc <= 0:
        # A slide room has no courses: its boards are taken by their area.
        return {"deck_sheets": extent / (sheet.length * sheet.width), "deck_joint_length": 0.0}
    piece = lay_piece(length, arc, extent, sheet)
    return {"deck_sheets": piece.sheets, "deck_joint_length": piece.joint_length}


def repair_part(assembly: Assembly, sign: int, values: Values, find: float, cost_base: CostBase) -> RepairPart:
    """What one assembly charges for `find` units, by the unit.

    Args:
        assembly: which one.
        sign: +1, or -1 for work that is saved.
        values: measures of the section, with the one that drives the assembly at `find`.
        find: above 0, in the unit of whatever is counted.
        cost_base: rates, materials, prices and markups in force.

    Raises:
        NoRateError, NoMaterialError, NoPriceError, NoMarkupError: something that it needs is not in force.
        TemplateFailedError: one of its formulas fails on these measures.
    """
    driver, *amounts = _worked(assembly, values)
    labour = []
    for rate, each in zip(assembly.labour, amounts, strict=False):
        hours = driver * each / HOUR
        labour.append(LabourPart(trade_of(cost_base.trades, rate.trade), decimal_quantity(hours / find, FINE_PLACES)))
    materials = []
    for need, wanted in zip(assembly.materials, amounts[len(labour) :], strict=True):
        goods, price, markup = material_of(cost_base, need.material)
        net = in_unit(wanted, goods.unit)
        materials.append(MaterialPart(goods, decimal_quantity(net / find, FINE_PLACES), price.pack_price, markup))
    set_up = Decimal(0)
    if assembly.set_up_hours > 0:
        trade = trade_of(cost_base.trades, assembly.set_up_trade)
        set_up = decimal_quantity(assembly.set_up_hours) * trade.billed_per_hour
    return RepairPart(assembly, sign, tuple(labour), tuple(materials), set_up)


def _worked(assembly: Assembly, values: Values) -> tuple[float, ...]:
    """Driver, rate of each trade and need of each material."""
    try:
        return cast(tuple[float, ...], _row(assembly)(values))
    except FormulaError:
        # One of them fails, and is told by name.
        words, below = f"repair '{assembly.slug}'", f"assemblies/{assembly.slug}"
        parts = named(compile_assembly(assembly))[1:]
        return cast(tuple[float, ...], tuple(value_of(words, f"{below}/{name}", formula, values) for name, formula in parts))


_row = by_identity(lambda assembly: compile_rows(compile_assembly(cast(Assembly, assembly)).all()[1:]), 4096)


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))
