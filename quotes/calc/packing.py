"""How much of a material is bought, and how much of it is billed?

Net need is summed over the whole quote, waste is added once, and packs are rounded up once: rounding for each assembly would
sell a started pack several times (on the 34 ft sample coach 8 gallons of adhesive instead of 7).
"""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from types import MappingProxyType
from typing import NamedTuple, cast

from costbase.calc.cost_base import Material
from costbase.calc.errors import CalculationError
from costbase.calc.money import decimal_quantity
from costbase.calc.same import by_identity
from costbase.calc.units import ceil_tolerant, in_unit
from quotes.calc.takeoff import Take, needs_by_sheet, needs_by_skin

MEASURE_PLACES = 2
QUANTITY_PLACES = 4


class NoMaterialError(CalculationError):
    """No edition of this material is in force on the day."""

    code = "no_material"


class Part(NamedTuple):
    """What one assembly contributes to a material; `need` is in the unit of use, not rounded."""

    assembly: str
    need: float

    @property
    def net(self) -> Decimal:
        """The need, half up to four decimals; worked out when somebody looks, since no amount rests on it."""
        return decimal_quantity(self.need, QUANTITY_PLACES)


class PackedNeed(NamedTuple):
    """A material of the quote with the assemblies that need it; `phase` is that of the first of them."""

    packed: "Packed"
    phase: str
    parts: tuple[Part, ...]


class Packed(NamedTuple):
    """One material of a quote, counted.

    `net` and `gross` (net and waste) are in the material's unit of use, four decimals. `packs` is what is bought: whole packs,
    or the measure to two decimals where it is sold by measure. `billed` counts packs too, except for stock that is billed by
    use, where it counts units of use; `billed_in` says which.
    """

    material: Material
    net: Decimal
    gross: Decimal
    packs: Decimal
    billed: Decimal
    billed_in: str  # "pack" or "unit"


def pack(material: Material, need: float, *, stock_by_use: bool) -> Packed:
    """Counts a material from its canonical net need over the whole quote.

    Args:
        material: what is bought.
        need: net need in canonical units of the material's dimension, waste not included, 0 or more.
        stock_by_use: whether materials of supply "stock" are billed by use rather than in whole packs.

    Returns:
        Packs up to the tolerant whole number (a millionth of a pack over is no new pack), quantities half up to four decimals.
    """
    net = in_unit(need, material.unit)
    waste, pack_size = _figures(material)
    gross = net * waste
    if material.sold_by == "measure":
        packs = decimal_quantity(gross / pack_size, MEASURE_PLACES)
    else:
        packs = Decimal(ceil_tolerant(gross / pack_size))
    by_use = stock_by_use and material.supply == "stock"
    gross_quantity = decimal_quantity(gross, QUANTITY_PLACES)
    return Packed(
        material=material,
        net=decimal_quantity(net, QUANTITY_PLACES),
        gross=gross_quantity,
        packs=packs,
        billed=gross_quantity if by_use else packs,
        billed_in="unit" if by_use else "pack",
    )


# A decimal becomes a float by way of its digits, which costs as much as all the rest of a material.
_figures = by_identity(
    lambda goods: (1.0 + float(cast(Material, goods).waste_share), float(cast(Material, goods).pack_size)), 20_000
)


def pack_needs(
    takes: Sequence[Take],
    materials: Mapping[str, Material],
    *,
    stock_by_use: bool,
    sizes: Mapping[str, tuple[tuple[str, int], ...]] = MappingProxyType({}),
) -> tuple[PackedNeed, ...]:
    """Sums the net needs of the whole quote and counts each material once, in the order in which it is first needed.

    Args:
        takes: what every assembly needs.
        materials: in force.
        stock_by_use: whether materials of supply "stock" are billed by use.
        sizes: of a board or skin that was planned, what is bought in its place: sizes with their sheets or shares. The needs
            of it that are told by deck sheets or by the length of the skin's stock are shared out so.

    Raises:
        NoMaterialError: an assembly needs a material that has no edition in force.
    """
    needs: dict[str, list[tuple[Take, float]]] = {}
    for take in takes:
        for slug, need in take.needs.items():
            for bought, part in shared_need(take, slug, need, sizes.get(slug, ())):
                needs.setdefault(bought, []).append((take, part))
    return tuple([_pack_need(_material(materials, slug), parts, stock_by_use=stock_by_use) for slug, parts in needs.items()])


def shared_need(take: Take, slug: str, need: float, sizes: tuple[tuple[str, int], ...]) -> list[tuple[str, float]]:
    """What is bought for a need: itself, or the sizes that were planned in the proportion of their sheets.

    Args:
        take: of the assembly that needs it.
        slug: the material that it names.
        need: canonical net need.
        sizes: what was planned in its place, with sheets or shares; empty where nothing was.
    """
    if not sizes or slug not in (*needs_by_sheet(take.assembly), *needs_by_skin(take.assembly)):
        return [(slug, need)]
    sheets = sum(count for _, count in sizes)
    return [(bought, need * count / sheets) for bought, count in sizes]


def _material(materials: Mapping[str, Material], slug: str) -> Material:
    material = materials.get(slug)
    if material is None:
        raise NoMaterialError(f"material '{slug}' is not in force on the day; enter it", field=f"materials/{slug}")
    return material


def _pack_need(material: Material, parts: list[tuple[Take, float]], *, stock_by_use: bool) -> PackedNeed:
    unit = material.unit
    return PackedNeed(
        packed=pack(material, sum([need for _, need in parts]), stock_by_use=stock_by_use),
        phase=parts[0][0].assembly.phase,
        parts=tuple([Part(take.assembly.slug, in_unit(need, unit)) for take, need in parts]),
    )
