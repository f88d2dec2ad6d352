"""The cost base over the API: bodies that are taken, and what to do with them."""

from typing import Any

from api.accounts.roles import NETWORK_MANAGER
from tests.rest.office import Office
from tests.rest.quoting import contents_of

Body = dict[str, Any]

TODAY = "2026-03-02"  # of the clock that stands still


def body(kind: str, slug: str, valid_from: str = TODAY, *, note: str = "", **changes: Any) -> Body:
    """The shipped edition under a slug from another day on, but for what a test changes."""
    return {"slug": slug, "valid_from": valid_from, "note": note, "contents": {**contents_of(kind, slug), **changes}}


def entered(office: Office, path: str, sent: Body, **kwargs: Any) -> Body:
    """A new edition, as answered."""
    answer = office.post(path, sent, **kwargs)
    assert answer.status_code == 201, answer.content.decode()
    edition: Body = answer.json()
    assert answer["ETag"] == f'"v{edition["version"]}"'
    return edition


def got(office: Office, path: str, **kwargs: Any) -> Body:
    """What is answered to a GET."""
    answer = office.get(path, **kwargs)
    assert answer.status_code == 200, answer.content.decode()
    found: Body = answer.json()
    return found


def listed(office: Office, path: str, **kwargs: Any) -> list[Body]:
    """Every row of a list, over all its pages."""
    rows: list[Body] = []
    following: str | None = path
    while following:
        page = got(office, following, **kwargs)
        rows += page["results"]
        following = page["next"]
    return rows


def of_network(office: Office, path: str) -> str:
    """The address below the office's network."""
    return f"/api/v1/networks/{office.shop.network.slug}/{path}"


def for_network(office: Office, path: str, sent: Body) -> Body:
    """A new edition of the network, as answered."""
    return entered(office, of_network(office, path), sent, role=NETWORK_MANAGER)
