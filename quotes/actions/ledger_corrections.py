"""How is an entry of the ledger taken back?

By a new one that names it and has its figures with the other sign, on its day, and where something else is right, by one more
that says so. Nothing that was logged is ever changed.
"""

import hashlib
import json
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from django.db import connection

from costbase.calc.errors import CalculationError, CalculationFaults
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.closing import LATE_ENTRY, close_again
from quotes.actions.ledger import ADDED, THERE, Logged, hold, log_entries
from quotes.actions.ledger_rows import LateEntryError, is_closed
from quotes.actions.sent_twice import SaidOtherwiseError
from quotes.calc.ledger import Said, digest
from quotes.models import Job, LedgerEntry

_SAME = (
    "job_id, kind, day, worker_id, trade, phase, assembly, line, component, change_order_id, warranty_return_id, material, "
    "unit, overtime, rate, supplier, invoice, invoice_line, reason, words, markup_class, source, returnable, valued_by"
)
_TAKE_BACK = f"""
INSERT INTO quotes_ledgerentry
    (shop_id, {_SAME}, quantity, cost, value, corrects_id, client_id, said, note, late, created, created_by)
SELECT shop_id, {_SAME}, -quantity, -cost, -value, id, %(client)s, %(said)s, %(note)s, %(late)s, %(now)s, %(by)s
FROM quotes_ledgerentry WHERE shop_id = %(shop)s AND id = %(entry)s
ON CONFLICT DO NOTHING
RETURNING id
"""


class NotCorrectableError(CalculationError):
    """An entry that was taken back already, or that takes one back itself."""

    code = "not_correctable"


@dataclass(frozen=True, slots=True)
class Correction:
    """What a client says of a correction: its id of it, why, and what is right, if anything is."""

    client_id: UUID
    note: str
    right: Said | None

    def digest(self, entry_id: int) -> str:
        """SHA-256 of what it says, by which one that is sent again is known."""
        said = [entry_id, self.note, digest(self.right) if self.right else ""]
        return hashlib.sha256(json.dumps(said).encode()).hexdigest()


def correct_entry(
    *, shop: Shop, entry: LedgerEntry, correction: Correction, by: Actor, now: datetime, may_be_late: bool
) -> list[Logged]:
    """Takes an entry back, and logs what is right.

    Args:
        shop: whose ledger.
        entry: that was wrong.
        correction: what is said of it.
        by: who acts.
        now: when.
        may_be_late: whether who acts may log on a job that is closed.

    Returns:
        The entry that takes it back, then the right one where one was said.

    Raises:
        NotCorrectableError: it was corrected before, or is a correction.
        LateEntryError: its job is closed, and who acts is no manager.
        SaidOtherwiseError: the client's id was used for something else.
        CalculationError: what is wrong with the right entry.
    """
    assert_scope(shop.pk)
    right = correction.right
    held = hold(shop, [entry.job_id, right.job if right else None], [entry.worker_id, right.worker if right else None])
    job = held.jobs[entry.job_id] if entry.job_id is not None else None
    taken_back = _there(shop, entry, correction) or _take_back(shop, entry, job, correction, by, now, may_be_late)
    if right is None:
        return [taken_back]
    try:
        return [taken_back, *log_entries(shop=shop, entries=[right], by=by, now=now, may_be_late=may_be_late)]
    except CalculationError as fault:
        raise _of_the_entry(fault) from fault


def _there(shop: Shop, entry: LedgerEntry, correction: Correction) -> Logged | None:
    """The correction, where it was sent before."""
    found = LedgerEntry.objects.for_shop(shop).filter(client_id=correction.client_id).first()
    if found is None:
        return None
    if found.said != correction.digest(entry.pk):
        words = f"{correction.client_id} was used before for entry {found.pk}, which says something else"
        raise SaidOtherwiseError(words, field="client_id", value=str(correction.client_id))
    return Logged(str(found.client_id), found.pk, THERE, found.line, found.quoted, found.late)


def _take_back(
    shop: Shop, entry: LedgerEntry, job: Job | None, correction: Correction, by: Actor, now: datetime, may_be_late: bool
) -> Logged:
    if entry.corrects_id is not None:
        words = f"entry {entry.pk} takes entry {entry.corrects_id} back and is not corrected; log what is right as a new entry"
        raise NotCorrectableError(words, value=entry.pk)
    late = job is not None and is_closed(job)
    if late and not may_be_late:
        raise LateEntryError("the job is closed; a manager corrects what was logged on it", value=entry.pk)
    with connection.cursor() as cursor:
        values: dict[str, int | str | bool | UUID | datetime | None] = {
            "shop": shop.pk, "entry": entry.pk, "client": correction.client_id, "said": correction.digest(entry.pk),
            "note": correction.note, "late": late, "now": now, "by": by.person_id,
        }  # fmt: skip
        cursor.execute(_TAKE_BACK, values)
        written: tuple[int] | None = cursor.fetchone()
    if written is None:
        raise NotCorrectableError(f"entry {entry.pk} was corrected before", value=entry.pk)
    if late and job is not None:
        close_again(shop=shop, job=job, by=by, now=now, why=LATE_ENTRY)
    return Logged(str(correction.client_id), written[0], ADDED, entry.line, entry.quoted, late)


def _of_the_entry(fault: CalculationError) -> CalculationError:
    """The refusal of a batch of one as that of the entry that it is about."""
    for each in fault.faults if isinstance(fault, CalculationFaults) else (fault,):
        each.field = each.field.replace("entries/0", "entry", 1)
    return fault
