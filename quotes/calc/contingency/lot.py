"""How much is set aside for several like coaches together, which share the wetness of the yard that they stood in?

What is expected adds up, so the lot's allowance is the sum of its coaches'. The level's amount does not: what is bad on one
coach is made up for by another, as far as the common wetness does not make all of them bad. So the lot's hidden work is summed
at every sample point and put in order again.

All coaches take the wetness (column 0) and the doubt about the shop's find factor (column 7) of the same row; their components
are independent given these. Where from fifty coaches take a dozen columns each, of points that have sixteen? The first one
keeps its rows. Coach k takes the scores of its components from other rows: the 4096 rows fall into 64 blocks of 64 by rising
wetness; to a block go the rows of the block that lies k - 1 further on, round the end, so that no two coaches have a row of the
same block in the same place; and inside the block they go in the order of the fractions of (row + 1) x the root of prime number
k - 1, the roots being independent of each other. A block of a Sobol sequence is spread as evenly over every component as
the whole is, so each coach keeps its mean to two parts in a thousand and fifty together theirs to half a part, and neither seed
nor chance is in it.

Rejected: one affine map of the row numbers. It keeps the means too, but the first bits of many columns hang on the last bits of
the row number alone, so that two coaches found the same component rotten in exactly the same, or exactly the opposite, half of
the points.

Source: the project's own. Ordering by fractions of multiples of roots, H. Weyl 1916 (from memory).
"""

import math
from collections.abc import Sequence
from decimal import Decimal
from functools import lru_cache

import numpy as np

from costbase.calc import money
from costbase.calc.errors import raise_faults
from quotes.calc.contingency.amounts import SetAside, Terms, amounts_of, figures_of, term_faults
from quotes.calc.contingency.columns import IndexArray, SamplePoints
from quotes.calc.contingency.hidden import AtPoints, HiddenWork, at_points, in_order
from quotes.calc.contingency.inputs import WETNESS_COLUMN, CostFactors, Exposure, LotError, PointsError, exposure_faults

MOST_COACHES = 50
BLOCKS = 64


def lot_hidden_work(points: SamplePoints, coaches: Sequence[Sequence[Exposure]], factors: CostFactors) -> HiddenWork:
    """The hidden work of a lot over all sample points, sorted; `means` and `chances` are those of each coach.

    Which coach stands where in the lot does not matter: the one with the most hidden work keeps its rows, whatever its place.

    Args:
        points: the sample points, their number a multiple of 64.
        coaches: the hidden components of each coach, 1 to 50 coaches.
        factors: the shop's record; its find factor, doubt included, is the same for all coaches.

    Raises:
        LotError: no coach, or too many.
        ExposureError, CalculationFaults: numbers of components that cannot be, below ``coaches/<index>``.
    """
    _check(points, coaches)
    alone = [sum(at_points(points, exposures, factors).means) for exposures in coaches]
    amounts = np.zeros(points.count)
    found = np.zeros(points.count, dtype=np.bool_)
    means, chances = [0.0] * len(coaches), [0.0] * len(coaches)
    for turn, place in enumerate(sorted(range(len(coaches)), key=lambda place: -alone[place])):
        work = at_points(points, coaches[place], factors, other_rows(points, turn) if turn else None)
        amounts += work.amounts
        found |= work.found
        means[place] = float(sum(work.means))
        chances[place] = np.count_nonzero(work.found) / points.count
    return in_order(AtPoints(amounts, found, tuple(means), tuple(chances)))


def lot_set_aside(
    points: SamplePoints,
    coaches: Sequence[Sequence[Exposure]],
    asides: Sequence[SetAside],
    *,
    basis: str,
    level: float,
    base: Decimal,
    factors: CostFactors,
    sd_survey: float,
    currency: money.Currency,
) -> SetAside:
    """What is set aside for a lot, and its forecast.

    Args:
        points: the project's sample points.
        coaches: the hidden components of each coach, 1 to 50 coaches.
        asides: what is set aside for each of them by itself, in the same order.
        basis: ``firm`` or ``open``.
        level: how often the lot's limit shall hold, 0.50 to 0.99.
        base: visible work of the lot, above zero.
        factors: the shop's record. In an open lot its productivity is one and the same for all coaches: a crew that is slow on
            one is slow on all, which is the dearer assumption.
        sd_survey: spread that the way of surveying adds, that of the coach that is known least.
        currency: whose decimals the amounts get.

    Returns:
        As `set_aside`, without components: these are the coaches'. The allowance is the sum of the coaches' amounts, rounded
        before; the contingency is the larger of that and the level's amount.

    Raises:
        CalculationError: as `set_aside` and `lot_hidden_work`.
    """
    terms = Terms(basis, level, base, factors, sd_survey, None)
    raise_faults(term_faults(terms))
    figures = figures_of(lot_hidden_work(points, coaches, factors), terms)
    return amounts_of(figures, terms, currency, sum((aside.allowance for aside in asides), Decimal(0)), ())


@lru_cache(maxsize=MOST_COACHES)
def other_rows(points: SamplePoints, turn: int) -> IndexArray:
    """The rows that coach number `turn` + 1 takes the scores of its components from, shape (points,), each row once.

    Args:
        points: the sample points.
        turn: 1 for the second coach of a lot.
    """
    blocks = np.sort(np.argsort(points.scores[:, WETNESS_COLUMN], kind="stable").reshape(BLOCKS, -1), axis=1)
    fractions = np.modf(np.arange(1, points.count + 1) * math.sqrt(_prime(turn)))[0]
    further_on = np.roll(blocks, -turn, axis=0)
    by_fraction = np.argsort(fractions[further_on], axis=1, kind="stable")
    rows: IndexArray = np.empty(points.count, dtype=np.intp)
    rows[blocks] = np.take_along_axis(further_on, by_fraction, axis=1)
    rows.flags.writeable = False
    return rows


def _prime(number: int) -> int:
    """The prime of this number, from 2, the first."""
    found: list[int] = []
    candidate = 2
    while len(found) < number:
        if all(candidate % prime for prime in found):
            found.append(candidate)
        candidate += 1
    return found[-1]


def _check(points: SamplePoints, coaches: Sequence[Sequence[Exposure]]) -> None:
    if not 1 <= len(coaches) <= MOST_COACHES:
        raise LotError(f"expected 1 to {MOST_COACHES} coaches", field="coaches", value=len(coaches))
    if points.count % BLOCKS:
        raise PointsError(f"expected a multiple of {BLOCKS} points", field="points", value=points.count)
    raise_faults(
        [
            fault.under(f"coaches/{place}")
            for place, exposures in enumerate(coaches)
            for fault in exposure_faults(exposures, points.columns)
        ]
    )
