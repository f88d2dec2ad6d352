"""What happens when a tablet sends the same entry again?

It gets what was made of it the first time, whatever became of the job meanwhile. Whoever looks holds the job, so that two twins
wait for each other; the shop's unique key on `client_id` stands behind it.
"""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Protocol, TypeVar
from uuid import UUID

from django.db.models import QuerySet

from costbase.calc.errors import CalculationError, raise_faults


class SaidOtherwiseError(CalculationError):
    """An id of the client's under which something else was sent before."""

    code = "said_otherwise"


@dataclass(frozen=True, slots=True)
class Sent:
    """What a client sent: its id for it, None where it gave none, and a digest of the body."""

    client_id: UUID | None = None
    digest: str = ""


NOTHING_SENT = Sent()


class _Kept(Protocol):
    job_id: int
    client_id: Any
    digest: Any


K = TypeVar("K", bound=_Kept)


def sent(body: Mapping[str, Any], client_id: UUID | None) -> Sent:
    """What was sent, for a row that keeps it."""
    text = json.dumps(body, sort_keys=True, separators=(",", ":"))
    return Sent(client_id, hashlib.sha256(text.encode()).hexdigest())


def made_before(rows: "QuerySet[Any, K]", job_id: int, sent: Sent, *, field: str = "client_id") -> K | None:
    """What was made of the same entry before; None where it is new.

    Args:
        rows: of the shop, of the kind that is sent.
        job_id: of the held job.
        sent: what was sent.
        field: where the id stands in the body.

    Raises:
        SaidOtherwiseError: another body, or one about another job, came under this id.
    """
    if sent.client_id is None:
        return None
    row = rows.filter(client_id=sent.client_id).first()
    if row is not None:
        _must_say_the_same(row, job_id, sent, field)
    return row


def made_before_all(rows: "QuerySet[Any, K]", job_id: int, sent: Mapping[str, Sent]) -> dict[str, K]:
    """As `made_before`, of several entries in one query: what was made of each that is not new, by its place.

    Args:
        rows: of the shop, of the kind that is sent.
        job_id: of the held job.
        sent: place in the request, "" for the whole of it -> what was sent there.

    Raises:
        SaidOtherwiseError: another body, or one about another job, came under an id; several of them at once.
    """
    ids = [one.client_id for one in sent.values() if one.client_id is not None]
    known = {row.client_id: row for row in rows.filter(client_id__in=ids)} if ids else {}
    found: dict[str, K] = {}
    faults: list[CalculationError] = []
    for place, one in sent.items():
        row = known.get(one.client_id)
        if row is None:
            continue
        try:
            _must_say_the_same(row, job_id, one, f"{place}/client_id" if place else "client_id")
        except SaidOtherwiseError as fault:
            faults.append(fault)
        found[place] = row
    raise_faults(faults)
    return found


def _must_say_the_same(row: _Kept, job_id: int, sent: Sent, field: str) -> None:
    if (row.job_id, row.digest) != (job_id, sent.digest):
        words = f"something else was sent under {sent.client_id} before: expected an id of its own for another entry"
        raise SaidOtherwiseError(words, field=field, value=str(sent.client_id))
