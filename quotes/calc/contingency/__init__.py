"""How much is set aside for rot that nobody can see yet, and what will the job cost in the end?

Read in this order: `inputs` (what must be known of each hidden component), `columns` (how much of it is
found at each of the 4096 fixed sample points), `hidden` (the price H of everything found, sorted, and its
128 atoms), `final_cost` (the forecast with the shop's own productivity on top), `amounts` (allowance,
reserve, contingency and limit, the only place that rounds), `lot` (several coaches that share their
wetness), `steps` (the same, told step by step) and `entry` (a manager's low, likely and high).
"""

from quotes.calc.contingency.amounts import ComponentShare, SetAside, set_aside
from quotes.calc.contingency.columns import (
    POINTS_SHA256,
    FoundColumn,
    SamplePoints,
    component_column,
    find_scale,
    forget_columns,
    found_column,
    sample_points,
    shipped_points,
)
from quotes.calc.contingency.entry import ShareEntry, pert, pert_share
from quotes.calc.contingency.final_cost import (
    Forecast,
    chance_over,
    chance_within,
    expected_factor,
    forecast,
    forecast_and_chance_over,
    quantile,
    quantiles,
)
from quotes.calc.contingency.hidden import HiddenWork, hidden_work, level_rank
from quotes.calc.contingency.inputs import (
    NO_HISTORY,
    AmountError,
    BasisError,
    CostFactors,
    Exposure,
    ExposureError,
    FactorsError,
    LevelError,
    LotError,
    PointsError,
    ShareEntryError,
    counted_whole,
)
from quotes.calc.contingency.lot import MOST_COACHES, lot_hidden_work, lot_set_aside
from quotes.calc.contingency.steps import ComponentSteps, SetAsideSteps, explain_set_aside

__all__ = [
    "MOST_COACHES",
    "NO_HISTORY",
    "POINTS_SHA256",
    "AmountError",
    "BasisError",
    "ComponentShare",
    "ComponentSteps",
    "CostFactors",
    "Exposure",
    "ExposureError",
    "FactorsError",
    "Forecast",
    "FoundColumn",
    "HiddenWork",
    "LevelError",
    "LotError",
    "PointsError",
    "SamplePoints",
    "SetAside",
    "SetAsideSteps",
    "ShareEntry",
    "ShareEntryError",
    "chance_over",
    "chance_within",
    "component_column",
    "counted_whole",
    "expected_factor",
    "explain_set_aside",
    "find_scale",
    "forecast",
    "forecast_and_chance_over",
    "forget_columns",
    "found_column",
    "hidden_work",
    "level_rank",
    "lot_hidden_work",
    "lot_set_aside",
    "pert",
    "pert_share",
    "quantile",
    "quantiles",
    "sample_points",
    "set_aside",
    "shipped_points",
]
