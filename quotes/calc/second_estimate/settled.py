"""What has been agreed about the differences, and what is still open?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError, raise_faults
from quotes.calc.second_estimate.differences import Comparison, Difference

OPEN = "open"
AGREED_OURS = "agreed-ours"
AGREED_THEIRS = "agreed-theirs"
SPLIT = "split"
STATES = (OPEN, AGREED_OURS, AGREED_THEIRS, SPLIT)


class DecisionError(CalculationError):
    """What was written about a difference contradicts itself."""

    code = "bad_decision"


@dataclass(frozen=True, slots=True)
class Decision:
    """What was written about the difference with this key: its state, and why.

    `kept` is how much of the difference stays as ours where it is split; None in every other state.
    """

    difference: str
    state: str
    reason: str
    kept: Decimal | None


@dataclass(frozen=True, slots=True)
class Settled:
    """A comparison with what was agreed: `agreed` is their total with what they take over of ours, `open` the sum of the rest.

    `given_up` is what we take over of theirs: our total = agreed + open + given up.
    """

    decisions: tuple[Decision, ...]
    agreed: Decimal
    still_open: Decimal
    given_up: Decimal
    warnings: tuple[str, ...]


def check_decisions(decisions: Sequence[Decision]) -> None:
    """Refuses decisions that contradict themselves.

    Raises:
        DecisionError, CalculationFaults: two about one difference, or a kept amount without a split, or the other way round.
    """
    faults: list[CalculationError] = []
    for at, decision in enumerate(decisions):
        if any(other.difference == decision.difference for other in decisions[:at]):
            words = f"expected one decision about a difference; '{decision.difference}' has two"
            faults.append(DecisionError(words, field=f"decisions/{at}/difference", value=decision.difference))
        if (decision.state == SPLIT) != (decision.kept is not None):
            words = "expected how much of the difference stays as ours where it is split, and nothing otherwise"
            faults.append(DecisionError(words, field=f"decisions/{at}/kept", value=decision.kept))
    raise_faults(faults)


def settle(comparison: Comparison, decisions: Sequence[Decision]) -> Settled:
    """Lays what was agreed beside the differences, in their order; one that nothing was written about is open.

    A decision about a difference that is not there any more is kept and told. So is a split whose kept amount does not lie
    between nothing and the whole difference any more: that difference counts as open.

    Args:
        comparison: the differences.
        decisions: at most one a difference.
    """
    written = {decision.difference: decision for decision in decisions}
    keys = {difference.key for difference in comparison.differences}
    warnings = [f"{key} is no difference any more; what was written about it is kept" for key in written if key not in keys]
    own, agreed, still_open, given_up = [], comparison.their_total, Decimal(0), Decimal(0)
    for difference in comparison.differences:
        decision = written.get(difference.key, Decision(difference.key, OPEN, "", None))
        own.append(decision)
        kept = _kept(difference, decision)
        if kept is None:
            still_open += difference.amount
        else:
            agreed += kept
            given_up += difference.amount - kept
        if kept is None and decision.state == SPLIT:
            warnings.append(f"{difference.key} comes to {difference.amount}, of which {decision.kept} cannot stay as ours")
    return Settled(tuple(own), agreed, still_open, given_up, tuple(warnings))


def _kept(difference: Difference, decision: Decision) -> Decimal | None:
    """How much of a difference stays as ours; None while that is open."""
    settled: Mapping[str, Decimal | None] = {AGREED_OURS: difference.amount, AGREED_THEIRS: Decimal(0), SPLIT: decision.kept}
    kept = settled.get(decision.state)
    low, high = sorted((Decimal(0), difference.amount))
    return kept if kept is not None and low <= kept <= high else None
