"""How is a bill, or a credit note, issued?

Every issuing is one of the whole job: it says what the job comes to so far, and gives a document to each payer whose part has
changed since his last one. So the payers' bills always add up to the job's, whatever is credited to whom.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any

from django.db import connection

from costbase.calc.errors import CalculationError
from costbase.calc.money import Currency, amount
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.closing import LATE_ENTRY, close_again
from quotes.actions.jobs import save_job
from quotes.actions.priced import shop_day
from quotes.actions.quote_statement import names, recordset
from quotes.calc.bill import Billed, Item, at_stage, billed, credit_items, goodwill_items
from quotes.calc.consent import document_hash as hash_of
from quotes.calc.job import must_be_in
from quotes.calc.tax import Tax
from quotes.models import Bill, ChangeOrder, Job
from quotes.reports.bills import Account, account_of

Row = dict[str, Any]

STAGE_IN = ("opening_up", "waiting", "rebuilding", "testing", "handed_over")
FINAL_IN = ("testing", "handed_over", "stopped")
CREDIT_IN = (*STAGE_IN, "stopped", "settled")

_BILL = {
    "number": "text", "kind": "text", "payer": "text", "stage": "jsonb", "credit_of_id": "bigint", "reason": "text",
    "by_class": "jsonb", "net": "numeric", "taxes": "jsonb", "tax": "numeric", "deductible": "numeric", "rounding": "numeric",
    "total": "numeric", "billed_before": "numeric", "due": "numeric", "document": "jsonb", "document_hash": "text",
}  # fmt: skip
_LINE = {
    "payer": "text", "position": "int", "key": "text", "of": "text", "source": "text", "kind": "text", "name": "text",
    "phase": "text", "tax_class": "text", "quantity": "numeric", "unit": "text", "unit_price": "numeric",
    "amount": "numeric", "before": "numeric", "words": "text",
}  # fmt: skip
_LINE_COLUMNS = {name: kind for name, kind in _LINE.items() if name != "payer"}
_INSERT = f"""
WITH b AS (
    INSERT INTO quotes_bill
        (shop_id, job_id, issue, currency, job_total, issued_on, issued_at, issued_by, {names(_BILL)})
    SELECT %(shop)s, %(job)s, %(issue)s, %(currency)s, %(job_total)s, %(day)s, %(now)s, %(by)s, {names(_BILL, "bills.")}
    FROM {recordset(_BILL, "bills")}
    RETURNING id, payer
), l AS (
    INSERT INTO quotes_billline (shop_id, bill_id, {names(_LINE_COLUMNS)})
    SELECT %(shop)s, b.id, {names(_LINE_COLUMNS, "lines.")} FROM {recordset(_LINE, "lines")}
    JOIN b ON b.payer = lines.payer
)
SELECT id FROM b ORDER BY id
"""
# The counter's row is locked until the scope closes.
_COUNT = """
INSERT INTO quotes_billcounter (shop_id, year, last) VALUES (%(shop)s, %(year)s, %(taken)s)
ON CONFLICT (shop_id, year) DO UPDATE SET last = quotes_billcounter.last + %(taken)s RETURNING last
"""


class NothingToBillError(CalculationError):
    """Nothing has changed since the last bill, or less is done than was billed before."""

    code = "nothing_to_bill"


class OrderWaitsError(CalculationError):
    """A change order waits for its consent, so that nobody can say yet what the job comes to."""

    code = "change_order_waits"


class FinalBilledError(CalculationError):
    """The final bill is out: no stage comes after it."""

    code = "final_billed"


@dataclass(frozen=True, slots=True)
class Issue:
    """What is issued: kind, how far the phases are done, and of a credit note which bill it takes back of, to whom and why."""

    kind: str
    stage: Mapping[str, Decimal]
    reason: str = ""
    credit_of: int | None = None
    payer: str = ""


def bill_job(
    *, shop: Shop, job: Job, kind: str, done: Mapping[str, Decimal], by: Actor, now: datetime, reason: str = ""
) -> list[int]:
    """Issues a stage bill, or the final bill, of a held job: the ids of one document for each payer whose part has changed.

    Args:
        shop: whose job it is.
        job: held.
        kind: "stage" or "final".
        done: of a stage, the share of each phase that is done; empty for a final bill.
        by: who acts.
        now: when.
        reason: for people.

    Raises:
        JobStateError: the job is not where such a bill is issued.
        FinalBilledError, OrderWaitsError, NothingToBillError: there is nothing to bill so, or not yet.
        StageError: a phase or a share that cannot be.
        BillPassesAuthorisedError: it would be more than was authorised.
    """
    account, worked = _worked(shop, job, kind, done)
    return _issue(shop, job, account, worked, Issue(kind, done, reason), by, now)


@dataclass(frozen=True, slots=True)
class Preview:
    """What would be billed: how the job stands, what it comes to at the stage, and who would get a document, with its lines."""

    account: Account
    worked: Billed
    documents: Mapping[str, Sequence[Row]]


def preview_bill(*, shop: Shop, job: Job, kind: str, done: Mapping[str, Decimal]) -> Preview:
    """What `bill_job` would issue of a held job; nothing is kept and no number is taken. Refuses what that would refuse."""
    account, worked = _worked(shop, job, kind, done)
    return Preview(account, worked, dict(_documents(job, account, worked)))


def _worked(shop: Shop, job: Job, kind: str, done: Mapping[str, Decimal]) -> tuple[Account, Billed]:
    """How a job stands, and what it comes to at the stage or in all."""
    assert_scope(shop.pk)
    must_be_in(job.state, *(FINAL_IN if kind == "final" else STAGE_IN), doing=f"billed ({kind})")
    account = account_of(shop, job)
    if kind == "final":
        no_order_waits(shop, job)
        items: tuple[Item, ...] = account.items
    else:
        if account.is_final:
            raise FinalBilledError(
                f"the final bill of {job.number} is out; correct it by a credit note or by another final one"
            )
        items = at_stage(account.items, done, account.terms.currency)
    worked = billed([*items, *account.credits], account.terms, account.payers)
    if kind == "stage" and worked.total <= sum((account.billed_before(one.label) for one in account.payers), Decimal(0)):
        raise NothingToBillError(f"at this stage no more than what was billed before is due: {worked.total} with tax")
    return account, worked


def credit_bill(
    *,
    shop: Shop,
    job: Job,
    bill: Bill,
    lines: Mapping[str, Decimal | None],
    goodwill: Decimal | None,
    reason: str,
    by: Actor,
    now: datetime,
) -> list[int]:
    """Issues a credit note on a bill of a held job: lines taken back, or an amount for goodwill, or both.

    Raises:
        JobStateError: the job is not where this is done.
        CreditError: more than was billed to this payer, a line that was not, or no reason.
    """
    assert_scope(shop.pk)
    must_be_in(job.state, *CREDIT_IN, doing="credited")
    account = account_of(shop, job)
    number = _numbers(shop, 1, now)[0]
    so_far = account.as_billed()
    back: list[Item] = []
    if lines or goodwill is None:
        back += credit_items(so_far, bill.payer, lines, number, reason)
    if goodwill is not None:
        back += goodwill_items([*so_far, *back], bill.payer, goodwill, number, reason, account.terms.currency)
    worked = billed([*so_far, *back], account.terms, account.payers)
    last = account.last[bill.payer]
    issue = Issue("credit", last.stage, reason, bill.pk, bill.payer)
    issued = _issue(shop, job, account, worked, issue, by, now, number)
    if job.state == "settled":
        close_again(shop=shop, job=job, by=by, now=now, why=LATE_ENTRY)
    return issued


def no_order_waits(shop: Shop, job: Job) -> None:
    """Refuses while a change order of the job waits for its consent.

    Raises:
        OrderWaitsError: names the first.
    """
    waiting = ChangeOrder.objects.for_shop(shop).filter(job=job, state="waiting").order_by("number").first()
    if waiting is not None:
        words = f"change order {waiting.number} of {job.number} waits for its consent; have it answered or withdraw it"
        raise OrderWaitsError(words, value=waiting.number)


def _issue(
    shop: Shop,
    job: Job,
    account: Account,
    worked: Billed,
    issue: Issue,
    by: Actor,
    now: datetime,
    number: str = "",
) -> list[int]:
    """One document for each payer whose lines or amounts have changed."""
    changed = _documents(job, account, worked)
    # The note that was asked for comes first and has the number that its lines name.
    changed.sort(key=lambda part: part[0] != issue.payer)
    taken = [number] if number else []
    taken += _numbers(shop, len(changed) - len(taken), now) if len(changed) > len(taken) else []
    bills = [
        _bill_row(shop, job, account, worked, issue, label, lines, one, now)
        for (label, lines), one in zip(changed, taken, strict=True)
    ]
    values: dict[str, Any] = {
        "shop": shop.pk, "job": job.pk, "issue": account.issue + 1, "currency": job.currency, "job_total": worked.total,
        "day": shop_day(shop, now), "now": now, "by": by.person_id, "bills": _json(bills),
        "lines": _json([{"payer": label, **line} for label, lines in changed for line in lines]),
    }  # fmt: skip
    with connection.cursor() as cursor:
        cursor.execute(_INSERT, values)
        ids = [row[0] for row in cursor.fetchall()]
    save_job(job, [])
    return ids


def _documents(job: Job, account: Account, worked: Billed) -> list[tuple[str, list[Row]]]:
    """Each payer whose lines or amounts have changed, with the lines of the document."""
    changed = [
        (payer.label, lines)
        for payer in account.payers
        if _changed(account, worked, payer.label, lines := _payer_lines(worked, account, payer.label))
    ]
    if not changed:
        raise NothingToBillError(f"nothing of {job.number} has changed since it was billed last: {worked.total} with tax")
    return changed


def _numbers(shop: Shop, count: int, now: datetime) -> list[str]:
    year = shop_day(shop, now).year
    with connection.cursor() as cursor:
        cursor.execute(_COUNT, {"shop": shop.pk, "year": year, "taken": count})
        (last,) = cursor.fetchone()
    return [f"B-{year}-{last - count + 1 + at}" for at in range(count)]


def _payer_lines(worked: Billed, account: Account, payer: str) -> list[Row]:
    before, cur = account.before.get(payer, {}), account.terms.currency
    parts = [(item, item.part(payer)) for item in worked.items]
    shown = [(item, part) for item, part in parts if part or item.key in before]
    gone = [item for key, item in before.items() if key not in {item.key for item, _ in shown}]
    rows = [*((item, part) for item, part in shown), *((item, Decimal(0)) for item in gone)]
    return [
        {
            "position": at,
            **{name: getattr(item, name) for name in ("key", "of", "source", "kind", "name", "phase", "tax_class", "words")},
            **_measured(item),
            "amount": _shown(part, cur),
            "before": _shown(before[item.key].amount if item.key in before else Decimal(0), cur),
        }
        for at, (item, part) in enumerate(rows, 1)
    ]


def _measured(item: Item) -> Row:
    """Quantity, unit and unit price of the whole item, where it has a unit; a sum or a credit has none."""
    if item.unit == "job":
        return {"quantity": None, "unit": "", "unit_price": None}
    return {
        "quantity": str(item.quantity),
        "unit": item.unit,
        "unit_price": None if item.unit_price is None else str(item.unit_price),
    }


def _changed(account: Account, worked: Billed, payer: str, lines: Sequence[Row]) -> bool:
    if worked.due(payer).total != account.billed_before(payer):
        return True
    return any(Decimal(line["amount"]) != Decimal(line["before"]) for line in lines)


def _bill_row(
    shop: Shop,
    job: Job,
    account: Account,
    worked: Billed,
    issue: Issue,
    payer: str,
    lines: list[Row],
    number: str,
    now: datetime,
) -> Row:
    due, before, cur = worked.due(payer), account.billed_before(payer), account.terms.currency
    goes_with = issue.kind == "credit" and payer != issue.payer
    reason = f"goes with the credit note to {issue.payer}: {issue.reason}"[:400] if goes_with else issue.reason
    by_class: dict[str, Decimal] = {}
    for item in worked.items:
        by_class[item.tax_class] = by_class.get(item.tax_class, Decimal(0)) + item.part(payer)
    row: Row = {
        "number": number,
        "kind": issue.kind,
        "payer": payer,
        "stage": {phase: str(share) for phase, share in issue.stage.items()},
        "credit_of_id": None if goes_with else issue.credit_of,
        "reason": reason,
        "by_class": {name: _shown(value, cur) for name, value in by_class.items()},
        "net": _shown(due.net, cur),
        "taxes": [_tax(tax, cur) for tax in due.taxes],
        "tax": _shown(due.tax, cur),
        "deductible": _shown(due.deductible, cur),
        "rounding": _shown(due.rounding, cur),
        "total": _shown(due.total, cur),
        "billed_before": _shown(before, cur),
        "due": _shown(due.total - before, cur),
    }
    document = {
        **row,
        "shop": shop.slug,
        "job": job.number,
        "quote": job.quote_id,
        "issued_on": shop_day(shop, now).isoformat(),
        "currency": job.currency,
        "price_basis": job.price_basis,
        "lines": lines,
        "job_total": _shown(worked.total, cur),
        "authorised_with_tax": _shown(account.terms.most, cur),
    }
    return {**row, "document": document, "document_hash": hash_of(document)}


def _tax(tax: Tax, currency: Currency) -> Row:
    base, amount = _shown(tax.base, currency), _shown(tax.amount, currency)
    return {"name": tax.name, "rate": str(tax.rate), "base": base, "amount": amount}


def _shown(value: Decimal, currency: Currency) -> str:
    """An amount that was rounded before, with the digits of its currency, as the document says it."""
    return str(amount(value, currency))


def _json(rows: Sequence[Row]) -> str:
    return json.dumps(rows, default=str)
