"""Which words stand under an offer, and what does somebody affirm who consents electronically?

The words are this service's own and say how it works; they are no contract of a shop and assert no statute. A version, once it
was shown to anybody, never changes: the next one is added beside it.

Source: what an electronic consent has to be told first (paper instead, taking it back, what it covers, what is needed to keep
it), 15 U.S.C. 7001(c)(1); the review step, Uniform Electronic Transactions Act s. 10.
"""

from collections.abc import Mapping
from types import MappingProxyType

VERSION = "1"
"""Of the words that are shown now."""

_FIRM = (
    "What is set aside for hidden work is billed only as far as such work is found when the roof is open, at the unit "
    "prices of this document. What is not used is not billed."
)
_OPEN = (
    "Hours and goods are billed as they are used, at the rates and markups of this document, and hidden work as it is found, "
    "together up to the limit and no further."
)
_TERMS = (
    "The limit with tax is the most that is paid without a new consent.",
    "Work beyond that, hidden work without an agreed price, and what the owner adds is a change order. Each can be declined.",
    "Counted work is settled by what is found when the roof is open: less than quoted is billed less, at its unit price; its "
    "set-up stays.",
    "The work can be stopped. What was done and bought for this coach until then, and closing the roof, is settled on a paper "
    "of its own.",
    "A promised day is part of this consent and moves only by another one.",
)
TERMS: Mapping[str, Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {VERSION: MappingProxyType({"firm": (_TERMS[0], _FIRM, *_TERMS[1:]), "open": (_TERMS[0], _OPEN, *_TERMS[1:])})}
)
"""Version -> price basis -> sentences in their order."""

ELECTRONIC = (
    "I have looked through this document and agree to do this electronically. I may have it on paper instead at no charge, and "
    "may take this agreement back by telling the shop before work begins. It covers this document and nothing else. I can "
    "open, keep and print it with what I read it with now."
)
"""What is affirmed; the exact words are written down with the consent."""
OLD_PARTS = ("keep", "inspect", "discard")
"""What shall be done with parts that come off: handed to the owner, shown to the owner first, thrown away."""
