"""Why does the forecast say so? The same update, told component by component and for the whole."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from quotes.calc.contingency import Exposure, SamplePoints
from quotes.calc.teardown.conjugate import posterior
from quotes.calc.teardown.opened import Evidence, Opened, evidence_of
from quotes.calc.teardown.update import Terms, Update, update
from quotes.calc.teardown.weights import point_weights, reading, stacked


@dataclass(frozen=True, slots=True)
class LookSteps:
    """How what was opened moved one component; chances and shares are fractions of one.

    `patches` = opened / `patch` with `rotten` of them rotten, both broken numbers. `chance_before` and `share_before` are what
    the quote has, the shop's find factor included, the share being the mean where any is rotten; `chance_after` and
    `share_after` what the looks leave. `conjugate` are the two numbers of the Beta law of the share, where the component was
    worked by itself, or None.
    """

    patch: float
    patches: float
    rotten: float
    chance_before: float
    share_before: float
    chance_after: float
    share_after: float
    conjugate: tuple[float, float] | None


def explain_update(
    points: SamplePoints, exposures: Sequence[Exposure], looks: Sequence[Opened], terms: Terms
) -> tuple[Update, tuple[LookSteps, ...]]:
    """The update and its steps, a component each in the order of the exposures. Arguments and errors as for `update`."""
    told = update(points, exposures, looks, terms)
    evidence = evidence_of(exposures, looks)
    steps = [_steps(points, part, seen, terms) for part, seen in zip(exposures, evidence, strict=True)]
    if told.method == "points":
        return told, tuple(_by_points(points, exposures, evidence, steps, terms))
    return told, tuple(_by_itself(part, seen, step, terms) for part, seen, step in zip(exposures, evidence, steps, strict=True))


def _steps(points: SamplePoints, part: Exposure, seen: Evidence, terms: Terms) -> LookSteps:
    column = reading(points, part, terms.factors).column
    chance, share = column.chance_found, _share(column.mean_share, column.chance_found)
    return LookSteps(part.patch, seen.patches, seen.rotten, chance, share, chance, share, None)


def _by_points(
    points: SamplePoints, exposures: Sequence[Exposure], evidence: Sequence[Evidence], steps: list[LookSteps], terms: Terms
) -> list[LookSteps]:
    kept = point_weights(points, exposures, terms.factors, evidence)
    rows, weights = kept.rows, kept.each
    if rows is None or weights is None:
        return steps
    known = stacked(points, tuple(exposures), terms.factors)
    chances = np.minimum(1.0, known.rotten.take(rows, axis=1) @ weights).tolist()
    means = (known.shares.take(rows, axis=1) @ weights).tolist()
    return [_after(step, chance, _share(mean, chance), None) for step, chance, mean in zip(steps, chances, means, strict=True)]


def _by_itself(part: Exposure, seen: Evidence, step: LookSteps, terms: Terms) -> LookSteps:
    if not (part.exposure > 0 < seen.patches):
        return step
    law = posterior(part, seen, terms.factors)
    shape = None if part.each else (law.share * law.phi, (1.0 - law.share) * law.phi)
    return _after(step, law.chance, law.share, shape)


def _after(step: LookSteps, chance: float, share: float, conjugate: tuple[float, float] | None) -> LookSteps:
    before = (step.patch, step.patches, step.rotten, step.chance_before, step.share_before)
    return LookSteps(*before, chance, share, conjugate)


def _share(mean: float, chance: float) -> float:
    """The mean share where any is rotten, of the mean share over all points."""
    return mean / chance if chance > 0 else 0.0
