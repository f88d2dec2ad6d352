"""What the tests of consents ask for: documents, acceptances, links."""

from datetime import timedelta
from typing import Any

from rest_framework.test import APIClient

from tests import make
from tests.rest.quoting import Body, Quoting

SMALL: Body = {"plan": "reseal", "measures": []}
AT = (make.NOW + timedelta(minutes=0)).isoformat()


def document(quoting: Quoting, quote_id: int, *options: str) -> Body:
    """What the owner sees with these options ticked."""
    query = f"?options={','.join(options)}" if options else ""
    answer = quoting.office.get(f"quotes/{quote_id}/document{query}")
    assert answer.status_code == 200, answer.content.decode()
    found: Body = answer.json()
    return found


def amount(value: str, currency: str = "USD") -> Body:
    return {"amount": value, "currency": currency}


def part_of(shown: Body, payer: str) -> Body:
    (limit,) = [row["limit_with_tax"] for row in shown["document"]["payers"] if row["payer"] == payer]
    return amount(limit, shown["document"]["currency"])


def acceptance(quoting: Quoting, quote_id: int, *options: str, payer: str = "owner", **changes: Any) -> Body:
    """A written acceptance of the document as it stands."""
    shown = document(quoting, quote_id, *options)
    return {
        "manner": "written",
        "name": "Invented Owner",
        "at": AT,
        "payer": payer,
        "options": list(options),
        "old_parts": "inspect",
        "document_hash": shown["document_hash"],
        "limit_with_tax": part_of(shown, payer),
        **changes,
    }


def post(quoting: Quoting, path: str, body: Body, **kwargs: Any) -> Any:
    """The answer to a change of whatever version there is."""
    return quoting.office.post(path, body, headers={"If-Match": "*", **kwargs.pop("headers", {})}, **kwargs)


def accept(quoting: Quoting, quote_id: int, *options: str, **changes: Any) -> Any:
    return post(quoting, f"quotes/{quote_id}/acceptance", acceptance(quoting, quote_id, *options, **changes))


def refusal(**changes: Any) -> Body:
    return {"manner": "written", "name": "Invented Owner", "at": AT, "reason": "Too dear this year.", **changes}


def consents(quoting: Quoting, quote_id: int, **kwargs: Any) -> Body:
    answer = quoting.office.get(f"quotes/{quote_id}/consents", **kwargs)
    assert answer.status_code == 200, answer.content.decode()
    found: Body = answer.json()
    return found


def make_link(quoting: Quoting, quote_id: int, **changes: Any) -> Body:
    answer = quoting.office.post(f"quotes/{quote_id}/links", {"sent_how": "email", **changes})
    assert answer.status_code == 201, answer.content.decode()
    found: Body = answer.json()
    return found


def by_link(token: str, way: str = "", body: Body | None = None, *, query: str = "", agent: str = "Invented Browser 1") -> Any:
    """The answer to somebody with a link and nothing else."""
    client = APIClient(raise_request_exception=False)
    path = f"/api/v1/owner/{token}{way}{query}"
    headers = {"User-Agent": agent}
    return client.get(path, headers=headers) if body is None else client.post(path, body, format="json", headers=headers)


def yes(shown: Body, *options: str, **changes: Any) -> Body:
    """An acceptance by a link, of what it showed."""
    return {
        "name": "Invented Owner",
        "options": list(options),
        "old_parts": "keep",
        "document_hash": shown["document_hash"],
        "limit_with_tax": part_of(shown, shown["payer"]),
        "affirmed": True,
        "reviewed": True,
        **changes,
    }
