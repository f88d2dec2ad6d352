"""Was it luck, did we look too little, did it take too many hours, or were prices higher?

A third cut through the same job. Hidden work that came to more than expected is *luck* as far as it lies inside the range that
the quote gave; where it lies outside, and a worse tier would have held it, what that tier would have set aside more is *look*:
the roof was worse than it was taken for. *Hours* are more hours and goods than the work needs, *price* dearer hours and goods.
Luck and look add to the hidden work less what was expected of it; hours and price are those of the shop's bridge.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError
from quotes.calc.variance.goods import MATERIAL_PRICE, MATERIAL_USAGE
from quotes.calc.variance.labour import LABOUR_MIX, LABOUR_RATE, LABOUR_YIELD
from quotes.calc.variance.steps import added

LUCK, LOOK, HOURS, PRICE = "luck", "look", "hours", "price"
_HOURS = (LABOUR_MIX, LABOUR_YIELD, MATERIAL_USAGE)
_PRICE = (LABOUR_RATE, MATERIAL_PRICE)


class TierRunError(CalculationError):
    """Runs of a quote at other tiers that do not begin with the quote's own."""

    code = "bad_tier_run"


@dataclass(frozen=True, slots=True)
class TierRun:
    """What the quote sets aside at a tier: the quote's own first, then each worse one, all else as it was quoted."""

    tier: str
    contingency: Decimal


@dataclass(frozen=True, slots=True)
class Looked:
    """What the quote was given to see: the tier by the rules, the tier that held, and why they differ."""

    by_rules: str
    held: str
    reason: str
    checked_percent: int


@dataclass(frozen=True, slots=True)
class Cut:
    """One of `LUCK`, `LOOK`, `HOURS`, `PRICE` with its amount (adverse positive) and a sentence."""

    slug: str
    amount: Decimal
    sentence: str


def proved_tier(found: Decimal, runs: Sequence[TierRun]) -> TierRun:
    """The mildest of the runs whose contingency holds what was found; the worst where none does.

    Args:
        found: hidden work as it was measured, at agreed prices, ex tax.
        runs: the quote's own tier first, then each worse one.

    Raises:
        TierRunError: no run at all.
    """
    if not runs:
        raise TierRunError("expected the quote's own tier and what it sets aside", field="runs")
    return next((run for run in runs if found <= run.contingency), runs[-1])


def third_cut(
    *, found: Decimal, allowance: Decimal, runs: Sequence[TierRun], looked: Looked, costs: Mapping[str, Decimal]
) -> tuple[Cut, ...]:
    """Luck, look, hours and price, in that order; luck + look = found - allowance exactly.

    Args:
        found: hidden work as it was measured, at agreed prices, ex tax.
        allowance: what was expected of it.
        runs: the quote's own tier first, then each worse one; only the own, where the quote could not be worked out again.
        looked: what the quote was given to see.
        costs: amounts of the causes of the shop's cost (`cost_causes`) by slug.

    Raises:
        TierRunError: no run at all.
    """
    own, proved = runs[0] if runs else None, proved_tier(found, runs)
    assert own is not None
    surprise = found - allowance
    look = max(Decimal(0), min(proved.contingency - own.contingency, surprise)) if proved is not own else Decimal(0)
    hours, price = (added(costs.get(slug, Decimal(0)) for slug in slugs) for slugs in (_HOURS, _PRICE))
    return (
        Cut(LUCK, surprise - look, _luck(found, allowance, own, proved)),
        Cut(LOOK, look, _look(own, proved, looked)),
        Cut(HOURS, hours, _than(hours, "more hours and goods went in than the work needs", "fewer hours and goods went in")),
        Cut(PRICE, price, _than(price, "hours and goods were dearer than planned", "hours and goods were cheaper")),
    )


def _luck(found: Decimal, allowance: Decimal, own: TierRun, proved: TierRun) -> str:
    if found <= own.contingency:
        return (
            f"hidden work came to {found} where {allowance} was expected: inside the {own.contingency} that the quote set aside"
        )
    if proved is own:
        return f"hidden work came to {found}, beyond the {own.contingency} that was set aside, and no worse tier explains it"
    return f"hidden work came to {found}, beyond the {own.contingency} that was set aside; less what a closer look had told"


def _look(own: TierRun, proved: TierRun, looked: Looked) -> str:
    if proved is own:
        return "what was found needs no worse tier than was quoted"
    words = f"opened, the roof was {proved.tier}, which sets {proved.contingency} aside, not {own.tier} with {own.contingency}"
    if looked.held != looked.by_rules:
        return f"{words}; the signs said {looked.by_rules} and {looked.held} was entered: {looked.reason}"
    return f"{words}; {looked.checked_percent} % of the roof had been checked"


def _than(amount: Decimal, adverse: str, favourable: str) -> str:
    if not amount:
        return "as planned"
    return f"{adverse}: {amount}" if amount > 0 else f"{favourable}: {-amount}"
