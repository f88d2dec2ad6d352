"""What would be in force on which days if an edition came or went, and does it fit together there?

A change of one edition is looked at on its first day and on every later day on which another edition begins, up to the day
on which the next one under the same slug takes over. What did not fit before is not the change's to put right: only faults
of the edition itself, and those that others get by the change, are told.
"""

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from django.db.models import Exists, OuterRef, Q

from costbase.actions.editions import Key, beside, rows_of
from costbase.calc.assemblies import Assembly
from costbase.calc.checks import Doubt, UnknownReferenceError, check_assembly, check_component, check_editions
from costbase.calc.contents import read_kind
from costbase.calc.contents_table import KINDS, Edited
from costbase.calc.cost_base import Component, EditionRef
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.models import Network, NetworkEdition, Shop
from costbase.snapshot import RULE, SEVERITY, TIERS

# Without one of each no quote can be worked out.
NEEDED: tuple[Key, ...] = (("rule", RULE), ("tiers", TIERS), (SEVERITY, SEVERITY))

Contents = Mapping[Key, Any]  # in force on a day


@dataclass(frozen=True, slots=True)
class Begun:
    """An edition as far as days are concerned. `contents` is None where a shop follows its network from then on."""

    kind: str
    slug: str
    valid_from: date
    contents: Any

    @property
    def key(self) -> Key:
        """Kind and slug."""
        return self.kind, self.slug


@dataclass(frozen=True, slots=True)
class Timeline:
    """Editions that are in force on a first day or begin later, of an owner and (of a shop) of its network, by first day."""

    own: tuple[Begun, ...]
    network: tuple[Begun, ...]
    values: dict[tuple[Key, int], Edited] = field(default_factory=dict)  # parsed once, whatever the number of days

    def on(self, day: date) -> dict[Key, Any]:
        """Contents in force on a day."""
        own, network = (_newest(rows, day) for rows in (self.own, self.network))
        return {**network, **{key: contents for key, contents in own.items() if contents is not None}}

    def with_edition(self, new: Begun) -> "Timeline":
        """As if the owner had this edition, in the place of one of the same day."""
        others = (row for row in self.own if (row.key, row.valid_from) != (new.key, new.valid_from))
        return replace(self, own=_sorted([*others, new]))

    def with_editions(self, new: Iterable[Begun]) -> "Timeline":
        """As if the owner had all of these, in the place of those of the same days."""
        coming = {(begun.key, begun.valid_from): begun for begun in new}
        others = (row for row in self.own if (row.key, row.valid_from) not in coming)
        return replace(self, own=_sorted([*others, *coming.values()]))

    def without(self, owner: Shop | Network, edition_id: int, first: date) -> "Timeline":
        """As if the owner did not have this edition; what it followed is read again, in one query."""
        return replace(self, own=_from(rows_of(owner).exclude(pk=edition_id), first))

    def days(self, key: Key, first: date) -> list[date]:
        """The first day, and every later one on which something else comes into force beside the edition of that day."""
        later = [row.valid_from for row in self.own if row.key == key and row.valid_from > first]
        until = min(later, default=date.max)
        return sorted({first, *(row.valid_from for row in (*self.own, *self.network) if first < row.valid_from < until)})


def timeline(owner: Shop | Network, first: date) -> Timeline:
    """What an owner has from a day on, in one query and for a shop another for its network."""
    of_network = _from(NetworkEdition.objects.for_network(owner.network_id), first) if isinstance(owner, Shop) else ()
    return Timeline(_from(rows_of(owner), first), of_network)


def _from(rows: Any, first: date) -> tuple[Begun, ...]:
    standing = rows.filter(withdrawn_on=None)
    followed = standing.filter(
        kind=OuterRef("kind"), slug=OuterRef("slug"), valid_from__gt=OuterRef("valid_from"), valid_from__lte=first
    )
    found = standing.filter(Q(valid_from__gt=first) | ~Exists(followed))
    return _sorted(
        Begun(row.kind, row.slug, row.valid_from, None if getattr(row, "follows_network", False) else row.contents)
        for row in found
    )


def _sorted(rows: Iterable[Begun]) -> tuple[Begun, ...]:
    return tuple(sorted(rows, key=lambda row: row.valid_from))


def _newest(rows: Sequence[Begun], day: date) -> dict[Key, Any]:
    return {row.key: row.contents for row in rows if row.valid_from <= day}


def misfits(before: Timeline, after: Timeline, key: Key, days: Iterable[date]) -> list[CalculationError]:
    """What the change of one edition breaks on any of the days, each thing once, with a field such as ``rate/helper/name``."""
    return misfits_of_all(before, after, {key}, days)


def misfits_of_all(before: Timeline, after: Timeline, own: Collection[Key], days: Iterable[date]) -> list[CalculationError]:
    """As `misfits`, for the change of many editions."""
    found: dict[tuple[str, str], CalculationError] = {}
    for day in days:
        was, will_be = before.on(day), after.on(day)
        values, faults = _read(after, will_be)
        faults += _beside(values)
        if faults:
            known = {(fault.field, fault.message) for fault in _all_faults(before, was)}
            faults = [f for f in faults if _is_of(f, own) or (f.field, f.message) not in known]
        for fault in (*faults, *left_without(was.keys() - will_be.keys(), values)):
            found.setdefault((fault.field, fault.message), fault)
    return list(found.values())


def doubts(line: Timeline, key: Key, day: date) -> tuple[Doubt, ...]:
    """What may be right about an edition on a day and deserves a look; it has been found to fit."""
    values, _ = _read(line, line.on(day))
    among, value = beside(values), values.get(key)
    if isinstance(value, Assembly):
        return check_assembly(value, among.materials, among.trades, among.assemblies)
    if isinstance(value, Component):
        return check_component(value, among.assemblies, among.components)
    return ()


def _is_of(fault: CalculationError, own: Collection[Key]) -> bool:
    kind, _, rest = fault.field.partition("/")
    return (kind, rest.partition("/")[0]) in own


def _all_faults(line: Timeline, contents: Contents) -> list[CalculationError]:
    values, faults = _read(line, contents)
    return [*faults, *_beside(values)]


def _read(line: Timeline, contents: Contents) -> tuple[dict[Key, Edited], list[CalculationError]]:
    """The values of contents in force, and what is wrong with damaged ones."""
    values: dict[Key, Edited] = {}
    faults: list[CalculationError] = []
    for key, table in contents.items():
        if key[0] in KINDS:
            try:
                values[key] = _value(line, key, table)
            except CalculationFaults as several:
                faults += [fault.under("/".join(key)) for fault in several.faults]
    return values, faults


def _value(line: Timeline, key: Key, table: Any) -> Edited:
    known = line.values.get((key, id(table)))
    if known is None:
        # Whose it is and from when does not matter for what fits.
        known = line.values[key, id(table)] = read_kind(key[0], table, EditionRef(*key, "shop", ""))
    return known


def _beside(values: Mapping[Key, Edited]) -> list[CalculationError]:
    try:
        check_editions(beside(values))
    except CalculationFaults as several:
        return list(several.faults)
    return []


def left_without(gone: Collection[Key], values: Mapping[Key, Edited]) -> list[CalculationError]:
    """What quotes need and a change takes away, beside what editions say of each other.

    Args:
        gone: kinds and slugs that are no longer in force.
        values: what is still in force.
    """
    faults: list[CalculationError] = [
        UnknownReferenceError(f"every quote needs a {kind} in force", field=f"{kind}/{slug}", value=slug)
        for kind, slug in NEEDED
        if (kind, slug) in gone
    ]
    unpriced = {slug for kind, slug in gone if kind == "price"}
    for assembly in values.values() if unpriced else ():
        if isinstance(assembly, Assembly):
            faults += [
                UnknownReferenceError(
                    f"it takes {need.material}, which has no price in force",
                    field=f"assembly/{assembly.slug}/materials/{index}/material",
                    value=need.material,
                )
                for index, need in enumerate(assembly.materials)
                if need.material in unpriced
            ]
    return faults
