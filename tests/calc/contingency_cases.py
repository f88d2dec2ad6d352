"""Hidden components for the tests of the contingency; all chances, shares and prices are invented."""

from decimal import Decimal
from functools import cache
from math import exp, log
from pathlib import Path

import numpy as np

from costbase.calc.money import Currency
from quotes.calc.contingency import NO_HISTORY, CostFactors, Exposure, SamplePoints, SetAside, set_aside, shipped_points

USD = Currency("USD", 2)
POINTS_FILE = Path(__file__).parents[2] / "quotes" / "points.npy"


@cache
def points() -> SamplePoints:
    return shipped_points(np.load(POINTS_FILE))


def part(
    component: str = "deck",
    column: int = 1,
    *,
    exposure: float = 100.0,
    unit_price: str = "18",
    set_up: str = "0",
    chance: float = 0.5,
    share: float = 0.22,
    phi: float = 4.0,
    load: float = 0.6,
    each: bool = False,
    patch: float = 16.0,
) -> Exposure:
    return Exposure(
        component=component,
        column=column,
        exposure=exposure,
        unit_price=Decimal(unit_price),
        set_up=Decimal(set_up),
        chance=chance,
        share=share,
        phi=phi,
        load=load,
        each=each,
        patch=patch,
    )


def quoted(
    parts: list[Exposure],
    *,
    basis: str = "firm",
    level: float = 0.8,
    base: str = "12500",
    factors: CostFactors = NO_HISTORY,
    sd_survey: float = 0.0,
    currency: Currency = USD,
    corrected_level: float | None = None,
) -> SetAside:
    return set_aside(
        points(),
        parts,
        basis=basis,
        level=level,
        base=Decimal(base),
        factors=factors,
        sd_survey=sd_survey,
        currency=currency,
        corrected_level=corrected_level,
    )


def _shifted(probability: float, shift: float) -> float:
    return 1 / (1 + exp(-(log(probability / (1 - probability)) + shift)))


# Tier local: chances lower by 0.18 on the logit scale than the middle of the tiers, shares by 0.08.
def _local(
    component: str,
    column: int,
    exposure: float,
    unit_price: str,
    set_up: str,
    chance_mid: float,
    share_mid: float,
    *,
    each: bool = False,
) -> Exposure:
    return part(
        component,
        column,
        exposure=exposure,
        unit_price=unit_price,
        set_up=set_up,
        chance=_shifted(chance_mid, -0.18),
        share=_shifted(share_mid, -0.08),
        each=each,
    )


# chance, mean share, exposure x unit price: one unit exposed at that price each.
GOLDEN = [
    part("deck", 1, chance=0.5, share=0.22, exposure=1.0, unit_price="3400"),
    part("deck_splinters", 2, chance=0.45, share=0.28, exposure=1.0, unit_price="5400"),
    part("core", 3, chance=0.55, share=0.25, exposure=1.0, unit_price="2300"),
    part("rafters", 4, chance=0.35, share=0.25, exposure=1.0, unit_price="1400"),
    part("insulation", 5, chance=0.3, share=0.18, exposure=1.0, unit_price="3400"),
    part("edge", 6, chance=0.4, share=0.3, exposure=1.0, unit_price="960"),
]

# 34 ft laminated roof rebuilt with a fibreglass skin; the whole deck is replaced, so the deck itself hides
# nothing.
LAMINATED = [
    _local("deck", 1, 0.0, "17.760421", "0", 0.5, 0.22),
    _local("deck_splinters", 2, 149.7159, "6.82", "0", 0.4, 0.45),
    _local("core", 3, 212.0975, "16.409738", "135", 0.45, 0.28),
    _local("edge", 6, 62.0, "112.326337", "225", 0.55, 0.25),
    _local("cap_backing", 8, 16.7724, "123.384675", "150", 0.4, 0.3),
    _local("ac_frame", 9, 0.0, "517.5666", "0", 0.3, 0.75, each=True),
    _local("opening_frame", 10, 1.0, "157.81095", "67.5", 0.45, 0.5, each=True),
    _local("fasteners", 11, 18.0, "48.5568", "67.5", 0.4, 0.3),
    _local("wiring", 12, 5.0, "228.6", "75", 0.3, 0.25),
]

# 28 ft framed roof with a new membrane, 15 % of its deck replaced.
FRAMED = [
    _local("deck", 1, 186.5599, "14.648977", "150", 0.5, 0.22),
    _local("deck_splinters", 2, 26.3379, "6.82", "0", 0.4, 0.45),
    _local("rafters", 4, 179.6667, "36.035566", "150", 0.35, 0.12),
    _local("insulation", 5, 70.2343, "6.444682", "47.5", 0.4, 0.25),
    _local("edge", 6, 56.0, "112.326337", "225", 0.55, 0.25),
    _local("cap_backing", 8, 16.7245, "123.384675", "150", 0.4, 0.3),
    _local("ac_frame", 9, 1.0, "519.462", "150", 0.3, 0.75, each=True),
    _local("opening_frame", 10, 5.0, "157.81095", "67.5", 0.45, 0.5),
    _local("fasteners", 11, 12.0, "48.5568", "67.5", 0.4, 0.3),
    _local("wiring", 12, 4.0, "228.6", "75", 0.3, 0.25, each=True),
]
