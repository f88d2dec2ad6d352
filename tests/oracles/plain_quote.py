"""The laminated sample coach priced the obvious way: plain arithmetic in feet and inches, floats, no formula, no template.

What the core must equal on any size of that roof, and what its speed is held against. Hours and needs are those of the default
cost base (invented); counts are those of the sample coach; length, width, crown, edge and tuck are free.
"""

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

CARTRIDGE_10_1_IN3 = 10.1 * 231 / 128
CARTRIDGE_10_3_IN3 = 10.3 * 231 / 128
ACS = 2
FITTINGS = 7  # three vents, a skylight, two stacks, a refrigerator vent


@dataclass(frozen=True)
class Size:
    """A roof in inches."""

    length: float
    width: float
    crown: float
    radius: float
    tuck: float


@dataclass(frozen=True)
class Work:
    """Some quantity, hours a unit by trade, net needs, and hours of set-up with their trade."""

    quantity: float
    hours: Mapping[str, float]
    needs: Mapping[str, float]
    set_up: float = 0.0
    set_up_trade: str = ""


@dataclass(frozen=True)
class Bought:
    """A material: price and size of a pack, waste, and whether it is sold by measure."""

    price: float
    pack: float
    waste: float
    by_measure: bool


@dataclass
class Sums:
    """Net needs and billed labour, as they add up."""

    labour: float = 0.0
    needs: dict[str, float] = field(default_factory=dict)


def ceil(x: float) -> int:
    return math.ceil(x - 1e-6)


def half_up(x: float, places: int) -> float:
    scale: float = 10.0**places
    return math.floor(x * scale + 0.5 + 1e-6) / scale


def works(size: Size) -> list[Work]:
    """Every piece of work of a full rebuild with an FRP skin."""
    chord = size.width - 2 * size.radius
    circle = chord**2 / (8 * size.crown) + size.crown / 2
    arc = 2 * circle * math.asin(chord / (2 * circle))
    visible_width_in = arc + 2 * size.radius * math.pi / 2
    roof_len_in, body_width_in = size.length, size.width
    roof_len_ft = roof_len_in / 12
    side_edge_ft, cap_joint_ft = 2 * roof_len_ft, 2 * visible_width_in / 12
    perimeter_ft = side_edge_ft + cap_joint_ft
    plan_sqft = roof_len_in * body_width_in / 144
    skin_sqft = roof_len_in * (visible_width_in + 2 * size.tuck) / 144
    deck_sqft = roof_len_in * arc / 144
    foam_sqft = 0.15 * deck_sqft
    courses = ceil(roof_len_in / 48)
    deck_sheets = ceil(arc / 96) * courses
    deck_joint_ft = (courses - 1) * arc / 12
    vent_flange_ft, stack_flange_ft, small_flange_ft, pad_ft = (
        (3 * 68 + 104 + 68) / 12,
        2 * math.pi * 6 / 12,
        (40 + 16) / 12,
        12,
    )
    foam_volume = foam_sqft * 2.5 / 12
    rest_lb = skin_sqft * 0.61 + plan_sqft * 0.25
    waste_ton = (rest_lb + deck_sqft * 0.549 * 1.6 / 1.12 + foam_volume * (1 + 0.04 * 62.4)) / 2000
    waste_yd3 = (rest_lb + deck_sqft * 0.549) / 300 + foam_volume * 1.5 / 27
    return [
        Work(1, {"estimator": 3.0}, {}),  # intake-survey
        Work(1, {"helper": 2.5}, {"masking-film-12-ft": plan_sqft * 1.5}),  # interior-protection
        Work(
            1, {"helper": 2.0, "technician": 1.0}, {"weather-tarp-30-by-50-ft": 1, "access-and-hoist": 1, "protective-set": 1}
        ),  # roof-access
        Work(9, {"helper": 0.75}, {}),  # daily-cover
        Work(1, {"technician": 1.5, "helper": 1.5}, {}),  # awning-refit
        Work(2, {"technician": 0.8, "helper": 0.7}, {}),  # topper-refit
        Work(2, {"technician": 1.0}, {"cable-entry-box": 1}),  # solar-refit
        Work(2, {"technician": 0.8}, {}),  # ladder-antenna-refit
        Work(ACS, {"technician": 1.6, "helper": 1.4}, {"ac-gasket-14-in": ACS}),  # ac-refit
        Work(FITTINGS, {"technician": 0.4}, {}),  # fittings-off
        Work(perimeter_ft, {"technician": 0.05, "helper": 0.03}, {}),  # rails-trims-off
        Work(150, {"helper": 0.06}, {"scraper-kit": 1, "surface-cleaner": 150 / 150}),  # scrape-sealant
        Work(skin_sqft, {"technician": 0.012, "helper": 0.012}, {}),  # skin-off
        Work(deck_sqft * 0.6, {"technician": 0.012, "helper": 0.018}, {}),  # deck-off-sheets
        Work(deck_sqft * 0.4, {"technician": 0.04, "helper": 0.05}, {}),  # deck-off-splinters
        Work(1, {"estimator": 1.5, "lead-technician": 1.0}, {}),  # open-roof-inspection
        Work(3, {"helper": 0.4}, {"drying-set-day": 3}),  # dry-out
        Work(1, {"lead-technician": 1.2}, {"wiring-repair-kit": 1}, 0.5, "lead-technician"),  # wiring-repair
        Work(
            6,
            {"lead-technician": 0.4, "technician": 0.35},
            {"framing-strip-2-by-2-in": 6 * 2, "structural-adhesive-10-1-oz": 6 / 8},
            1.5,
            "lead-technician",
        ),  # wall-top-repair
        Work(
            foam_sqft,
            {"technician": 0.07, "helper": 0.03},
            {
                "foam-board-type-1-2-5-in": foam_sqft / 32 * 2.5 / 2.5,
                "laminating-adhesive-polyurethane": foam_sqft / 100,
                "gap-foam-can-24-oz": foam_sqft / 40,
            },
            1.0,
            "technician",
        ),  # foam-replace
        Work(
            2,
            {"fabricator": 1.5, "technician": 1.0},
            {
                "aluminium-tube-2-by-1-in": 2 * (2 * (body_width_in - 4) + 2 * 15) / 12,
                "flat-bar-3-in": 2 * 5,
                "structural-adhesive-10-1-oz": 2 * 1,
                "pan-head-screw-1-in": 2 * 16,
            },
            1.0,
            "fabricator",
        ),  # bracing-add
        Work(
            4,
            {"technician": 0.8},
            {"framing-strip-2-by-2-in": 4 * 6, "flat-bar-3-in": 4 * 5, "structural-adhesive-10-1-oz": 4 * 0.5},
            0.5,
            "technician",
        ),  # opening-backing
        Work(6, {"technician": 0.35}, {"captive-nut-1-4-in": 6}, 0.5, "technician"),  # insert-replace
        Work(
            deck_sqft,
            {"lead-technician": 0.02, "technician": 0.02, "helper": 0.015},
            {
                "lauan-sheet-5-2-mm": deck_sheets,
                "laminating-adhesive-polyurethane": deck_sqft / 100,
                "staple-1-in": deck_sqft * 2,
            },
            1.0,
            "lead-technician",
        ),  # deck-bond
        Work(
            deck_joint_ft, {"technician": 0.03}, {"deck-tape-2-in": deck_joint_ft, "joint-filler": deck_joint_ft / 180}
        ),  # deck-joints
        Work(
            skin_sqft,
            {"lead-technician": 0.018, "technician": 0.018, "helper": 0.018},
            {"frp-skin-108-in": roof_len_ft + 1, "laminating-adhesive-polyurethane": skin_sqft / 100, "wide-skin-freight": 1},
        ),  # frp-skin-bond
        Work(
            side_edge_ft,
            {"lead-technician": 0.06, "technician": 0.06},
            {
                "gutter-rail-16-ft": side_edge_ft,
                "butyl-tape-1-in": side_edge_ft,
                "rail-screw-1-1-2-in": 2 * (ceil(roof_len_in / 4) + 1),
                "screw-cover-insert-100-ft": side_edge_ft,
                "gutter-spout-pair": 2,
            },
        ),  # edge-and-gutter
        Work(
            cap_joint_ft,
            {"lead-technician": 0.12, "technician": 0.1},
            {
                "cap-trim-8-ft": cap_joint_ft,
                "butyl-tape-1-in": cap_joint_ft,
                "rail-screw-1-1-2-in": 2 * (ceil(visible_width_in / 3) + 1),
            },
        ),  # cap-joint-rebuild
        Work(
            2,
            {"fabricator": 0.9},
            {"laminating-resin": 2 * 0.08, "glass-cloth-50-in": 2 * 0.4, "gel-coat-quart": 2 * 0.15},
            0.75,
            "fabricator",
        ),  # cap-crack-laminate
        Work(
            FITTINGS,
            {"technician": 0.8},
            {
                "roof-vent-14-in": 3 * 1,
                "skylight-dome-30-by-22-in": 1 * 1,
                "stack-flange": 2,
                "fridge-vent": 1 * 1,
                "butyl-tape-1-in": vent_flange_ft + stack_flange_ft,
                "pan-head-screw-1-in": 3 * 28 + 1 * 42 + 1 * 28,
            },
        ),  # fittings-fit
        Work(
            perimeter_ft, {"technician": 0.03}, {"perimeter-sealant-10-1-oz": perimeter_ft * 0.84375 / CARTRIDGE_10_1_IN3}
        ),  # perimeter-bead
        Work(
            vent_flange_ft + stack_flange_ft,
            {"technician": 0.05},
            {"self-levelling-sealant-10-3-oz": (vent_flange_ft + stack_flange_ft) * 4.5 / CARTRIDGE_10_3_IN3},
        ),  # fittings-pour
        Work(1, {"lead-technician": 1.5, "technician": 1.5}, {}),  # leak-test
        Work(waste_ton, {"helper": 2.5}, {"disposal-fee": waste_ton, "skip-10-yd3": ceil(waste_yd3 / 10)}),  # disposal
        Work(1, {"estimator": 1.5, "helper": 1.5}, {}),  # hand-over
        Work(deck_sqft, {"technician": 0.015, "helper": 0.015}, {"scraper-kit": 1}),  # core-face-prep
        Work(ACS, {"technician": 0.4}, {}),  # ac-opening-cut
        Work(
            pad_ft + small_flange_ft,
            {"technician": 0.05},
            {
                "self-levelling-sealant-10-3-oz": (pad_ft + small_flange_ft) * 4.5 / CARTRIDGE_10_3_IN3,
                "butyl-tape-1-in": small_flange_ft,
                "pan-head-screw-1-in": 1 * 16 + 1 * 7,
            },
        ),  # feet-seal
        Work(7, {"technician": 0.25}, {"marker-light": 7 * 1}),  # marker-lights
        Work(skin_sqft, {"lead-technician": 0.006, "technician": 0.006}, {}),  # skin-dry-fit
    ]


def visible_work(size: Size, rates: Mapping[str, float], goods: Mapping[str, Bought], markup: float) -> float:
    """Labour lines and material lines, each rounded to cents, with whole packs."""
    return priced(works(size), rates, goods, markup)


def priced(pieces: Iterable[Work], rates: Mapping[str, float], goods: Mapping[str, Bought], markup: float) -> float:
    """The same of any pieces of work."""
    sums = Sums()
    for work in pieces:
        hours = {trade: work.quantity * each for trade, each in work.hours.items()}
        if work.set_up:
            hours[work.set_up_trade] = hours.get(work.set_up_trade, 0.0) + work.set_up
        sums.labour += sum(half_up(half_up(h, 4) * rates[trade], 2) for trade, h in hours.items())
        for slug, need in work.needs.items():
            sums.needs[slug] = sums.needs.get(slug, 0.0) + need
    materials = 0.0
    for slug, need in sums.needs.items():
        bought = goods[slug]
        packs = need * (1 + bought.waste) / bought.pack
        counted = half_up(packs, 2) if bought.by_measure else ceil(packs)
        materials += half_up(counted * bought.price * (1 + markup), 2)
    return sums.labour + materials
