"""What is billed, at which stage, to whom, and what may be taken back?

`items` (what a bill is made of), `sources` (items of what was agreed and of what happened since), `totals` (tax, rounding,
payers, and the limit that no bill passes), `stages`, `open_basis` (time and materials up to the limit), `credits`.
"""

from quotes.calc.bill.credits import CreditError, credit_items, goodwill_items, left_to_credit
from quotes.calc.bill.items import (
    AGREED,
    COUNTED,
    CREDIT,
    CUT,
    DRAW,
    GOODWILL,
    LOGGED,
    ORDER,
    SETTLEMENT,
    SOURCES,
    BillItemError,
    Item,
    net,
    shared,
    taken_back,
    whole,
)
from quotes.calc.bill.open_basis import Logged, cut_items, open_items
from quotes.calc.bill.sources import (
    CountedCredit,
    Draw,
    FurtherLine,
    agreed_items,
    counted_items,
    draw_items,
    further_items,
    line_key,
)
from quotes.calc.bill.stages import StageError, at_stage, phases_of
from quotes.calc.bill.totals import Billed, BillPassesAuthorisedError, Terms, billed

__all__ = [
    "AGREED",
    "COUNTED",
    "CREDIT",
    "CUT",
    "DRAW",
    "GOODWILL",
    "LOGGED",
    "ORDER",
    "SETTLEMENT",
    "SOURCES",
    "BillItemError",
    "BillPassesAuthorisedError",
    "Billed",
    "CountedCredit",
    "CreditError",
    "Draw",
    "FurtherLine",
    "Item",
    "Logged",
    "StageError",
    "Terms",
    "agreed_items",
    "at_stage",
    "billed",
    "counted_items",
    "credit_items",
    "cut_items",
    "draw_items",
    "further_items",
    "goodwill_items",
    "left_to_credit",
    "line_key",
    "net",
    "open_items",
    "phases_of",
    "shared",
    "taken_back",
    "whole",
]
