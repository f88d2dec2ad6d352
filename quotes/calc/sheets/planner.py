"""Which sheets does this roof take, how are they cut, and where does every piece lie?

The decks of one board are laid together, the largest first, so that what one leaves over serves another. Each deck is divided
into courses in the ways of `families.py`, across and along the coach, and each division is laid from new sheets and off-cuts as
`laying.py` says, by cuts from edge to edge only. The cheapest whole plan is taken, sheets and joints together; of those the one
with the fewest sheets, then the least joint length, then courses across. The search is not exhaustive: it tries those divisions
and follows a fixed number of layouts side by side. Only where the price of the sheets meets the bound by area is a plan called
the least possible.
"""

from collections.abc import Sequence
from dataclasses import replace
from decimal import Decimal
from functools import lru_cache

from quotes.calc.sheets.covering import cover
from quotes.calc.sheets.decks import Deck, LayingRules, LayoutError, SheetSize, check_request, ticks
from quotes.calc.sheets.drawn import drawn
from quotes.calc.sheets.families import Division, divisions
from quotes.calc.sheets.laying import KEPT, Bench, State, Stock, begin, lay, worth
from quotes.calc.sheets.plan import AreaBound, SheetPlan

# Prices have six decimals at most; as whole numbers they add up exactly and fast.
_PRICE_PARTS = 10**6
_FOOT = 304_800  # micrometres
# Off-cuts below 5 mm are not counted on where no least piece is said: the search would follow slivers.
_SLIVER = 5000
# In the choice of what to follow so many feet of joint count as much as a sheet, at the least: a search that did not mind
# joints would lay patchwork.
_GUIDE = 8


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
    bench = _bench(sizes, rules, sum(areas))
    order = sorted((at for at, area in enumerate(areas) if area), key=lambda at: -areas[at])
    followed = [begin(bench)]
    for at in order:
        ways = divisions(at, decks[at], sizes, rules)
        followed = _follow(ways, followed, bench) if at != order[-1] else _finish(ways, followed, bench)
        if not followed:
            raise LayoutError(_IMPOSSIBLE.format(decks[at].label), field=f"decks/{at}", value=decks[at].label)
    bound = AreaBound(bench.cover.count(bench.area), Decimal(bench.cover.cost(bench.area)) / (_PRICE_PARTS * _FOOT))
    return drawn(decks, sizes, followed[0], bound)


def _bench(sizes: Sequence[SheetSize], rules: LayingRules, area: int) -> Bench:
    stocks = tuple(Stock(ticks(s.length), ticks(s.width), int(s.price * _PRICE_PARTS) * _FOOT) for s in sizes)
    joint_price = int(rules.joint_price_per_foot * _PRICE_PARTS)
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


def _follow(ways: Sequence[Division], start: Sequence[State], bench: Bench) -> list[State]:
    """The best layouts of a deck after which others come."""
    found = [state for division in ways for state in lay(division, start, bench, None)]
    return sorted(found, key=lambda state: state[:4])[:KEPT]


def _finish(ways: Sequence[Division], start: Sequence[State], bench: Bench) -> list[State]:
    """The best whole plan, alone; none where the rules allow none.

    First one layout is followed in each division, which gives a plan to beat, then all. Where joints cost nothing and the
    sheets are not the least possible yet, once more without minding joints: the last sheet may be saved by patchwork.
    """
    best = _better(ways, start, bench, 1, [])
    best = _better(ways, start, bench, KEPT, best)
    if best and not bench.joint_price and best[0].cost > bench.cover.cost(bench.area):
        best = _better(ways, start, replace(bench, joint_guide=0), KEPT, best)
    return best


def _better(ways: Sequence[Division], start: Sequence[State], bench: Bench, kept: int, best: list[State]) -> list[State]:
    for division in ways:
        beaten = worth(best[0], bench) if best else None
        best = lay(division, start, bench, beaten, kept)[:1] or best
    return best


_IMPOSSIBLE = (
    "no layout of deck '{}' keeps the stagger, the least piece and the supports with these sheets; "
    "enter a smaller stagger or least piece, or a larger sheet"
)
