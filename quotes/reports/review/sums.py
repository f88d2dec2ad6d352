"""Over all closed jobs of a time: by which causes did they cost more, and how often did limit and forecast hold?

Every report is one statement for each way in which it is grouped, whatever the number of jobs.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from zoneinfo import ZoneInfo

from django.db.models import Count, F, Q, QuerySet, Sum
from django.db.models.functions import TruncMonth

from costbase.calc.money import decimal_quantity
from costbase.models import Shop
from quotes.calc.variance import CAUSES
from quotes.models import ClosedJob, Quote
from quotes.reports.review.intervals import binomial_interval

Row = dict[str, Any]
ZERO = Decimal(0)
SHARE_PLACES = 4
NOT_OFFERED = ("draft", "superseded")


def causes(rows: QuerySet[ClosedJob, ClosedJob]) -> list[Row]:
    """Every cause that cost anything in these jobs: amount, jobs, share of all, and shares added up, the dearest first.

    Only what was adverse counts, so that one lucky job does not hide another's trouble; `saved` is what the cause brought back.
    """
    asked: dict[str, Any] = {}
    for slug in CAUSES:
        column = f"cost_{slug}"
        asked[f"{slug}_amount"] = Sum(column, filter=Q(**{f"{column}__gt": 0}))
        asked[f"{slug}_saved"] = Sum(column, filter=Q(**{f"{column}__lt": 0}))
        asked[f"{slug}_jobs"] = Count("id", filter=Q(**{f"{column}__gt": 0}))
    found = rows.order_by().aggregate(**asked)
    listed = [
        {
            "cause": slug,
            "words": words,
            "amount": found[f"{slug}_amount"] or ZERO,
            "saved": -(found[f"{slug}_saved"] or ZERO),
            "jobs": found[f"{slug}_jobs"],
        }
        for slug, words in CAUSES.items()
    ]
    listed.sort(key=lambda row: (-row["amount"], -row["saved"]))
    whole, so_far = sum((row["amount"] for row in listed), ZERO), ZERO
    for row in listed:
        so_far += row["amount"]
        row["share"], row["cumulative_share"] = _share(row["amount"], whole), _share(so_far, whole)
    return [row for row in listed if row["amount"] or row["saved"]]


def coverage(rows: QuerySet[ClosedJob, ClosedJob]) -> list[Row]:
    """How often the bill stayed inside the agreed limit, and the cost inside the forecast's P80: in all, by tier, by estimator.

    The owner's own wishes are apart on both sides. Each share comes with its central 95 % interval.
    """
    asked: dict[str, Any] = {
        "jobs": Count("id"),
        "inside_limit": Count("id", filter=Q(billed__lte=F("limit") + F("bill_owner_wish"))),
        "inside_p80": Count("id", filter=Q(standard__lte=F("p80"))),
    }
    plain = rows.order_by()
    found: list[Row] = [{"by": "all", "of": "", **plain.aggregate(**asked)}]
    for by in ("tier", "estimator"):
        grouped: Iterable[Row] = plain.values(by).annotate(**asked).order_by(by)
        found += [{"by": by, "of": str(row[by] or ""), **{name: row[name] for name in asked}} for row in grouped]
    return [_with_intervals(row) for row in found if row["jobs"]]


def _with_intervals(row: Row) -> Row:
    for name in ("limit", "p80"):
        seen, jobs = row[f"inside_{name}"], row["jobs"]
        low, high = binomial_interval(seen, jobs)
        row[f"{name}_share"] = str(decimal_quantity(seen / jobs, SHARE_PLACES))
        row[f"{name}_low"] = str(decimal_quantity(low, SHARE_PLACES))
        row[f"{name}_high"] = str(decimal_quantity(high, SHARE_PLACES))
    return row


@dataclass(frozen=True, slots=True)
class WonBetween:
    """Which offers are counted: issued from `start` on and before `end`, by one estimator or by all."""

    start: datetime
    end: datetime
    estimator: int | None = None


def win_rate(shop: Shop, between: WonBetween) -> list[Row]:
    """By month, tier and estimator: offers issued, accepted and declined, and the margin at which they were.

    An offer counts once, whatever its alternatives; one that a revision took the place of does not count. Margins are of what
    was quoted, as a share of the price: of all offers, and of the accepted ones.
    """
    offers = Quote.objects.for_shop(shop).filter(issued_at__gte=between.start, issued_at__lt=between.end)
    offers = offers.exclude(state__in=NOT_OFFERED)
    if between.estimator is not None:
        offers = offers.filter(created_by=between.estimator)
    won = Q(state="accepted")
    grouped = (
        offers.annotate(month=TruncMonth("issued_at", tzinfo=ZoneInfo(shop.time_zone)))
        .values("month", "tier", "created_by")
        .annotate(
            issued=Count("number", distinct=True),
            accepted=Count("number", distinct=True, filter=won),
            declined=Count("number", distinct=True, filter=Q(state="declined")),
            priced=Sum("base"),
            cost_of=Sum("cost"),
            won_price=Sum("base", filter=won),
            won_cost=Sum("cost", filter=won),
        )
        .order_by("-month", "tier", "created_by")
    )
    return [
        {
            "month": row["month"].strftime("%Y-%m"),
            "tier": row["tier"],
            "estimator": row["created_by"],
            "issued": row["issued"],
            "accepted": row["accepted"],
            "declined": row["declined"],
            "win_rate": _share(row["accepted"], row["issued"]),
            "margin_share": _share(row["priced"] - row["cost_of"], row["priced"]),
            "margin_share_accepted": _share((row["won_price"] or ZERO) - (row["won_cost"] or ZERO), row["won_price"] or ZERO),
        }
        for row in grouped
    ]


def _share(part: Decimal | int, whole: Decimal | int) -> str | None:
    """A share as a text of four decimals; None of nothing."""
    return str(decimal_quantity(float(part) / float(whole), SHARE_PLACES)) if whole else None
