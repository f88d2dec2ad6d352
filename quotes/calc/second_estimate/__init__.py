"""How does somebody else's estimate of the same roof stand beside ours?

`lines` (both sides in a form that can be compared), `suggested` (which lines may belong together), `differences` (what each
comes to), `settled` (what was agreed). Nothing here changes a price.
"""

from quotes.calc.second_estimate.differences import KINDS, Comparison, Difference, Side, compare
from quotes.calc.second_estimate.lines import COMPONENT, Compared, Measure, OurLine, TheirLine
from quotes.calc.second_estimate.settled import STATES, Decision, DecisionError, Settled, check_decisions, settle
from quotes.calc.second_estimate.suggested import Suggestion, suggestions

__all__ = [
    "COMPONENT",
    "KINDS",
    "STATES",
    "Compared",
    "Comparison",
    "Decision",
    "DecisionError",
    "Difference",
    "Measure",
    "OurLine",
    "Settled",
    "Side",
    "Suggestion",
    "TheirLine",
    "check_decisions",
    "compare",
    "settle",
    "suggestions",
]
