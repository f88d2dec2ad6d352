"""Which tasks is a quote made of, and what does each of them wait for?

A task is an assembly that there is any of. Where one that it waits for is not there, or comes to nothing, it waits for what
that one would have waited for; of ``a|b`` it waits for whichever is there. What is taken off and refitted is two tasks. Work
that the refit waits for, directly or through others, waits for the taking off; all other work waits for the refit.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import cast

from costbase.calc.assemblies import Assembly
from costbase.calc.formula import compile_formula
from costbase.calc.measures import names
from costbase.calc.units import in_unit
from quotes.calc.days.schedule import NO_WAIT, Task, Wait
from quotes.calc.labour import REFIT
from quotes.calc.measured import Measured
from quotes.calc.takeoff import Take, value_of

Assemblies = Mapping[str, Assembly]
# How the second task of an off-and-refit assembly is called after its assembly.
REFIT_OF = ":refit"


@dataclass(frozen=True, slots=True)
class Work:
    """A task with the words that people read: the assembly's name and the phase in which it is done."""

    task: Task
    assembly: str
    name: str
    phase: str


@dataclass(frozen=True, slots=True)
class _Part:
    """One task before it is known where in the list the others stand; `share` is its share of the assembly's hours."""

    take: Take
    share: float
    refit: bool


_Key = tuple[str, bool]


def network(
    takes: Sequence[Take],
    work: Mapping[str, float],
    lead: Mapping[str, int],
    measured: Measured,
    assemblies: Assemblies,
) -> tuple[Work, ...]:
    """The tasks of a quote in the order of its plan, a refit directly after its taking off.

    A take-off-and-refit has its waits and its goods at the refit.

    Args:
        takes: what there is of each assembly.
        work: days of the crew by assembly; none where nothing is said.
        lead: lead days of what is ordered, by the assemblies that need any of it.
        measured: measures of sections and quote, for elapsed times.
        assemblies: every assembly in force, so that one that is not there can hand on what it waits for.

    Raises:
        TemplateFailedError: the elapsed time of an assembly fails on this roof.
    """
    parts = [part for take in takes for part in _parts(take)]
    place = {(part.take.assembly.slug, part.refit): at for at, part in enumerate(parts)}
    waits = _waits(takes, assemblies)
    works = []
    for part in parts:
        slug, last = part.take.assembly.slug, part.refit or (part.take.assembly.slug, True) not in place
        names_after = sorted({place[key] for key in waits[slug, part.refit]})
        task = Task(
            name=f"{slug}{REFIT_OF}" if part.refit else slug,
            work=work.get(slug, 0.0) * part.share,
            wait=_wait(part.take, measured) if last else NO_WAIT,
            after=tuple(names_after),
            goods_day=float(lead.get(slug, 0)) if last else 0.0,
            ordered=last and slug in lead,
        )
        works.append(Work(task, slug, part.take.assembly.name, REFIT if part.refit else part.take.assembly.phase))
    return tuple(works)


def _parts(take: Take) -> tuple[_Part, ...]:
    share = take.assembly.off_share
    if share is None:
        return (_Part(take, 1.0, refit=False),)
    return (_Part(take, share, refit=False), _Part(take, 1.0 - share, refit=True))


def _wait(take: Take, measured: Measured) -> Wait:
    assembly = take.assembly
    if not (assembly.cure_hours or assembly.rain_hold_hours or assembly.elapsed):
        return NO_WAIT
    return Wait(assembly.cure_hours, assembly.rain_hold_hours, elapsed_days(take, measured))


def elapsed_days(take: Take, measured: Measured) -> float:
    """Waiting time of an assembly besides cure and hold; sections wait side by side, so the longest counts.

    Raises:
        TemplateFailedError: its formula fails on this roof.
    """
    assembly = take.assembly
    if not assembly.elapsed:
        return 0.0
    formula = compile_formula(assembly.elapsed, names(assembly.level))
    seen = [measured.sections[label] if label else measured.whole for label, _ in take.by_section]
    words, field = f"assembly '{assembly.slug}'", f"assemblies/{assembly.slug}/elapsed"
    return max(in_unit(cast(float, value_of(words, field, formula, values)), "day") for values in seen)


def _waits(takes: Sequence[Take], assemblies: Assemblies) -> dict[_Key, list[_Key]]:
    """What each task waits for; a task is an assembly and whether it is the refit."""
    own = {take.assembly.slug: take.assembly for take in takes}
    before = {slug: _there(assembly.predecessors, slug, own, assemblies) for slug, assembly in own.items()}
    reset = {slug: _there(assembly.reset_after, slug, own, assemblies) for slug, assembly in own.items()}
    leading = {slug: _leading(slug, before, reset) for slug, assembly in own.items() if assembly.off_share is not None}

    def keys(slugs: Sequence[str], waiting: str) -> list[_Key]:
        return [(slug, slug in leading and waiting not in leading[slug]) for slug in slugs]

    waits: dict[_Key, list[_Key]] = {(slug, False): keys(slugs, slug) for slug, slugs in before.items()}
    for slug in leading:
        waits[slug, True] = [(slug, False), *keys(reset[slug], slug)]
    return waits


def _there(texts: Sequence[str], waiting: str, own: Assemblies, assemblies: Assemblies) -> tuple[str, ...]:
    """Which of the assemblies that are there stand behind these words; `waiting` never waits for itself."""
    if all(text in own for text in texts):
        return tuple(texts)
    found: dict[str, None] = {}
    met: set[str] = set()
    texts = list(texts)
    for text in texts:
        alternatives = text.split("|")
        here = [slug for slug in alternatives if slug in own]
        found.update(dict.fromkeys(here))
        absent = [slug for slug in alternatives if not here and slug not in met and _hands_on(slug, assemblies)]
        met.update(absent)
        for slug in absent:
            texts.extend(assemblies[slug].predecessors)
    found.pop(waiting, None)
    return tuple(found)


def _hands_on(slug: str, assemblies: Assemblies) -> bool:
    """Whether what is not there hands on what it waits for; an option that nobody bought was never part of the work."""
    return slug in assemblies and assemblies[slug].kind != "option"


def _leading(slug: str, before: Mapping[str, Sequence[str]], reset: Mapping[str, Sequence[str]]) -> set[str]:
    """Everything that has to be done before the refit of an assembly, apart from its taking off."""
    met: dict[str, None] = dict.fromkeys(reset[slug])
    waiting = list(met)
    for other in waiting:
        for further in (*before[other], *reset[other]):
            if further not in met:
                met[further] = None
                waiting.append(further)
    return set(met)


def handing_on(present: Sequence[str], assemblies: Assemblies) -> tuple[str, ...]:
    """The assemblies that are not there and hand on what they would have waited for, in the order in which they are met.

    Args:
        present: slugs of the assemblies that there is any of.
        assemblies: every assembly in force.
    """
    own = {slug: assemblies[slug] for slug in present if slug in assemblies}
    texts = [text for assembly in own.values() for text in (*assembly.predecessors, *assembly.reset_after)]
    met: dict[str, None] = {}
    for text in texts:
        alternatives = text.split("|")
        if any(slug in own for slug in alternatives):
            continue
        for slug in alternatives:
            if slug not in met and _hands_on(slug, assemblies):
                met[slug] = None
                texts.extend(assemblies[slug].predecessors)
    return tuple(met)
