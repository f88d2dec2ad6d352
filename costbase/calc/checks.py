"""Do the editions of a cost base fit together?

A template names measures, materials, trades and other templates; whether its formulas mean anything shows only beside
those. Everything is checked when an edition is saved or a file is staged, and everything that is wrong is told at once.
"""

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import partial
from math import inf

from costbase.calc.assemblies import Assembly
from costbase.calc.cost_base import Component, Condition, Material, Price, PricingRule, ScopePlan, Trade
from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.calc.fields import at
from costbase.calc.formula import Flag, Kind, Number, kind_words
from costbase.calc.measures import MEASURES, checked, formula_of
from costbase.calc.units import BY_SYMBOL, NONE, TIME, Dimension


class TemplateError(CalculationError):
    """Something in an edition that does not fit the others."""

    code = "bad_template"


class UnknownReferenceError(TemplateError):
    """A slug that no edition in force has."""

    code = "unknown_reference"


class FoamError(TemplateError):
    """An adhesive that may dissolve the foam core, in work on the core."""

    code = "not_foam_safe"


class CountedTwiceError(TemplateError):
    """A condition that multiplies the hours of work whose formulas count the same thing already."""

    code = "counted_twice"


class CircleError(TemplateError):
    """Assemblies that wait for each other."""

    code = "predecessors_in_a_circle"


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that may be right and deserves a look: the field, and the formula language's words."""

    field: str
    message: str


@dataclass(frozen=True, slots=True)
class Editions:
    """The editions that are to hold together, by slug (prices by material)."""

    trades: Mapping[str, Trade]
    materials: Mapping[str, Material]
    prices: Mapping[str, Price]
    assemblies: Mapping[str, Assembly]
    plans: Mapping[str, ScopePlan]
    conditions: Mapping[str, Condition]
    components: Mapping[str, Component]
    rules: Mapping[str, PricingRule]


@dataclass(slots=True)
class _Findings:
    """What a check found so far."""

    faults: list[CalculationError]
    doubts: list[Doubt]

    def formula(self, path: str, text: str, level: str, expects: Kind | Dimension) -> None:
        found = checked(text, level, expects)
        self.faults.extend(error.under(path) for error in found.errors)
        self.doubts.extend(Doubt(path, warning.message) for warning in found.warnings)


def check_editions(editions: Editions) -> tuple[Doubt, ...]:
    """Checks every edition beside all others.

    Returns:
        The doubts, each with a field such as ``assembly/skin-off/driver``.

    Raises:
        CalculationFaults: everything that does not fit, each with such a field.
    """
    faults: list[CalculationError] = []
    doubts: list[Doubt] = []
    for path, one in _checks(editions):
        try:
            doubts.extend(Doubt(at(path, doubt.field), doubt.message) for doubt in one())
        except CalculationFaults as several:
            faults.extend(fault.under(path) for fault in several.faults)
    circle = predecessor_circle(editions.assemblies)
    if circle:
        faults.append(CircleError(f"assemblies wait for each other: {' -> '.join(circle)}", field=f"assembly/{circle[0]}"))
    if faults:
        raise CalculationFaults(faults)
    return tuple(doubts)


def _checks(editions: Editions) -> Iterator[tuple[str, Callable[[], Iterable[Doubt]]]]:
    assemblies, materials, trades = editions.assemblies, editions.materials, editions.trades
    for slug, assembly in assemblies.items():
        yield f"assembly/{slug}", partial(check_assembly, assembly, materials, trades, assemblies)
    for slug, plan in editions.plans.items():
        yield f"plan/{slug}", partial(check_plan, plan, assemblies)
    for slug, condition in editions.conditions.items():
        yield f"condition/{slug}", partial(check_condition, condition, assemblies, editions.conditions)
    for slug, component in editions.components.items():
        yield f"component/{slug}", partial(check_component, component, assemblies, editions.components)
    for slug, rule in editions.rules.items():
        yield f"rule/{slug}", partial(check_rule, rule, materials)
    for slug, material in materials.items():
        if material.in_place_of:
            yield f"material/{slug}", partial(_place, material, materials)
    for slug in editions.prices:
        yield f"price/{slug}", partial(_known, slug, materials, "material", "material")


def check_assembly(
    assembly: Assembly,
    materials: Mapping[str, Material],
    trades: Collection[str],
    assemblies: Collection[str],
) -> tuple[Doubt, ...]:
    """Checks a template beside the materials, trades and assemblies that it names.

    Driver x rate must be a time, each need must have its material's dimension and be whole where only whole ones are
    used; work on the foam core takes no adhesive that is not known to be safe on foam.

    Args:
        assembly: the template.
        materials: every material in force.
        trades: slugs of every trade in force.
        assemblies: slugs of every assembly in force, this one among them or not.

    Returns:
        What may be right and deserves a look, such as a need that can be negative.

    Raises:
        CalculationFaults: everything that is wrong.
    """
    found = _Findings([], [])
    level = assembly.level
    found.formula("applies", assembly.applies, level, Flag())
    unit = BY_SYMBOL[assembly.driver_unit].dimension
    found.formula("driver", assembly.driver, level, Number(unit, assembly.driver_unit == "each", 0.0, inf))
    for index, rate in enumerate(assembly.labour):
        _check_trade(found, rate.trade, trades, f"labour/{index}/trade")
        found.formula(f"labour/{index}/rate", rate.rate, level, Number(TIME / unit, False, 0.0, inf))
    if assembly.set_up_trade:
        _check_trade(found, assembly.set_up_trade, trades, "set_up_trade")
    if assembly.elapsed:
        found.formula("elapsed", assembly.elapsed, level, Number(TIME, False, 0.0, inf))
    _check_needs(found, assembly, materials)
    _check_waits(found, assembly, assemblies)
    return _told(found)


def _check_trade(found: _Findings, slug: str, trades: Collection[str], path: str) -> None:
    if slug not in trades:
        found.faults.append(UnknownReferenceError(f"no trade {slug} is in force", field=path, value=slug))


def _check_needs(found: _Findings, assembly: Assembly, materials: Mapping[str, Material]) -> None:
    for index, need in enumerate(assembly.materials):
        path = f"materials/{index}"
        material = materials.get(need.material)
        if material is None:
            found.faults.append(
                UnknownReferenceError(f"no material {need.material} is in force", field=f"{path}/material", value=need.material)
            )
            continue
        dimension = BY_SYMBOL[material.unit].dimension
        whole = material.whole and dimension == NONE
        found.formula(f"{path}/quantity", need.quantity, assembly.level, Number(dimension, whole, 0.0, inf))
        if assembly.on_foam and material.adhesive and material.foam_safe is not True:
            found.faults.append(
                FoamError(
                    f"{need.material} is not known to be safe on foam, and this work is on the foam core: solvents dissolve it",
                    field=f"{path}/material",
                    value=need.material,
                )
            )


def _check_waits(found: _Findings, assembly: Assembly, assemblies: Collection[str]) -> None:
    waits = [("predecessors", index, text) for index, text in enumerate(assembly.predecessors)]
    waits += [("reset_after", index, text) for index, text in enumerate(assembly.reset_after)]
    for name, index, text in waits:
        for slug in text.split("|"):
            if slug not in assemblies:
                found.faults.append(
                    UnknownReferenceError(f"no assembly {slug} is in force", field=f"{name}/{index}", value=slug)
                )


def check_plan(plan: ScopePlan, assemblies: Collection[str]) -> tuple[Doubt, ...]:
    """Checks that a plan names assemblies in force.

    Raises:
        CalculationFaults: every assembly that is not.
    """
    found = _Findings([], [])
    for index, slug in enumerate(plan.assemblies):
        found.faults.extend(_unknown(slug, assemblies, "assembly", f"assemblies/{index}"))
    return _told(found)


def check_condition(condition: Condition, assemblies: Mapping[str, Assembly], conditions: Collection[str]) -> tuple[Doubt, ...]:
    """Checks that a condition is a quantity or a multiplier, never both.

    A condition that follows a measure multiplies hours because of it; an assembly that it multiplies must not count the
    same measure in its formulas, in itself or through a derived one.

    Raises:
        CalculationFaults: every such pair of condition and assembly, and every slug that is not in force.
    """
    found = _Findings([], [])
    for slug in sorted(condition.assemblies):
        found.faults.extend(_unknown(slug, assemblies, "assembly", "assemblies"))
    for slug in sorted(condition.excludes):
        found.faults.extend(_unknown(slug, conditions, "condition", "excludes"))
    multiplied = [a for a in assemblies.values() if condition.follows and multiplies(condition, a)]
    for assembly in multiplied:
        if condition.follows in counted(assembly):
            found.faults.append(
                CountedTwiceError(
                    f"{condition.slug} multiplies the hours of {assembly.slug}, whose formulas count "
                    f"{condition.follows} already: a condition is a quantity or a multiplier, never both",
                    field="follows",
                    value=assembly.slug,
                )
            )
    return _told(found)


def multiplies(condition: Condition, assembly: Assembly) -> bool:
    """Whether the condition acts on the assembly: by name or phase, or on all where it lists neither."""
    if condition.assemblies or condition.phases:
        return assembly.slug in condition.assemblies or assembly.phase in condition.phases
    return True


def counted(assembly: Assembly) -> frozenset[str]:
    """Every measure that the assembly's formulas read, in themselves or through derived measures."""
    texts = [assembly.applies, assembly.driver, assembly.elapsed]
    texts += [rate.rate for rate in assembly.labour] + [need.quantity for need in assembly.materials]
    waiting = [name for text in texts if text for name in checked(text, assembly.level).inputs]
    read: set[str] = set()
    while waiting:
        slug = waiting.pop()
        if slug not in read:
            read.add(slug)
            waiting.extend(formula_of(slug).inputs if MEASURES[slug].formula else ())
    return frozenset(read)


def check_component(
    component: Component, assemblies: Mapping[str, Assembly], components: Mapping[str, Component]
) -> tuple[Doubt, ...]:
    """Checks the exposure of a hidden component, and that the assemblies which repair it move with its measure.

    Raises:
        CalculationFaults: everything that is wrong, a column that another component has among it.
    """
    found = _Findings([], [])
    unit = BY_SYMBOL[component.unit].dimension
    found.formula("exposure", component.exposure, "section", unit)
    measure = MEASURES[component.measure]
    if measure.level != "section" or not isinstance(measure.kind, Number) or measure.kind.dimension != unit:
        found.faults.append(
            TemplateError(
                f"expected a measure of a roof section in {component.unit}, and {component.measure} is "
                f"{kind_words(measure.kind)} of the {measure.level}",
                field="measure",
                value=component.measure,
            )
        )
    for index, repair in enumerate(component.repairs):
        for slug in repair.assemblies:
            path = f"repairs/{index}/assemblies"
            found.faults.extend(_unknown(slug, assemblies, "assembly", path))
            if slug in assemblies and assemblies[slug].level != "section":
                found.faults.append(
                    TemplateError(f"{slug} is taken off for the whole quote, not for a section", field=path, value=slug)
                )
    _check_looks(found, component, assemblies)
    for other in components.values():
        if other.slug != component.slug and other.column == component.column:
            found.faults.append(
                TemplateError(f"column {component.column} belongs to {other.slug}", field="column", value=other.slug)
            )
    return _told(found)


def _check_looks(found: _Findings, component: Component, assemblies: Mapping[str, Assembly]) -> None:
    unit = BY_SYMBOL[component.unit].dimension
    for index, look in enumerate(component.looks):
        path = f"looks/{index}"
        found.formula(f"{path}/extent", look.extent, "section", unit)
        assembly = assemblies.get(look.assembly)
        if assembly is None:
            found.faults.extend(_unknown(look.assembly, assemblies, "assembly", f"{path}/assembly"))
        elif look.measure not in counted(assembly):
            words = f"{look.assembly} does not count {look.measure}; expected the measure that says how much of it there is"
            found.faults.append(TemplateError(words, field=f"{path}/measure", value=look.measure))


def check_rule(rule: PricingRule, materials: Mapping[str, Material]) -> tuple[Doubt, ...]:
    """Checks that a pricing rule has a markup for every class that a material names.

    Raises:
        CalculationFaults: every class without a markup, with the first material that has it.
    """
    found = _Findings([], [])
    first: dict[str, str] = {}
    for material in materials.values():
        first.setdefault(material.markup_class, material.slug)
    for markup_class, slug in first.items():
        if markup_class not in rule.markups:
            found.faults.append(
                UnknownReferenceError(
                    f"no markup for the class {markup_class}, which {slug} has", field="markups", value=markup_class
                )
            )
    return _told(found)


def predecessor_circle(assemblies: Mapping[str, Assembly]) -> tuple[str, ...]:
    """The first circle of assemblies that wait for each other, its first slug again at the end; empty for none."""
    done: set[str] = set()
    for slug in assemblies:
        circle = _follow(slug, assemblies, done)
        if circle:
            return circle
    return ()


def _follow(start: str, assemblies: Mapping[str, Assembly], done: set[str]) -> tuple[str, ...]:
    """Walks back from one assembly without recursion: a chain of waits can be as long as there are assemblies."""
    path: list[str] = [start]
    waiting = [_waits_for(start, assemblies)]
    while path:
        slug = next(waiting[-1], "")
        if not slug:
            done.add(path.pop())
            waiting.pop()
        elif slug in path:
            return (*path[path.index(slug) :], slug)
        elif slug not in done:
            path.append(slug)
            waiting.append(_waits_for(slug, assemblies))
    return ()


def _waits_for(slug: str, assemblies: Mapping[str, Assembly]) -> Iterator[str]:
    if slug in assemblies:
        for text in assemblies[slug].predecessors:
            yield from text.split("|")


def _unknown(slug: str, known: Collection[str], what: str, path: str) -> Iterator[CalculationError]:
    if slug not in known:
        yield UnknownReferenceError(f"no {what} {slug} is in force", field=path, value=slug)


def _place(material: Material, materials: Mapping[str, Material]) -> tuple[Doubt, ...]:
    """Whether the material that this one is another size of is there, is counted alike, and is none such itself."""
    found = _Findings(list(_unknown(material.in_place_of, materials, "material", "in_place_of")), [])
    other = materials.get(material.in_place_of)
    if other is not None and other.unit != material.unit:
        words = f"{other.slug} is counted in {other.unit}, this one in {material.unit}; expected the same unit"
        found.faults.append(TemplateError(words, field="in_place_of", value=other.slug))
    if other is not None and other.in_place_of:
        words = f"{other.slug} itself stands in the place of {other.in_place_of}; expected that one"
        found.faults.append(TemplateError(words, field="in_place_of", value=other.slug))
    return _told(found)


def _known(slug: str, known: Collection[str], what: str, path: str) -> tuple[Doubt, ...]:
    return _told(_Findings(list(_unknown(slug, known, what, path)), []))


def _told(found: _Findings) -> tuple[Doubt, ...]:
    if found.faults:
        raise CalculationFaults(found.faults)
    return tuple(found.doubts)
