"""How much of each hidden component was opened by an entry, and how much of that was found rotten?

Cells, strips and rings are measured: the area of a cell, the length of a strip, one for a ring, each times the share of it that
the survey had left exposed, and together never more than the exposure that was quoted. Places that went to the visible work
count nothing. Components without places of their own give both extents themselves.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from costbase.calc.errors import CalculationError
from costbase.calc.money import decimal_quantity
from costbase.calc.units import in_unit
from quotes.calc.survey import CONDITIONS, Carried, PlaceName

_NONE = Decimal(0)
Carrying = Mapping[str, Mapping[str, Carried]]
# Which places carry what scales exposures: kind of place, and sides of strips.
_PLACES: Mapping[str, tuple[str, tuple[str, ...]]] = MappingProxyType(
    {
        "cells": ("cell", ()),
        "kept_cells": ("cell", ()),
        "edge_strips": ("strip", ("driver", "passenger")),
        "cap_strips": ("strip", ("front", "rear")),
        "ac_rings": ("ring", ()),
        "rings": ("ring", ()),
    }
)


class OpeningError(CalculationError):
    """An entry that lacks what it needs, or has what it cannot have."""

    code = "opening_member"


class UnknownComponentError(CalculationError):
    """A hidden component that the job has not, or not on that construction."""

    code = "unknown_component"


class OpenedTwiceError(CalculationError):
    """A place that an earlier entry opened for the same component."""

    code = "opened_twice"


class BeyondOpenedError(CalculationError):
    """More found than was opened, or more opened than was exposed."""

    code = "found_beyond_opened"


class OutOfScopeError(CalculationError):
    """A place on the roof that the agreed scope does not reach."""

    code = "place_out_of_scope"


@dataclass(frozen=True, slots=True)
class Exposed:
    """A hidden component as agreed: exposure in its unit, the sections that have it, which places carry it ("" for none)."""

    slug: str
    construction: str
    unit: str
    exposure: Decimal
    sections: tuple[str, ...]
    scaled_by: str


@dataclass(frozen=True, slots=True)
class Look:
    """What an entry says of one component: extents in its unit, or a condition of `CONDITIONS` in place of `found`.

    `opened` is for components without places of their own; `found` and `condition` exclude each other.
    """

    component: str
    construction: str = ""
    opened: Decimal | None = None
    found: Decimal | None = None
    condition: str = ""


@dataclass(frozen=True, slots=True)
class Measured:
    """One look, measured: `opened` and `found` in the component's unit, four decimals, `places` that were opened for it."""

    component: str
    construction: str
    unit: str
    opened: Decimal
    found: Decimal
    condition: str
    places: tuple[PlaceName, ...]


def must_be_in_scope(places: Iterable[PlaceName], inside: Collection[PlaceName]) -> None:
    """Refuses a place outside of the agreed scope.

    Args:
        places: on the roof.
        inside: every place of the scope.

    Raises:
        OutOfScopeError: the first place that lies outside.
    """
    for place in places:
        if place not in inside:
            words = f"{place.kind} {place.at} of {place.section!r} lies outside of the agreed scope: expected a finding"
            raise OutOfScopeError(words, value=place.at)


def measure(
    looks: Sequence[Look],
    places: Sequence[PlaceName],
    components: Sequence[Exposed],
    carrying: Carrying,
    standing: Sequence[Measured],
    replaced: Collection[str],
) -> tuple[Measured, ...]:
    """The looks of one entry, measured.

    Args:
        looks: one for each component that was looked at in these places.
        places: cells, strips and rings of the entry, in the agreed scope.
        components: of the job.
        carrying: what every place of the scope carries, canonical, by section and by what scales exposures.
        standing: what earlier entries measured, without those that were corrected.
        replaced: conditions in which a place counts as found rotten.

    Returns:
        One for each look, in their order. Opened extents are rounded half up to four decimals.

    Raises:
        OpeningError, UnknownComponentError, OpenedTwiceError, BeyondOpenedError: with the place of the look, ``found/2/...``.
    """
    made: list[Measured] = []
    for at, look in enumerate(looks):
        try:
            made.append(_measured(look, places, components, carrying, [*standing, *made], replaced))
        except CalculationError as fault:
            raise fault.under(f"found/{at}") from None
    return tuple(made)


def _measured(
    look: Look,
    places: Sequence[PlaceName],
    components: Sequence[Exposed],
    carrying: Carrying,
    standing: Sequence[Measured],
    replaced: Collection[str],
) -> Measured:
    component = _chosen(look, components)
    own = concerned(component, places, carrying)
    earlier = [one for one in standing if (one.component, one.construction) == (component.slug, component.construction)]
    _not_twice(component, own, earlier)
    before = sum((one.opened for one in earlier), _NONE)
    opened = _opened_by(component, own, carrying, before) if component.scaled_by else _said(look, component, before)
    if component.scaled_by and look.opened is not None:
        words = f"{component.slug} is opened by its {_words(component)}: expected no extent of its own"
        raise OpeningError(words, field="opened", value=str(look.opened))
    if component.scaled_by and not own:
        raise OpeningError(f"expected {_words(component)} that were opened for {component.slug}", field="component")
    found = _found(look, opened, component, replaced)
    return Measured(component.slug, component.construction, component.unit, opened, found, look.condition, own)


def concerned(component: Exposed, places: Iterable[PlaceName], carrying: Carrying) -> tuple[PlaceName, ...]:
    """The places of an entry that a component is looked at in: of its kind, on sections that have it, each once."""
    if not component.scaled_by:
        return ()
    kind, sides = _PLACES[component.scaled_by]
    groups = [carrying.get(label, {}).get(component.scaled_by, {}) for label in component.sections]
    return tuple(
        dict.fromkeys(
            place
            for place in places
            if any(place in carried for carried in groups)
            or (
                kind != "ring"
                and place.kind == kind
                and place.section in component.sections
                and (not sides or place.at.split()[0] in sides)
            )
        )
    )


def _chosen(look: Look, components: Sequence[Exposed]) -> Exposed:
    named = [one for one in components if one.slug == look.component]
    fitting = [one for one in named if look.construction in ("", one.construction)]
    if len(fitting) == 1:
        return fitting[0]
    if named:
        words = f"expected the construction of {look.component}: {' or '.join(one.construction for one in named)}"
        raise UnknownComponentError(words, field="construction", value=look.construction)
    words = f"the job has no hidden component '{look.component}': expected a finding with a recommendation"
    raise UnknownComponentError(words, field="component", value=look.component)


def _not_twice(component: Exposed, places: Sequence[PlaceName], earlier: Iterable[Measured]) -> None:
    known = {place for one in earlier for place in one.places}
    for place in places:
        if place in known:
            words = f"{place.kind} {place.at} of {place.section!r} was opened for {component.slug} before: correct that entry"
            raise OpenedTwiceError(words, field="component", value=component.slug)


def _opened_by(component: Exposed, places: Sequence[PlaceName], carrying: Carrying, before: Decimal) -> Decimal:
    groups = [carrying.get(label, {}).get(component.scaled_by, {}) for label in component.sections]
    canonical = sum(carried.get(place, 0.0) for carried in groups for place in places)
    return max(_NONE, min(decimal_quantity(in_unit(canonical, component.unit)), component.exposure - before))


def _said(look: Look, component: Exposed, before: Decimal) -> Decimal:
    if look.opened is None:
        words = f"{component.slug} has no places on the grid: expected how much of it was opened"
        raise OpeningError(words, field="opened")
    if look.opened > component.exposure - before:
        words = f"{component.exposure - before} {component.unit} of {component.slug} are still exposed, not {look.opened}"
        raise BeyondOpenedError(words, field="opened", value=str(look.opened))
    return look.opened


def _found(look: Look, opened: Decimal, component: Exposed, replaced: Collection[str]) -> Decimal:
    if (look.found is None) == (look.condition == ""):
        raise OpeningError("expected either what was found or a condition", field="found")
    if look.condition:
        if look.condition not in CONDITIONS:
            raise OpeningError(f"expected one of {', '.join(CONDITIONS)}", field="condition", value=look.condition)
        return opened if look.condition in replaced else _NONE
    found = look.found or _NONE
    if found > opened:
        words = f"{found} {component.unit} found is more than the {opened} {component.unit} opened"
        raise BeyondOpenedError(words, field="found", value=str(found))
    return found


def _words(component: Exposed) -> str:
    return {"cell": "cells", "strip": "strips", "ring": "rings"}[_PLACES[component.scaled_by][0]]


def opened_totals(looks: Iterable[Measured]) -> dict[tuple[str, str], tuple[Decimal, Decimal]]:
    """Opened and found extent of each component, by slug and construction: the sums over its looks."""
    totals: dict[tuple[str, str], tuple[Decimal, Decimal]] = {}
    for look in looks:
        opened, found = totals.get((look.component, look.construction), (_NONE, _NONE))
        totals[look.component, look.construction] = (opened + look.opened, found + look.found)
    return totals
