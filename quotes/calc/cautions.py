"""Which cautions go with this job?

Generic reminders for people who work on a roof; an assembly adds only what is peculiar to it, so nothing is said twice. Local
codes and licensed trades decide; nothing here says that a rule applies.

Sources: 29 CFR 1910.28 and 1926.501 (heights at which fall protection is named), EPA 402-K-01-001 (size classes of mold), CDC
(rodent droppings), NIOSH lifting equation (load constant), NIOSH 96-111 (urethanes). Isolating gas and power: from memory.
"""

from collections.abc import Callable, Sequence
from typing import cast

from costbase.calc.units import in_unit
from quotes.calc.takeoff import Take, Values

LARGE_MOLD_SQFT = 100.0
SMALL_MOLD_SQFT = 10.0

ALWAYS = (
    "Falls: plan edge protection or a harness before anybody steps on the roof; a rotten deck is no walking surface, so use "
    "crawl boards on sound places. Local rules say from which height protection is required.",
)


def cautions(values: Values, takes: Sequence[Take]) -> tuple[str, ...]:
    """The cautions for a job: general ones, those that its assemblies bring with them, each once, and the cold.

    Args:
        values: measures of the whole quote, canonical.
        takes: the work that is priced.
    """
    phases = frozenset(take.assembly.phase for take in takes)
    general = tuple(text for holds, text in _CAUTIONS if holds(values, phases))
    own = tuple(text for take in takes for text in take.assembly.cautions)
    return tuple(dict.fromkeys((*ALWAYS, *general, *own, *_cold(takes))))


def _cold(takes: Sequence[Take]) -> tuple[str, ...]:
    """One caution with every least temperature that an assembly says, the warmest first; shown, and enforced by nobody."""
    by_degree: dict[float, list[str]] = {}
    for take in takes:
        if take.assembly.min_temperature_f is not None:
            by_degree.setdefault(take.assembly.min_temperature_f, []).append(take.assembly.name)
    told = "; ".join(f"{degrees:g} F for {', '.join(by_degree[degrees])}" for degrees in sorted(by_degree, reverse=True))
    return (f"Cold: not below {told}, from the start until it has cured. The data sheet of the goods holds.",) if told else ()


def _number(values: Values, slug: str) -> float:
    return cast(float, values.get(slug, 0.0))


def _mold_sqft(values: Values) -> float:
    return in_unit(_number(values, "mold_area"), "ft2")


_Rule = Callable[[Values, frozenset[str]], bool]
_CAUTIONS: tuple[tuple[_Rule, str], ...] = (
    (
        lambda values, phases: "teardown" in phases,
        "Isolate LP gas, shore power and 12 V before anything is opened; wiring and gas work belong to licensed trades where "
        "local codes say so.",
    ),
    (
        lambda values, phases: _number(values, "ac_count") > 0 and bool(phases & {"strip", "refit"}),
        "A roof air conditioner weighs about 100 lb and is never a one-person lift: use a hoist or enough people, its power "
        "isolated.",
    ),
    (
        lambda values, phases: _number(values, "awning_count") > 0,
        "Awning springs store energy: lock them before the arms come off.",
    ),
    (
        lambda values, phases: SMALL_MOLD_SQFT >= _mold_sqft(values) > 0,
        "Mold growth: wear at least an N-95, gloves and eye protection; throw away porous material that was wet for more than "
        "48 hours.",
    ),
    (
        lambda values, phases: LARGE_MOLD_SQFT >= _mold_sqft(values) > SMALL_MOLD_SQFT,
        "Mold growth over 10 sq ft: contain the area as well, and wear at least an N-95, gloves and eye protection.",
    ),
    (
        lambda values, phases: _mold_sqft(values) > LARGE_MOLD_SQFT,
        "Mold growth over 100 sq ft: have a person trained in remediation plan the work before it is disturbed.",
    ),
    (
        lambda values, phases: _number(values, "vermin_zone_count") > 0,
        "Droppings: air the room for 30 minutes, never sweep or vacuum dry; wet with disinfectant for 5 minutes and wear "
        "gloves.",
    ),
    (
        lambda values, phases: bool(phases & {"deck", "skin", "core"}),
        "Urethane adhesives and foams: ventilate, and wear the respirator and gloves that the data sheet names.",
    ),
    (
        lambda values, phases: "brace" in phases,
        "Added bracing is a repair by measure, not an engineered design; a licensed engineer decides whether it carries.",
    ),
)
