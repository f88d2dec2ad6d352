"""How much work are the assemblies of a change order?

They are taken off as those of a quote are, by the same templates over the measures of the quote; what was entered for the order
holds against those.
"""

from collections.abc import Sequence
from dataclasses import replace
from typing import TypeVar

from costbase.calc.assemblies import Assembly
from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.measures import MEASURES, check_values, derive, formula_of
from quotes.calc.change_order.terms import AssemblyWork, JobTerms, Work, WorkError
from quotes.calc.takeoff import Take, Value, compile_assembly, take_off

W = TypeVar("W", bound=Work)


def those(works: Sequence[Work], kind: type[W]) -> list[tuple[int, W]]:
    """The works of one kind, each with its place among all."""
    return [(at, work) for at, work in enumerate(works) if isinstance(work, kind)]


def takes_of(works: Sequence[Work], terms: JobTerms) -> list[tuple[AssemblyWork, Take]]:
    """What every assembly of a way comes to, in the order asked for.

    An assembly that the job carries already, or that stands earlier in the way, is not set up for again, and its least hours
    are not charged again.

    Args:
        works: everything that the way asks for.
        terms: of the job.

    Raises:
        WorkError, MeasureError, TemplateFailedError: all faults at once, below ``works/<place>``.
    """
    takes: list[tuple[AssemblyWork, Take]] = []
    faults: list[CalculationError] = []
    set_up = set(terms.carried)
    for at, work in those(works, AssemblyWork):
        try:
            takes.append((work, _take(work, set_up, terms)))
            set_up.add(work.assembly)
        except CalculationError as fault:
            faults.append(fault.under(f"works/{at}"))
    raise_faults(faults)
    return takes


def _take(work: AssemblyWork, set_up: set[str], terms: JobTerms) -> Take:
    assembly = terms.cost_base.assemblies.get(work.assembly)
    if assembly is None:
        raise WorkError(f"no assembly '{work.assembly}' is known to this job or in force today", field="assembly")
    if assembly.slug in set_up:
        # It was set up for when its first line was priced, and its least hours were charged there.
        assembly = replace(assembly, set_up_hours=0.0, minimum_hours=0.0)
    _check_measures(work, assembly)
    sections, whole = _measures(work, assembly, terms)
    found = take_off([assembly], sections, whole, quantities={})
    if not found:
        reads = ", ".join(sorted(_reads(assembly)))
        raise WorkError(
            f"'{assembly.slug}' comes to nothing here; it is driven by {assembly.driver} and reads {reads}",
            field="measures",
            value=dict(work.measures),
        )
    return found[0]


def _measures(work: AssemblyWork, assembly: Assembly, terms: JobTerms) -> tuple[dict[str, dict[str, Value]], dict[str, Value]]:
    """The measures that the assembly is expanded over: those of the quote, under what was entered for this order."""
    if assembly.level == "quote":
        if work.section:
            raise WorkError(f"'{assembly.slug}' is work on the whole roof; leave the section out", field="section")
        kinds = {label: {"roof_kind": values["roof_kind"]} for label, values in terms.sections.items()}
        return {label: {**terms.sections[label], **kind} for label, kind in kinds.items()}, {**terms.whole, **work.measures}
    values = terms.sections.get(work.section)
    if values is None:
        labels = ", ".join(terms.sections)
        raise WorkError(f"say on which section '{assembly.slug}' is: {labels}", field="section", value=work.section)
    follow = derive("section", {**values, **work.measures})
    return {work.section: {**follow, **work.measures}}, dict(terms.whole)


def _check_measures(work: AssemblyWork, assembly: Assembly) -> None:
    known = _reads(assembly)
    for slug in work.measures:
        if slug not in known:
            words = f"'{assembly.slug}' does not read '{slug}'; expected some of {', '.join(sorted(known))}"
            raise WorkError(words, field=f"measures/{slug}", value=slug)
    try:
        check_values(work.measures)
    except CalculationError as fault:
        raise fault.under("measures") from None


def _reads(assembly: Assembly) -> set[str]:
    """The measures that formulas of an assembly read, and those that these are worked out from."""
    wanted = [name for formula in compile_assembly(assembly).all() for name in formula.inputs]
    known: set[str] = set()
    while wanted:
        slug = wanted.pop()
        if slug not in known:
            known.add(slug)
            wanted += formula_of(slug).inputs if MEASURES[slug].formula is not None else ()
    return known
