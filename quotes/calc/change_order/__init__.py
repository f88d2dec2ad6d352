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
from quotes.calc.change_order.repairs import crew_hours, repair_cost, set_up_cost
from quotes.calc.change_order.steps import line_steps
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
from quotes.calc.change_order.ways import (
    KINDS,
    STOP,
    STOPS_WORK,
    WARRANTY,
    WISH,
    CannotCloseUpError,
    WaysError,
    check_ways,
    whole_days,
)

__all__ = [
    "KINDS",
    "STOP",
    "STOPS_WORK",
    "WARRANTY",
    "WISH",
    "AddedPacks",
    "AgreedLimit",
    "AgreedRepair",
    "AssemblyWork",
    "Authorised",
    "Bought",
    "CannotCloseUpError",
    "GoodsWork",
    "HoursWork",
    "JobTerms",
    "Need",
    "NoTaxClassError",
    "OrderLine",
    "PricedWay",
    "RepairWork",
    "SubcontractWork",
    "WaysError",
    "Work",
    "WorkError",
    "added_packs",
    "agreed_repair",
    "authorised_after",
    "check_ways",
    "crew_hours",
    "laid_under",
    "line_steps",
    "line_tax_class",
    "lines_by_class",
    "price_way",
    "repair_cost",
    "set_up_cost",
    "whole_days",
]
