"""How are workers added, changed and retired?"""

from dataclasses import dataclass
from datetime import date

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from costbase.snapshot import over_time
from quotes.actions.priced import shop_day
from quotes.calc.labour import NoRateError
from quotes.models import Worker


class SameLabelError(CalculationError):
    """A label that another worker of the shop has."""

    code = "already_there"


@dataclass(frozen=True, slots=True)
class WorkerDetails:
    """What a worker is called, the trade of the worker's hours unless one is said, and the person of the shop it is, if any."""

    label: str
    trade: str
    person_id: int | None


def add_worker(*, shop: Shop, details: WorkerDetails, by: Actor) -> Worker:
    """Adds a worker.

    Raises:
        SameLabelError: another worker has the label.
        NoRateError: the trade has no rate in force.
    """
    assert_scope(shop.pk)
    worker = Worker(shop=shop)
    _write(worker, details)
    worker.save(force_insert=True)
    return worker


def change_worker(*, worker: Worker, details: WorkerDetails, by: Actor) -> None:
    """Changes a held worker; what was logged keeps the trade that it was logged with.

    Raises:
        SameLabelError: another worker has the label.
        NoRateError: the trade has no rate in force.
    """
    assert_scope(worker.shop_id)
    _write(worker, details)
    worker.version += 1
    worker.save(update_fields=["label", "trade", "person_id", "version"])


def retire_worker(*, worker: Worker, on: date | None, by: Actor) -> None:
    """Retires a held worker from a day on, or takes one back with None."""
    assert_scope(worker.shop_id)
    worker.retired_on = on
    worker.version += 1
    worker.save(update_fields=["retired_on", "version"])


def _write(worker: Worker, details: WorkerDetails) -> None:
    others = Worker.objects.for_shop(worker.shop_id).filter(label=details.label).exclude(pk=worker.pk)
    if others.exists():
        raise SameLabelError(f"another worker is called '{details.label}'", field="label", value=details.label)
    if details.trade != worker.trade:
        _must_be_in_force(worker.shop, details.trade)
    worker.label, worker.trade, worker.person_id = details.label, details.trade, details.person_id


def _must_be_in_force(shop: Shop, trade: str) -> None:
    today = shop_day(shop)
    if over_time(shop, [("rate", trade)], today).on("rate", trade, today) is None:
        raise NoRateError(f"no rate of trade '{trade}' is in force; enter one first", field="trade", value=trade)
