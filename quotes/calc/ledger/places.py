"""To what does an entry belong: a line of the job, a hidden component, an accepted change order, a return, or nothing quoted?

Work that a waiting change order covers is not logged on it: nobody may bill what the owner has not agreed to yet.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

from costbase.calc.errors import CalculationError
from quotes.calc.ledger.said import GOODS, TIME, Said

# Their work is done and billed: by a consent, or under an adopted policy.
TAKEN = ("accepted", "carried")
LABOUR, MATERIAL = "labour", "material"


class UnknownPlaceError(CalculationError):
    """A line, assembly, component, change order or return that the job has not."""

    code = "unknown_place"


class BeforeReturnError(CalculationError):
    """What was logged on a return for a day on which the coach had not come back yet."""

    code = "before_return"


class CoveredWorkError(CalculationError):
    """Work that waits for the owner's answer to a change order."""

    code = "covered_work"


class Line(NamedTuple):
    """An agreed line; `works` are the assemblies that it is for (its own, or those that need the material)."""

    position: int
    kind: str
    slug: str
    trade: str
    phase: str
    works: tuple[str, ...]


class Order(NamedTuple):
    """A change order: its number in the job, its id, its state, and the slugs that it covers while it waits."""

    number: int
    id: int
    state: str
    covers: tuple[str, ...]
    title: str


class Return(NamedTuple):
    """A return under warranty: its id, its number in the job, and the day on which the coach came (ISO)."""

    id: int
    number: int
    came_on: str


@dataclass(frozen=True, slots=True)
class JobPlaces:
    """Where entries of one job may belong."""

    number: str
    lines: Mapping[int, Line]
    components: frozenset[str]
    orders: Mapping[int, Order]
    returns: Mapping[int, Return] = field(default_factory=dict)  # by id


class Place(NamedTuple):
    """Where an entry belongs; all empty: to nothing that was quoted."""

    line: int | None = None
    assembly: str = ""
    component: str = ""
    change_order: int | None = None  # the order's id
    phase: str = ""
    warranty_return: int | None = None

    @property
    def quoted(self) -> bool:
        """Whether it belongs to anything that the owner has agreed to, or to a return that he was promised."""
        placed = self.line is not None or bool(self.component) or self.change_order is not None
        return placed or self.warranty_return is not None


NOWHERE = Place()


def place_of(said: Said, trade: str, places: JobPlaces) -> Place:
    """Where an entry of a job belongs.

    Hours on an assembly stand on its labour line of their trade, else on its first. A material stands on the job's line of it,
    if it names no place or an assembly that the line is for. What names a return stands on that alone, even where it is done on
    what the job has a line for: the owner pays for none of it.

    Args:
        said: the entry.
        trade: of a time entry, the worker's where none was said.
        places: of its job.

    Raises:
        UnknownPlaceError: the job has no such line, assembly, component, accepted change order or return.
        BeforeReturnError: a day before the coach came back.
        CoveredWorkError: a change order that waits covers the work.

    Source: common practice, none published.
    """
    place = _found(said, trade, places)
    if said.kind == TIME or said.kind in GOODS:
        _must_not_be_covered(place, places)
    return place._replace(phase=said.phase or place.phase)


def _found(said: Said, trade: str, places: JobPlaces) -> Place:
    if said.line is not None:
        return _on_line(said, said.line, places)
    if said.assembly:
        return _on_assembly(said, trade, places)
    if said.component:
        if said.component not in places.components:
            raise _unknown("component", said.component, places, sorted(places.components))
        return Place(component=said.component)
    if said.change_order is not None:
        return _on_order(said.change_order, places)
    if said.warranty_return is not None:
        return _on_return(said, said.warranty_return, places)
    if said.material:
        lines = _lines_of(said.material, places)
        return Place(line=lines[0].position, phase=lines[0].phase) if lines else NOWHERE
    return NOWHERE


def _lines_of(material: str, places: JobPlaces) -> list[Line]:
    return [line for line in places.lines.values() if line.kind == MATERIAL and line.slug == material]


def _on_line(said: Said, position: int, places: JobPlaces) -> Place:
    line = places.lines.get(position)
    if line is None:
        words = f"{places.number} has no line {position}; expected 1 to {max(places.lines, default=0)}"
        raise UnknownPlaceError(words, field="line", value=position)
    if said.kind == TIME and line.kind != LABOUR:
        words = f"line {position} of {places.number} is '{line.slug}'; hours belong to a line of labour"
        raise UnknownPlaceError(words, field="line", value=position)
    return Place(line=position, assembly=line.slug if line.kind == LABOUR else "", phase=line.phase)


def _on_assembly(said: Said, trade: str, places: JobPlaces) -> Place:
    slug = said.assembly
    lines = [line for line in places.lines.values() if line.kind == LABOUR and line.slug == slug]
    if not lines:
        raise _unknown("assembly", slug, places, sorted({line.slug for line in places.lines.values() if line.kind == LABOUR}))
    # Goods for an assembly stand on the line of the material, if the assembly is one of those that it is for.
    goods = [line for line in _lines_of(said.material, places) if slug in line.works]
    line = goods[0] if goods else next((line for line in lines if line.trade == trade), lines[0])
    return Place(line=line.position, assembly=slug, phase=line.phase)


def _on_order(number: int, places: JobPlaces) -> Place:
    order = places.orders.get(number)
    if order is None:
        raise UnknownPlaceError(f"{places.number} has no change order {number}", field="change_order", value=number)
    if order.state == "waiting":
        raise CoveredWorkError(_waits(order, f"the work of change order {number}"), field="change_order", value=number)
    if order.state not in TAKEN:
        words = f"change order {number} of {places.number} is {order.state}; expected one that was accepted"
        raise UnknownPlaceError(words, field="change_order", value=number)
    return Place(change_order=order.id)


def _on_return(said: Said, id_: int, places: JobPlaces) -> Place:
    came = places.returns.get(id_)
    if came is None:
        known = ", ".join(f"{each.id} (number {each.number})" for each in places.returns.values()) or "none"
        words = f"{places.number} has no return {id_}; expected the id of one of its own: {known}"
        raise UnknownPlaceError(words, field="warranty_return", value=id_)
    if said.day < came.came_on:
        words = f"return {came.number} of {places.number} came on {came.came_on}; expected no day before, not {said.day}"
        raise BeforeReturnError(words, field="day", value=said.day)
    return Place(warranty_return=came.id)


def _must_not_be_covered(place: Place, places: JobPlaces) -> None:
    if place.component:
        works: tuple[str, ...] = (place.component,)
    elif place.assembly:
        works = (place.assembly,)
    elif place.line is not None:
        works = places.lines[place.line].works
    else:
        return
    # Goods of several assemblies are still used for those that nothing waits for.
    covering = [covering_order(slug, places.orders.values()) for slug in works]
    waiting = [order for order in covering if order is not None]
    if works and len(waiting) == len(works):
        field = "component" if place.component else "line"
        raise CoveredWorkError(_waits(waiting[0], f"work on '{works[0]}'"), field=field, value=works[0])


def covering_order(slug: str, orders: Iterable[Order]) -> Order | None:
    """The first change order that waits and covers this assembly or component; None where nothing does.

    Source: common practice, none published.
    """
    return next((order for order in orders if order.state == "waiting" and slug in order.covers), None)


def _waits(order: Order, work: str) -> str:
    return (
        f"{work} waits for the owner's answer to change order {order.number}, '{order.title}', and is not billable before; "
        "log it when the order is accepted, or without a place as work that nobody quoted"
    )


def _unknown(what: str, slug: str, places: JobPlaces, known: Iterable[str]) -> UnknownPlaceError:
    named = ", ".join(known) or "none"
    words = f"{places.number} has no {what} '{slug}'; leave it out for work that nobody quoted, or name one of {named}"
    return UnknownPlaceError(words, field=what, value=slug)
