"""What does a change of an agreed job cost, and what is authorised after it?"""

from quotes.calc.change_order.goods import AddedPacks, Need, added_packs
from quotes.calc.change_order.limits import (
    AgreedLimit,
    Authorised,
    NoTaxClassError,
    authorised_after,
    line_tax_class,
    lines_by_class,
)
from quotes.calc.change_order.lines import OrderLine, PricedWay, agreed_repair, price_way
from quotes.calc.change_order.terms import (
    AgreedRepair,
    AssemblyWork,
    Bought,
    GoodsWork,
    HoursWork,
    JobTerms,
    RepairWork,
    SubcontractWork,
    Work,
    WorkError,
    laid_under,
)

__all__ = [
    "AddedPacks",
    "AgreedLimit",
    "AgreedRepair",
    "AssemblyWork",
    "Authorised",
    "Bought",
    "GoodsWork",
    "HoursWork",
    "JobTerms",
    "Need",
    "NoTaxClassError",
    "OrderLine",
    "PricedWay",
    "RepairWork",
    "SubcontractWork",
    "Work",
    "WorkError",
    "added_packs",
    "agreed_repair",
    "authorised_after",
    "laid_under",
    "line_tax_class",
    "lines_by_class",
    "price_way",
]
