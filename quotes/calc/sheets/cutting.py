"""How many sheets do so many whole pieces take?

The largest piece first, each from the smallest off-cut that it fits in either way round, else from a new sheet; the cut is made
so that the larger part stays in one piece. Source: common practice, none published.
"""

from collections.abc import Sequence


def sheets_for(pieces: Sequence[tuple[int, int]], sheet: tuple[int, int]) -> int:
    """Whole sheets that the pieces are cut from, by cuts from edge to edge.

    Args:
        pieces: two sides of each, in one whole unit; every piece fits the sheet one way round.
        sheet: its two sides in that unit.
    """
    count, left = 0, list[tuple[int, int]]()
    for piece in sorted(pieces, key=lambda sides: (-sides[0] * sides[1], sides)):
        fitting = [(a * b, (a, b)) for a, b in left if _turned(piece, (a, b)) is not None]
        if fitting:
            _, region = min(fitting)
            left.remove(region)
        else:
            count, region = count + 1, sheet
        left += _rest(piece, region)
    return count


def _turned(piece: tuple[int, int], region: tuple[int, int]) -> tuple[int, int] | None:
    """The piece as it lies in the region, or None where it does not fit."""
    ways = [way for way in (piece, piece[::-1]) if way[0] <= region[0] and way[1] <= region[1]]
    return ways[0] if ways else None


def _rest(piece: tuple[int, int], region: tuple[int, int]) -> list[tuple[int, int]]:
    lies = _turned(piece, region)
    assert lies is not None, "a piece that fits no sheet"
    (a, b), (c, d) = region, lies
    one, other = [(a - c, b), (c, b - d)], [(a - c, d), (a, b - d)]
    kept = max(one, other, key=lambda parts: max(x * y for x, y in parts))
    return [part for part in kept if part[0] > 0 and part[1] > 0]
