"""The tables of quotes. Applications further out import them from here."""

from quotes.models.bill import Bill, BillCounter, BillLine, LeakTest, Payment, Warranty, WarrantyReturn
from quotes.models.change_order import ChangeOrder, ChangeOrderLine, ChangeOrderPacks, ChangeOrderWay
from quotes.models.closed import ClosedComponent, ClosedJob
from quotes.models.coach import Coach
from quotes.models.consent import Consent, ConsentGiver, LinkAnswer, OverrunPolicy, ShownDocument, Withdrawal
from quotes.models.customer import Customer
from quotes.models.fleet import Fleet
from quotes.models.forecast import JobForecast
from quotes.models.found import CountedSettlement, FoundNote, OpeningEntry
from quotes.models.idempotency import IdempotencyKey, NetworkIdempotencyKey
from quotes.models.job import Job, JobComponent, JobCounter, JobLine
from quotes.models.ledger import LedgerEntry, Worker
from quotes.models.payer import PayerRule, QuotePayer
from quotes.models.promise import DateProposal
from quotes.models.quote import FrozenCostBase, Quote, QuoteComponent, QuoteCounter, QuoteLine
from quotes.models.review import Review
from quotes.models.second_estimate import EstimateDecision, SecondEstimate, SecondEstimateLine
from quotes.models.settlement import Settlement
from quotes.models.step import StepOffer
from quotes.models.survey import Survey
from quotes.models.trial import TriedQuote

__all__ = [
    "Bill",
    "BillCounter",
    "BillLine",
    "ChangeOrder",
    "ChangeOrderLine",
    "ChangeOrderPacks",
    "ChangeOrderWay",
    "ClosedComponent",
    "ClosedJob",
    "Coach",
    "Consent",
    "ConsentGiver",
    "CountedSettlement",
    "Customer",
    "DateProposal",
    "EstimateDecision",
    "Fleet",
    "FoundNote",
    "FrozenCostBase",
    "IdempotencyKey",
    "Job",
    "JobComponent",
    "JobCounter",
    "JobForecast",
    "JobLine",
    "LeakTest",
    "LedgerEntry",
    "LinkAnswer",
    "NetworkIdempotencyKey",
    "OpeningEntry",
    "OverrunPolicy",
    "PayerRule",
    "Payment",
    "Quote",
    "QuoteComponent",
    "QuoteCounter",
    "QuoteLine",
    "QuotePayer",
    "Review",
    "SecondEstimate",
    "SecondEstimateLine",
    "Settlement",
    "ShownDocument",
    "StepOffer",
    "Survey",
    "TriedQuote",
    "Warranty",
    "WarrantyReturn",
    "Withdrawal",
    "Worker",
]
