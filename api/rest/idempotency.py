"""What happens when a client sends the same creating request twice?

With the header Idempotency-Key, the second one is answered with what the first was answered, and nothing is
done again. The record is written in the transaction of the effect, so neither exists without the other: a
refused request leaves no record and may be corrected and sent again under the same key. A twin that arrives
while the first is at work waits on the unique key in the database and then replays.

A key belongs to the person who sent it, and of a request by an owner's link to that link.
"""

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass

from django.db import connection
from django.db.models import QuerySet
from django.db.utils import OperationalError
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from psycopg import errors as postgres
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.errors import Problem, bad_header
from api.tenancy import NetworkContext, ShopContext
from costbase.models import Network, Shop
from quotes.models import IdempotencyKey, NetworkIdempotencyKey

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
_FORM = re.compile(r"[\x21-\x7e]{1,255}")
WAIT_MILLISECONDS = 5_000
# What a replay repeats; everything else in an answer belongs to the request at hand.
_KEPT_HEADERS = ("Location", "ETag")

# One statement bounds the wait for a twin, claims the key and puts the bound back: the effect's own statements may wait as long
# as the server lets them. Where the key was taken the bound stays, since only the replay follows.
_TAKE = """
WITH bound AS MATERIALIZED (
    SELECT current_setting('lock_timeout') AS was, set_config('lock_timeout', %s, true) AS now_is
)
INSERT INTO {table} ({place}_id, {by}, key, fingerprint, headers, answer, created)
SELECT %s, %s, %s, %s, '{{}}'::jsonb, '', now() FROM bound WHERE now_is <> ''
ON CONFLICT DO NOTHING
RETURNING id, set_config('lock_timeout', (SELECT was FROM bound), true)
"""


def once(
    request: Request,
    context: ShopContext | NetworkContext,
    effect: Callable[[], Response],
    again: Callable[[int], Response] | None = None,
) -> HttpResponseBase:
    """The answer of `effect`, or of the same request when it was done before.

    Args:
        request: the request, whose body can be read.
        context: the open shop or network.
        effect: does the work and answers it; runs at most once for a key.
        again: for answers with personal data, which are not kept: makes the answer from the id in ``data["id"]``. Of a
            network every answer is kept.

    Raises:
        Problem: bad_header, idempotency_mismatch or, where the twin takes longer than five seconds, twin_at_work.
    """
    place = _of_shop(context.shop) if isinstance(context, ShopContext) else _of_network(context.network)
    return _once(request, place, ("person_id", context.identity.person_id), context.identity.role, effect, again)


def once_by_link(request: Request, shop: Shop, link_id: int, role: str, effect: Callable[[], Response]) -> HttpResponseBase:
    """As `once`, of a request that came by an owner's link, whose answer holds nothing personal."""
    return _once(request, _of_shop(shop), ("link_id", link_id), role, effect, None)


def _once(
    request: Request,
    place: "_Place",
    by: tuple[str, int],
    role: str,
    effect: Callable[[], Response],
    again: Callable[[int], Response] | None,
) -> HttpResponseBase:
    key = request.headers.get(HEADER)
    if key is None:
        return effect()
    if not _FORM.fullmatch(key):
        raise bad_header(HEADER, f"Expected 1 to 255 visible characters in {HEADER}.")
    claim = _Claim(place, by, key, fingerprint(request, role))
    record_id = claim.take()
    if record_id is None:
        return claim.replay(again)
    response = effect()
    claim.keep(record_id, response, by_id=again is not None)
    return response


@dataclass(frozen=True, slots=True)
class _Place:
    """Where the records of a shop or a network stand."""

    name: str
    id: int
    table: str
    records: QuerySet[IdempotencyKey] | QuerySet[NetworkIdempotencyKey]


def _of_shop(shop: Shop) -> _Place:
    return _Place("shop", shop.pk, IdempotencyKey._meta.db_table, IdempotencyKey.objects.for_shop(shop))


def _of_network(network: Network) -> _Place:
    records = NetworkIdempotencyKey.objects.for_network(network)
    return _Place("network", network.pk, NetworkIdempotencyKey._meta.db_table, records)


@dataclass(frozen=True, slots=True)
class _Claim:
    """One use of a key, by the column that says whose it is."""

    place: _Place
    by: tuple[str, int]
    key: str
    fingerprint: str

    def take(self) -> int | None:
        """The id of the new record; None where the key was used before, by a request that has committed."""
        with connection.cursor() as cursor:
            try:
                column, id_ = self.by
                statement = _TAKE.format(table=self.place.table, place=self.place.name, by=column)
                cursor.execute(statement, [f"{WAIT_MILLISECONDS}ms", self.place.id, id_, self.key, self.fingerprint])
            except OperationalError as error:
                if isinstance(error.__cause__, postgres.LockNotAvailable):
                    words = "The same request is still at work; try again in a moment."
                    raise Problem("twin_at_work", words, headers={"Retry-After": "1"}) from error
                raise
            row: tuple[int, str] | None = cursor.fetchone()
        return row[0] if row else None

    def replay(self, again: Callable[[int], Response] | None) -> HttpResponseBase:
        """What was answered the first time."""
        column, id_ = self.by
        record = self.place.records.get(**{column: id_}, key=self.key)
        if record.fingerprint != self.fingerprint:
            raise Problem("idempotency_mismatch", f"Expected a {HEADER} of its own for another request.")
        response: HttpResponseBase
        thing_id = record.thing_id if isinstance(record, IdempotencyKey) else None
        if again is not None and thing_id is not None:
            response = again(thing_id)
            response.status_code = record.status or response.status_code
        else:
            response = HttpResponse(record.answer, status=record.status, content_type="application/json")
        for name, value in record.headers.items():
            response[name] = value
        response[REPLAYED] = "true"
        return response

    def keep(self, record_id: int, response: Response, *, by_id: bool) -> None:
        """Keeps the answer for a replay: whole, or by the id of the thing that it shows."""
        if response.status_code >= 400:
            # The scope is rolled back with everything in it, the record too.
            return
        columns: dict[str, object] = {
            "status": response.status_code,
            "headers": {name: response[name] for name in _KEPT_HEADERS if name in response},
            "answer": "" if by_id else JSONRenderer().render(response.data).decode(),
        }
        if by_id:
            columns["thing_id"] = response.data["id"]
        self.place.records.filter(pk=record_id).update(**columns)


def fingerprint(request: Request, role: str) -> str:
    """What makes two requests the same: role, method, address and the values of the body, in whatever order they stand.

    The role is in it because the answer is: what a manager was answered holds costs that an estimator may not read.
    """
    sent = request.data
    # A file is the same when its bytes are.
    known = hashlib.sha256(sent).hexdigest() if isinstance(sent, bytes) else sent
    body = json.dumps(known, sort_keys=True, separators=(",", ":"))
    whole = "\n".join([role, str(request.method), request.get_full_path(), body])
    return hashlib.sha256(whole.encode()).hexdigest()
