"""How is a bill shown, and how does what would be billed now come about? Amounts are texts in the job's currency."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from api.rest.quote_answers import fixed
from costbase.calc.money import currency as currency_of
from quotes.actions.bills import Preview
from quotes.calc.bill import Billed, Item
from quotes.calc.payers import Due
from quotes.calc.tax import Tax
from quotes.models import Bill, Job
from quotes.reports.bills import Account, Balance

Row = dict[str, Any]

_AMOUNTS = ("net", "tax", "deductible", "rounding", "total", "billed_before", "due", "job_total")
_STEPS = (
    ("agreed", "The agreed lines"),
    ("logged", "What was logged, at the billed rates and prices of the quote"),
    ("counted", "Less counted work that was not needed"),
    ("draw", "Hidden work that was found, at its agreed prices"),
    ("change_order", "Change orders"),
    ("settlement", "The settlement of what was stopped"),
    ("cut", "Above the limit, not billed"),
    ("credit", "Less what was taken back"),
    ("goodwill", "Less goodwill"),
)


def bill_shown(bill: Any) -> Row:
    """A bill without its lines; annotated with the number of its job."""
    digits = currency_of(bill.currency).digits
    return {
        "id": bill.pk,
        "number": bill.number,
        "kind": bill.kind,
        "job": bill.job_id,
        "job_number": bill.job_number,
        "issue": bill.issue,
        "payer": bill.payer,
        "credit_of": bill.credit_of_id,
        "reason": bill.reason,
        "stage": [{"phase": phase, "share": share} for phase, share in bill.stage.items()],
        "currency": bill.currency,
        **{name: fixed(getattr(bill, name), digits) for name in _AMOUNTS},
        "by_class": {name: fixed(Decimal(value), digits) for name, value in bill.by_class.items()},
        "taxes": [
            {
                "name": tax["name"],
                "rate": tax["rate"],
                "base": fixed(Decimal(tax["base"]), digits),
                "amount": fixed(Decimal(tax["amount"]), digits),
            }
            for tax in bill.taxes
        ],
        "document_hash": bill.document_hash,
        "issued_on": bill.issued_on.isoformat(),
        "issued_at": bill.issued_at.isoformat(),
    }


def bill_answer(bill: Any, lines: Sequence[Row]) -> Row:
    """A bill with its lines: what they come to so far, what earlier bills had of them, and what is new."""
    digits = currency_of(bill.currency).digits
    return {**bill_shown(bill), "lines": [_line(line, digits) for line in lines]}


def _line(line: Row, digits: int) -> Row:
    names = ("position", "key", "of", "source", "kind", "name", "phase", "tax_class", "words")
    return {
        **{name: line[name] for name in names},
        **measured_shown(line["quantity"], line["unit"], line["unit_price"]),
        "amount": fixed(line["amount"], digits),
        "before": fixed(line["before"], digits),
        "now": fixed(line["amount"] - line["before"], digits),
    }


def measured_shown(quantity: Decimal | None, unit: str, unit_price: Decimal | None) -> Row:
    """Quantity, unit and unit price of a line, as far as it has them."""
    return {
        "quantity": None if quantity is None else f"{quantity:.4f}",
        "unit": unit,
        "unit_price": None if unit_price is None else f"{unit_price:.6f}",
    }


def preview_answer(job: Job, kind: str, preview: Preview, drawn: Decimal) -> Row:
    """What an issuing would say: all of the job at this stage, and the lines of each document that would go out."""
    digits = currency_of(job.currency).digits
    return {
        **now_answer(job, preview.account, preview.worked, drawn),
        "kind": kind,
        "documents": [
            {"payer": payer, "lines": [_line(_numbered(line), digits) for line in lines]}
            for payer, lines in preview.documents.items()
        ],
    }


def _numbered(line: Row) -> Row:
    """A line whose numbers are still texts, as a stored one has them."""
    numbers = {name: None if line[name] is None else Decimal(line[name]) for name in ("quantity", "unit_price")}
    return {**line, **numbers, "amount": Decimal(line["amount"]), "before": Decimal(line["before"])}


def now_answer(job: Job, account: Account, worked: Billed, drawn: Decimal) -> Row:
    """What would be billed of a job now, and how it comes about from what was agreed: the steps add up exactly."""
    digits = currency_of(job.currency).digits
    return {
        "job": job.pk,
        "number": job.number,
        "state": job.state,
        "currency": job.currency,
        "price_basis": job.price_basis,
        "items": [_item(item, digits) for item in worked.items],
        "steps": _steps(worked, digits),
        "net": fixed(worked.net, digits),
        "taxes": _taxes(worked.taxes, digits),
        "tax": fixed(worked.tax, digits),
        "rounding": fixed(worked.rounding, digits),
        "total": fixed(worked.total, digits),
        "authorised_with_tax": fixed(account.terms.authorised_with_tax, digits),
        "carried_with_tax": fixed(account.terms.carried_with_tax, digits),
        "set_aside_not_needed": fixed(job.contingency - drawn, digits),
        "payers": [
            _payer(payer.label, due, account.billed_before(payer.label), digits)
            for payer, due in zip(worked.payers, worked.dues, strict=True)
        ],
        "final_billed": account.is_final,
    }


def _item(item: Item, digits: int) -> Row:
    return {
        **{name: getattr(item, name) for name in ("key", "of", "source", "kind", "name", "phase", "tax_class", "words")},
        **(measured_shown(item.quantity, item.unit, item.unit_price) if item.unit != "job" else measured_shown(None, "", None)),
        "amount": fixed(item.amount, digits),
        "parts": [{"payer": label, "amount": fixed(part, digits)} for label, part in item.parts],
    }


def _steps(worked: Billed, digits: int) -> list[Row]:
    by_source: dict[str, Decimal] = {}
    for item in worked.items:
        by_source[item.source] = by_source.get(item.source, Decimal(0)) + item.amount
    steps = [(text, by_source[source]) for source, text in _STEPS if source in by_source]
    steps += [(f"{tax.name}, once on {fixed(tax.base, digits)}", tax.amount) for tax in worked.taxes]
    steps.append(("The owner's rounding, after tax", worked.rounding))
    return [{"text": text, "amount": fixed(amount, digits)} for text, amount in steps]


def _payer(label: str, due: Due, before: Decimal, digits: int) -> Row:
    amounts: Mapping[str, Decimal] = {
        "net": due.net,
        "tax": due.tax,
        "deductible": due.deductible,
        "rounding": due.rounding,
        "total": due.total,
        "billed_before": before,
        "due": due.total - before,
    }
    return {"payer": label, **{name: fixed(value, digits) for name, value in amounts.items()}}


def _taxes(taxes: Iterable[Tax], digits: int) -> list[Row]:
    return [
        {"name": tax.name, "rate": str(tax.rate), "base": fixed(tax.base, digits), "amount": fixed(tax.amount, digits)}
        for tax in taxes
    ]


def balances_answer(rows: Sequence[Balance], currency: str) -> list[Row]:
    """How every payer stands: billed, paid, and what is open; below 0 where more was paid than billed so far."""
    digits = currency_of(currency).digits
    return [
        {"payer": row.payer, **{name: fixed(getattr(row, name), digits) for name in ("billed", "paid", "open")}} for row in rows
    ]


def issued_answer(bills: Sequence[Bill], lines: Mapping[int, Sequence[Row]]) -> Row:
    """The documents of one issuing, one for each payer whose part has changed."""
    return {"bills": [bill_answer(bill, lines.get(bill.pk, ())) for bill in bills]}
