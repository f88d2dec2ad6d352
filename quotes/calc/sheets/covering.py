"""What do sheets of so much area cost at least? The bound that no layout can go below."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Cover:
    """The cheapest sheets for any area up to a largest one.

    Attributes:
        areas: of purchases none of which is dearer than another with more area, ascending.
        costs: of the same purchases, ascending.
        counts: sheets of the same purchases, as few as the cost allows.
        rate: least price of an area.
        largest: area of the largest sheet.
    """

    areas: tuple[int, ...]
    costs: tuple[int, ...]
    counts: tuple[int, ...]
    rate: float
    largest: int

    def cost(self, area: int) -> int:
        """Price of the cheapest sheets that have the area."""
        return self.costs[bisect_left(self.areas, area)]

    def count(self, area: int) -> int:
        """How many sheets that purchase is."""
        return self.counts[bisect_left(self.areas, area)]

    def sheets(self, area: int) -> int:
        """The fewest sheets that have the area, whatever they cost."""
        return -(-area // self.largest)


def cover(sizes: Sequence[tuple[int, int]], largest: int) -> Cover:
    """Every purchase of sheets that is worth making, up to an area.

    Args:
        sizes: area and price of each size, both above 0.
        largest: area that has to be covered at most.
    """
    # Price, negative area and count: the first of two purchases in this order is never the worse one.
    best: list[tuple[int, int, int]] = [(0, 0, 0)]
    round_of = best
    while round_of:
        grown = [
            (cost + price, minus - area, count + 1)
            for cost, minus, count in round_of
            if -minus < largest
            for area, price in sizes
        ]
        merged = _undominated(sorted({*best, *grown}))
        round_of = [purchase for purchase in merged if purchase not in set(best)]
        best = merged
    return Cover(
        areas=tuple(-minus for _, minus, _ in best),
        costs=tuple(cost for cost, _, _ in best),
        counts=tuple(count for _, _, count in best),
        rate=min(price / area for area, price in sizes),
        largest=max(area for area, _ in sizes),
    )


def _undominated(purchases: Sequence[tuple[int, int, int]]) -> list[tuple[int, int, int]]:
    kept: list[tuple[int, int, int]] = []
    for purchase in purchases:
        if not kept or purchase[1] < kept[-1][1]:
            kept.append(purchase)
    return kept
