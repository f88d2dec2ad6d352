"""How do staged files become editions, whole or not at all?

What a file says is compared with what is in force on the day, of a shop its own before its network's: the same contents make no
new edition, so that importing a file twice changes nothing, and importing what the network says already makes no override.
Before anything is written, everything that would be in force is checked together.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import connection

from costbase.calc.checks import Editions, check_editions
from costbase.calc.contents import canonical_json, read_kind
from costbase.calc.contents_table import KINDS, Edited
from costbase.calc.cost_base import EditionRef
from costbase.calc.errors import CalculationError, raise_faults
from costbase.exchange.staging import Staged
from costbase.models import Network, NetworkEdition, Shop, ShopEdition
from costbase.scope import Actor, assert_network_scope, assert_scope
from costbase.snapshot import SEVERITY

Key = tuple[str, str]  # kind and slug
Row = ShopEdition | NetworkEdition


class EditionKindError(CalculationError):
    """A kind of edition that there is not."""

    code = "unknown_kind"


class EditionUsedError(CalculationError):
    """An edition that an issued quote was worked from can only be followed by one of a later day."""

    code = "edition_used"


@dataclass(frozen=True, slots=True)
class Difference:
    """What an import changes, as kind and slug: new under their slug, other contents than in force, and the same contents."""

    added: tuple[Key, ...]
    changed: tuple[Key, ...]
    unchanged: tuple[Key, ...]


def import_difference(*, owner: Shop | Network, staged: Iterable[Staged], valid_from: date) -> Difference:
    """What `apply_import` would do on that day; writes nothing."""
    assert_open(owner)
    present = in_force_contents(owner, valid_from)
    told: dict[str, list[Key]] = {"added": [], "changed": [], "unchanged": []}
    for entry in staged:
        key = (entry.kind, entry.slug)
        before = present.get(key)
        word = "added" if before is None else "unchanged" if before == _stored(entry) else "changed"
        told[word].append(key)
    return Difference(tuple(told["added"]), tuple(told["changed"]), tuple(told["unchanged"]))


def apply_import(*, by: Actor, owner: Shop | Network, staged: Sequence[Staged], valid_from: date) -> Difference:
    """Puts staged editions of a shop or network in force from a day on; returns what that changed.

    Contents that are in force on the day already make no new edition. Severity rules are kept as they come: who grades roofs
    by them has read them before.

    Args:
        by: who imports; history takes the author from the open scope.
        owner: the shop or network, whose scope is open.
        staged: editions without faults, each kind and slug once.
        valid_from: first day of the new editions, in the shop's calendar.

    Raises:
        CalculationFaults: everything that would not fit together, each with a field such as ``assembly/skin-off/driver``, or
            every edition of that very day that an issued quote has used (EditionUsedError). Nothing is written then.
        EditionKindError: there is no such kind of edition.
    """
    difference = import_difference(owner=owner, staged=staged, valid_from=valid_from)
    wanted = {*difference.added, *difference.changed}
    new = [entry for entry in staged if (entry.kind, entry.slug) in wanted]
    if new:
        _check_together(owner, new, valid_from)
        write_editions(owner, new, valid_from, "")
    return difference


def assert_open(owner: Shop | Network) -> None:
    """The owner's scope is open, in which its rows can be written.

    Raises:
        RuntimeError: it is not.
    """
    if isinstance(owner, Shop):
        assert_scope(owner.pk)
    else:
        assert_network_scope(owner.pk)


def rows_of(owner: Shop | Network) -> Any:
    """The owner's editions, as a query."""
    return ShopEdition.objects.for_shop(owner) if isinstance(owner, Shop) else NetworkEdition.objects.for_network(owner)


def own_in_force(owner: Shop | Network, day: date) -> dict[Key, Row]:
    """The owner's own editions in force on a day; where a shop follows its network again it has none."""
    own = _newest(rows_of(owner), day)
    return {key: row for key, row in own.items() if not (isinstance(row, ShopEdition) and row.follows_network)}


def network_in_force(owner: Shop | Network, day: date) -> dict[Key, Row]:
    """What the network of a shop has in force; of a network, nothing beside its own."""
    return _newest(NetworkEdition.objects.for_network(owner.network_id), day) if isinstance(owner, Shop) else {}


def in_force_contents(owner: Shop | Network, day: date) -> dict[Key, Any]:
    """The contents of everything in force on a day: of a shop its own editions, and its network's under all other slugs."""
    present = {**network_in_force(owner, day), **own_in_force(owner, day)}
    return {key: row.contents for key, row in present.items()}


def _newest(rows: Any, day: date) -> dict[Key, Row]:
    newest = rows.filter(valid_from__lte=day, withdrawn_on=None).order_by("kind", "slug", "-valid_from")
    return {(row.kind, row.slug): row for row in newest.distinct("kind", "slug")}


def _stored(entry: Staged) -> Any:
    """Contents as they come back from a JSON column."""
    return json.loads(canonical_json(entry.contents))


def _check_together(owner: Shop | Network, new: Iterable[Staged], day: date) -> None:
    """Checks what will be in force on the day: the network's editions under the shop's own under the new ones."""
    contents = in_force_contents(owner, day)
    contents.update({(entry.kind, entry.slug): entry.contents for entry in new})
    values: dict[Key, Edited] = {}
    for (kind, slug), table in contents.items():
        if kind in KINDS:
            values[kind, slug] = read_kind(kind, table, EditionRef(kind, slug, _owner_word(owner), day.isoformat()))
        elif kind != SEVERITY:
            known = ", ".join((*KINDS, SEVERITY))
            raise EditionKindError(f"expected one of {known}, not {kind!r}", field=f"{kind}/{slug}", value=kind)
    check_editions(beside(values))


def beside(values: Mapping[Key, Edited]) -> Editions:
    """The values by kind, as they are checked beside each other."""
    kinds: dict[str, dict[str, Any]] = {kind: {} for kind in KINDS}
    for (kind, slug), value in values.items():
        kinds[kind][slug] = value
    return Editions(
        trades=kinds["rate"],
        materials=kinds["material"],
        prices=kinds["price"],
        assemblies=kinds["assembly"],
        plans=kinds["plan"],
        conditions=kinds["condition"],
        components=kinds["component"],
        rules=kinds["rule"],
    )


def _owner_word(owner: Shop | Network) -> str:
    return "shop" if isinstance(owner, Shop) else "network"


# Editions of that very day, withdrawn or not, take the new contents; all others are new rows.
_WRITE_SHOPS = """
INSERT INTO costbase_shopedition AS e
    (shop_id, kind, slug, valid_from, contents, came_from, note, follows_network, version, used, created)
SELECT %(owner)s, r.kind, r.slug, %(day)s, r.contents, r.came_from, %(note)s, false, 1, false, now()
FROM jsonb_to_recordset(%(rows)s::jsonb) AS r(kind text, slug text, contents jsonb, came_from bigint)
ON CONFLICT (shop_id, kind, slug, valid_from) DO UPDATE
    SET contents = EXCLUDED.contents, came_from = EXCLUDED.came_from, note = EXCLUDED.note, follows_network = false,
        withdrawn_on = NULL, version = e.version + 1
    WHERE NOT e.used
"""
_WRITE_NETWORKS = """
INSERT INTO costbase_networkedition AS e (network_id, kind, slug, valid_from, contents, note, version, used, created)
SELECT %(owner)s, r.kind, r.slug, %(day)s, r.contents, %(note)s, 1, false, now()
FROM jsonb_to_recordset(%(rows)s::jsonb) AS r(kind text, slug text, contents jsonb)
ON CONFLICT (network_id, kind, slug, valid_from) DO UPDATE
    SET contents = EXCLUDED.contents, note = EXCLUDED.note, withdrawn_on = NULL, version = e.version + 1
    WHERE NOT e.used
"""


def write_editions(owner: Shop | Network, new: Iterable[Staged], day: date, note: str) -> None:
    """Writes editions with one statement, once somebody has seen that they fit together.

    Raises:
        EditionUsedError: an issued quote has used an edition of that very day; with several, CalculationFaults.
    """
    entries = {(entry.kind, entry.slug): entry for entry in new}
    used = rows_of(owner).filter(valid_from=day, used=True)
    raise_faults([used_error(row) for row in used if (row.kind, row.slug) in entries])
    sources = {key: row.pk for key, row in network_in_force(owner, day).items()}
    rows = [{"kind": k, "slug": s, "contents": e.contents, "came_from": sources.get((k, s))} for (k, s), e in entries.items()]
    with connection.cursor() as cursor:
        statement = _WRITE_SHOPS if isinstance(owner, Shop) else _WRITE_NETWORKS
        cursor.execute(statement, {"owner": owner.pk, "day": day, "note": note, "rows": canonical_json(rows)})
        if cursor.rowcount < len(rows):
            # A quote that was issued in this very moment.
            raise EditionUsedError("an issued quote has just used an edition of that day; expected a later day")


def used_error(row: Row) -> CalculationError:
    """The refusal to change an edition that an issued quote has read."""
    words = f"an issued quote was worked from the edition of {row.valid_from}; expected a later day for other contents"
    return EditionUsedError(words, field=f"{row.kind}/{row.slug}", value=row.valid_from.isoformat())


def say_anew(row: Row, contents: Any, note: str, source: Row | None) -> None:
    """Gives an edition that no issued quote has used other contents; one that was withdrawn is back with them.

    Args:
        row: the edition, which the caller holds.
        contents: in normal form.
        note: why.
        source: the network's edition in force on its first day, which it overrides; None for none.
    """
    row.contents, row.note, row.withdrawn_on = contents, note, None
    row.version += 1
    columns = ["contents", "note", "withdrawn_on", "version"]
    if isinstance(row, ShopEdition):
        row.follows_network, row.came_from = False, source.pk if source else None
        columns += ["follows_network", "came_from"]
    row.save(update_fields=columns)
