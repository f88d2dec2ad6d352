"""How is each field of the severity rules read from contents, and written back?"""

from typing import cast

from costbase.calc.fields import (
    NAME,
    SLUG_TEXT,
    WORDS,
    YES_NO,
    Codec,
    ContentsError,
    Field,
    by_name,
    choice,
    field,
    listed,
    number,
    shown,
    table_of,
    whole,
)
from costbase.calc.sizes import size, write_quantity
from costbase.calc.units import AREA, LENGTH, NONE, TIME, UnitError, parse
from quotes.calc.geometry import OLD_SKINS
from quotes.calc.survey.marks import CELL_METHODS, CONDITIONS, REPAIR_KINDS, SURVEY_METHODS
from quotes.calc.survey.rule_parts import (
    ACTIONS,
    DIRECTIONS,
    EXTENTS,
    FLOOR_KINDS,
    INSTRUMENT_KINDS,
    STRENGTHS,
    TIERS,
    Band,
    EvidenceKind,
    Extent,
    Floor,
    FrameSign,
    Instrument,
    ShareTier,
)


def _read_extent(value: object, path: str) -> Extent:
    if not isinstance(value, str):
        raise ContentsError(
            f"expected a size such as 3/8 in, 12 ft2 or 2 each as text, not {shown(value)}", field=path, value=value
        )
    for dimension in (LENGTH, AREA, NONE):
        try:
            return Extent(dimension, parse(value, dimension, field=path).canonical)
        except UnitError as refused:
            last = refused
    raise ContentsError(
        f"expected a size such as 3/8 in, 12 ft2 or 2 each, not {shown(value)}", field=path, value=value
    ) from last


def _write_extent(extent: Extent | None) -> object:
    if extent is None:
        return None
    if extent.dimension == NONE:
        return f"{extent.canonical:g} each"
    return write_quantity(extent.canonical, extent.dimension)


_EXTENT: Codec[Extent | None] = Codec(
    _read_extent, _write_extent, schema={"type": "string", "maxLength": 40, "description": "A size, such as 3/8 in or 2 each."}
)
_SHARE = number(0.0, 1.0)
_BAND = table_of(
    (
        field("name", NAME),
        field("least", number(0.0, 100.0)),
        field("words", WORDS),
        field("above", YES_NO, absent=False),
        field("wet", YES_NO, absent=False),
    ),
    Band,
)
_INSTRUMENT = table_of(
    (
        field("slug", SLUG_TEXT),
        field("kind", choice(*INSTRUMENT_KINDS)),
        field("label", WORDS),
        field("bands", listed(_BAND, 12)),
    ),
    Instrument,
)
_EVIDENCE = table_of(
    (
        field("code", SLUG_TEXT),
        field("how", WORDS),
        field("direction", choice(*DIRECTIONS)),
        field("speaks_about", by_name(SLUG_TEXT, choice(*STRENGTHS))),
        field("label", WORDS),
        field("extent", choice(*EXTENTS), absent="none"),
        field("extent_needed", YES_NO, absent=False),
        field("measure", SLUG_TEXT, absent=""),
        field("without_extent", _EXTENT, absent=None),
        field("needs_cells", YES_NO, absent=False),
        field("cells_become", choice(*CONDITIONS), absent=""),
        field("flag", SLUG_TEXT, absent=""),
        field("condition", SLUG_TEXT, absent=""),
        field("exclusion", WORDS, absent=""),
    ),
    EvidenceKind,
)
_FLOOR = table_of(
    (
        field("when", choice(*FLOOR_KINDS)),
        field("at_least", choice(*TIERS)),
        field("words", WORDS),
        field("share", _SHARE, absent=0.0),
        field("components", listed(SLUG_TEXT), absent=()),
        field("methods", listed(choice(*SURVEY_METHODS)), absent=()),
        field("conditions", listed(choice(*CONDITIONS)), absent=()),
    ),
    Floor,
)
_SHARE_TIER = table_of((field("tier", choice(*TIERS)), field("below", number(0.0, 2.0))), ShareTier)
_FRAME_SIGN = table_of((field("evidence", SLUG_TEXT), field("least", _EXTENT)), FrameSign)
RULE_FIELDS: tuple[Field, ...] = (
    field("label", WORDS),
    field("labels", by_name(SLUG_TEXT, WORDS), absent=cast(dict[str, str], {})),
    field("components", listed(SLUG_TEXT)),
    field("other_subjects", listed(SLUG_TEXT)),
    field("cell_weight", by_name(choice(*CONDITIONS), _SHARE)),
    field("cell_action", by_name(choice(*CONDITIONS), choice(*ACTIONS))),
    field("sound_leaves", by_name(choice(*CELL_METHODS), _SHARE)),
    field("dry_days_when_damp", size(TIME)),
    field("by_share", listed(_SHARE_TIER)),
    field("floors", listed(_FLOOR)),
    field("frame_signs", listed(_FRAME_SIGN)),
    field("frame_places", whole(1, 20)),
    field("frame_weighted_share", _SHARE),
    field("survey_spread", by_name(choice(*SURVEY_METHODS), number(0.0, 2.0))),
    field("evidence", listed(_EVIDENCE, 500)),
    field("repair_conditions", by_name(choice(*REPAIR_KINDS), SLUG_TEXT)),
    field("capacitance_void_over", listed(choice(*OLD_SKINS))),
    field("instruments", listed(_INSTRUMENT)),
)
