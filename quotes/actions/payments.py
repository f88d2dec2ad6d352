"""How does money come into a job's books, and out of them?

Payments are a ledger of their own, only ever added to. A deposit is paid on account: it is held against what is billed later. A
wrong entry is taken back by one that names it.
"""

import re
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from typing import cast
from uuid import UUID

from costbase.calc.errors import CalculationError
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.priced import shop_day
from quotes.actions.sent_twice import Sent, made_before
from quotes.calc.payers import OWNER
from quotes.models import Job, Payment
from quotes.reports.bills import balances
from quotes.reports.payers import stored_payers

REFUND = "refund"
# A run of digits as long as the number of a card or an account has no place in the books of a job.
_LIKE_A_CARD = re.compile(r"(?:\d[ -]?){11,}\d")


class PaymentError(CalculationError):
    """A payment that cannot be: of nobody who pays, of nothing, to come, more back than came in, or with a card's number."""

    code = "bad_payment"


@dataclass(frozen=True, slots=True)
class Paying:
    """What was paid: amounts are above 0, of a refund too. `way` says how, in plain words."""

    kind: str
    payer: str
    day: date
    way: str
    amount: Decimal
    sent: Sent
    note: str = ""


def add_payment(*, shop: Shop, job: Job, paying: Paying, by: Actor, now: datetime) -> Payment:
    """Books a deposit, a payment or a refund of a held job, in whatever state it is: an open balance is paid after settling.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        PaymentError: nobody who pays, no amount, a day to come, more back than came in, or a number that is like a card's.
    """
    assert_scope(shop.pk)
    known = made_before(Payment.objects.for_shop(shop), job.pk, paying.sent)
    if known is not None:
        return known
    _check(shop, job, paying, shop_day(shop))
    signed = -paying.amount if paying.kind == REFUND else paying.amount
    payment = Payment(
        shop=shop,
        job=job,
        client_id=cast(UUID, paying.sent.client_id),
        digest=paying.sent.digest,
        kind=paying.kind,
        payer=paying.payer,
        day=paying.day,
        way=paying.way,
        amount=signed,
        note=paying.note,
        created=now,
        created_by=by.person_id,
    )
    payment.save(force_insert=True)
    return payment


def take_payment_back(*, shop: Shop, job: Job, payment: Payment, note: str, sent: Sent, by: Actor, now: datetime) -> Payment:
    """Takes a wrong entry of a held job back by a new one with the other sign.

    Raises:
        SaidOtherwiseError: something else was sent under its id.
        PaymentError: it was taken back already, takes one back itself, or more would be back than came in.
    """
    assert_scope(shop.pk)
    known = made_before(Payment.objects.for_shop(shop), job.pk, sent)
    if known is not None:
        return known
    if payment.corrects_id is not None or Payment.objects.for_shop(shop).filter(corrects=payment).exists():
        raise PaymentError("it was taken back already, or takes one back itself; enter what is right", value=payment.pk)
    amount = -Decimal(str(payment.amount))
    _must_stay_paid(shop, job, payment.payer, amount)
    back = Payment(
        shop=shop,
        job=job,
        client_id=cast(UUID, sent.client_id),
        digest=sent.digest,
        kind=payment.kind,
        payer=payment.payer,
        day=payment.day,
        way=payment.way,
        amount=amount,
        note=note,
        corrects=payment,
        created=now,
        created_by=by.person_id,
    )
    back.save(force_insert=True)
    return back


def _check(shop: Shop, job: Job, paying: Paying, today: date) -> None:
    labels = [OWNER, *(row["label"] for row in stored_payers(shop, job.quote_id) if row["label"] != OWNER)]
    if paying.payer not in labels:
        raise PaymentError(f"expected one of {', '.join(labels)}, not {paying.payer!r}", field="payer", value=paying.payer)
    if paying.amount <= 0:
        raise PaymentError(f"expected an amount above 0, not {paying.amount}", field="amount", value=paying.amount)
    if paying.day > today:
        raise PaymentError(f"expected a day up to today, {today}, not {paying.day}", field="day", value=paying.day.isoformat())
    for name in ("way", "note"):
        if _LIKE_A_CARD.search(getattr(paying, name)):
            raise PaymentError("expected plain words; no number of a card or an account is kept here", field=name)
    if paying.kind == REFUND:
        _must_stay_paid(shop, job, paying.payer, -paying.amount)


def _must_stay_paid(shop: Shop, job: Job, payer: str, amount: Decimal) -> None:
    paid = next((row.paid for row in balances(shop, job.pk) if row.payer == payer), Decimal(0))
    if amount < 0 and paid + amount < 0:
        raise PaymentError(f"{payer} has paid {paid.normalize():f}; no more can go back", field="amount", value=-amount)
