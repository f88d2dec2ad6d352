"""How do hours, goods and invoices get into the ledger?

A batch goes in whole or not at all, with one statement. An entry that is there already under its client's id, and says the
same, is told as there: a tablet may send its batch as often as it likes, and two of them at once.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db import connection

from costbase.calc.errors import CalculationError, raise_faults
from costbase.models import Shop
from costbase.scope import Actor, assert_scope
from quotes.actions.closing import LATE_ENTRY, close_again
from quotes.actions.ledger_rows import Known, LedgerRow, row_of
from quotes.actions.priced import shop_day
from quotes.actions.quote_statement import names, recordset
from quotes.actions.references import OtherShopError
from quotes.actions.sent_twice import SaidOtherwiseError
from quotes.calc.ledger import Said, digest, hours_faults, member_faults
from quotes.models import Job, LedgerEntry, Worker
from quotes.reports.job_places import places_of
from quotes.reports.ledger import hours_there
from quotes.snapshot import frozen_cost_bases

Row = dict[str, Any]

ADDED, THERE = "added", "there"

_ENTRY = {
    "client_id": "uuid", "job_id": "bigint", "kind": "text", "day": "date", "worker_id": "bigint", "trade": "text",
    "phase": "text", "assembly": "text", "line": "int", "component": "text", "change_order_id": "bigint",
    "warranty_return_id": "bigint", "material": "text",
    "quantity": "numeric", "unit": "text", "overtime": "boolean", "rate": "numeric", "cost": "numeric", "value": "numeric",
    "supplier": "text", "invoice": "text", "invoice_line": "int", "reason": "text", "words": "text", "markup_class": "text",
    "source": "text", "returnable": "boolean", "valued_by": "text", "said": "text", "note": "text", "late": "boolean",
}  # fmt: skip
# Rows come in the order of their client's ids, so that two batches that share some wait for each other and never in a circle.
_INSERT = f"""
INSERT INTO quotes_ledgerentry (shop_id, created, created_by, {names(_ENTRY)})
SELECT %(shop)s, %(now)s, %(by)s, {names(_ENTRY, "entries.")} FROM {recordset(_ENTRY, "entries")}
ON CONFLICT (shop_id, client_id) DO NOTHING
RETURNING id, client_id
"""


@dataclass(frozen=True, slots=True)
class Logged:
    """One entry of a batch, as it stands now: `status` is "added" or "there"."""

    client_id: str
    id: int
    status: str
    line: int | None
    quoted: bool
    late: bool


@dataclass(frozen=True, slots=True)
class Held:
    """Jobs and workers that are held, by id."""

    jobs: Mapping[int, Job]
    workers: Mapping[int, Worker]


def log_entries(*, shop: Shop, entries: Sequence[Said], by: Actor, now: datetime, may_be_late: bool) -> list[Logged]:
    """Logs a batch, whole or not at all; eight statements at most however long it is.

    What comes late closes the books of its job again, with statements of their own.

    Args:
        shop: whose ledger.
        entries: what was said, each with an id of the client's.
        by: who acts.
        now: when.
        may_be_late: whether who acts may log on a job that is closed.

    Returns:
        One for each entry, in their order.

    Raises:
        CalculationError: whatever is wrong, each with its place in the batch; several at once where several are.
    """
    assert_scope(shop.pk)
    _check_said(entries)
    held = hold(shop, [said.job for said in entries], [said.worker for said in entries])
    _must_be_known(held, entries)
    # Read after the rows are held: who waited for them sees what the other batch wrote.
    there = _there(shop, entries)
    _must_say_the_same(entries, there)
    new = [(at, said) for at, said in enumerate(entries) if said.client_id not in there]
    written: dict[str, Logged] = {}
    if new:
        rows = _rows(shop, new, held, may_be_late=may_be_late)
        written = _insert(shop, rows, by, now)
        for job_id in sorted({row.columns["job_id"] for row in rows if row.late}):
            close_again(shop=shop, job=held.jobs[job_id], by=by, now=now, why=LATE_ENTRY)
    if len(written) < len(new):
        # Another batch that held none of the same rows wrote them in between.
        there |= _there(shop, [said for _, said in new if said.client_id not in written])
        _must_say_the_same(entries, there)
    return [written.get(said.client_id) or _standing(there[said.client_id]) for said in entries]


def _check_said(entries: Sequence[Said]) -> None:
    faults: list[CalculationError] = [
        fault.under(f"entries/{at}") for at, said in enumerate(entries) for fault in member_faults(said)
    ]
    seen: set[str] = set()
    for at, said in enumerate(entries):
        if said.client_id in seen:
            words = f"the batch names {said.client_id} twice; expected an id of its own for each entry"
            faults.append(SaidOtherwiseError(words, field=f"entries/{at}/client_id", value=said.client_id))
        seen.add(said.client_id)
    raise_faults(faults)


def hold(shop: Shop, job_ids: Iterable[int | None], worker_ids: Iterable[int | None]) -> Held:
    """The jobs and workers of these ids, held until the scope closes, jobs first and each in the order of their ids.

    Whoever logs anything holds them so; then no two sums of a worker's day are taken at once, and nobody waits in a circle.
    """
    jobs = Job.objects.for_shop(shop).order_by("pk").select_for_update(of=("self",)).defer("totals")
    workers = Worker.objects.for_shop(shop).order_by("pk").select_for_update(of=("self",))
    wanted_jobs = {id_ for id_ in job_ids if id_ is not None}
    wanted_workers = {id_ for id_ in worker_ids if id_ is not None}
    return Held(
        {job.pk: job for job in jobs.filter(pk__in=wanted_jobs)} if wanted_jobs else {},
        {worker.pk: worker for worker in workers.filter(pk__in=wanted_workers)} if wanted_workers else {},
    )


def _must_be_known(held: Held, entries: Sequence[Said]) -> None:
    known: dict[str, Mapping[int, object]] = {"job": held.jobs, "worker": held.workers}
    raise_faults(
        [
            OtherShopError(f"expected the id of a {name} of this shop, not {id_}", field=f"entries/{at}/{name}", value=id_)
            for at, said in enumerate(entries)
            for name, rows in known.items()
            if (id_ := getattr(said, name)) is not None and id_ not in rows
        ]
    )


def _there(shop: Shop, entries: Sequence[Said]) -> dict[str, LedgerEntry]:
    ids = [UUID(said.client_id) for said in entries]
    rows = LedgerEntry.objects.for_shop(shop).filter(client_id__in=ids)
    found = rows.only("client_id", "said", "line", "component", "change_order_id", "warranty_return_id", "job_id", "late")
    return {str(entry.client_id): entry for entry in found}


def _must_say_the_same(entries: Sequence[Said], there: dict[str, LedgerEntry]) -> None:
    faults: list[CalculationError] = []
    for at, said in enumerate(entries):
        entry = there.get(said.client_id)
        if entry is not None and entry.said != digest(said):
            words = f"{said.client_id} was logged before as entry {entry.pk}, and said something else; correct that one instead"
            faults.append(SaidOtherwiseError(words, field=f"entries/{at}/client_id", value=said.client_id))
    raise_faults(faults)


def _rows(shop: Shop, new: Sequence[tuple[int, Said]], held: Held, *, may_be_late: bool) -> list[LedgerRow]:
    jobs, workers = held.jobs, held.workers
    concerned = [jobs[job_id] for job_id in {said.job for _, said in new} if job_id is not None]
    known = Known(
        shop=shop,
        today=shop_day(shop),
        jobs=jobs,
        workers=workers,
        places=places_of(shop, concerned),
        bases=frozen_cost_bases(shop.pk, {job.cost_base_id for job in concerned}),
        may_be_late=may_be_late,
    ).with_editions([said for _, said in new])
    faults: list[CalculationError] = []
    rows: list[LedgerRow] = []
    for at, said in new:
        try:
            rows.append(row_of(said, known))
        except CalculationError as fault:
            faults.append(fault.under(f"entries/{at}"))
    timed = [(at, said) for at, said in new if said.worker is not None]
    if timed:
        days = [date.fromisoformat(said.day) for _, said in timed]
        before = hours_there(shop, [worker.pk for worker in workers.values()], days)
        faults += hours_faults(timed, before, {worker.pk: worker.label for worker in workers.values()})
    raise_faults(faults)
    return rows


def _insert(shop: Shop, rows: Sequence[LedgerRow], by: Actor, now: datetime) -> dict[str, Logged]:
    of_client = {row.columns["client_id"]: row for row in rows}
    ordered = [of_client[client_id].columns for client_id in sorted(of_client)]
    with connection.cursor() as cursor:
        sent = json.dumps(ordered, default=str)
        values: dict[str, int | str | datetime | None] = {"shop": shop.pk, "now": now, "by": by.person_id, "entries": sent}
        cursor.execute(_INSERT, values)
        written = {str(client_id): id_ for id_, client_id in cursor.fetchall()}
    return {client_id: _added(id_, of_client[client_id]) for client_id, id_ in written.items()}


def _added(id_: int, row: LedgerRow) -> Logged:
    columns = row.columns
    quoted = row.place.quoted or columns["job_id"] is None
    return Logged(columns["client_id"], id_, ADDED, row.place.line, quoted, row.late)


def _standing(entry: LedgerEntry) -> Logged:
    return Logged(str(entry.client_id), entry.pk, THERE, entry.line, entry.quoted, entry.late)
