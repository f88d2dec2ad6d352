"""What must be known of each hidden component and of the shop's record, and what is refused?

Chances and shares are fractions of one. An exposure is in its component's own unit (square feet, feet or
each). Prices are in the shop's currency, in the priced basis (billed rates, materials after markup), before
tax.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError

WETNESS_COLUMN = 0
FIND_COLUMN = 7
BASES = ("firm", "open")

# A frame is braced or it is not: below five of them a share of the count says nothing, so each is found
# whole or not at all.
COUNTED_WHOLE_AT_MOST = 4.0

# Far outside anything a shop's record gives; they keep every exponential finite.
LARGEST_LOG_FACTOR = 2.0
LARGEST_FIND_FACTOR = 10.0

# Below a hundredth the Beta is two spikes and its inverse leaves the doubles; above a thousand it is one
# spike.
PHI_RANGE = (0.01, 1000.0)


class ExposureError(CalculationError):
    """A hidden component with a number that cannot be."""

    code = "bad_exposure"


class FactorsError(CalculationError):
    """A cost factor, find factor or spread that cannot be."""

    code = "bad_cost_factors"


class LevelError(CalculationError):
    """A confidence level outside what is allowed."""

    code = "bad_confidence_level"


class BasisError(CalculationError):
    """A price basis that is neither firm nor open."""

    code = "bad_price_basis"


class AmountError(CalculationError):
    """A base, an atom or an amount asked about that is no usable amount of money."""

    code = "bad_forecast_amount"


class PointsError(CalculationError):
    """Sample points of another shape, or other points than those that the project ships."""

    code = "bad_sample_points"


class LotError(CalculationError):
    """A lot without a coach, or with more of them than the points can tell apart."""

    code = "bad_lot"


class ShareEntryError(CalculationError):
    """A low, likely and high that are not in order or are no shares."""

    code = "bad_share_entry"


@dataclass(frozen=True, slots=True)
class Exposure:
    """How much of one hidden component this scope opens, how likely and how far it is rotten, and what that
    costs.

    `exposure` is in the component's own unit, 4 decimals; 0 makes the component inert. `chance` is the
    chance that any of it is rotten, `share` the mean share of it once some is, `phi` the concentration of
    that share, `load` how far the component follows the roof's common wetness. `unit_price` (6 decimals) is
    charged per unit found, `set_up` once when anything is found. `each`: counted in each with an exposure of
    four or fewer, found whole or not at all (see `counted_whole`). `patch` is how many units rot together;
    only the update at opening up reads it. A component that stands in sections of several constructions may
    come in several parts with one column.
    """

    component: str
    column: int
    exposure: float
    unit_price: Decimal
    set_up: Decimal
    chance: float
    share: float
    phi: float
    load: float
    each: bool
    patch: float


@dataclass(frozen=True, slots=True)
class CostFactors:
    """How this shop's finals have compared with its quotes.

    `theta` is the natural log of actual over standard cost and `sd_theta` the doubt about it; `sigma` is the
    spread of single jobs on the log scale; `find_factor` is hidden work found over expected and `sd_find`
    the doubt about it (log scale).
    """

    theta: float
    sd_theta: float
    sigma: float
    find_factor: float
    sd_find: float


# What holds while no job in the network is closed. Source: invented placeholder (spread of single jobs .12).
NO_HISTORY = CostFactors(theta=0.0, sd_theta=0.0, sigma=0.12, find_factor=1.0, sd_find=0.0)


def counted_whole(unit: str, exposure: float) -> bool:
    """Whether a component is found whole or not at all: counted in each, four or fewer of it.

    Args:
        unit: the component's unit; only ``each`` counts.
        exposure: how many are exposed.

    Source: invented placeholder (the bound of four).
    """
    return unit == "each" and exposure <= COUNTED_WHOLE_AT_MOST


def exposure_faults(exposures: Sequence[Exposure], columns: int) -> list[CalculationError]:
    """Every fault of the components, each with its field below ``exposures/<index>``.

    Args:
        exposures: the components of one quote.
        columns: how many columns the sample points have.
    """
    faults: list[CalculationError] = []
    owner: dict[int, str] = {}
    for index, part in enumerate(exposures):
        found = _faults(part, columns)
        if owner.setdefault(part.column, part.component) != part.component:
            words = f"column {part.column} already belongs to {owner[part.column]}: expected a column of its own"
            found.append(ExposureError(words, field="column", value=part.column))
        faults += [fault.under(f"exposures/{index}") for fault in found]
    return faults


def factor_faults(factors: CostFactors) -> list[CalculationError]:
    """Every fault of the shop's record."""
    faults: list[CalculationError] = []
    if not abs(factors.theta) <= LARGEST_LOG_FACTOR:
        words = f"expected the log of a cost factor, from -{LARGEST_LOG_FACTOR:g} to {LARGEST_LOG_FACTOR:g}"
        faults.append(FactorsError(words, field="factors/theta", value=factors.theta))
    if not 0 < factors.find_factor <= LARGEST_FIND_FACTOR:
        words = f"expected a find factor above 0 and at most {LARGEST_FIND_FACTOR:g}"
        faults.append(FactorsError(words, field="factors/find_factor", value=factors.find_factor))
    for name, value in (
        ("sd_theta", factors.sd_theta),
        ("sigma", factors.sigma),
        ("sd_find", factors.sd_find),
    ):
        faults += spread_faults(f"factors/{name}", value)
    return faults


def spread_faults(name: str, spread: float) -> list[CalculationError]:
    """The fault of a spread on the log scale, if it has one; `name` is its field."""
    if 0 <= spread <= LARGEST_LOG_FACTOR:
        return []
    words = f"expected a spread from 0 to {LARGEST_LOG_FACTOR:g} on the log scale"
    return [FactorsError(words, field=name, value=spread)]


def level_faults(level: float) -> list[CalculationError]:
    """The fault of a confidence level, if it is not from 0.50 to 0.99."""
    if 0.5 <= level <= 0.99:
        return []
    return [LevelError("expected a confidence level from 0.50 to 0.99", field="level", value=level)]


def base_faults(base: Decimal) -> list[CalculationError]:
    """The fault of the visible work, if it is not a finite amount above zero (its logarithm is taken)."""
    if base.is_finite() and base > 0:
        return []
    return [AmountError("expected visible work of more than zero", field="base", value=base)]


_EXPECTED = {
    "column": "a column of the sample points other than those of the wetness and the find factor",
    "exposure": "an exposure of zero or more",
    "unit_price": "a unit price of zero or more",
    "set_up": "a set-up charge of zero or more",
    "chance": "a chance of at least 0 and below 1",
    "share": "a share of at least 0 and below 1",
    "phi": f"a concentration from {PHI_RANGE[0]:g} to {PHI_RANGE[1]:g}",
    "load": "a loading from 0 to 1",
    "patch": "a patch size above zero",
    "each": f"an exposure of at most {COUNTED_WHOLE_AT_MOST:g} where each is found whole or not at all",
}


def _faults(part: Exposure, columns: int) -> list[CalculationError]:
    usable = {
        "column": 0 <= part.column < columns and part.column not in (WETNESS_COLUMN, FIND_COLUMN),
        "exposure": 0 <= part.exposure < math.inf,
        "unit_price": part.unit_price.is_finite() and part.unit_price >= 0,
        "set_up": part.set_up.is_finite() and part.set_up >= 0,
        "chance": 0 <= part.chance < 1,
        "share": 0 <= part.share < 1,
        "phi": PHI_RANGE[0] <= part.phi <= PHI_RANGE[1],
        "load": 0 <= part.load <= 1,
        "patch": 0 < part.patch < math.inf,
        "each": not part.each or part.exposure <= COUNTED_WHOLE_AT_MOST,
    }
    return [
        ExposureError(f"{part.component}: expected {_EXPECTED[name]}", field=name, value=getattr(part, name))
        for name, fine in usable.items()
        if not fine
    ]
