"""What was found when the roof was open, what does it take of the pot, and what does the job come to so far?

`pot` draws what was found, `counted` settles counted work down, `figures` adds a job up by tax class.
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
from quotes.calc.found.figures import JobFigures, figures_of, largest_share_of_parts
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

__all__ = [
    "AgreedComponent",
    "BadFoundExtentError",
    "CountedBeyondError",
    "CountedCredit",
    "CountedLine",
    "CountedNotedError",
    "Draw",
    "Drawn",
    "JobFigures",
    "MoreThanExposedError",
    "NoAgreedPriceError",
    "NotCountedError",
    "Pot",
    "PotPassedError",
    "draw",
    "figures_of",
    "largest_share_of_parts",
    "left_by_component",
    "repaired_by",
    "settle",
    "share_of_parts",
    "work_of",
]
