"""What may an entry of the ledger say, and when do two entries say the same?

A tablet that gets no answer sends its batch again. Each entry carries an id that the tablet made, and a digest of what it said
tells one that is there already from another one under the same id.
"""

import hashlib
import json
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from decimal import Decimal

from costbase.calc.errors import CalculationError

TIME, OTHER_HOURS, ISSUED, RETURNED, USED = "time", "other_hours", "issued", "returned", "used"
PURCHASE, SUBCONTRACT, CREDIT = "purchase", "subcontract", "credit"
KINDS = (TIME, OTHER_HOURS, ISSUED, RETURNED, USED, PURCHASE, SUBCONTRACT, CREDIT)
HOURS = (TIME, OTHER_HOURS)
GOODS = (ISSUED, RETURNED, USED)
INVOICES = (PURCHASE, SUBCONTRACT, CREDIT)
PLACES = ("line", "assembly", "component", "change_order", "warranty_return")
PACKS, USE = "pack", "use"
STOCK, JOB = "stock", "job"
# What an hour was spent on that belongs to no job. "other" needs words.
REASONS = ("cleaning", "training", "waiting_for_goods", "machine_upkeep", "travel", "sick", "holiday", "other")
# More of one thing in one entry is a slip of the finger.
MOST_QUANTITY = Decimal(1_000_000)

_ALWAYS = ("client_id", "kind", "day", "note")
_INVOICE = ("supplier", "invoice", "invoice_line", "markup_class")
_NEEDS = {
    TIME: ("job", "worker", "quantity"),
    OTHER_HOURS: ("worker", "quantity", "reason"),
    **dict.fromkeys(GOODS, ("job", "material", "quantity")),
    PURCHASE: ("supplier", "invoice", "quantity", "price"),
    SUBCONTRACT: ("job", "supplier", "invoice", "amount"),
    CREDIT: ("job", "supplier", "invoice", "amount"),
}
_TAKES = {
    TIME: ("trade", "phase", "overtime", *PLACES),
    OTHER_HOURS: (),
    **dict.fromkeys(GOODS, ("counted_in", "source", "phase", *PLACES)),
    PURCHASE: ("job", "invoice_line", "material", "words", "counted_in", "markup_class", "returnable", *PLACES),
    SUBCONTRACT: (*_INVOICE, "words", "phase", *PLACES),
    CREDIT: (*_INVOICE, "words", "material", *PLACES),
}


class EntryMemberError(CalculationError):
    """A member that this kind of entry does not take, or one that it needs."""

    code = "entry_member"


@dataclass(frozen=True, slots=True)
class Said:
    """One entry as the client says it.

    `day` is a day of the shop's calendar (ISO). `quantity` is hours, packs or units of use (`counted_in`), four decimals;
    `price` is the invoice's for one of them, `amount` the whole of an invoice's line before tax, both in the shop's currency.
    At most one of `line`, `assembly`, `component`, `change_order` (its number in the job) and `warranty_return` (its id) says
    where it belongs.
    """

    client_id: str
    kind: str
    day: str
    job: int | None = None
    worker: int | None = None
    quantity: Decimal | None = None
    overtime: bool = False
    trade: str = ""
    phase: str = ""
    line: int | None = None
    assembly: str = ""
    component: str = ""
    change_order: int | None = None
    warranty_return: int | None = None
    reason: str = ""
    material: str = ""
    words: str = ""
    counted_in: str = ""
    source: str = ""
    supplier: str = ""
    invoice: str = ""
    invoice_line: int | None = None
    price: Decimal | None = None
    amount: Decimal | None = None
    markup_class: str = ""
    returnable: bool | None = None
    note: str = ""


def digest(said: Said) -> str:
    """SHA-256 of what an entry says, as 64 hexadecimal digits; 1.5 hours and 1.50 hours are the same.

    Source: common practice, none published.
    """
    told = {name: _plain(value) for name, value in asdict(said).items() if value is not None and value != ""}
    return hashlib.sha256(json.dumps(told, sort_keys=True, separators=(",", ":")).encode()).hexdigest()


def _plain(value: object) -> object:
    return f"{value.normalize():f}" if isinstance(value, Decimal) else value


def member_faults(said: Said) -> Iterator[EntryMemberError]:
    """Every member that the kind of the entry needs or does not take, by name.

    Source: common practice, none published.
    """
    needs, takes = _NEEDS[said.kind], _TAKES[said.kind]
    for name, value in asdict(said).items():
        empty = value is None or value == "" or (name == "overtime" and not value)
        member = "hours" if name == "quantity" and said.kind in HOURS else name
        if empty and name in needs:
            yield EntryMemberError(f"an entry of kind {said.kind} needs {member}", field=member)
        elif not empty and name not in (*_ALWAYS, *needs, *takes):
            yield EntryMemberError(f"an entry of kind {said.kind} takes no {member}", field=member)
    yield from _together(said)


def _together(said: Said) -> Iterator[EntryMemberError]:
    """What members say of each other."""
    places = [name for name in PLACES if getattr(said, name) not in (None, "")]
    if len(places) > 1:
        yield EntryMemberError(f"expected one of {', '.join(PLACES)} at most, not {' and '.join(places)}", field=places[1])
    if said.job is None and places and said.kind == PURCHASE:
        yield EntryMemberError(f"goods for stock belong to no {places[0]}", field=places[0])
    if said.kind == OTHER_HOURS and said.reason == "other" and not said.note:
        yield EntryMemberError("other hours need words that say what they were", field="note")
    if said.kind == PURCHASE and (said.material == "") == (said.words == ""):
        yield EntryMemberError("expected either a material or words that say what was bought", field="material")
    if said.kind == PURCHASE and said.material and said.markup_class:
        yield EntryMemberError("the markup class of a material is its own", field="markup_class")
    if said.kind == PURCHASE and said.words and said.counted_in:
        yield EntryMemberError("only a material is counted in packs or units of use", field="counted_in")
