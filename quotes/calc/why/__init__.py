"""Why is this number what it is?

Every answer walks the stored inputs again and lands on the stored amount: `said` and `measures` (where a measure comes from),
`lines` (labour, material and the shop's lines), `amounts` (visible work, limit, tax), `options` (what ticking adds), `tier`,
`unit_price` and `allowance` (hidden work). Steps are made here and nowhere else, so the plain path stays fast.
"""

from quotes.calc.why.allowance import why_allowance
from quotes.calc.why.amounts import AMOUNTS, why_amount
from quotes.calc.why.counted import why_counted
from quotes.calc.why.lines import why_freight, why_labour, why_material, why_shop
from quotes.calc.why.options import why_option, why_options
from quotes.calc.why.steps import Context, NothingToExplainError, Why, WhyStep
from quotes.calc.why.tier import why_tier
from quotes.calc.why.unit_price import why_unit_price

__all__ = [
    "AMOUNTS",
    "Context",
    "NothingToExplainError",
    "Why",
    "WhyStep",
    "why_allowance",
    "why_amount",
    "why_counted",
    "why_freight",
    "why_labour",
    "why_material",
    "why_option",
    "why_options",
    "why_shop",
    "why_tier",
    "why_unit_price",
]
