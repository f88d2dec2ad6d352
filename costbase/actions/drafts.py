"""What would be in force on a day, if drafts of editions were? Writes nothing.

A draft states new contents, or follows the network again, or withdraws the shop's edition in force. Drafts are laid over what
is in force and checked beside all of it, as on saving; every fault is told at once, with its place in the list of drafts.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, cast

from costbase.actions.editing import NoOverrideError
from costbase.actions.editions import EditionUsedError, Key, beside
from costbase.actions.together import left_without
from costbase.calc.checks import Doubt, check_editions
from costbase.calc.contents import read_kind
from costbase.calc.contents_table import KINDS, Edited
from costbase.calc.cost_base import EditionRef, SeverityContents
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.calc.fields import at
from costbase.models import NetworkEdition, Shop, ShopEdition
from costbase.scope import assert_scope
from costbase.snapshot import SEVERITY, InForce, Parsed, in_force, unreadable

ReadSeverity = Callable[[Mapping[str, object]], dict[str, object]]


class DraftError(CalculationError):
    """A draft that means nothing beside what is in force."""

    code = "bad_draft"


@dataclass(frozen=True, slots=True)
class EditionDraft:
    """One draft: new `contents`, or `way` "follow_network" or "withdrawn" without any."""

    kind: str
    slug: str
    way: str  # "contents", "follow_network" or "withdrawn"
    contents: Mapping[str, object] | None = None


@dataclass(frozen=True, slots=True)
class LaidDraft:
    """What a draft replaces and what it puts there; None for nothing. `same` where it says what is in force already."""

    draft: EditionDraft
    replaced: EditionRef | None
    put: EditionRef | None
    same: bool


@dataclass(frozen=True, slots=True)
class Overlay:
    """What is in force on the day, and what would be with the drafts; `doubts` are about the drafts."""

    without: InForce
    with_drafts: InForce
    drafts: tuple[LaidDraft, ...]
    doubts: tuple[Doubt, ...]


def lay_over(*, shop: Shop, day: date, drafts: Sequence[EditionDraft], read_severity: ReadSeverity) -> Overlay:
    """Lays drafts over what is in force for a shop on a day.

    Args:
        shop: whose scope is open.
        day: on which the drafts would be in force.
        drafts: each kind and slug once.
        read_severity: the normal form of severity rules, which the cost base keeps as data; raises what is wrong with them.

    Raises:
        CalculationFaults: everything that is wrong, each with a field such as ``0/contents/driver`` below the list of drafts;
            a fault of an edition that no draft is about has an empty one, and its words name that edition.
        EditionUnreadableError: an edition in force whose contents are damaged.
    """
    assert_scope(shop.pk)
    present = in_force(shop, day)
    faults: list[CalculationError] = list(_twice(drafts))
    behind = _Behind.read(shop, day, drafts)
    laid: dict[str, dict[str, Parsed]] = {kind: dict(of_kind) for kind, of_kind in present.items()}
    told = []
    for place, draft in enumerate(drafts):
        try:
            told.append(_lay(draft, day, laid, behind, read_severity))
        except CalculationError as fault:
            faults += _below(fault, str(place))
    if faults:
        raise CalculationFaults(faults)
    return Overlay(present, laid, tuple(told), _checked(present, laid, drafts))


def _lay(
    draft: EditionDraft, day: date, laid: dict[str, dict[str, Parsed]], behind: "_Behind", read_severity: ReadSeverity
) -> LaidDraft:
    of_kind = laid.setdefault(draft.kind, {})
    present = of_kind.get(draft.slug)
    put = _value(draft, day, behind, read_severity)
    before, after = _ref(present), _ref(put)
    if put is not None and before is not None and replace(put, edition=before) == present:
        return LaidDraft(draft, before, after, True)
    if put is None:
        of_kind.pop(draft.slug, None)
    else:
        of_kind[draft.slug] = put
    return LaidDraft(draft, before, after, False)


def _value(draft: EditionDraft, day: date, behind: "_Behind", read_severity: ReadSeverity) -> Parsed | None:
    if draft.kind not in KINDS and draft.kind != SEVERITY:
        known = ", ".join((*KINDS, SEVERITY))
        raise DraftError(f"expected one of {known}, not {draft.kind!r}", field="kind", value=draft.kind)
    if draft.way == "contents":
        ref = EditionRef(draft.kind, draft.slug, "shop", day.isoformat())
        return _read(ref, draft.contents or {}, read_severity)
    return behind.follow(draft) if draft.way == "follow_network" else behind.withdraw(draft)


def _read(ref: EditionRef, contents: Mapping[str, object], read_severity: ReadSeverity) -> Parsed:
    try:
        if ref.kind == SEVERITY:
            return SeverityContents(read_severity(contents), ref)
        return read_kind(ref.kind, contents, ref)
    except CalculationError as fault:
        # The slug stands beside the contents, not in them.
        faults = [one if one.field == "slug" else one.under("contents") for one in _single(fault)]
        raise CalculationFaults(faults) from fault


@dataclass(frozen=True, slots=True)
class _Behind:
    """What stands behind the shop's editions in force: its own of that day and earlier, newest first, and the network's."""

    own: Mapping[Key, Sequence[ShopEdition]]
    network: Mapping[Key, NetworkEdition]

    @classmethod
    def read(cls, shop: Shop, day: date, drafts: Iterable[EditionDraft]) -> "_Behind":
        """Two queries where a draft follows or withdraws, none otherwise."""
        asked = [draft for draft in drafts if draft.way != "contents"]
        if not asked:
            return cls({}, {})
        named: dict[str, Any] = {"kind__in": [d.kind for d in asked], "slug__in": [d.slug for d in asked]}
        named |= {"valid_from__lte": day, "withdrawn_on": None}
        own: dict[Key, list[ShopEdition]] = {}
        for row in ShopEdition.objects.for_shop(shop).filter(**named).order_by("-valid_from"):
            own.setdefault((row.kind, row.slug), []).append(row)
        newest_last = NetworkEdition.objects.for_network(shop.network_id).filter(**named).order_by("valid_from")
        return cls(own, {(row.kind, row.slug): row for row in newest_last})

    def follow(self, draft: EditionDraft) -> Parsed:
        """The network's edition in the place of the shop's."""
        if self._newest(draft).follows_network:
            raise NoOverrideError(f"the shop follows its network's {draft.kind} {draft.slug} already", field="follow_network")
        of_network = self._of_network(draft)
        if of_network is None:
            words = f"the network has no {draft.kind} {draft.slug} in force on the day"
            raise NoOverrideError(words, field="follow_network")
        return of_network

    def withdraw(self, draft: EditionDraft) -> Parsed | None:
        """What comes in force when the shop's edition goes: its own before that, else the network's, else nothing."""
        newest = self._newest(draft)
        if newest.used:
            words = f"an issued quote was worked from the edition of {newest.valid_from}; expected drafts that follow it"
            raise EditionUsedError(words, field="withdrawn", value=newest.valid_from.isoformat())
        before = self.own[draft.kind, draft.slug][1:2]
        if before and not before[0].follows_network:
            return _stored(before[0], "shop")
        return self._of_network(draft)

    def _newest(self, draft: EditionDraft) -> ShopEdition:
        rows = self.own.get((draft.kind, draft.slug))
        if not rows:
            words = f"the shop has no {draft.kind} {draft.slug} of its own in force on the day"
            raise NoOverrideError(words, field="slug", value=draft.slug)
        return rows[0]

    def _of_network(self, draft: EditionDraft) -> Parsed | None:
        row = self.network.get((draft.kind, draft.slug))
        return None if row is None else _stored(row, "network")


def _stored(row: ShopEdition | NetworkEdition, owner: str) -> Parsed:
    ref = EditionRef(row.kind, row.slug, owner, row.valid_from.isoformat())
    if row.kind == SEVERITY:
        return SeverityContents(row.contents, ref)
    try:
        return read_kind(row.kind, row.contents, ref)
    except CalculationError as fault:
        raise unreadable(ref, fault) from fault


def _checked(present: InForce, laid: InForce, drafts: Sequence[EditionDraft]) -> tuple[Doubt, ...]:
    """Checks everything that would be in force together; what did not fit before is not the drafts' to put right.

    Returns:
        The doubts about drafts, with the fields of faults.
    """
    places = {f"{draft.kind}/{draft.slug}": f"{place}/contents" for place, draft in enumerate(drafts)}
    values = _edited(laid)
    doubts, faults = _beside(values)
    if faults:
        known = {(fault.field, fault.message) for fault in _beside(_edited(present))[1]}
        faults = [fault for fault in faults if _place(fault.field, places) or (fault.field, fault.message) not in known]
    faults += left_without(_keys(present) - _keys(laid), values)
    for fault in faults:
        _point(fault, places)
    if faults:
        raise CalculationFaults(faults)
    about = ((doubt, _place(doubt.field, places)) for doubt in doubts)
    return tuple(Doubt(place, doubt.message) for doubt, place in about if place)


def _beside(values: Mapping[Key, Edited]) -> tuple[tuple[Doubt, ...], list[CalculationError]]:
    try:
        return check_editions(beside(values)), []
    except CalculationFaults as several:
        return (), list(several.faults)


def _edited(kinds: InForce) -> dict[Key, Edited]:
    return {(kind, slug): cast(Edited, value) for kind in KINDS for slug, value in kinds.get(kind, {}).items()}


def _keys(kinds: InForce) -> set[Key]:
    return {(kind, slug) for kind, of_kind in kinds.items() for slug in of_kind}


def _point(fault: CalculationError, places: Mapping[str, str]) -> None:
    """Points a fault of an edition at the draft that it is about, or has its words name the edition in force."""
    place = _place(fault.field, places)
    if not place:
        kind, _, rest = fault.field.partition("/")
        slug, _, part = rest.partition("/")
        fault.message = f"{kind} {slug}, in force, no longer fits" + (f" at {part}" if part else "") + f": {fault.message}"
    fault.field = place


def _place(field: str, places: Mapping[str, str]) -> str:
    kind, _, rest = field.partition("/")
    slug, _, part = rest.partition("/")
    place = places.get(f"{kind}/{slug}", "")
    return at(place, part) if place and part else place


def _twice(drafts: Sequence[EditionDraft]) -> Iterable[CalculationError]:
    seen: set[Key] = set()
    for place, draft in enumerate(drafts):
        key = (draft.kind, draft.slug)
        if key in seen:
            yield DraftError(f"{draft.kind} '{draft.slug}' is drafted already, further up", field=str(place), value=draft.slug)
        seen.add(key)


def _below(fault: CalculationError, place: str) -> list[CalculationError]:
    return [one.under(place) for one in _single(fault)]


def _single(fault: CalculationError) -> tuple[CalculationError, ...]:
    return fault.faults if isinstance(fault, CalculationFaults) else (fault,)


def _ref(value: Parsed | None) -> EditionRef | None:
    return None if value is None else cast(EditionRef, value.edition)
