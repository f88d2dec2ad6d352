"""What follows from the looks where hardly any sample point agrees with them?

A roof that turns out wet throughout, or dry against all signs, leaves two or three of 4096 points with nearly all the weight,
and no quantile can be read from these. Then each opened component is worked by itself: its share has the Beta law that a
binomial look makes of a Beta law, Beta(m phi + k, (1 - m) phi + n - k). Once anything was found the chance of rot is 1; while
nothing was, it falls by Bayes' rule: p L / (p L + 1 - p) with L = B(m phi, (1 - m) phi + n) / B(m phi, (1 - m) phi), the chance
of a sound look at a rotten component.

The other components hear of it through the wetness alone. Its law given the looks is worked out on a grid (each opened
component's own score summed out), and each point's wetness moves to the same rank of that law; the component's own score stays.
So the points stay equally likely, and none is lost.

What that leaves out: a component that was opened takes no news from the others any more, the doubt about the find factor goes
into a component's mean share as if it were its mean, and the opened components are independent of each other given the looks.

Source: Beta-binomial, textbook; the wetness on a grid, the project's own.
"""

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from scipy.special import betaln, logsumexp, ndtr, ndtri

from quotes.calc.contingency import CostFactors, Exposure, FoundColumn, SamplePoints, find_scale
from quotes.calc.contingency.columns import FloatArray, column_at
from quotes.calc.contingency.inputs import WETNESS_COLUMN
from quotes.calc.teardown.opened import Evidence
from quotes.calc.teardown.weights import MOST_SHARE, informative, log_likelihood, read_column

_WETNESS = np.linspace(-5.0, 5.0, 101)
_OWN = ndtri((np.arange(128) + 0.5) / 128)


def conjugate_columns(
    points: SamplePoints, exposures: Sequence[Exposure], factors: CostFactors, evidence: Sequence[Evidence]
) -> list[FoundColumn]:
    """What is found of each component at equally likely points, after the looks."""
    told = set(informative(exposures, evidence))
    wetness = _moved(points, [(exposures[at], evidence[at]) for at in sorted(told)], factors)
    scale = find_scale(points, factors)
    columns = []
    for at, (part, seen) in enumerate(zip(exposures, evidence, strict=True)):
        own = points.scores[:, part.column]
        if at in told:
            columns.append(column_at(wetness, own, posterior(part, seen, factors), None))
        else:
            columns.append(column_at(wetness, own, part, scale))
    return columns


def posterior(part: Exposure, seen: Evidence, factors: CostFactors) -> Exposure:
    """The component with chance, share and concentration after the looks, on its own: its loading is 0 from here on.

    One that is found whole or not at all is rotten for certain once any of it was found; a sound look at it is believed up to
    one in a thousand a patch, as the points are.
    """
    mean = min(part.share * factors.find_factor, MOST_SHARE)
    n, k = seen.patches, seen.rotten
    if part.each:
        chance = part.chance * part.share
        sound = (1.0 - MOST_SHARE) ** n
        after = 1.0 if k > 0 else chance * sound / (chance * sound + 1.0 - chance)
        return replace(part, chance=after, share=1.0, load=0.0)
    a, b = mean * part.phi, (1.0 - mean) * part.phi
    chance = 1.0 if k > 0 else part.chance
    if k == 0 and part.chance > 0 and part.share > 0:
        sound = float(np.exp(betaln(a, b + n) - betaln(a, b)))
        chance = part.chance * sound / (part.chance * sound + 1.0 - part.chance)
    return replace(part, chance=chance, share=(a + k) / (part.phi + n), phi=part.phi + n, load=0.0)


def _moved(points: SamplePoints, opened: Sequence[tuple[Exposure, Evidence]], factors: CostFactors) -> FloatArray:
    """The wetness of each point, moved to its rank in the law of the wetness given the looks."""
    log_law = -(_WETNESS**2) / 2
    for part, seen in opened:
        own = _log_chance(part, seen, factors)
        # A find where the tables hold none possible says nothing about the wetness.
        if np.isfinite(own).any():
            log_law = log_law + own
    density = np.exp(log_law - log_law.max())
    steps = np.concatenate([[0.0], np.cumsum((density[1:] + density[:-1]) / 2)])
    moved: FloatArray = np.interp(ndtr(points.scores[:, WETNESS_COLUMN]), steps / steps[-1], _WETNESS)
    return moved


def _log_chance(part: Exposure, seen: Evidence, factors: CostFactors) -> FloatArray:
    """Log of the chance of the looks at a component, at each wetness of the grid."""
    wetness, own = np.repeat(_WETNESS, _OWN.size), np.tile(_OWN, _WETNESS.size)
    column = column_at(wetness, own, part, np.full(own.size, factors.find_factor))
    logs = log_likelihood(read_column(column), seen).reshape(_WETNESS.size, _OWN.size)
    with np.errstate(divide="ignore"):
        chance: FloatArray = logsumexp(logs, axis=1)
    return chance
