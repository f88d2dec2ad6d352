"""What do several like coaches cost that are rebuilt together, and what is each one's share?

Read in this order: `learning` (how much faster the next one goes), `labour`, `goods` and `shop` (the lines of the lot, and each
coach's share of them), `sums` (tax, limit and totals of the lot and of each coach), `lot` (`compute_fleet`, the recipe), `kept`
(what of the cost base is kept with it), `why` and `why_amounts` (the same, told step by step).
"""

from quotes.calc.fleet.goods import FreightShare, GoodsShare, LotFreight, LotGoods
from quotes.calc.fleet.kept import fleet_part_read
from quotes.calc.fleet.labour import LabourShare, LotLabour
from quotes.calc.fleet.learning import LearningError, learned
from quotes.calc.fleet.lot import Fleet, FleetError, compute_fleet
from quotes.calc.fleet.shop import LotShop, ShopShare
from quotes.calc.fleet.why import (
    LotContext,
    why_own_allowance,
    why_share_of_freight,
    why_share_of_labour,
    why_share_of_material,
    why_share_of_shop,
)
from quotes.calc.fleet.why_amounts import why_coach_amount

__all__ = [
    "Fleet",
    "FleetError",
    "FreightShare",
    "GoodsShare",
    "LabourShare",
    "LearningError",
    "LotContext",
    "LotFreight",
    "LotGoods",
    "LotLabour",
    "LotShop",
    "ShopShare",
    "compute_fleet",
    "fleet_part_read",
    "learned",
    "why_coach_amount",
    "why_own_allowance",
    "why_share_of_freight",
    "why_share_of_labour",
    "why_share_of_material",
    "why_share_of_shop",
]
