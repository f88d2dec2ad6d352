"""Measures for the tests of formulas, and strategies that write formulas over them."""

import math
from dataclasses import dataclass
from fractions import Fraction

from hypothesis import strategies as st

from costbase.calc.formula import Choice, Flag, Kind, Number, Value
from costbase.calc.units import ANGLE, AREA, AREAL_MASS, LENGTH, MASS, NONE, TIME, VOLUME, Dimension
from tests.oracles.formulas import Given

ROOF_KINDS = frozenset({"laminated", "framed", "metal"})
SKINS = frozenset({"frp", "membrane", "aluminium"})
NAMES: dict[str, Kind] = {
    "roof_length": Number(LENGTH, False, 0.0),
    "body_width": Number(LENGTH, False, 254.0, 40_000.0),
    "gutter_length": Number(LENGTH, False, 0.0),
    "sag": Number(LENGTH, False, -30_480.0, 30_480.0),
    "roof_area": Number(AREA, False, 0.0),
    "deck_area": Number(AREA, False, 0.0),
    "tank_volume": Number(VOLUME, False, 0.0),
    "waste_mass": Number(MASS, False, 0.0),
    "dry_time": Number(TIME, False, 0.0),
    "edge_sweep": Number(ANGLE, False, 0.0, 180.0),
    "skin_areal_mass": Number(AREAL_MASS, False, 0.0),
    "ac_count": Number(NONE, True, 0.0, 20.0),
    "vent_count": Number(NONE, True, 1.0, 20.0),
    "splinter_share": Number(NONE, False, 0.0, 1.0),
    "balance": Number(NONE),
    "skin_off": Flag(),
    "indoor_bay": Flag(),
    "roof_kind": Choice(ROOF_KINDS),
    "skin": Choice(SKINS),
}
# In which unit each dimension is given to the oracle, and the canonical units in an eighth of it: eighths are exact in floats.
_EIGHTHS: dict[Dimension, tuple[str, float]] = {
    LENGTH: ("inch", 31.75),
    AREA: ("foot ** 2", 1_161_288.0),
    VOLUME: ("gallon", 473_176_473.0),
    MASS: ("pound", 5_669_904.625),
    TIME: ("minute", 7.5),
    ANGLE: ("turned_degree", 0.125),
    AREAL_MASS: ("kilogram / meter ** 2", 0.125),
    NONE: ("dimensionless", 0.125),
}


@dataclass(frozen=True)
class Roof:
    """Values of all measures: canonical for a formula, and exact with pint's unit for the oracle."""

    values: dict[str, Value]
    given: dict[str, Given]


def roof(eighths: dict[str, int], flags: dict[str, bool], options: dict[str, str]) -> Roof:
    """A roof with each number in eighths of its unit."""
    values: dict[str, Value] = {}
    given: dict[str, Given] = {}
    for name, count in eighths.items():
        kind = NAMES[name]
        assert isinstance(kind, Number)
        unit, canonical = _EIGHTHS[kind.dimension]
        values[name] = count * canonical
        given[name] = Given(Fraction(count, 8), unit)
    for name, flag in flags.items():
        values[name], given[name] = flag, Given(flag)
    for name, option in options.items():
        kind = NAMES[name]
        assert isinstance(kind, Choice)
        values[name], given[name] = option, Given(option, options=kind.options)
    return Roof(values, given)


def _eighths(kind: Number) -> st.SearchStrategy[int]:
    canonical = _EIGHTHS[kind.dimension][1]
    low = -80_000 if kind.low == -math.inf else math.ceil(kind.low / canonical)
    high = 80_000 if kind.high == math.inf else math.floor(kind.high / canonical)
    # Zero and equal values are where guards and comparisons are decided, so they are drawn more often than by chance.
    some = st.integers(low, high) | st.sampled_from([count for count in (0, 8, 16, 96) if low <= count <= high] or [low])
    return some.map(lambda count: count // 8 * 8) if kind.whole else some


@st.composite
def roofs(draw: st.DrawFn) -> Roof:
    """Any roof within the ranges of its measures."""
    numbers = {name: draw(_eighths(kind)) for name, kind in NAMES.items() if isinstance(kind, Number)}
    flags = {name: draw(st.booleans()) for name, kind in NAMES.items() if isinstance(kind, Flag)}
    options = {name: draw(st.sampled_from(sorted(kind.options))) for name, kind in NAMES.items() if isinstance(kind, Choice)}
    return roof(numbers, flags, options)


LITERALS = ("0", "1", "2", "3", "12", "0.5", "0.1", "1.25", "7.5", ".75", "1000")
UNITS_OF: dict[Dimension, tuple[str, ...]] = {
    LENGTH: ("inch", "foot", "metre", "thou"),
    AREA: ("square_foot", "square_metre"),
    VOLUME: ("gallon", "cubic_foot", "fluid_ounce", "board_foot"),
    MASS: ("pound", "kilogram", "ton"),
    TIME: ("hour", "day", "minute"),
    ANGLE: ("degree",),
    AREAL_MASS: ("pound_per_square_foot",),
    NONE: ("each", "share"),
}
# A dimension as a product or a quotient of two others.
_PRODUCTS = {AREA: (LENGTH, LENGTH), VOLUME: (AREA, LENGTH), MASS: (AREAL_MASS, AREA)}
_QUOTIENTS = {LENGTH: (AREA, LENGTH), AREA: (VOLUME, LENGTH), AREAL_MASS: (MASS, AREA)}


def names_of(dimension: Dimension) -> list[str]:
    """The measures of a dimension."""
    return [name for name, kind in NAMES.items() if isinstance(kind, Number) and kind.dimension == dimension]


def leaves(dimension: Dimension) -> st.SearchStrategy[str]:
    """The shortest formulas of a dimension."""
    literals = st.sampled_from(LITERALS)
    sized = st.builds("({} * {})".format, literals, st.sampled_from(UNITS_OF[dimension]))
    return st.sampled_from(names_of(dimension)) | (literals if dimension == NONE else sized)


@st.composite
def numbers(draw: st.DrawFn, dimension: Dimension, depth: int) -> str:
    """A formula of a dimension; only what is divided by, and roots, may fail when it is worked out."""
    if depth == 0:
        return draw(leaves(dimension))
    sub = numbers(dimension, depth - 1)
    form = draw(st.sampled_from([*_SAME, "if", "ratio", *_OWN.get(dimension, ())]))
    if form in _OWN.get(dimension, ()) or form == "ratio":
        return draw(_own(dimension, form, depth - 1))
    if form == "if":
        return f"({draw(sub)} if {draw(flags(depth - 1))} else {draw(sub)})"
    plain = draw(numbers(NONE, depth - 1)) if "plain" in _SAME[form] else ""
    return _SAME[form].format(draw(sub), draw(sub), draw(sub), plain=plain)


_SAME = {
    "+": "({} + {})",
    "-": "({} - {})",
    "three": "({} - {} + {})",
    "min": "min({}, {})",
    "max": "max({}, {}, {})",
    "clamp": "clamp({}, {}, {})",
    "abs": "abs({})",
    "negate": "(-{})",
    "zero": "max(0, {})",
    "times": "({} * {plain})",
    "over": "({} / {plain})",
    "guard": "({} / {plain} if {plain} > 0 else {})",
    "other guard": "({} if {plain} == 0 else {} / {plain})",
}
_OWN: dict[Dimension, tuple[str, ...]] = {
    NONE: ("ceil", "floor", "round", "power"),
    LENGTH: ("root", "quotient"),
    AREA: ("square", "product", "quotient"),
    VOLUME: ("product",),
    MASS: ("product",),
    AREAL_MASS: ("quotient",),
}


@st.composite
def _own(draw: st.DrawFn, dimension: Dimension, form: str, depth: int) -> str:
    if form in ("product", "quotient"):
        first, second = (_PRODUCTS if form == "product" else _QUOTIENTS)[dimension]
        return f"({draw(numbers(first, depth))} {'*' if form == 'product' else '/'} {draw(numbers(second, depth))})"
    if form == "ratio":
        other = draw(st.sampled_from((LENGTH, AREA, TIME, NONE)))
        ratio = f"({draw(numbers(other, depth))} / {draw(numbers(other, depth))})"
        return f"({draw(numbers(dimension, depth))} * {ratio})"
    one_of = {"square": LENGTH, "root": AREA}.get(form, NONE)
    wrapped = {"square": "({} ** 2)", "root": "sqrt({})", "power": f"({{}} ** {draw(st.integers(1, 4))})"}
    return wrapped.get(form, form + "({})").format(draw(numbers(one_of, depth)))


@st.composite
def flags(draw: st.DrawFn, depth: int) -> str:
    """A formula that gives yes or no."""
    choice, options = draw(st.sampled_from((("roof_kind", sorted(ROOF_KINDS)), ("skin", sorted(SKINS)))))
    simple = [
        "skin_off",
        "indoor_bay",
        "True",
        f"({choice} {draw(st.sampled_from(('==', '!=')))} '{draw(st.sampled_from(options))}')",
    ]
    form = draw(st.sampled_from(["simple", "not", "and", "or", "compare", "compare", "chain"])) if depth else "simple"
    if form == "simple":
        return draw(st.sampled_from(simple))
    if form in ("not", "and", "or"):
        first, second = draw(flags(depth - 1)), draw(flags(depth - 1))
        return f"(not {first})" if form == "not" else f"({first} {form} {second})"
    dimension = draw(st.sampled_from((NONE, LENGTH, AREA)))
    operands = [draw(numbers(dimension, depth - 1)) for _ in range(3 if form == "chain" else 2)]
    text = operands[0]
    for operand in operands[1:]:
        text += f" {draw(st.sampled_from(('<', '<=', '>', '>=', '==', '!=')))} {operand}"
    return f"({text})"


DIMENSIONS = (NONE, LENGTH, AREA, VOLUME, MASS, TIME, ANGLE, AREAL_MASS)


def fitting(depth: int = 3) -> st.SearchStrategy[str]:
    """Formulas that mean something: numbers of any dimension, and flags."""
    return st.sampled_from(DIMENSIONS).flatmap(lambda dimension: numbers(dimension, depth)) | flags(depth)


_ANY = (
    "{} {sign} {}",
    "({} {sign} {})",
    "{} {sign} {} {sign} {}",
    "{function}({})",
    "{pair}({}, {})",
    "clamp({}, {}, {})",
    "({} if {} else {})",
    "({} + {} if {} else {} if {} else {})",
    "({})",
    "({}) ** {power}",
    "-{}",
    "+({})",
    "(not {})",
)
_WORDS = (*NAMES, *NAMES, *(unit for units in UNITS_OF.values() for unit in units), "'framed'", "'foam'", "True", *LITERALS)


@st.composite
def anything(draw: st.DrawFn, depth: int = 3) -> str:
    """A formula that can be read, with no regard to what fits, with and without brackets."""
    if depth == 0 or draw(st.booleans()):
        return draw(st.sampled_from(_WORDS))
    return draw(st.sampled_from(_ANY)).format(
        *(draw(anything(depth - 1)) for _ in range(6)),
        sign=draw(st.sampled_from(("+", "-", "*", "/", "<", ">=", "==", "and", "or"))),
        function=draw(st.sampled_from(("ceil", "floor", "round", "abs", "sqrt"))),
        pair=draw(st.sampled_from(("min", "max"))),
        power=draw(st.integers(1, 4)),
    )
