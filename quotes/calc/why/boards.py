"""Why so many sheets and so much joint? The steps of a deck's layout, plain or planned, and of patches of the damage."""

from collections.abc import Iterator
from typing import cast

from costbase.calc.units import in_unit, show
from quotes.calc.boards import BoardLayout
from quotes.calc.sheets import PatchPlan, SheetPlan
from quotes.calc.why.steps import Context, WhyStep, measure_value, number

RULE = "rule: layout of the deck"
_CONDITION_CELLS = "survey: cells whose deck is replaced"
_DECK = ("roof_length", "crown_arc", "deck_replaced_share")
# What each measure of plain courses follows from, told before it.
_PLAIN: dict[str, tuple[str, tuple[str, ...]]] = {
    "roof_courses": ("courses of {wide} in the whole deck, ceil(roof_length / {wide})", ("roof_length",)),
    "deck_courses": (
        "courses that are replaced, ceil(roof_length * deck_replaced_share / {wide})",
        ("roof_length", "deck_replaced_share"),
    ),
    "sheets_across": ("sheets of {long} side by side, ceil(crown_arc / {long})", ("crown_arc",)),
    "deck_sheets": ("deck_courses * sheets_across, an offcut starts no course", ("deck_courses", "sheets_across")),
    "deck_joint_length": (
        "min(deck_courses + 1, roof_courses - 1) * crown_arc, between courses and to what stays; none without a course",
        ("deck_courses", "roof_courses", "crown_arc"),
    ),
}
_PATCHES = {
    "deck_patch_count": "patches from seam to seam, joined where that costs no more",
    "deck_patch_area": "their area",
    "deck_patch_joint_length": "joints round them, each once",
    "deck_patch_sheets": "whole sheets that they are cut from, the largest first",
}
SLUGS = frozenset({*_PLAIN, *_PATCHES})


def starts_from(context: Context, slug: str, label: str) -> tuple[str, ...]:
    """The measures to tell before one of the boards'."""
    if slug in _PATCHES:
        return ("roof_length", "crown_arc")
    return _DECK if layout_of(context, label) is not None else _PLAIN[slug][1]


def board_steps(context: Context, slug: str, label: str, named: str) -> Iterator[WhyStep]:
    """The steps to a measure of sheets, courses, joints or patches in one section.

    Args:
        context: the quote, worked out again.
        slug: one of `SLUGS`.
        label: of the section.
        named: the measure with its section, as the answer names it.
    """
    shown = measure_value(slug, cast(float, context.quote.measured.sections[label][slug]))
    layout = layout_of(context, label)
    if slug in _PATCHES:
        yield from _patch_steps(context.quote.measured.boards.patches.get(label))
        yield WhyStep(f"{named} = {_PATCHES[slug]}", *shown, _CONDITION_CELLS)
    elif layout is None:
        sheet = context.quote.measured.boards.sections[label].sheet
        text = _PLAIN[slug][0].format(wide=show(sheet.width, "ft"), long=show(sheet.length, "ft"))
        yield WhyStep(f"{named} = {text}", *shown, RULE)
    else:
        yield from _plan_steps(context, layout, label) if slug == "deck_sheets" else ()
        yield WhyStep(f"{named} = {_planned_words(slug, layout.plan, label)}", *shown, _edition(context, layout))


def layout_of(context: Context, label: str) -> BoardLayout | None:
    """The planned layout that a section belongs to; None where its board is counted in plain courses."""
    layouts = context.quote.measured.boards.layouts
    return next((layout for layout in layouts if any(deck.label == label for deck in layout.decks)), None)


def _edition(context: Context, layout: BoardLayout) -> str:
    return context.cost_base.materials[layout.material].edition.words()


def _patch_steps(plan: PatchPlan | None) -> Iterator[WhyStep]:
    for patch in plan.patches if plan is not None else ():
        sides = f"{show(patch.length, 'ft', 4)} x {show(patch.width, 'ft', 4)}"
        text = f"patch from {show(patch.station, 'ft', 2)}, {show(patch.offset, 'ft', 2)} in: {sides}"
        yield WhyStep(text, number(in_unit(patch.area, "ft2")), "ft2", _CONDITION_CELLS)


def _plan_steps(context: Context, layout: BoardLayout, label: str) -> Iterator[WhyStep]:
    """Area, bound, courses, off-cuts and what is bought, of all decks that are planned together."""
    plan, decks, source = layout.plan, layout.decks, _edition(context, layout)
    area = sum(in_unit(deck.length * deck.arc, "ft2") for deck in decks)
    together = f", sections {', '.join(deck.label for deck in decks)} together" if len(decks) > 1 else ""
    yield WhyStep(f"deck that gets new board{together}", number(area), "ft2", RULE)
    yield WhyStep("sheets that the area alone would fill, at the least price", str(plan.bound.sheets), "each", RULE)
    yield WhyStep("ends of neighbouring courses apart by", number(in_unit(layout.rules.stagger, "in")), "in", source)
    yield WhyStep("no piece narrower than", number(in_unit(layout.rules.least_piece, "in")), "in", source)
    price = number(layout.rules.joint_price_per_foot)
    yield WhyStep(
        "a foot of joint, weighed against board", price, f"{context.currency}/ft", "rule: work of this plan on joints"
    )
    for deck in decks:
        depths = [show(course.depth, "ft", 2) for course in plan.courses if course.deck == deck.label]
        if depths:
            text = f"courses {plan.direction(deck.label)} section {deck.label}: {', '.join(depths)}"
            yield WhyStep(text, str(len(depths)), "each", RULE)
    served = [piece for piece in plan.pieces if piece.from_offcut]
    for piece in served:
        sides = f"{show(piece.length, 'ft', 2)} x {show(piece.width, 'ft', 2)}"
        text = f"{sides} of section {piece.deck}, course {piece.course}, from what is left of a sheet"
        yield WhyStep(text, str(piece.sheet), "", RULE)
    yield WhyStep(f"pieces cut from what others leave, of {len(plan.pieces)}", str(len(served)), "each", RULE)
    for slug, count in plan.counts:
        yield WhyStep(f"sheets of {context.cost_base.materials[slug].name}", str(count), "each", source)
    yield WhyStep("share of them that is left over", number(plan.waste_share * 100, 2), "%", _verdict(plan))


def _verdict(plan: SheetPlan) -> str:
    if plan.least_possible:
        return "rule: no layout takes cheaper sheets than the area alone"
    return "rule: the cheapest layout found, sheets and joints together"


def _planned_words(slug: str, plan: SheetPlan, label: str) -> str:
    lines = [line for line in plan.joints if line.deck == label]
    seams = sum(line.end - line.start for line in lines if not line.ends)
    ends = sum(line.end - line.start for line in lines if line.ends)
    joint = f"seams between courses {show(seams, 'ft', 4)}, ends in them {show(ends, 'ft', 4)}, and to what stays"
    words = {
        "roof_courses": "courses of the layout, or of the roof where a part of it stays",
        "deck_courses": "courses of the layout, or of the roof's that are replaced where a part of it stays",
        "sheets_across": "pieces side by side across the coach, at most",
        "deck_sheets": "sheets that are begun on this section; what they leave may serve another",
        "deck_joint_length": joint,
    }
    return words[slug]
