"""What does a job look like it will come to, from what was opened of its roof so far?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, amount, currency, decimal_quantity
from costbase.models import Shop
from quotes.calc.contingency import Exposure
from quotes.calc.hidden import HiddenComponent, UnitCost
from quotes.calc.quote import exposures_of
from quotes.calc.teardown import Closed, Opened, OpenedError, Terms, Update, explain_update, is_warned, update, why_forecast
from quotes.calc.why import Why
from quotes.exchange.frozen import factors_from_json
from quotes.models import ChangeOrder, Job, JobForecast, OpeningEntry, Quote
from quotes.reports.jobs import drawn_by_component, job_components
from quotes.snapshot import frozen_cost_base, points, severity_rules

Row = dict[str, Any]

AMOUNTS = ("found", "left", "expected", "p50", "p80", "p90")
CHANCES = ("chance_over_limit", "chance_over_pot", "chance_cost_over_limit")
_EXTENTS = ("opened", "found", "drawn")
_STANDING = ("draft", "waiting")
# Accepted by the owner, or carried on under a policy that allows it.
_IN_FORCE = ("accepted", "carried")


@dataclass(frozen=True, slots=True)
class Working:
    """What the forecast of a job is worked from. `orders` are the job's change orders, the first one first."""

    components: list[Row]
    exposures: tuple[Exposure, ...]
    looks: tuple[Opened, ...]
    terms: Terms
    warning_chance: float
    orders: list[Row]

    @property
    def order_stands(self) -> bool:
        """Whether a change order for what goes beyond the pot is drafted, or waits, already."""
        return any(order["cause"] == "beyond_pot" and order["state"] in _STANDING for order in self.orders)


def forecasts(shop: Shop, job_id: int) -> "QuerySet[JobForecast, JobForecast]":
    """The forecasts of a job."""
    return JobForecast.objects.for_shop(shop).filter(job_id=job_id)


def latest_forecast(shop: Shop, job: Job) -> JobForecast:
    """The newest kept forecast of a job; before anything was opened, the quote's own, not kept and without an id."""
    kept = forecasts(shop, job.pk).order_by("-id").first()
    return kept or unsaved_forecast(shop, job, working(shop, job))


def working(shop: Shop, job: Job) -> Working:
    """What a forecast is worked from now, in five queries; the cost base is read once per process.

    Of an order for what goes beyond the pot the amount may be drawn from now on; any other one is work at a price.

    Raises:
        OpenedError: an opening entry of a component that the job does not have.
    """
    components = job_components(shop, job.pk)
    base = frozen_cost_base(job)
    orders = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk).order_by("number")
    rows: list[Row] = [dict(row) for row in orders.values("number", "state", "cause", "amount")]
    to_the_pot, to_the_base = _added(rows, beyond_pot=True), _added(rows, beyond_pot=False)
    return Working(
        components=components,
        exposures=_exposures(components, base),
        looks=(*_openings(shop, job.pk, components), *_drawn(shop, job.pk, components)),
        terms=_terms(shop, job, base, Decimal(str(job.base)) + to_the_base, Decimal(str(job.contingency)) + to_the_pot),
        warning_chance=base.rule.warning_chance,
        orders=rows,
    )


def _added(orders: list[Row], *, beyond_pot: bool) -> Decimal:
    """What orders in force add, those for what goes beyond the pot or all others."""
    accepted = [row for row in orders if row["state"] in _IN_FORCE and (row["cause"] == "beyond_pot") is beyond_pot]
    return sum((Decimal(str(row["amount"])) for row in accepted), Decimal(0))


def unsaved_forecast(shop: Shop, job: Job, known: Working) -> JobForecast:
    """The forecast from what is known, as a row that is not written yet."""
    told = update(points(), known.exposures, known.looks, known.terms)
    money = currency(job.currency)
    return JobForecast(
        shop=shop,
        job=job,
        base=known.terms.base,
        pot=known.terms.pot,
        limit=known.terms.limit,
        **{name: amount(getattr(told, name), money) for name in AMOUNTS},
        **{name: getattr(told, name) for name in CHANCES},
        method=told.method,
        effective=told.effective,
        closed=[_closed(row, its, money) for row, its in zip(known.components, told.closed, strict=True)],
        warning_chance=known.warning_chance,
        warned=is_warned(told.chance_over_limit, known.warning_chance),
    )


def why_of(shop: Shop, job: Job, forecast: JobForecast) -> tuple[Why, Update]:
    """The steps to a forecast, walked again from what it stood on, and the forecast that they land on."""
    components = job_components(shop, job.pk)
    base = frozen_cost_base(job)
    exposures = _exposures(components, base)
    looks = [Opened(at, *(float(row[name]) for name in _EXTENTS)) for at, row in enumerate(forecast.closed)]
    now = _terms(shop, job, base, Decimal(str(forecast.base)), Decimal(str(forecast.pot)))
    terms = Terms(now.basis, now.base, now.pot, Decimal(str(forecast.limit)), now.factors, now.sd_survey, now.half_unit)
    told, steps = explain_update(points(), exposures, looks, terms)
    names = [(_name(row, components), row["unit"]) for row in components]
    return why_forecast(names, exposures, told, steps, terms, currency(job.currency)), told


def _name(row: Row, components: Sequence[Row]) -> str:
    """A component, with its construction where the job has it on several."""
    alone = sum(other["slug"] == row["slug"] for other in components) == 1
    return row["name"] if alone else f"{row['name']} ({row['construction']})"


def _exposures(components: Sequence[Row], base: CostBase) -> tuple[Exposure, ...]:
    """What the contingency has to know of the components, as the quote had it."""
    return exposures_of([_hidden(row, base) for row in components])


def _hidden(row: Row, base: CostBase) -> HiddenComponent:
    return HiddenComponent(
        component=base.components[row["slug"]],
        construction=row["construction"],
        tier=row["tier"],
        chance=row["chance"],
        share=row["share"],
        sections=(),
        exposure=float(row["exposure"]),
        cost=UnitCost(
            price=row["unit_price"],
            set_up=row["set_up"],
            labour=row["labour_part"],
            material=row["material_part"],
            priced_at=0.0,
            assemblies=tuple(row["details"]["assemblies"]),
        ),
    )


def _terms(shop: Shop, job: Job, base: CostBase, visible: Decimal, pot: Decimal) -> Terms:
    rows = Quote.objects.for_shop(shop).filter(pk=job.quote_id)
    factors, method = rows.values_list("factors", "inputs__survey__method").get()
    return Terms(
        basis=job.price_basis,
        base=visible,
        pot=pot,
        limit=Decimal(str(job.authorised)),
        factors=factors_from_json(factors),
        sd_survey=severity_rules(base.severity).survey_spread[method],
        half_unit=0.5 * 10.0 ** -currency(job.currency).digits,
    )


def _openings(shop: Shop, job_id: int, components: Sequence[Row]) -> list[Opened]:
    """What opening entries measured; an entry that another one corrects does not count."""
    rows = OpeningEntry.objects.for_shop(shop).filter(job_id=job_id).order_by("id").values("id", "measured", "corrects_id")
    entries = list(rows)
    corrected = {row["corrects_id"] for row in entries}
    places = _places(components)
    return [
        Opened(_place(measured, places), float(measured["opened"]), float(measured["found"]))
        for row in entries
        if row["id"] not in corrected
        for measured in row["measured"]
    ]


def _drawn(shop: Shop, job_id: int, components: Sequence[Row]) -> list[Opened]:
    """What found notes drew, corrections counted; work that was drawn for a component without exposure too."""
    places = _places(components)
    return [
        Opened(places[key], 0.0, 0.0, float(drawn["extent"]))
        for key, drawn in drawn_by_component(shop, job_id).items()
        if drawn["extent"] > 0 and key in places
    ]


def _places(components: Sequence[Row]) -> dict[tuple[str, str], int]:
    return {(row["slug"], row["construction"]): at for at, row in enumerate(components)}


def _place(measured: Mapping[str, Any], places: Mapping[tuple[str, str], int]) -> int:
    key = (measured["component"], measured["construction"])
    if key not in places:
        words = f"the job has no component '{key[0]}' on a {key[1]} roof"
        raise OpenedError(words, field="component", value=key[0])
    return places[key]


def _closed(row: Row, told: Closed, money: Currency) -> Row:
    """What is known of one component, as it is kept: extents and amounts as texts."""
    return {
        "component": row["slug"],
        "construction": row["construction"],
        "name": row["name"],
        "unit": row["unit"],
        "exposure": str(row["exposure"]),
        **{name: str(decimal_quantity(getattr(told, name))) for name in (*_EXTENTS, "left")},
        "found_amount": str(amount(told.found_amount, money)),
        "chance_before": float(told.chance_before),
        "chance_left": float(told.chance_left),
        "expected_left": str(amount(told.expected_left, money)),
        "allowance": str(row["allowance"]),
    }
