"""A new skin from rolls and coils, laid by hand: along, across, lapped, too long, too narrow; and which stock is cheapest."""

from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from costbase.calc.cost_base import CostBase
from costbase.calc.units import in_unit
from quotes.calc.quote import Quote
from quotes.calc.skins import BareSection, SkinPlan, SkinStock, Strip, plan_skins
from quotes.calc.why import why_labour, why_material
from tests.calc.roofs import roof, section
from tests.calc.shipped_base import base_with, explained, inputs, quoted, shipped
from tests.calc.why_cases import line
from tests.oracles.strips import strips

INCH = 254.0
COIL = "aluminium-skin-30-thou"
WIDE = "aluminium-skin-108-in"


def stock(slug: str = "coil", width_in: float = 102.0, **changes: Any) -> SkinStock:
    plain = SkinStock(slug, slug, width_in * INCH, "developed", None, None, 9.0, 0.0)
    sizes = {name: None if inches is None else inches * INCH for name, inches in changes.items() if name in ("longest", "lap")}
    return replace(plain, **{**changes, **sizes})


def bare(
    length_in: float = 408.0, developed_in: float = 103.6345, visible_in: float = 100.6345, label: str = "main"
) -> BareSection:
    return BareSection(label, length_in * INCH, developed_in * INCH, visible_in * INCH)


def inches(plan: SkinPlan, label: str = "main") -> tuple[str, int, float, float]:
    """Direction, pieces, stock and lap seams of one section, in inches."""
    (skin,) = [skin for skin in plan.laid if skin.section == label]
    return skin.direction, len(skin.strips), round(skin.stock_length / INCH, 4), round(skin.lap_length / INCH, 4)


# One section ------------------------------------------------------------------------------------------------


def test_a_stock_that_is_wide_enough_lies_along_in_one_strip() -> None:
    plan = plan_skins([bare()], [stock(width_in=108.0)], 5.0)

    assert inches(plan) == ("along", 1, 408.0, 0.0)
    assert plan.laid[0].strips == (Strip("main", 0.0, 0.0, 408.0 * INCH, 103.6345 * INCH),)
    assert plan.reason == "the only stock that fits"


def test_a_membrane_needs_the_visible_width_only() -> None:
    assert plan_skins([bare()], [stock(width_in=102.0, covers="visible")], 5.0).fits
    assert not plan_skins([bare()], [stock(width_in=102.0)], 5.0).fits


def test_a_narrow_stock_without_a_lap_fits_nowhere_and_stays_for_a_person_to_decide() -> None:
    plan = plan_skins([bare()], [stock()], 5.0)

    assert not plan.fits
    assert (plan.stock, inches(plan)) == ("coil", ("along", 1, 408.0, 0.0))
    assert [no.reason for no in plan.why_not] == [
        "coil: section main needs 103.63 in (developed width), the stock is 102 in wide; find wider stock or plan a seam"
    ]


def test_a_narrow_stock_with_a_lap_lies_along_or_across_whichever_is_cheaper() -> None:
    # 54 in with a lap of 3. Along: ceil((103.6345 - 3) / 51) = 2 strips of 408 in: 816 in, a seam of 408: 68 ft x 9 and 34 x 5
    # = 782.00. Across: ceil((408 - 3) / 51) = 8 strips of 103.6345: 829.076 in, 7 seams of 725.4415 in: 69.0897 ft x 9 and
    # 60.4535 x 5 = 924.07.
    along = plan_skins([bare()], [stock(width_in=54.0, lap=3.0)], 5.0)
    # 100 in and no price of seams. Along 2 strips: 816 in. Across ceil(405 / 97) = 5 strips: 518.1725 in, 4 seams.
    across = plan_skins([bare()], [stock(width_in=100.0, lap=3.0)], 0.0)

    assert inches(along) == ("along", 2, 816.0, 408.0)
    assert inches(across) == ("across", 5, 518.1725, 414.538)
    assert dict(along.costs) == {"coil": 782.0}


def test_strips_lie_where_they_overlap_by_the_lap() -> None:
    # Two strips of 54 in: the second begins at 51 in and is cut to 52.6345.
    plan = plan_skins([bare()], [stock(width_in=54.0, lap=3.0)], 5.0)

    (skin,) = plan.laid
    places = [tuple(round(size / INCH, 4) for size in (s.station, s.offset, s.length, s.width)) for s in skin.strips]
    assert places == [(0.0, 0.0, 408.0, 54.0), (0.0, 51.0, 408.0, 52.6345)]
    assert [(seam.across, round(seam.at / INCH, 4), round(seam.end / INCH, 4)) for seam in skin.seams] == [(False, 51.0, 408.0)]


def test_a_roof_longer_than_the_coil_gets_a_cross_seam() -> None:
    # 612 in of roof from coils of 50 ft = 600 in with a lap of 4: ceil((612 - 4) / 596) = 2 pieces, 600 and 16 in, a seam
    # across of 103.6345 in.
    plan = plan_skins([bare(612.0)], [stock(width_in=108.0, longest=600.0, lap=4.0)], 5.0)
    (skin,) = plan.laid

    assert inches(plan) == ("along", 2, 616.0, 103.6345)
    assert skin.cross_seams == 1
    assert [round(strip.length / INCH, 4) for strip in skin.strips] == [600.0, 16.0]


def test_a_roof_longer_than_a_coil_that_may_not_be_lapped_does_not_fit() -> None:
    plan = plan_skins([bare(612.0)], [stock(width_in=108.0, longest=600.0)], 5.0)

    assert [no.reason for no in plan.why_not] == [
        "coil: section main is 51 ft long, the longest piece is 50 ft and may not be lapped; find longer stock or plan a seam"
    ]


def test_a_short_section_takes_a_narrow_coil_across_in_one_piece() -> None:
    # 96 in of roof under a coil of 102 in: across, 103.6345 in of it. A coil that is wide enough still lies along.
    assert inches(plan_skins([bare(96.0)], [stock()], 5.0)) == ("across", 1, 103.6345, 0.0)
    assert inches(plan_skins([bare(106.0)], [stock(width_in=108.0)], 5.0)) == ("along", 1, 106.0, 0.0)


# Several sections, several stocks ---------------------------------------------------------------------------


def test_freight_decides_once_for_all_sections() -> None:
    # 12 and 20 ft. Narrow: 64 ft x 9 and 32 ft of seam x 5 = 736.00. Wide: 32 ft x 14 and freight of 250 = 698.00; at a freight
    # of 300 it is 748.00.
    sections = [bare(144.0, label="front"), bare(240.0, label="rear")]
    narrow = stock("narrow", 54.0, lap=3.0)
    near, far = (stock("wide", 108.0, price_per_foot=14.0, freight=freight) for freight in (250.0, 300.0))

    cheap, dear = (plan_skins(sections, [narrow, wide], 5.0) for wide in (near, far))
    assert (cheap.stock, [round(cost, 2) for _, cost in cheap.costs]) == ("wide", [736.0, 698.0])
    assert cheap.reason == "the cheapest that fits, at 698.00 with seams and freight, before narrow at 736.00"
    assert (dear.stock, [skin.stock_length / INCH for skin in dear.laid]) == ("narrow", [288.0, 480.0])


def test_a_stock_that_does_not_fit_one_section_is_not_taken_for_the_other() -> None:
    sections = [bare(144.0, 90.0, label="narrow"), bare(240.0, label="wide")]
    plan = plan_skins(sections, [stock("coil"), stock("wide coil", 108.0, price_per_foot=20.0)], 5.0)

    assert plan.stock == "wide coil"
    assert [(no.stock, no.section) for no in plan.why_not] == [("coil", "wide")]


# What holds of all ------------------------------------------------------------------------------------------


@settings(max_examples=100, deadline=None)
@given(
    length=st.integers(24, 700),
    width=st.integers(60, 130),
    size=st.integers(36, 120),
    lap=st.sampled_from((None, 2, 4, 8)),
    longest=st.sampled_from((None, 300, 600)),
)
def test_strips_are_those_that_a_hand_would_lay(
    length: int, width: int, size: int, lap: int | None, longest: int | None
) -> None:
    plan = plan_skins([bare(length, width)], [stock(width_in=size, lap=lap, longest=longest)], 0.0)
    ways = []
    pieces = strips(length, longest or 10_000, lap)
    if strips(width, size, lap) and pieces:
        ways.append(len(strips(width, size, lap)) * sum(long for _, long in pieces))
    if strips(length, size, lap) and width <= (longest or 10_000) and (lap is not None or not ways):
        ways.append(len(strips(length, size, lap)) * width)
    assume(ways)

    (skin,) = plan.laid
    assert skin.stock_length / INCH == pytest.approx(min(ways))
    # The strips cover the section, and what they cover twice is lap.
    covered = sum(strip.length * strip.width for strip in skin.strips) / INCH**2
    assert covered >= length * width - 1e-6
    assert all(strip.station + strip.length <= (length + 1e-6) * INCH for strip in skin.strips)
    assert all(strip.offset + strip.width <= (width + 1e-6) * INCH for strip in skin.strips)


@settings(max_examples=50, deadline=None)
@given(length=st.integers(100, 600), first=st.integers(40, 120), other=st.integers(40, 120), freight=st.integers(0, 400))
def test_another_stock_never_makes_a_skin_dearer(length: int, first: int, other: int, freight: int) -> None:
    own = stock("own", float(first), lap=3.0)
    more = stock("more", float(other), lap=3.0, freight=float(freight))
    alone, both = (plan_skins([bare(float(length))], stocks, 5.0) for stocks in ([own], [own, more]))

    assert dict(both.costs)[both.stock] <= dict(alone.costs)["own"] + 1e-4


# Quotes -----------------------------------------------------------------------------------------------------


def with_coils(*, lap_in: float | None = None, wide: str = "", freight: str = "0") -> CostBase:
    """The shipped base, in which the 102 in coil may be lapped, or a 108 in coil be bought in its place."""
    materials, prices = dict(shipped().materials), dict(shipped().prices)
    coil = materials[COIL]
    materials[COIL] = replace(coil, lap=None if lap_in is None else lap_in * INCH)
    if wide:
        name = "Aluminium roof sheet from coil, 0.030 in, 108 in wide"
        materials[WIDE] = replace(coil, slug=WIDE, name=name, stock_width=108 * INCH, lead_days=30, in_place_of=COIL)
        prices[WIDE] = replace(prices[COIL], material=WIDE, pack_price=Decimal(wide), freight=Decimal(freight))
    return base_with(materials=materials, prices=prices)


def aluminium(base: CostBase) -> Quote:
    return quoted(inputs(roof(section()), skin="aluminium"), base)


def bought(quote: Quote, *slugs: str) -> dict[str, str]:
    lines = {line.packed.material.slug: str(line.packed.net) for line in quote.visible.materials}
    return {slug: lines[slug] for slug in slugs if slug in lines}


def stock_warnings(quote: Quote) -> list[str]:
    return [text for text in quote.warnings if "stock" in text]


def test_a_coil_that_nobody_may_lap_is_priced_as_asked_with_a_warning() -> None:
    quote = aluminium(shipped())

    assert bought(quote, COIL, WIDE) == {COIL: "35.0000"}
    assert len(stock_warnings(quote)) == 1
    assert "skin-lap" not in {take.assembly.slug for take in quote.takes}


def test_a_wider_coil_takes_the_place_of_one_that_is_too_narrow() -> None:
    # 34 ft and a foot to spare, on a line of its own, with its own lead time and freight: 120.00 x 1.35 = 162.00.
    quote = aluminium(with_coils(wide="11.40", freight="120"))

    assert bought(quote, COIL, WIDE) == {WIDE: "35.0000"}
    assert stock_warnings(quote) == []
    assert [(line.material.slug, str(line.amount)) for line in quote.visible.freight] == [(WIDE, "162.00")]
    assert (quote.days.lead, quote.days.lead_material) == (30, "Aluminium roof sheet from coil, 0.030 in, 108 in wide")


def test_a_coil_that_may_be_lapped_lies_across_where_that_takes_less() -> None:
    # Along: 2 strips, 68 ft of coil and 34 ft of seam. Across: ceil((408 - 4) / 98) = 5 strips of 103.6345 in = 43.1811 ft, 4
    # seams = 34.5448 ft. With a foot to spare 44.1811 ft; two people 0.06 h a foot of seam each, 2.0727 h.
    quote = aluminium(with_coils(lap_in=4.0))
    hours = {(line.assembly, line.trade): str(line.hours) for line in quote.visible.labour}

    assert bought(quote, COIL) == {COIL: "44.1811"}
    assert in_unit(float(quote.measured.whole["skin_lap_length"]), "ft") == pytest.approx(34.544847, abs=1e-5)
    assert (hours["skin-lap", "lead-technician"], hours["skin-lap", "technician"]) == ("2.0727", "2.0727")
    assert stock_warnings(quote) == []


def test_the_stock_that_was_chosen_is_told_with_its_reason() -> None:
    why = why_material(explained(inputs(roof(section()), skin="aluminium"), with_coils(lap_in=4.0, wide="40")), COIL)
    told = line(why)

    assert any(text.startswith(f"stock in the place of {COIL}: the cheapest that fits, at ") for text in told)
    assert "skin_stock_length = 5 strips across from stock 102 in wide = 43.1811 ft" in told
    assert why.value == next(
        goods.amount
        for goods in aluminium(with_coils(lap_in=4.0, wide="40")).visible.materials
        if goods.packed.material.slug == COIL
    )


def test_what_is_bought_in_the_place_of_another_lands_on_its_line() -> None:
    told = explained(inputs(roof(section()), skin="aluminium"), with_coils(wide="11.40"))
    why = why_material(told, WIDE)

    (amount,) = [goods.amount for goods in told.quote.visible.materials if goods.packed.material.slug == WIDE]
    assert why.value == amount
    assert f"stock in the place of {COIL}: the only stock that fits = {WIDE}" in line(why)


def test_the_length_of_a_lap_is_told_with_its_seams() -> None:
    told = explained(inputs(roof(section()), skin="aluminium"), with_coils(lap_in=4.0))

    assert "skin_lap_length = 4 seams where strips overlap = 34.5448 ft" in line(why_labour(told, "skin-lap", "technician"))
