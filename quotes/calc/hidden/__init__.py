"""What could be rotten out of sight, how much of it does this scope expose, and what would putting it right cost?

`exposures` (the formula of a component over every section in scope, scaled by the marks of the survey), `prices` (one unit of
its repair), `components` (both together, with tier, chance and share).
"""

from quotes.calc.hidden.components import HiddenComponent, hidden_components, in_order
from quotes.calc.hidden.exposures import SectionExposure, exposure_formula, exposures
from quotes.calc.hidden.prices import (
    LabourPart,
    MaterialPart,
    NoRepairError,
    RepairPart,
    SectionCost,
    UnitCost,
    can_be_repaired,
    repair_part,
    section_costs,
    unit_cost,
)

__all__ = [
    "HiddenComponent",
    "LabourPart",
    "MaterialPart",
    "NoRepairError",
    "RepairPart",
    "SectionCost",
    "SectionExposure",
    "UnitCost",
    "can_be_repaired",
    "exposure_formula",
    "exposures",
    "hidden_components",
    "in_order",
    "repair_part",
    "section_costs",
    "unit_cost",
]
