"""What is different between two workings of the same quote, line by line?

Both are brought to the same plain figures first, whether they were worked out just now or stand in the rows of an offer of last
year. Only what differs is told. An amount is compared exactly, a float with a relative tolerance of 1e-9.
"""

import math
from collections.abc import Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Generic, NamedTuple, TypeVar

from costbase.calc.money import decimal_quantity, unit_price
from quotes.calc.inputs import DaysOverride
from quotes.calc.pricing import Visible
from quotes.calc.quote import Quote

_TOLERANCE = 1e-9

K = TypeVar("K", bound=Hashable)
T = TypeVar("T")


class LineKey(NamedTuple):
    """What a line is about; `nth` tells lines about the same thing apart, the first is 1."""

    kind: str  # "labour", "material" or "shop"
    slug: str
    trade: str
    nth: int


class LineFigures(NamedTuple):
    """A line as its row shows it: `quantity` with four decimals, `price` with six, `amount` and `cost` in the currency."""

    name: str
    phase: str
    unit: str
    quantity: Decimal
    price: Decimal
    amount: Decimal
    cost: Decimal


class HiddenKey(NamedTuple):
    """A hidden component on one construction."""

    slug: str
    construction: str


class HiddenFigures(NamedTuple):
    """A hidden component as its row shows it: `exposure` with four decimals in `unit`, `unit_price` with six."""

    name: str
    unit: str
    tier: str
    exposure: Decimal
    chance: float
    share: float
    unit_price: Decimal
    set_up: Decimal
    allowance: Decimal


@dataclass(frozen=True, slots=True)
class Figures:
    """What a quote says, as plain figures by name.

    `days` are those that the owner is told, so that a promise of the estimator stands in the place of the worked range; `lead`
    is whole days. `words` are warnings, exclusions and cautions.
    """

    amounts: Mapping[str, Decimal]
    hours: Decimal
    days: Mapping[str, float]
    tier: str
    lines: Mapping[LineKey, LineFigures]
    hidden: Mapping[HiddenKey, HiddenFigures]
    words: Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True)
class Change(Generic[T]):
    """One thing before and after; None where it was not, or is no longer, there."""

    before: T | None
    after: T | None

    @property
    def kind(self) -> str:
        """What happened to it: "added", "removed" or "changed"."""
        return "added" if self.before is None else "removed" if self.after is None else "changed"


@dataclass(frozen=True, slots=True)
class WordsChange:
    """Sentences that went and came."""

    gone: tuple[str, ...]
    come: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """What differs, by name; whatever is the same is not there.

    Lines and components stand in the order of the later quote, with what was removed at the end.
    """

    amounts: dict[str, Change[Decimal]]
    hours: Change[Decimal] | None
    days: dict[str, Change[float]]
    tier: Change[str] | None
    lines: dict[LineKey, Change[LineFigures]]
    hidden: dict[HiddenKey, Change[HiddenFigures]]
    words: dict[str, WordsChange]

    @property
    def nothing(self) -> bool:
        """Whether both say the same."""
        parts = (self.amounts, self.hours, self.days, self.tier, self.lines, self.hidden, self.words)
        return not any(parts)


NOTHING = Compared({}, None, {}, None, {}, {}, {})


def compare(before: Figures, after: Figures) -> Compared:
    """What differs between two workings of a quote; the same object twice differs in nothing."""
    if before is after:
        return NOTHING
    return Compared(
        amounts=_changes(before.amounts, after.amounts),
        hours=_change(before.hours, after.hours),
        days=_changes(before.days, after.days),
        tier=_change(before.tier, after.tier),
        lines=_changes(before.lines, after.lines),
        hidden=_changes(before.hidden, after.hidden),
        words=dict(_words(before.words, after.words)),
    )


def figures_of(worked: Quote, promised: DaysOverride | None) -> Figures:
    """The figures of a worked quote.

    Args:
        worked: what `compute_quote` came to.
        promised: the days of its inputs, where the estimator promises some.
    """
    totals, visible, days = worked.totals, worked.visible, worked.days
    return Figures(
        amounts={
            "labour": visible.labour_total,
            "materials": visible.material_total,
            "base": totals.base,
            "record": totals.record,
            "allowance": totals.allowance,
            "reserve": totals.reserve,
            "contingency": totals.contingency,
            "limit": totals.limit,
            "base_tax": totals.base_tax,
            "base_with_tax": totals.base_with_tax,
            "limit_tax": totals.limit_tax,
            "limit_with_tax": totals.limit_with_tax,
            "deposit": totals.deposit,
            "cost": totals.cost,
            "margin": totals.margin,
        },
        hours=sum((line.hours for line in visible.labour), Decimal(0)),
        days={
            "low": promised.low if promised else days.low,
            "high": promised.high if promised else days.high,
            "lead": float(days.lead),
        },
        tier=worked.severity.tier,
        lines=numbered(_lines(visible)),
        hidden=dict(_hidden(worked)),
        words={"warnings": worked.warnings, "exclusions": worked.exclusions, "cautions": worked.cautions},
    )


def numbered(lines: Iterable[tuple[tuple[str, str, str], LineFigures]]) -> dict[LineKey, LineFigures]:
    """Lines by kind, slug and trade, with a number where several are about the same."""
    met: dict[tuple[str, str, str], int] = {}
    found = {}
    for key, line in lines:
        nth = met[key] = met.get(key, 0) + 1
        found[LineKey(*key, nth)] = line
    return found


def _lines(visible: Visible) -> Iterator[tuple[tuple[str, str, str], LineFigures]]:
    for labour in visible.labour:
        key = ("labour", labour.assembly, labour.trade)
        yield key, LineFigures(labour.name, labour.phase, "h", labour.hours, labour.rate, labour.amount, labour.cost)
    for line in visible.materials:
        packed, goods = line.packed, line.packed.material
        unit = goods.pack_name if packed.billed_in == "pack" else goods.unit
        figures = LineFigures(goods.name, line.phase, unit, packed.billed, unit_price(line.price), line.amount, line.cost)
        yield ("material", goods.slug, ""), figures
    for freight in visible.freight:
        price = unit_price(freight.price)
        yield (
            ("material", freight.slug, ""),
            LineFigures(freight.name, freight.phase, "order", Decimal(1), price, freight.amount, freight.cost),
        )
    for shop in visible.shop:
        yield ("shop", shop.slug, ""), LineFigures(shop.name, "", "job", Decimal(1), shop.amount, shop.amount, Decimal(0))


def _hidden(worked: Quote) -> Iterator[tuple[HiddenKey, HiddenFigures]]:
    for work, part in zip(worked.hidden, worked.set_aside.components, strict=True):
        yield (
            HiddenKey(work.component.slug, work.construction),
            HiddenFigures(
                name=work.component.name,
                unit=work.component.unit,
                tier=work.tier,
                exposure=decimal_quantity(work.exposure),
                chance=work.chance,
                share=work.share,
                unit_price=work.cost.price,
                set_up=work.cost.set_up,
                allowance=part.allowance,
            ),
        )


def _changes(before: Mapping[K, T], after: Mapping[K, T]) -> dict[K, Change[T]]:
    keys = [*after, *(key for key in before if key not in after)]
    changes = ((key, _change(before.get(key), after.get(key))) for key in keys)
    return {key: change for key, change in changes if change is not None}


def _change(before: T | None, after: T | None) -> Change[T] | None:
    return None if _same(before, after) else Change(before, after)


def _same(before: object, after: object) -> bool:
    # Most figures of most lines are the same outright; only what is not is looked at part by part.
    if before == after:
        return True
    if isinstance(before, float) and isinstance(after, float):
        return math.isclose(before, after, rel_tol=_TOLERANCE)
    if isinstance(before, tuple) and isinstance(after, tuple):
        return len(before) == len(after) and all(map(_same, before, after))
    return False


def _words(before: Mapping[str, tuple[str, ...]], after: Mapping[str, tuple[str, ...]]) -> Iterator[tuple[str, WordsChange]]:
    for name, now in after.items():
        then = before.get(name, ())
        change = WordsChange(tuple(word for word in then if word not in now), tuple(word for word in now if word not in then))
        if change.gone or change.come:
            yield name, change
