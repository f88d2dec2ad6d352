"""Who pays for which line?

`parties` (payers, causes, rules), `figures` (what is read of a quote), `shares` (whose is each line and hidden component),
`split` (what each payer pays, and at most), `whose` (the same rules while the work goes on), `explained` (why).
"""

from quotes.calc.payers.explained import TOTALS, NoSuchPayerError, PayerStep, PayerWhy, why_payer
from quotes.calc.payers.figures import Charge, Figures, Hidden, Portion, section_portions
from quotes.calc.payers.parties import (
    CAUSES,
    KINDS,
    NOT_SAID,
    OWNER,
    SUBJECTS,
    WITH_DEDUCTIBLE,
    Payer,
    PayerError,
    Rule,
    check_parties,
    with_owner,
)
from quotes.calc.payers.shares import ChargePart, HiddenShare
from quotes.calc.payers.split import Due, Share, Split, by_weights, dues, split_quote
from quotes.calc.payers.whose import Whose, whose

__all__ = [
    "CAUSES",
    "KINDS",
    "NOT_SAID",
    "OWNER",
    "SUBJECTS",
    "TOTALS",
    "WITH_DEDUCTIBLE",
    "Charge",
    "ChargePart",
    "Due",
    "Figures",
    "Hidden",
    "HiddenShare",
    "NoSuchPayerError",
    "Payer",
    "PayerError",
    "PayerStep",
    "PayerWhy",
    "Portion",
    "Rule",
    "Share",
    "Split",
    "Whose",
    "by_weights",
    "check_parties",
    "dues",
    "section_portions",
    "split_quote",
    "whose",
    "why_payer",
    "with_owner",
]
