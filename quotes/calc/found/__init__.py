"""What was found when the roof was open, and what does it take of the pot?

`opened` measures entries, `shares` says how much of the roof they took off, `pot` draws what was found, `counted` settles
counted work down.
"""

from quotes.calc.found.counted import (
    CountedBeyondError,
    CountedCredit,
    CountedLine,
    CountedNotedError,
    NotCountedError,
    repaired_by,
    settle,
)
from quotes.calc.found.explained import why_draw
from quotes.calc.found.opened import (
    BeyondOpenedError,
    Exposed,
    Look,
    Measured,
    OpenedTwiceError,
    OpeningError,
    OutOfScopeError,
    UnknownComponentError,
    concerned,
    measure,
    must_be_in_scope,
    opened_totals,
)
from quotes.calc.found.pot import (
    AgreedComponent,
    BadFoundExtentError,
    Draw,
    Drawn,
    MoreThanExposedError,
    NoAgreedPriceError,
    Pot,
    PotPassedError,
    draw,
    left_by_component,
    share_of_parts,
    work_of,
)
from quotes.calc.found.shares import OpenedShare, opened_shares, taken_off

__all__ = [
    "AgreedComponent",
    "BadFoundExtentError",
    "BeyondOpenedError",
    "CountedBeyondError",
    "CountedCredit",
    "CountedLine",
    "CountedNotedError",
    "Draw",
    "Drawn",
    "Exposed",
    "Look",
    "Measured",
    "MoreThanExposedError",
    "NoAgreedPriceError",
    "NotCountedError",
    "OpenedShare",
    "OpenedTwiceError",
    "OpeningError",
    "OutOfScopeError",
    "Pot",
    "PotPassedError",
    "UnknownComponentError",
    "concerned",
    "draw",
    "left_by_component",
    "measure",
    "must_be_in_scope",
    "opened_shares",
    "opened_totals",
    "repaired_by",
    "settle",
    "share_of_parts",
    "taken_off",
    "why_draw",
    "work_of",
]
