"""The framed sample coach priced the obvious way: plain arithmetic in feet and inches, floats, no formula, no template.

A new membrane over a deck of which a share is replaced. Hours and needs are those of the default cost base (invented); counts
are those of the sample coach; length, width, crown, edge, tuck and the shares are free.
"""

import math
from dataclasses import dataclass

from tests.oracles.plain_quote import CARTRIDGE_10_1_IN3, CARTRIDGE_10_3_IN3, FITTINGS, Size, Work, ceil

VENT_FLANGE_FT = (3 * 68 + 104 + 68) / 12
STACK_FLANGE_FT = 2 * math.pi * 6 / 12
ANTENNA_FT = 40 / 12
LADDER_FT = 4


@dataclass(frozen=True)
class Shares:
    """What is replaced of the deck, by its length, and how much of that comes off in splinters."""

    replaced: float
    splinters: float


@dataclass(frozen=True)
class Sizes:
    """What follows from the size of the roof, in feet and square feet; the visible width in inches."""

    length_ft: float
    visible_in: float
    cap_ft: float
    perimeter_ft: float
    plan_sqft: float
    skin_sqft: float
    deck_sqft: float
    arc_ft: float


def sizes(size: Size) -> Sizes:
    chord = size.width - 2 * size.radius
    circle = chord**2 / (8 * size.crown) + size.crown / 2
    arc = 2 * circle * math.asin(chord / (2 * circle))
    visible = arc + 2 * size.radius * math.pi / 2
    length_ft, cap_ft = size.length / 12, 2 * visible / 12
    return Sizes(
        length_ft=length_ft,
        visible_in=visible,
        cap_ft=cap_ft,
        perimeter_ft=2 * length_ft + cap_ft,
        plan_sqft=size.length * size.width / 144,
        skin_sqft=size.length * (visible + 2 * size.tuck) / 144,
        deck_sqft=size.length * arc / 144,
        arc_ft=arc / 12,
    )


def framed_works(size: Size, shares: Shares) -> list[Work]:
    """Every piece of work of a new membrane over the deck of the framed coach."""
    found = sizes(size)
    return [*_before(found), *_off(found, shares), *_deck(size, found, shares), *_skin(size, found), *_after(found, shares)]


def _before(found: Sizes) -> list[Work]:
    return [
        Work(1, {"estimator": 3.0}, {}),  # intake-survey
        Work(1, {"helper": 2.5}, {"masking-film-12-ft": found.plan_sqft * 1.5}),  # interior-protection
        Work(1, {"helper": 2.0, "technician": 1.0}, {"access-and-hoist": 1, "protective-set": 1}),  # roof-access, in a bay
        Work(1, {"technician": 1.5, "helper": 1.5}, {}),  # awning-refit
        Work(1, {"technician": 0.8, "helper": 0.7}, {}),  # topper-refit
        Work(2, {"technician": 0.8}, {}),  # ladder-antenna-refit
        Work(1, {"technician": 1.6, "helper": 1.4}, {"ac-gasket-14-in": 1}),  # ac-refit
    ]


def _off(found: Sizes, shares: Shares) -> list[Work]:
    replaced = found.deck_sqft * shares.replaced
    return [
        Work(FITTINGS, {"technician": 0.4}, {}),  # fittings-off
        Work(found.perimeter_ft, {"technician": 0.05, "helper": 0.03}, {}),  # rails-trims-off
        Work(80, {"helper": 0.06}, {"scraper-kit": 1, "surface-cleaner": 80 / 150}),  # scrape-sealant
        Work(found.skin_sqft, {"technician": 0.012, "helper": 0.012}, {}),  # skin-off
        Work(replaced * (1 - shares.splinters), {"technician": 0.012, "helper": 0.018}, {}),  # deck-off-sheets
        Work(replaced * shares.splinters, {"technician": 0.04, "helper": 0.05}, {}),  # deck-off-splinters
        Work(1, {"estimator": 1.5, "lead-technician": 1.0}, {}),  # open-roof-inspection
        Work(1, {"helper": 0.4}, {"drying-set-day": 1}),  # dry-out
    ]


def _deck(size: Size, found: Sizes, shares: Shares) -> list[Work]:
    replaced = found.deck_sqft * shares.replaced
    if replaced == 0:
        return []
    courses, of_roof = ceil(size.length * shares.replaced / 48), ceil(size.length / 48)
    joint_ft = min(courses + 1, of_roof - 1) * found.arc_ft
    return [
        Work(joint_ft, {"technician": 0.03}, {"deck-tape-2-in": joint_ft, "joint-filler": joint_ft / 180}),  # deck-joints
        Work(
            replaced,
            {"lead-technician": 0.018, "technician": 0.018, "helper": 0.012},
            {
                "plywood-sheet-3-8-in": ceil(found.arc_ft / 8) * courses,
                "deck-adhesive-28-oz": replaced / 60,
                "deck-screw-1-5-8-in": replaced * 1.5,
            },
            1.0,
            "lead-technician",
        ),  # deck-on-rafters
    ]


def _skin(size: Size, found: Sizes) -> list[Work]:
    side_ft, cap_ft = 2 * found.length_ft, found.cap_ft
    return [
        Work(
            found.skin_sqft,
            {"lead-technician": 0.012, "technician": 0.014, "helper": 0.01},
            {"tpo-membrane-45-thou": found.length_ft + 1, "membrane-adhesive-water-based": found.skin_sqft / 81},
        ),  # membrane-adhere
        Work(
            side_ft,
            {"lead-technician": 0.06, "technician": 0.06},
            {
                "gutter-rail-16-ft": side_ft,
                "butyl-tape-1-in": side_ft,
                "rail-screw-1-1-2-in": 2 * (ceil(size.length / 4) + 1),
                "screw-cover-insert-100-ft": side_ft,
                "gutter-spout-pair": 2,
            },
        ),  # edge-and-gutter
        Work(
            cap_ft,
            {"lead-technician": 0.12, "technician": 0.1},
            {
                "cap-trim-8-ft": cap_ft,
                "butyl-tape-1-in": cap_ft,
                "rail-screw-1-1-2-in": 2 * (ceil(found.visible_in / 3) + 1),
            },
        ),  # cap-joint-rebuild
    ]


def _after(found: Sizes, shares: Shares) -> list[Work]:
    round_ft, small_ft = VENT_FLANGE_FT + STACK_FLANGE_FT, LADDER_FT + ANTENNA_FT
    rest_lb = found.skin_sqft * 0.28 + found.plan_sqft * 0.25
    deck_lb = found.deck_sqft * shares.replaced * 1.125
    waste_ton = (rest_lb + deck_lb * 1.6 / 1.12) / 2000
    return [
        Work(
            FITTINGS,
            {"technician": 0.8},
            {
                "roof-vent-14-in": 3,
                "skylight-dome-30-by-22-in": 1,
                "stack-flange": 2,
                "fridge-vent": 1,
                "butyl-tape-1-in": round_ft,
                "pan-head-screw-1-in": 3 * 28 + 42 + 28,
            },
        ),  # fittings-fit
        Work(
            found.perimeter_ft,
            {"technician": 0.03},
            {"perimeter-sealant-10-1-oz": found.perimeter_ft * 12 * 0.5 * 0.375**2 / CARTRIDGE_10_1_IN3},
        ),  # perimeter-bead
        Work(
            round_ft,
            {"technician": 0.05},
            {"self-levelling-sealant-10-3-oz": round_ft * 12 * 2 * 3 / 16 / CARTRIDGE_10_3_IN3},
        ),  # fittings-pour
        Work(1, {"lead-technician": 1.5, "technician": 1.5}, {}),  # leak-test
        Work(
            waste_ton,
            {"helper": 2.5},
            {"disposal-fee": waste_ton, "skip-10-yd3": ceil((rest_lb + deck_lb) / 300 / 10)},
        ),  # disposal
        Work(1, {"estimator": 1.5, "helper": 1.5}, {}),  # hand-over
        Work(1, {"technician": 0.4}, {}),  # ac-opening-cut
        Work(
            small_ft,
            {"technician": 0.05},
            {
                "self-levelling-sealant-10-3-oz": small_ft * 12 * 2 * 3 / 16 / CARTRIDGE_10_3_IN3,
                "butyl-tape-1-in": ANTENNA_FT,
                "pan-head-screw-1-in": 16,
            },
        ),  # feet-seal
        Work(5, {"technician": 0.25}, {"marker-light": 5}),  # marker-lights
        Work(found.skin_sqft, {"lead-technician": 0.006, "technician": 0.006}, {}),  # skin-dry-fit
    ]
