"""What do a manager's lowest, likeliest and highest share say about the share that is found?

Three numbers that a person can answer for stand for a mean and a concentration that nobody can guess.
"""

from dataclasses import dataclass

from quotes.calc.contingency.inputs import ShareEntryError

PHI_LEAST, PHI_MOST = 1.0, 8.0


@dataclass(frozen=True, slots=True)
class ShareEntry:
    """Mean share found when any is found, and the concentration phi of its Beta law."""

    mean: float
    phi: float


def pert(low: float, likely: float, high: float) -> tuple[float, float]:
    """Mean (low + 4 likely + high) / 6 and standard deviation (high - low) / 6 of a three-point estimate, in
    its unit.

    Raises:
        ShareEntryError: the three are not in order, or not finite.

    Source: D. G. Malcolm, J. H. Roseboom, C. E. Clark, W. Fazar, Operations Research 7 (1959), from memory.
    """
    if not (low <= likely <= high and high - low < float("inf")):
        raise ShareEntryError("expected low, likely and high in rising order", value=(low, likely, high))
    return (low + 4 * likely + high) / 6, (high - low) / 6


def pert_share(low: float, likely: float, high: float) -> ShareEntry:
    """Mean and concentration of the share found, from a manager's lowest, likeliest and highest.

    phi = mean (1 - mean) / variance - 1, held within 1 to 8; three equal numbers mean the surest, 8. The
    mean is the share of the tier it was entered for; a component's phi is the median over its tiers, since
    phi must not depend on the tier.

    Args:
        low: fraction of one.
        likely: fraction of one.
        high: fraction of one; the mean must stay below 1.

    Raises:
        ShareEntryError: not in rising order, or no shares.
    """
    mean, deviation = pert(low, likely, high)
    if low < 0 or high > 1 or mean >= 1:
        raise ShareEntryError("expected shares from 0 to 1, not all of them 1", value=(low, likely, high))
    phi = mean * (1 - mean) / deviation**2 - 1 if deviation else PHI_MOST
    return ShareEntry(mean, min(PHI_MOST, max(PHI_LEAST, phi)))
