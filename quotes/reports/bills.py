"""What would be billed of a job now, what was billed and paid so far, and what is still owed?

Items come from the rows of what was agreed and of what happened since; a constant number of queries however many there are.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from decimal import Decimal
from typing import Any

from django.db.models import F, QuerySet, Sum

from costbase.calc.cost_base import CostBase
from costbase.calc.errors import CalculationError
from costbase.models import Shop
from quotes.calc.bill import (
    CREDIT,
    GOODWILL,
    CountedCredit,
    Draw,
    FurtherLine,
    Item,
    Logged,
    Terms,
    agreed_items,
    counted_items,
    cut_items,
    draw_items,
    further_items,
    line_key,
    net,
    open_items,
)
from quotes.calc.payers import Payer, Rule, Whose, whose
from quotes.calc.tax import LABOUR, PARTS, tax_apart
from quotes.models import Bill, BillLine, ChangeOrderLine, FoundNote, Job, LedgerEntry, Payment, Settlement, StepOffer
from quotes.reports.jobs import counted_now, job_components, job_lines
from quotes.reports.payers import figures_of, stored_payers, stored_rules
from quotes.snapshot import frozen_cost_base

Row = dict[str, Any]

TAKEN = ("accepted", "carried")
# What of the ledger has a value for the owner, whoever logged it.
_VALUED = ("time", "issued", "returned", "purchase", "subcontract", "credit")


@dataclass(frozen=True, slots=True)
class Account:
    """A job as it is billed: its items without credits, what was credited so far, and the last bill of each payer.

    `before` has the lines of the last bills by payer and key; `is_final` says whether the final bill was issued.
    """

    items: tuple[Item, ...]
    credits: tuple[Item, ...]
    terms: Terms
    payers: tuple[Payer, ...]
    last: Mapping[str, Bill]
    before: Mapping[str, Mapping[str, Item]]
    is_final: bool

    @property
    def issue(self) -> int:
        """How often the job was billed."""
        return max((bill.issue for bill in self.last.values()), default=0)

    def billed_before(self, payer: str) -> Decimal:
        """What this payer was billed so far, credits taken off."""
        bill = self.last.get(payer)
        return Decimal(0) if bill is None else _amount(bill.total)

    def as_billed(self) -> tuple[Item, ...]:
        """The items of the last bills of all payers, each with the parts that it was billed with."""
        merged: dict[str, list[Item]] = {}
        for lines in self.before.values():
            for item in lines.values():
                merged.setdefault(item.key, []).append(item)
        return tuple(_merged(items) for items in merged.values())


def account_of(shop: Shop, job: Job) -> Account:
    """How a job stands with its payers; thirteen queries, whatever stands in the job."""
    payer_rows, rules = stored_payers(shop, job.quote_id), stored_rules(shop, job.quote_id)
    components = job_components(shop, job.pk)
    figures = figures_of(job, job_lines(shop, job.pk), components)
    payers = [Payer(row["label"], row["kind"], row["deductible"] or Decimal(0)) for row in payer_rows]
    of = whose(figures, payers, [Rule(row["by"], row["of"], row["trade"], row["payer"], row["cause"]) for row in rules])
    base, (lines, carried) = frozen_cost_base(job), order_lines(shop, job.pk)
    terms = Terms(base.rule, figures.currency, _amount(job.authorised_with_tax))
    beyond = _amount(job.overrun_with_tax) if carried else Decimal(0)
    terms = replace(terms, carried_with_tax=beyond, tax_apart=tax_apart(figures.base_taxes, figures.currency))
    last = last_bills(shop, job.pk)
    before = {payer: _lines_of(shop, bill) for payer, bill in last.items()}
    return Account(
        items=_items(shop, job, of, components, lines, terms, base),
        credits=tuple(item for of_payer in before.values() for item in of_payer.values() if item.source in (CREDIT, GOODWILL)),
        terms=terms,
        payers=of.payers,
        last=last,
        before=before,
        is_final=Bill.objects.for_shop(shop).filter(job=job, kind="final").exists(),
    )


def _items(
    shop: Shop,
    job: Job,
    of: Whose,
    components: Sequence[Row],
    orders: Sequence[FurtherLine],
    terms: Terms,
    base: CostBase,
) -> tuple[Item, ...]:
    stopped = job.state == "stopped" or (job.handed_over_on is None and job.state == "settled")
    if stopped and not closed_up(shop, job):
        return settlement_items(shop, job, terms)
    after = (*draw_items(_draws(shop, job.pk, components), of), *further_items(orders))
    if job.price_basis == "open":
        # What is carried under an adopted policy may be billed beyond the limit, before tax as with it.
        most = _amount(job.authorised) + sum((line.amount for line in orders if line.carried), Decimal(0))
        return open_items(logged_lines(shop, job.pk, of, base), after, terms, most)
    return (*agreed_items(of), *counted_items(_counted(shop, job.pk), of), *after)


def closed_up(shop: Shop, job: Job) -> bool:
    """Whether a job of a step ended with the closing up that was consented to with the step: then nothing else is signed."""
    return not job.whole and StepOffer.objects.for_shop(shop).filter(job_id=job.pk, closed_up_at__isnull=False).exists()


class SettlementMissingError(CalculationError):
    """The work was stopped, and nobody has signed yet what is paid for what was done."""

    code = "settlement_missing"


def settlement_items(shop: Shop, job: Job, terms: Terms) -> tuple[Item, ...]:
    """What is billed of a job that was stopped: the lines of its signed settlement, no more than is authorised.

    Raises:
        SettlementMissingError: none was signed.
    """
    signed = Settlement.objects.for_shop(shop).filter(job=job, state="signed").only("figures", "payer").first()
    if signed is None:
        words = f"{job.number} was stopped, and its settlement is not signed yet; what was done cannot be billed before"
        raise SettlementMissingError(words, value=job.number)
    items = further_items(
        [
            FurtherLine(
                document=1,
                position=at,
                name=line["name"],
                kind=line["kind"] if line["kind"] in _KINDS else "",
                phase="",
                tax_class=line["tax_class"],
                amount=Decimal(line["amount"]),
                quantity=Decimal(line["quantity"]),
                unit=line["unit"],
                price=Decimal(line["price"]),
                payer=signed.payer,
            )
            for at, line in enumerate(signed.figures["lines"], 1)
        ],
        settlement=True,
    )
    return (*items, *cut_items(items, terms, net(items)))


_KINDS = ("labour", "material", "shop")


def _draws(shop: Shop, job_id: int, components: Sequence[Row]) -> list[Draw]:
    positions = {(row["slug"], row["construction"]): row for row in components}
    notes = list(FoundNote.objects.for_shop(shop).filter(job_id=job_id).order_by("number"))
    numbers = {note.pk: note.number for note in notes}
    return [
        Draw(
            number=note.number,
            component=positions[note.component, note.construction]["position"],
            name=positions[note.component, note.construction]["owner_words"],
            amount=_amount(note.amount),
            material=_amount(note.material),
            quantity=note.extent,
            unit=note.unit,
            price=_amount(note.unit_price),
            corrects=numbers[note.corrects_id] if note.corrects_id is not None else 0,
        )
        for note in notes
    ]


def _counted(shop: Shop, job_id: int) -> list[CountedCredit]:
    return [
        CountedCredit(
            position=line["position"],
            assembly=row["assembly"],
            amount=Decimal(line["amount"]),
            words=f"{row['done'].normalize():f} of {row['quoted'].normalize():f} {row['unit']} were done",
        )
        for row in counted_now(shop, job_id)
        for line in row["lines"]
    ]


def order_lines(shop: Shop, job_id: int) -> tuple[list[FurtherLine], bool]:
    """The lines of change orders that were accepted or are carried under a policy, and whether any is carried."""
    rows = ChangeOrderLine.objects.for_shop(shop).filter(
        way__change_order__job_id=job_id, way__change_order__state__in=TAKEN, way__position=F("way__change_order__chosen")
    )
    named = rows.annotate(
        order=F("way__change_order__number"), payer=F("way__change_order__payer"), state=F("way__change_order__state")
    ).order_by("order", "position")
    lines = [
        FurtherLine(
            document=row["order"],
            **{name: row[name] for name in _LINE},
            carried=row["state"] == "carried",
        )
        for row in named.values("order", "state", *_LINE)
    ]
    return lines, any(line.carried for line in lines)


_LINE = ("position", "name", "kind", "phase", "tax_class", "amount", "quantity", "unit", "price", "payer")


def logged_lines(shop: Shop, job_id: int, of: Whose, base: CostBase) -> list[Logged]:
    """What was logged on agreed lines, by line and by trade or material, corrections taken off.

    Draws and change orders have prices of their own, so what was logged on them is not billed by the hour; and what belongs to
    nothing that was agreed is not billed at all until somebody puts it where it belongs.
    """
    rows = LedgerEntry.objects.for_shop(shop).filter(
        job_id=job_id, kind__in=_VALUED, line__isnull=False, component="", change_order=None, warranty_return=None, late=False
    )
    sums = (
        rows.order_by().values("line", "kind", "trade", "material", "unit").annotate(hours=Sum("quantity"), worth=Sum("value"))
    )
    charges = {charge.position: charge for charge in of.figures.charges}
    found: dict[tuple[int, str], Logged] = {}
    grouped: Iterable[Any] = sums.order_by("line", "trade", "material", "kind", "unit")
    for row in grouped:
        charge, what = charges[row["line"]], row["trade"] or row["material"] or row["kind"]
        timed = row["kind"] == "time"
        before = found.get((row["line"], what))
        found[row["line"], what] = Logged(
            key=f"{line_key(row['line'])}:{what}",
            kind="labour" if timed else "material",
            name=f"{charge.name}: {what}" if timed else charge.name,
            phase=charge.phase,
            tax_class=LABOUR if timed else _goods_class(row["material"], base),
            quantity=row["hours"] if timed else Decimal(1),
            unit="h" if timed else "job",
            amount=row["worth"] + (before.amount if before else Decimal(0)),
            weights=of.lines[row["line"]],
        )
    return list(found.values())


def _goods_class(material: str, base: CostBase) -> str:
    return base.materials[material].tax_class if material in base.materials else PARTS


def last_bills(shop: Shop, job_id: int) -> dict[str, Bill]:
    """The last bill of each payer of a job, without its document."""
    rows = Bill.objects.for_shop(shop).filter(job_id=job_id).defer("document").order_by("payer", "-issue").distinct("payer")
    return {bill.payer: bill for bill in rows}


def _lines_of(shop: Shop, bill: Bill) -> dict[str, Item]:
    return {item.key: item for item in stored_items(shop, bill)}


def stored_items(shop: Shop, bill: Bill) -> tuple[Item, ...]:
    """The lines of a bill as items that are this payer's alone."""
    rows = BillLine.objects.for_shop(shop).filter(bill=bill).order_by("position")
    return tuple(
        Item(
            key=row.key,
            source=row.source,
            name=row.name,
            tax_class=row.tax_class,
            amount=_amount(row.amount),
            parts=((bill.payer, _amount(row.amount)),),
            phase=row.phase,
            price=_amount(row.amount),
            of=row.of,
            kind=row.kind,
            words=row.words,
            quantity=Decimal(1) if row.quantity is None else row.quantity,
            unit=row.unit or "job",
            unit_price=row.unit_price,
        )
        for row in rows
    )


def _merged(items: Sequence[Item]) -> Item:
    first, amount = items[0], sum((item.amount for item in items), Decimal(0))
    parts = tuple(part for item in items for part in item.parts)
    return Item(
        key=first.key, source=first.source, name=first.name, tax_class=first.tax_class, amount=amount, parts=parts,
        phase=first.phase, price=amount, of=first.of, kind=first.kind, words=first.words,
        quantity=first.quantity, unit=first.unit, unit_price=first.unit_price,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Balance:
    """What one payer was billed and has paid, in the job's currency; `open` is what is still owed, below 0 what is held."""

    payer: str
    billed: Decimal
    paid: Decimal

    @property
    def open(self) -> Decimal:
        """Billed less paid."""
        return self.billed - self.paid


def balances(shop: Shop, job_id: int) -> list[Balance]:
    """How every payer of a job stands, the owner first: two queries."""
    billed = Bill.objects.for_shop(shop).filter(job_id=job_id).order_by().values("payer").annotate(sum=Sum("due"))
    paid = Payment.objects.for_shop(shop).filter(job_id=job_id).order_by().values("payer").annotate(sum=Sum("amount"))
    sums, came = _by_payer(billed), _by_payer(paid)
    zero = Decimal(0)
    return [
        Balance(payer, sums.get(payer, zero), came.get(payer, zero))
        for payer in sorted({*sums, *came, "owner"}, key=lambda label: (label != "owner", label))
    ]


def _by_payer(rows: Iterable[Any]) -> dict[str, Decimal]:
    return {row["payer"]: row["sum"] for row in rows}


def bills_of(shop: Shop) -> QuerySet[Bill]:
    """Every bill of the shop without its document, with the number of its job."""
    return Bill.objects.for_shop(shop).defer("document").annotate(job_number=F("job__number"))


def _amount(column: object) -> Decimal:
    return column if isinstance(column, Decimal) else Decimal(str(column))


def bill_lines(shop: Shop, bill_ids: Sequence[int]) -> dict[int, list[Row]]:
    """The lines of bills by the id of the bill, in their order; one query however many."""
    rows: Iterable[Any] = BillLine.objects.for_shop(shop).filter(bill_id__in=bill_ids).order_by("bill_id", "position").values()
    found: dict[int, list[Row]] = {}
    for row in rows:
        found.setdefault(row["bill_id"], []).append(row)
    return found
