"""How does a file change the cost base: staged, looked at, and then applied whole or not at all?

Staging reads every row, tells every fault with its place, and compares what the file says with what is in force on the day
from which it shall hold. A long file is staged by a run, some hundred rows a chunk. Applying compares once more: where what
is in force is no longer what was looked at, nothing is applied.
"""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any, Final

from django.db import connection
from django.db.models import QuerySet

from costbase.actions.editing import QuotedSinceError
from costbase.actions.editions import Key, assert_open, in_force_contents, own_in_force, write_editions
from costbase.actions.runs import Json, cancel_run, start_run
from costbase.actions.together import Begun, misfits_of_all, timeline
from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.same import Same
from costbase.exchange.csv_tables import open_csv
from costbase.exchange.staging import Opened, Readers, Staged, TableFault
from costbase.exchange.toml_tables import count_toml, open_toml
from costbase.models import Network, NetworkImport, NetworkImportRow, Run, Shop, ShopImport, ShopImportRow
from costbase.models.imports import ADDED, APPLIED, CHANGED, FAULTY, STAGED, STAGING, UNCHANGED
from costbase.models.run import OVER
from costbase.scope import Actor
from costbase.snapshot import RULE, SEVERITY, TIERS

Import = ShopImport | NetworkImport
ImportRow = ShopImportRow | NetworkImportRow
Owner = Shop | Network

# The days from a first on, in order, on which issued quotes of a shop read what was in force under a kind and slug.
DaysRead = Callable[[date], Mapping[Key, Sequence[date]]]

RUN_KIND: Final = "import"
# Up to here a file is staged at once; a longer one in the background, so many rows a chunk.
MOST_AT_ONCE: Final = 500
MOST_BYTES_AT_ONCE: Final = 500_000
ROWS_A_CHUNK: Final = 500
# A table of a thousand unknown fields is one mistake.
MOST_FAULTS_A_ROW: Final = 50
# Quotes look for these under one slug only.
_ALONE: Final = {"rule": RULE, "tiers": TIERS, SEVERITY: SEVERITY}


class ImportStateError(CalculationError):
    """An import is not at the point at which this can be done with it."""

    code = "import_state"


class ImportFaultyError(CalculationError):
    """A file with a fault is not applied."""

    code = "import_faulty"


class InForceChangedError(CalculationError):
    """What is in force is no longer what the file was compared with; `moved` are kind and slug of what is different."""

    code = "in_force_changed"

    def __init__(self, message: str, moved: list[Key]) -> None:
        super().__init__(message, value=len(moved))
        self.moved = moved


@dataclass(frozen=True, slots=True)
class Upload:
    """A file as it was sent. `kind` is that of a table with commas, "" for TOML; `valid_from` the first day of what it says."""

    file: str
    kind: str
    content: bytes
    valid_from: date
    note: str


def imports_of(owner: Owner) -> "QuerySet[Any]":
    """The imports of an owner."""
    return ShopImport.objects.for_shop(owner) if isinstance(owner, Shop) else NetworkImport.objects.for_network(owner)


def rows_of_imports(owner: Owner) -> "QuerySet[Any]":
    """The rows of an owner's imports."""
    return ShopImportRow.objects.for_shop(owner) if isinstance(owner, Shop) else NetworkImportRow.objects.for_network(owner)


def stage_import(*, by: Actor, owner: Owner, upload: Upload, readers: Readers, task: str, now: datetime) -> Import:
    """Stages a file: at once where it is short, else by a run.

    Args:
        by: who sends it.
        owner: whose editions it is to change; the scope is open.
        upload: the file.
        readers: of kinds that the cost base only keeps.
        task: name of the task that stages a chunk by `stage_chunk`.
        now: this moment.
    """
    assert_open(owner)
    opened = open_csv(upload.file, upload.kind, upload.content) if upload.kind else None
    count = len(opened.rows) if opened else count_toml(upload.content)
    at_once = count <= MOST_AT_ONCE and len(upload.content) <= MOST_BYTES_AT_ONCE
    columns = asdict(upload) | {"content": b"" if at_once else upload.content}
    staged: Import = imports_of(owner).create(**_owned(owner), **columns, created=now, created_by=by.person_id)
    if at_once:
        _stage_rows(owner, staged, opened or open_toml(upload.file, upload.content, readers), 0, None)
        finish_staging(owner, staged)
    else:
        run = start_run(
            by=by,
            owner=owner,
            kind=RUN_KIND,
            task=task,
            chunks=_chunks(count),
            closing={},
            params={"import": staged.pk},
            now=now,
        )
        staged.run_id = run.pk
        staged.save(update_fields=["run_id"])
    return staged


def _chunks(count: int) -> list[Json]:
    """Ranges of rows; the last one is open, since a file's tables are only counted when they are parsed."""
    starts = range(0, max(count, 1), ROWS_A_CHUNK)
    return [{"first": first, "end": first + ROWS_A_CHUNK if first + ROWS_A_CHUNK < count else None} for first in starts]


def stage_chunk(*, owner: Owner, import_id: int, part: Json, readers: Readers) -> Json:
    """Stages the rows of one chunk, or with an empty `part`, when all the others are done, compares the whole.

    Raises:
        ImportStateError: the import was discarded meanwhile.
    """
    assert_open(owner)
    staged = imports_of(owner).select_for_update().filter(pk=import_id, state=STAGING).first()
    if staged is None:
        raise ImportStateError("the import was discarded")
    if not part:
        finish_staging(owner, staged)
        return {"faulty": staged.faulty}
    opened = _opened(staged.file, staged.kind, bytes(staged.content), Same(readers))
    return {"rows": _stage_rows(owner, staged, opened, part["first"], part["end"])}


# One worker stages several chunks of a file one after the other: it is taken apart once.
@lru_cache(maxsize=1)
def _opened(file: str, kind: str, content: bytes, readers: Same[Readers]) -> Opened:
    return open_csv(file, kind, content) if kind else open_toml(file, content, readers.value)


_INSERT = """
INSERT INTO {table} ({owner}, of_id, position, place, kind, slug, contents, faults, change)
SELECT %s, %s, r.position, r.place, r.kind, r.slug, r.contents, r.faults, ''
FROM jsonb_to_recordset(%s::jsonb)
    AS r(position int, place text, kind text, slug text, contents jsonb, faults jsonb)
"""


def _stage_rows(owner: Owner, staged: Import, opened: Opened, first: int, end: int | None) -> int:
    """Reads rows and writes what came of each; the file's own faults with the first of them."""
    if opened.faults:
        if first == 0:
            staged.faults = [_fault(fault) for fault in opened.faults]
            staged.save(update_fields=["faults"])
        return 0
    records = []
    for position, row in enumerate(opened.rows[first:end], first + 1):
        read = row.read()
        faults = [] if isinstance(read, Staged) else read
        faults += _alone_faults(opened.file, row.kind, row.slug, row.place)
        records.append(
            {
                "position": position,
                "place": row.place[:200],
                "kind": row.kind[:60],
                "slug": row.slug[:200],
                "contents": read.contents if isinstance(read, Staged) and not faults else None,
                "faults": [_fault(fault) for fault in _first_of(faults, opened.file, row.place)],
            }
        )
    with connection.cursor() as cursor:
        cursor.execute(_for(owner, _INSERT), [owner.pk, staged.pk, json.dumps(records)])
    return len(records)


def _alone_faults(file: str, kind: str, slug: str, place: str) -> list[TableFault]:
    if kind in _ALONE and slug != _ALONE[kind]:
        return [TableFault(file, place, "slug", f"expected {_ALONE[kind]}, under which quotes look for it, not {slug[:40]!r}")]
    return []


def _first_of(faults: list[TableFault], file: str, place: str) -> list[TableFault]:
    more = len(faults) - MOST_FAULTS_A_ROW
    if more <= 0:
        return faults
    return [*faults[:MOST_FAULTS_A_ROW], TableFault(file, place, "", f"and {more} faults more")]


def finish_staging(owner: Owner, staged: Import) -> None:
    """Compares all rows with each other and with what is in force, and lets go of the file."""
    rows: list[ImportRow] = list(rows_of_imports(owner).filter(of_id=staged.pk).order_by("position"))
    present = in_force_contents(owner, staged.valid_from)
    _find_doubles(staged, rows)
    for row in rows:
        row.before = present.get((row.kind, row.slug))
    if not staged.faults and not any(row.faults for row in rows):
        _find_misfits(owner, staged, rows)
    for row in rows:
        row.change = _change(row)
    _write_changes(owner, staged, rows)
    for change in (ADDED, CHANGED, UNCHANGED, FAULTY):
        setattr(staged, change, sum(row.change == change for row in rows))
    staged.state, staged.content = STAGED, b""
    staged.save(update_fields=["state", "content", "faults", "added", "changed", "unchanged", "faulty"])


def _change(row: ImportRow) -> str:
    if row.faults:
        return FAULTY
    if row.before is None:
        return ADDED
    return UNCHANGED if row.before == row.contents else CHANGED


def _find_doubles(staged: Import, rows: Iterable[ImportRow]) -> None:
    seen: dict[Key, str] = {}
    for row in rows:
        earlier = seen.setdefault((row.kind, row.slug), row.place)
        if earlier != row.place and row.contents is not None:
            row.faults = [*row.faults, _fault(TableFault("", row.place, "slug", f"{row.slug} is there already: {earlier}"))]


def _find_misfits(owner: Owner, staged: Import, rows: Sequence[ImportRow]) -> None:
    """Tells what would not fit together at the rows that it speaks about; of other editions, at the file."""
    by_key = {(row.kind, row.slug): row for row in rows}
    for fault in _misfits(owner, _new(rows), staged.valid_from):
        kind, _, rest = fault.field.partition("/")
        slug, _, column = rest.partition("/")
        row = by_key.get((kind, slug))
        if row is None:
            staged.faults = [*staged.faults, _fault(TableFault("", f"{kind} {slug}", column, fault.message))]
        else:
            row.faults = [*row.faults, _fault(TableFault("", row.place, column, fault.message))]


def _new(rows: Iterable[ImportRow]) -> list[Staged]:
    """What applying would put in force."""
    return [
        Staged(row.kind, row.slug, row.contents, row.place)
        for row in rows
        if row.contents is not None and row.contents != row.before
    ]


_UPDATE = """
UPDATE {table} t SET change = r.change, before = r.before, faults = r.faults
FROM jsonb_to_recordset(%s::jsonb) AS r(position int, change text, before jsonb, faults jsonb)
WHERE t.{owner} = %s AND t.of_id = %s AND t.position = r.position
"""


def _write_changes(owner: Owner, staged: Import, rows: Iterable[ImportRow]) -> None:
    told = [{"position": row.position, "change": row.change, "before": row.before, "faults": row.faults} for row in rows]
    with connection.cursor() as cursor:
        cursor.execute(_for(owner, _UPDATE), [json.dumps(told), owner.pk, staged.pk])


def _misfits(owner: Owner, new: Sequence[Staged], day: date) -> list[CalculationError]:
    """What would not fit together on the day, or on a later one on which something else begins."""
    before = timeline(owner, day)
    after = before.with_editions(Begun(entry.kind, entry.slug, day, entry.contents) for entry in new)
    days = {day, *(begun.valid_from for begun in (*before.own, *before.network) if begun.valid_from > day)}
    return misfits_of_all(before, after, {(entry.kind, entry.slug) for entry in new}, sorted(days))


def apply_staged(*, by: Actor, owner: Owner, staged: Import, today: date, days_read: DaysRead | None, now: datetime) -> Import:
    """Puts in force what a staged file adds and changes, whole or not at all.

    Args:
        by: who applies it.
        owner: whose editions they become; the scope is open.
        staged: the import, whose row is locked.
        today: the day it is there.
        days_read: on which days issued quotes of a shop read what; None for a network, which does not see its shops' quotes.
        now: this moment.

    Raises:
        ImportStateError, ImportFaultyError: it is not staged yet, applied already, or has a fault.
        InForceChangedError: what is in force on the day is not what it was when the file was staged.
        QuotedSinceError: it reaches back to a day on which an issued quote read what it would change.
        CalculationFaults: what would not fit together, or editions of that very day that an issued quote has used.
    """
    assert_open(owner)
    if staged.state != STAGED:
        expected = "it is staged still; wait for its run" if staged.state == STAGING else "it was applied before"
        raise ImportStateError(f"expected an import that waits to be applied; {expected}")
    if staged.faulty or staged.faults:
        count = staged.faulty + len(staged.faults)
        raise ImportFaultyError(f"the file has faults in {count} places; put them right and send it again")
    _hold(owner)
    rows = list(rows_of_imports(owner).filter(of_id=staged.pk).order_by("position"))
    present = in_force_contents(owner, staged.valid_from)
    moved = [(row.kind, row.slug) for row in rows if present.get((row.kind, row.slug)) != row.before]
    if moved:
        words = "what is in force has changed since the file was staged; discard the import and send the file again"
        raise InForceChangedError(words, moved)
    new = _new(rows)
    if staged.valid_from < today:
        raise_faults(_quoted_since(owner, new, staged.valid_from, days_read))
    raise_faults(_misfits(owner, new, staged.valid_from))
    write_editions(owner, new, staged.valid_from, staged.note)
    staged.state, staged.applied_at, staged.applied_by = APPLIED, now, by.person_id
    staged.version += 1
    staged.save(update_fields=["state", "applied_at", "applied_by", "version"])
    return staged


def _quoted_since(owner: Owner, new: Sequence[Staged], day: date, days_read: DaysRead | None) -> list[CalculationError]:
    """What issued quotes read while the new editions would be in force; of a network, while its used ones were."""
    keys = {(entry.kind, entry.slug) for entry in new}
    if days_read is None:
        displaced = own_in_force(owner, day)
        since = {key for key in keys if key in displaced and displaced[key].used}
    else:
        ends: dict[Key, date] = {}
        for begun in timeline(owner, day).own:
            if begun.valid_from > day:
                ends.setdefault(begun.key, begun.valid_from)
        read = days_read(day)
        since = {key for key in keys if any(on < ends.get(key, date.max) for on in read.get(key, ()))}
    words = f"an issued quote has read another edition of it on or after {day}; expected a later day"
    return [QuotedSinceError(words, field=f"{kind}/{slug}", value=day.isoformat()) for kind, slug in sorted(since)]


def discard_import(*, by: Actor, owner: Owner, staged: Import, now: datetime) -> None:
    """Forgets an import that was not applied, and ends the run that stages it; its row is locked.

    Raises:
        ImportStateError: it was applied: what it changed stands in the editions, and they are changed there.
    """
    assert_open(owner)
    if staged.state == APPLIED:
        raise ImportStateError("the import was applied; change the editions instead")
    run = Run.objects.select_for_update().filter(pk=staged.run_id or 0).exclude(state__in=OVER).first()
    if run is not None:
        cancel_run(by=by, owner=owner, run=run, now=now)
    rows_of_imports(owner).filter(of_id=staged.pk).delete()
    imports_of(owner).filter(pk=staged.pk).delete()


def _hold(owner: Owner) -> None:
    """Holds the owner until the scope closes: nobody else changes its cost base meanwhile."""
    places: Any = Shop.objects if isinstance(owner, Shop) else Network.objects
    # Rows that refer to the owner are still written: their keys do not need what is held here.
    places.select_for_update(no_key=True).get(pk=owner.pk)


def _owned(owner: Owner) -> dict[str, Owner]:
    return {"shop": owner} if isinstance(owner, Shop) else {"network": owner}


def _for(owner: Owner, statement: str) -> str:
    word = "shop" if isinstance(owner, Shop) else "network"
    return statement.format(table=f"costbase_{word}importrow", owner=f"{word}_id")


def _fault(fault: TableFault) -> Mapping[str, str]:
    return {"place": fault.place, "column": fault.column, "reason": fault.reason}
