"""What stands in the ledger for an entry that was said: where it belongs, what it cost and what it is worth?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from typing import Any, NamedTuple, cast
from zoneinfo import ZoneInfo

from costbase.calc.cost_base import CostBase, Material, Price, PricingRule, Trade
from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, currency
from costbase.models import Shop
from costbase.snapshot import RULE, OverTime, over_time
from quotes.calc.job import CLOSED, must_be_in
from quotes.calc.labour import NoRateError
from quotes.calc.ledger import (
    CREDIT,
    GOODS,
    HOURS,
    ISSUED,
    JOB,
    NO_MARKUP,
    NOWHERE,
    PACKS,
    PURCHASE,
    STOCK,
    SUBCONTRACT,
    TIME,
    USED,
    JobPlaces,
    Place,
    Said,
    Worth,
    check_day,
    digest,
    goods_worth,
    hours_worth,
    invoiced_worth,
    place_of,
)
from quotes.calc.packing import NoMaterialError
from quotes.calc.pricing import NoMarkupError, NoPriceError
from quotes.models import Job, Worker

# All but cancelled; work on a settled job comes late, and is a manager's to log.
WORKED_STATES = ("booked", "opening_up", "waiting", "rebuilding", "testing", "handed_over", "stopped", "settled")
FROZEN, EDITION = "frozen", "edition"
ONE = Decimal(1)
NOTHING = Decimal(0)


class LateEntryError(CalculationError):
    """An entry of a job that is closed, by somebody who may not log there."""

    code = "late_entry"


class WorkerRetiredError(CalculationError):
    """Hours of a worker who is no longer there."""

    code = "retired"


@dataclass(frozen=True, slots=True)
class Known:
    """Everything that the entries of a batch are worked out from, read once for all of them."""

    shop: Shop
    today: date
    jobs: Mapping[int, Job]
    workers: Mapping[int, Worker]
    places: Mapping[int, JobPlaces]
    bases: Mapping[int, CostBase]
    may_be_late: bool
    editions: OverTime = field(default_factory=lambda: OverTime(()))

    def with_editions(self, entries: Sequence[Said]) -> "Known":
        """The same with the editions of every trade and material that the entries speak of."""
        wanted = {("rate", self.trade_of(said)) for said in entries if said.kind == TIME}
        goods = {said.material for said in entries if said.material}
        wanted |= {(kind, slug) for slug in goods for kind in ("material", "price")}
        if any(said.kind in (*GOODS, PURCHASE, SUBCONTRACT, CREDIT) for said in entries):
            wanted.add(("rule", RULE))
        return replace(self, editions=over_time(self.shop, wanted, self.today)) if wanted else self

    def trade_of(self, said: Said) -> str:
        """The trade of an entry of time: what was said, else the worker's."""
        return said.trade or (self.workers[said.worker].trade if said.worker is not None else "")

    def base_of(self, said: Said) -> CostBase | None:
        """The cost base that the entry's job was sold on."""
        return None if said.job is None else self.bases[self.jobs[said.job].cost_base_id]

    @property
    def currency(self) -> Currency:
        """The shop's, which no job differs from."""
        return currency(self.shop.currency)


class Told(NamedTuple):
    """What an entry is counted in and is worth, and where its value came from."""

    quantity: Decimal
    unit: str
    worth: Worth
    valued_by: str = ""


@dataclass(frozen=True, slots=True)
class LedgerRow:
    """The columns of a new entry, with where it belongs."""

    columns: dict[str, Any]
    place: Place
    late: bool


def row_of(said: Said, known: Known) -> LedgerRow:
    """The row of one entry.

    Raises:
        CalculationError: what its job's state, its day, its worker, its place or the cost base does not allow.
    """
    job = known.jobs[said.job] if said.job is not None else None
    late = _check_job(said, job, known)
    worker = known.workers[said.worker] if said.worker is not None else None
    if worker is not None and worker.retired_on is not None and said.day >= worker.retired_on.isoformat():
        words = f"{worker.label} was retired on {worker.retired_on}; expected a worker of that day"
        raise WorkerRetiredError(words, field="worker", value=worker.pk)
    trade = known.trade_of(said) if said.kind == TIME else ""
    place = NOWHERE if job is None else place_of(said, trade, known.places[job.pk])
    told = _TOLD[said.kind](said, known)
    columns: dict[str, Any] = {
        "client_id": said.client_id,
        "job_id": said.job,
        "kind": said.kind,
        "day": said.day,
        "worker_id": said.worker,
        "trade": trade,
        "phase": place.phase,
        "assembly": place.assembly,
        "line": place.line,
        "component": place.component,
        "change_order_id": place.change_order,
        "warranty_return_id": place.warranty_return,
        "material": said.material,
        "quantity": told.quantity,
        "unit": told.unit,
        "overtime": said.overtime,
        "rate": told.worth.rate,
        "cost": told.worth.cost,
        "value": told.worth.value,
        **{name: getattr(said, name) for name in ("supplier", "invoice", "invoice_line", "reason", "words", "markup_class")},
        "source": source_of(said, known) if said.kind in GOODS else "",
        # Goods that nobody says otherwise of can go back.
        "returnable": said.returnable is not False if said.kind == PURCHASE else None,
        "valued_by": told.valued_by,
        "said": digest(said),
        "note": said.note,
        "late": late,
    }
    return LedgerRow(columns, place, late)


def _check_job(said: Said, job: Job | None, known: Known) -> bool:
    """Whether the entry comes late, after its job was closed."""
    booked_on = None if job is None else job.created.astimezone(ZoneInfo(known.shop.time_zone)).date().isoformat()
    check_day(said.day, today=known.today.isoformat(), booked_on=booked_on)
    if job is None:
        return False
    if said.kind in (TIME, ISSUED, USED):
        # What was bought for a job that was cancelled, and what came back, is still told.
        must_be_in(job.state, *WORKED_STATES, doing="worked on")
    late = is_closed(job)
    if late and not known.may_be_late:
        words = f"{job.number} is {job.state}; a manager logs what comes after"
        raise LateEntryError(words, field="job", value=job.state)
    return late


def is_closed(job: Job) -> bool:
    """Whether the books of a job are closed, so that what is logged comes late."""
    return job.state in CLOSED or job.closed_on is not None


def _time(said: Said, known: Known) -> Told:
    slug, hours = known.trade_of(said), _quantity(said)
    trade = _edition(known, "rate", slug, date.fromisoformat(said.day))
    if trade is None:
        words = f"no rate of trade '{slug}' was in force on {said.day}; enter one from that day"
        raise NoRateError(words, field="trade" if said.trade else "worker", value=slug)
    base = known.base_of(said)
    sold = base.trades.get(slug) if base is not None else None
    billed = sold or cast(Trade | None, _edition(known, "rate", slug, known.today)) or trade
    worth = hours_worth(hours, cast(Trade, trade), cast(Trade, billed).billed_per_hour, known.currency, overtime=said.overtime)
    return Told(hours, "h", worth, FROZEN if sold else EDITION)


def _other_hours(said: Said, known: Known) -> Told:
    # No trade worked, so no rate of one is cost: these hours are for the payroll.
    return Told(_quantity(said), "h", Worth(NOTHING, NOTHING, NOTHING))


def _goods(said: Said, known: Known) -> Told:
    material, price, markup, valued_by = _material(said, known)
    counted_in = said.counted_in or PACKS
    quantity, unit = _quantity(said), PACKS if counted_in == PACKS else material.unit
    if said.kind == USED or source_of(said, known) == JOB:
        # What was bought for the job cost with its purchase, and what is used cost when it was issued.
        return Told(quantity, unit, Worth(NOTHING, NOTHING, NOTHING))
    # Back on the shelf they count as they did when they left it.
    sign = ONE if said.kind == ISSUED else -ONE
    worth = goods_worth(sign * quantity, material, price.pack_price, markup, known.currency, counted_in=counted_in)
    return Told(quantity, unit, worth, valued_by)


def source_of(said: Said, known: Known) -> str:
    """Where goods come from or go back to: the shelf or what the job bought; by the material's supply unless said."""
    return said.source or (STOCK if _material(said, known)[0].supply == STOCK else JOB)


def _purchase(said: Said, known: Known) -> Told:
    price = said.price if said.price is not None else NOTHING
    if not said.material:
        markup, valued_by = _markup(said.markup_class, known, said)
        return Told(_quantity(said), "", invoiced_worth(_quantity(said), price, markup, known.currency), valued_by)
    material, _, markup, valued_by = _material(said, known)
    unit = material.unit if said.counted_in and said.counted_in != PACKS else PACKS
    return Told(_quantity(said), unit, invoiced_worth(_quantity(said), price, markup, known.currency), valued_by)


def _subcontract(said: Said, known: Known) -> Told:
    return _invoiced(said, known, ONE)


def _credit(said: Said, known: Known) -> Told:
    return _invoiced(said, known, -ONE)


def _invoiced(said: Said, known: Known, sign: Decimal) -> Told:
    amount = sign * (said.amount if said.amount is not None else NOTHING)
    if said.material:
        _, _, markup, valued_by = _material(said, known)
    else:
        markup, valued_by = _markup(said.markup_class, known, said)
    return Told(ONE, "", invoiced_worth(ONE, amount, markup, known.currency), valued_by)


_TOLD = {
    **dict.fromkeys(GOODS, _goods),
    HOURS[0]: _time,
    HOURS[1]: _other_hours,
    PURCHASE: _purchase,
    SUBCONTRACT: _subcontract,
    CREDIT: _credit,
}


def _quantity(said: Said) -> Decimal:
    assert said.quantity is not None, "member_faults lets no such entry through"
    return said.quantity


def _material(said: Said, known: Known) -> tuple[Material, Price, Decimal, str]:
    """The material as the job was sold on it, else as in force today, with its price and markup; and which of the two."""
    base, slug = known.base_of(said), said.material
    frozen = base is not None and slug in base.materials and slug in base.prices
    if base is not None and frozen:
        material, price = base.materials[slug], base.prices[slug]
    else:
        found = _edition(known, "material", slug, known.today), _edition(known, "price", slug, known.today)
        if found[0] is None:
            raise NoMaterialError(f"material '{slug}' is not in force; enter it", field="material", value=slug)
        if found[1] is None:
            raise NoPriceError(f"no price of '{slug}' is in force; enter one", field="material", value=slug)
        material, price = cast(Material, found[0]), cast(Price, found[1])
    markup, _ = _markup(material.markup_class, known, said)
    return material, price, markup, FROZEN if frozen else EDITION


def _markup(markup_class: str, known: Known, said: Said) -> tuple[Decimal, str]:
    """The markup of a class by the rule that the job was sold on, else by the one in force; without a class at cost."""
    if not markup_class:
        return NO_MARKUP, ""
    base = known.base_of(said)
    if base is not None and markup_class in base.rule.markups:
        return base.rule.markups[markup_class], FROZEN
    rule = cast(PricingRule | None, _edition(known, "rule", RULE, known.today))
    if rule is None or markup_class not in rule.markups:
        words = f"the pricing rule has no markup for class '{markup_class}'"
        raise NoMarkupError(words, field="markup_class" if said.markup_class else "material", value=markup_class)
    return rule.markups[markup_class], EDITION


def _edition(known: Known, kind: str, slug: str, day: date) -> object | None:
    return known.editions.on(kind, slug, day)
