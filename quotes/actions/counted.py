"""How is counted work settled once it is known how much of it was done?"""

from datetime import datetime
from decimal import Decimal

from django.utils import timezone

from costbase.calc.money import currency, decimal_quantity
from costbase.calc.units import BY_SYMBOL, Quantity, WrongDimensionError, in_unit
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.found_notes import must_not_be_covered
from quotes.actions.jobs import save_job
from quotes.actions.sent_twice import NOTHING_SENT, Sent, made_before
from quotes.calc.found import settle
from quotes.calc.job import must_be_in
from quotes.models import CountedSettlement, Job
from quotes.reports.found import agreed_components, counted_lines, measured_alike, noted_beyond

COUNTED_IN = ("opening_up", "waiting", "rebuilding", "testing", "handed_over")


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
    assert_scope(shop.pk)
    known = made_before(CountedSettlement.objects.for_shop(shop), job.pk, sent)
    if known is not None:
        return known
    must_be_in(job.state, *COUNTED_IN, doing="settled in what was counted")
    must_not_be_covered(shop, job.pk, assembly)
    lines = counted_lines(shop, job).get(assembly, [])
    unit = lines[0].unit if lines else "each"
    noted = noted_beyond(shop, job.pk, assembly, unit)
    alike = [one for one in agreed_components(shop, job) if measured_alike(one.unit, unit)]
    amount = _done(done, unit) if lines else Decimal(0)
    credits = settle(assembly, lines, amount, noted=noted, components=alike, currency=currency(job.currency))
    settled = CountedSettlement(
        shop=shop,
        job=job,
        client_id=sent.client_id,
        digest=sent.digest,
        assembly=assembly,
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
        note=note,
        created=now or timezone.now(),
        created_by=by.person_id,
    )
    settled.save(force_insert=True)
    save_job(job, [])
    return settled


def _done(done: Quantity, unit: str) -> Decimal:
    if done.dimension != BY_SYMBOL[unit].dimension:
        raise WrongDimensionError(f"expected how much was done in {unit}, not {done.entered}", field="done", value=done.entered)
    return decimal_quantity(in_unit(done.canonical, unit))
