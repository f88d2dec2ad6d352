"""Where do pieces, cuts, joints and off-cuts of a finished search lie? Its choices are followed again, with places."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal

from quotes.calc.sheets.decks import Deck, SheetSize, canonical
from quotes.calc.sheets.families import Division
from quotes.calc.sheets.laying import Choice, Region, State, left_over, trail_of
from quotes.calc.sheets.plan import AreaBound, Course, Cut, JointLine, Offcut, PlacedPiece, SheetPlan


@dataclass(slots=True)
class _Left:
    """What is left of a sheet, in micrometres."""

    sheet: int
    x: int
    y: int
    region: Region


@dataclass(slots=True)
class _Shop:
    """Sheets opened so far and what is left of them, in the order of cutting."""

    sheets: list[int] = field(default_factory=list)  # place of each sheet's size
    left: list[_Left] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)
    pieces: list[PlacedPiece] = field(default_factory=list)


def drawn(decks: Sequence[Deck], sizes: Sequence[SheetSize], last: State, bound: AreaBound) -> SheetPlan:
    """The plan of a finished search.

    Args:
        decks: of the request.
        sizes: of the request.
        last: the last state of the search.
        bound: of all decks by area.
    """
    shop, choices = _Shop(), trail_of(last)
    chosen = {choice.division.deck: choice.division for choice in choices}
    for choice in choices:
        _cut(choice, decks[choice.division.deck], shop)
    order = {deck.label: at for at, deck in enumerate(decks)}
    pieces = sorted(shop.pieces, key=lambda piece: (order[piece.deck], piece.course, piece.station, piece.offset))
    joints = tuple(line for at in sorted(chosen) for line in _joints(decks[at], chosen[at], pieces))
    counts = tuple((size.slug, shop.sheets.count(at)) for at, size in enumerate(sizes) if at in shop.sheets)
    cost = sum((sizes[at].price for at in shop.sheets), Decimal(0))
    bought = sum(sizes[at].length * sizes[at].width for at in shop.sheets)
    return SheetPlan(
        sheets=tuple(sizes[at].slug for at in shop.sheets),
        counts=counts,
        cost=cost,
        courses=tuple(course for at in sorted(chosen) for course in _courses(decks[at], chosen[at])),
        pieces=tuple(pieces),
        cuts=tuple(sorted(shop.cuts, key=lambda cut: cut.sheet)),
        joints=joints,
        joint_length=sum(line.end - line.start for line in joints),
        offcuts=tuple(_offcut(left) for left in sorted(shop.left, key=lambda left: (left.sheet, left.x, left.y))),
        waste_share=1.0 - sum(piece.length * piece.width for piece in pieces) / bought if bought else 0.0,
        bound=bound,
        least_possible=cost == bound.cost,
    )


def _cut(choice: Choice, deck: Deck, shop: _Shop) -> None:
    if choice.new >= 0:
        shop.sheets.append(choice.new)
        taken = _Left(len(shop.sheets), 0, 0, choice.region)
    else:
        taken = next(left for left in shop.left if left.region == choice.region)
        shop.left.remove(taken)
    shop.cuts += _cuts(choice, taken)
    shop.left += [_Left(taken.sheet, taken.x + x, taken.y + y, region) for x, y, region in left_over(choice)]
    shop.pieces.append(_placed(choice, deck, taken))


def _cuts(choice: Choice, taken: _Left) -> Iterator[Cut]:
    (length, width), x, y = taken.region, taken.x, taken.y
    over = choice.width if not choice.crosses_first else width
    beside = choice.length if choice.crosses_first else length
    crossing = Cut(taken.sheet, True, canonical(x + choice.length), canonical(y), canonical(y + over))
    along = Cut(taken.sheet, False, canonical(y + choice.width), canonical(x), canonical(x + beside))
    made = [(crossing, choice.length < length), (along, choice.width < width)]
    for cut, needed in made if choice.crosses_first else made[::-1]:
        if needed:
            yield cut


def _placed(choice: Choice, deck: Deck, taken: _Left) -> PlacedPiece:
    division = choice.division
    depth = division.depths[choice.course]
    place = sum(division.depths[: choice.course])
    across = division.direction == "across"
    station, offset = (place, choice.start) if across else (choice.start, place)
    length, width = (depth, choice.run) if across else (choice.run, depth)
    return PlacedPiece(
        deck=deck.label,
        course=choice.course + 1,
        station=canonical(station),
        offset=canonical(offset),
        length=canonical(length),
        width=canonical(width),
        sheet=taken.sheet,
        sheet_x=canonical(taken.x),
        sheet_y=canonical(taken.y),
        sheet_length=canonical(choice.length),
        sheet_width=canonical(choice.width),
        from_offcut=choice.new < 0,
    )


def _courses(deck: Deck, division: Division) -> Iterator[Course]:
    at = 0
    for number, depth in enumerate(division.depths, 1):
        yield Course(deck.label, number, division.direction, canonical(at), canonical(depth))
        at += depth


def _joints(deck: Deck, division: Division, pieces: Sequence[PlacedPiece]) -> Iterator[JointLine]:
    """The seams between courses, then the ends that meet within each."""
    across = division.direction == "across"
    courses = list(_courses(deck, division))
    for course in courses[1:]:
        yield JointLine(deck.label, across, course.start, 0.0, canonical(division.run), ends=False)
    for piece in pieces:
        at = piece.offset if across else piece.station
        if piece.deck == deck.label and at > 0.0:
            course = courses[piece.course - 1]
            yield JointLine(deck.label, not across, at, course.start, course.start + course.depth, ends=True)


def _offcut(left: _Left) -> Offcut:
    length, width = left.region
    return Offcut(left.sheet, canonical(left.x), canonical(left.y), canonical(length), canonical(width))
