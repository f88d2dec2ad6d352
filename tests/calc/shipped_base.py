"""The two invented sample coaches as quotes, and smaller changes of them, priced on the cost base that the project ships.

The base comes through the import path (`tests/default_base.py`); what an estimator says is parsed as it is typed.
"""

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from functools import cache
from typing import Any

from costbase.calc.cost_base import CostBase, PricingRule
from costbase.calc.formula import Number
from costbase.calc.measures import MEASURES
from costbase.calc.units import parse
from quotes.calc.contingency import NO_HISTORY, CostFactors
from quotes.calc.geometry import Roof, Scope
from quotes.calc.inputs import Entered, QuoteInputs, TierOverride, Value
from quotes.calc.labour import ChosenCondition
from quotes.calc.quote import Quote, compute_quote
from quotes.calc.severity import SeverityRules
from quotes.calc.survey import RingMark, StripMark, Survey
from quotes.calc.why import Context
from tests import default_base
from tests.calc.contingency_cases import points
from tests.calc.roofs import attachment, framed_28_ft, laminated_34_ft, opening, roof, section, sized
from tests.calc.surveys import cell, finding, repair, survey

# What a person says of the laminated coach besides its dimensions; nothing of it comes from marks.
LAMINATED_SAYS: dict[str, str | bool] = {
    "foam_replaced_share": "0.15 share",
    "brace_count": "2 each",
    "backing_count": "4 each",
    "splinter_share": "0.4 share",
    "old_coating_share": "0.5 share",
    "old_bead_length": "150 ft",
    "spun_nut_count": "6 each",
    "wall_top_rot_length": "6 ft",
    "cap_crack_length": "2 ft",
    "wiring_repair_count": "1 each",
    "dry_days": "3 day",
    "open_days": "9 day",
}
FRAMED_SAYS: dict[str, str | bool] = {
    "deck_replaced_share": "0.15 share",
    "splinter_share": "0.2 share",
    "old_coating_share": "0.3 share",
    "old_bead_length": "80 ft",
    "dry_days": "1 day",
    "indoor_bay": True,
}


@cache
def shipped(plan: str = "full-rebuild") -> CostBase:
    """The shipped cost base with one scope plan chosen."""
    return default_base.cost_base(plan)


def base_with(plan: str = "full-rebuild", *, rule: Mapping[str, Any] | None = None, **changes: Any) -> CostBase:
    """The shipped cost base with some of its parts, or some fields of its pricing rule, replaced."""
    base = replace(shipped(plan), **changes)
    return replace(base, rule=replace(base.rule, **rule)) if rule else base


def standard_rule() -> PricingRule:
    return shipped().rule


@cache
def shipped_rules() -> SeverityRules:
    return SeverityRules.from_contents(shipped().severity.contents)


def entry(slug: str, said: str | bool, *, section: str = "main", reason: str = "seen by the estimator") -> Entered:
    """A measure as an estimator enters it; a measure of the whole quote has no section."""
    measure = MEASURES[slug]
    value: Value = said
    if isinstance(measure.kind, Number):
        value = parse(str(said), measure.kind.dimension).canonical
    text = said if isinstance(said, str) else ("yes" if said else "no")
    return Entered(slug, section if measure.level == "section" else "", value, text, reason)


def entries(says: Mapping[str, str | bool]) -> tuple[Entered, ...]:
    return tuple(entry(slug, said) for slug, said in says.items())


def inputs(
    roof: Roof,
    *,
    plan: str = "full-rebuild",
    skin: str = "frp",
    survey: Survey | None = None,
    scope: Scope = (),
    options: tuple[str, ...] = (),
    conditions: tuple[ChosenCondition, ...] = (),
    entered: tuple[Entered, ...] = (),
    override: TierOverride | None = None,
) -> QuoteInputs:
    walked = Survey("walked", "2026-05-30")
    return QuoteInputs(roof, survey or walked, scope, plan, skin, options, conditions, entered, override, None)


def laminated(skin: str = "frp") -> QuoteInputs:
    """The 34 ft laminated coach, rebuilt."""
    return inputs(laminated_34_ft(), skin=skin, entered=entries(LAMINATED_SAYS))


def framed() -> QuoteInputs:
    """The 28 ft framed coach: a new membrane over a deck of which 15 % is replaced."""
    return inputs(framed_28_ft(), plan="skin-over-kept-deck", skin="membrane", entered=entries(FRAMED_SAYS))


def two_sections() -> QuoteInputs:
    """A surveyed roof of two sections in two constructions, with conditions, an option, an override and findings."""
    front = section(
        "front",
        length_in=168,
        openings=(opening("vent", station_in=60), sized("sky", "skylight", 110, 48, (30, 22))),
        attachments=(attachment("marker_light", 5),),
        wiring_runs=3,
    )
    rear = section("rear", construction="framed", old_skin="epdm", deck="plywood_3_8in", core_in=0, length_in=250)
    return inputs(
        roof(front, rear),
        plan="skin-over-kept-deck",
        skin="membrane",
        survey=survey(
            cell("2A", "rotten", "opened", section="front"),
            cell("3B", "damp", "metered", section="rear"),
            *(cell(f"{row}C", "sound", "metered", section="rear") for row in range(1, 8)),
            StripMark("rear", "driver", 2, "soft", "opened"),
            RingMark("front", "vent", "sound", "opened", "missing"),
            finding("silicone_on_seam", "front cap", extent=3048.0, section="front"),
            repair("coating", chemistry="acrylic", share=0.25, section="rear"),
            method="metered",
        ),
        options=("ceiling-panel",),
        conditions=(ChosenCondition("no-bay", "no bay is free"),),
        entered=(
            entry("ceiling_area", "40 ft2", section="rear"),
            entry("wall_top_rot_length", "6 1/2 ft", section="front", reason="seen from the gutter"),
            entry("indoor_bay", False),
        ),
        override=TierOverride("widespread", "the owner reports leaks for years"),
    )


def quoted(wanted: QuoteInputs, base: CostBase | None = None, factors: CostFactors = NO_HISTORY) -> Quote:
    return compute_quote(wanted, base or shipped(wanted.plan), shipped_rules(), factors, points())


def explained(wanted: QuoteInputs, base: CostBase | None = None, factors: CostFactors = NO_HISTORY) -> Context:
    """A quote with everything it was worked from, for the answers to "why?"."""
    chosen = base or shipped(wanted.plan)
    return Context(wanted, chosen, shipped_rules(), factors, points(), quoted(wanted, chosen, factors))


def hours_of(quote: Quote) -> dict[str, Decimal]:
    """Hours of each assembly, all trades together."""
    hours: dict[str, Decimal] = {}
    for line in quote.visible.labour:
        hours[line.assembly] = hours.get(line.assembly, Decimal(0)) + line.hours
    return hours
