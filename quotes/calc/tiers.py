"""How likely is a hidden component rotten, and how much of it, at a severity tier?

Either the component's own table says so (learned, by construction and tier), or the middle figures are shifted by tier on the
logit scale, which keeps chances and shares between 0 and 1 and never lets a worse tier be cheaper.
"""

import math

from costbase.calc.cost_base import Component, TierTable
from costbase.calc.errors import CalculationError


class NoTierError(CalculationError):
    """The tier table in force does not know this tier."""

    code = "unknown_tier"


def chance_and_share(component: Component, tier: str, construction: str, table: TierTable) -> tuple[float, float]:
    """The chance that any of it is rotten, and the mean share of it once some is; both fractions of one.

    Raises:
        NoTierError: a tier without a shift.
    """
    own = component.table.get(construction, {}).get(tier)
    if own is not None:
        return own
    if tier not in table.chance_logit or tier not in table.share_logit:
        raise NoTierError(f"tier must be one of {', '.join(table.chance_logit)}", field="tier", value=tier)
    return (
        shifted(component.chance_mid, table.chance_logit[tier]),
        shifted(component.share_mid, table.share_logit[tier]),
    )


def shifted(middle: float, shift: float) -> float:
    """A fraction moved on the logit scale: 1 / (1 + exp(-(ln(m / (1 - m)) + shift)))."""
    return 1.0 / (1.0 + math.exp(-(math.log(middle / (1.0 - middle)) + shift)))
