"""How does every look at an open roof become a forecast that is kept, and when does it draft a change order?

The caller holds the job. A forecast changes no price and authorises nothing; a draft is the office's to complete, send or throw
away.
"""

from datetime import datetime
from decimal import Decimal

from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.calc.job.states import OPENING, REBUILDING, TESTING, WAITING
from quotes.calc.teardown import likeliest_to_pass
from quotes.models import ChangeOrder, Job, JobForecast, OpeningEntry
from quotes.reports.forecasts import Working, unsaved_forecast, working

# Before the roof is touched nothing was found, and once the coach is handed over nothing is opened any more.
_AT_WORK = (OPENING, WAITING, REBUILDING, TESTING)


def forecast_after(*, shop: Shop, job: Job, by: Actor, now: datetime, opening: OpeningEntry | None = None) -> JobForecast:
    """Keeps the forecast of a held job as things stand, and drafts a change order where the shop's level is reached.

    It takes five queries and an insert, two inserts where it drafts. There is one draft for what goes beyond the pot: while one
    is open or waits for the owner, none is added.

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
    if forecast.warned and job.state in _AT_WORK and not known.order_stands:
        forecast.change_order = _draft(shop, job, forecast, known, by, now)
    forecast.save(force_insert=True)
    return forecast


def _draft(shop: Shop, job: Job, forecast: JobForecast, known: Working, by: Actor, now: datetime) -> ChangeOrder:
    """The change order for the components that are likeliest to pass what was set aside for them."""
    likeliest = likeliest_to_pass([(row["component"], _excess(row)) for row in forecast.closed])
    names = [next(row["name"] for row in forecast.closed if row["component"] == slug) for slug in likeliest]
    order = ChangeOrder(
        shop=shop,
        job=job,
        number=max((row["number"] for row in known.orders), default=0) + 1,
        state="draft",
        cause="beyond_pot",
        component=likeliest[0] if likeliest else "",
        title=f"Hidden work may pass what was set aside: {', '.join(names)}"[:200],
        reason=_reason(forecast, job),
        covers=list(likeliest),
        cost_base_id=job.cost_base_id,
        created=now,
        created_by=by.person_id,
    )
    order.save(force_insert=True)
    return order


def _excess(row: dict[str, str]) -> float:
    return float(row["found_amount"]) + float(row["expected_left"]) - float(row["allowance"])


def _reason(forecast: JobForecast, job: Job) -> str:
    pot = Decimal(str(forecast.pot))
    return (
        f"Drafted by the forecast, not by a find: hidden work of {forecast.found} was found so far and {forecast.left} more is "
        f"expected in what is still closed, against {pot} {job.currency} set aside. Chance that the limit is passed: "
        f"{forecast.chance_over_limit:.0%}."
    )
