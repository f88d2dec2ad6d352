"""Files of a cost base over HTTP: sent, looked at, applied."""

from collections.abc import Mapping
from typing import Any
from urllib.parse import urlencode

from rest_framework.test import APIClient

from api.accounts.roles import MANAGER, NETWORK_MANAGER
from costbase.exchange.csv_tables import CSV_KINDS
from tests.rest.office import Office

CSV, TOML = "text/csv", "application/toml"
DAY = "2026-03-02"


class Files:
    """The imports and exports of an office, or of its network."""

    def __init__(self, office: Office, *, network: bool = False) -> None:
        self.office = office
        self.role = NETWORK_MANAGER if network else MANAGER
        self.below = f"/api/v1/networks/{office.shop.network.slug}" if network else f"/api/v1/shops/{office.shop.slug}"

    def send(
        self,
        content: str | bytes,
        kind: str = "",
        *,
        media_type: str = "",
        role: str = "",
        headers: Mapping[str, str] | None = None,
        **query: str,
    ) -> Any:
        """The answer to a file; of the kind of a table with commas, or TOML."""
        said = {"valid_from": DAY, "file": "base.csv" if kind else "base.toml", **query}
        said |= {"kind": kind} if kind else {}
        address = f"{self.below}/imports?{urlencode({name: value for name, value in said.items() if value})}"
        token = {"Authorization": f"Bearer {self.office.tokens[role or self.role]}", **(headers or {})}
        body = content.encode() if isinstance(content, str) else content
        client = APIClient(raise_request_exception=False)
        of = media_type or (CSV if kind else TOML)
        return client.generic("POST", address, body, of, headers=token)  # type: ignore[arg-type]  # Bytes go as they are.

    def staged(self, content: str | bytes, kind: str = "", **query: str) -> dict[str, Any]:
        """A file that was staged at once, as answered."""
        answer = self.send(content, kind, **query)  # type: ignore[arg-type]  # The checker takes them for headers.
        assert answer.status_code == 201, answer.content.decode()
        document: dict[str, Any] = answer.json()
        return document

    def get(self, path: str, **kwargs: Any) -> Any:
        return self.office.get(f"{self.below}/{path}", **{"role": self.role, **kwargs})

    def apply(self, import_id: int, **kwargs: Any) -> Any:
        """The answer to applying the version that stands now."""
        return self._changed(import_id, "POST", "/application", **kwargs)

    def discard(self, import_id: int, **kwargs: Any) -> Any:
        return self._changed(import_id, "DELETE", "", **kwargs)

    def _changed(self, import_id: int, method: str, below: str, **kwargs: Any) -> Any:
        tag = self.get(f"imports/{import_id}")["ETag"]
        path = f"{self.below}/imports/{import_id}"
        return self.office.ask(method, path + below, {}, **{"role": self.role, "headers": {"If-Match": tag}, **kwargs})

    def applied(self, content: str | bytes, kind: str = "", **query: str) -> dict[str, Any]:
        """A file that was staged and applied, as answered."""
        answer = self.apply(self.staged(content, kind, **{"note": "Late.", **query})["id"])
        assert answer.status_code == 200, answer.content.decode()
        document: dict[str, Any] = answer.json()
        return document

    def exported(self, kind: str, **query: str) -> bytes:
        """The file of a kind."""
        answer = self.get(f"exports/{kind}?{urlencode(query)}")
        assert answer.status_code == 200, answer.content.decode()
        assert answer["Content-Type"].split(";")[0] == (CSV if kind in CSV_KINDS else TOML)
        content: bytes = answer.content
        return content
