"""What may be logged on a job, what is it worth, and what does it come to?"""

from quotes.calc.ledger.bounds import MOST_HOURS_A_DAY, BadDayError, TooManyHoursError, check_day, hours_faults
from quotes.calc.ledger.fold import Entry, JobCosts, Sum, fold, payroll_hours
from quotes.calc.ledger.match import FLAGS, Goods, HoursLine, InvoiceLine, Match, Moved, Planned, compared_hours, match_material
from quotes.calc.ledger.places import (
    NOWHERE,
    BeforeReturnError,
    CoveredWorkError,
    JobPlaces,
    Line,
    Order,
    Place,
    Return,
    UnknownPlaceError,
    covering_order,
    place_of,
)
from quotes.calc.ledger.said import (
    CREDIT,
    GOODS,
    HOURS,
    INVOICES,
    ISSUED,
    JOB,
    KINDS,
    MOST_QUANTITY,
    OTHER_HOURS,
    PACKS,
    PURCHASE,
    REASONS,
    RETURNED,
    STOCK,
    SUBCONTRACT,
    TIME,
    USE,
    USED,
    EntryMemberError,
    Said,
    digest,
    member_faults,
)
from quotes.calc.ledger.took import Part, Taken, Took, took
from quotes.calc.ledger.worth import NO_MARKUP, Worth, goods_worth, hours_worth, invoiced_worth

__all__ = [
    "CREDIT", "FLAGS", "GOODS", "HOURS", "INVOICES", "ISSUED", "JOB", "KINDS", "MOST_HOURS_A_DAY", "MOST_QUANTITY", "NOWHERE",
    "NO_MARKUP", "OTHER_HOURS", "PACKS", "PURCHASE", "REASONS", "RETURNED", "STOCK", "SUBCONTRACT", "TIME", "USE", "USED",
    "BadDayError", "BeforeReturnError", "CoveredWorkError", "Entry", "EntryMemberError", "Goods", "HoursLine", "InvoiceLine",
    "JobCosts", "JobPlaces", "Line", "Match", "Moved", "Order", "Part", "Place", "Planned", "Return", "Said", "Sum", "Taken",
    "TooManyHoursError", "Took", "UnknownPlaceError", "Worth", "check_day", "compared_hours", "covering_order", "digest",
    "fold", "goods_worth", "hours_faults", "hours_worth", "invoiced_worth", "match_material", "member_faults",
    "payroll_hours", "place_of", "took",
]  # fmt: skip
