"""How long will the coach stand in the shop?

Hours over crew and day, drying, a night for every cure, a day for the sealant, and before all of that the lead time of what has
to be ordered. It is told as a range: without hidden work, and with as much of it as the contingency pays for.

Source: common practice, none published.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import cast

from costbase.calc.cost_base import PricingRule
from costbase.calc.formula import compile_formula
from costbase.calc.measures import names
from costbase.calc.units import in_unit
from quotes.calc.labour import LabourLine
from quotes.calc.measured import Measured
from quotes.calc.pricing import MaterialLine, Visible
from quotes.calc.takeoff import Take, value_of


@dataclass(frozen=True, slots=True)
class Days:
    """Days in the shop, from `low` (no hidden work) to `high` (the contingency used up), and the days before work can start.

    `working` are crew days of the visible work; `drying`, `cures` (nights) and `sealant` are waiting; `hidden` is what hidden
    work adds. `lead` is the longest lead time of a material, that of `lead_material`, and runs before. Days, not rounded.
    """

    working: float
    drying: float
    cures: int
    sealant: int
    hidden: float
    low: float
    high: float
    lead: int
    lead_material: str


def crew_days(lines: Iterable[LabourLine], takes: Sequence[Take], hours_a_day: float) -> float:
    """Days that the crews work on these lines: hours of each assembly over its crew and the hours of a day.

    Args:
        lines: priced lines of labour.
        takes: the take-off they came from, which knows the crews.
        hours_a_day: hours that a crew works in a day, above 0.
    """
    crews = {take.assembly.slug: take.assembly.crew for take in takes}
    return sum(float(line.hours) / (crews[line.assembly] * hours_a_day) for line in lines)


def days(visible: Visible, takes: Sequence[Take], measured: Measured, contingency: Decimal, rule: PricingRule) -> Days:
    """The range of days, from the lines and their assemblies.

    Args:
        visible: priced lines.
        takes: the take-off the lines came from.
        measured: measures of sections and quote, for the elapsed times.
        contingency: what is set aside for hidden work; the days it pays for are as its share of the visible work.
        rule: holds the hours of a working day.

    Raises:
        TemplateFailedError: the elapsed time of an assembly fails on this roof.
    """
    working = crew_days(visible.labour, takes, rule.hours_a_day)
    drying = sum(_elapsed_days(take, measured) for take in takes)
    cures = sum(1 for take in takes if take.assembly.cure_hours > 0)
    sealant = 1 if any(take.assembly.rain_hold_hours > 0 for take in takes) else 0
    low = working + drying + cures + sealant
    hidden = working * float(contingency / visible.base) if visible.base > 0 else 0.0
    slowest = max(visible.materials, key=_lead, default=None)
    return Days(
        working=working,
        drying=drying,
        cures=cures,
        sealant=sealant,
        hidden=hidden,
        low=low,
        high=low + hidden,
        lead=_lead(slowest) if slowest is not None else 0,
        lead_material=slowest.packed.material.name if slowest is not None else "",
    )


def _lead(line: MaterialLine) -> int:
    return line.packed.material.lead_days


def _elapsed_days(take: Take, measured: Measured) -> float:
    """Waiting time of an assembly: sections wait side by side, so the longest counts."""
    assembly = take.assembly
    if not assembly.elapsed:
        return 0.0
    formula = compile_formula(assembly.elapsed, names(assembly.level))
    seen = [measured.sections[label] if label else measured.whole for label, _ in take.by_section]
    words, field = f"assembly '{assembly.slug}'", f"assemblies/{assembly.slug}/elapsed"
    return max(in_unit(cast(float, value_of(words, field, formula, values)), "day") for values in seen)
