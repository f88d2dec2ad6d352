"""Which figures may a formula name, and how do the derived ones follow from the others?

The table itself is `measures_table.py`. A section-level formula sees the measures of its roof section and
those of the quote; a quote-level formula sees those of the quote and, of the sections, what can be put
together: lengths, areas, masses and counts add up, days of drying run side by side, a width has no total and
stays out of sight.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from functools import cache, lru_cache
from typing import cast

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.formula import Checked, Choice, Formula, Kind, Number, check, compile_formula, compile_rows, order
from costbase.calc.measures_table import ROOF_KINDS, SKINS, TABLE, Level, Measure, Value
from costbase.calc.units import Dimension, show

__all__ = [
    "MEASURES",
    "MOST_SECTIONS",
    "ROOF_KINDS",
    "SKINS",
    "Level",
    "Measure",
    "MeasureError",
    "MissingMeasureError",
    "UnknownMeasureError",
    "Value",
    "Values",
    "check_values",
    "checked",
    "derive",
    "derived_order",
    "formula_of",
    "misfit",
    "names",
    "over_sections",
]

Values = Mapping[str, Value]

MEASURES: dict[str, Measure] = {measure.slug: measure for measure in TABLE}

# A coach has a handful of roof sections; sums over sections are expected below so many times the range of
# one.
MOST_SECTIONS = 30
# No formula is longer; a longer text is refused before it is read, and not worth its place.
_LONGEST_KEPT = 1_000
_MOST_SHOWN = 1e18


class MeasureError(CalculationError):
    """A measure that does not fit the table."""

    code = "bad_measure"


class UnknownMeasureError(MeasureError):
    """A name that is no measure of this level."""

    code = "unknown_measure"


class MissingMeasureError(MeasureError):
    """A measure that has to be said and was not."""

    code = "missing_measure"


def names(level: str) -> dict[str, Kind]:
    """The kinds of all measures that a formula of this level may name: the same object at every call.

    Args:
        level: "section" or "quote".

    Raises:
        MeasureError: any other level.
    """
    if level not in ("section", "quote"):
        raise MeasureError(f"expected level 'section' or 'quote', not {level!r}", value=level)
    return _names(level)


@cache
def _names(level: str) -> dict[str, Kind]:
    if level == "section":
        return {slug: measure.kind for slug, measure in MEASURES.items()}
    return {slug: _combined_kind(m) for slug, m in MEASURES.items() if m.combine != "none"}


def checked(text: str, level: str, expects: Kind | Dimension | None = None) -> Checked:
    """What a formula over the measures of a level is, as `formula.check` says it.

    What is right is kept by its text, since a cost base is checked whole at every change of it. What is wrong is looked at each
    time: whoever tells an error writes its place into it.

    Raises:
        MeasureError: no such level.
    """
    kept = _checked(text, level, expects) if len(text) <= _LONGEST_KEPT else None
    return kept if kept is not None and not kept.errors else check(text, names(level), expects)


@lru_cache(maxsize=20_000)
def _checked(text: str, level: str, expects: Kind | Dimension | None) -> Checked:
    return check(text, names(level), expects)


def _combined_kind(measure: Measure) -> Kind:
    kind = measure.kind
    if measure.combine != "sum" or not isinstance(kind, Number):
        return kind
    return Number(kind.dimension, kind.whole, kind.low, kind.high * MOST_SECTIONS)


@cache
def derived_order() -> tuple[str, ...]:
    """The measures that have a formula, each after those that its formula names.

    Raises:
        FormulaLoopError: formulas that read each other in a loop, which is named.
    """
    return tuple(order({slug: m.formula for slug, m in MEASURES.items() if m.formula is not None}))


@cache
def formula_of(slug: str) -> Formula:
    """The compiled formula of a derived measure, for its value and for the steps that explain it.

    Raises:
        UnknownMeasureError: no such measure, or one without a formula.
    """
    measure = MEASURES.get(slug)
    if measure is None or measure.formula is None:
        raise UnknownMeasureError(f"expected a derived measure, not {slug!r}", value=slug)
    expects = measure.kind
    # Only the dimension is held against the table here: ranges of derived figures follow from their inputs.
    return compile_formula(measure.formula, names(measure.level), expects.dimension if isinstance(expects, Number) else expects)


def derive(level: str, values: Values) -> dict[str, Value]:
    """All measures of a level: those given, what holds where nobody said anything, and what follows from
    them.

    Args:
        level: "section" or "quote".
        values: what is known, canonical; for a section also the measures of the quote that its formulas name.
            A measure whose source is "derived" is worked out and never taken from here, unless it has no
            formula (sheets).

    Returns:
        A new mapping, ready for formulas of that level.

    Raises:
        UnknownMeasureError: a name that is no measure of the level.
        MissingMeasureError: a measure that a derived one needs and that has to be said (all of them at once).
        FormulaError: a derived figure that is not finite.
    """
    visible = names(level)
    _refuse_unknown(values, visible)
    known = {**_unset(level), **values}
    if level == "quote":
        return known
    _refuse_missing(known)
    given = {slug: values[slug] for slug in _defaults() if slug in values}
    for slugs, row in _layers():
        known.update(zip(slugs, row(known), strict=True))
        if given:
            known.update(given)
    return known


@cache
def _unset(level: str) -> dict[str, Value]:
    """What holds of the measures of a level where nobody said anything."""
    return {m.slug: m.unset for m in MEASURES.values() if m.unset is not None and m.level == level}


def _refuse_unknown(values: Values, visible: Mapping[str, Kind]) -> None:
    if values.keys() <= visible.keys():
        return
    raise_faults(
        [UnknownMeasureError(f"unknown measure {slug!r}", field=slug, value=slug) for slug in values if slug not in visible]
    )


def _refuse_missing(known: Values) -> None:
    if known.keys() >= _needed_set():
        return
    raise_faults(
        [
            MissingMeasureError(f"expected a value of {slug} ({MEASURES[slug].definition})", field=slug)
            for slug in _needed()
            if slug not in known
        ]
    )


@cache
def _needed() -> tuple[str, ...]:
    """Measures that derived ones name and that have no formula themselves."""
    inputs = {name for slug in derived_order() for name in formula_of(slug).inputs}
    return tuple(sorted(name for name in inputs if MEASURES[name].formula is None))


@cache
def _needed_set() -> frozenset[str]:
    return frozenset(_needed())


@cache
def _defaults() -> tuple[str, ...]:
    """Measures whose formula is a default only, so that a figure somebody gives replaces it."""
    return tuple(slug for slug in derived_order() if MEASURES[slug].source != "derived")


@cache
def _layers() -> tuple[tuple[tuple[str, ...], Callable[[Values], tuple[Value, ...]]], ...]:
    """Derived measures in layers, each one compiled row: a layer names only what earlier layers gave."""
    depth: dict[str, int] = {}
    for slug in derived_order():
        depth[slug] = 1 + max((depth.get(name, 0) for name in formula_of(slug).inputs), default=0)
    layers = []
    for level in range(1, max(depth.values()) + 1):
        slugs = tuple(slug for slug, at in depth.items() if at == level)
        layers.append((slugs, compile_rows([formula_of(slug) for slug in slugs])))
    return tuple(layers)


def over_sections(sections: Sequence[Values]) -> dict[str, Value]:
    """What the sections come to together: the measures of a quote that formulas of quote level see of them.

    Args:
        sections: the derived measures of every section in scope, at least one; measures of the quote in them
            are left out.

    Raises:
        MeasureError: no section at all.
    """
    if not sections:
        raise MeasureError("expected at least one roof section")
    if len(sections) == 1:
        # Most roofs are one section, and what it comes to by itself needs no adding up.
        (only,) = sections
        return {slug: only[slug] for slug, _ in _combined() if slug in only}
    return {
        slug: _together(combine, [values[slug] for values in sections])
        for slug, combine in _combined()
        if all(slug in values for values in sections)
    }


@cache
def _combined() -> tuple[tuple[str, str], ...]:
    """The measures that sections come to together, with how they do."""
    return tuple((slug, measure.combine) for slug, measure in MEASURES.items() if measure.combine in ("sum", "most", "any"))


def _together(combine: str, parts: Sequence[Value]) -> Value:
    if combine == "any":
        return any(parts)
    numbers = cast(Sequence[float], parts)
    return max(numbers) if combine == "most" else sum(numbers)


def check_values(values: Values, *, allowed: Iterable[str] | None = None) -> None:
    """Refuses what cannot be a value of its measure: kind, range and wholeness, all faults at once.

    Args:
        values: canonical, by measure; each fault's field is the measure.
        allowed: measures that may be given here; any measure when left out.

    Raises:
        MeasureError: one fault; CalculationFaults: several.
    """
    known = frozenset(MEASURES if allowed is None else allowed)
    faults: list[CalculationError] = []
    for slug, value in values.items():
        if slug not in known or slug not in MEASURES:
            faults.append(UnknownMeasureError(f"unknown measure {slug!r} here", field=slug, value=slug))
            continue
        why = misfit(MEASURES[slug], value)
        if why:
            faults.append(MeasureError(f"{slug}: expected {why}, not {value!r}", field=slug, value=value))
    raise_faults(faults)


def misfit(measure: Measure, value: object) -> str:
    """What would have been expected of a value of this measure; "" where the value fits."""
    kind = measure.kind
    if isinstance(kind, Number):
        return _number_misfit(measure, kind, value)
    if isinstance(kind, Choice):
        return "" if value in kind.options else f"one of {', '.join(sorted(kind.options))}"
    return "" if isinstance(value, bool) else "yes or no"


def _number_misfit(measure: Measure, kind: Number, value: object) -> str:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return f"a {kind.dimension.name()}"
    if not kind.low <= value <= kind.high:
        least, most = (show(bound, measure.unit) for bound in (kind.low, min(kind.high, _MOST_SHOWN)))
        return f"a {kind.dimension.name()} from {least} to {most}"
    return "a whole number" if kind.whole and value != int(value) else ""
