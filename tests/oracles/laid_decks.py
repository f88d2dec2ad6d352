"""Whether a plan of sheets can be carried out, found out from its pieces alone: places, sizes, sheets and cuts.

It knows nothing of how the plan was made. All lengths are taken to the micrometre, in which a plan is exact.
"""

from collections.abc import Iterable, Sequence
from itertools import combinations, pairwise

from quotes.calc.sheets import Deck, LayingRules, PlacedPiece, SheetPlan, SheetSize

Box = tuple[int, int, int, int]  # two corners: x, y, x, y


def check_plan(plan: SheetPlan, decks: Sequence[Deck], sizes: Sequence[SheetSize], rules: LayingRules) -> None:
    """Asserts everything that a plan promises of its layout."""
    for deck in decks:
        pieces = [piece for piece in plan.pieces if piece.deck == deck.label]
        _tiles(deck, pieces)
        _least(deck, pieces, rules)
        _courses(deck, pieces, plan, rules)
        _supported(deck, pieces)
    _sheets(plan, sizes, rules)
    _sums(plan, decks, sizes)


def um(length: float) -> int:
    return round(length * 100)


def _on_deck(piece: PlacedPiece) -> Box:
    x, y = um(piece.station), um(piece.offset)
    return x, y, x + um(piece.length), y + um(piece.width)


def _on_sheet(piece: PlacedPiece) -> Box:
    x, y = um(piece.sheet_x), um(piece.sheet_y)
    return x, y, x + um(piece.sheet_length), y + um(piece.sheet_width)


def _apart(one: Box, other: Box) -> bool:
    return one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def _tiles(deck: Deck, pieces: Sequence[PlacedPiece]) -> None:
    boxes = [_on_deck(piece) for piece in pieces]
    length, arc = um(deck.length), um(deck.arc)
    assert all(x0 >= 0 and y0 >= 0 and x1 <= length and y1 <= arc for x0, y0, x1, y1 in boxes)
    assert all(_apart(one, other) for one, other in combinations(boxes, 2)), "two pieces overlap"
    assert sum(map(_area, boxes)) == length * arc, "the deck is not covered"


def _least(deck: Deck, pieces: Sequence[PlacedPiece], rules: LayingRules) -> None:
    for piece in pieces:
        assert um(piece.length) >= min(um(rules.least_piece), um(deck.length))
        assert um(piece.width) >= min(um(rules.least_piece), um(deck.arc))


def _courses(deck: Deck, pieces: Sequence[PlacedPiece], plan: SheetPlan, rules: LayingRules) -> None:
    """Courses run one way over the whole deck, one behind the other, and the ends of neighbours stand apart."""
    if not pieces:
        return
    direction = plan.direction(deck.label)
    assert direction in deck.directions
    across = direction == "across"
    courses: dict[int, list[Box]] = {}
    for piece in pieces:
        x0, y0, x1, y1 = _on_deck(piece)
        # Turned so that a course always runs in x.
        courses.setdefault(piece.course, []).append((y0, x0, y1, x1) if across else (x0, y0, x1, y1))
    assert sorted(courses) == list(range(1, len(courses) + 1))
    ends: list[list[int]] = []
    behind = 0
    for number in sorted(courses):
        laid = sorted(courses[number])
        assert {box[1] for box in laid} == {behind}, "a course does not begin where the one before ends"
        assert len({box[3] for box in laid}) == 1, "a course has two depths"
        behind = laid[0][3]
        ends.append([box[0] for box in laid[1:]])
    for one, other in pairwise(ends):
        assert all(abs(a - b) >= um(rules.stagger) for a in one for b in other), "ends of neighbours stand too near"


def _supported(deck: Deck, pieces: Sequence[PlacedPiece]) -> None:
    if not deck.supports:
        return
    carried = {um(station) for station in deck.supports} | {0, um(deck.length)}
    assert {edge for piece in pieces for edge in _on_deck(piece)[::2]} <= carried, "a seam runs beside its support"


def _sheets(plan: SheetPlan, sizes: Sequence[SheetSize], rules: LayingRules) -> None:
    by_slug = {size.slug: size for size in sizes}
    for number, slug in enumerate(plan.sheets, 1):
        whole = (0, 0, um(by_slug[slug].length), um(by_slug[slug].width))
        pieces = [piece for piece in plan.pieces if piece.sheet == number]
        assert pieces, "a sheet is bought for nothing"
        boxes = [_on_sheet(piece) for piece in pieces]
        assert all(_apart(one, other) for one, other in combinations(boxes, 2))
        assert can_be_cut(whole, boxes), "no cuts from edge to edge part these pieces"
        offcuts = [
            (um(left.x), um(left.y), um(left.x) + um(left.length), um(left.y) + um(left.width))
            for left in plan.offcuts
            if left.sheet == number
        ]
        assert _cut_up(plan, number, whole) == sorted([*boxes, *offcuts]), "the cuts do not give these pieces and off-cuts"
        for piece in pieces:
            lies, cut = (um(piece.length), um(piece.width)), (um(piece.sheet_length), um(piece.sheet_width))
            along = plan.direction(piece.deck) == "along"
            straight = lies == (cut if along else cut[::-1])
            assert straight or (rules.turned and lies == (cut[::-1] if along else cut))
            assert piece.from_offcut == (cut != whole[2:] and piece != _first(plan, number))


def _first(plan: SheetPlan, number: int) -> PlacedPiece:
    """The piece for which a sheet was opened: it lies in the sheet's corner."""
    return next(p for p in plan.pieces if p.sheet == number and (p.sheet_x, p.sheet_y) == (0.0, 0.0))


def can_be_cut(room: Box, boxes: Sequence[Box]) -> bool:
    """Whether cuts from edge to edge can part the boxes: tries every line along an edge, then each side for itself."""
    if all(x0 >= room[0] and y0 >= room[1] and x1 <= room[2] and y1 <= room[3] for x0, y0, x1, y1 in boxes) is False:
        return False
    if len(boxes) <= 1:
        return True
    x0, y0, x1, y1 = room
    for at in {edge for box in boxes for edge in (box[0], box[2])} - {x0, x1}:
        if all(box[2] <= at or box[0] >= at for box in boxes):
            front, rear = [box for box in boxes if box[2] <= at], [box for box in boxes if box[0] >= at]
            if front and rear:
                return can_be_cut((x0, y0, at, y1), front) and can_be_cut((at, y0, x1, y1), rear)
    for at in {edge for box in boxes for edge in (box[1], box[3])} - {y0, y1}:
        if all(box[3] <= at or box[1] >= at for box in boxes):
            low, high = [box for box in boxes if box[3] <= at], [box for box in boxes if box[1] >= at]
            if low and high:
                return can_be_cut((x0, y0, x1, at), low) and can_be_cut((x0, at, x1, y1), high)
    return False


def _cut_up(plan: SheetPlan, number: int, whole: Box) -> list[Box]:
    """What the cuts of one sheet leave, made one after the other, each from edge to edge of one part."""
    parts = [whole]
    for cut in plan.cuts:
        if cut.sheet != number:
            continue
        at, start, end = um(cut.at), um(cut.start), um(cut.end)
        lo, hi = (0, 2) if cut.crosses else (1, 3)
        other = 1 - lo
        hit = [part for part in parts if part[lo] < at < part[hi] and (part[other], part[other + 2]) == (start, end)]
        assert len(hit) == 1, "a cut does not run from edge to edge of one part"
        parts.remove(hit[0])
        first, second = list(hit[0]), list(hit[0])
        first[hi] = second[lo] = at
        parts += [(first[0], first[1], first[2], first[3]), (second[0], second[1], second[2], second[3])]
    return sorted(parts)


def _sums(plan: SheetPlan, decks: Iterable[Deck], sizes: Sequence[SheetSize]) -> None:
    by_slug = {size.slug: size for size in sizes}
    assert dict(plan.counts) == {slug: plan.sheets.count(slug) for slug in plan.sheets}
    assert plan.cost == sum(by_slug[slug].price for slug in plan.sheets)
    around = sum(2 * (um(piece.length) + um(piece.width)) for piece in plan.pieces)
    edge = sum(2 * (um(deck.length) + um(deck.arc)) for deck in decks if um(deck.length) * um(deck.arc))
    # Every joint is an edge of the pieces at both its sides; the rest of their edges is the edge of the decks.
    assert um(plan.joint_length) == (around - edge) // 2
    assert abs(sum(line.end - line.start for line in plan.joints) - plan.joint_length) < 1e-6
    bought = sum(by_slug[slug].length * by_slug[slug].width for slug in plan.sheets)
    laid = sum(piece.length * piece.width for piece in plan.pieces)
    assert abs(plan.waste_share - (1.0 - laid / bought if bought else 0.0)) < 1e-9
    assert plan.bound.cost <= plan.cost
    assert plan.least_possible == (plan.bound.cost == plan.cost)
