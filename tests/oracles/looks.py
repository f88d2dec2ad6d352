"""What a further look would do to a firm limit, as one would write it first: a loop over points, cases and patches.

No arrays and no memo. It takes what each point says of every component from the model (whose own oracle is `contingency.py`)
and does the rest in plain Python: the chance of each case is the mean of the binomial law, each point weighs what the case is
worth at it, and the level is found by walking the sorted amounts.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import comb


@dataclass(frozen=True)
class Part:
    """One component: what each point finds of it, how much there is, and its prices."""

    shares: Sequence[float]
    exposure: float
    unit_price: float
    set_up: float


def limits_after(
    parts: Sequence[Part], at: int, *, extent: float, strength: float, patches: int, base: float, level: float
) -> list[tuple[float, float]]:
    """Chance of each case and the limit after it, for 0, 1, ... rotten patches."""
    looked = parts[at]
    count = len(looked.shares)
    cases = []
    for rotten in range(patches + 1):
        worth = [comb(patches, rotten) * s**rotten * (1 - s) ** (patches - rotten) for s in looked.shares]
        whole = sum(worth)
        bad = rotten / patches
        found = bad * extent * looked.unit_price + (looked.set_up if rotten else 0.0)
        left = looked.exposure - extent + (1 - strength) * extent * (1 - bad)
        amounts = []
        for point in range(count):
            amount = looked.shares[point] * left * looked.unit_price
            if rotten == 0 and left > 0 and looked.shares[point] > 0:
                amount += looked.set_up
            for other, part in enumerate(parts):
                if other != at and part.exposure > 0:
                    amount += part.shares[point] * part.exposure * part.unit_price
                    amount += part.set_up if part.shares[point] > 0 else 0.0
            amounts.append((amount, worth[point] / whole))
        mean = sum(amount * weight for amount, weight in amounts)
        cases.append((whole / count, base + found + max(mean, _at(level, amounts))))
    return cases


def _at(level: float, amounts: list[tuple[float, float]]) -> float:
    reached = 0.0
    for amount, weight in sorted(amounts):
        reached += weight
        if reached >= level - 1e-12:
            return amount
    return max(amount for amount, _ in amounts)
