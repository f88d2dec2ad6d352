"""What must hold between the parts of the severity rules?"""

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from costbase.calc.errors import CalculationError
from costbase.calc.fields import ContentsError
from costbase.calc.formula import Flag, Number, a_dimension
from costbase.calc.measures import MEASURES
from quotes.calc.survey.marks import CELL_METHODS, CONDITIONS, SURVEY_METHODS
from quotes.calc.survey.rule_parts import ACTIONS, EXTENTS, TIERS, EvidenceKind, Instrument

if TYPE_CHECKING:
    from quotes.calc.survey.rules import SeverityRules


def _fault(words: str, path: str, value: object) -> ContentsError:
    return ContentsError(words, field=path, value=value)


def twice(slugs: list[str], path: str, name: str) -> Iterator[CalculationError]:
    """A fault for every slug that stands in a list again."""
    for index, slug in enumerate(slugs):
        if slug in slugs[:index]:
            yield _fault(f"{slug!r} is there twice: expected it once", f"{path}/{index}/{name}", slug)


def rule_faults(rules: "SeverityRules") -> list[CalculationError]:
    """Everything that is at odds between the parts of rules whose fields are each as expected."""
    complete = [*_missing(rules)]
    if complete:
        return complete
    return [
        *_ladder(rules.cell_weight, "cell_weight", CONDITIONS),
        *_action_faults(rules),
        *_ladder(rules.sound_leaves, "sound_leaves", CELL_METHODS, down=True),
        *_ladder(rules.survey_spread, "survey_spread", SURVEY_METHODS, down=True),
        *_share_faults(rules),
        *_floor_faults(rules),
        *(fault for index, kind in enumerate(rules.evidence.values()) for fault in _evidence_faults(rules, kind, index)),
        *_frame_faults(rules),
        *(fault for index, one in enumerate(rules.instruments.values()) for fault in _instrument_faults(one, index)),
    ]  # fmt: skip


def _missing(rules: "SeverityRules") -> Iterator[CalculationError]:
    tables = (
        ("cell_weight", rules.cell_weight.keys(), CONDITIONS),
        ("cell_action", rules.cell_action.keys(), CONDITIONS),
        ("sound_leaves", rules.sound_leaves.keys(), CELL_METHODS),
        ("survey_spread", rules.survey_spread.keys(), SURVEY_METHODS),
    )
    for path, keys, wanted in tables:
        for word in wanted:
            if word not in keys:
                yield _fault(f"{word} is missing", f"{path}/{word}", None)


def _ladder(table: dict[str, float], path: str, order: tuple[str, ...], *, down: bool = False) -> Iterator[CalculationError]:
    """A fault where a table does not rise (or fall) in the order of its names."""
    for before, after in pairwise(order):
        first, second = (after, before) if down else (before, after)
        if table[first] > table[second]:
            words = f"expected {after} to be at {'most' if down else 'least'} {before} ({table[before]:g})"
            yield _fault(words, f"{path}/{after}", table[after])


def _action_faults(rules: "SeverityRules") -> Iterator[CalculationError]:
    if rules.cell_action["sound"] != "leave":
        yield _fault("expected a sound cell to be left", "cell_action/sound", rules.cell_action["sound"])
    for milder, worse in pairwise(CONDITIONS):
        action = rules.cell_action[worse]
        if ACTIONS.index(action) < ACTIONS.index(rules.cell_action[milder]):
            words = f"expected {worse} to be treated at least as {milder} is"
            yield _fault(words, f"cell_action/{worse}", action)


def _share_faults(rules: "SeverityRules") -> Iterator[CalculationError]:
    tiers = [entry.tier for entry in rules.by_share]
    if tiers != sorted(tiers, key=TIERS.index) or not tiers or tiers[0] != TIERS[0]:
        yield _fault(f"expected tiers from {TIERS[0]} upwards", "by_share", tiers)
        return
    for index, (before, after) in enumerate(pairwise(rules.by_share), 1):
        if after.below <= before.below:
            words = f"expected more than {before.below:g}, the limit of {before.tier}"
            yield _fault(words, f"by_share/{index}/below", after.below)
    if rules.by_share[-1].below <= 1.0:
        words = "expected a limit above 1 for the last tier, so that every share has one"
        yield _fault(words, f"by_share/{len(tiers) - 1}/below", rules.by_share[-1].below)
    yield from _damp_faults(rules)


def _damp_faults(rules: "SeverityRules") -> Iterator[CalculationError]:
    """The weighted share is a mean over checked cells: a new damp mark pulls it towards the weight of damp.

    Were that weight below a limit that the mean has passed, finding more damage could take the roof back
    under the limit.
    """
    limits = [entry.below for entry in rules.by_share[:-1]] + [rules.frame_weighted_share]
    mildest = min(weight for condition, weight in rules.cell_weight.items() if condition != "sound")
    if mildest < max(limits):
        words = (
            f"expected at least {max(limits):g}, the highest limit of the weighted share: otherwise a further damp "
            "cell could lower the tier"
        )
        yield _fault(words, "cell_weight/damp", mildest)


def _floor_faults(rules: "SeverityRules") -> Iterator[CalculationError]:
    wants = {
        "sound_share_below": "share",
        "strong_sign_of": "components",
        "survey_method": "methods",
        "marked_edge_or_ring": "conditions",
    }
    for index, floor in enumerate(rules.floors):
        for when, name in wants.items():
            given = bool(getattr(floor, name))
            if given != (when == floor.when):
                words = f"expected {name} {'for' if when == floor.when else 'for no other floor than'} {when}"
                yield _fault(words, f"floors/{index}/{name}", getattr(floor, name))
        yield from _unknown(floor.components, rules.components, f"floors/{index}/components")
        if "sound" in floor.conditions:
            yield _fault("expected conditions of damage", f"floors/{index}/conditions", floor.conditions)


def _unknown(words: tuple[str, ...], known: tuple[str, ...], path: str) -> Iterator[CalculationError]:
    for word in words:
        if word not in known:
            yield _fault(f"expected one of {', '.join(known)}, not {word!r}", path, word)


def _evidence_faults(rules: "SeverityRules", kind: EvidenceKind, index: int) -> Iterator[CalculationError]:
    path = f"evidence/{index}"
    subjects = (*rules.components, *rules.other_subjects)
    yield from _unknown(tuple(kind.speaks_about), subjects, f"{path}/speaks_about")
    if kind.extent_needed and kind.extent == "none":
        yield _fault("expected what is measured (length, area or count)", f"{path}/extent", kind.extent)
    if kind.without_extent is not None and kind.without_extent.dimension != EXTENTS[kind.extent]:
        yield _fault(f"expected a size that is a {kind.extent}", f"{path}/without_extent", None)
    if kind.cells_become == "sound":
        yield _fault("expected a condition of damage", f"{path}/cells_become", kind.cells_become)
    if kind.direction == "lowers" and (kind.measure or kind.cells_become):
        yield _fault("expected no repair from a sign that something is sound", f"{path}/direction", kind.direction)
    if kind.flag and not _is_flag(kind.flag):
        yield _fault("expected a yes/no measure of the survey", f"{path}/flag", kind.flag)
    if kind.measure:
        yield from _measure_faults(kind, path)


def _is_flag(slug: str) -> bool:
    measure = MEASURES.get(slug)
    return measure is not None and measure.source == "survey" and isinstance(measure.kind, Flag)


def _measure_faults(kind: EvidenceKind, path: str) -> Iterator[CalculationError]:
    measure = MEASURES.get(kind.measure)
    sums = measure is not None and measure.source == "survey" and measure.combine == "sum"
    if measure is None or not sums or not isinstance(measure.kind, Number):
        yield _fault("expected a measure of the survey that adds up", f"{path}/measure", kind.measure)
    elif measure.kind.dimension != EXTENTS[kind.extent]:
        words = f"expected an extent that is {a_dimension(measure.kind.dimension)}, as {kind.measure} is"
        yield _fault(words, f"{path}/extent", kind.extent)
    if not kind.extent_needed and kind.without_extent is None:
        words = "expected extent_needed, or how much counts without an extent"
        yield _fault(words, f"{path}/without_extent", None)


def _frame_faults(rules: "SeverityRules") -> Iterator[CalculationError]:
    for index, sign in enumerate(rules.frame_signs):
        kind = rules.evidence.get(sign.evidence)
        if kind is None or kind.direction != "raises":
            words = f"expected a kind of evidence of damage, not {sign.evidence!r}"
            yield _fault(words, f"frame_signs/{index}/evidence", sign.evidence)
        elif sign.least.dimension != EXTENTS[kind.extent]:
            words = f"expected a size that is a {kind.extent}, as {sign.evidence} has"
            yield _fault(words, f"frame_signs/{index}/least", None)
        elif not kind.extent_needed and kind.without_extent is None:
            words = "expected extent_needed, or how much counts without an extent, for a sign of the frame"
            yield _fault(words, f"frame_signs/{index}/evidence", sign.evidence)


def _instrument_faults(instrument: Instrument, index: int) -> Iterator[CalculationError]:
    path = f"instruments/{index}/bands"
    if not instrument.bands or instrument.bands[0].least != 0.0:
        yield _fault("expected bands from 0 up", path, len(instrument.bands))
    for number_, (before, after) in enumerate(pairwise(instrument.bands), 1):
        if after.least <= before.least:
            yield _fault(f"expected more than {before.least:g}", f"{path}/{number_}/least", after.least)
        if before.wet and not after.wet:
            yield _fault("expected every band above a wet one to be wet", f"{path}/{number_}/wet", after.wet)
