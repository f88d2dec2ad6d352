"""What one quote is priced against: the frozen bundle of editions, and its fingerprint.

A `CostBase` holds only frozen values that were in force for one shop on one day. `costbase/snapshot.py` makes it from tables,
a quote keeps it as canonical JSON, and `from_contents` makes the same bundle from that JSON again.
"""

from dataclasses import dataclass
from decimal import Decimal

from costbase.calc.assemblies import Assembly
from costbase.calc.money import Currency


@dataclass(frozen=True, slots=True)
class EditionRef:
    """Which edition a number came from: kind and slug, whose it is ("shop" or "network"), and its first day (ISO)."""

    kind: str
    slug: str
    owner: str
    valid_from: str

    def words(self) -> str:
        """The source as a person reads it, e.g. ``rate lead-technician, shop's edition of 2026-03-01``."""
        return f"{self.kind} {self.slug}, {self.owner}'s edition of {self.valid_from}"


@dataclass(frozen=True, slots=True)
class Trade:
    """A trade's rates per hour in the shop's currency: what an hour costs (wage with burden) and what is billed."""

    slug: str
    name: str
    cost_per_hour: Decimal
    billed_per_hour: Decimal
    overtime_factor: Decimal
    edition: EditionRef


@dataclass(frozen=True, slots=True)
class Material:
    """A thing that is bought.

    `unit` is the unit of use ("ft", "gal", "each"); `pack_size` is in that unit; `waste_share` is added once per quote.
    `supply` is "job" (billed in whole packs) or "stock" (billed by use); `sold_by` is "pack" or "measure" (need after waste to
    two decimals). `whole`: only whole ones are used (a vent), so that a need for a part of one is a mistake; a part of a
    cartridge is none. `unit_mass` and `areal_mass` are canonical masses of a unit of use and of an area, None where
    nobody weighs it.

    Boards have the sides of a sheet, `sheet_length` by `sheet_width`, and how they are laid: ends of neighbouring courses at
    least `stagger` apart, no piece narrower than `least_piece`. Skins have the width of a roll or coil, the longest piece that
    comes of it (`stock_length`, None: as long as wanted) and how far two strips overlap (`lap`, None: laid in one piece only).
    `in_place_of` names the material that this one is another size of: where assemblies need that one, either may be bought.
    All are canonical lengths; None where it does not apply.
    """

    slug: str
    name: str
    unit: str
    pack_size: Decimal
    pack_name: str
    waste_share: Decimal
    supply: str
    sold_by: str
    markup_class: str
    lead_days: int
    foam_safe: bool | None
    adhesive: bool
    stock_width: float | None
    stock_width_covers: str  # "developed" or "visible": which width of the roof one piece must cover
    not_over: str  # chemistry of an old coating that this one does not bond to, or ""
    tax_class: str  # "parts", "labour" or "untaxed"
    edition: EditionRef
    whole: bool = False
    unit_mass: float | None = None
    areal_mass: float | None = None
    sheet_length: float | None = None
    sheet_width: float | None = None
    stagger: float | None = None
    least_piece: float | None = None
    stock_length: float | None = None
    lap: float | None = None
    in_place_of: str = ""


@dataclass(frozen=True, slots=True)
class Price:
    """Purchase price of one pack, and freight of one order whatever its size, in the shop's currency, before markup."""

    material: str
    pack_price: Decimal
    edition: EditionRef
    freight: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Condition:
    """A multiplier of hours, with the assemblies or phases it acts on (both empty: all) and those it excludes."""

    slug: str
    name: str
    factor: Decimal
    assemblies: frozenset[str]
    phases: frozenset[str]
    excludes: frozenset[str]
    follows: str  # measure that switches it on by itself ("over_silicone"), or "" when a person chooses it
    edition: EditionRef


@dataclass(frozen=True, slots=True)
class ScopePlan:
    """A named list of assemblies with the measures that it sets; `quantities` scales a driver (0.5 of an intake).

    `opens` says whether the roof is opened at all; `refuse_above_wet_share` refuses the plan on a wetter roof (None: never).
    """

    slug: str
    name: str
    sets: dict[str, float | bool]
    assemblies: tuple[str, ...]
    quantities: dict[str, Decimal]
    opens: bool
    refuse_above_wet_share: float | None
    note: str
    edition: EditionRef


@dataclass(frozen=True, slots=True)
class TaxRate:
    """One tax: name and rate as a share (0.0825)."""

    name: str
    rate: Decimal


@dataclass(frozen=True, slots=True)
class PricingRule:
    """How a shop turns cost into a price. Shares are fractions of one; amounts are in the shop's currency.

    `tax_mode` is one of "none", "parts_only", "separated", "all_with_parts", "parts_and_labour", "lump_sum". `unit_learning` is
    what the hours of a piece of work come down to on every doubling of the coaches of a fleet, 0.6 to 1; 1 where nobody says:
    nothing is learned. `warning_chance` is the chance of passing the limit from which a job at work is warned about, 0.05 to
    0.95; 0.5 where nobody says.
    """

    slug: str
    price_basis: str  # "firm" or "open"
    markups: dict[str, Decimal]  # by markup class; every class that a material names must be here
    stock_billing: str  # "packs" (whole packs, as any material) or "use" (net need and waste)
    overhead_share: Decimal
    supplies_share: Decimal
    supplies_cap: Decimal | None
    minimum_charge: Decimal
    tax_mode: str
    tax_rates: tuple[TaxRate, ...]
    supplies_tax_class: str
    overhead_tax_class: str
    minimum_tax_class: str
    deposit_share: Decimal
    validity_days: int
    confidence_level: float
    total_step: Decimal
    hours_a_day: float
    edition: EditionRef
    unit_learning: float = 1.0
    warning_chance: float = 0.5


@dataclass(frozen=True, slots=True)
class Repair:
    """One assembly that puts a hidden component right.

    `assemblies` are alternatives (deck bonded to foam, or laid on rafters): the one that the construction allows counts.
    `sign` is +1, or -1 for work that this find saves. `sets` fixes further measures while the repair is priced
    (splinter_share = 1).
    """

    assemblies: tuple[str, ...]
    sign: int
    sets: dict[str, float]


@dataclass(frozen=True, slots=True)
class Look:
    """One further look at a hidden component before a price is signed.

    `assembly` is the work of looking and `measure` the one that says how much of it: the extent itself where it is
    a size, 1 where it is a count.
    `extent` is a formula over the measures of one section: how much of the component is seen. `strength` is how much of what is
    seen becomes known, above 0 and at most 1: 1 where it lies open, less where a meter tells.
    """

    name: str
    assembly: str
    measure: str
    extent: str
    strength: float


@dataclass(frozen=True, slots=True)
class Component:
    """A part of the roof that nobody sees before it is open.

    `exposure` is a formula over the measures of one section. `repairs` are the assemblies that put it right (splinters cost
    what splinter mode costs more than sheet mode). `measure` is the measure of those assemblies that the found extent sets.
    `priced_share`, where given, is the share of the section's deck at which the repair is priced instead of at the mean find.
    Chances and shares are for the middle of the tiers; `TierTable` shifts them. `column` is the component's column in the
    sample points, kept for life. `scaled_by` names the marks that scale its exposure, or is "". `looks` are ways to see some
    of it beforehand.
    """

    slug: str
    name: str
    unit: str
    constructions: frozenset[str]
    exposure: str
    measure: str
    repairs: tuple[Repair, ...]
    priced_share: float | None
    chance_mid: float
    share_mid: float
    table: dict[str, dict[str, tuple[float, float]]]  # construction -> tier -> (chance, share); empty: mid and shift
    phi: float
    load: float
    patch: float
    column: int
    scaled_by: str  # "cells", "kept_cells", "edge_strips", "cap_strips", "ac_rings", "rings" or ""
    can_close_up: bool
    owner_words: str
    label: str
    edition: EditionRef
    looks: tuple[Look, ...] = ()


@dataclass(frozen=True, slots=True)
class TierTable:
    """Shifts of chance and share by severity tier, on the logit scale, and what they rest on."""

    chance_logit: dict[str, float]
    share_logit: dict[str, float]
    label: str
    edition: EditionRef


@dataclass(frozen=True, slots=True)
class CostBase:
    """Everything that one quote may read, by slug, for one shop on one day."""

    currency: Currency
    priced_on: str
    trades: dict[str, Trade]
    materials: dict[str, Material]
    prices: dict[str, Price]
    assemblies: dict[str, Assembly]
    conditions: dict[str, Condition]
    plan: ScopePlan
    rule: PricingRule
    components: dict[str, Component]
    tiers: TierTable
    severity: "SeverityContents"


@dataclass(frozen=True, slots=True)
class SeverityContents:
    """The severity rules as the data they are stored as; `quotes/calc/severity.py` reads them."""

    contents: dict[str, object]
    edition: EditionRef
