"""How much of one hidden component is rotten, at each of the fixed sample points?

The points are normal scores made once from an unscrambled Sobol sequence: no seed, so that a quote is
repeatable bit for bit. Every component has a column for life; all of them share column 0, the wetness of the
roof, and column 7 carries the doubt about the find factor. What a component's column gives depends on a
handful of numbers only, so it is kept by those values.

Source: the points, Sobol 1967 with the direction numbers of Joe and Kuo 2008 (as scipy.stats.qmc has them);
the shared factor, common practice in credit risk, from memory; the numbers of nodes and points, chosen by
the error of the 80 % quantile.
"""

import hashlib
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import betaincinv, ndtr

from quotes.calc.contingency.inputs import FIND_COLUMN, WETNESS_COLUMN, CostFactors, Exposure, PointsError

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]
IndexArray = NDArray[np.intp]

# Of the shipped array's values as little-endian doubles, row by row (not of the file, whose header numpy may
# write otherwise).
POINTS_SHA256 = "0d89162dc0c2487388f3d014cc66e392da43a73068b5699da9c7c4483a1a5ace"

RUN = 32
NODES = 512
NODE_FIRST = 1e-9
NODE_LAST = 1.0 - 1e-7


@dataclass(frozen=True, slots=True)
class SamplePoints:
    """Normal scores, shape (points, columns), read-only, each column contiguous.

    Two are equal when their checksums are.
    """

    checksum: str
    scores: FloatArray = field(compare=False, repr=False)

    @property
    def count(self) -> int:
        """How many points there are."""
        return int(self.scores.shape[0])

    @property
    def columns(self) -> int:
        """How many columns a point has."""
        return int(self.scores.shape[1])


@dataclass(frozen=True, slots=True)
class FoundColumn:
    """What is found of one component at each point.

    `share` is the share of its exposure, shape (points,), 0 to 1; `found` tells where it is above 0; `mean_share` and
    `chance_found` are the means of the two.
    """

    share: FloatArray = field(repr=False)
    found: BoolArray = field(repr=False)
    mean_share: float
    chance_found: float


def sample_points(scores: FloatArray) -> SamplePoints:
    """The points for use: checked, with checksum, frozen, each column contiguous.

    Args:
        scores: normal scores, shape (points, columns) with a multiple of 32 points and at least the columns
            up to 7.

    Raises:
        PointsError: another shape, or a score that is not finite.
    """
    array = np.asarray(scores, dtype=np.float64)
    if array.ndim != 2 or array.shape[0] == 0 or array.shape[0] % RUN or array.shape[1] <= FIND_COLUMN:
        words = f"expected a table of normal scores, a multiple of {RUN} rows and more than {FIND_COLUMN} columns"
        raise PointsError(words, field="points", value=array.shape)
    if not np.isfinite(array).all():
        raise PointsError("expected finite normal scores", field="points")
    by_column = np.array(array, order="F")
    by_column.flags.writeable = False
    return SamplePoints(hashlib.sha256(array.astype("<f8").tobytes(order="C")).hexdigest(), by_column)


def shipped_points(scores: FloatArray) -> SamplePoints:
    """The project's own points for use; any other points would quietly move every price.

    Args:
        scores: the array of ``quotes/points.npy``, shape (4096, 16).

    Raises:
        PointsError: the checksum is not `POINTS_SHA256`.
    """
    points = sample_points(scores)
    if points.checksum != POINTS_SHA256:
        words = f"expected the sample points with SHA-256 {POINTS_SHA256}"
        raise PointsError(words, field="points", value=points.checksum)
    return points


@lru_cache(maxsize=768)
def component_column(
    points: SamplePoints, column: int, *, chance: float, share: float, phi: float, load: float, each: bool
) -> FoundColumn:
    """What is found of a component at each point, before the shop's find factor; kept by its values.

    A latent score x = load z_0 + sqrt(1 - load^2) z_column has a standard normal law. Nothing is found where
    Phi(x) <= 1 - chance; above that the share found follows a Beta law with mean `share` and concentration
    `phi`. Neither `chance` nor `share` can rise without the column rising at every point, which is why `phi`
    must not depend on the tier.

    Args:
        points: the sample points.
        column: the component's own column, neither 0 nor 7.
        chance: chance that any is rotten, in [0, 1).
        share: mean share when some is, in [0, 1).
        phi: concentration of the Beta law, above 0.
        load: loading on the common wetness, in [0, 1].
        each: found whole (1) where Phi(x) > 1 - chance x share, else not at all.

    Returns:
        Shares of shape (points,), read-only. The memo holds 768 columns, about 28 MB at 4096 points.
    """
    return _found(_uniform(points, column, load), chance, share, phi, each)


def _found(uniform: FloatArray, chance: float, share: float, phi: float, each: bool) -> FoundColumn:
    """What is found where the component's latent score lies at these ranks, 0 to 1."""
    if each:
        found = uniform > 1.0 - chance * share
        return _frozen(found.astype(np.float64), found)
    if chance == 0.0 or share == 0.0:
        return _frozen(np.zeros(uniform.size), np.zeros(uniform.size, dtype=np.bool_))
    rank = (uniform - (1.0 - chance)) / chance
    shares = np.where(rank > 0.0, _share_table(share, phi).at(rank), 0.0)
    return _frozen(shares, shares > 0.0)


def found_column(points: SamplePoints, part: Exposure, scale: FloatArray | None) -> FoundColumn:
    """What is found of a component with the shop's find factor on top, never more than all of it.

    Args:
        points: the sample points.
        part: the component.
        scale: from `find_scale`.
    """
    plain = component_column(
        points,
        part.column,
        chance=part.chance,
        share=part.share,
        phi=part.phi,
        load=part.load,
        each=part.each,
    )
    return _scaled(plain, scale)


def paired_column(points: SamplePoints, part: Exposure, scale: FloatArray | None, rows: IndexArray) -> FoundColumn:
    """The same with the component's own score taken from other rows: wetness and find factor are shared, the rest is not.

    Args:
        points: the sample points.
        part: the component.
        scale: from `find_scale`.
        rows: for each point, the row that its own score is taken from, shape (points,).
    """
    # Not kept: fifty coaches would push the columns of every single quote out of the memo.
    return column_at(points.scores[:, WETNESS_COLUMN], points.scores[:, part.column][rows], part, scale)


def column_at(wetness: FloatArray, own: FloatArray, part: Exposure, scale: FloatArray | None) -> FoundColumn:
    """What is found of a component where the roof's wetness and its own score are these; not kept.

    Args:
        wetness: normal scores of the roof's common wetness.
        own: normal scores of the component itself, as many.
        part: the component.
        scale: the find factor at each of them, or None for 1.
    """
    return _scaled(_found(_latent(wetness, own, part.load), part.chance, part.share, part.phi, part.each), scale)


def _scaled(plain: FoundColumn, scale: FloatArray | None) -> FoundColumn:
    if scale is None:
        return plain
    return _frozen(np.minimum(1.0, plain.share * scale), plain.found)


def find_scale(points: SamplePoints, factors: CostFactors) -> FloatArray | None:
    """The shop's find factor with its doubt at each point; None when it is 1 throughout.

    Returns:
        Positive factors of shape (points,) whose mean is `find_factor`.
    """
    if factors.find_factor == 1.0 and factors.sd_find == 0.0:
        return None
    doubt = factors.sd_find * points.scores[:, FIND_COLUMN] - factors.sd_find**2 / 2
    scale: FloatArray = factors.find_factor * np.exp(doubt)
    return scale


def forget_columns(*, tables_too: bool = True) -> None:
    """Empties the memos, for measuring a first quote; results never depend on them.

    Args:
        tables_too: also the tables of the inverse Beta, which hold for every tier with the same share and concentration.
    """
    component_column.cache_clear()
    _uniform.cache_clear()
    if tables_too:
        _share_table.cache_clear()


@lru_cache(maxsize=64)
def _uniform(points: SamplePoints, column: int, load: float) -> FloatArray:
    uniform = _latent(points.scores[:, WETNESS_COLUMN], points.scores[:, column], load)
    uniform.flags.writeable = False
    return uniform


def _latent(shared: FloatArray, own: FloatArray, load: float) -> FloatArray:
    """The ranks, 0 to 1, of a component's latent score."""
    uniform: FloatArray = ndtr(load * shared + np.sqrt(1.0 - load * load) * own)
    return uniform


@dataclass(frozen=True, slots=True)
class _ShareTable:
    """The inverse Beta at 513 nodes, and the slope from each to the next.

    The inverse costs a microsecond a value: too slow for 4096 points in a dozen columns.
    """

    nodes: FloatArray
    values: FloatArray
    slopes: FloatArray

    def at(self, rank: FloatArray) -> FloatArray:
        """The inverse Beta on straight lines between nodes, for ranks that may lie outside 0 to 1."""
        # np.interp searches for the node, which takes three times as long as computing its place.
        inside = np.minimum(np.maximum(rank, NODE_FIRST), NODE_LAST)
        below = (inside * NODES).astype(np.intp)
        value: FloatArray = self.values.take(below) + (inside - self.nodes.take(below)) * self.slopes.take(below)
        return value


@lru_cache(maxsize=512)
def _share_table(share: float, phi: float) -> _ShareTable:
    nodes = np.arange(NODES + 1) / NODES
    nodes[0], nodes[-1] = NODE_FIRST, NODE_LAST
    values: FloatArray = betaincinv(share * phi, (1.0 - share) * phi, nodes)
    return _ShareTable(nodes, values, np.append(np.diff(values) / np.diff(nodes), 0.0))


def _frozen(share: FloatArray, found: BoolArray) -> FoundColumn:
    share.flags.writeable = False
    found.flags.writeable = False
    return FoundColumn(share, found, float(share.mean()), np.count_nonzero(found) / found.size)
