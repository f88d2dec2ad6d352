"""What may a bill pass an authorised total by without a new consent, as an adopted template has it?

A template is read-only and dated: what was read of somebody's rule, with what was not verified and whom the rule leaves out.
It never says that the rule applies to a shop or a coach, and it is no legal advice. Where a template sets nothing, nothing is
allowed: the default of every shop is no overrun without a recorded consent.
"""

import hashlib
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from typing import Never, cast

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, share_down

TEMPLATES_SHA256 = "a17a78e15089b4693c6064df37f5c862b80fb7557ce4db9add589010785b4f31"
TEMPLATE_CURRENCY = "USD"
DISCLAIMER = (
    "This is not legal advice. Nothing here says that a statute applies to the shop or to a coach: several leave coach-body"
    " work, heavy coaches or large jobs out. Where a shop has adopted none, nothing is billed beyond what was authorised."
)
LABELS: Mapping[str, str] = {
    "text": "The words of the rule were read, as of the time that is given.",
    "copy": "Read only as another source gives it, not in the rule itself.",
    "memory": "From memory; nothing was read that proves it.",
}
"""How a row came to be known -> the sentence that is shown with it."""

COMBINES = ("lesser", "greater", "none", "unknown")
TAX_BASES = ("without_tax", "not_said")
EQUALITIES = ("allowed", "consent")
OVER_LIMITS = ("", "nothing")
_TEXTS = ("place", "version", "citation", "read", "text_of", "combine", "tax_base", "equality")
_WORDS = ("over_limit", "estimate_when", "teardown", "parts_return", "scope", "notes")
_LISTS = ("consent", "record", "not_verified")
_NUMBERS = ("estimate_above", "percent", "absolute", "cap", "applies_above", "applies_below")
_CHOICES: Mapping[str, Collection[str]] = {
    "read": LABELS,
    "combine": COMBINES,
    "tax_base": TAX_BASES,
    "equality": EQUALITIES,
    "over_limit": OVER_LIMITS,
}
_KNOWN = frozenset({*_TEXTS, *_WORDS, *_LISTS, *_NUMBERS, "retention_months", "band"})

Row = Mapping[str, object]


class TemplateError(CalculationError):
    """A template that ships with the service, or was adopted, is damaged: a fault of ours, not of whoever asks."""

    code = "bad_overrun_template"


class TemplateCurrencyError(CalculationError):
    """A template whose amounts are in another currency than the shop's."""

    code = "template_currency"


@dataclass(frozen=True, slots=True)
class Band:
    """Another share, for amounts `below` a figure or vehicles of `age_from` model years on; exactly one of both is there."""

    percent: Decimal
    below: Decimal | None = None
    age_from: int | None = None


@dataclass(frozen=True, slots=True)
class OverrunTemplate:
    """One template; fields as `overrun_templates.toml` explains them. Amounts are US dollars, `percent` is a share."""

    slug: str
    place: str
    version: str
    citation: str
    read: str
    text_of: str
    combine: str
    tax_base: str
    equality: str
    estimate_above: Decimal | None
    estimate_when: str
    percent: Decimal | None
    absolute: Decimal | None
    cap: Decimal | None
    applies_above: Decimal | None
    applies_below: Decimal | None
    bands: tuple[Band, ...]
    consent: tuple[str, ...]
    record: tuple[str, ...]
    not_verified: tuple[str, ...]
    teardown: str
    parts_return: str
    scope: str
    notes: str
    retention_months: int | None
    over_limit: str


def overrun_limit(
    template: OverrunTemplate, authorised: Decimal, currency: Currency, vehicle_age: int | None = None
) -> Decimal | None:
    """The figure that the template names for an authorised total; None where it sets none.

    Args:
        template: as it ships or was adopted.
        authorised: in the currency, with or without sales tax as `template.tax_base` says.
        currency: of the amount; the template's figures are US dollars.
        vehicle_age: in model years; None where nobody knows, and then no band by age holds.

    Returns:
        The authorised amount and the limb that counts: the percentage rounded down to the currency, so that nothing is allowed
        that the text does not allow. Whether the figure itself may be reached says `highest_without_consent`.

    Raises:
        TemplateCurrencyError: another currency than the template's.
        MoneyError: an amount that no quote can hold.

    Source: the citation of each template; the percentage rounded down is common practice, none published.
    """
    if currency.code != TEMPLATE_CURRENCY:
        words = f"the template's amounts are in {TEMPLATE_CURRENCY}; expected an amount in it, not in {currency.code}"
        raise TemplateCurrencyError(words, value=currency.code)
    if template.combine == "unknown" or _outside(template, authorised):
        return None
    if template.combine == "none":
        return authorised
    limbs = [] if template.absolute is None else [template.absolute]
    share = _share(template, authorised, vehicle_age)
    if share is not None:
        limbs.append(share_down(authorised, share, currency))
    allowed = max(limbs) if template.combine == "greater" else min(limbs)
    return authorised + (allowed if template.cap is None else min(allowed, template.cap))


def highest_without_consent(
    template: OverrunTemplate | None, authorised: Decimal, currency: Currency, vehicle_age: int | None = None
) -> Decimal:
    """The largest total that needs no new consent: never less than what was authorised.

    Args:
        template: that was adopted; None for none.
        authorised: as for `overrun_limit`.
        currency: of the amount.
        vehicle_age: as for `overrun_limit`.

    Returns:
        The template's figure; where reaching it already asks for a consent, one last digit of the currency less. Without a
        template, where it sets nothing, or where it allows nothing over a written price limit, the authorised amount itself:
        what an owner consents to here is always such a limit.

    Raises:
        TemplateCurrencyError: another currency than the template's.
        MoneyError: an amount that no quote can hold.

    Source: common practice, none published; which texts make equality doubtful says each template.
    """
    if template is None or template.over_limit == "nothing":
        return authorised
    figure = overrun_limit(template, authorised, currency, vehicle_age)
    if figure is None:
        return authorised
    last = Decimal(1).scaleb(-currency.digits) if template.equality == "consent" else Decimal(0)
    return max(authorised, figure - last)


def template_from(slug: str, row: Row) -> OverrunTemplate:
    """A row of the data file, or of what was adopted, as a template.

    Raises:
        TemplateError: a field that is not known, missing or of another kind.
    """
    unknown = sorted(set(row) - _KNOWN)
    missing = [name for name in (*_TEXTS, *_LISTS) if name not in row]
    if unknown or missing:
        raise TemplateError(f"template {slug}: unknown {unknown}, missing {missing}", field=slug)
    words = {name: _text(slug, name, row.get(name, "")) for name in (*_TEXTS, *_WORDS)}
    for name, known in _CHOICES.items():
        if words[name] not in known:
            raise TemplateError(f"template {slug}: expected {name} to be one of {', '.join(known)}", field=slug)
    fields = {
        **words,
        **{name: tuple(_text(slug, name, each) for each in _list(slug, name, row[name])) for name in _LISTS},
        **{name: _decimal(slug, row, name) for name in _NUMBERS},
    }
    template = OverrunTemplate(
        slug=slug,
        # Every one of them was just made the kind that its field has.
        **cast(dict[str, Never], fields),
        bands=tuple(_band(slug, band) for band in _list(slug, "band", row.get("band", []))),
        retention_months=_whole(slug, row, "retention_months"),
    )
    if template.combine in ("lesser", "greater") and template.percent is None and template.absolute is None:
        raise TemplateError(f"template {slug}: expected a percentage or an amount", field=slug)
    return template


def as_row(template: OverrunTemplate) -> dict[str, object]:
    """A template as `template_from` takes it back, to be kept with what a shop adopted: texts, lists and whole numbers."""
    row: dict[str, object] = {name: getattr(template, name) for name in _TEXTS}
    row |= {name: getattr(template, name) for name in _WORDS if getattr(template, name)}
    row |= {name: list(getattr(template, name)) for name in _LISTS}
    row |= {name: str(getattr(template, name)) for name in _NUMBERS if getattr(template, name) is not None}
    if template.retention_months is not None:
        row["retention_months"] = template.retention_months
    if template.bands:
        row["band"] = [_band_row(band) for band in template.bands]
    return row


def shipped_templates(text: bytes, rows: Mapping[str, Row]) -> Mapping[str, OverrunTemplate]:
    """The templates that ship with the service, by slug, once their file is known to be what was checked.

    Args:
        text: the bytes of the file.
        rows: what it says.

    Raises:
        TemplateError: the file is another one than the one whose rows were checked, or a row is damaged.
    """
    found = hashlib.sha256(text).hexdigest()
    if found != TEMPLATES_SHA256:
        raise TemplateError("the overrun templates that ship with the service were changed or damaged", value=found)
    return {slug: template_from(slug, rows[slug]) for slug in sorted(rows)}


def _outside(template: OverrunTemplate, authorised: Decimal) -> bool:
    too_small = template.applies_above is not None and authorised <= template.applies_above
    return too_small or (template.applies_below is not None and authorised >= template.applies_below)


def _share(template: OverrunTemplate, authorised: Decimal, vehicle_age: int | None) -> Decimal | None:
    for band in template.bands:
        by_amount = band.below is not None and authorised < band.below
        by_age = band.age_from is not None and vehicle_age is not None and vehicle_age >= band.age_from
        if by_amount or by_age:
            return band.percent
    return template.percent


def _band(slug: str, band: object) -> Band:
    row = cast(Row, band)
    percent, below = _decimal(slug, row, "percent"), _decimal(slug, row, "below")
    age_from = _whole(slug, row, "age_from")
    if percent is None or (below is None) == (age_from is None):
        raise TemplateError(f"template {slug}: expected a band of a percentage and either an amount or an age", field=slug)
    return Band(percent, below, age_from)


def _band_row(band: Band) -> dict[str, object]:
    upto = {"age_from": band.age_from} if band.below is None else {"below": str(band.below)}
    return {"percent": str(band.percent), **upto}


def _list(slug: str, name: str, value: object) -> list[object]:
    if not isinstance(value, list):
        raise TemplateError(f"template {slug}: expected {name} as a list", field=slug, value=value)
    return value


def _text(slug: str, name: str, value: object) -> str:
    if not isinstance(value, str):
        raise TemplateError(f"template {slug}: expected {name} as a text", field=slug, value=value)
    return value


def _whole(slug: str, row: Row, name: str) -> int | None:
    value = row.get(name)
    if value is not None and (isinstance(value, bool) or not isinstance(value, int) or value < 0):
        raise TemplateError(f"template {slug}: expected {name} as a whole number", field=slug, value=value)
    return value


def _decimal(slug: str, row: Row, name: str) -> Decimal | None:
    value = row.get(name)
    if value is None:
        return None
    try:
        number = Decimal(_text(slug, name, value))
    except InvalidOperation as error:
        raise TemplateError(f"template {slug}: expected {name} as a number in quotes", field=slug, value=value) from error
    if not number.is_finite() or number < 0:
        raise TemplateError(f"template {slug}: expected {name} of 0 or more", field=slug, value=value)
    return number
