"""What has been opened of each hidden component so far, and what was found there?

Extents are in the component's own unit and of what the quote leaves to doubt: rot that the survey saw stands in the visible
work already. Openings add up, in whatever order they were entered.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from costbase.calc.errors import CalculationError, raise_faults
from quotes.calc.contingency import Exposure

# Extents have four decimals; a sum of them may lose the last bits of a double.
_TOLERANCE = 1e-9


class OpenedError(CalculationError):
    """An opened or found extent that cannot be, or one of a component that the job does not have."""

    code = "bad_opening"


@dataclass(frozen=True, slots=True)
class Opened:
    """One look at one component: `part` is its place among the exposures, from 0.

    `opened` is what was looked at, `found` the rotten part of it, never more. `drawn` is hidden work that found notes drew,
    `ordered` what change orders repair of it at the agreed price: both cost whether or not somebody entered the look that found
    them, but say nothing about the rest of the roof. `declined` is of what was found the part that nobody will put right at the
    agreed price: the owner chose to have it closed up, or an order does it some other way.
    """

    part: int
    opened: float
    found: float
    drawn: float = 0.0
    ordered: float = 0.0
    declined: float = 0.0


@dataclass(frozen=True, slots=True)
class Evidence:
    """What is known of one component by all looks at it: sums of `Opened`, and what follows from them.

    `patches` were opened and `rotten` of them found rotten, both broken numbers. `left` is what is still closed, in the
    component's unit.
    """

    opened: float
    found: float
    drawn: float
    ordered: float
    declined: float
    patches: float
    rotten: float
    left: float

    @property
    def agreed(self) -> float:
        """What is put right at the agreed price for certain: drawn or ordered."""
        return self.drawn + self.ordered

    @property
    def repaired(self) -> float:
        """What has to be put right: what was measured and what was agreed are one find, less what was declined of it."""
        return max(self.found - self.declined, self.agreed)


def evidence_of(exposures: Sequence[Exposure], looks: Sequence[Opened]) -> tuple[Evidence, ...]:
    """What all looks say of each component, in the order of the exposures, whatever the order of the looks.

    More than the exposure can be opened, where the survey had ruled out a part of the roof that is open now: the evidence then
    counts as the whole exposure. A component that is found whole or not at all counts as rotten throughout once any of it is.

    Raises:
        OpenedError: an extent below zero or not finite, more found than opened, a component that is not there.
        CalculationFaults: several of these.
    """
    raise_faults([fault.under(f"opened/{at}") for at, look in enumerate(looks) for fault in _faults(look, len(exposures))])
    mine: list[list[Opened]] = [[] for _ in exposures]
    for look in looks:
        mine[look.part].append(look)
    return tuple(_evidence(part, own) for part, own in zip(exposures, mine, strict=True))


def _evidence(part: Exposure, looks: Sequence[Opened]) -> Evidence:
    if not looks:
        return Evidence(0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, part.exposure)
    # fsum is exact, so that the order of the looks moves no bit.
    opened = math.fsum(look.opened for look in looks)
    found = math.fsum(look.found for look in looks)
    drawn = math.fsum(look.drawn for look in looks)
    ordered = math.fsum(look.ordered for look in looks)
    patches = min(opened, part.exposure) / part.patch
    rotten = min(found, part.exposure) / part.patch
    if part.each and found > 0:
        rotten = patches
    return Evidence(
        opened=opened,
        found=found,
        drawn=drawn,
        ordered=ordered,
        declined=math.fsum(look.declined for look in looks),
        patches=patches,
        rotten=min(rotten, patches),
        left=max(0.0, part.exposure - max(opened, drawn + ordered)),
    )


def _faults(look: Opened, parts: int) -> list[CalculationError]:
    if not 0 <= look.part < parts:
        return [OpenedError(f"expected a component of the job, 0 to {parts - 1}", field="part", value=look.part)]
    faults: list[CalculationError] = [
        OpenedError(f"expected an extent {name} of zero or more", field=name, value=getattr(look, name))
        for name in ("opened", "found", "drawn", "ordered", "declined")
        if not 0 <= getattr(look, name) < math.inf
    ]
    if not faults and look.found > look.opened * (1 + _TOLERANCE):
        words = f"expected at most what was opened, {look.opened:g}, to be found rotten"
        faults.append(OpenedError(words, field="found", value=look.found))
    return faults
