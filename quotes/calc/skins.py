"""How is the new skin of each section laid from a roll or coil, and from which stock is that cheapest?

A stock is laid along the coach in one strip or in several side by side, or across it in strips one behind the other. Strips
overlap by the lap of the stock; a stock without a lap is laid in one piece only. A strip longer than the longest piece that
comes of the stock is put together from pieces that overlap alike.

All sections that need the same material get the same stock, since it is ordered once: of the stocks that fit them all the one
whose length, lap seams and freight cost least together. Where none fits, the stock that was asked for stays, in one strip along
each section, for a person to decide.

Source: common practice, none published.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from costbase.calc.money import decimal_quantity
from costbase.calc.units import ceil_tolerant, in_unit, round_half_up, show

# What floats lose on the way to a width must not make it too wide.
_TOLERANCE = 1e-9
_PLACES = 4
ALONG, ACROSS = "along", "across"


@dataclass(frozen=True, slots=True)
class SkinStock:
    """A roll or coil: its width and the width that it has to cover, the longest piece (None: as long as wanted) and the lap.

    `price_per_foot` (waste included) and `freight` of one order are what the owner pays. They are weights for comparing, and no
    amounts.
    """

    slug: str
    name: str
    width: float
    covers: str  # "developed" or "visible"
    longest: float | None
    lap: float | None
    price_per_foot: float
    freight: float


@dataclass(frozen=True, slots=True)
class BareSection:
    """A section that gets a new skin: canonical lengths."""

    label: str
    length: float
    developed_width: float
    visible_width: float

    def width(self, covers: str) -> float:
        """The width that a stock has to cover."""
        return self.visible_width if covers == "visible" else self.developed_width


@dataclass(frozen=True, slots=True)
class Strip:
    """A piece of skin as it lies, laps included: front edge and driver edge, length along the coach, width across it."""

    section: str
    station: float
    offset: float
    length: float
    width: float


@dataclass(frozen=True, slots=True)
class LapSeam:
    """A seam where strips overlap: across the coach at a station, or along it at an offset, from `start` to `end`."""

    section: str
    across: bool
    at: float
    start: float
    end: float


@dataclass(frozen=True, slots=True)
class LaidSkin:
    """The skin of one section: how it lies and what it takes.

    `fits` is false where no stock fits and a person has to decide.
    """

    section: str
    direction: str
    strips: tuple[Strip, ...]
    seams: tuple[LapSeam, ...]
    stock_length: float
    fits: bool

    @property
    def lap_length(self) -> float:
        """Length of all lap seams."""
        return sum(seam.end - seam.start for seam in self.seams)

    @property
    def cross_seams(self) -> int:
        """Stations at which a lap seam runs across the coach."""
        return len({seam.at for seam in self.seams if seam.across})


@dataclass(frozen=True, slots=True)
class WhyNot:
    """Why a stock does not fit a section, in words."""

    stock: str
    section: str
    reason: str


@dataclass(frozen=True, slots=True)
class SkinPlan:
    """The skin of all sections that need one material.

    Attributes:
        needed: slug of the material that assemblies need.
        stock: slug of the stock that is bought for it.
        laid: in the order of the sections.
        costs: slug and cost of every stock that fits all of them, in the order in which stocks were offered; weights.
        why_not: every stock and section that do not fit.
    """

    needed: str
    stock: str
    laid: tuple[LaidSkin, ...]
    costs: tuple[tuple[str, float], ...]
    why_not: tuple[WhyNot, ...]

    @property
    def fits(self) -> bool:
        """Whether any stock fits all sections."""
        return bool(self.costs)

    @property
    def reason(self) -> str:
        """Why this stock, in words."""
        if not self.fits:
            return "no stock fits every section; this is the one that was asked for"
        if len(self.costs) == 1:
            return "the only stock that fits"
        told = {slug: decimal_quantity(cost, 2) for slug, cost in self.costs}
        dearer = ", ".join(f"{slug} at {cost}" for slug, cost in told.items() if slug != self.stock)
        return f"the cheapest that fits, at {told[self.stock]} with seams and freight, before {dearer}"


def plan_skins(sections: Sequence[BareSection], stocks: Sequence[SkinStock], seam_price_per_foot: float) -> SkinPlan:
    """The cheapest skin of these sections from one of these stocks.

    Args:
        sections: that need the same material, at least one; all with a length.
        stocks: the material itself first, then its other sizes; ties go by this order.
        seam_price_per_foot: what a foot of lap seam costs the owner, 0 or more; a weight.
    """
    costs: list[tuple[str, float]] = []
    laid: dict[str, tuple[LaidSkin, ...]] = {}
    why_not: list[WhyNot] = []
    for stock in stocks:
        ways = [tuple(_ways(section, stock)) for section in sections]
        if all(ways):
            best = [min((_cost(skin, stock, seam_price_per_foot), at) for at, skin in enumerate(each)) for each in ways]
            laid[stock.slug] = tuple(each[at] for each, (_, at) in zip(ways, best, strict=True))
            costs.append((stock.slug, round_half_up(stock.freight + sum(cost for cost, _ in best), _PLACES)))
        why_not += [
            WhyNot(stock.slug, section.label, _why_not(section, stock))
            for section, each in zip(sections, ways, strict=True)
            if not each
        ]
    needed = stocks[0].slug
    if not costs:
        return SkinPlan(needed, needed, tuple(_as_asked(section, stocks[0]) for section in sections), (), tuple(why_not))
    chosen, _ = min(costs, key=lambda entry: entry[1])
    return SkinPlan(needed, chosen, laid[chosen], tuple(costs), tuple(why_not))


def _cost(skin: LaidSkin, stock: SkinStock, seam_price_per_foot: float) -> float:
    """What a way costs, to a hundredth of a cent, so that ways which cost the same go by their order."""
    cost = in_unit(skin.stock_length, "ft") * stock.price_per_foot + in_unit(skin.lap_length, "ft") * seam_price_per_foot
    return round_half_up(cost, _PLACES)


def _ways(section: BareSection, stock: SkinStock) -> Iterator[LaidSkin]:
    """Along, then across. Across in one piece only where along does not fit: nobody turns a skin that lies well."""
    width = section.width(stock.covers)
    along = _strips(width, stock.width, stock.lap), _strips(section.length, stock.longest, stock.lap)
    if along[0] and along[1]:
        yield _along(section, *along)
    across = _strips(section.length, stock.width, stock.lap), _strips(width, stock.longest, None)
    if across[0] and across[1] and (stock.lap is not None or not (along[0] and along[1])):
        yield _across(section, across[0], width)


def _strips(room: float, size: float | None, lap: float | None) -> tuple[tuple[float, float], ...]:
    """Start and length of each of the strips that cover a room, overlapping; none where they cannot.

    n = ceil((room - lap) / (size - lap)), by the tolerant rule.
    """
    if size is None or room <= size * (1.0 + _TOLERANCE):
        return ((0.0, room),)
    if lap is None or lap >= size:
        return ()
    step = size - lap
    count = ceil_tolerant((room - lap) / step)
    return tuple((at * step, min(size, room - at * step)) for at in range(count))


def _along(section: BareSection, strips: tuple[tuple[float, float], ...], pieces: tuple[tuple[float, float], ...]) -> LaidSkin:
    label, length = section.label, section.length
    width = strips[-1][0] + strips[-1][1]
    seams = [LapSeam(label, False, offset, 0.0, length) for offset, _ in strips[1:]]
    seams += [LapSeam(label, True, station, 0.0, width) for station, _ in pieces[1:]]
    return LaidSkin(
        section=label,
        direction=ALONG,
        strips=tuple(Strip(label, station, offset, long, wide) for offset, wide in strips for station, long in pieces),
        seams=tuple(seams),
        stock_length=len(strips) * sum(long for _, long in pieces),
        fits=True,
    )


def _across(section: BareSection, strips: tuple[tuple[float, float], ...], width: float) -> LaidSkin:
    label = section.label
    return LaidSkin(
        section=label,
        direction=ACROSS,
        strips=tuple(Strip(label, station, 0.0, wide, width) for station, wide in strips),
        seams=tuple(LapSeam(label, True, station, 0.0, width) for station, _ in strips[1:]),
        stock_length=len(strips) * width,
        fits=True,
    )


def _as_asked(section: BareSection, stock: SkinStock) -> LaidSkin:
    fitting = next(_ways(section, stock), None)
    if fitting is not None and fitting.direction == ALONG and len(fitting.strips) == 1:
        return fitting
    width = min(stock.width, section.width(stock.covers))
    one = Strip(section.label, 0.0, 0.0, section.length, width)
    return LaidSkin(section.label, ALONG, (one,), (), section.length, fits=False)


def _why_not(section: BareSection, stock: SkinStock) -> str:
    width = section.width(stock.covers)
    if width > stock.width * (1.0 + _TOLERANCE):
        return (
            f"{stock.name}: section {section.label} needs {show(width, 'in', 2)} ({stock.covers} width), "
            f"the stock is {show(stock.width, 'in', 2)} wide; find wider stock or plan a seam"
        )
    longest = stock.longest if stock.longest is not None else section.length
    return (
        f"{stock.name}: section {section.label} is {show(section.length, 'ft', 2)} long, "
        f"the longest piece is {show(longest, 'ft', 2)} and may not be lapped; find longer stock or plan a seam"
    )
