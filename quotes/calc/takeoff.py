"""How much work and material does this roof need?

Every assembly of the scope plan is expanded over the measures of each roof section in scope (or once over the quote's sums),
with one compiled row function for all formulas of a level. The result is plain numbers: drivers, hours by trade, net needs.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple, cast

from costbase.calc.assemblies import Assembly
from costbase.calc.errors import CalculationError
from costbase.calc.formula import Formula, FormulaError, compile_formula, compile_rows
from costbase.calc.measures import names
from costbase.calc.same import by_identity
from costbase.calc.units import BY_SYMBOL

Value = float | bool | str
Values = Mapping[str, Value]
Row = Callable[[Values], tuple[Value, ...]]
HOUR = float(BY_SYMBOL["h"].factor)


class TemplateFailedError(CalculationError):
    """A formula of an assembly or component cannot be worked out on this roof; the field says which of its formulas."""

    code = "assembly_failed"


class Take(NamedTuple):
    """What one assembly comes to over the whole quote.

    `driver` and `needs` are canonical; `hours` are hours by trade before multipliers, with set-up and minimum.
    `by_section` lists (section label, driver) for those sections in which there is any; the label is "" for the quote level.
    `scale` is the share of it that the plan takes: driver and hours are scaled, set-up and needs are not, since goods are taken
    by measures and a started pack is a pack.
    """

    assembly: Assembly
    driver: float
    by_section: tuple[tuple[str, float], ...]
    hours: dict[str, float]
    needs: dict[str, float]
    scale: float


@dataclass(frozen=True, slots=True)
class Compiled:
    """The formulas of one assembly, in the order: applies, driver, rate of each trade, need of each material."""

    applies: Formula
    driver: Formula
    rates: tuple[Formula, ...]
    needs: tuple[Formula, ...]

    def all(self) -> tuple[Formula, ...]:
        """Every formula in the order in which the row function returns them."""
        return (self.applies, self.driver, *self.rates, *self.needs)


def _compile(assembly: Assembly) -> Compiled:
    visible = names(assembly.level)
    return Compiled(
        applies=compile_formula(assembly.applies, visible),
        driver=compile_formula(assembly.driver, visible),
        rates=tuple(compile_formula(rate.rate, visible) for rate in assembly.labour),
        needs=tuple(compile_formula(need.quantity, visible) for need in assembly.materials),
    )


_compiled = by_identity(_compile, 4096)


def compile_assembly(assembly: Assembly) -> Compiled:
    """The compiled formulas of an assembly; kept, since an edition never changes.

    Raises:
        FormulaFaults: a formula that means nothing; none is ever saved.
    """
    return _compiled(assembly)


@dataclass(frozen=True, slots=True)
class _Expansion:
    """Assemblies that are taken off together: one function for all their formulas, and where the values of each stand.

    `places` has for each assembly the place of its first value, of its first rate, of its first need, and the end.
    """

    assemblies: tuple[Assembly, ...]
    row: Row
    places: tuple[tuple[int, int, int, int], ...]


# By the very assemblies, which are kept with it: hashing all their fields at every quote costs more than the take-off.
_expansions: dict[tuple[int, ...], _Expansion] = {}
_MOST_EXPANSIONS = 256


def _expansion(assemblies: tuple[Assembly, ...]) -> _Expansion:
    key = tuple(map(id, assemblies))
    found = _expansions.get(key)
    if found is not None:
        return found
    row = compile_rows([formula for assembly in assemblies for formula in _compiled(assembly).all()])
    places, at = [], 0
    for assembly in assemblies:
        needs_at = at + 2 + len(assembly.labour)
        places.append((at, at + 2, needs_at, needs_at + len(assembly.materials)))
        at = needs_at + len(assembly.materials)
    made = _Expansion(assemblies, row, tuple(places))
    if len(_expansions) >= _MOST_EXPANSIONS:
        _expansions.clear()
    _expansions[key] = made
    return made


def _needs_by_sheet(assembly: Assembly) -> tuple[str, ...]:
    needs = zip(assembly.materials, compile_assembly(assembly).needs, strict=True)
    return tuple(need.material for need, formula in needs if "deck_sheets" in formula.inputs)


_by_sheet = by_identity(_needs_by_sheet, 4096)


def needs_by_sheet(assembly: Assembly) -> tuple[str, ...]:
    """The materials of an assembly whose need is told by the count of deck sheets; kept, as its formulas are."""
    return _by_sheet(assembly)


def needs_by_skin(assembly: Assembly) -> tuple[str, ...]:
    """The materials of an assembly whose need is told by the length of the skin's stock."""
    needs = zip(assembly.materials, compile_assembly(assembly).needs, strict=True)
    return tuple(need.material for need, formula in needs if "skin_stock_length" in formula.inputs)


def belongs(assembly: Assembly, values: Values) -> bool:
    """Whether the construction and the chosen skin allow this assembly at all."""
    if assembly.skin and assembly.skin != values["skin"]:
        return False
    return values["roof_kind"] in assembly.constructions


@dataclass(slots=True)
class _Sum:
    """Running sums of one assembly over the sections."""

    driver: float
    by_section: list[tuple[str, float]]
    hours: dict[str, float]
    needs: dict[str, float]


def take_off(
    assemblies: Sequence[Assembly],
    sections: Mapping[str, Values],
    whole: Values,
    *,
    quantities: Mapping[str, float],
) -> tuple[Take, ...]:
    """Expands the assemblies of a plan; those that do not apply or whose driver is zero are left out.

    Args:
        assemblies: in the order of the plan.
        sections: by section label, every measure that a section-level formula may name.
        whole: every measure that a quote-level formula may name.
        quantities: share of an assembly that the plan takes (0.5 of an intake), by slug; 1 where absent.
    """
    sums: dict[str, _Sum] = {}
    for label, values in sections.items():
        _expand(tuple([a for a in assemblies if a.level == "section" and belongs(a, values)]), label, values, sums)
    kinds = [dict(whole, roof_kind=values["roof_kind"]) for values in sections.values()]
    of_quote = [a for a in assemblies if a.level == "quote" and any(belongs(a, kind) for kind in kinds)]
    _expand(tuple(of_quote), "", whole, sums)
    return tuple(
        [
            _take(assembly, sums[assembly.slug], quantities.get(assembly.slug, 1.0))
            for assembly in assemblies
            if assembly.slug in sums
        ]
    )


def _expand(assemblies: tuple[Assembly, ...], label: str, values: Values, sums: dict[str, _Sum]) -> None:
    expansion = _expansion(assemblies)
    try:
        row = expansion.row(values)
    except FormulaError:
        # One of them fails, perhaps of an assembly that does not apply here and so may divide by what is not there.
        row = tuple(value for assembly in assemblies for value in _carefully(assembly, label, values))
    for assembly, (at, rates_at, needs_at, end) in zip(assemblies, expansion.places, strict=True):
        driver = cast(float, row[at + 1])
        if row[at] and driver > 0:
            _add(assembly, label, driver, row[rates_at:needs_at], row[needs_at:end], sums)


def _carefully(assembly: Assembly, label: str, values: Values) -> tuple[Value, ...]:
    """The values of one assembly's formulas, one by one and only as far as there is any of it on this roof."""
    compiled = compile_assembly(assembly)
    words = f"assembly '{assembly.slug}'" + (f" on section {label}" if label else "")
    parts = [(words, f"assemblies/{assembly.slug}/{name}", formula) for name, formula in named(compiled)]
    applies = value_of(*parts[0], values)
    driver = value_of(*parts[1], values) if applies else 0.0
    if cast(float, driver) <= 0:
        return (applies, *[0.0] * (len(parts) - 1))
    return (applies, driver, *(value_of(*part, values) for part in parts[2:]))


def named(compiled: Compiled) -> list[tuple[str, Formula]]:
    """Every formula with its place in the assembly's contents, in the order of the row."""
    return [
        ("applies", compiled.applies),
        ("driver", compiled.driver),
        *((f"labour/{at}/rate", formula) for at, formula in enumerate(compiled.rates)),
        *((f"materials/{at}/quantity", formula) for at, formula in enumerate(compiled.needs)),
    ]


def value_of(words: str, field: str, formula: Formula, values: Values) -> Value:
    """A formula's value; one that fails is told with the name of what it belongs to.

    Args:
        words: what it belongs to, e.g. ``assembly 'skin-off' on section main``.
        field: its place, e.g. ``assemblies/skin-off/driver``.
        formula: compiled over the names in `values`.
        values: canonical measures.

    Raises:
        TemplateFailedError: a division by zero, a root of a negative, or a number that is not finite.
    """
    try:
        return formula(values)
    except FormulaError as fault:
        message = f"{words}: {field.rpartition('/')[2]} fails: {fault.message}; guard it, or correct the measure that it reads"
        raise TemplateFailedError(message, field=field, value=formula.text) from fault


def _add(
    assembly: Assembly,
    label: str,
    driver: float,
    rates: tuple[Value, ...],
    needs: tuple[Value, ...],
    sums: dict[str, _Sum],
) -> None:
    total = sums.get(assembly.slug)
    if total is None:
        total = sums[assembly.slug] = _Sum(0.0, [], {}, {})
    total.driver += driver
    total.by_section.append((label, driver))
    hours = total.hours
    for rate, value in zip(assembly.labour, rates, strict=True):
        hours[rate.trade] = hours.get(rate.trade, 0.0) + driver * cast(float, value) / HOUR
    net = total.needs
    for need, value in zip(assembly.materials, needs, strict=True):
        net[need.material] = net.get(need.material, 0.0) + cast(float, value)


def _take(assembly: Assembly, total: _Sum, scale: float) -> Take:
    hours = total.hours if scale == 1.0 else {trade: value * scale for trade, value in total.hours.items()}
    if assembly.set_up_hours > 0:
        hours[assembly.set_up_trade] = hours.get(assembly.set_up_trade, 0.0) + assembly.set_up_hours
    least = assembly.minimum_hours
    return Take(
        assembly=assembly,
        driver=total.driver * scale,
        by_section=tuple(total.by_section),
        hours={trade: value if value > least else least for trade, value in hours.items()},
        needs={material: value for material, value in total.needs.items() if value > 0},
        scale=scale,
    )
