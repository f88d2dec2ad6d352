"""Quotes whose board says how it is laid: counts, sizes, sections together, patches, and what the answers to "why?" tell."""

import re
from dataclasses import replace
from decimal import Decimal

import pytest

from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError
from costbase.calc.units import in_unit
from quotes.calc.frozen_base import part_read
from quotes.calc.geometry import Joint
from quotes.calc.quote import Quote
from quotes.calc.sheets import LayoutError
from quotes.calc.why import why_labour, why_material, why_unit_price
from tests.calc.roofs import FOOT, INCH, framed_28_ft, laminated_34_ft, roof, section, span
from tests.calc.shipped_base import entry, explained, framed, inputs, laminated, quoted, shipped
from tests.calc.surveys import cell, survey
from tests.calc.why_cases import line
from tests.oracles.laid_decks import check_plan

LAUAN, PLYWOOD = "lauan-sheet-5-2-mm", "plywood-sheet-3-8-in"
TEN_FOOT = "lauan-sheet-4-by-10-ft"


def laid_base(
    plan: str = "full-rebuild",
    *,
    board: str = LAUAN,
    stagger_in: float | None = 12.0,
    least_in: float | None = 12.0,
    ten_foot_at: str = "",
) -> CostBase:
    """The shipped base with rules for one of its boards, and with a 4 x 10 ft sheet in its place where that has a price."""
    base = shipped(plan)
    stagger, least = (None if inches is None else inches * INCH for inches in (stagger_in, least_in))
    materials = {**base.materials, board: replace(base.materials[board], stagger=stagger, least_piece=least)}
    prices = dict(base.prices)
    if ten_foot_at:
        ten = replace(materials[board], slug=TEN_FOOT, name="Lauan 4x10 ft", sheet_length=120 * INCH, in_place_of=board)
        materials[TEN_FOOT] = ten
        prices[TEN_FOOT] = replace(prices[board], material=TEN_FOOT, pack_price=Decimal(ten_foot_at))
    return replace(base, materials=materials, prices=prices)


def measured(quote: Quote, slug: str, unit: str = "each") -> float:
    return in_unit(float(quote.measured.whole[slug]), unit)


def bought(quote: Quote) -> dict[str, Decimal]:
    return {x.packed.material.slug: x.packed.billed for x in quote.visible.materials if "sheet" in x.packed.material.slug}


def check_layouts(quote: Quote, base: CostBase) -> None:
    for layout in quote.measured.boards.layouts:
        assert sum(float(v["deck_sheets"]) for v in quote.measured.sections.values()) == len(layout.plan.sheets)
        check_plan(layout.plan, layout.decks, layout.sizes, layout.rules)
        assert {size.slug for size in layout.sizes} <= set(base.materials)


def test_the_34_ft_sample_keeps_its_nine_sheets_and_its_price_with_a_stagger_of_a_foot() -> None:
    # 9 sheets, joint 58.7121 ft and 29912.27: published for plain courses, and no other layout is cheaper with its joints.
    base = laid_base()
    quote = quoted(laminated(), base)
    check_layouts(quote, base)
    assert (measured(quote, "deck_sheets"), measured(quote, "deck_courses"), measured(quote, "roof_courses")) == (9, 9, 9)
    assert quote.measured.sections["main"]["sheets_across"] == 1.0
    assert measured(quote, "deck_joint_length", "ft") == pytest.approx(58.7121, abs=5e-5)
    assert quote.visible.base == Decimal("29912.27")


def test_a_board_without_rules_is_counted_in_plain_courses() -> None:
    base = laid_base(stagger_in=None, least_in=None, ten_foot_at="1.00")
    quote = quoted(laminated(), base)
    assert quote.measured.boards.layouts == ()
    assert (bought(quote)[LAUAN], TEN_FOOT in bought(quote)) == (Decimal(9), False)


def test_longer_sheets_are_bought_where_they_cost_less_with_their_joints() -> None:
    # Courses along, 4 ft and 3.3390 ft deep, of 10 + 10 + 10 + 4 ft: six sheets of 10 ft, both ends of 4 ft from one of 8 ft:
    # 6 x 26.00 + 24.00 = 180.00 against 9 x 24.00. Joint 34 + 3 x 7.3390 = 56.0170 ft, less than 58.7121.
    base = laid_base(stagger_in=None, ten_foot_at="26.00")
    quote = quoted(laminated(), base)
    check_layouts(quote, base)
    assert bought(quote) == {TEN_FOOT: Decimal(6), LAUAN: Decimal(1)}
    assert measured(quote, "deck_sheets") == 7
    assert measured(quote, "deck_joint_length", "ft") == pytest.approx(56.0170, abs=5e-5)
    # 6 x 26.00 x 1.35 = 210.60 and 24.00 x 1.35 = 32.40.
    amounts = {x.packed.material.slug: x.amount for x in quote.visible.materials}
    assert (amounts[TEN_FOOT], amounts[LAUAN]) == (Decimal("210.60"), Decimal("32.40"))


def test_a_size_that_does_not_save_its_freight_is_not_bought() -> None:
    base = laid_base(stagger_in=None, ten_foot_at="26.00")
    dear = replace(base, prices={**base.prices, TEN_FOOT: replace(base.prices[TEN_FOOT], freight=Decimal("90.00"))})
    assert bought(quoted(laminated(), dear)) == {LAUAN: Decimal(9)}


def test_a_size_without_a_price_is_not_bought() -> None:
    base = laid_base(stagger_in=None, ten_foot_at="26.00")
    base = replace(base, prices={slug: price for slug, price in base.prices.items() if slug != TEN_FOOT})
    assert bought(quoted(laminated(), base)) == {LAUAN: Decimal(9)}


def test_sections_with_one_board_share_their_offcuts() -> None:
    # 14 and 18 ft: 3.5 and 4.5 courses, 4 + 5 sheets one by one. The two half courses come from one sheet: 8.
    stepped = roof(section("front", length_in=168), section("rear", length_in=216), joints=(Joint("step", "front", "rear"),))
    plain, base = quoted(inputs(stepped)), laid_base()
    quote = quoted(inputs(stepped), base)
    check_layouts(quote, base)
    assert (measured(plain, "deck_sheets"), measured(quote, "deck_sheets")) == (9, 8)
    assert bought(quote) == {LAUAN: Decimal(8)}
    # 3 and 4 seams of 7.3390 ft, as in plain courses.
    assert measured(quote, "deck_joint_length", "ft") == pytest.approx(51.3731, abs=1e-4)
    assert measured(plain, "deck_joint_length", "ft") == pytest.approx(51.3731, abs=1e-4)


def test_a_part_of_a_deck_stays_in_whole_courses_with_its_joint_to_what_stays() -> None:
    # 15 % of 28 ft touch two of seven courses: two sheets, min(2 + 1, 7 - 1) = 3 joints of 94.0638 in = 23.5160 ft.
    base = laid_base("skin-over-kept-deck", board=PLYWOOD)
    quote = quoted(framed(), base)
    check_layouts(quote, base)
    assert bought(quote) == {PLYWOOD: Decimal(2)}
    assert (measured(quote, "deck_courses"), measured(quote, "roof_courses")) == (2, 7)
    assert measured(quote, "deck_joint_length", "ft") == pytest.approx(23.5160, abs=5e-5)
    assert quote.visible.base == quoted(framed()).visible.base


def test_a_deck_that_stays_whole_takes_nothing_of_a_planned_board() -> None:
    quote = quoted(inputs(laminated_34_ft(), plan="skin-over-kept-deck"), laid_base("skin-over-kept-deck"))
    assert (measured(quote, "deck_sheets"), measured(quote, "deck_courses"), measured(quote, "roof_courses")) == (0, 0, 9)
    assert (measured(quote, "deck_joint_length", "ft"), bought(quote)) == (0.0, {})


def test_a_part_of_a_deck_may_be_laid_along_between_the_courses_that_stay() -> None:
    # Five of seven courses, 20 ft, with sheets of 10 ft at 26.00: two courses along of two sheets, 104.00, against 5 x 26.00,
    # their ends on a rafter at 10 ft. One seam of 20 ft, an end in each course, two joints to what stays: 20 + 3 x 7.8387 ft.
    base = laid_base("skin-over-kept-deck", board=PLYWOOD, stagger_in=None, ten_foot_at="26.00")
    on_24 = roof(replace(framed_28_ft().sections[0], rafter_spacing=24 * INCH))
    quote = quoted(replace(framed(), roof=on_24, entered=(entry("deck_replaced_share", "0.7 share"),)), base)
    check_layouts(quote, base)
    assert bought(quote) == {TEN_FOOT: Decimal(4)}
    assert (measured(quote, "deck_courses"), measured(quote, "roof_courses")) == (5, 7)
    assert measured(quote, "deck_joint_length", "ft") == pytest.approx(43.5160, abs=1e-3)


def test_framed_decks_are_laid_on_their_rafters() -> None:
    # Rafters at 16 in from the front of the section; the span begins at 24 in, so the first two are 8 and 24 in into it.
    base = laid_base(board=PLYWOOD)
    quote = quoted(inputs(framed_28_ft(), skin="membrane", scope=(span("main", 24, 336),)), base)
    check_layouts(quote, base)
    (layout,) = quote.measured.boards.layouts
    assert [station / INCH for station in layout.decks[0].supports[:2]] == [8.0, 24.0]
    # 312 in: 40 in to the third rafter, then 48 in each: seven courses.
    assert (measured(quote, "deck_courses"), bought(quote)) == (7, {PLYWOOD: Decimal(7)})


def test_a_stagger_that_cannot_be_kept_is_refused() -> None:
    # 8.5 ft flat: a course across has ends, and no two of them stand 8 ft apart in it; nor do those of courses along.
    wide = roof(section(width_in=102, radius_in=0, crown_in=0))
    with pytest.raises(LayoutError, match="keeps the stagger") as caught:
        quoted(inputs(wide), laid_base(stagger_in=96.0))
    assert caught.value.code == "bad_layout"


def test_a_stored_quote_keeps_the_other_sizes_of_its_board() -> None:
    base = laid_base(stagger_in=None, ten_foot_at="26.00")
    quote = quoted(laminated(), base)
    kept = part_read(base, laminated(), quote)
    assert quoted(laminated(), kept).visible.base == quote.visible.base
    assert TEN_FOOT in kept.materials


def test_hidden_deck_is_priced_by_the_board_s_own_sheet() -> None:
    # A find of a quarter of the deck, 34 ft long: .25 x 8.5 = 2.125 courses of sheets 4 ft wide, .25 x 6.8 = 1.7 of 5 ft.
    base = laid_base("skin-over-kept-deck", stagger_in=None, least_in=None)
    wide = replace(base.materials[LAUAN], sheet_width=60 * INCH)
    wider = replace(base, materials={**base.materials, LAUAN: wide})
    parts = []
    for chosen in (base, wider):
        context = explained(inputs(laminated_34_ft(), plan="skin-over-kept-deck"), chosen)
        told = line(why_unit_price(context, "deck"))
        parts.append([step for step in told if step.startswith("deck_sheets of that find")])
    assert parts == [["deck_sheets of that find = 2.125 each"], ["deck_sheets of that find = 1.7 each"]]


# Patches ----------------------------------------------------------------------------------------------------


def test_marked_cells_on_rafters_would_take_a_patch_from_rafter_to_rafter() -> None:
    # Rows 2 and 3 lie from 24 to 72 in, so between the rafters at 16 and 80 in; lanes B and C are half of 94.0638 in.
    # 64 x 47.0319 in = 20.9030 ft2, 2 x (64 + 47.0319) in = 18.5053 ft of joint, from one sheet.
    marks = survey(*(cell(name, "rotten", "opened") for name in ("2B", "2C", "3B", "3C")))
    quote = quoted(inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane", survey=marks))
    assert measured(quote, "deck_patch_count") == 1
    assert measured(quote, "deck_patch_area", "ft2") == pytest.approx(20.9031, abs=1e-3)
    assert measured(quote, "deck_patch_joint_length", "ft") == pytest.approx(18.5053, abs=1e-3)
    assert measured(quote, "deck_patch_sheets") == 1
    (patch,) = quote.measured.boards.patches["main"].patches
    assert (patch.station / INCH, patch.length / INCH) == (16.0, 64.0)


def test_marked_cells_on_foam_would_take_a_patch_of_their_size() -> None:
    # Rows 2 and 3 are 48 in; lane A is 88.0682 / 4 = 22.0170 in and lies along the edge of the deck: 7.3390 ft2, and a joint of
    # 48 + 2 x 22.0170 in = 7.6695 ft.
    marks = survey(cell("2A", "soft", "opened"), cell("3A", "rotten", "opened"), cell("9D", "damp", "metered"))
    quote = quoted(inputs(laminated_34_ft(), survey=marks))
    assert measured(quote, "deck_patch_count") == 1
    assert measured(quote, "deck_patch_area", "ft2") == pytest.approx(7.3390, abs=1e-4)
    assert measured(quote, "deck_patch_joint_length", "ft") == pytest.approx(7.6695, abs=1e-4)


def test_a_roof_without_soft_or_rotten_cells_has_no_patches() -> None:
    quote = quoted(laminated())
    assert {slug: quote.measured.whole[slug] for slug in quote.measured.whole if "patch" in slug} == {
        "deck_patch_count": 0.0, "deck_patch_area": 0.0, "deck_patch_joint_length": 0.0, "deck_patch_sheets": 0.0,
    }  # fmt: skip


def test_patches_can_be_sold_as_an_option() -> None:
    # The patch above: 18.5053 ft of joint x 0.07 h + 0.75 h = 2.0454 h of the lead technician at 125.00, 1.2954 h beside.
    marks = survey(*(cell(name, "rotten", "opened") for name in ("2B", "2C", "3B", "3C")))
    kept = (entry("deck_replaced_share", "0 share"),)
    wanted = inputs(
        framed_28_ft(),
        plan="skin-over-kept-deck",
        skin="membrane",
        survey=marks,
        options=("deck-patch-on-rafters",),
        entered=kept,
    )
    hours = {x.trade: x.hours for x in quoted(wanted).visible.labour if x.assembly == "deck-patch-on-rafters"}
    assert hours == {"lead-technician": Decimal("2.0454"), "technician": Decimal("1.2954")}
    assert bought(quoted(wanted)) == {PLYWOOD: Decimal(1)}


# Why --------------------------------------------------------------------------------------------------------


def test_a_planned_count_of_sheets_can_be_followed() -> None:
    stepped = roof(section("front", length_in=168), section("rear", length_in=216), joints=(Joint("step", "front", "rear"),))
    context = explained(inputs(stepped), laid_base())
    why = why_material(context, LAUAN)
    told = line(why)
    for words in (
        # 32 x 7.3390 = 234.8484 ft2; / 32 = 7.3.
        "deck that gets new board, sections front, rear together = 234.8484 ft2",
        "sheets that the area alone would fill, at the least price = 8 each",
        "ends of neighbouring courses apart by = 12 in",
        "no piece narrower than = 12 in",
        "sheets of Lauan-type hardwood plywood 4x8 ft, 5.2 mm, three-ply = 8 each",
    ):
        assert words in told, told
    assert any(step.startswith("courses across section front: ") and step.endswith(" = 4 each") for step in told)
    assert any(step.startswith("pieces cut from what others leave, of 9 = 1") for step in told)
    # The half course of one section is cut from what the other's leaves.
    assert any(
        re.fullmatch(r"2 ft x 7.34 ft of section \w+, course \d, from what is left of a sheet = \d", step) for step in told
    )
    # 8 x 24.00 x 1.35 = 259.20.
    assert why.value == Decimal("259.20")


def test_a_size_bought_in_place_of_another_is_explained_by_the_need_it_stands_for() -> None:
    context = explained(laminated(), laid_base(stagger_in=None, ten_foot_at="26.00"))
    why = why_material(context, TEN_FOOT)
    told = line(why)
    assert "needed for Deck bond to foam core: the part of it that the layout takes in this size = 6 each" in told
    assert why.value == Decimal("210.60")


def test_a_planned_joint_says_its_seams_and_its_ends() -> None:
    context = explained(laminated(), laid_base(stagger_in=None, ten_foot_at="26.00"))
    told = line(why_labour(context, "deck-joints", "technician"))
    # One seam of 34 ft, and three ends in each of two courses, 3 x 7.3390 ft.
    words = "deck_joint_length = seams between courses 34 ft, ends in them 22.017 ft, and to what stays = 56.017 ft"
    assert words in told, told


def test_patches_are_told_one_by_one() -> None:
    marks = survey(*(cell(name, "rotten", "opened") for name in ("2B", "2C", "9A")))
    base = shipped("full-rebuild")
    work = replace(base.assemblies["vent-reinstall"], driver="deck_patch_count", level="section")
    base = replace(base, assemblies={**base.assemblies, "vent-reinstall": work})
    wanted = replace(inputs(laminated_34_ft(), survey=marks), plan="full-rebuild")
    plan = replace(base.plan, assemblies=(*base.plan.assemblies, "vent-reinstall"))
    context = explained(wanted, replace(base, plan=plan))
    told = line(why_labour(context, "vent-reinstall", work.labour[0].trade))
    # Row 2: 24 in by two lanes of 22.0170 in; row 9 lane A: 24 x 22.0170 in.
    assert "patch from 2 ft, 1.83 ft in: 2 ft x 3.6695 ft = 7.339 ft2" in told, told
    assert "patch from 16 ft, 0 ft in: 2 ft x 1.8348 ft = 3.6695 ft2" in told, told
    assert "deck_patch_count = patches from seam to seam, joined where that costs no more = 2 each" in told


def test_a_measure_of_patches_can_be_entered_by_nobody() -> None:
    with pytest.raises(CalculationError):
        quoted(replace(laminated(), entered=(entry("deck_patch_area", "3 ft2"),)))


def test_a_deck_is_as_long_as_its_span() -> None:
    quote = quoted(laminated(), laid_base())
    (layout,) = quote.measured.boards.layouts
    assert (layout.decks[0].length / FOOT, layout.decks[0].label) == (34.0, "main")
