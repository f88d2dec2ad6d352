"""What do opening entries, found notes and change orders say together of each hidden component?

An entry counts unless another one corrects it. A change order whose chosen way does not put everything right (a part is
repaired, the roof is closed up, the work stops), or does it by other work than the agreed repair, settles what had been found
by then: what was neither drawn nor ordered of it is declined. What is found later counts again.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from quotes.calc.teardown.opened import Opened, OpenedError

# Slug and construction of a component.
Key = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Entry:
    """One opening entry, made `at` seconds since any fixed moment; `corrects` is the id of the one that it stands in place of.

    `measured` has component, opened and found extent, in the component's unit.
    """

    id: int
    at: float
    corrects: int | None
    measured: tuple[tuple[Key, float, float], ...]


@dataclass(frozen=True, slots=True)
class Note:
    """What a found note drew of a component; less than nothing where it corrects another one."""

    at: float
    component: Key
    extent: float


@dataclass(frozen=True, slots=True)
class Taken:
    """A change order in force: what it repairs at agreed prices, and the components (slugs) of which it declines the rest."""

    at: float
    repairs: tuple[tuple[Key, float], ...]
    settles: frozenset[str]


@dataclass(frozen=True, slots=True)
class Record:
    """Everything that was written down of a job's hidden work."""

    entries: tuple[Entry, ...]
    notes: tuple[Note, ...]
    orders: tuple[Taken, ...]


def looks_of(record: Record, components: Sequence[Key]) -> tuple[Opened, ...]:
    """Every look at a component, and what was drawn, ordered and declined of it.

    Args:
        record: of the job.
        components: of the job, in the order in which `Opened.part` counts them.

    Raises:
        OpenedError: an entry of a component that the job does not have.
    """
    places = {key: at for at, key in enumerate(components)}
    corrected = {entry.corrects for entry in record.entries}
    standing = [entry for entry in record.entries if entry.id not in corrected]
    looks = [Opened(_place(key, places), opened, found) for entry in standing for key, opened, found in entry.measured]
    first = _first_made(record.entries)
    for key, part in places.items():
        drawn = sum(note.extent for note in record.notes if note.component == key)
        ordered = sum(extent for order in record.orders for repaired, extent in order.repairs if repaired == key)
        declined = _declined(key, record, [(first[entry.id], entry) for entry in standing])
        if drawn > 0 or ordered > 0 or declined > 0:
            looks.append(Opened(part, 0.0, 0.0, max(0.0, drawn), ordered, declined))
    return tuple(looks)


def _place(key: Key, places: dict[Key, int]) -> int:
    if key not in places:
        words = f"the job has no component '{key[0]}' on a {key[1]} roof"
        raise OpenedError(words, field="component", value=key[0])
    return places[key]


def _first_made(entries: Sequence[Entry]) -> dict[int, float]:
    """When the look of each entry was first written down: that of the entry at the far end of its corrections."""
    by_id = {entry.id: entry for entry in entries}
    made = {}
    for entry in entries:
        root = entry
        while root.corrects is not None:
            root = by_id[root.corrects]
        made[entry.id] = root.at
    return made


def _declined(key: Key, record: Record, standing: Sequence[tuple[float, Entry]]) -> float:
    """What the last order that settles a component left undone of it."""
    settling = [order.at for order in record.orders if key[0] in order.settles]
    if not settling:
        return 0.0
    by = max(settling)
    found = sum(its for at, entry in standing if at <= by for component, _, its in entry.measured if component == key)
    drawn = sum(note.extent for note in record.notes if note.at <= by and note.component == key)
    ordered = sum(extent for order in record.orders if order.at <= by for repaired, extent in order.repairs if repaired == key)
    return max(0.0, found - drawn - ordered)
