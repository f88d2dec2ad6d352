"""A job with a ledger, draws and orders of its own making, whose books are closed."""

from datetime import date, timedelta
from decimal import Decimal
from typing import Any

from django.utils import timezone

from quotes.actions.bills import bill_job
from quotes.actions.closing import close_books
from quotes.actions.jobs import move_job
from quotes.models import (
    ChangeOrder,
    ChangeOrderLine,
    ChangeOrderWay,
    ClosedJob,
    Consent,
    FoundNote,
    Job,
    JobComponent,
    JobLine,
    LedgerEntry,
    OpeningEntry,
)
from tests import make
from tests.rest.quoting import Quoting

D = Decimal
DAY = date(2026, 3, 2)


def as_planned(quoting: Quoting, job: Job, *, dearer: str = "1") -> None:
    """Logs every agreed line just as it was planned; hours cost `dearer` times what they should."""
    shop = quoting.shop
    with quoting.office.scope():
        for line in JobLine.objects.for_shop(shop).filter(job_id=job.pk, cost__gt=0).order_by("position"):
            labour = line.kind == "labour"
            cost = (line.cost * D(dearer)).quantize(D("0.01")) if labour else line.cost
            LedgerEntry.objects.for_shop(shop).create(
                shop=shop, job=job, kind="time" if labour else "purchase", day=DAY, trade=line.trade, line=line.position,
                material="" if labour or line.slug.startswith("freight:") else line.slug, quantity=line.quantity,
                unit="h" if labour else line.unit, rate=D(1), cost=cost, value=line.amount, created=timezone.now(),
            )  # fmt: skip


def logged(quoting: Quoting, job: Job, **columns: Any) -> None:
    """One more entry of the ledger."""
    row = {"kind": "purchase", "day": DAY, "quantity": D(1), "unit": "", "rate": D(1), "value": D(0), **columns}
    with quoting.office.scope():
        LedgerEntry.objects.for_shop(quoting.shop).create(shop=quoting.shop, job=job, created=timezone.now(), **row)


def component(quoting: Quoting, job: Job) -> JobComponent:
    """The component that most is expected of."""
    with quoting.office.scope():
        found = JobComponent.objects.for_shop(quoting.shop).filter(job_id=job.pk).order_by("-allowance").first()
        assert found is not None
        return found


def opened(quoting: Quoting, job: Job, *, opened: str, found: str) -> OpeningEntry:
    """An opening entry that measured one component."""
    part = component(quoting, job)
    measured = [{"component": part.slug, "construction": part.construction, "opened": opened, "found": found}]
    with quoting.office.scope():
        return OpeningEntry.objects.for_shop(quoting.shop).create(
            shop=quoting.shop, job=job, day=DAY, marks=[], measured=measured, findings=[], created=timezone.now()
        )


def drawn(quoting: Quoting, job: Job, extent: Decimal) -> FoundNote:
    """The first found note of the component that most is expected of."""
    part, shop = component(quoting, job), quoting.shop
    work = (extent * part.unit_price).quantize(D("0.01"))
    with quoting.office.scope():
        number = FoundNote.objects.for_shop(shop).filter(job_id=job.pk).count() + 1
        Job.objects.for_shop(shop).filter(pk=job.pk).update(drawn=job.drawn + work + part.set_up)
        job.refresh_from_db()
        return FoundNote.objects.for_shop(shop).create(
            shop=shop, job=job, number=number, component=part.slug, construction=part.construction, extent=extent,
            unit=part.unit, unit_price=part.unit_price, work=work, set_up=part.set_up, amount=work + part.set_up, material=D(0),
            left=job.contingency - job.drawn, left_by_component={}, photographs=[], created=timezone.now(),
        )  # fmt: skip


def ordered(
    quoting: Quoting,
    job: Job,
    cause: str,
    *,
    hours: int = 1,
    amount: int = 100,
    cost: int = 50,
    slug: str = "",
    state: str = "accepted",
    days: int = 0,
    title: str = "Invented",
) -> ChangeOrder:
    """An order of one line of labour that was sent some days ago, and what became of it."""
    shop, now = quoting.shop, timezone.now() - timedelta(days=days)
    with quoting.office.scope():
        consent = Consent.objects.for_shop(shop).get(pk=job.consent_id)
        number = ChangeOrder.objects.for_shop(shop).filter(job_id=job.pk).count() + 1
        order = ChangeOrder.objects.for_shop(shop).create(
            shop=shop, job=job, number=number, cause=cause, component=slug, title=title, created=now
        )
        way = ChangeOrderWay.objects.for_shop(shop).create(
            shop=shop, change_order=order, position=1, kind="repair", amount=D(amount), cost=D(cost), authorised=D(0),
            authorised_with_tax=D(0), days=1,
        )  # fmt: skip
        ChangeOrderLine.objects.for_shop(shop).create(
            shop=shop, way=way, position=1, kind="labour", slug="more", trade="technician", name="More", quantity=D(hours),
            unit="h", price=D(0), amount=D(amount), cost=D(cost), tax_class="labour",
        )  # fmt: skip
        answer: dict[str, Any] = {"decided_at": now} if state in ("accepted", "declined") else {}
        if state == "accepted":
            answer |= {"chosen": 1, "consent": consent, "amount": D(amount)}
        ChangeOrder.objects.for_shop(shop).filter(pk=order.pk).update(state=state, sent_at=now, **answer)
        return order


def closed(quoting: Quoting, job: Job, **changes: Any) -> ClosedJob:
    """The books of the job, closed now; it is billed in full before, once."""
    with quoting.office.scope():
        fresh = Job.objects.for_shop(quoting.shop).get(pk=job.pk)
        if fresh.state == "booked":
            for state in ("rebuilding", "testing"):
                move_job(shop=quoting.shop, job=fresh, to=state, by=make.OPERATOR)
            bill_job(shop=quoting.shop, job=fresh, kind="final", done={}, by=make.OPERATOR, now=timezone.now())
        return close_books(shop=quoting.shop, job=fresh, by=make.OPERATOR, now=timezone.now(), **changes)


def costs(row: ClosedJob) -> dict[str, Decimal]:
    """The causes of its cost that came to anything."""
    return {name: value for name, value in vars(row).items() if name.startswith("cost_") and value}


def bill(row: ClosedJob) -> dict[str, Decimal]:
    """The steps of its bill that came to anything."""
    return {name: value for name, value in vars(row).items() if name.startswith("bill_") and value}
