"""How does an edition become the value that quotes are priced with, and a cost base become JSON and back?

An edition is kept, imported and exported as contents: a JSON-like table whose slug and day stand outside it.
A quote keeps all that it read as one bundle, under a fingerprint; the same bundle comes out of it again.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from functools import lru_cache
from typing import TypeVar, cast

from costbase.calc.assemblies import Assembly
from costbase.calc.contents_table import KINDS, ContentKind, Edited
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
from costbase.calc.fields import (
    SLUG_TEXT,
    Codec,
    ContentsError,
    at,
    by_name,
    field,
    read_table,
    table_of,
    text,
    write_table,
)
from costbase.calc.money import Currency, currency
from costbase.calc.same import Same

E = TypeVar("E", Trade, Material, Price, Assembly, ScopePlan, Condition, PricingRule, Component, TierTable)

_OF_VALUE: dict[type, ContentKind] = {cast(type, kind.value): kind for kind in KINDS.values()}
_REF = (
    field("kind", SLUG_TEXT),
    field("slug", SLUG_TEXT),
    field("owner", text(40)),
    field("valid_from", text(10)),
)
# More than any shop has; a bundle beyond it is no bundle of ours.
_MOST_ENTRIES = 5000
# The parts of a bundle that hold many values by slug, and those that hold one; each with its kind of edition.
_BY_SLUG = {
    "trades": "rate",
    "materials": "material",
    "prices": "price",
    "assemblies": "assembly",
    "conditions": "condition",
    "components": "component",
}
_SINGLE = {"plan": "plan", "rule": "rule", "tiers": "tiers"}
# In which part of a bundle editions of a kind stand; of those in the second there is one, with its slug in its edition.
PART_BY_SLUG = {kind: part for part, kind in _BY_SLUG.items()}
PART_ALONE = {**{kind: part for part, kind in _SINGLE.items()}, "severity": "severity"}


def read(kind: type[E], contents: object, edition: EditionRef) -> E:
    """The value of an edition.

    Args:
        kind: the class of the value, such as `Material`.
        contents: the JSON-like table of fields.
        edition: whose it is and from when; its slug is the value's.

    Raises:
        CalculationFaults: every field that is missing, unknown or not as expected, with its path.
    """
    return cast(E, read_kind(_OF_VALUE[kind].name, contents, edition))


def read_kind(kind: str, contents: object, edition: EditionRef) -> Edited:
    """As `read`, for a kind known by its name ("material").

    Raises:
        ContentsError: no such kind.
        CalculationFaults: as `read`.
    """
    entry = KINDS.get(kind)
    if entry is None:
        raise ContentsError(f"expected one of {', '.join(KINDS)}, not {kind!r}", field="kind", value=kind)
    faults: list[CalculationError] = []
    try:
        SLUG_TEXT.read(edition.slug, "slug")
    except CalculationError as fault:
        faults.append(fault)
    try:
        values = read_table(contents, entry.fields)
    except CalculationFaults as several:
        raise CalculationFaults([*faults, *several.faults]) from None
    slug = {entry.slug_field: edition.slug} if entry.slug_field else {}
    made = entry.value(**slug, **values, edition=edition)
    faults.extend(entry.faults(made))
    if faults:
        raise CalculationFaults(faults)
    return made


def write(value: Edited) -> dict[str, object]:
    """The contents of a value in their normal form: `read` makes the same value of them."""
    return write_table(lambda name: getattr(value, name), _OF_VALUE[type(value)].fields)


def to_contents(cost_base: CostBase) -> dict[str, object]:
    """The bundle as JSON-like data: texts, numbers, yes/no, lists and tables only."""
    return write_table(lambda name: getattr(cost_base, name), _BUNDLE)


def from_contents(bundle: object) -> CostBase:
    """The bundle that `to_contents` wrote.

    Raises:
        CalculationFaults: everything that is missing, unknown or not as expected, with its path.
    """
    parts = read_table(bundle, _BUNDLE)
    return _make_cost_base(**parts)


def canonical_json(data: object) -> str:
    """The one text of JSON-like data: keys in order, no spaces, ASCII, no number that is not finite.

    Raises:
        ValueError: a number that is not finite.
    """
    return json.dumps(data, sort_keys=True, separators=(",", ":"), ensure_ascii=True, allow_nan=False)


def bundle_json(cost_base: CostBase) -> str:
    """The bundle as its canonical JSON: ``canonical_json(to_contents(cost_base))``, with the text of each edition made once."""
    parts = {name: _group_json(getattr(cost_base, name)) for name in _BY_SLUG}
    parts |= {name: _entry_json(Same(getattr(cost_base, name))) for name in (*_SINGLE, "severity")}
    parts |= {"currency": canonical_json(cost_base.currency.code), "priced_on": canonical_json(cost_base.priced_on)}
    return _object_json(parts)


def fingerprint(cost_base: CostBase) -> str:
    """SHA-256 of the bundle's canonical JSON, in hexadecimal; the order of entries does not move it."""
    return fingerprint_of(bundle_json(cost_base))


def fingerprint_of(bundle: str) -> str:
    """The fingerprint of a bundle that `bundle_json` wrote."""
    return hashlib.sha256(bundle.encode("ascii")).hexdigest()


def _group_json(entries: Mapping[str, Edited]) -> str:
    return _object_json({slug: _entry_json(Same(entry)) for slug, entry in entries.items()})


def _object_json(members: Mapping[str, str]) -> str:
    # Names are slugs and field names: nothing in them needs an escape.
    return "{" + ",".join(f'"{name}":{members[name]}' for name in sorted(members)) + "}"


# An edition is written out once and not at every quote: two hundred of them cost as much as pricing the quote does.
@lru_cache(maxsize=20_000)
def _entry_json(same: Same[Edited | SeverityContents]) -> str:
    value = same.value
    return canonical_json(_write_severity(value) if isinstance(value, SeverityContents) else _write_edition(value))


def _read_edition(entry: object, path: str, kind: str) -> Edited:
    parts = read_table(entry, _ENTRY, path)
    edition = cast(EditionRef, parts["edition"])
    slug = path.rsplit("/", 1)[-1]
    if kind in _BY_SLUG.values() and edition.slug != slug:
        raise ContentsError(f"expected the edition of {slug}", field=at(path, "edition/slug"), value=edition.slug)
    return _below(at(path, "contents"), kind, parts["contents"], edition)


def _below(path: str, kind: str, contents: object, edition: EditionRef) -> Edited:
    try:
        return read_kind(kind, contents, edition)
    except CalculationFaults as several:
        raise CalculationFaults([fault.under(path) for fault in several.faults]) from several


def _write_edition(value: Edited) -> dict[str, object]:
    return {"edition": _REF_CODEC.write(cast(EditionRef, value.edition)), "contents": write(value)}


def _edition_codec(kind: str) -> Codec[Edited]:
    return Codec(lambda entry, path: _read_edition(entry, path, kind), _write_edition)


def _read_mapping(value: object, path: str) -> dict[str, object]:
    if not isinstance(value, dict):
        raise ContentsError("expected a table", field=path, value=value)
    return value


def _read_severity(value: object, path: str) -> SeverityContents:
    parts = read_table(value, _ENTRY, path)
    contents = _read_mapping(parts["contents"], at(path, "contents"))
    return SeverityContents(contents, cast(EditionRef, parts["edition"]))


def _write_severity(value: SeverityContents) -> dict[str, object]:
    return {"edition": _REF_CODEC.write(value.edition), "contents": value.contents}


def _read_currency(value: object, path: str) -> Currency:
    try:
        return currency(text(3).read(value, path))
    except CalculationError as fault:
        fault.field = path
        raise


_REF_CODEC: Codec[EditionRef] = table_of(_REF, EditionRef)
_ANYTHING: Codec[object] = Codec(lambda value, _: value, lambda value: value)
_ENTRY = (field("edition", _REF_CODEC), field("contents", _ANYTHING))
_BUNDLE = (
    field("currency", Codec(_read_currency, lambda value: value.code)),
    field("priced_on", text(10)),
    *(field(name, by_name(SLUG_TEXT, _edition_codec(kind), _MOST_ENTRIES)) for name, kind in _BY_SLUG.items()),
    *(field(name, _edition_codec(kind)) for name, kind in _SINGLE.items()),
    field("severity", Codec(_read_severity, _write_severity)),
)
_make_cost_base: Callable[..., CostBase] = CostBase
