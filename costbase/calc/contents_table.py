"""Which fields has an edition of each kind?

One list of fields for each kind of edition; reading, writing and the columns of tables all follow from it.
What fields say together is `contents_faults.py`, what editions say together is `checks.py`.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from typing import cast

from costbase.calc.assemblies import Assembly, LabourRate, MaterialNeed
from costbase.calc.contents_faults import (
    TIERS,
    assembly_faults,
    component_faults,
    condition_faults,
    material_faults,
    no_faults,
    plan_faults,
    rule_faults,
    tiers_faults,
)
from costbase.calc.cost_base import (
    Component,
    Condition,
    Look,
    Material,
    Price,
    PricingRule,
    Repair,
    ScopePlan,
    TaxRate,
    TierTable,
    Trade,
)
from costbase.calc.errors import CalculationError
from costbase.calc.fields import (
    FORMULA,
    NAME,
    SHARE,
    SLUG_TEXT,
    WORDS,
    YES_NO,
    Codec,
    ContentsError,
    Field,
    amount,
    any_order,
    at,
    by_name,
    choice,
    field,
    listed,
    number,
    or_none,
    shown,
    table_of,
    text,
    whole,
)
from costbase.calc.formula import Flag, Number
from costbase.calc.measures import MEASURES, ROOF_KINDS, SKINS, misfit
from costbase.calc.sizes import size
from costbase.calc.units import AREAL_MASS, BY_SYMBOL, LENGTH, MASS, NONE

Edited = Trade | Material | Price | Assembly | ScopePlan | Condition | PricingRule | Component | TierTable

PHASES = (
    "survey",
    "protect",
    "strip",
    "teardown",
    "inspect",
    "dry",
    "core",
    "brace",
    "deck",
    "skin",
    "edge",
    "caps",
    "penetrations",
    "seal",
    "test",
    "refit",
    "close",
)
TAX_MODES = ("none", "parts_only", "separated", "all_with_parts", "parts_and_labour", "lump_sum")
TAX_CLASSES = ("labour", "parts", "untaxed")
CHEMISTRIES = ("silicone", "acrylic", "urethane", "bitumen")
SCALED_BY = ("cells", "kept_cells", "edge_strips", "cap_strips", "ac_rings", "rings")
# Whole days: a quote is good for no longer than a year, a material is waited for no longer than two.
_LONGEST_VALIDITY = 365
_LONGEST_LEAD = 730


@dataclass(frozen=True)
class ContentKind:
    """One kind of edition.

    Attributes:
        name: as editions name it, such as "material".
        value: the class of its values.
        fields: every field of its contents.
        slug_field: where the value keeps the slug of the edition.
        faults: what is wrong with a value whose fields are right one by one.
    """

    name: str
    value: Callable[..., Edited]
    fields: tuple[Field, ...]
    slug_field: str
    faults: Callable[..., Iterable[CalculationError]]


def _read_unit(value: object, path: str) -> str:
    return choice(*BY_SYMBOL).read(value, path)


def _read_alternatives(value: object, path: str) -> str:
    # "a|b" is whichever of the two is in the quote.
    if not isinstance(value, str):
        raise ContentsError(f"expected a slug, or slugs with | between, not {shown(value)}", field=path, value=value)
    for slug in value.split("|"):
        SLUG_TEXT.read(slug, path)
    return value


_UNIT: Codec[str] = Codec(_read_unit, lambda value: value, schema={"type": "string", "enum": sorted(BY_SYMBOL)})
_ALTERNATIVES: Codec[str] = Codec(
    _read_alternatives, lambda value: value, schema={"type": "string", "description": "A slug, or slugs with | between."}
)
_SLUGS = any_order(SLUG_TEXT)
_ROOF_KINDS = any_order(choice(*ROOF_KINDS))
_EVERY_ROOF = frozenset(ROOF_KINDS)


def _maybe(codec: Codec[object] | Codec[float] | Codec[bool] | Codec[Decimal]) -> Codec[object]:
    """A field that is None when absent; a None inside contents (JSON null) says the same."""
    inner = cast(Codec[object], codec)
    return Codec(
        lambda value, path: None if value is None else inner.read(value, path), inner.write, inner.cell, or_none(inner.schema)
    )


def _setting(flags: bool) -> Codec[dict[str, float | bool]]:
    """A table from measures to values: counts and shares as numbers, sizes with their unit, and yes/no."""

    def read_setting(value: object, path: str) -> dict[str, float | bool]:
        entries = by_name(Codec(_read_measure, lambda name: name), Codec(lambda v, _: v, lambda v: v)).read(value, path)
        return {slug: _read_set(slug, entry, at(path, slug), flags) for slug, entry in entries.items()}

    entry_schema = {"type": ["number", "string", "boolean"] if flags else ["number", "string"]}
    shape = {"type": "object", "additionalProperties": entry_schema}
    return Codec(read_setting, lambda values: {slug: _write_set(slug, values[slug]) for slug in sorted(values)}, schema=shape)


def _read_measure(value: object, path: str) -> str:
    if not isinstance(value, str) or value not in MEASURES:
        raise ContentsError(f"unknown measure {shown(value)}", field=path, value=value)
    return value


def _read_set(slug: str, value: object, path: str, flags: bool) -> float | bool:
    measure = MEASURES[slug]
    if measure.source in ("coach", "derived") or not isinstance(measure.kind, Number if not flags else Number | Flag):
        raise ContentsError(f"{slug} cannot be set here", field=path, value=value)
    found: object = value
    if isinstance(measure.kind, Number):
        dimension = measure.kind.dimension
        found = (number(0, 1e12) if dimension == NONE else size(dimension)).read(value, path)
    why = misfit(measure, found)
    if why:
        raise ContentsError(f"{slug}: expected {why}, not {shown(value)}", field=path, value=value)
    return cast(float | bool, found)


def _write_set(slug: str, value: float | bool) -> object:
    kind = MEASURES[slug].kind
    if isinstance(kind, Number) and kind.dimension != NONE:
        return size(kind.dimension).write(float(value))
    return value


def _read_pair(value: object, path: str) -> tuple[float, float]:
    if not isinstance(value, list | tuple) or len(value) != 2:
        raise ContentsError(f"expected chance and share, such as [0.4, 0.25], not {shown(value)}", field=path, value=value)
    chance, share = (number(0, 1).read(part, at(path, index)) for index, part in enumerate(value))
    return chance, share


_MEASURE: Codec[str] = Codec(
    _read_measure, lambda slug: slug, schema={"type": "string", "description": "The slug of a measure."}
)
_PAIR: Codec[tuple[float, float]] = Codec(
    _read_pair, list, schema={"type": "array", "items": number(0, 1).schema, "minItems": 2, "maxItems": 2}
)
_CHANCES = by_name(choice(*ROOF_KINDS), by_name(choice(*TIERS), _PAIR, order=TIERS))


def _read_sign(value: object, path: str) -> int:
    if isinstance(value, bool) or value not in (1, -1):
        raise ContentsError(f"expected 1, or -1 for work that is saved, not {shown(value)}", field=path, value=value)
    return value


_LABOUR: Codec[LabourRate] = table_of((field("trade", SLUG_TEXT), field("rate", FORMULA)), LabourRate)
_NEED: Codec[MaterialNeed] = table_of((field("material", SLUG_TEXT), field("quantity", FORMULA)), MaterialNeed)
_TAX: Codec[TaxRate] = table_of((field("name", NAME), field("rate", SHARE)), TaxRate)
_REPAIR: Codec[Repair] = table_of(
    (
        field("assemblies", listed(SLUG_TEXT)),
        field("sign", Codec(_read_sign, lambda sign: sign, schema={"type": "integer", "enum": [1, -1]}), 1),
        field("sets", _setting(flags=False), {}),
    ),
    Repair,
)
_LOOK: Codec[Look] = table_of(
    (
        field("name", NAME),
        field("assembly", SLUG_TEXT),
        field("measure", _MEASURE),
        field("extent", FORMULA),
        field("strength", number(0.05, 1)),
    ),
    Look,
)
_BY_TIER = by_name(choice(*TIERS), number(-10, 10), order=TIERS)

_TRADE = (
    field("name", NAME),
    field("cost_per_hour", amount(above=True)),
    field("billed_per_hour", amount(above=True)),
    field("overtime_factor", amount("1", "5")),
)
_MATERIAL = (
    field("name", NAME),
    field("unit", _UNIT),
    field("pack_size", amount(above=True)),
    field("pack_name", text(40)),
    field("waste_share", SHARE),
    field("whole", YES_NO, False),
    field("supply", choice("job", "stock")),
    field("sold_by", choice("pack", "measure"), "pack"),
    field("lead_days", whole(0, _LONGEST_LEAD)),
    field("markup_class", SLUG_TEXT),
    field("tax_class", choice(*TAX_CLASSES)),
    field("adhesive", YES_NO, False),
    field("foam_safe", _maybe(YES_NO), None),
    field("stock_width", _maybe(size(LENGTH)), None),
    field("stock_width_covers", choice("developed", "visible"), ""),
    field("unit_mass", _maybe(size(MASS)), None),
    field("areal_mass", _maybe(size(AREAL_MASS)), None),
    field("not_over", choice(*CHEMISTRIES), ""),
    field("sheet_length", _maybe(size(LENGTH)), None),
    field("sheet_width", _maybe(size(LENGTH)), None),
    field("stagger", _maybe(size(LENGTH)), None),
    field("least_piece", _maybe(size(LENGTH)), None),
    field("stock_length", _maybe(size(LENGTH)), None),
    field("lap", _maybe(size(LENGTH)), None),
    field("in_place_of", SLUG_TEXT, ""),
)
_PRICE = (field("pack_price", amount(above=True)), field("freight", amount(), Decimal(0)))
_ASSEMBLY = (
    field("name", NAME),
    field("phase", choice(*PHASES)),
    field("level", choice("section", "quote")),
    field("kind", choice("firm", "counted", "option")),
    field("constructions", _ROOF_KINDS, _EVERY_ROOF),
    field("skin", choice(*SKINS), ""),
    field("applies", FORMULA, "True"),
    field("driver", FORMULA),
    field("driver_unit", _UNIT),
    field("crew", whole(1, 12)),
    field("labour", listed(_LABOUR, 12), ()),
    field("set_up_hours", number(0, 200), 0.0),
    field("set_up_trade", SLUG_TEXT, ""),
    field("minimum_hours", number(0, 200), 0.0),
    field("materials", listed(_NEED, 40), ()),
    field("predecessors", listed(_ALTERNATIVES), ()),
    field("reset_after", listed(SLUG_TEXT), ()),
    field("off_share", _maybe(number(0, 1)), None),
    field("elapsed", FORMULA, ""),
    field("cure_hours", number(0, 1000), 0.0),
    field("rain_hold_hours", number(0, 1000), 0.0),
    field("min_temperature_f", _maybe(number(-40, 150)), None),
    field("hold", SLUG_TEXT, ""),
    field("licensed", SLUG_TEXT, ""),
    field("on_foam", YES_NO, False),
    field("cautions", listed(WORDS, 20), ()),
)
_PLAN = (
    field("name", NAME),
    field("opens", YES_NO),
    field("sets", _setting(flags=True), {}),
    field("assemblies", listed(SLUG_TEXT, 500)),
    field("quantities", by_name(SLUG_TEXT, amount("0", "10", above=True)), {}),
    field("refuse_above_wet_share", _maybe(number(0, 1)), None),
    field("note", WORDS, ""),
)
_CONDITION = (
    field("name", NAME),
    field("factor", amount("0", "2", above=True)),
    field("assemblies", _SLUGS, frozenset()),
    field("phases", any_order(choice(*PHASES)), frozenset()),
    field("excludes", _SLUGS, frozenset()),
    field("follows", _MEASURE, ""),
)
_RULE = (
    field("price_basis", choice("firm", "open")),
    field("markups", by_name(SLUG_TEXT, amount("0", "10"))),
    field("stock_billing", choice("packs", "use")),
    field("overhead_share", amount("0", "5")),
    field("supplies_share", SHARE),
    field("supplies_cap", _maybe(amount()), None),
    field("minimum_charge", amount()),
    field("tax_mode", choice(*TAX_MODES)),
    field("tax_rates", listed(_TAX, 10), ()),
    field("supplies_tax_class", choice(*TAX_CLASSES)),
    field("overhead_tax_class", choice(*TAX_CLASSES)),
    field("minimum_tax_class", choice(*TAX_CLASSES)),
    field("deposit_share", SHARE),
    field("validity_days", whole(1, _LONGEST_VALIDITY)),
    field("confidence_level", number(0.5, 0.99)),
    field("total_step", amount("0", "1000")),
    field("hours_a_day", number(1, 24)),
    field("unit_learning", number(0.6, 1), 1.0),
    field("warning_chance", number(0.05, 0.95), 0.5),
)
_COMPONENT = (
    field("name", NAME),
    field("owner_words", NAME),
    field("unit", choice("ft2", "m2", "ft", "m", "each")),
    field("constructions", _ROOF_KINDS, _EVERY_ROOF),
    field("exposure", FORMULA),
    field("measure", _MEASURE),
    field("repairs", listed(_REPAIR, 20)),
    field("priced_share", _maybe(number(0, 1)), None),
    field("chance_mid", number(0, 1)),
    field("share_mid", number(0, 1)),
    field("table", _CHANCES, {}),
    field("phi", number(1, 30)),
    field("load", number(0, 0.99)),
    field("patch", number(0, 1000)),
    field("column", whole(1, 15)),
    field("scaled_by", choice(*SCALED_BY), ""),
    field("can_close_up", YES_NO),
    field("label", NAME),
    field("looks", listed(_LOOK, 10), ()),
)
_TIERS = (
    field("chance_logit", _BY_TIER),
    field("share_logit", _BY_TIER),
    field("label", NAME),
)


KINDS: dict[str, ContentKind] = {
    kind.name: kind
    for kind in (
        ContentKind("rate", Trade, _TRADE, "slug", no_faults),
        ContentKind("material", Material, _MATERIAL, "slug", material_faults),
        ContentKind("price", Price, _PRICE, "material", no_faults),
        ContentKind("assembly", Assembly, _ASSEMBLY, "slug", assembly_faults),
        ContentKind("plan", ScopePlan, _PLAN, "slug", plan_faults),
        ContentKind("condition", Condition, _CONDITION, "slug", condition_faults),
        ContentKind("rule", PricingRule, _RULE, "slug", rule_faults),
        ContentKind("component", Component, _COMPONENT, "slug", component_faults),
        ContentKind("tiers", TierTable, _TIERS, "", tiers_faults),
    )
}
