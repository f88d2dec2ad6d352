"""How does an estimator get from a telephone call to an issued quote? Over HTTP, with a token, like anybody else.

Every request that makes something carries an Idempotency-Key made from its body, and the quote a reference made from all
bodies: a demo that is started again finds the quote of the first time, and other bodies make another one.
"""

import hashlib
import http.client
import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from django.core.management.base import CommandError

from api.management.children import HOST

ANSWER_SECONDS: Final = 60.0
BODIES: Final = ("customer", "coach", "survey", "quote")

Document = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Answer:
    """A document with the ETag that a change of it needs."""

    document: Document
    etag: str


@dataclass(frozen=True, slots=True)
class Office:
    """Somebody's way into one shop over HTTP."""

    port: int
    shop: str
    token: str

    def get(self, path: str) -> Answer:
        return self._ask("GET", path, None, {})

    def create(self, path: str, body: Document) -> Answer:
        """The answer to a creating request, the first time or again."""
        return self._ask("POST", path, body, {"Idempotency-Key": f"demo-{_digest(path, body)}"})

    def act(self, path: str, body: Document, etag: str) -> Answer:
        """The answer to a request that changes what was read with this ETag."""
        return self._ask("POST", path, body, {"If-Match": etag})

    def _ask(self, method: str, path: str, body: Document | None, headers: Mapping[str, str]) -> Answer:
        address = f"/api/v1/shops/{self.shop}/{path}"
        sent = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json", **headers}
        connection = http.client.HTTPConnection(HOST, self.port, timeout=ANSWER_SECONDS)
        try:
            connection.request(method, address, None if body is None else json.dumps(body), sent)
            response = connection.getresponse()
            content, status, etag = response.read(), response.status, response.headers.get("ETag", "")
        except (OSError, http.client.HTTPException) as error:
            raise CommandError(f"{method} {address}: the web does not answer: {error}") from error
        finally:
            connection.close()
        if status >= http.HTTPStatus.BAD_REQUEST:
            raise CommandError(f"{method} {address} was refused with {status}:\n{content.decode(errors='replace')}")
        return Answer(json.loads(content), etag)


def issued_quote(office: Office, folder: Path) -> Document:
    """The issued quote for the coach whose bodies of requests lie in `folder`, made now or in an earlier run.

    Raises:
        CommandError: a request was refused; with what the service said.
    """
    bodies: dict[str, Document] = {name: json.loads((folder / f"{name}.json").read_text(encoding="utf-8")) for name in BODIES}
    reference = f"demo-{_digest('quote', bodies)}"
    found = office.get(f"quotes?reference={reference}").document["results"]
    quote_id = found[0]["id"] if found else _ask_for_quote(office, bodies, reference)
    quote = office.get(f"quotes/{quote_id}")
    if quote.document["state"] == "draft":
        office.act(f"quotes/{quote_id}/issue", {}, quote.etag)
        quote = office.get(f"quotes/{quote_id}")
    return quote.document


def _ask_for_quote(office: Office, bodies: Mapping[str, Document], reference: str) -> int:
    customer = office.create("customers", bodies["customer"]).document["id"]
    coach = office.create("coaches", {**bodies["coach"], "customer": customer}).document["id"]
    survey = office.create("surveys", {**bodies["survey"], "coach": coach}).document["id"]
    wish = {**bodies["quote"], "coach": coach, "survey": survey, "reference": reference}
    quote_id: int = office.create("quotes", wish).document["id"]
    return quote_id


def _digest(path: str, body: object) -> str:
    return hashlib.sha256(json.dumps([path, body], sort_keys=True).encode()).hexdigest()[:16]
