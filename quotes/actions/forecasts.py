"""How does every look at an open roof become a forecast that is kept, and when does it draft a change order?

The caller holds the job. A forecast changes no price and authorises nothing; a draft is the office's to complete, send or throw
away.
"""

from datetime import datetime
from decimal import Decimal
from typing import Any

from costbase.calc.errors import CalculationError
from costbase.calc.money import decimal_quantity
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.change_order_prices import WayDetails
from quotes.actions.change_orders import AT_WORK, OWNER, OrderDetails, draft_change_order
from quotes.calc.change_order import RepairWork
from quotes.calc.teardown import likeliest_to_pass
from quotes.models import Job, JobForecast, OpeningEntry
from quotes.reports.forecasts import Working, unsaved_forecast, working

Row = dict[str, Any]

EXTENT_PLACES = 2
_REPAIR = "What was found, and what is expected, beyond what was set aside."
_STOP = "Work ends here and is settled."


def forecast_after(*, shop: Shop, job: Job, by: Actor, now: datetime, opening: OpeningEntry | None = None) -> JobForecast:
    """Keeps the forecast of a held job as things stand, and drafts a change order where the shop's level is reached.

    It takes six queries and an insert, and those of a draft where it makes one. There is one draft for what goes beyond the
    pot: while one is open or waits for the owner, none is added. Where none can be made, the forecast is kept all the same and
    says why: an opening entry is never refused for the sake of a warning.

    Args:
        shop: whose it is.
        job: held by the caller.
        by: who acts.
        now: when.
        opening: the entry that the forecast follows; None where hours, a draw or an order are the reason.

    Raises:
        OpenedError: an opening entry of a component that the job does not have, or an extent that cannot be.
    """
    assert_scope(shop.pk)
    known = working(shop, job)
    forecast = unsaved_forecast(shop, job, known)
    forecast.opening = opening
    forecast.created, forecast.created_by = now, by.person_id
    if forecast.warned:
        _draft(shop, job, forecast, known, by, now)
    forecast.save(force_insert=True)
    return forecast


def _draft(shop: Shop, job: Job, forecast: JobForecast, known: Working, by: Actor, now: datetime) -> None:
    """Drafts the change order for the components that are likeliest to pass what was set aside, or says why not."""
    if job.state not in AT_WORK:
        forecast.not_drafted = "the job is not at work"
    elif known.order_stands:
        forecast.not_drafted = "a change order for what goes beyond the pot stands already"
    else:
        details = _details(forecast, known)
        if details is None:
            forecast.not_drafted = "no component is expected to take more than was set aside for it"
            return
        try:
            forecast.change_order = draft_change_order(shop=shop, job=job, details=details, client_id=None, by=by, now=now)
        except CalculationError as fault:
            forecast.not_drafted = fault.message[:400]


def _details(forecast: JobForecast, known: Working) -> OrderDetails | None:
    """What is put into the draft: of each component what is found and expected beyond its allowance; or an end of the work."""
    likeliest = likeliest_to_pass([(row["component"], _excess(row)) for row in forecast.closed])
    repairs = [
        {"component": row["component"], "construction": row["construction"], "extent": str(extent)}
        for row, part in zip(forecast.closed, known.components, strict=True)
        if row["component"] in likeliest and (extent := _beyond(row, part)) > 0
    ]
    if not repairs:
        return None
    names = [next(row["name"] for row in forecast.closed if row["component"] == slug) for slug in likeliest]
    head = {
        "cause": "beyond_pot",
        "component": likeliest[0],
        "title": f"Hidden work may pass what was set aside: {', '.join(names)}"[:200],
        "reason": _reason(forecast),
    }
    works = tuple(RepairWork(each["component"], each["construction"], Decimal(each["extent"])) for each in repairs)
    ways = [{"way": "repair", "words": _REPAIR, "repairs": repairs}, {"way": "stop", "words": _STOP}]
    return OrderDetails(
        **head,
        payer=OWNER,
        covers=likeliest,
        photographs=(),
        stops_work=None,
        ways=(_way("repair", _REPAIR, works), _way("stop", _STOP, ())),
        body={**head, "ways": ways},
    )


def _way(kind: str, words: str, works: tuple[RepairWork, ...]) -> WayDetails:
    return WayDetails(kind=kind, words=words, works=works, days=None, days_reason="", promised_on=None, warranty="")


def _excess(row: Row) -> float:
    return float(row["found_amount"]) + float(row["expected_left"]) - float(row["allowance"])


def _beyond(row: Row, part: Row) -> Decimal:
    """The extent whose agreed price is what is found and expected beyond the allowance; two decimals, since it is a guess."""
    unit = float(part["unit_price"])
    return decimal_quantity(max(0.0, _excess(row)) / unit, EXTENT_PLACES) if unit > 0 else Decimal(0)


def _reason(forecast: JobForecast) -> str:
    return (
        f"Drafted by the forecast and not by a find: hidden work of {forecast.found} was found so far and {forecast.left} more "
        f"is expected in what is still closed, against {forecast.pot} set aside. Chance that the limit is passed: "
        f"{forecast.chance_over_limit:.0%}. The extents are expectations; put what is found in their place before this is sent."
    )
