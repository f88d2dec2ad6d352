"""What does a job look like it will come to, from what was opened of its roof so far?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import F, QuerySet

from costbase.calc.cost_base import CostBase
from costbase.calc.money import Currency, amount, currency, decimal_quantity
from costbase.models import Shop
from quotes.calc.change_order import REPAIR
from quotes.calc.contingency import Exposure
from quotes.calc.hidden import HiddenComponent, UnitCost
from quotes.calc.quote import exposures_of
from quotes.calc.teardown import (
    Closed,
    Entry,
    Note,
    Opened,
    Record,
    Taken,
    Terms,
    Update,
    explain_update,
    is_warned,
    looks_of,
    update,
    why_forecast,
)
from quotes.calc.why import Why
from quotes.exchange.frozen import factors_from_json
from quotes.models import FoundNote, Job, JobForecast, OpeningEntry, Quote
from quotes.reports.change_orders import TAKEN, brief_orders, taken_lines
from quotes.reports.jobs import job_components
from quotes.snapshot import frozen_cost_base, points, severity_rules

Row = dict[str, Any]

AMOUNTS = ("found", "left", "expected", "p50", "p80", "p90")
CHANCES = ("chance_over_limit", "chance_over_pot", "chance_cost_over_limit")
# Of a component, in the order of `Opened`.
_EXTENTS = ("opened", "found", "drawn", "ordered", "declined")
_STANDING = ("draft", "waiting")
_ORDER = ("number", "state", "cause", "amount", "component", "covers", "decided_at", "chosen_kind")


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


def current_forecast(shop: Shop, job: Job) -> JobForecast:
    """The forecast of a job as things stand, in seven queries.

    It is the newest one that was kept, unless something that it stood on has moved since (a note was drawn, an order taken), or
    nothing was opened yet: then it is worked out now, not kept and without an id.
    """
    kept = forecasts(shop, job.pk).order_by("-id").first()
    now = unsaved_forecast(shop, job, working(shop, job))
    return kept if kept is not None and _stands_on(kept) == _stands_on(now) else now


def _stands_on(forecast: JobForecast) -> list[Any]:
    terms = [Decimal(str(getattr(forecast, name))) for name in ("base", "pot", "limit")]
    # One that was kept before orders were told apart says nothing of them, and stands on nothing that holds now.
    return [*terms, [[row.get(name) for name in _EXTENTS] for row in forecast.closed]]


def working(shop: Shop, job: Job) -> Working:
    """What a forecast is worked from now, in six queries; the cost base is read once per process.

    Hidden work that orders repair at agreed prices is added to what may be drawn; what else they ask for is work at a price.

    Raises:
        OpenedError: an opening entry of a component that the job does not have.
    """
    components = job_components(shop, job.pk)
    base = frozen_cost_base(job)
    orders = brief_orders(shop).filter(job_id=job.pk).order_by("number")
    rows: list[Row] = [dict(row) for row in orders.values(*_ORDER)]
    repairs = _repairs(shop, job.pk)
    to_the_pot = sum((each.amount for each in repairs), Decimal(0))
    taken = sum((Decimal(str(row["amount"])) for row in rows if row["state"] in TAKEN), Decimal(0))
    record = Record(entries=_entries(shop, job.pk), notes=_notes(shop, job.pk), orders=_taken(rows, repairs))
    return Working(
        components=components,
        exposures=_exposures(components, base),
        looks=looks_of(record, [(row["slug"], row["construction"]) for row in components]),
        terms=_terms(shop, job, base, Decimal(str(job.base)) + taken - to_the_pot, Decimal(str(job.contingency)) + to_the_pot),
        warning_chance=base.rule.warning_chance,
        orders=rows,
    )


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


def _entries(shop: Shop, job_id: int) -> tuple[Entry, ...]:
    rows = OpeningEntry.objects.for_shop(shop).filter(job_id=job_id).order_by("id")
    return tuple(
        Entry(
            row["id"],
            row["created"].timestamp(),
            row["corrects_id"],
            tuple((_key(one), float(one["opened"]), float(one["found"])) for one in row["measured"]),
        )
        for row in rows.values("id", "created", "corrects_id", "measured")
    )


def _notes(shop: Shop, job_id: int) -> tuple[Note, ...]:
    rows = FoundNote.objects.for_shop(shop).filter(job_id=job_id).values("created", "component", "construction", "extent")
    return tuple(Note(row["created"].timestamp(), _key(row), float(row["extent"])) for row in rows)


def _key(row: Mapping[str, Any]) -> tuple[str, str]:
    return row["component"], row["construction"]


class _Repaired(NamedTuple):
    """A line of an order in force for hidden work at its agreed price; only the one of its labour says how much."""

    order: int
    component: tuple[str, str]
    extent: Decimal
    amount: Decimal


def _repairs(shop: Shop, job_id: int) -> list[_Repaired]:
    lines = taken_lines(shop, job_id).filter(kind="repair").order_by("way__change_order__number", "position")
    rows = lines.values("slug", "quantity", "amount", "details", order=F("way__change_order__number"))
    return [
        _Repaired(
            row["order"],
            (row["slug"], row["details"]["construction"]),
            row["quantity"] if row["details"]["part"] == "labour" else Decimal(0),
            row["amount"],
        )
        for row in rows
    ]


def _taken(orders: Sequence[Row], repairs: Sequence[_Repaired]) -> tuple[Taken, ...]:
    """Orders in force. One that repairs in the agreed way leaves what is found beside it to notes; any other settles it."""
    taken = []
    for order in orders:
        if order["state"] in TAKEN:
            own = [each for each in repairs if each.order == order["number"]]
            put_right = {each.component[0] for each in own} if order["chosen_kind"] == REPAIR else set()
            taken.append(
                Taken(
                    order["decided_at"].timestamp(),
                    tuple((each.component, float(each.extent)) for each in own),
                    frozenset({*order["covers"], order["component"]}) - put_right,
                )
            )
    return tuple(taken)


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
