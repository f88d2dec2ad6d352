"""How is counted work settled once it is known how much of it was done?"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from costbase.calc.errors import CalculationError, raise_faults
from costbase.calc.money import currency, decimal_quantity
from costbase.calc.units import BY_SYMBOL, Quantity, WrongDimensionError, in_unit
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.found_notes import CoveredError
from quotes.actions.jobs import save_job
from quotes.actions.sent_twice import NOTHING_SENT, Sent, made_before_all
from quotes.calc.found import AgreedComponent, CountedLine, settle
from quotes.calc.job import must_be_in
from quotes.models import ChangeOrder, CountedSettlement, Job
from quotes.reports.found import agreed_components, converted, counted_lines, measured_alike, noted_beyond, settlements

COUNTED_IN = ("opening_up", "waiting", "rebuilding", "testing", "handed_over")


@dataclass(frozen=True, slots=True)
class Counting:
    """Counted work as it is settled: how much was done, None for as much as was quoted and as found notes drew beyond."""

    assembly: str
    done: Quantity | None
    note: str = ""
    sent: Sent = NOTHING_SENT


def settle_counted(
    *,
    shop: Shop,
    job: Job,
    assembly: str,
    done: Quantity,
    by: Actor,
    note: str = "",
    sent: Sent = NOTHING_SENT,
    now: datetime | None = None,
) -> CountedSettlement:
    """Settles counted work of a held job at what was done, in place of how it was settled before.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        JobStateError, CoveredError: not in this state, or not while a change order for it waits.
        NotCountedError, WrongDimensionError: it names no counted work, or measures it otherwise.
        CountedBeyondError, CountedNotedError: more was done than quoted and noted, or less while more is noted.
    """
    works = {"": Counting(assembly, done, note, sent)}
    (settled,) = _settled(shop, job, works, None, by, now or timezone.now())
    return settled


def settle_several(
    *, shop: Shop, job: Job, works: Sequence[Counting], rest: str | None, by: Actor, now: datetime | None = None
) -> list[CountedSettlement]:
    """Settles several pieces of counted work of a held job, all or none, in a constant number of statements.

    Args:
        shop: whose scope is open.
        job: held.
        works: no assembly twice. One that was sent before is answered as it was settled then.
        rest: a note; with it, whatever counted work of the job is neither named nor settled yet is settled as quoted. None: it
            is left alone.
        by: who settles it.
        now: the time.

    Returns:
        The works in their order, then the rest in the order of the job's lines.

    Raises:
        CalculationError: as `settle_counted`, each at its row ``works/<row>`` or at ``rest_as_quoted``; several at once.
    """
    placed = {f"works/{at}": work for at, work in enumerate(works)}
    return _settled(shop, job, placed, rest, by, now or timezone.now())


@dataclass(frozen=True, slots=True)
class _Known:
    """What a job says of its counted work, read once for all of it."""

    lines: Mapping[str, list[CountedLine]]
    noted: Mapping[str, Mapping[str, Decimal]]
    components: Sequence[AgreedComponent]
    covered: Mapping[str, int]
    settled: frozenset[str]

    def noted_beyond(self, assembly: str, unit: str) -> Decimal:
        """How much found notes drew beyond the quoted quantity, in a unit."""
        drawn = self.noted.get(assembly, {})
        return sum((converted(extent, own, unit) for own, extent in drawn.items()), Decimal(0))


def _settled(
    shop: Shop, job: Job, works: Mapping[str, Counting], rest: str | None, by: Actor, now: datetime
) -> list[CountedSettlement]:
    assert_scope(shop.pk)
    before = made_before_all(
        CountedSettlement.objects.for_shop(shop), job.pk, {place: work.sent for place, work in works.items()}
    )
    new = {place: work for place, work in works.items() if place not in before}
    if not new and rest is None:
        return list(before.values())
    must_be_in(job.state, *COUNTED_IN, doing="settled in what was counted")
    known = _known(shop, job)
    named = {work.assembly for work in works.values()} | known.settled
    left = [Counting(assembly, None, rest or "") for assembly in known.lines if rest is not None and assembly not in named]
    rows: dict[str, CountedSettlement] = {}
    faults: list[CalculationError] = []
    for place, work in [*new.items(), *((f"rest_as_quoted/{one.assembly}", one) for one in left)]:
        try:
            rows[place] = _row(shop, job, known, work, by, now)
        except CalculationError as fault:
            faults.append(_at(fault, place))
    raise_faults(faults)
    if rows:
        CountedSettlement.objects.for_shop(shop).bulk_create(rows.values())
        save_job(job, [])
    return [before.get(place) or rows[place] for place in [*works, *(place for place in rows if place not in works)]]


def _at(fault: CalculationError, place: str) -> CalculationError:
    """The fault at its row; of the rest at the one member that asks for all of it."""
    if place.startswith("rest_as_quoted"):
        fault.field = "rest_as_quoted"
        return fault
    return fault.under(place) if place else fault


def _known(shop: Shop, job: Job) -> _Known:
    waiting = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk, state="waiting").order_by("-number")
    covered = {slug: number for number, covers in waiting.values_list("number", "covers") for slug in covers}
    settled = settlements(shop, job.pk).values_list("assembly", flat=True).distinct()
    return _Known(
        counted_lines(shop, job), noted_beyond(shop, job.pk), agreed_components(shop, job), covered, frozenset(settled)
    )


def _row(shop: Shop, job: Job, known: _Known, work: Counting, by: Actor, now: datetime) -> CountedSettlement:
    order = known.covered.get(work.assembly)
    if order is not None:
        words = f"change order {order} covers {work.assembly} and waits for consent: expected its outcome first"
        raise CoveredError(words, field="component", value=work.assembly)
    lines = known.lines.get(work.assembly, [])
    unit = lines[0].unit if lines else "each"
    noted = known.noted_beyond(work.assembly, unit)
    alike = [one for one in known.components if measured_alike(one.unit, unit)]
    amount = _amount(work.done, lines, noted)
    credits = settle(work.assembly, lines, amount, noted=noted, components=alike, currency=currency(job.currency))
    return CountedSettlement(
        shop=shop,
        job=job,
        client_id=work.sent.client_id,
        digest=work.sent.digest,
        assembly=work.assembly,
        quoted=lines[0].quoted,
        done=amount,
        unit=unit,
        credit=sum((credit.amount for credit in credits), Decimal(0)),
        lines=[
            {
                "position": credit.line.position,
                "kind": credit.line.kind,
                "slug": credit.line.slug,
                "trade": credit.line.trade,
                "name": credit.line.name,
                "tax_class": credit.line.tax_class,
                "unit_price": str(credit.line.unit_price),
                "amount": str(credit.amount),
            }
            for credit in credits
        ],
        note=work.note,
        created=now,
        created_by=by.person_id,
    )


def _amount(done: Quantity | None, lines: Sequence[CountedLine], noted: Decimal) -> Decimal:
    """How much was done in the unit of the lines; nothing where there are none, which is refused as that."""
    if not lines:
        return Decimal(0)
    if done is None:
        return lines[0].quoted + noted
    unit = lines[0].unit
    if done.dimension != BY_SYMBOL[unit].dimension:
        raise WrongDimensionError(f"expected how much was done in {unit}, not {done.entered}", field="done", value=done.entered)
    return decimal_quantity(in_unit(done.canonical, unit))
