"""Which board does each deck take, how is it laid, and what would patches of the damage alone be?

The board of a section is the material that an assembly of this plan needs by the count of its deck sheets. Where the board says
a stagger or a least piece, all sections with that board are planned together, piece by piece, in every size that can be bought
in its place; otherwise they are counted in plain courses across the coach. What is replaced in part is replaced in whole
courses.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import cast

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import CostBase, Material
from costbase.calc.measures import derive
from costbase.calc.money import decimal_quantity, marked_up
from costbase.calc.units import UNITS, in_unit
from quotes.calc.geometry import Span
from quotes.calc.inputs import QuoteInputs
from quotes.calc.sheets import (
    DECK_SHEET,
    Damage,
    Deck,
    LayingRules,
    PatchPlan,
    PlainLayout,
    Sheet,
    SheetPlan,
    SheetSize,
    cover_damage,
    lay_deck,
    plain_layout,
    plan_sheets,
)
from quotes.calc.takeoff import Value, Values, belongs, compile_assembly, needs_by_sheet

FOOT = float(UNITS["foot"].factor)
# Rafters carry seams; on a foam core a seam may run anywhere.
ON_RAFTERS = frozenset({"framed", "metal"})


@dataclass(frozen=True, slots=True)
class BoardLayout:
    """The decks of one board, planned together: slug of the board that assemblies need, sizes, rules, and what was planned."""

    material: str
    decks: tuple[Deck, ...]
    sizes: tuple[SheetSize, ...]
    rules: LayingRules
    plan: SheetPlan


@dataclass(frozen=True, slots=True)
class Boards:
    """What board comes to.

    Attributes:
        measures: of every section by label: sheets, courses, joints, patches; canonical.
        sections: every section with its board, by label.
        layouts: of the boards that are planned.
        patches: covers of the marked cells alone, by label of the sections that have any.
    """

    measures: dict[str, dict[str, Value]]
    sections: dict[str, "BoardSection"]
    layouts: tuple[BoardLayout, ...]
    patches: dict[str, PatchPlan]


@dataclass(frozen=True, slots=True)
class BoardSection:
    """A section with its board: material None where no assembly of the plan lays any; `sheet` as it lies in plain courses."""

    span: Span
    values: Values
    material: Material | None
    sheet: Sheet

    @property
    def label(self) -> str:
        """Of the section."""
        return self.span.section

    def size(self, slug: str) -> float:
        """A measure that is said of it, 0 where nobody said it."""
        return cast(float, self.values.get(slug, 0.0))


def lay_boards(
    sections: Mapping[str, Values],
    spans: Sequence[Span],
    damage: Mapping[str, tuple[Damage, ...]],
    inputs: QuoteInputs,
    cost_base: CostBase,
) -> Boards:
    """What board every section takes.

    Args:
        sections: what is known of each section and of the quote, canonical, by label; derived measures left aside.
        spans: of the scope, in its order.
        damage: damaged places by label, stations from the front of the span.
        inputs: its options may lay board too.
        cost_base: assemblies, materials, prices.

    Raises:
        LayoutError: a board whose rules cannot be kept on this roof.
    """
    works = [
        cost_base.assemblies[slug] for slug in (*cost_base.plan.assemblies, *inputs.options) if slug in cost_base.assemblies
    ]
    layers = [(work, slug) for work in works for slug in needs_by_sheet(work)]
    here = [_section(span, sections[span.section], layers, cost_base) for span in spans]
    plain = {section.label: _plain(section) for section in here}
    joint_prices = {s.label: _joint_price(works, s, plain[s.label], cost_base) for s in here if _minds_joints(s, damage)}
    layouts = tuple(_layouts(here, joint_prices, cost_base))
    patches = dict(_patches(here, damage, joint_prices, cost_base))
    planned = {deck.label: layout for layout in layouts for deck in layout.decks}
    measures = {s.label: _measures(s, plain[s.label], planned.get(s.label), patches.get(s.label)) for s in here}
    return Boards(measures, {section.label: section for section in here}, layouts, patches)


def is_planned(material: Material) -> bool:
    """Whether a board is laid piece by piece: it says how."""
    return material.sheet_length is not None and (material.stagger is not None or material.least_piece is not None)


def _section(span: Span, values: Values, layers: Sequence[tuple[Assembly, str]], cost_base: CostBase) -> BoardSection:
    slug = next((slug for work, slug in layers if belongs(work, values)), "")
    material = cost_base.materials.get(slug)
    return BoardSection(span, values, material, _sheet(material))


def sheet_of(assemblies: Iterable[Assembly], cost_base: CostBase) -> Sheet:
    """A sheet of the board that the first of these lays by the sheet, as it lies in plain courses.

    The usual sheet where none of them lays any, or the board says no sides.
    """
    boards = (cost_base.materials.get(slug) for assembly in assemblies for slug in needs_by_sheet(assembly))
    return _sheet(next(boards, None))


def _sheet(material: Material | None) -> Sheet:
    if material is None or material.sheet_length is None or material.sheet_width is None:
        return DECK_SHEET
    return Sheet(material.sheet_length, material.sheet_width)


def drawn_plain(section: BoardSection) -> PlainLayout:
    """A section's deck in plain courses, every sheet in its place."""
    return plain_layout(section.label, *_deck(section), section.sheet)


# Plain courses ----------------------------------------------------------------------------------------


def _plain(section: BoardSection) -> dict[str, Value]:
    layout = lay_deck(*_deck(section), section.sheet)
    return {
        "deck_sheets": float(layout.sheets),
        "sheets_across": float(layout.across),
        "deck_courses": float(layout.courses),
        "roof_courses": float(layout.roof_courses),
        "deck_joint_length": layout.joint_length,
    }


def _deck(section: BoardSection) -> tuple[float, float, float]:
    return section.size("roof_length"), section.size("crown_arc"), section.size("deck_replaced_share")


# What joints cost -------------------------------------------------------------------------------------


def _minds_joints(section: BoardSection, damage: Mapping[str, tuple[Damage, ...]]) -> bool:
    return bool(damage.get(section.label)) or (section.material is not None and is_planned(section.material))


def _joint_price(works: Sequence[Assembly], section: BoardSection, plain: Mapping[str, Value], cost_base: CostBase) -> Decimal:
    """What a foot more of joint costs the owner in the work of this plan, to four decimals; a weight, and no amount."""
    values = {**section.values, **derive("section", {**section.values, **plain})}
    longer = {**values, "deck_joint_length": cast(float, values["deck_joint_length"]) + FOOT}
    price = 0.0
    for work in works:
        compiled = compile_assembly(work)
        reads = any("deck_joint_length" in formula.inputs for formula in compiled.all())
        if reads and work.level == "section" and belongs(work, values):
            price += worth(work, longer, cost_base) - worth(work, values, cost_base)
    return max(decimal_quantity(price), Decimal(0))


def worth(work: Assembly, values: Values, cost_base: CostBase) -> float:
    """Hours and goods of an assembly at what the owner pays; what has no price is refused where its line is priced."""
    compiled = compile_assembly(work)
    driver = cast(float, compiled.driver(values)) if compiled.applies(values) else 0.0
    if driver <= 0:
        return 0.0
    worth = 0.0
    for rate, formula in zip(work.labour, compiled.rates, strict=True):
        trade = cost_base.trades.get(rate.trade)
        if trade is not None:
            worth += in_unit(driver * cast(float, formula(values)), "h") * float(trade.billed_per_hour)
    for need, formula in zip(work.materials, compiled.needs, strict=True):
        each = price_of_use(need.material, cost_base)
        if each is not None:
            net = in_unit(cast(float, formula(values)), cost_base.materials[need.material].unit)
            worth += net * (1.0 + float(cost_base.materials[need.material].waste_share)) * float(each)
    return worth


def price_of_use(slug: str, cost_base: CostBase) -> Decimal | None:
    """What the owner pays for one unit of use of a material; None where it has no price or markup in force."""
    material, price = cost_base.materials.get(slug), cost_base.prices.get(slug)
    markup = cost_base.rule.markups.get(material.markup_class) if material is not None else None
    if material is None or price is None or markup is None:
        return None
    return marked_up(price.pack_price, markup) / material.pack_size


# Planned layouts --------------------------------------------------------------------------------------


def _layouts(
    sections: Sequence[BoardSection], joint_prices: Mapping[str, Decimal], cost_base: CostBase
) -> Iterator[BoardLayout]:
    """The sections of each planned board together; none whose own size has no price, which is refused where it is priced."""
    by_board: dict[str, list[BoardSection]] = {}
    for section in sections:
        if section.material is not None and is_planned(section.material):
            by_board.setdefault(section.material.slug, []).append(section)
    for slug, alike in by_board.items():
        sizes = _sizes(cost_base.materials[slug], cost_base)
        if sizes:
            rules = _rules(cost_base.materials[slug], max(joint_prices[section.label] for section in alike))
            decks = tuple(map(deck_to_lay, alike))
            yield BoardLayout(slug, decks, sizes, rules, plan_sheets(decks, sizes, rules))


def _sizes(material: Material, cost_base: CostBase) -> tuple[SheetSize, ...]:
    """The board in its own size and in the others that have a price; none where its own has not."""
    others = [other for slug, other in sorted(cost_base.materials.items()) if other.in_place_of == material.slug]
    found = []
    for board in (material, *others):
        price = price_of_use(board.slug, cost_base)
        if price is not None and board.sheet_length is not None and board.sheet_width is not None:
            freight = marked_up(cost_base.prices[board.slug].freight, cost_base.rule.markups[board.markup_class])
            found.append(SheetSize(board.slug, board.sheet_length, board.sheet_width, price, freight))
    return tuple(found) if found and found[0].slug == material.slug else ()


def _rules(material: Material | None, joint_price: Decimal) -> LayingRules:
    if material is None:
        return LayingRules(joint_price_per_foot=joint_price)
    return LayingRules(material.stagger or 0.0, material.least_piece or 0.0, joint_price_per_foot=joint_price)


def deck_to_lay(section: BoardSection) -> Deck:
    """The deck that gets new board: whole, or as many whole courses of the roof, taken from the front of what is replaced."""
    length, arc, share = _deck(section)
    plain = lay_deck(length, arc, share, section.sheet)
    if plain.courses == plain.roof_courses:
        return Deck(section.label, length, arc, _supports(section, section.span.start, length))
    replaced = plain.courses * section.sheet.width
    return Deck(section.label, replaced, arc, _supports(section, 0.0, replaced))


def _supports(section: BoardSection, start: float, length: float) -> tuple[float, ...]:
    """Stations of the rafters from `start` on, counted from the front of the section; none on a foam core."""
    spacing = section.size("rafter_spacing")
    if section.values["roof_kind"] not in ON_RAFTERS or spacing <= 0.0:
        return ()
    count = int((start + length) / spacing) + 1
    stations = (spacing * at - start for at in range(count + 1))
    return tuple(station for station in stations if 0.0 <= station <= length)


# Patches ----------------------------------------------------------------------------------------------


def _patches(
    sections: Sequence[BoardSection],
    damage: Mapping[str, tuple[Damage, ...]],
    joint_prices: Mapping[str, Decimal],
    cost_base: CostBase,
) -> Iterator[tuple[str, PatchPlan]]:
    for section in sections:
        places = damage.get(section.label, ())
        if places:
            length, arc, _ = _deck(section)
            deck = Deck(section.label, length, arc, _supports(section, section.span.start, length))
            sizes = _sizes(section.material, cost_base) if section.material is not None else ()
            # Where nobody lays or prices board, the least area counts.
            sizes = sizes or (SheetSize("board", section.sheet.length, section.sheet.width, Decimal(1)),)
            rules = _rules(section.material, joint_prices[section.label])
            yield section.label, cover_damage(places, deck, sizes, rules)


# Measures ---------------------------------------------------------------------------------------------


def _measures(
    section: BoardSection, plain: Mapping[str, Value], layout: BoardLayout | None, patches: PatchPlan | None
) -> dict[str, Value]:
    measures = dict(plain)
    if layout is not None:
        measures |= _planned_measures(layout.plan, section.label)
        if plain["deck_courses"] != plain["roof_courses"]:
            # What stays lies in the courses of the roof, whichever way the new board is laid between them.
            measures |= {slug: plain[slug] for slug in ("deck_courses", "roof_courses")}
            measures["deck_joint_length"] = cast(float, measures["deck_joint_length"]) + _joint_to_old(section, plain)
    if patches is not None:
        measures |= {
            "deck_patch_count": float(len(patches.patches)),
            "deck_patch_area": patches.area,
            "deck_patch_joint_length": patches.joint_length,
            "deck_patch_sheets": float(patches.sheets),
        }
    return measures


def _joint_to_old(section: BoardSection, plain: Mapping[str, Value]) -> float:
    """The joint of plain courses less the seams between them."""
    within = max(cast(float, plain["deck_courses"]) - 1.0, 0.0)
    return cast(float, plain["deck_joint_length"]) - within * section.size("crown_arc")


def _planned_measures(plan: SheetPlan, label: str) -> dict[str, Value]:
    """What a plan comes to in one of its sections; a sheet counts where it was opened, so that sections add up."""
    courses, across = plan.course_count(label), plan.direction(label) == "across"
    pieces = [piece for piece in plan.pieces if piece.deck == label]
    in_course = [sum(1 for piece in pieces if piece.course == number) for number in range(1, courses + 1)]
    return {
        "deck_sheets": float(sum(1 for piece in pieces if not piece.from_offcut)),
        "sheets_across": float(max(in_course, default=0) if across else courses),
        "deck_courses": float(courses),
        "roof_courses": float(courses),
        "deck_joint_length": sum(line.end - line.start for line in plan.joints if line.deck == label),
    }
