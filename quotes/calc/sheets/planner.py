"""Which sheets does this roof take, how are they cut, and where does every piece lie?

The decks of one board are laid together, the largest first, so that what one leaves over serves another. Each deck is divided
into courses in the ways of `families.py`, across and along the coach, and each division is laid from new sheets and off-cuts as
`laying.py` says, by cuts from edge to edge only. The cheapest whole plan is taken, sheets, their freight and joints together;
of those the one with the fewest sheets, then the least joint length, then courses across. Sizes that come at a freight are
tried with and without. The search is not exhaustive: it tries those divisions and follows a fixed number of layouts side by
side. Only where the price of the sheets meets the bound by area is a plan called the least possible.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from functools import lru_cache
from itertools import combinations

from costbase.calc.units import floor_tolerant
from quotes.calc.sheets.covering import cover
from quotes.calc.sheets.decks import Deck, LayingRules, LayoutError, SheetSize, check_request, ticks
from quotes.calc.sheets.drawn import drawn
from quotes.calc.sheets.families import Division, divisions
from quotes.calc.sheets.laying import KEPT, Bench, State, Stock, Worth, begin, lay, least_joint, trail_of, worth
from quotes.calc.sheets.plan import AreaBound, SheetPlan

# Prices have six decimals at most; as whole numbers they add up exactly and fast.
_PRICE_PARTS = 10**6
_FOOT = 304_800  # micrometres
# Off-cuts below 5 mm are not counted on where no least piece is said: the search would follow slivers.
_SLIVER = 5000
# In the choice of what to follow so many feet of joint count as much as a sheet, at the least: a search that did not mind
# joints would lay patchwork.
_GUIDE = 8
_LEAST_KEPT = 3
# A board comes in two or three sizes; of more that each have a freight, so many are left out at once.
_MOST_BROUGHT = 3


@lru_cache(maxsize=2048)
def plan_sheets(decks: tuple[Deck, ...], sizes: tuple[SheetSize, ...], rules: LayingRules) -> SheetPlan:
    """The cheapest layout that is found for some decks of one board; kept by its arguments.

    Args:
        decks: at least one, each with a label of its own; a deck without length or arc takes nothing.
        sizes: the same board in one or several sizes, with prices in one currency.
        rules: how it is laid.

    Returns:
        Every piece in its place, canonical lengths; the pieces tile each deck exactly, to a micrometre.

    Raises:
        LayoutError: what is no deck, sheet or rule, or a deck that these sizes cannot cover by these rules.
    """
    check_request(decks, sizes, rules)
    areas = [ticks(deck.length) * ticks(deck.arc) for deck in decks]
    order = sorted((at for at, area in enumerate(areas) if area), key=lambda at: -areas[at])
    stuck = 0
    found: list[tuple[Worth, int, tuple[SheetSize, ...], State]] = []
    for selected in _selections(sizes):
        bench = _bench(selected, rules, sum(areas))
        best = _search([divisions(at, decks[at], selected, rules) for at in order], bench)
        if isinstance(best, State):
            found.append((_with_freight(best, bench), len(found), selected, best))
        elif len(selected) == len(sizes):
            stuck = order[best.deck]
    if not found:
        raise LayoutError(_IMPOSSIBLE.format(decks[stuck].label), field=f"decks/{stuck}", value=decks[stuck].label)
    _, _, selected, best = min(found, key=lambda way: way[:2])
    return drawn(decks, selected, best, _bound(_bench(sizes, rules, sum(areas))))


def _selections(sizes: tuple[SheetSize, ...]) -> Iterator[tuple[SheetSize, ...]]:
    """All sizes, and the same without each choice of those that come at a freight; always with one size at least."""
    brought = [size for size in sizes if size.freight]
    for count in range(min(len(brought), _MOST_BROUGHT) + 1):
        for without in combinations(brought, count):
            selected = tuple(size for size in sizes if size not in without)
            if selected:
                yield selected


def _with_freight(state: State, bench: Bench) -> Worth:
    """What a finished layout is compared by, with the freight of every size that it takes."""
    new = {choice.new for choice in trail_of(state) if choice.new >= 0}
    cost, sheets, ends = worth(state, bench)
    return cost + sum(bench.sizes[at].freight for at in new), sheets, ends


def _bound(bench: Bench) -> AreaBound:
    return AreaBound(bench.cover.count(bench.area), Decimal(bench.cover.cost(bench.area)) / (_PRICE_PARTS * _FOOT))


def _bench(sizes: Sequence[SheetSize], rules: LayingRules, area: int) -> Bench:
    stocks = tuple(Stock(ticks(s.length), ticks(s.width), _scaled(s.price), _scaled(s.freight)) for s in sizes)
    joint_price = _parts(rules.joint_price_per_foot)
    return Bench(
        sizes=stocks,
        stagger=ticks(rules.stagger),
        turned=rules.turned,
        usable=max(ticks(rules.least_piece), _SLIVER),
        joint_price=joint_price,
        joint_guide=max(joint_price, min(stock.price for stock in stocks) // (_GUIDE * _FOOT)),
        longest=max(stock.length for stock in stocks),
        area=area,
        cover=cover([(stock.length * stock.width, stock.price) for stock in stocks], area),
    )


def _parts(amount: Decimal) -> int:
    return int(amount * _PRICE_PARTS)


def _scaled(amount: Decimal) -> int:
    return _parts(amount) * _FOOT


@dataclass(frozen=True, slots=True)
class _Stuck:
    """Nothing was found: the place of the first deck that cannot be laid, in the order of laying."""

    deck: int


def _search(ways: Sequence[tuple[Division, ...]], bench: Bench) -> State | _Stuck:
    """The best plan of all decks.

    First one layout is followed, which gives a plan to beat, then as many as are kept. Where joints cost nothing and the sheets
    are not the least possible yet, once more without minding joints: the last sheet may be saved by patchwork.
    """
    found = _pass(ways, bench, None, 1)
    best = found if isinstance(found, State) else None
    # Several decks share the effort, since each is laid after every layout that is kept of those before it.
    kept = max(_LEAST_KEPT, floor_tolerant(KEPT / max(len(ways), 1)))
    found = _pass(ways, bench, best, kept)
    if isinstance(found, State):
        best = found
    if best is not None and not bench.joint_price and best.cost > bench.cover.cost(bench.area):
        again = _pass(ways, replace(bench, joint_guide=0), best, kept)
        best = again if isinstance(again, State) else best
    return best if best is not None else found


def _pass(ways: Sequence[tuple[Division, ...]], bench: Bench, beaten: State | None, kept: int) -> State | _Stuck:
    """The best plan that is better than the one to beat, following so many layouts deck by deck."""
    followed, best = [begin(bench)], beaten
    least = [min((least_joint(way, bench) for way in divided), default=0) for divided in ways]
    for at, divided in enumerate(ways):
        last, found = at == len(ways) - 1, list[State]()
        for division in divided:
            ends = lay(division, followed, bench, worth(best, bench) if best is not None else None, kept, sum(least[at + 1 :]))
            found += ends
            if last and ends:
                best = ends[0]
        if not found:
            return _Stuck(at)
        followed = sorted(found, key=lambda state: state[:4])[:kept]
    return best if best is not None else followed[0]


_IMPOSSIBLE = (
    "no layout of deck '{}' keeps the stagger, the least piece and the supports with these sheets; "
    "enter a smaller stagger or least piece, or a larger sheet"
)
