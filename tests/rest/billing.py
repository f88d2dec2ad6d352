"""What happens to a job before it is billed, beside the way over the API."""

from decimal import Decimal
from typing import Any

from django.utils import timezone

from quotes.actions.consents import Consenting, Giver, record_consent
from quotes.actions.jobs import authorise, held_job
from quotes.models import ChangeOrder, ChangeOrderLine, ChangeOrderWay, CountedSettlement, FoundNote, Job
from tests import make
from tests.rest.quoting import Quoting
from tests.rest.working import HASH


def found(small: Quoting, job: Job, *, amount: str = "137.71", material: str = "7.71") -> None:
    """The draw of DEVELOPERS.md section 1, step 11."""
    with small.office.scope():
        FoundNote(
            shop=small.shop,
            job=job,
            number=1,
            component="opening_frame",
            construction="framed",
            extent=Decimal(1),
            unit="each",
            unit_price=Decimal("87.711200"),
            work=Decimal("87.71"),
            set_up=Decimal("50.00"),
            amount=Decimal(amount),
            material=Decimal(material),
            left=Decimal(0),
            left_by_component={},
            photographs=[],
            created=timezone.now(),
        ).save(force_insert=True)
        Job.objects.for_shop(small.shop).filter(pk=job.pk).update(drawn=Decimal(amount))


def counted(small: Quoting, job: Job, lines: list[tuple[int, str, str]]) -> None:
    """The other frame sound: position, tax class and amount of what is billed less."""
    with small.office.scope():
        CountedSettlement(
            shop=small.shop, job=job, assembly="backing-frame", quoted=Decimal(1), done=Decimal(0), unit="each",
            credit=sum((Decimal(amount) for _, _, amount in lines), Decimal(0)),
            lines=[{"position": at, "tax_class": tax_class, "amount": amount} for at, tax_class, amount in lines],
            created=timezone.now(),
        ).save(force_insert=True)  # fmt: skip


ORDER = (
    ("labour", "Glue a patch", "labour", "200.00"),
    ("material", "adhesive", "parts", "72.90"),
    ("shop", "Overhead", "labour", "21.83"),
)


def ordered(
    small: Quoting,
    job: Job,
    *,
    with_tax: str = "4248.00",
    payer: str = "owner",
    state: str = "accepted",
    number: int = 1,
    way_kind: str = "repair",
    warranty: str = "",
) -> ChangeOrder:
    """The change order of step 12, with the consent that moves the limit."""
    now, shop = timezone.now(), small.shop
    with small.office.scope():
        order = ChangeOrder(
            shop=shop, job=job, number=number, state="draft", cause="owner_wish", title="Patch", payer=payer, created=now
        )
        order.save(force_insert=True)
        way = ChangeOrderWay(
            shop=shop, change_order=order, position=1, kind=way_kind, warranty=warranty, amount=Decimal("294.73"),
            cost=Decimal(100),
            authorised=Decimal("3924.23"), authorised_with_tax=Decimal(with_tax), days=Decimal(1),
        )  # fmt: skip
        way.save(force_insert=True)
        for at, (kind, name, tax_class, amount) in enumerate(ORDER, 1):
            ChangeOrderLine(
                shop=shop, way=way, position=at, kind=kind, slug=name.lower().replace(" ", "-"), name=name, quantity=Decimal(1),
                unit="job", price=Decimal(amount), amount=Decimal(amount), cost=Decimal(0), tax_class=tax_class,
            ).save(force_insert=True)  # fmt: skip
        order.state = state
        changed = ["state"]
        if state == "accepted":
            held = held_job(shop, job.pk)
            assert held is not None
            order.consent = _consent(shop, held, order, Decimal(with_tax))
            order.chosen, order.amount = 1, Decimal("294.73")
            order.authorised, order.authorised_with_tax = Decimal("3924.23"), Decimal(with_tax)
            changed += ["consent", "chosen", "amount", "authorised", "authorised_with_tax"]
            authorise(
                shop=shop, job=held, consent=order.consent, authorised=Decimal("3924.23"), authorised_with_tax=Decimal(with_tax)
            )
        order.save(update_fields=changed)
        return order


def _consent(shop: Any, job: Job, order: ChangeOrder, with_tax: Decimal) -> Any:
    now = timezone.now()
    consenting = Consenting(
        chain="Q-none", quote_id=job.quote_id, job_id=job.pk, document="change_order", document_id=order.pk, document_hash=HASH,
        payer="owner", outcome="accepted", manner="written", at=now, amount=Decimal("294.73"), limit_with_tax=with_tax,
        promised_on=None, said={}, giver=Giver("Invented Owner"),
    )  # fmt: skip
    return record_consent(shop=shop, consenting=consenting, by=make.OPERATOR, now=now)
