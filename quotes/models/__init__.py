"""The tables of quotes. Applications further out import them from here."""

from quotes.models.coach import Coach
from quotes.models.customer import Customer
from quotes.models.fleet import Fleet
from quotes.models.idempotency import IdempotencyKey, NetworkIdempotencyKey
from quotes.models.payer import PayerRule, QuotePayer
from quotes.models.quote import FrozenCostBase, Quote, QuoteComponent, QuoteCounter, QuoteLine
from quotes.models.second_estimate import EstimateDecision, SecondEstimate, SecondEstimateLine
from quotes.models.survey import Survey
from quotes.models.trial import TriedQuote

__all__ = [
    "Coach",
    "Customer",
    "EstimateDecision",
    "Fleet",
    "FrozenCostBase",
    "IdempotencyKey",
    "NetworkIdempotencyKey",
    "PayerRule",
    "Quote",
    "QuoteComponent",
    "QuoteCounter",
    "QuoteLine",
    "QuotePayer",
    "SecondEstimate",
    "SecondEstimateLine",
    "Survey",
    "TriedQuote",
]
