"""What does the visible work cost the owner?

Labour lines, material lines and the freight of what is ordered, each rounded, then one rounded line each for shop supplies,
overhead and what is missing to the minimum charge. Visible work (`base`) is the sum of those rounded lines and nothing else.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import NamedTuple

from costbase.calc.cost_base import CostBase, Material, Price, PricingRule
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, amount, extend, marked_up, share_of
from quotes.calc.labour import LabourLine
from quotes.calc.packing import NoMaterialError, Packed, PackedNeed, Part

FREIGHT = "freight"


class NoPriceError(CalculationError):
    """No price of this material is in force on the day."""

    code = "no_price"


class NoMarkupError(CalculationError):
    """The pricing rule names no markup for the class of this material."""

    code = "no_markup"


class MaterialLine(NamedTuple):
    """One material over the whole quote, priced.

    `price` is what one billed unit (a pack, or a unit of use for stock billed by use) costs the owner after markup, not
    rounded; `amount` = billed x price and `cost` = billed x purchase price, each rounded once. The line stands in the phase of
    the first assembly that needs it.
    """

    packed: Packed
    phase: str
    parts: tuple[Part, ...]
    pack_price: Decimal
    markup: Decimal
    price: Decimal
    amount: Decimal
    cost: Decimal


@dataclass(frozen=True, slots=True)
class FreightLine:
    """What it costs to have one material of the quote brought, whatever is ordered of it: one order, once.

    `freight` is what the shop pays, `price` what the owner pays after the markup of the material's class, not rounded; `amount`
    and `cost` are both rounded once. The line stands beside that of its material, in its phase and its tax class.
    """

    material: Material
    phase: str
    freight: Decimal
    markup: Decimal
    price: Decimal
    amount: Decimal
    cost: Decimal

    @property
    def slug(self) -> str:
        """Names the line among the lines of a quote: no material is called so."""
        return f"{FREIGHT}:{self.material.slug}"

    @property
    def name(self) -> str:
        """The line as people read it."""
        return f"Freight: {self.material.name}"


@dataclass(frozen=True, slots=True)
class ShopLine:
    """A line that belongs to the quote as a whole: supplies, overhead or minimum; with the figure that it was worked from."""

    slug: str  # "shop-supplies", "overhead" or "minimum-charge"
    name: str
    worked_on: Decimal
    share: Decimal
    amount: Decimal
    tax_class: str


@dataclass(frozen=True, slots=True)
class Visible:
    """The visible work: every line, and their sum `base`. `cost` is the shop's own: wages, purchase prices and freight.

    `material_total` is what materials and their freight come to together.
    """

    labour: tuple[LabourLine, ...]
    materials: tuple[MaterialLine, ...]
    freight: tuple[FreightLine, ...]
    shop: tuple[ShopLine, ...]
    labour_total: Decimal
    material_total: Decimal
    base: Decimal
    cost: Decimal


def material_lines(needs: Sequence[PackedNeed], cost_base: CostBase) -> tuple[MaterialLine, ...]:
    """A priced line for each material that the quote needs.

    Raises:
        NoPriceError, NoMarkupError: the cost base lacks what the line needs; nothing is assumed.
    """
    return tuple(_material_line(need, cost_base) for need in needs)


def material_of(cost_base: CostBase, slug: str) -> tuple[Material, Price, Decimal]:
    """A material with its price in force and the markup of its class.

    Raises:
        NoMaterialError, NoPriceError, NoMarkupError: the cost base lacks one of them; nothing is assumed.
    """
    material = cost_base.materials.get(slug)
    if material is None:
        raise NoMaterialError(f"material '{slug}' is not in force on the day; enter it", field=f"materials/{slug}")
    price = cost_base.prices.get(slug)
    if price is None:
        raise NoPriceError(
            f"no price of '{slug}' is in force on the day; enter one in {cost_base.currency.code}",
            field=f"prices/{slug}",
        )
    markup = cost_base.rule.markups.get(material.markup_class)
    if markup is None:
        raise NoMarkupError(
            f"the pricing rule has no markup for class '{material.markup_class}' of '{slug}'",
            field=f"rule/markups/{material.markup_class}",
        )
    return material, price, markup


def _material_line(need: PackedNeed, cost_base: CostBase) -> MaterialLine:
    packed = need.packed
    material, price, markup = material_of(cost_base, packed.material.slug)
    sale, purchase = marked_up(price.pack_price, markup), price.pack_price
    if packed.billed_in == "unit":
        # Divided after the markup: 14.00 a roll of 150 ft at 35 % is 0.126 a foot; 14 / 150 has no end and would lose the tie.
        sale, purchase = sale / material.pack_size, purchase / material.pack_size
    return MaterialLine(
        packed=packed,
        phase=need.phase,
        parts=need.parts,
        pack_price=price.pack_price,
        markup=markup,
        price=sale,
        amount=extend(packed.billed, sale, cost_base.currency),
        cost=extend(packed.billed, purchase, cost_base.currency),
    )


def freight_lines(materials: Sequence[MaterialLine], cost_base: CostBase) -> tuple[FreightLine, ...]:
    """A priced line for the freight of each material that is ordered for this quote, in the order of their lines.

    Stock that is billed by use is ordered for many jobs at once and brings none.

    Args:
        materials: priced lines of materials.
        cost_base: its prices say what an order's freight is; most have none.
    """
    return tuple(
        _freight_line(line, cost_base.prices[line.packed.material.slug].freight, cost_base.currency)
        for line in materials
        if line.packed.billed_in == "pack" and cost_base.prices[line.packed.material.slug].freight > 0
    )


def _freight_line(line: MaterialLine, freight: Decimal, currency: Currency) -> FreightLine:
    sale, one = marked_up(freight, line.markup), Decimal(1)
    return FreightLine(
        material=line.packed.material,
        phase=line.phase,
        freight=freight,
        markup=line.markup,
        price=sale,
        amount=extend(one, sale, currency),
        cost=extend(one, freight, currency),
    )


def visible_work(labour: tuple[LabourLine, ...], materials: tuple[MaterialLine, ...], cost_base: CostBase) -> Visible:
    """Adds freight and the shop's lines and sums everything up; the order is supplies, overhead, minimum.

    Args:
        labour: priced lines of labour.
        materials: priced lines of materials.
        cost_base: its prices say what is brought at a freight, its rule holds shares, cap and minimum.

    Returns:
        `base` is the sum of rounded lines; a line of the shop that comes to 0 is left out.
    """
    freight = freight_lines(materials, cost_base)
    goods: tuple[MaterialLine | FreightLine, ...] = (*materials, *freight)
    labour_total = _sum(line.amount for line in labour)
    material_total = _sum(line.amount for line in goods)
    shop = shop_lines(labour_total, material_total, cost_base.rule, cost_base.currency)
    return Visible(
        labour=labour,
        materials=materials,
        freight=freight,
        shop=tuple(line for line in shop if line.amount > 0),
        labour_total=labour_total,
        material_total=material_total,
        base=labour_total + material_total + _sum(line.amount for line in shop),
        cost=_sum(line.cost for line in labour) + _sum(line.cost for line in goods),
    )


def shop_lines(
    labour_total: Decimal, material_total: Decimal, rule: PricingRule, currency: Currency
) -> tuple[ShopLine, ShopLine, ShopLine]:
    """Shop supplies, overhead and what is missing to the minimum charge, each rounded, 0 where it comes to nothing.

    Args:
        labour_total: rounded lines of labour, added.
        material_total: rounded lines of materials and their freight, added.
        rule: its shares, cap and minimum.
        currency: of all amounts.

    Source: common practice, none published; the order is this service's own.
    """
    supplies = share_of(labour_total, rule.supplies_share, currency)
    if rule.supplies_cap is not None:
        supplies = min(supplies, amount(rule.supplies_cap, currency))
    direct = labour_total + material_total + supplies
    overhead = share_of(direct, rule.overhead_share, currency)
    minimum = amount(rule.minimum_charge, currency)
    missing = max(Decimal(0), minimum - direct - overhead)
    return (
        ShopLine("shop-supplies", "Shop supplies", labour_total, rule.supplies_share, supplies, rule.supplies_tax_class),
        ShopLine("overhead", "Overhead", direct, rule.overhead_share, overhead, rule.overhead_tax_class),
        ShopLine("minimum-charge", "To the minimum charge", minimum, Decimal(1), missing, rule.minimum_tax_class),
    )


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))


def amounts_by_phase(visible: Visible) -> Mapping[str, Decimal]:
    """Amounts of labour, materials and freight by the phase their line stands in; the shop's lines are in no phase."""
    phases: dict[str, Decimal] = {}
    for labour in visible.labour:
        phases[labour.phase] = phases.get(labour.phase, Decimal(0)) + labour.amount
    goods_lines: tuple[MaterialLine | FreightLine, ...] = (*visible.materials, *visible.freight)
    for goods in goods_lines:
        phases[goods.phase] = phases.get(goods.phase, Decimal(0)) + goods.amount
    return phases
