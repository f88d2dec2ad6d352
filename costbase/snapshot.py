"""What is in force for one shop on one day, as frozen values?

One statement finds the editions in force: the shop's own before its network's, unless it follows the network again.
Contents are read and parsed only for editions that this process has not seen yet, and the whole set is kept under a digest
that the statement makes of it: while nothing has changed, PostgreSQL answers with one row, and a warm quote costs one small
query.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, TypeVar, cast

from django.db import connection

from costbase.calc.assemblies import Assembly
from costbase.calc.contents import read_kind
from costbase.calc.cost_base import (
    Component,
    Condition,
    CostBase,
    EditionRef,
    Material,
    Price,
    PricingRule,
    ScopePlan,
    SeverityContents,
    TierTable,
    Trade,
)
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.calc.formula import compile_formula
from costbase.calc.measures import names
from costbase.calc.money import currency
from costbase.models import Shop

K = TypeVar("K")
V = TypeVar("V")

# One rule, one table of tiers and one set of severity rules are in force at a time; they stand under these slugs.
RULE = "standard"
TIERS = "standard"
SEVERITY = "severity"

# xmin and ctid name one version of a row: an edition that is replaced gets others, also within one transaction. A digest of the
# contents would say the same, and cost more than pricing the quote.
_VERSION = "xmin::text || ctid::text"
_IN_FORCE = f"""
WITH own AS (
    SELECT DISTINCT ON (kind, slug) 'shop' AS owner, id, {_VERSION} AS version, kind, slug, valid_from, follows_network
    FROM costbase_shopedition
    WHERE shop_id = %(shop)s AND valid_from <= %(day)s AND withdrawn_on IS NULL
    ORDER BY kind, slug, valid_from DESC
), network AS (
    SELECT DISTINCT ON (kind, slug) 'network' AS owner, id, {_VERSION} AS version, kind, slug, valid_from
    FROM costbase_networkedition
    WHERE network_id = %(network)s AND valid_from <= %(day)s AND withdrawn_on IS NULL
    ORDER BY kind, slug, valid_from DESC
), found AS (
    SELECT owner, id, version, kind, slug, valid_from FROM own WHERE NOT follows_network
    UNION ALL
    SELECT * FROM network WHERE NOT EXISTS (
        SELECT FROM own WHERE own.kind = network.kind AND own.slug = network.slug AND NOT own.follows_network
    )
), state AS (
    SELECT encode(sha256(convert_to(coalesce(string_agg(owner || id || version, ' ' ORDER BY owner, id), ''), 'UTF8')), 'hex')
        AS digest
    FROM found
)
SELECT state.digest, found.* FROM state LEFT JOIN found ON state.digest IS DISTINCT FROM %(known)s
"""
_CONTENTS = f"""
SELECT 'shop', id, {_VERSION}, contents FROM costbase_shopedition WHERE shop_id = %(shop)s AND id = ANY(%(own)s)
UNION ALL
SELECT 'network', id, {_VERSION}, contents FROM costbase_networkedition WHERE network_id = %(network)s AND id = ANY(%(ours)s)
"""

Parsed = Trade | Material | Price | Assembly | Condition | ScopePlan | PricingRule | Component | TierTable | SeverityContents


class NotInForceError(CalculationError):
    """Something that every quote needs has no edition in force on the day."""

    code = "not_in_force"


class EditionUnreadableError(CalculationError):
    """An edition in force whose contents mean nothing; none is ever saved, but a table can be written past the service."""

    code = "edition_unreadable"


@dataclass(frozen=True, slots=True)
class _Edition:
    """One edition in force; owner, id and version are the key that its value is kept under."""

    owner: str
    id: int
    version: str
    kind: str
    slug: str
    valid_from: date

    @property
    def key(self) -> "_Key":
        return self.owner, self.id, self.version


_Key = tuple[str, int, str]
InForce = Mapping[str, Mapping[str, Parsed]]  # by kind and slug

# Bounds of the memos: a process that serves more than this reads again, and never grows without end.
_MOST_PARSED = 20_000
_MOST_SETS = 500
_parsed: dict[_Key, Parsed] = {}
_sets: dict[str, InForce] = {}
_last_digest: dict[int, str] = {}  # of each shop, as this process saw it last


def in_force(shop: Shop, day: date) -> InForce:
    """Every edition in force for a shop on a day, by kind and slug; one query while nothing has changed.

    Raises:
        EditionUnreadableError: an edition whose contents are damaged.
    """
    # Looked up once: another thread may empty the memos at any moment.
    known = _last_digest.get(shop.pk, "")
    held = _sets.get(known)
    with connection.cursor() as cursor:
        told: str | None = None if held is None else known
        cursor.execute(_IN_FORCE, {"shop": shop.pk, "network": shop.network_id, "day": day, "known": told})
        rows = cursor.fetchall()
    digest = cast(str, rows[0][0])
    if held is not None and digest == known:
        return held
    found = _grouped(shop, [_Edition(*row[1:]) for row in rows if row[1] is not None])
    _keep(_sets, digest, found, _MOST_SETS)
    _keep(_last_digest, shop.pk, digest, _MOST_SETS)
    return found


_OVER_TIME = f"""
SELECT 'shop', id, {_VERSION}, kind, slug, valid_from, follows_network, contents FROM costbase_shopedition
WHERE shop_id = %(shop)s AND valid_from <= %(until)s AND withdrawn_on IS NULL
    AND (kind, slug) IN (SELECT * FROM unnest(%(kinds)s::text[], %(slugs)s::text[]))
UNION ALL
SELECT 'network', id, {_VERSION}, kind, slug, valid_from, false, contents FROM costbase_networkedition
WHERE network_id = %(network)s AND valid_from <= %(until)s AND withdrawn_on IS NULL
    AND (kind, slug) IN (SELECT * FROM unnest(%(kinds)s::text[], %(slugs)s::text[]))
"""


class OverTime:
    """The editions of a few slugs up to a day: which of them was in force when."""

    def __init__(self, found: Iterable[tuple[_Edition, Parsed | None]]) -> None:
        # The newest first, so that the first one of a day or before is in force on it.
        self._of: dict[tuple[str, str, str], list[tuple[date, Parsed | None]]] = {}
        for edition, value in sorted(found, key=lambda each: each[0].valid_from, reverse=True):
            self._of.setdefault((edition.owner, edition.kind, edition.slug), []).append((edition.valid_from, value))

    def on(self, kind: str, slug: str, day: date) -> Parsed | None:
        """What was in force on a day: the shop's own, unless it followed its network then; None where nothing was."""
        own = self._last("shop", kind, slug, day)
        return self._last("network", kind, slug, day) if own is None else own

    def _last(self, owner: str, kind: str, slug: str, day: date) -> Parsed | None:
        # An edition that follows the network says nothing itself.
        return next((value for begins, value in self._of.get((owner, kind, slug), []) if begins <= day), None)


def over_time(shop: Shop, wanted: Iterable[tuple[str, str]], until: date) -> OverTime:
    """Every edition of these kinds and slugs up to a day, in one query however many days are asked about.

    Raises:
        EditionUnreadableError: an edition whose contents are damaged.
    """
    pairs = sorted(set(wanted))
    with connection.cursor() as cursor:
        kinds, slugs = [kind for kind, _ in pairs], [slug for _, slug in pairs]
        cursor.execute(
            _OVER_TIME, {"shop": shop.pk, "network": shop.network_id, "until": until, "kinds": kinds, "slugs": slugs}
        )
        rows = cursor.fetchall()
    found: list[tuple[_Edition, Parsed | None]] = []
    for owner, id_, version, kind, slug, valid_from, follows, contents in rows:
        edition = _Edition(owner, id_, version, kind, slug, valid_from)
        value = None if follows else _parsed.get(edition.key)
        if value is None and not follows:
            value = _parse(edition, json.loads(contents))
            _keep(_parsed, edition.key, value, _MOST_PARSED)
        found.append((edition, value))
    return OverTime(found)


def cost_base(shop: Shop, day: date, plan: str) -> CostBase:
    """The cost base of a shop on a day with one scope plan chosen.

    Raises:
        NotInForceError: no such plan, no pricing rule, no tier table or no severity rules in force.
        EditionUnreadableError: an edition whose contents are damaged.
    """
    return laid_out(in_force(shop, day), shop, day, plan)


def laid_out(kinds: InForce, shop: Shop, day: date, plan: str) -> CostBase:
    """The cost base that editions come to, in force or laid over those (`costbase/actions/drafts.py`).

    Raises:
        NotInForceError: as `cost_base`.
    """
    return CostBase(
        currency=currency(shop.currency),
        priced_on=day.isoformat(),
        trades=cast(dict[str, Trade], kinds.get("rate", {})),
        materials=cast(dict[str, Material], kinds.get("material", {})),
        prices=cast(dict[str, Price], kinds.get("price", {})),
        assemblies=cast(dict[str, Assembly], kinds.get("assembly", {})),
        conditions=cast(dict[str, Condition], kinds.get("condition", {})),
        plan=cast(ScopePlan, _one(kinds, "plan", plan, day, field="plan")),
        rule=cast(PricingRule, _one(kinds, "rule", RULE, day)),
        components=cast(dict[str, Component], kinds.get("component", {})),
        tiers=cast(TierTable, _one(kinds, "tiers", TIERS, day)),
        severity=cast(SeverityContents, _one(kinds, "severity", SEVERITY, day)),
    )


def _one(kinds: InForce, kind: str, slug: str, day: date, *, field: str = "") -> Parsed:
    of_kind = kinds.get(kind, {})
    if slug not in of_kind:
        known = ", ".join(sorted(of_kind)) or "none"
        raise NotInForceError(f"no {kind} '{slug}' is in force on {day}; in force: {known}", field=field, value=slug)
    return of_kind[slug]


def _grouped(shop: Shop, found: list[_Edition]) -> InForce:
    values = _values(shop, found)
    kinds: dict[str, dict[str, Parsed]] = {}
    for edition in found:
        kinds.setdefault(edition.kind, {})[edition.slug] = values[edition.key]
    return kinds


def _values(shop: Shop, found: Iterable[_Edition]) -> dict[_Key, Parsed]:
    """The value of every edition, parsed where this process has not seen that version of it."""
    kept = {edition.key: _parsed.get(edition.key) for edition in found}
    values = {key: value for key, value in kept.items() if value is not None}
    new = {(edition.owner, edition.id): edition for edition in found if edition.key not in values}
    if not new:
        return values
    ids = {owner: [id_ for of, id_ in new if of == owner] for owner in ("shop", "network")}
    with connection.cursor() as cursor:
        cursor.execute(
            _CONTENTS,
            {"shop": shop.pk, "network": shop.network_id, "own": ids["shop"], "ours": ids["network"]},
        )
        rows = cursor.fetchall()
    for owner, id_, version, contents in rows:
        edition = new[owner, id_]
        # Django leaves JSON columns of a plain cursor as text.
        value = _parse(edition, json.loads(contents))
        values[edition.key] = value
        # One that was replaced between the two statements is used this once, and kept under the version that was read.
        _keep(_parsed, (owner, id_, version), value, _MOST_PARSED)
    return values


def _parse(edition: _Edition, contents: Any) -> Parsed:
    ref = EditionRef(edition.kind, edition.slug, edition.owner, edition.valid_from.isoformat())
    if edition.kind == "severity":
        return SeverityContents(contents, ref)
    try:
        value = read_kind(edition.kind, contents, ref)
        _compile(value)
    except CalculationError as fault:
        raise unreadable(ref, fault) from fault
    return value


def _compile(value: Parsed) -> None:
    """Compiles the formulas of an edition, so that one that means nothing is told with the edition's name."""
    if isinstance(value, Assembly):
        rates, needs = [rate.rate for rate in value.labour], [need.quantity for need in value.materials]
        for text in (value.applies, value.driver, *rates, *needs):
            compile_formula(text, names(value.level))
        if value.elapsed:
            compile_formula(value.elapsed, names("quote"))
    elif isinstance(value, Component):
        compile_formula(value.exposure, names("section"))


def unreadable(edition: EditionRef, fault: CalculationError) -> EditionUnreadableError:
    """The refusal of an edition for what is wrong with its contents; the first of several faults is told."""
    first = fault.faults[0] if isinstance(fault, CalculationFaults) else fault
    place = f" at {first.field}" if first.field else ""
    return EditionUnreadableError(f"the {edition.words()} cannot be read{place}: {first.message}; enter it again")


def _keep(memo: dict[K, V], key: K, value: V, most: int) -> None:
    if len(memo) >= most:
        memo.clear()
    memo[key] = value


def forget() -> None:
    """Empties the memos, so that a benchmark can measure a cold process."""
    for memo in (_parsed, _sets, _last_digest):
        memo.clear()
