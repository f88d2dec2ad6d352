"""Which patches cover the damaged places of a deck that otherwise stays?

The deck is divided into bays: between supports that carry a seam across the coach, or, where board lies on foam, at the edges
of the damage. In each bay the damaged stretches are taken out from edge to edge of the bay. Two stretches become one patch
wherever that costs no more, board and joint together: a patch across two bays saves the joint between them, and one over a
little sound board may save two joints. Nothing else is tried: where joints cost nothing the area is the least for these bays,
the number of patches need not be. Where supports stand farther apart than a sheet is long, a strip is let in between.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import combinations, count, pairwise
from typing import NamedTuple

from quotes.calc.sheets.cutting import sheets_for
from quotes.calc.sheets.decks import Deck, LayingRules, SheetSize, canonical, check_length, check_request, ticks
from quotes.calc.sheets.plan import JointLine


@dataclass(frozen=True, slots=True)
class Damage:
    """A damaged rectangle of deck: stations from `start` to `end`, offsets from `near` to `far`, canonical."""

    start: float
    end: float
    near: float
    far: float


@dataclass(frozen=True, slots=True)
class Patch:
    """A whole piece of new board: its front edge and driver edge on the deck, its size along and across the coach."""

    station: float
    offset: float
    length: float
    width: float

    @property
    def area(self) -> float:
        """Canonical area."""
        return self.length * self.width


@dataclass(frozen=True, slots=True)
class PatchPlan:
    """Patches front to rear, the joints round them, each once, and their sums; canonical.

    `sheets` counts the whole sheets that they are cut from, each patch from the first size that holds it.
    """

    patches: tuple[Patch, ...]
    joints: tuple[JointLine, ...]
    area: float
    joint_length: float
    sheets: int


class _Box(NamedTuple):
    start: int
    near: int
    end: int
    far: int

    @property
    def area(self) -> int:
        return (self.end - self.start) * (self.far - self.near)


@dataclass(frozen=True, slots=True)
class _Bench:
    length: int
    arc: int
    least: tuple[int, int]  # along and across
    sheets: tuple[tuple[int, int], ...]
    board: float  # price of an area
    joint: float  # price of a length

    def fits(self, box: _Box) -> bool:
        long, wide = sorted((box.end - box.start, box.far - box.near), reverse=True)
        return any(long <= length and wide <= width for length, width in self.sheets)


@lru_cache(maxsize=2048)
def cover_damage(damage: tuple[Damage, ...], deck: Deck, sizes: tuple[SheetSize, ...], rules: LayingRules) -> PatchPlan:
    """The cheapest cover of the damage by whole patches whose seams across the coach land on supports; kept by its arguments.

    Args:
        damage: rectangles, which may overlap; what lies outside of the deck is not looked at.
        deck: with its supports.
        sizes: sheets that patches are cut from; the cheapest area counts as the price of board.
        rules: least piece and price of joint; patches have no courses, and so no stagger.

    Raises:
        LayoutError: what is no deck, sheet, rule or place.

    Source: common practice, none published.
    """
    check_request((deck,), sizes, rules)
    for at, place in enumerate(damage):
        for name in ("start", "end", "near", "far"):
            check_length(getattr(place, name), "place", f"damage/{at}/{name}")
    bench = _bench(deck, sizes, rules)
    boxes = [box for box in (_clipped(place, bench) for place in damage) if box.area > 0]
    lines = _lines(boxes, deck, bench)
    patches = _joined(_stretches(boxes, lines, bench), bench)
    return _told(sorted(patches), deck, bench)


def _bench(deck: Deck, sizes: Sequence[SheetSize], rules: LayingRules) -> _Bench:
    length, arc, least = ticks(deck.length), ticks(deck.arc), ticks(rules.least_piece)
    sheets = tuple((ticks(size.length), ticks(size.width)) for size in sizes)
    board = min(float(size.price) / (a * b) for size, (a, b) in zip(sizes, sheets, strict=True))
    joint = float(rules.joint_price_per_foot) / ticks(3048.0)
    return _Bench(length, arc, (min(least, length), min(least, arc)), sheets, board, joint)


def _clipped(place: Damage, bench: _Bench) -> _Box:
    start, end = min(ticks(place.start), bench.length), min(ticks(place.end), bench.length)
    near, far = min(ticks(place.near), bench.arc), min(ticks(place.far), bench.arc)
    return _Box(start, near, max(start, end), max(near, far))


# Bays -------------------------------------------------------------------------------------------------


def _lines(boxes: Sequence[_Box], deck: Deck, bench: _Bench) -> list[int]:
    """Stations where patches may begin and end, no two nearer than the least piece."""
    least, lines = max(bench.least[0], 1), [0]
    for at in sorted({ticks(station) for station in deck.supports} or _edges(boxes, bench)):
        # On foam a seam too near to the one before, or to the end, moves away from it; a support stays where it is.
        place = at if deck.supports else min(max(at, lines[-1] + least), bench.length - least)
        if place - lines[-1] >= least and bench.length - place >= least:
            lines.append(place)
    return _within_reach([*lines, bench.length], bench)


def _within_reach(lines: Sequence[int], bench: _Bench) -> list[int]:
    """The same with lines between those that no sheet reaches across: a strip is let in there to carry the seam."""
    longest = max(length for length, _ in bench.sheets)
    reached = [lines[0]]
    for start, end in pairwise(lines):
        parts = -(-(end - start) // longest)
        reached += [start + (end - start) * at // parts for at in range(1, parts + 1)]
    return reached


def _edges(boxes: Sequence[_Box], bench: _Bench) -> set[int]:
    """Where damage begins and ends, and so often between that a sheet reaches from each to the next."""
    reach = max(width for _, width in bench.sheets)
    return {at for box in boxes for at in (*range(box.start, box.end, reach), box.end) if at > 0}


def _stretches(boxes: Sequence[_Box], lines: Sequence[int], bench: _Bench) -> list[_Box]:
    """The damaged stretches of every bay, none narrower than the least piece, none too large for a sheet."""
    by_bay: dict[int, list[tuple[int, int]]] = {}
    for box in boxes:
        for bay in range(bisect_right(lines, box.start) - 1, bisect_left(lines, box.end)):
            by_bay.setdefault(bay, []).append(_widened(box.near, box.far, bench))
    found: list[_Box] = []
    for bay, stretches in by_bay.items():
        for near, far in _united(stretches):
            found += _sheet_sized(_Box(lines[bay], near, lines[bay + 1], far), bench)
    return found


def _widened(near: int, far: int, bench: _Bench) -> tuple[int, int]:
    far = max(far, min(near + bench.least[1], bench.arc))
    return min(near, far - bench.least[1]), far


def _united(stretches: Sequence[tuple[int, int]]) -> list[tuple[int, int]]:
    united: list[tuple[int, int]] = []
    for near, far in sorted(stretches):
        if united and near <= united[-1][1]:
            united[-1] = (united[-1][0], max(united[-1][1], far))
        else:
            united.append((near, far))
    return united


def _sheet_sized(box: _Box, bench: _Bench) -> list[_Box]:
    """A stretch of one bay in as few equal parts as sheets allow; a bay is never longer than the longest sheet."""
    for parts in count(1):
        width, more = divmod(box.far - box.near, parts)
        edges = [box.near + at * width + min(at, more) for at in range(parts + 1)]
        cut = [_Box(box.start, near, box.end, far) for near, far in pairwise(edges)]
        if all(bench.fits(part) for part in cut):
            return cut
    raise AssertionError("a part without width fits every sheet")


# Joining ----------------------------------------------------------------------------------------------


def _joined(boxes: list[_Box], bench: _Bench) -> list[_Box]:
    """Patches joined as long as that costs no more, the greatest saving first."""
    kept = sorted(boxes)
    while True:
        found = [way for pair in combinations(kept, 2) if (way := _join(pair, kept, bench)) is not None]
        if not found:
            return kept
        _, joined, gone = min(found, key=lambda way: (way[0], -len(way[2]), way[1]))
        kept = sorted([joined, *(box for box in kept if box not in gone)])


def _join(pair: tuple[_Box, _Box], kept: Sequence[_Box], bench: _Bench) -> tuple[float, _Box, frozenset[_Box]] | None:
    """What joining two patches saves (below 0), with every other patch that the joined one meets; None where it costs."""
    joined, gone = _around(*pair), frozenset(pair)
    while more := [box for box in kept if box not in gone and _meet(box, joined)]:
        gone |= frozenset(more)
        for box in more:
            joined = _around(joined, box)
    if not bench.fits(joined):
        return None
    rest = [box for box in kept if box not in gone]
    joint = _own_joint(joined, bench) - sum(_own_joint(box, bench) for box in gone)
    joint += sum(_shared(one, other) for one, other in combinations(sorted(gone), 2))
    joint += sum(_shared(box, other) for box in gone for other in rest) - sum(_shared(joined, other) for other in rest)
    costs = bench.board * (joined.area - sum(box.area for box in gone)) + bench.joint * joint
    # A millionth of the smallest coin is nothing: floats must not keep two patches apart that belong together.
    return (costs, joined, gone) if costs <= 1e-8 else None


def _around(one: _Box, other: _Box) -> _Box:
    return _Box(min(one.start, other.start), min(one.near, other.near), max(one.end, other.end), max(one.far, other.far))


def _meet(one: _Box, other: _Box) -> bool:
    return one.start < other.end and other.start < one.end and one.near < other.far and other.near < one.far


def _own_joint(box: _Box, bench: _Bench) -> int:
    """Length of a patch's edges that do not lie on the edge of the deck."""
    across = (box.far - box.near) * ((box.start > 0) + (box.end < bench.length))
    return across + (box.end - box.start) * ((box.near > 0) + (box.far < bench.arc))


def _shared(one: _Box, other: _Box) -> int:
    """Length of the edge that two patches have in common."""
    if one.start == other.end or one.end == other.start:
        return max(0, min(one.far, other.far) - max(one.near, other.near))
    if one.near == other.far or one.far == other.near:
        return max(0, min(one.end, other.end) - max(one.start, other.start))
    return 0


# Telling ----------------------------------------------------------------------------------------------


def _told(boxes: Sequence[_Box], deck: Deck, bench: _Bench) -> PatchPlan:
    patches = tuple(
        Patch(canonical(box.start), canonical(box.near), canonical(box.end - box.start), canonical(box.far - box.near))
        for box in boxes
    )
    joints = _joint_lines(boxes, deck, bench)
    return PatchPlan(
        patches=patches,
        joints=joints,
        area=sum(patch.area for patch in patches),
        joint_length=sum(line.end - line.start for line in joints),
        sheets=_sheets(boxes, bench),
    )


def _sheets(boxes: Sequence[_Box], bench: _Bench) -> int:
    """Whole sheets, each patch from the first size that holds it."""
    sides: dict[tuple[int, int], list[tuple[int, int]]] = {}
    for box in boxes:
        size = next(size for size in bench.sheets if replace(bench, sheets=(size,)).fits(box))
        sides.setdefault(size, []).append((box.end - box.start, box.far - box.near))
    return sum(sheets_for(pieces, size) for size, pieces in sides.items())


def _joint_lines(boxes: Sequence[_Box], deck: Deck, bench: _Bench) -> tuple[JointLine, ...]:
    """Every edge of a patch that is not the deck's, once where two patches share it."""
    edges: dict[tuple[bool, int], list[tuple[int, int]]] = {}
    for box in boxes:
        for at in {box.start, box.end} - {0, bench.length}:
            edges.setdefault((True, at), []).append((box.near, box.far))
        for at in {box.near, box.far} - {0, bench.arc}:
            edges.setdefault((False, at), []).append((box.start, box.end))
    return tuple(
        JointLine(deck.label, across, canonical(at), canonical(start), canonical(end), ends=False)
        for (across, at), stretches in sorted(edges.items())
        for start, end in _united(stretches)
    )
