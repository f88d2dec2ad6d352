"""How is one division of a deck laid, piece by piece, from new sheets and off-cuts?

Courses are laid in order and each from its start. For every piece there are a few choices: which off-cut or new sheet it is cut
from and which way round, how long it is (as long as goes, or so that the rest of the course is whole sheets or fills up with an
off-cut), and which of two cuts comes first, which decides what is left over. All choices are followed side by side and, after
each piece, only the best few layouts are kept: those that have committed the least money to board that is spoilt. What is kept
is a fixed number, never a time, so that a plan is the same on every machine.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from quotes.calc.sheets.covering import Cover
from quotes.calc.sheets.families import Division

# Layouts that are followed side by side: twice as many took twice as long and found no cheaper sheets.
KEPT = 8

Region = tuple[int, int]  # what is left of a sheet: along its length, along its width


class Stock(NamedTuple):
    """A size of sheet in whole micrometres and millionths of the currency."""

    length: int
    width: int
    price: int
    freight: int  # of any number of sheets; weighed when layouts are finished


class Choice(NamedTuple):
    """How one piece is cut: from which region or new sheet, its size there, and whether the first cut crosses its length."""

    division: Division
    course: int
    start: int
    run: int
    new: int  # which size of sheet is opened, -1 for an off-cut
    region: Region
    length: int  # along the sheet's length
    width: int
    crosses_first: bool


Trail = tuple["Trail", Choice] | None


class State(NamedTuple):
    """A layout as far as it has come; compared by what it will come to at least, then by sheets and joints."""

    least: int  # price with joints that no continuation goes below
    score: float  # the same with sheets by the area instead of whole ones: tells apart what is bound alike
    sheets: int
    ends: int  # length of the joints between ends so far, and of the seams of every division begun
    cost: int
    at: int  # where the course has come to
    course: int
    before: tuple[int, ...]  # where ends met in the course before
    here: tuple[int, ...]
    stock: tuple[Region, ...]
    sound: int  # area of the off-cuts that are no scrap
    left: int  # area that is not laid yet, of all decks
    trail: Trail


@dataclass(frozen=True, slots=True)
class Bench:
    """What stays the same over a search: sizes, rules in micrometres, and what areas cost at least.

    Sheets are priced in millionths of the currency times the micrometres of a foot, so that a micrometre of joint costs
    `joint_price` millionths of the currency a foot and all sums are whole.
    """

    sizes: tuple[Stock, ...]
    stagger: int
    turned: bool
    usable: int  # an off-cut with a shorter side is scrap
    joint_price: int
    joint_guide: int  # what a foot of joint counts for in the choice of what is followed: never nothing
    longest: int  # run of the longest sheet
    area: int  # of all decks
    cover: Cover


Worth = tuple[int, int, int]  # price with joints, sheets, joints: what plans are compared by


def worth(state: State, bench: Bench) -> Worth:
    """What a finished layout is compared by."""
    return state.cost + bench.joint_price * state.ends, state.sheets, state.ends


def trail_of(state: State) -> list[Choice]:
    """Every choice of a layout in the order in which it was made."""
    choices: list[Choice] = []
    trail = state.trail
    while trail is not None:
        trail, choice = trail
        choices.append(choice)
    return choices[::-1]


def begin(bench: Bench) -> State:
    """Nothing laid and nothing bought."""
    return State(0, 0.0, 0, 0, 0, 0, 0, (), (), (), 0, bench.area, None)


def lay(division: Division, start: Sequence[State], bench: Bench, worst: Worth | None, kept: int, later: int) -> list[State]:
    """The best layouts of a division after those of the decks before it.

    Args:
        division: of one deck.
        start: layouts of the decks before.
        bench: sizes and rules.
        worst: of a whole plan that is known; what cannot be better is dropped. None where none is.
        kept: how many layouts are followed side by side.
        later: length of the joints that the decks after it have at least.

    Returns:
        At most `kept` of them, the best first; none where the rules allow none, or none is better.
    """
    followed = [s._replace(at=0, course=0, before=(), here=(), ends=s.ends + division.seams) for s in start]
    ahead = _ends_ahead(division, bench, later)
    done: list[State] = []
    while followed:
        following: dict[tuple[object, ...], State] = {}
        for state in followed:
            for choice in _choices(state, division, bench):
                after = _after(state, choice, division, bench, ahead)
                if worst is not None and (after.least, after.sheets, after.ends) >= worst:
                    continue
                key = (after.course, after.at, after.before, after.here, after.stock)
                if key not in following or after[:4] < following[key][:4]:
                    following[key] = after
        best = sorted(following.values(), key=_compared)[:kept]
        done += [s for s in best if s.course == len(division.depths)]
        followed = [s for s in best if s.course < len(division.depths)]
    return sorted(done, key=_compared)[:kept]


def _compared(state: State) -> tuple[int, float, int, int]:
    return state[:4]


def least_joint(division: Division, bench: Bench) -> int:
    """Length of the joints that a division has at least: its seams, and the ends that no sheet is long enough to avoid."""
    return division.seams + _ends_ahead(division, bench, 0)[0]


def _ends_ahead(division: Division, bench: Bench, later: int) -> tuple[int, ...]:
    """Length of the joints that the courses from each on, and the decks after them, have at least; one entry after the last."""
    each = -(-division.run // bench.longest) - 1
    ahead = [later]
    for depth in reversed(division.depths):
        ahead.append(ahead[-1] + each * depth)
    return tuple(reversed(ahead))


def _ends_at_least(state: State, division: Division, bench: Bench, ahead: tuple[int, ...]) -> int:
    if state.at == 0:
        return state.ends + ahead[state.course]
    more = -(-(division.run - state.at) // bench.longest) - 1
    return state.ends + more * division.depths[state.course] + ahead[state.course + 1]


# Choices ----------------------------------------------------------------------------------------------


def _choices(state: State, division: Division, bench: Bench) -> Iterator[Choice]:
    depth, rest = division.depths[state.course], division.run - state.at
    suited = _suited(state, division, bench)
    for new, region, longest, lengthwise in _sources(state, depth, bench):
        for run in [rest] if longest >= rest else _runs(state, division, bench, longest, suited):
            length, width = (run, depth) if lengthwise else (depth, run)
            cuts_both = length < region[0] and width < region[1]
            for crosses_first in (True, False) if cuts_both else (length < region[0],):
                yield Choice(division, state.course, state.at, run, new, region, length, width, crosses_first)


def _sources(state: State, depth: int, bench: Bench) -> Iterator[tuple[int, Region, int, bool]]:
    """Off-cuts and new sheets that are deep enough, with the longest piece that comes of them, lengthwise or turned."""
    for region in dict.fromkeys(state.stock):
        yield from _ways_round(-1, region, depth, turned=bench.turned)
    for new, size in enumerate(bench.sizes):
        yield from _ways_round(new, (size.length, size.width), depth, turned=bench.turned)


def _ways_round(new: int, region: Region, depth: int, *, turned: bool) -> Iterator[tuple[int, Region, int, bool]]:
    length, width = region
    if width >= depth:
        yield new, region, length, True
    if turned and new < 0 and length >= depth:
        yield new, region, width, False


def _runs(state: State, division: Division, bench: Bench, longest: int, suited: Sequence[int]) -> list[int]:
    """Lengths of a piece that leave the course a way to its end: the longest, and those that suit what may follow."""
    last = _stop_before(state.at + longest, state, division, bench)
    if last is None:
        return []
    return [last - state.at, *(stop - state.at for stop in suited if stop < last)]


def _suited(state: State, division: Division, bench: Bench) -> list[int]:
    """Places to end a piece from which the rest of the course is whole sheets, or the run of an off-cut."""
    found: set[int] = set()
    for target in _targets(state, division, bench):
        for stop in (_stop_before(target, state, division, bench), _stop_after(target, state, division, bench)):
            if stop is not None:
                found.add(stop)
    return sorted(found, reverse=True)


def _targets(state: State, division: Division, bench: Bench) -> set[int]:
    depth, end = division.depths[state.course], division.run
    found: set[int] = set()
    for size in bench.sizes:
        if size.width >= depth:
            found.add(end - (end - state.at) // size.length * size.length)
            if state.at == 0 and state.before:
                found.add(size.length // 2)
    for length, width in state.stock:
        if width >= depth:
            found.add(end - length)
        if bench.turned and length >= depth:
            found.add(end - width)
    return {target for target in found if state.at < target < end}


def _stop_before(at: int, state: State, division: Division, bench: Bench) -> int | None:
    """The last place at or before `at` where this piece may end."""
    least = division.least[0]
    at = min(at, division.run - max(least, 1))
    while at >= state.at + max(least, 1):
        stop = at
        if division.stops is not None:
            index = bisect_right(division.stops, stop)
            if not index:
                return None
            stop = division.stops[index - 1]
        stop = min([stop, *(end - bench.stagger for end in state.before if abs(stop - end) < bench.stagger)])
        if stop == at:
            return stop
        at = stop
    return None


def _stop_after(at: int, state: State, division: Division, bench: Bench) -> int | None:
    """The first place at or after `at` where this piece may end."""
    least = division.least[0]
    at = max(at, state.at + max(least, 1))
    while at <= division.run - max(least, 1):
        stop = at
        if division.stops is not None:
            index = bisect_left(division.stops, stop)
            if index == len(division.stops):
                return None
            stop = division.stops[index]
        stop = max([stop, *(end + bench.stagger for end in state.before if abs(stop - end) < bench.stagger)])
        if stop == at:
            return stop
        at = stop
    return None


# After a choice ---------------------------------------------------------------------------------------


def left_over(choice: Choice) -> tuple[tuple[int, int, Region], ...]:
    """What a piece leaves of its region: corner from the region's corner, and size; nothing without area.

    A cut that crosses the length first leaves a strip as wide as the region beside the piece, and what stands over the piece;
    the other way round it leaves a strip as long as the region.
    """
    (length, width), crosses = choice.region, choice.crosses_first
    beside = (choice.length, 0, (length - choice.length, width if crosses else choice.width))
    over = (0, choice.width, (choice.length if crosses else length, width - choice.width))
    return tuple(part for part in (beside, over) if part[2][0] > 0 and part[2][1] > 0)


def _after(state: State, choice: Choice, division: Division, bench: Bench, ahead: tuple[int, ...]) -> State:
    stock, sound, usable = list(state.stock), state.sound, bench.usable
    cost, sheets = state.cost, state.sheets
    if choice.new < 0:
        stock.remove(choice.region)
        sound -= _sound(choice.region, usable)
    else:
        cost, sheets = cost + bench.sizes[choice.new].price, sheets + 1
    for _, _, region in left_over(choice):
        stock.append(region)
        sound += _sound(region, usable)
    stock.sort()
    left, at, trail = state.left - choice.length * choice.width, state.at + choice.run, (state.trail, choice)
    if at == division.run:
        after = State(0, 0.0, sheets, state.ends, cost, 0, state.course + 1, state.here, (), tuple(stock), sound, left, trail)
    else:
        ends, here = state.ends + division.depths[state.course], (*state.here, at)
        after = State(0, 0.0, sheets, ends, cost, at, state.course, state.before, here, tuple(stock), sound, left, trail)
    missing, ends = max(0, left - sound), _ends_at_least(after, division, bench, ahead)
    return after._replace(
        least=cost + bench.joint_price * ends + bench.cover.cost(missing),
        score=cost + bench.joint_guide * ends + bench.cover.rate * missing,
    )


def _sound(region: Region, usable: int) -> int:
    length, width = region
    return length * width if length >= usable and width >= usable else 0
