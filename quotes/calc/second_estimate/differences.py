"""By what does somebody else's estimate differ from our quote, and what does each difference come to?

Lines that are matched to each other form a group. A pair is taken apart into what a differing quantity makes, at our price, and
the rest; a larger group is compared as a whole. The differences add up to our total less theirs exactly, since each is a
difference of rounded amounts.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.money import Currency
from quotes.calc.second_estimate.lines import Compared, OurLine, TheirLine, arithmetic_warnings, counted_alike

NOT_IN_THEIRS = "not-in-theirs"
NOT_IN_OURS = "not-in-ours"
SET_ASIDE = "set-aside-in-ours"
QUANTITY = "quantity"
PRICE = "price"
AMOUNT = "amount"
BUNDLED = "bundled"
TAX = "tax"
ROUNDING = "rounding"
KINDS = {
    NOT_IN_THEIRS: "we charge for it and they do not",
    NOT_IN_OURS: "they charge for it and we do not",
    SET_ASIDE: "they charge for it, and we set it aside until the roof is open",
    QUANTITY: "we reckon with another quantity",
    PRICE: "we reckon with another price",
    AMOUNT: "the amounts differ although quantities and prices, as far as they can be compared, do not",
    BUNDLED: "several lines stand against each other, and only their sums can be compared",
    TAX: "the taxes differ",
    ROUNDING: "our total is rounded",
}


@dataclass(frozen=True, slots=True)
class Side:
    """What an estimate comes to. `tax` is None where its lines state none; `rounding` is ours only."""

    net: Decimal
    tax: Decimal | None
    rounding: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Difference:
    """One difference: `amount` is ours less theirs.

    `key` is stable: it names kind and lines, so that what was written about a difference stays with it. `compared` has both
    quantities and prices where the difference is about one pair that can be counted alike.
    """

    key: str
    kind: str
    ours: tuple[str, ...]
    theirs: tuple[str, ...]
    our_amount: Decimal
    their_amount: Decimal
    amount: Decimal
    words: str
    compared: Compared | None = None


@dataclass(frozen=True, slots=True)
class Comparison:
    """Two estimates beside each other; `with_tax` says whether the totals hold tax: where their lines state any."""

    with_tax: bool
    our_total: Decimal
    their_total: Decimal
    differences: tuple[Difference, ...]
    alike: int
    warnings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class _Group:
    ours: tuple[OurLine, ...]
    theirs: tuple[TheirLine, ...]

    @property
    def our_amount(self) -> Decimal:
        return _sum(line.amount for line in self.ours)

    @property
    def their_amount(self) -> Decimal:
        return _sum(line.amount for line in self.theirs)


def compare(
    ours: Sequence[OurLine], theirs: Sequence[TheirLine], quote: Side, stated: Decimal | None, currency: Currency
) -> Comparison:
    """Compares an estimate with a quote, line by line.

    Args:
        ours: every line of the quote, whose amounts add up to `quote.net`, and its hidden components.
        theirs: every line of the estimate; a match to what the quote does not have any more counts as none, and is told.
        quote: visible work of the quote, its tax and the owner's rounding.
        stated: the total that their paper states, None where it states none.
        currency: of all amounts.

    Returns:
        Differences that add up to `our_total` - `their_total` exactly; `alike` counts the pairs without any.

    Source: common practice, none published; a quantity is valued at our price, what is left is the price's.
    """
    groups = _groups(ours, theirs)
    parts = [tuple(_of_group(group, currency)) for group in groups]
    differences = [difference for found in parts for difference in found]
    their_tax = _sum(line.tax for line in theirs if line.tax is not None)
    with_tax = any(line.tax is not None for line in theirs)
    our_total, their_total = quote.net, _sum(line.amount for line in theirs)
    if with_tax:
        our_tax = quote.tax or Decimal(0)
        our_total, their_total = our_total + our_tax + quote.rounding, their_total + their_tax
        differences += _whole(TAX, our_tax, their_tax, f"ours is {our_tax}, theirs {their_tax}")
        differences += _whole(ROUNDING, quote.rounding, Decimal(0), "our total is rounded after tax")
    return Comparison(
        with_tax=with_tax,
        our_total=our_total,
        their_total=their_total,
        differences=tuple(differences),
        alike=sum(not found for found, group in zip(parts, groups, strict=True) if group.ours and group.theirs),
        warnings=(*_lost(ours, theirs), *arithmetic_warnings(theirs, stated, currency)),
    )


def _whole(kind: str, ours: Decimal, theirs: Decimal, words: str) -> list[Difference]:
    if ours == theirs:
        return []
    return [Difference(kind, kind, (), (), ours, theirs, ours - theirs, words)]


def _groups(ours: Sequence[OurLine], theirs: Sequence[TheirLine]) -> list[_Group]:
    """Lines that are matched to each other, directly or through others, ours in the order of the quote; then theirs alone."""
    place = {line.ref: at for at, line in enumerate(ours)}
    # The group of each of our lines, by the place of one of them: matched through one of theirs, they become one group.
    head = list(range(len(ours)))

    def first(at: int) -> int:
        while head[at] != at:
            at = head[at]
        return at

    for their in theirs:
        known = [first(place[ref]) for ref in their.ours if ref in place]
        for at in known:
            head[at] = min(known)
    members: dict[int, tuple[list[OurLine], list[TheirLine]]] = {}
    for at, line in enumerate(ours):
        members.setdefault(first(at), ([], []))[0].append(line)
    alone = []
    for their in theirs:
        known = [place[ref] for ref in their.ours if ref in place]
        if known:
            members[first(known[0])][1].append(their)
        else:
            alone.append(_Group((), (their,)))
    return [*(_Group(tuple(own), tuple(others)) for own, others in members.values()), *alone]


def _of_group(group: _Group, currency: Currency) -> Iterator[Difference]:
    if not group.theirs:
        # A hidden component that nobody speaks of is no difference: neither side charges for it.
        if group.our_amount:
            yield _difference(NOT_IN_THEIRS, group, group.ours[0].name)
    elif not group.ours:
        if group.their_amount:
            yield _difference(NOT_IN_OURS, group, group.theirs[0].description)
    elif all(line.is_hidden for line in group.ours):
        if group.their_amount:
            yield _difference(SET_ASIDE, group, ", ".join(line.name for line in group.ours))
    elif len(group.ours) == 1 and len(group.theirs) == 1:
        yield from _of_pair(group, currency)
    elif group.our_amount != group.their_amount:
        words = (
            f"{len(group.ours)} of ours for {group.our_amount} against {len(group.theirs)} of theirs for {group.their_amount}"
        )
        yield _difference(BUNDLED, group, words)


def _of_pair(group: _Group, currency: Currency) -> Iterator[Difference]:
    rest = group.our_amount - group.their_amount
    compared = counted_alike(group.ours[0], group.theirs[0], currency)
    if compared is None:
        if rest:
            words = f"ours {group.our_amount}, theirs {group.their_amount}; their quantity cannot be counted as ours is"
            yield _difference(AMOUNT, group, words, rest)
        return
    if compared.ours != compared.theirs:
        rest -= compared.by_quantity
        more = compared.ours - compared.theirs
        words = f"ours {compared.ours} {compared.unit}, theirs {compared.theirs}: {more} at {compared.our_price}"
        yield _difference(QUANTITY, group, words, compared.by_quantity, compared)
    # A price differs where it alone moves the amount by the smallest coin; less is rounding, or a sum that does not add up.
    if rest and compared.by_price:
        words = f"ours {compared.our_price} for one {compared.unit}, theirs {compared.their_price}"
        yield _difference(PRICE, group, words, rest, compared)
    elif rest:
        yield _difference(AMOUNT, group, f"ours {group.our_amount}, theirs {group.their_amount}", rest, compared)


def _difference(
    kind: str, group: _Group, words: str, amount: Decimal | None = None, compared: Compared | None = None
) -> Difference:
    ours, theirs = tuple(line.ref for line in group.ours), tuple(line.number for line in group.theirs)
    # One line of each side names the group: a line stands in one group only.
    key = ":".join((kind, *theirs[:1], *(ours[:1] if not theirs else ())))
    whole = group.our_amount - group.their_amount
    return Difference(
        key, kind, ours, theirs, group.our_amount, group.their_amount, whole if amount is None else amount, words, compared
    )


def _lost(ours: Sequence[OurLine], theirs: Sequence[TheirLine]) -> Iterator[str]:
    known = {line.ref for line in ours}
    for line in theirs:
        for ref in line.ours:
            if ref not in known:
                words = f"their line {line.number} is matched to {ref}, which is not in this quote"
                yield f"{words}; the match is kept, and counts not"


def _sum(amounts: Iterable[Decimal]) -> Decimal:
    return sum(amounts, Decimal(0))
