"""How much more of a material does a change order buy?

Packs of all so far less packs already bought: a started pack is sold once in the life of a job, whichever order opens it, so
that orders together buy what one purchase of everything would.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.cost_base import Material
from costbase.calc.money import unit_price
from costbase.calc.units import BY_SYMBOL
from quotes.calc.change_order.terms import Bought, JobTerms
from quotes.calc.packing import Packed, PackedNeed, pack
from quotes.calc.pricing import FreightLine, MaterialLine, freight_lines, material_lines, material_of

NOTHING = Bought(Decimal(0), Decimal(0))


@dataclass(frozen=True, slots=True)
class Need:
    """What one piece of work needs of a material: net, in its unit of use, four decimals."""

    source: str
    phase: str
    net: Decimal


@dataclass(frozen=True, slots=True)
class AddedPacks:
    """What an order adds of a material: `net` needed by it, `billed` beside what was bought before, and what all comes to."""

    material: str
    net: Decimal
    billed: Decimal
    before: Bought
    whole: Packed


def added_packs(material: Material, needs: Sequence[Need], before: Bought, *, stock_by_use: bool) -> AddedPacks:
    """What has to be bought beside what was bought, never below 0.

    Args:
        material: which.
        needs: of this order.
        before: net need and billed quantity of everything before it.
        stock_by_use: whether stock is billed by use.

    Returns:
        Packs by the tolerant rule of `pack`, waste once over everything; the measure to two decimals where it is sold so.
    """
    net = sum((need.net for need in needs), Decimal(0))
    canonical = float(before.net + net) * float(BY_SYMBOL[material.unit].factor)
    whole = pack(material, canonical, stock_by_use=stock_by_use)
    return AddedPacks(material.slug, net, max(Decimal(0), whole.billed - before.billed), before, whole)


def goods_of(
    needs: Mapping[str, Sequence[Need]], terms: JobTerms
) -> tuple[tuple[AddedPacks, ...], tuple[MaterialLine, ...], tuple[FreightLine, ...]]:
    """Packs, priced lines and freight of everything that an order needs, in the order in which it is first needed.

    A further purchase is brought by a further delivery, so freight is charged again where packs are bought.

    Raises:
        NoMaterialError, NoPriceError, NoMarkupError: the cost base lacks one of them.
    """
    base = terms.cost_base
    by_use = base.rule.stock_billing == "use"
    packs, wanted = [], []
    for slug, parts in needs.items():
        material, _, _ = material_of(base, slug)
        added = added_packs(material, parts, terms.bought.get(slug, NOTHING), stock_by_use=by_use)
        packs.append(added)
        wanted.append(PackedNeed(added.whole._replace(billed=added.billed, packs=added.billed), parts[0].phase, ()))
    lines = material_lines(wanted, base)
    return tuple(packs), lines, freight_lines([line for line in lines if line.packed.billed > 0], base)


def packs_told(added: AddedPacks, needs: Sequence[Need], line: MaterialLine) -> dict[str, object]:
    """Why a line has so many packs: what was needed and bought before, what this order needs, and what all comes to."""
    whole, material = added.whole, added.whole.material
    return {
        "unit": material.unit,
        "net": str(added.net),
        "net_before": str(added.before.net),
        "net_all": str(whole.net),
        "with_waste": str(whole.gross),
        "waste_share": str(material.waste_share),
        "pack_size": str(material.pack_size),
        "pack": material.pack_name,
        "needed_all": str(whole.billed),
        "bought_before": str(added.before.billed),
        "pack_price": str(line.pack_price),
        "markup": str(line.markup),
        "price": str(unit_price(line.price)),
        "supply": material.supply,
        "parts": [{"source": need.source, "net": str(need.net)} for need in needs],
    }
