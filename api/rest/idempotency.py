"""What happens when a client sends the same creating request twice?

With the header Idempotency-Key, the second one is answered with what the first was answered, and nothing is
done again. The record is written in the transaction of the effect, so neither exists without the other: a
refused request leaves no record and may be corrected and sent again under the same key. A twin that arrives
while the first is at work waits on the unique key in the database and then replays.
"""

import hashlib
import json
import re
from collections.abc import Callable
from dataclasses import dataclass

from django.db import connection
from django.db.utils import OperationalError
from django.http import HttpResponse
from django.http.response import HttpResponseBase
from psycopg import errors as postgres
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.rest.errors import Problem, bad_header
from api.tenancy import ShopContext
from quotes.models import IdempotencyKey

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
INSERT INTO quotes_idempotencykey (shop_id, person_id, key, fingerprint, headers, answer, created)
SELECT %s, %s, %s, %s, '{}'::jsonb, '', now() FROM bound WHERE now_is <> ''
ON CONFLICT DO NOTHING
RETURNING id, set_config('lock_timeout', (SELECT was FROM bound), true)
"""


def once(
    request: Request,
    context: ShopContext,
    effect: Callable[[], Response],
    again: Callable[[int], Response] | None = None,
) -> HttpResponseBase:
    """The answer of `effect`, or of the same request when it was done before.

    Args:
        request: the request, whose body can be read.
        context: the open shop.
        effect: does the work and answers it; runs at most once for a key.
        again: for answers with personal data, which are not kept: makes the answer from the id in ``data["id"]``.

    Raises:
        Problem: bad_header, idempotency_mismatch or, where the twin takes longer than five seconds, twin_at_work.
    """
    key = request.headers.get(HEADER)
    if key is None:
        return effect()
    if not _FORM.fullmatch(key):
        raise bad_header(HEADER, f"Expected 1 to 255 visible characters in {HEADER}.")
    claim = _Claim(context.shop.pk, context.identity.person_id, key, _fingerprint(request, context.identity.role))
    record_id = claim.take()
    if record_id is None:
        return claim.replay(again)
    response = effect()
    _keep(context.shop.pk, record_id, response, by_id=again is not None)
    return response


@dataclass(frozen=True, slots=True)
class _Claim:
    """One use of a key."""

    shop_id: int
    person_id: int
    key: str
    fingerprint: str

    def take(self) -> int | None:
        """The id of the new record; None where the key was used before, by a request that has committed."""
        with connection.cursor() as cursor:
            try:
                cursor.execute(_TAKE, [f"{WAIT_MILLISECONDS}ms", self.shop_id, self.person_id, self.key, self.fingerprint])
            except OperationalError as error:
                if isinstance(error.__cause__, postgres.LockNotAvailable):
                    words = "The same request is still at work; try again in a moment."
                    raise Problem("twin_at_work", words, headers={"Retry-After": "1"}) from error
                raise
            row: tuple[int, str] | None = cursor.fetchone()
        return row[0] if row else None

    def replay(self, again: Callable[[int], Response] | None) -> HttpResponseBase:
        """What was answered the first time."""
        record = IdempotencyKey.objects.for_shop(self.shop_id).get(person_id=self.person_id, key=self.key)
        if record.fingerprint != self.fingerprint:
            raise Problem("idempotency_mismatch", f"Expected a {HEADER} of its own for another request.")
        response: HttpResponseBase
        if again is not None and record.thing_id is not None:
            response = again(record.thing_id)
            response.status_code = record.status or response.status_code
        else:
            response = HttpResponse(record.answer, status=record.status, content_type="application/json")
        for name, value in record.headers.items():
            response[name] = value
        response[REPLAYED] = "true"
        return response


def _keep(shop_id: int, record_id: int, response: Response, *, by_id: bool) -> None:
    if response.status_code >= 400:
        # The scope is rolled back with everything in it, the record too.
        return
    IdempotencyKey.objects.for_shop(shop_id).filter(pk=record_id).update(
        status=response.status_code,
        headers={name: response[name] for name in _KEPT_HEADERS if name in response},
        answer="" if by_id else JSONRenderer().render(response.data).decode(),
        thing_id=response.data["id"] if by_id else None,
    )


def _fingerprint(request: Request, role: str) -> str:
    """What makes two requests the same: role, method, address and the values of the body, in whatever order they stand.

    The role is in it because the answer is: what a manager was answered holds costs that an estimator may not read.
    """
    body = json.dumps(request.data, sort_keys=True, separators=(",", ":"))
    whole = "\n".join([role, str(request.method), request.get_full_path(), body])
    return hashlib.sha256(whole.encode()).hexdigest()
