"""What does a quote come to today? Takes the snapshots and computes; writes nothing.

Trial pricing ends here; keeping a quote goes on in `quoting.py`.
"""

from dataclasses import dataclass
from datetime import UTC, date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.utils import timezone

from costbase import snapshot as cost_base_snapshot
from costbase.calc.cost_base import CostBase
from costbase.models import Shop
from quotes.calc.contingency import CostFactors
from quotes.calc.frozen_base import part_read
from quotes.calc.inputs import QuoteInputs
from quotes.calc.options import Offered, offered
from quotes.calc.quote import Quote as Worked
from quotes.calc.quote import compute_quote
from quotes.snapshot import cost_factors, points, severity_rules

# Raised by any change that moves a price; recomputing a stored quote is exact on its own engine only.
ENGINE = 2


@dataclass(frozen=True, slots=True)
class Priced:
    """A worked quote with everything that it was worked from."""

    inputs: QuoteInputs
    cost_base: CostBase
    factors: CostFactors
    worked: Worked
    offered: Offered
    priced_on: date


def price(shop: Shop, inputs: QuoteInputs, day: date) -> Priced:
    """Works a quote out on the editions in force on a day; writes nothing."""
    base = cost_base_snapshot.cost_base(shop, day, inputs.plan)
    factors = cost_factors()
    rules = severity_rules(base.severity)
    worked = compute_quote(inputs, base, rules, factors, points())
    ticked = offered(inputs, base, rules, factors, points(), worked)
    return Priced(inputs, part_read(base, inputs, worked), factors, worked, ticked, day)


@dataclass(frozen=True, slots=True)
class Draft:
    """What a client asks for besides the inputs: whose quote it is, what it is called, and the request as it was sent."""

    reference: str
    customer_id: int | None
    coach_id: int
    survey_id: int
    request: dict[str, Any]
    label: str = ""


def shop_day(shop: Shop, now: datetime | None = None) -> date:
    """Today in the shop's own time zone."""
    return (now or timezone.now()).astimezone(ZoneInfo(shop.time_zone)).date()


def network_day() -> date:
    """Today for a network, which has shops in several time zones: the day in UTC."""
    return timezone.now().astimezone(UTC).date()
