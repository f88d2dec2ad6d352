"""What does one piece of work need, per foot, square foot or each?

An `Assembly` is a template: formulas over measures that say when it applies, how much of it there is (the driver), how many
hours of which trade a unit takes, and which materials it needs.
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class LabourRate:
    """Hours of one trade per unit of the driver: a formula of time per driver, e.g. ``0.05 * hour / foot``."""

    trade: str
    rate: str


@dataclass(frozen=True, slots=True)
class MaterialNeed:
    """Net need of one material, in the material's dimension; the waste is added later, once over the quote."""

    material: str
    quantity: str


@dataclass(frozen=True, slots=True)
class Assembly:
    """A priced piece of work.

    `level` is "section" (expanded for each roof section, set-up once over the quote) or "quote" (expanded once, over sums).
    `kind` is "firm", "counted" or "option". Hours of a trade = (set-up, if this trade sets up) + driver x rate, raised to
    `minimum_hours`. `off_share` of the hours of an off-and-refit line falls in its own phase, the rest in phase refit.
    `elapsed` is waiting time (cure, drying) as a formula of time, counted once. `skin` names the skin variant it belongs to.
    """

    slug: str
    name: str
    phase: str
    level: str
    kind: str
    applies: str
    driver: str
    driver_unit: str
    constructions: frozenset[str]
    skin: str
    labour: tuple[LabourRate, ...]
    set_up_hours: float
    set_up_trade: str
    minimum_hours: float
    crew: int
    materials: tuple[MaterialNeed, ...]
    predecessors: tuple[str, ...]
    reset_after: tuple[str, ...]
    off_share: float | None
    elapsed: str
    cure_hours: float
    rain_hold_hours: float
    min_temperature_f: float | None
    hold: str
    licensed: str
    on_foam: bool
    cautions: tuple[str, ...]
    edition: object  # EditionRef; typed there to keep this module below cost_base
