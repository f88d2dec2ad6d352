"""How is one edition entered, replaced, withdrawn, or ended in favour of the network's?

Every change holds its owner first, so that two that fit each by itself cannot land together and not fit. Contents come in
normal form: who asks has read them (`costbase/calc/contents.py`, and of severity rules the application that knows them).

A change that reaches back before today needs a note that says why. It never reaches a day on which an issued quote read
something under the slug: that quote keeps what it read in any case, and nobody who looks up its day is to find something else.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any, cast

from costbase.actions.editions import (
    EditionUsedError,
    Key,
    Row,
    assert_open,
    network_in_force,
    own_in_force,
    rows_of,
    say_anew,
)
from costbase.actions.together import Begun, Timeline, doubts, misfits, timeline
from costbase.calc.checks import Doubt
from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Network, NetworkEdition, Shop, ShopEdition
from costbase.scope import Actor

# The last day, from a first until before an end, on which an issued quote of a shop read what was in force under a kind and
# slug; None for never.
LastRead = Callable[[str, str, date, date], date | None]


class EditionThereError(CalculationError):
    """The owner has an edition of that day already."""

    code = "already_there"


class EditionWithdrawnError(CalculationError):
    """A withdrawn edition is entered anew, not changed."""

    code = "edition_withdrawn"


class FollowsNetworkError(CalculationError):
    """Where a shop follows its network there are no contents to change."""

    code = "follows_network"


class NoOverrideError(CalculationError):
    """There is no edition of the shop's own that could end, or none of the network's that would take its place."""

    code = "no_override"


class NoteMissingError(CalculationError):
    """A change that reaches back before today without a word why."""

    code = "note_missing"


class QuotedSinceError(CalculationError):
    """A back-dated edition that would be in force on a day on which an issued quote read another."""

    code = "quoted_since"


class EditionNeededError(CalculationError):
    """An edition that others cannot do without; `needed_by` lists what would be wrong without it."""

    code = "edition_needed"

    def __init__(self, message: str, needed_by: list[CalculationError]) -> None:
        super().__init__(message, value=len(needed_by))
        self.needed_by = needed_by


@dataclass(frozen=True, slots=True)
class Office:
    """Whose cost base is changed, the day it is there, and what a shop's issued quotes have read.

    A network does not see its shops' quotes and has no `last_read`: its editions say whether any quote has used them.
    """

    owner: Shop | Network
    today: date
    last_read: LastRead | None = None


@dataclass(frozen=True, slots=True)
class Entry:
    """What is entered: contents in normal form (None to follow the network), from a day on, with a note that says why."""

    kind: str
    slug: str
    valid_from: date
    note: str
    contents: Mapping[str, object] | None

    @property
    def key(self) -> Key:
        """Kind and slug."""
        return self.kind, self.slug


@dataclass(frozen=True, slots=True)
class Entered:
    """An edition as it was kept, and what may be right in it and deserves a look."""

    row: Row
    doubts: tuple[Doubt, ...]


def enter_edition(*, by: Actor, office: Office, entry: Entry) -> Entered:
    """A new edition. Over a network's edition in force it is an override and remembers it.

    Raises:
        EditionThereError, EditionUsedError: there is one of that day; an unused one may be replaced.
        NoteMissingError, QuotedSinceError: it reaches back, without a note or over a quote.
        CalculationFaults: everything that would not fit together, with fields ``contents/driver`` for its own contents and
            ``contents`` for what would be wrong elsewhere.
    """
    owner = _held(office)
    there = _of_that_day(owner, entry.key, entry.valid_from)
    if there is not None and there.withdrawn_on is None:
        _refuse_twice(there)
    _may_reach_back(office, entry.key, entry.valid_from, entry.note)
    after = _must_fit(timeline(owner, entry.valid_from), entry)
    source = network_in_force(owner, entry.valid_from).get(entry.key)
    if there is None:
        there = _new_row(owner, entry, came_from=source.pk if source else None)
    else:
        say_anew(there, entry.contents, entry.note, source)
    return Entered(there, doubts(after, entry.key, entry.valid_from))


def held_edition(*, office: Office, key: Key, edition_id: int) -> Row | None:
    """An edition of the owner's own, held with its owner until the scope closes; None where there is none."""
    owner = _held(office)
    found: Row | None = rows_of(owner).select_for_update().filter(pk=edition_id, kind=key[0], slug=key[1]).first()
    return found


def replace_edition(*, by: Actor, office: Office, row: Row, note: str, contents: Mapping[str, object]) -> Entered:
    """Other contents for an edition that no issued quote has used; its row comes from `held_edition`.

    Raises:
        EditionUsedError, EditionWithdrawnError, FollowsNetworkError: it can no longer be replaced, or has no contents.
        NoteMissingError: it began before today.
        CalculationFaults: as `enter_edition`.
    """
    assert_open(office.owner)
    owner = office.owner
    _may_change(row)
    if isinstance(row, ShopEdition) and row.follows_network:
        words = "from this day on the shop follows its network; withdraw that, or enter contents from another day on"
        raise FollowsNetworkError(words, value=row.slug)
    entry = Entry(row.kind, row.slug, row.valid_from, note, contents)
    if row.valid_from < office.today:
        _note_needed(note)
    after = _must_fit(timeline(owner, row.valid_from), entry)
    source = network_in_force(owner, row.valid_from).get(entry.key)
    say_anew(row, contents, note, source)
    return Entered(row, doubts(after, entry.key, row.valid_from))


def withdraw_edition(*, by: Actor, office: Office, row: Row) -> None:
    """Takes an edition back that no issued quote has used: the one before it, or the network's, is in force instead.

    Its row comes from `held_edition`. Days that are over are not looked at.

    Raises:
        EditionUsedError, EditionWithdrawnError: it can no longer be withdrawn.
        EditionNeededError: other editions in force, or every quote, cannot do without it.
    """
    assert_open(office.owner)
    owner = office.owner
    _may_change(row)
    first = max(row.valid_from, office.today)
    before = timeline(owner, first)
    _must_be_spared(before, before.without(owner, row.pk, first), (row.kind, row.slug), first)
    row.withdrawn_on = office.today
    row.version += 1
    row.save(update_fields=["withdrawn_on", "version"])


def follow_network(*, by: Actor, office: Office, key: Key, day: date, note: str) -> Row:
    """Ends a shop's override: from a day on the network's edition is in force again.

    Raises:
        NoOverrideError: on that day the shop has none of its own, or the network has none.
        EditionThereError, EditionUsedError: the shop has an edition of that day.
        NoteMissingError, QuotedSinceError: the day is over, without a note or with a quote on it or since.
        CalculationFaults: everything that would not fit together then.
    """
    shop = cast(Shop, _held(office))
    there = _of_that_day(shop, key, day)
    if there is not None and there.withdrawn_on is None:
        _refuse_twice(there)
    if key not in own_in_force(shop, day):
        raise NoOverrideError(f"the shop has no {key[0]} {key[1]} of its own in force on {day}", value=day.isoformat())
    if key not in network_in_force(shop, day):
        raise NoOverrideError(f"the network has no {key[0]} {key[1]} in force on {day}", value=day.isoformat())
    _may_reach_back(office, key, day, note)
    entry = Entry(*key, day, note, None)
    _must_fit(timeline(shop, day), entry)
    if there is None:
        return _new_row(shop, entry, follows_network=True)
    row = cast(ShopEdition, there)
    row.contents, row.note, row.withdrawn_on, row.follows_network, row.came_from = {}, note, None, True, None
    row.version += 1
    row.save(update_fields=["contents", "note", "withdrawn_on", "follows_network", "came_from", "version"])
    return row


def _held(office: Office) -> Shop | Network:
    """The owner, held until the scope closes: nobody else changes its cost base meanwhile."""
    assert_open(office.owner)
    places: Any = Shop.objects if isinstance(office.owner, Shop) else Network.objects
    # Rows that refer to the owner are still written: their keys do not need what is held here.
    places.select_for_update(no_key=True).get(pk=office.owner.pk)
    return office.owner


def _of_that_day(owner: Shop | Network, key: Key, day: date) -> Row | None:
    found: Row | None = rows_of(owner).select_for_update().filter(kind=key[0], slug=key[1], valid_from=day).first()
    return found


def _refuse_twice(row: Row) -> None:
    if row.used:
        raise _used(row)
    words = f"there is an edition of {row.valid_from}; replace or withdraw it, or choose another day"
    raise EditionThereError(words, field="valid_from", value=row.valid_from.isoformat())


def _used(row: Row) -> EditionUsedError:
    words = f"an issued quote was worked from the edition of {row.valid_from}; expected one of a later day instead"
    return EditionUsedError(words, field="valid_from", value=row.valid_from.isoformat())


def _may_change(row: Row) -> None:
    if row.used:
        raise _used(row)
    if row.withdrawn_on is not None:
        words = f"the edition of {row.valid_from} was withdrawn on {row.withdrawn_on}; enter it anew"
        raise EditionWithdrawnError(words, value=row.withdrawn_on.isoformat())


def _note_needed(note: str) -> None:
    if not note:
        raise NoteMissingError("expected a note that says why, since the day is over", field="note")


def _may_reach_back(office: Office, key: Key, day: date, note: str) -> None:
    if day >= office.today:
        return
    _note_needed(note)
    rows = rows_of(office.owner).filter(kind=key[0], slug=key[1], withdrawn_on=None)
    displaced = rows.filter(valid_from__lte=day).order_by("-valid_from").first()
    following = rows.filter(valid_from__gt=day).order_by("valid_from").first()
    end = following.valid_from if following else date.max
    if office.last_read is not None:
        read = office.last_read(*key, day, end)
    else:
        # Which day it was is not known here, so the whole time until the next edition counts.
        read = min(end, office.today) - timedelta(days=1) if displaced is not None and displaced.used else None
    if read is not None:
        words = f"an issued quote has read {key[0]} {key[1]} until {read}; expected {read + timedelta(days=1)} or later"
        raise QuotedSinceError(words, field="valid_from", value=day.isoformat())


def _must_fit(before: Timeline, entry: Entry) -> Timeline:
    """What is in force with the entry, which fits on every day that it concerns."""
    after = before.with_edition(Begun(entry.kind, entry.slug, entry.valid_from, entry.contents))
    found = misfits(before, after, entry.key, after.days(entry.key, entry.valid_from))
    raise_faults([_in_the_body(fault, f"{entry.kind}/{entry.slug}") for fault in found])
    return after


def _in_the_body(fault: CalculationError, own: str) -> CalculationError:
    """The fault with its field below what was entered; one of another edition names that edition in its words."""
    if fault.field == own or fault.field.startswith(f"{own}/"):
        fault.field = f"contents{fault.field.removeprefix(own)}"
        return fault
    kind, slug, *place = fault.field.split("/")
    where = f"{kind} {slug}" + (f" at {'/'.join(place)}" if place else "")
    words = f"{where}: {fault.message}"
    return CalculationError(words, field="contents", value=fault.value, code=fault.code)


def _must_be_spared(before: Timeline, after: Timeline, key: Key, first: date) -> None:
    found = misfits(before, after, key, before.days(key, first))
    if found:
        words = f"{len(found)} {'thing' if len(found) == 1 else 'things'} in force cannot do without {key[0]} {key[1]}"
        raise EditionNeededError(words, found)


def _new_row(owner: Shop | Network, entry: Entry, **further: Any) -> Row:
    columns = {
        "kind": entry.kind,
        "slug": entry.slug,
        "valid_from": entry.valid_from,
        "note": entry.note,
        "contents": dict(entry.contents or {}),
    }
    if isinstance(owner, Network):
        return NetworkEdition.objects.for_network(owner).create(network=owner, **columns)
    return ShopEdition.objects.for_shop(owner).create(shop=owner, **columns, **further)
