"""How does a cause come to its amount: what it should have been, what it was, and the difference?"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError


class BridgeError(CalculationError):
    """Figures that contradict each other, so that no bridge between them could add up."""

    code = "bad_bridge"


@dataclass(frozen=True, slots=True)
class Step:
    """One difference: `actual` less `standard` is `amount`, all in the shop's currency and rounded.

    `words` say which two figures are compared. In a variance a positive amount is adverse: it cost more than it should have.
    """

    words: str
    standard: Decimal
    actual: Decimal

    @property
    def amount(self) -> Decimal:
        """What the step comes to."""
        return self.actual - self.standard


@dataclass(frozen=True, slots=True)
class Cause:
    """One cause of a difference with the steps that it is made of; their sum is its amount."""

    slug: str
    name: str
    steps: tuple[Step, ...]

    @property
    def amount(self) -> Decimal:
        """The sum of the steps."""
        return added(step.amount for step in self.steps)


@dataclass(frozen=True, slots=True)
class Bridge:
    """From one amount to another by causes that add up exactly: `start` + all causes = `end`.

    Each cause counts as it moves the amount: in the bridge of margins what costs more is negative.
    """

    start: Decimal
    causes: tuple[Cause, ...]
    end: Decimal


def added(amounts: Iterable[Decimal]) -> Decimal:
    """The sum of rounded amounts, which is exact; 0 for none."""
    return sum(amounts, Decimal(0))


def bridge(start: Decimal, causes: Iterable[Cause], end: Decimal) -> Bridge:
    """A bridge whose causes lead from one amount to the other.

    Args:
        start: where it begins.
        causes: every step of the way, in the order in which it is shown.
        end: where it must end.

    Raises:
        BridgeError: the causes lead elsewhere.
    """
    known = tuple(causes)
    reached = start + added(cause.amount for cause in known)
    if reached != end:
        raise BridgeError(f"the causes lead from {start} to {reached}; expected them to lead to {end}", value=reached)
    return Bridge(start, known, end)
