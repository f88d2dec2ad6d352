"""Why did a job end elsewhere than it was planned?

Two bridges that add exactly, all in Decimal: the owner's from the quote to the bill (`owner`), and the shop's from planned
margin to margin at cost (`shop`, from `labour` and `goods`); and a third cut into luck, look, hours and price (`cut`). `undone`
says what a stopped job left; `steps` is what all of them are made of.
"""

from quotes.calc.variance.cut import HOURS, LOOK, LUCK, PRICE, Cut, Looked, TierRun, TierRunError, proved_tier, third_cut
from quotes.calc.variance.goods import Goods, GoodsVariances, goods_variances
from quotes.calc.variance.labour import Grade, LabourVariances, labour_variances
from quotes.calc.variance.owner import ORDERS, STEPS, Drawn, Ordered, OwnerFigures, owner_bridge
from quotes.calc.variance.shop import CAUSES, NOTHING, REVENUE, NotDone, ShopFigures, Sides, cost_causes, margin_bridge
from quotes.calc.variance.steps import Bridge, BridgeError, Cause, Step, added, bridge
from quotes.calc.variance.undone import Place, SoldLine, Undone, undone

__all__ = [
    "CAUSES",
    "HOURS",
    "LOOK",
    "LUCK",
    "NOTHING",
    "ORDERS",
    "PRICE",
    "REVENUE",
    "STEPS",
    "Bridge",
    "BridgeError",
    "Cause",
    "Cut",
    "Drawn",
    "Goods",
    "GoodsVariances",
    "Grade",
    "LabourVariances",
    "Looked",
    "NotDone",
    "Ordered",
    "OwnerFigures",
    "Place",
    "ShopFigures",
    "Sides",
    "SoldLine",
    "Step",
    "TierRun",
    "TierRunError",
    "Undone",
    "added",
    "bridge",
    "cost_causes",
    "goods_variances",
    "labour_variances",
    "margin_bridge",
    "owner_bridge",
    "proved_tier",
    "third_cut",
    "undone",
]
